"""Everything that is measured of one dancer's joints in one clip, in its order: angles, ranges, the range check, body facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from motion.base.types import Angles, JointRange, NotMeasured, Steps
from motion.body.angles import flexion_of
from motion.body.joint_readings import Reading
from motion.body.kinematics import body_facts
from motion.body.neutral_pose import NeutralPose, standing_from, standing_in
from motion.body.range_of_motion import range_check, ranges_of
from motion.body.settings import AngleSettings
from motion.body.yaw import View


@dataclass(frozen=True, eq=False)
class Joints:
    """Parts of a `Measurement`, under its names."""

    angles: Angles | NotMeasured
    ranges: tuple[JointRange, ...] | NotMeasured
    range_check: tuple[dict[str, Any], ...] | NotMeasured | None
    facts: tuple[dict[str, Any], ...] | NotMeasured | None
    standing: dict[str, Any] | None


@dataclass(frozen=True, eq=False)
class Flexed:
    """One dancer as read in a clip, the angles from that, and the range that each joint used."""

    read: Reading
    view: View
    angles: Angles
    ranges: tuple[JointRange, ...] | NotMeasured


def flexed(read: Reading, view: View, stored: NeutralPose | None, settings: AngleSettings) -> Flexed:
    """Angles and ranges from readings and view. stored: an earlier range check's standing, used when this clip shows none."""
    angles = flexion_of(read, view, settings=settings, standing=stored)
    return Flexed(read, view, angles, ranges_of(angles, settings=settings))


def joints_of(
    own: Flexed | NotMeasured, steps: Steps | NotMeasured, kept: dict[str, Any] | None, *, check: bool, facts: bool,
    settings: AngleSettings,
) -> Joints:  # fmt: skip
    """The joints of one dancer. own: `flexed` without an earlier standing. kept: an earlier range check's standing as a review keeps it,
    used when this clip shows none; check, facts: whether a range check and body facts were asked for."""
    if isinstance(own, NotMeasured):
        return Joints(own, own, own if check else None, own if facts else None, None)
    stored = None if kept is None else standing_from(kept)
    bent = own if stored is None else flexed(own.read, own.view, stored, settings)
    standing = stored if "stored" in bent.angles.zero else None
    if check and isinstance(shown := standing_in(own.read, settings), NeutralPose):
        standing = shown
    told = body_facts(own.read, own.view, steps if isinstance(steps, Steps) else None, settings=settings) if facts else None
    checked = range_check(bent.angles, settings=settings) if check else None
    return Joints(bent.angles, bent.ranges, checked, told, None if standing is None else standing.as_dict())
