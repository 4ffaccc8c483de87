"""Drawings of joints: one joint over the counts, left above right, with its band of uncertainty; and the ranges of a check, side by
side. Plain inline SVG for report and page. Stretches that could not be read stay empty: no line crosses them.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.errors import BadStore
from motion.base.types import JOINTS, Angles, Floats
from motion.review.settings import SETTINGS
from motion.tell.count_line import BAND, FONT_STACK, FOOT, INK, PAPER, QUIET
from motion.tell.range_check import SideRange, TaskRange
from motion.tell.words import clock, degrees, why_not

WIDE, LEFT, RIGHT, PANEL, TOP, FOOT_ROOM = 1000.0, 92.0, 992.0, 130.0, 18.0, 34.0
BETWEEN = 22.0  # between the two panels
SIDES = ("left", "right")
#: Rows and columns of the bars of a check.
BAR_WIDE, BAR_LEFT, BAR_RIGHT, BAR_ROW = 640.0, 96.0, 610.0, 30.0


@dataclass(frozen=True, eq=False)
class JointCurve:
    """One joint of one dancer over time: times_s (F,); flexion_deg and sigma_deg (F, 2), left and right, NaN where not to be trusted."""

    joint: str
    times_s: Floats
    flexion_deg: Floats
    sigma_deg: Floats


def joint_curves(folder: Path, dancer: int) -> tuple[JointCurve, ...]:
    """Hips, knees and ankles of one dancer (id) from the angles.csv of a review folder. BadStore when it is not there or damaged."""
    path = folder / "angles.csv"
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [row for row in csv.DictReader(file) if row["dancer"] == str(dancer)]
        times_s = np.array([float(row["time_s"]) for row in rows])
        return tuple(
            JointCurve(
                joint,
                times_s,
                np.array([[_number(row[f"{side}_{joint}_flexion_deg"]) for side in SIDES] for row in rows]).reshape(-1, 2),
                np.array([[_number(row[f"sigma_{side}_{joint}_deg"]) for side in SIDES] for row in rows]).reshape(-1, 2),
            )
            for joint in ("hip", "knee", "ankle")
        )
    except (OSError, KeyError, ValueError, csv.Error) as error:
        raise BadStore(f"{path} cannot be read", "Review the clip again") from error


def curves_of(angles: Angles) -> tuple[JointCurve, ...]:
    """The same from a review that is still in memory."""
    columns = {joint: [j for j, (_, of) in enumerate(JOINTS) if of == joint] for joint in ("hip", "knee", "ankle")}
    return tuple(
        JointCurve(joint, angles.times_s, angles.flexion_deg[:, at], angles.sigma_deg[:, at]) for joint, at in columns.items()
    )


def _number(cell: str) -> float:
    return float(cell) if cell else math.nan


def joint_chart(curve: JointCurve, beats: dict[str, Any], *, from_s: float | None = None, to_s: float | None = None) -> str:
    """One joint over the counts (over seconds where no beat is known), the left side above the right, both on one scale.

    The line is the bend, the band about it holds it 19 times in 20; gaps are stretches that could not be read. A `<p>` where
    nothing could. from_s, to_s: the stretch to draw, the whole of it if not given.
    """
    seen = np.isfinite(curve.flexion_deg)
    inside = (curve.times_s >= (-np.inf if from_s is None else from_s)) & (curve.times_s <= (np.inf if to_s is None else to_s))
    drawn = seen.any(1) & inside
    name = curve.joint.capitalize()
    if not drawn.any():
        return f"<p>{name}: no stretch in which its bend could be read.</p>"
    begin = float(curve.times_s[drawn][0]) if from_s is None else from_s
    end = max(float(curve.times_s[drawn][-1]) if to_s is None else to_s, begin + 0.1)
    wide = 2 * np.nan_to_num(curve.sigma_deg)
    low = 10 * math.floor(min(0.0, float(np.nanmin((curve.flexion_deg - wide)[drawn]))) / 10)
    high = 10 * math.ceil(max(20.0, float(np.nanmax((curve.flexion_deg + wide)[drawn]))) / 10)

    def x(time_s: float) -> float:
        return LEFT + (RIGHT - LEFT) * (time_s - begin) / (end - begin)

    tall = TOP + 2 * PANEL + BETWEEN + FOOT_ROOM
    parts = []
    for k, side in enumerate(SIDES):
        top = TOP + k * (PANEL + BETWEEN)

        def y(value: float, top: float = top) -> float:
            return top + PANEL * (high - value) / (high - low)

        parts.append(f'<rect x="{LEFT}" y="{top:g}" width="{RIGHT - LEFT}" height="{PANEL:g}" fill="{PAPER}" stroke="{BAND}"/>')
        for value in _ticks(low, high):
            parts.append(
                f'<path d="M{LEFT} {y(value):.1f}H{RIGHT}" stroke="{QUIET if value == 0 else BAND}"/>'
                f'<text x="{LEFT - 6}" y="{y(value) + 4:.1f}" text-anchor="end" fill="{QUIET}">{degrees(value)}</text>'
            )
        parts.append(f'<text x="0" y="{top + 14:g}" font-weight="700" fill="{FOOT[side]}">{side.capitalize()}</text>')
        for a, b in _runs(seen[:, k] & inside, curve.times_s):
            t, v, s = curve.times_s[a:b], curve.flexion_deg[a:b, k], 2 * curve.sigma_deg[a:b, k]
            edge = [f"{x(p):.1f},{y(q):.1f}" for p, q in zip([*t, *t[::-1]], [*(v + s), *(v - s)[::-1]], strict=True)]
            line = " ".join(f"{x(p):.1f},{y(q):.1f}" for p, q in zip(t, v, strict=True))
            parts.append(
                f'<polygon points="{" ".join(edge)}" fill="{FOOT[side]}" fill-opacity=".18"/>'
                f'<polyline points="{line}" fill="none" stroke="{FOOT[side]}" stroke-width="2"/>'
            )
    parts += [
        f'<path d="M{x(t):.1f} {TOP}V{tall - FOOT_ROOM}" stroke="{BAND}"/>'
        f'<text x="{x(t):.1f}" y="{tall - 14:g}" text-anchor="middle" fill="{QUIET}">{escape(mark)}</text>'
        for t, mark in _marks(beats, begin, end)
    ]
    about = (
        f"{name}, left above right, from {clock(begin)} to {clock(end)}. Read in {seen[inside, 0].mean():.0%} (left) and "
        f"{seen[inside, 1].mean():.0%} (right) of the pictures; the band holds it 19 times in 20."
    )
    return (
        f'<div class="count-line joint"><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {tall:g}" role="img" '
        f'aria-label="{escape(about)}" font-family="{FONT_STACK}" font-size="16">{"".join(parts)}</svg></div>'
    )


def _ticks(low: float, high: float) -> list[float]:
    step = next(s for s in (10, 20, 30, 45, 60, 90) if (high - low) / s <= 5 or s == 90)
    return [float(v) for v in range(math.ceil(low / step) * step, int(high) + 1, step)]


def _runs(seen: NDArray[np.bool_], times_s: Floats) -> list[tuple[int, int]]:
    """Unbroken runs [a, b) of seen pictures, at least two long; a jump of the clock ends one too."""
    at = np.flatnonzero(seen)
    if not len(at):
        return []
    cuts = np.flatnonzero((np.diff(at) > 1) | (np.diff(times_s[at]) > SETTINGS.range_check.chart_gap_s)) + 1
    return [(int(run[0]), int(run[-1]) + 1) for run in np.split(at, cuts) if len(run) >= 2]


def _marks(beats: dict[str, Any], begin: float, end: float) -> list[tuple[float, str]]:
    """Count 1 of every bar with the count that it is, from the dance's first on; whole seconds where no beat is known."""
    if why_not(beats) is None:
        ones = [float(t) for t, c in zip(beats["times_s"], beats["counts"], strict=True) if c == 1 and begin <= t <= end]
        step = math.ceil(len(ones) / SETTINGS.range_check.chart_marks) or 1
        return [(t, "count 1" if i == 0 else "1") for i, t in enumerate(ones[::step])]
    step = math.ceil((end - begin) / SETTINGS.range_check.chart_marks)
    return [(float(s), clock(float(s))) for s in range(math.ceil(begin), math.floor(end) + 1, max(1, step))]


def task_chart(task: TaskRange, before: TaskRange | None = None, band_deg: tuple[float, float] | None = None) -> str:
    """One task of a range check: a bar for each side with the interval about its end, last time as an open diamond; band_deg, a
    published range as a grey band. A `<p>` where neither side was measured.
    """
    sides = [(side, value) for side in SIDES if (value := getattr(task, side)) is not None]
    if not sides:
        return "<p>Skipped, or not seen from the side.</p>"
    ends: list[float] = [value.high_deg for _, value in sides] + ([band_deg[1]] if band_deg else [])
    most = 30.0 * math.ceil(max(ends) / 30.0)
    tall = BAR_ROW * len(sides) + 30.0

    def x(value: float) -> float:
        return BAR_LEFT + (BAR_RIGHT - BAR_LEFT) * float(min(value, most)) / most

    parts = []
    if band_deg is not None:
        parts.append(
            f'<rect x="{x(band_deg[0]):.1f}" y="2" width="{max(3.0, x(band_deg[1]) - x(band_deg[0])):.1f}" height="{tall - 26:g}" '
            'fill="#c9c9cf"/>'
        )
    told = []
    for row, (side, value) in enumerate(sides):
        middle = 4 + BAR_ROW * (row + 0.5)
        parts.append(
            f'<text x="0" y="{middle + 5:g}" font-weight="700" fill="{FOOT[side]}">{side.capitalize()}</text>'
            f'<rect x="{BAR_LEFT}" y="{middle - 8:g}" width="{x(value.range_deg) - BAR_LEFT:.1f}" height="16" fill="{FOOT[side]}" '
            f'fill-opacity="{0.85 if value.near else 0.5}"/>'
            f'<path d="M{x(value.low_deg):.1f} {middle:g}H{x(value.high_deg):.1f}M{x(value.low_deg):.1f} {middle - 6:g}v12'
            f'M{x(value.high_deg):.1f} {middle - 6:g}v12" stroke="{INK}" stroke-width="2" fill="none"/>'
        )
        told.append(f"{side} {degrees(value.range_deg)}, surely between {degrees(value.low_deg)} and {degrees(value.high_deg)}")
        last: SideRange | None = None if before is None else getattr(before, side)
        if last is not None:
            at = x(last.range_deg)
            parts.append(f'<path d="M{at:.1f} {middle - 10:g}l7 10l-7 10l-7 -10Z" fill="{PAPER}" stroke="{INK}" stroke-width="2"/>')
            told.append(f"last time {degrees(last.range_deg)}")
    for value_deg in range(0, int(most) + 1, 30):
        parts.append(
            f'<path d="M{x(value_deg):.1f} {tall - 24:g}v5" stroke="{QUIET}"/>'
            f'<text x="{x(value_deg):.1f}" y="{tall - 5:g}" text-anchor="middle" fill="{QUIET}">{value_deg}°</text>'
        )
    return (
        f'<div class="range-bars"><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {BAR_WIDE:g} {tall:g}" role="img" '
        f'aria-label="{escape(task.words)}: {escape("; ".join(told))}." font-family="{FONT_STACK}" font-size="13">'
        f"{''.join(parts)}</svg></div>"
    )
