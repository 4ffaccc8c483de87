"""What a teacher looks for besides the beat: step length and width, foot clearance, knee over foot, sway, lean; each with its +-.

Taken only where the view allows: what goes sideways from front or back, what goes forward from the side. Lengths are in leg lengths
of the same dancer, so that distance and zoom cancel. They describe; no value is right or wrong.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.agreement import NORMAL_95
from motion.base.signals import usual_step_s
from motion.base.types import Floats, Steps
from motion.body.joint_readings import Reading
from motion.body.leg_points import ANKLE, HEEL, HIP, KNEE, TOE
from motion.body.settings import AngleSettings
from motion.body.yaw import HIP_L, HIP_R, SHOULDER_L, SHOULDER_R, View

LEGS = "leg lengths"


def body_facts(read: Reading, view: View, steps: Steps | None, *, settings: AngleSettings) -> tuple[dict[str, Any], ...]:
    """One row per fact that could be measured: fact, side (or None), value, plus_minus (95 %), unit, n, seen ("side", "front", "any").

    steps of the same dancer, None when none were found. Facts, each a median unless said otherwise:
    - "step length", "step width" (leg lengths): landings with weight that leave the feet apart, forward or back and seen from the
      side, or sideways and seen from front or back;
    - "foot clearance" (leg lengths): highest of the swinging sole above the line from floor to floor;
    - "knee over foot" (leg lengths): the knee outside (+) or inside (-) of the ankle while the foot is planted;
    - "sway of the hips" (leg lengths): from the 5th to the 95th percentile of the mid-hip against the planted feet;
    - "forward lean", "sideways lean" (degrees): the trunk against upright, to the dancer's front and right.
    """
    rows: list[dict[str, Any]] = []
    towards = np.abs(((view.view_deg + 180.0) % 360.0) - 180.0)
    front = np.minimum(towards, 180.0 - towards) <= settings.fact_front_deg
    side = read.off_deg <= settings.fact_side_deg
    if steps is not None:
        rows += _steps(read, steps, front, side, settings) + _clearance(read, steps, settings)
    # seen from the front the dancer's right is the picture's left, seen from behind it is the right
    rightward = np.where(np.cos(np.radians(view.view_deg)) > 0, -1.0, 1.0)
    rows += _knees(read, front, rightward, settings)
    rows += _sway(read, front, settings)
    rows += _lean(read, view, front, side, rightward, settings)
    return tuple(rows)


def _row(
    fact: str, side: str | None, values: Floats, unit: str, seen: str, floor: float, looks: int | None = None
) -> dict[str, Any]:
    """A median with its +-: spread over the independent looks, and `floor`, what all of them may share of the points' error."""
    n = len(values) if looks is None else looks
    middle = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    half = NORMAL_95 * float(np.hypot(1.25 * spread / np.sqrt(max(n, 1)), floor))
    digits = 0 if unit == "degrees" else 2
    return {
        "fact": fact, "side": side, "value": round(middle, digits) + 0.0, "plus_minus": round(half, 2 if digits else 1), "unit": unit,
        "n": n, "seen": seen,
    }  # fmt: skip


def _steps(
    read: Reading, steps: Steps, front: NDArray[np.bool_], side: NDArray[np.bool_], settings: AngleSettings
) -> list[dict[str, Any]]:
    lands = np.array([kind == "step" for kind in steps.kinds], dtype=np.bool_) & np.isfinite(steps.place).all(1)
    at = np.minimum(np.searchsorted(read.times_s, steps.times_s), len(read.times_s) - 1)
    across, along = np.abs(steps.place[:, 0]), np.abs(steps.place[:, 1])
    rows = []
    # only across the picture: how far away a foot stands, one camera tells too roughly
    for fact, values, chosen, seen in (
        ("step length", along, (along > across) & side[at], "side"),
        ("step width", across, (across >= along) & front[at], "front"),
    ):
        chosen = chosen & (values >= settings.fact_step_least)
        if (lands & chosen).sum() >= settings.fact_steps:
            rows.append(_row(fact, None, values[lands & chosen], LEGS, seen, settings.fact_place_sd))
    return rows


def _clearance(read: Reading, steps: Steps, settings: AngleSettings) -> list[dict[str, Any]]:
    rows = []
    for k, side in ((0, "left"), (1, "right")):
        soles = read.points_px[:, [HEEL + k, TOE + k], 1].max(1)
        lifted = []
        for t in steps.times_s[steps.right == bool(k)]:
            near = np.flatnonzero((read.times_s >= t - settings.fact_swing_s) & (read.times_s <= t))
            path = soles[near]
            if len(near) < 4 or not np.isfinite(path).all():
                continue
            moving = np.flatnonzero(read.sole_speed[near, k] > settings.fact_swing_speed)
            if not len(moving):
                continue
            first = max(0, int(moving[0]) - 1)
            line = np.interp(read.times_s[near[first:]], read.times_s[near[[first, -1]]], path[[first, -1]])
            lifted.append(float((line - path[first:]).max()) / read.leg_px)
        if len(lifted) >= settings.fact_steps:
            rows.append(_row("foot clearance", side, np.array(lifted), LEGS, "any", settings.fact_point_sd))
    return rows


def _looks(flags: NDArray[np.bool_], read: Reading) -> int:
    """Independent looks in the pictures: neighbours share their error for a second."""
    return max(1, int(flags.sum() * usual_step_s(read.times_s)))


def _knees(read: Reading, front: NDArray[np.bool_], rightward: Floats, settings: AngleSettings) -> list[dict[str, Any]]:
    rows = []
    for k, side in ((0, "left"), (1, "right")):
        apart = (read.points_px[:, KNEE + k, 0] - read.points_px[:, ANKLE + k, 0]) * rightward * (1 if k else -1) / read.leg_px
        used = front & (read.sole_speed[:, k] <= settings.stance_speed) & np.isfinite(apart)
        if used.sum() * usual_step_s(read.times_s) >= settings.range_s:
            rows.append(_row("knee over foot", side, apart[used], LEGS, "front", settings.fact_point_sd, _looks(used, read)))
    return rows


def _sway(read: Reading, front: NDArray[np.bool_], settings: AngleSettings) -> list[dict[str, Any]]:
    hips, feet = read.points_px[:, [HIP, HIP + 1], 0].mean(1), read.points_px[:, [ANKLE, ANKLE + 1], 0].mean(1)
    apart = (hips - feet) / read.leg_px
    used = front & (read.sole_speed.max(1) <= settings.stance_speed) & np.isfinite(apart)
    if used.sum() * usual_step_s(read.times_s) < settings.range_s:
        return []
    low, high = np.percentile(apart[used], (5, 95))
    half = NORMAL_95 * np.sqrt(2.0) * settings.fact_point_sd / np.sqrt(_looks(used, read)) + settings.fact_point_sd
    return [
        {
            "fact": "sway of the hips", "side": None, "value": round(float(high - low), 2), "plus_minus": round(float(half), 2),
            "unit": LEGS, "n": _looks(used, read), "seen": "front",
        }
    ]  # fmt: skip


def _lean(
    read: Reading, view: View, front: NDArray[np.bool_], side: NDArray[np.bool_], rightward: Floats, settings: AngleSettings
) -> list[dict[str, Any]]:
    up = read.points_px[:, [SHOULDER_L, SHOULDER_R]].mean(1) - read.points_px[:, [HIP_L, HIP_R]].mean(1)
    tilt = np.degrees(np.arctan2(up[:, 0], -up[:, 1]))  # to the picture's right
    rows = []
    for fact, used, towards, seen in (
        ("forward lean", side, np.sign(np.sin(np.radians(view.view_deg))), "side"),
        ("sideways lean", front, rightward, "front"),
    ):
        values = (tilt * towards)[used & np.isfinite(tilt)]
        if len(values) * usual_step_s(read.times_s) >= settings.range_s:
            rows.append(
                _row(fact, None, values, "degrees", seen, settings.fact_lean_sd_deg, _looks(used & np.isfinite(tilt), read))
            )
    return rows
