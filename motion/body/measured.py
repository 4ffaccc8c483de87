"""Everything that is measured of one dancer's joints in one clip, in its order: angles, ranges, the range check, body facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from motion.body.angles import angles_of
from motion.body.facts import body_facts
from motion.body.hidden import covered_pictures
from motion.body.ranges import range_check, ranges_of
from motion.body.reading import read_joints
from motion.body.standing import Standing, standing_from, standing_of
from motion.body.view import View
from motion.data import Angles, JointRange, Landmarks, NotMeasured, Steps
from motion.settings import Settings


@dataclass(frozen=True, eq=False)
class Joints:
    """Parts of a `Measurement`, under its names."""

    angles: Angles | NotMeasured
    ranges: tuple[JointRange, ...] | NotMeasured
    range_check: tuple[dict[str, Any], ...] | NotMeasured | None
    facts: tuple[dict[str, Any], ...] | NotMeasured | None
    standing: dict[str, Any] | None


def joints_of(
    marks: Landmarks, p: int, view: View, steps: Steps | NotMeasured, kept: dict[str, Any] | None, *, check: bool, facts: bool,
    settings: Settings,
) -> Joints:  # fmt: skip
    """The joints of dancer number p (index). marks with the swaps of the legs already mended; kept: an earlier range check's standing as
    a review keeps it, used when this clip shows none; check, facts: whether a range check and body facts were asked for."""
    angle, covered = settings.angles, covered_pictures(marks, p, settings.body)
    stored = None if kept is None else standing_from(kept)
    angles = angles_of(marks, p, view, settings=angle, standing=stored, hidden=covered)
    standing = stored if isinstance(angles, Angles) and "stored" in angles.zero else None
    if check and isinstance(own := standing_of(marks, p, view, settings=angle), Standing):
        standing = own
    told: tuple[dict[str, Any], ...] | NotMeasured | None = None
    if facts:
        read = read_joints(marks, p, view, settings=angle, hidden=covered)
        own_steps = steps if isinstance(steps, Steps) else None
        told = read if isinstance(read, NotMeasured) else body_facts(read, view, own_steps, settings=angle)
    kept_now = None if standing is None else standing.as_dict()
    if isinstance(angles, NotMeasured):
        return Joints(angles, angles, angles if check else None, told, kept_now)
    return Joints(angles, ranges_of(angles, settings=angle), range_check(angles, settings=angle) if check else None, told, kept_now)
