"""Video and sound files, and the pose model's file.

Comes in: a path. Goes out: `Clip`, frames with their time stamps, `Sound` on the frames' clock, shot boundaries. Every video is opened in a
child process. Imports `base` only.
"""
