"""Dancers in pictures: detection, tracking, pose, foot contacts, joint angles.

Comes in: frames, or stored `Landmarks`. Goes out: `Landmarks`, `Candidates` and `Steps`, yaw, `Angles`, `JointRange`, kinematics. Knows
neither music nor dance. Imports `base` only.
"""
