"""What is read off the landmarks of all dancers whatever music and dance they go with: a changed first count leaves it as it is."""

from __future__ import annotations

from dataclasses import dataclass

from motion.base.types import Candidates, Landmarks, NotMeasured
from motion.body.contact_network import Weights
from motion.body.foot_contacts import find_candidates
from motion.body.foot_position import floor_of, placed
from motion.body.joint_readings import read_joints
from motion.body.joints import Flexed, flexed
from motion.body.leg_swaps import fix_leg_swaps
from motion.body.occlusion import covered_pictures
from motion.body.settings import AngleSettings, BodySettings
from motion.body.yaw import views_of


@dataclass(frozen=True, eq=False)
class Bodies:
    """Of every dancer, in the order of the landmarks: marks with the swaps of the legs mended, joints with zero as this clip has it,
    and what may be a landing or a weight change, with its place on the floor."""

    marks: Landmarks
    joints: tuple[Flexed | NotMeasured, ...]
    found: tuple[Candidates | NotMeasured, ...]


def bodies_of(
    landmarks: Landmarks, size_px: tuple[int, int], weights: Weights, body: BodySettings, angles: AngleSettings
) -> Bodies:
    """Read every dancer. landmarks as the model gave them; size_px: width and height of the picture; weights of the contact network."""
    marks = fix_leg_swaps(landmarks, body)
    views, floor = views_of(marks, settings=angles), floor_of(marks, size_px, body)
    joints, found = [], []
    for p, view in enumerate(views):
        covered = covered_pictures(marks, p, body)
        read = read_joints(marks, p, view, settings=angles, hidden=covered)
        joints.append(read if isinstance(read, NotMeasured) else flexed(read, view, None, angles))
        one = find_candidates(marks, p, size_px, weights, body)
        found.append(placed(one, floor, p, marks, view.view_deg, body) if isinstance(one, Candidates) else one)
    return Bodies(marks, tuple(joints), tuple(found))
