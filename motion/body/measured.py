"""Everything that is measured of one dancer's joints in one clip, in its order: angles, ranges, the range check, body facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from motion.body.angles import flexion_of
from motion.body.facts import body_facts
from motion.body.ranges import range_check, ranges_of
from motion.body.reading import Reading
from motion.body.standing import Standing, standing_from, standing_in
from motion.body.view import View
from motion.data import Angles, JointRange, NotMeasured, Steps
from motion.settings import AngleSettings


@dataclass(frozen=True, eq=False)
class Joints:
    """Parts of a `Measurement`, under its names."""

    angles: Angles | NotMeasured
    ranges: tuple[JointRange, ...] | NotMeasured
    range_check: tuple[dict[str, Any], ...] | NotMeasured | None
    facts: tuple[dict[str, Any], ...] | NotMeasured | None
    standing: dict[str, Any] | None


def joints_of(
    read: Reading | NotMeasured, view: View, steps: Steps | NotMeasured, kept: dict[str, Any] | None, *, check: bool, facts: bool,
    settings: AngleSettings,
) -> Joints:  # fmt: skip
    """The joints of one dancer from readings and view. kept: an earlier range check's standing as a review keeps it, used when this clip
    shows none; check, facts: whether a range check and body facts were asked for."""
    if isinstance(read, NotMeasured):
        return Joints(read, read, read if check else None, read if facts else None, None)
    stored = None if kept is None else standing_from(kept)
    angles = flexion_of(read, view, settings=settings, standing=stored)
    standing = stored if "stored" in angles.zero else None
    if check and isinstance(own := standing_in(read, settings), Standing):
        standing = own
    told = body_facts(read, view, steps if isinstance(steps, Steps) else None, settings=settings) if facts else None
    checked = range_check(angles, settings=settings) if check else None
    return Joints(angles, ranges_of(angles, settings=settings), checked, told, None if standing is None else standing.as_dict())
