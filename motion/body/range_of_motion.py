"""Range that each joint used in a clip, and the repetitions of a guided range check."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.signals import usual_step_s
from motion.base.types import JOINTS, Angles, Floats, Foot, JointRange, NotMeasured
from motion.body.leg_points import KINDS
from motion.body.settings import AngleSettings

SIDES: tuple[Foot, Foot] = ("left", "right")
#: Column of `Angles` for a joint and side.
COLUMN: dict[tuple[str, Foot], int] = {(joint, SIDES[side == "right"]): j for j, (side, joint) in enumerate(JOINTS)}
#: More often than not.
MOSTLY = 0.5


def ranges_of(angles: Angles, *, settings: AngleSettings) -> tuple[JointRange, ...] | NotMeasured:
    """The range each joint and side used: 1st and 99th percentile of the trusted pictures, with its uncertainty.

    sigma_deg is the standard deviation of high minus low: of the angles at the two ends, one independent look each (pictures next
    to each other share their error), and of what the pictures may hold in which the joint could not be read: a leg that is lifted
    only while it is seen from the front is not in the range; seen_sigma_deg leaves that out. What zero was taken does not matter to
    either. view_deg: circular median
    over the pictures used. Joints trusted for less time than the settings ask for are left out; NotMeasured when none remains.
    """
    found = []
    present = max(1, int(np.isfinite(angles.view_deg).sum()))
    for (joint, side), column in COLUMN.items():
        trusted = np.isfinite(angles.flexion_deg[:, column])
        share = float(trusted.sum()) / present
        if trusted.sum() * usual_step_s(angles.times_s) < settings.range_s or share < settings.range_share:
            continue
        flexion, sigma = angles.flexion_deg[trusted, column], angles.sigma_deg[trusted, column]
        low, high = np.percentile(flexion, (1.0, 99.0))
        ends = [np.median(sigma[flexion <= np.percentile(flexion, 5)]), np.median(sigma[flexion >= np.percentile(flexion, 95)])]
        view = _circular_median_deg(angles.view_deg[trusted])
        seen_sigma = float(np.hypot(*ends))
        sigma_deg = float(np.hypot(seen_sigma, settings.range_unseen_deg[KINDS.index(joint)] * (1.0 - share)))
        towards = np.sin(np.radians(angles.view_deg[trusted]))
        near = float(np.mean(towards > 0 if side == "right" else towards < 0))
        count = int(trusted.sum())
        found.append(JointRange(joint, side, float(low), float(high), sigma_deg, count, view, share, seen_sigma, near))
    if not found:
        return NotMeasured(
            "range of motion", "too few pictures in which an angle could be trusted, as happens when nobody is seen side-on"
        )
    return tuple(found)


def range_check(angles: Angles, *, settings: AngleSettings) -> tuple[dict[str, Any], ...] | NotMeasured:
    """Repetitions of the guided movements, and the range of each: one row per task and side.

    Tasks: "knee bend" (both knees together; range of the knee), "knee lift" (one hip alone; of the hip), "point and flex" (one
    ankle alone; from flexed to pointed), "rise on toes" (both ankles together; of pointing). Rows: task, joint, side, repetitions,
    range_deg (median over the repetitions), interval_deg [low, high] (95 %: spread between repetitions and the error of an angle).
    A movement that was skipped has no row. NotMeasured when there is none at all.
    """
    bends = {side: _swings(angles, ("knee", side), 1.0, settings) for side in SIDES}
    lifts = {side: _swings(angles, ("hip", side), 1.0, settings) for side in SIDES}
    points = {side: _swings(angles, ("ankle", side), -1.0, settings) for side in SIDES}
    rows = []
    for task, joint, swings, together in (
        ("knee bend", "knee", bends, True),
        ("knee lift", "hip", lifts, False),
        ("point and flex", "ankle", points, False),
        ("rise on toes", "ankle", points, True),
    ):
        for side, other in (SIDES, SIDES[::-1]):
            own = _nearer(_repetitions(swings[side], swings[other], together, settings), side, angles, settings)
            if len(own[0]):
                rows.append(_row(task, joint, side, own, angles))
    return tuple(rows) if rows else NotMeasured("range check", "no repeated movement was found in the pictures seen from the side")


def _swings(angles: Angles, joint: tuple[str, Foot], sign: float, settings: AngleSettings) -> tuple[Floats, Floats]:
    """Times (N,) and sizes in degrees (N,) of clear peaks of sign * flexion, each against the mean of the lows beside it.

    A peak must also stand out from standing: coming back up from a knee bend is no pointing of the feet.
    """
    from scipy.signal import find_peaks

    series = sign * angles.flexion_deg[:, COLUMN[joint]]
    seen = np.flatnonzero(np.isfinite(series))
    if len(seen) * usual_step_s(angles.times_s) < settings.least_s:
        return np.zeros(0), np.zeros(0)
    times_s, values = angles.times_s[seen], series[seen]
    apart = max(1, round(settings.swing_apart_s / float(np.median(np.diff(times_s)))))
    peaks, _ = find_peaks(values, height=settings.swing_deg, prominence=settings.swing_deg, distance=apart)
    marks = np.concatenate(([0], peaks, [len(values) - 1]))
    size = [
        values[k] - (values[a : k + 1].min() + values[k : b + 1].min()) / 2
        for a, k, b in zip(marks, peaks, marks[2:], strict=False)
    ]
    return times_s[peaks], np.array(size)


def _repetitions(
    own: tuple[Floats, Floats], other: tuple[Floats, Floats], together: bool, settings: AngleSettings
) -> tuple[Floats, Floats]:
    """The swings that the other side makes too at the same time, or (not together) does not; small ones beside them are dropped.

    Every guided movement moves other joints a little too: what is far smaller than the task's own largest belongs to another task.
    """
    apart_s = np.abs(own[0][:, None] - other[0][None, :])
    beside = np.where(apart_s <= settings.together_s, other[1][None, :], 0.0).max(1, initial=0.0)
    # the other leg wavers a little while one is lifted, and neither side of one movement is read the same as the other
    keep: NDArray[np.bool_] = (beside >= settings.together_share * own[1]) == together
    if keep.any():
        keep &= own[1] >= settings.swing_share * own[1][keep].max()
    return own[0][keep], own[1][keep]


def _nearer(swings: tuple[Floats, Floats], side: Foot, angles: Angles, settings: AngleSettings) -> tuple[Floats, Floats]:
    """Only the swings made while this side was the nearer one, where it was at times: turned round half-way, each has its turn."""
    near = _near(swings[0], side, angles)
    return (swings[0][near], swings[1][near]) if near.sum() >= settings.near_swings else swings


def _near(times_s: Floats, side: Foot, angles: Angles) -> NDArray[np.bool_]:
    """Whether this side of the dancer was the one nearer the camera at each of the times (N,)."""
    towards = np.sin(np.radians(angles.view_deg[np.searchsorted(angles.times_s, times_s)]))
    return np.asarray(towards > 0 if side == "right" else towards < 0)


def _row(task: str, joint: str, side: Foot, swings: tuple[Floats, Floats], angles: Angles) -> dict[str, Any]:
    times_s, sizes = swings
    at = np.searchsorted(angles.times_s, times_s)
    one = float(np.nanmedian(angles.sigma_deg[at, COLUMN[(joint, side)]])) * np.sqrt(2.0)  # a range is a difference of two angles
    between = float(sizes.std(ddof=1)) if len(sizes) > 1 else 0.0
    # the median of few values spreads 1.25 times as much as their mean; an angle's own error is alike in every repetition
    half = 1.96 * float(np.hypot(1.25 * between / np.sqrt(len(sizes)), one))
    middle = float(np.median(sizes))
    return {
        "task": task, "joint": joint, "side": side, "repetitions": len(sizes), "range_deg": middle,
        "interval_deg": [max(0.0, middle - half), middle + half],
        "each_deg": [round(float(v), 1) for v in sizes], "at_s": [round(float(t), 2) for t in times_s],
        "near": bool(_near(times_s, side, angles).mean() > MOSTLY),
    }  # fmt: skip


def _circular_median_deg(view_deg: Floats) -> float:
    """The angle with the least mean distance on the circle to all others, to the nearest degree."""
    grid = np.arange(-180.0, 180.0)
    away = np.abs((view_deg[None, :] - grid[:, None] + 180.0) % 360.0 - 180.0).mean(1)
    return float(grid[np.argmin(away)])
