"""What is read off the landmarks of all dancers whatever music and dance they go with: a changed first count leaves it as it is."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from motion.base.camera import CameraPath
from motion.base.types import Candidates, Interval, Landmarks, NotMeasured
from motion.body.contact_network import Weights
from motion.body.foot_contacts import find_candidates
from motion.body.foot_position import floor_of, placed
from motion.body.joint_readings import read_joints
from motion.body.joints import Flexed, flexed
from motion.body.leg_swaps import fix_leg_swaps
from motion.body.occlusion import covered_pictures
from motion.body.settings import AngleSettings, BodySettings
from motion.body.steadying import apart_at_cuts, for_contacts, steadied, within
from motion.body.yaw import views_of

#: Said of whoever cannot be timed because of the camera.
MOVED = "the phone moved by more than could be taken off"


@dataclass(frozen=True, eq=False)
class Bodies:
    """Of every dancer, in the order of the landmarks: marks with the swaps of the legs mended, joints with zero as this clip has it,
    and what may be a landing or a weight change, with its place on the floor."""

    marks: Landmarks
    joints: tuple[Flexed | NotMeasured, ...]
    found: tuple[Candidates | NotMeasured, ...]


def bodies_of(
    landmarks: Landmarks, size_px: tuple[int, int], weights: Weights, body: BodySettings, angles: AngleSettings,
    camera: CameraPath | None = None, pieces: tuple[Interval, ...] = (),
) -> Bodies:  # fmt: skip
    """Read every dancer. landmarks as the model gave them; size_px: width and height of the picture; weights of the contact network;
    camera: how it moved, None where it stood still; pieces: the film's stretches between cuts, each with a floor of its own."""
    marks = fix_leg_swaps(landmarks, body)
    whole = apart_at_cuts(marks, [a for a, _ in pieces[1:]], body)
    still, (lands, lands_px) = steadied(whole, camera), for_contacts(whole, size_px, camera)
    views = views_of(marks, settings=angles)
    shots = pieces if len(pieces) > 1 else ((-np.inf, np.inf),)
    floors = [floor_of(within(still, shot), size_px, body) for shot in shots]
    joints, found = [], list[Candidates | NotMeasured]()
    for p, view in enumerate(views):
        covered = covered_pictures(marks, p, body)
        read = read_joints(still, p, view, settings=angles, hidden=covered)
        joints.append(read if isinstance(read, NotMeasured) else flexed(read, view, None, angles))
        one = find_candidates(lands, p, lands_px, weights, body)
        if isinstance(one, Candidates):
            for (from_s, to_s), floor in zip(shots, floors, strict=True):
                there = placed(one, floor, p, still, view.view_deg, body)
                own = ((one.times_s >= from_s) & (one.times_s < to_s))[:, None]
                one = replace(one, place=np.where(own, there.place, one.place))
            found.append(one)
        else:
            found.append(NotMeasured(one.what, MOVED) if _hidden_by_camera(marks, p, camera) else one)
    return Bodies(marks, tuple(joints), tuple(found))


def _hidden_by_camera(marks: Landmarks, p: int, camera: CameraPath | None) -> bool:
    """Is the camera's movement unknown in most of the pictures in which dancer index p was seen?"""
    if camera is None:
        return False
    seen = np.isfinite(marks.image_px[:, p, 0, 0])
    return bool((seen & ~camera.known).sum() > seen.sum() / 2)
