"""A review as the plain dictionary that review.json holds: strict JSON, nothing invented, nothing left at 0 for "not measured"."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.types import (
    JOINTS,
    Angles,
    BeatGrid,
    Clip,
    DanceSheet,
    Flag,
    Floats,
    Interval,
    JointRange,
    Measurement,
    NotMeasured,
    Pairing,
    Review,
    Steps,
    Timing,
    Track,
)
from motion.dance import unroll
from motion.dance.writing import sheet_text
from motion.review.settings import SETTINGS

#: Version of the folder's layout; it rises only when an older reader would misread a newer folder.
FORMAT = 1

TIME_DIGITS = 4  # of a second: a tenth of a millisecond, far below what a picture can show
MS_DIGITS = 1
PX_DIGITS = 1
DEG_DIGITS = 1
COUNT_DIGITS = 3  # thirds of a count stay apart
SHARE_DIGITS = 3
ANY_BPM = 120.0  # walls are asked for by their counts here, and their times are not used


def review_json(review: Review) -> dict[str, Any]:
    """The review as review.json states it (see the data dictionary): strict JSON types only, times in seconds of the clip.

    Example: a review without sound gives `["beats"] == {"not_measured": "the clip has no sound"}`.
    """
    out: dict[str, Any] = {
        "format": FORMAT,
        "made_by": plain(review.made_by),
        "clip": _clip(review.clip, review.stretches, review.expires),
        "beats": _beats(review.beats),
    }
    if review.dance is not None:
        out["dance"] = _dance(review.dance, _last_count(review.dancers), review.starting_wall)
    out["dancers"] = [_dancer(one) for one in review.dancers]
    if review.together is not None:
        out["class"] = plain(review.together)
    if review.phrase is not None:
        out["phrase"] = plain(review.phrase)
    out["notes"] = list(review.notes)
    return out


def wall_starts(sheet: DanceSheet, last_count: float, starting_wall: int) -> list[int]:
    """First running count of wall 1, 2, 3 .. as far as `last_count`: [1, 33, 49] for 32 counts with wall 2 cut after 16.

    Counts run on from 1 at the first count of `starting_wall`; the walls before it, which the clip does not show, are all given as
    beginning at 1, so that the place of a number in the list is always the number of its wall.
    """
    most_walls = min(SETTINGS.dance.most_walls_ahead, starting_wall + math.ceil(last_count))
    walls = unroll.wall_starts(sheet, ANY_BPM, walls=most_walls)
    earlier = walls[starting_wall - 1].count - 1
    return [max(1, wall.count - earlier) for wall in walls if wall.count - earlier <= last_count]


def number(value: float | None, digits: int) -> float | None:
    """The value rounded, or None where it is missing, NaN or infinite. Never -0.0."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), digits) + 0.0


def numbers(values: Floats, digits: int) -> list[Any]:
    """An array (any shape) as nested lists of rounded numbers; None where it is not finite."""
    rounded = np.round(values, digits) + 0.0
    if bool(np.isfinite(rounded).all()):
        return list(rounded.tolist())
    return [numbers(row, digits) if np.ndim(row) else number(float(row), digits) for row in rounded]


def plain(value: Any) -> Any:
    """Settings, versions and the like as JSON types: arrays and tuples become lists, NaN becomes None, anything else its text."""
    match value:
        case None | bool() | int() | str():
            return value
        case NotMeasured():
            return not_measured(value)
        case float():
            return value if math.isfinite(value) else None
        case np.generic() | np.ndarray():
            return plain(value.tolist())
        case Mapping():
            return {str(key): plain(item) for key, item in value.items()}
        case list() | tuple():
            return [plain(item) for item in value]
        case Path():
            return value.name
        case _:
            return str(value)


def not_measured(part: NotMeasured) -> dict[str, str]:
    """The block that stands for a part that could not be measured."""
    return {"not_measured": part.why}


def _clip(clip: Clip, stretches: tuple[Interval, ...], expires: str | None) -> dict[str, Any]:
    return {
        "name": clip.name,
        "sha256": clip.sha256,
        "duration_s": number(clip.duration_s, TIME_DIGITS),
        "pictures": len(clip.times_s),
        "damaged_pictures": int(clip.damaged_pictures),
        "width_px": int(clip.width_px),
        "height_px": int(clip.height_px),
        "has_sound": bool(clip.has_sound),
        "uneven_times": bool(clip.uneven_times),
        "cut_short": bool(clip.cut_short),
        "cuts_s": numbers(clip.cuts_s, TIME_DIGITS),
        "first_picture_s": number(clip.first_picture_s, TIME_DIGITS),
        "stretches": _intervals(stretches),
        "expires": expires,
    }


def _beats(beats: BeatGrid | NotMeasured) -> dict[str, Any]:
    if isinstance(beats, NotMeasured):
        return not_measured(beats)
    out: dict[str, Any] = {
        "source": beats.source,
        "times_s": numbers(beats.times_s, TIME_DIGITS),
        "counts": [int(count) for count in beats.counts],
        "tempo_bpm": number(beats.tempo_bpm, 2),
        "half_at": number(beats.half_at, SHARE_DIGITS),
        "confidence": number(beats.confidence, SHARE_DIGITS),
        "first_count_s": number(beats.first_count_s, TIME_DIGITS),
        "doubts": list(beats.doubts),
    }
    if (moved := beats.sound_offset) is not None:
        out["sound_offset_ms"] = {
            "value": number(moved.value_ms, MS_DIGITS),
            "sigma_ms": number(moved.sigma_ms, MS_DIGITS),
            "claps": moved.claps,
            "at_s": number(moved.at_s, TIME_DIGITS),
            "drift_per_min": number(moved.drift_ms_per_min, MS_DIGITS),
            "distance_m": number(moved.distance_m, 2),
        }
    return out


def _dance(sheet: DanceSheet, last_count: float, starting_wall: int) -> dict[str, Any]:
    return {
        "title": sheet.title,
        "counts": int(sheet.counts),
        "walls": int(sheet.walls),
        "section": sheet.section,
        "wall_starts": wall_starts(sheet, last_count, starting_wall),
        "written": sheet_text(sheet),
    }


def _last_count(dancers: tuple[Measurement, ...]) -> float:
    counts = [d.pairing.counts[np.isfinite(d.pairing.counts)] for d in dancers if isinstance(d.pairing, Pairing)]
    return float(max((c.max() for c in counts if len(c)), default=1.0))


def _dancer(one: Measurement) -> dict[str, Any]:
    out: dict[str, Any] = {
        "id": int(one.track.id),
        "label": one.track.label,
        "track": _track(one.track),
        "steps": _steps(one.steps, one.pairing),
        "timing": _timing(one.timing) | plain(one.habits or {}),
        "flags": not_measured(one.flags) if isinstance(one.flags, NotMeasured) else [_flag_row(flag) for flag in one.flags],
        "ranges": not_measured(one.ranges) if isinstance(one.ranges, NotMeasured) else [_range_row(r) for r in one.ranges],
        "angles": _angles(one.angles),
    }
    if one.walls is not None:
        out["walls"] = plain(one.walls)
    if one.written is not None:
        out["sheet"] = plain(one.written)
    for name, value in (
        ("range_check", one.range_check), ("standing", one.standing), ("bends", one.bends), ("smaller", one.smaller),
        ("body_facts", one.facts),
    ):  # fmt: skip
        if value is not None:
            out[name] = plain(value)
    if one.phrased:
        out["phrasing"] = plain(one.phrased)
    if one.easier:
        out["easier"] = [list(span) for span in one.easier]
    if one.own_version:
        out["own_version"] = True
    return out


def _track(track: Track) -> dict[str, Any]:
    # Pictures without a point are left out, so that every row of pelvis_px is a point.
    seen = np.isfinite(track.pelvis_px).all(axis=1)
    return {
        "times_s": numbers(track.times_s[seen], TIME_DIGITS),
        "pelvis_px": numbers(track.pelvis_px[seen], PX_DIGITS),
        "height_px": numbers(track.height_px[seen], PX_DIGITS),
        "unsure": _intervals(track.unsure),
    }


def step_rows(steps: Steps, pairing: Pairing | NotMeasured) -> list[dict[str, Any]]:
    """One dictionary a step, in order of time: time_s, sigma_ms, foot, kind, count, offset_ms (None where none fits), settled_s (None
    where the foot never bore the weight, or it was not seen)."""
    settled_s = steps.settled_s if len(steps.settled_s) else np.full(len(steps.times_s), np.nan)
    counts = offsets = np.full(len(steps.times_s), np.nan)
    if isinstance(pairing, Pairing):
        counts, offsets = pairing.counts, pairing.offset_ms
    return [
        {
            "time_s": number(time_s, TIME_DIGITS),
            "sigma_ms": number(sigma_ms, MS_DIGITS),
            "foot": "right" if right else "left",
            "kind": kind,
            "count": number(count, COUNT_DIGITS),
            "offset_ms": number(offset_ms, MS_DIGITS),
            "settled_s": number(settled, TIME_DIGITS),
        }
        for time_s, sigma_ms, right, kind, count, offset_ms, settled in zip(
            steps.times_s, steps.sigma_ms, steps.right, steps.kinds, counts, offsets, settled_s, strict=True
        )
    ]


def _steps(steps: Steps | NotMeasured, pairing: Pairing | NotMeasured) -> Any:
    return not_measured(steps) if isinstance(steps, NotMeasured) else step_rows(steps, pairing)


def _timing(timing: Timing | NotMeasured) -> dict[str, Any]:
    if isinstance(timing, NotMeasured):
        return not_measured(timing)
    return {
        "n": int(timing.n),
        "bias_ms": number(timing.bias_ms, MS_DIGITS),
        "bias_interval_ms": [number(edge, MS_DIGITS) for edge in timing.bias_interval_ms],
        "steadiness_ms": number(timing.steadiness_ms, MS_DIGITS),
        "vector_length": number(timing.vector_length, SHARE_DIGITS),
        "drift_ms_per_count": number(timing.drift_ms_per_count, 2),
    }


def _flag_row(flag: Flag) -> dict[str, Any]:
    return {
        "kind": flag.kind,
        "count": number(flag.count, COUNT_DIGITS),
        "until_count": number(flag.until_count, COUNT_DIGITS),
        "time_s": number(flag.time_s, TIME_DIGITS),
        "size": number(flag.size, 1),
        "unit": flag.unit,
        "sure": number(flag.sure, 2),
        "named": bool(flag.named),
        "words": flag.words,
    }


def _range_row(row: JointRange) -> dict[str, Any]:
    return {
        "joint": row.joint,
        "side": row.side,
        "low_deg": number(row.low_deg, DEG_DIGITS),
        "high_deg": number(row.high_deg, DEG_DIGITS),
        "sigma_deg": number(row.sigma_deg, DEG_DIGITS),
        "pictures_used": int(row.pictures_used),
        "view_deg": number(row.view_deg, DEG_DIGITS),
        "seen_share": number(row.seen_share, SHARE_DIGITS),
        "seen_sigma_deg": number(row.seen_sigma_deg, DEG_DIGITS),
        "near_share": number(row.near_share, SHARE_DIGITS),
    }


def _angles(angles: Angles | NotMeasured) -> dict[str, Any]:
    """What zero means for each joint; the angles themselves are in angles.csv."""
    if isinstance(angles, NotMeasured):
        return not_measured(angles)
    return {"zero": {f"{side}_{joint}": zero for (side, joint), zero in zip(JOINTS, angles.zero, strict=True)}}


def _intervals(intervals: tuple[Interval, ...]) -> list[list[float | None]]:
    return [[number(start, TIME_DIGITS), number(end, TIME_DIGITS)] for start, end in intervals]
