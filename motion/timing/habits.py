"""One dancer's habits against the beat: is it a steady time at all, how many counts are on it, which counts are hard, which walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist
from typing import Any

import numpy as np

from motion.base.statistics import median_interval, rayleigh, share_interval, usual_spread, vector
from motion.base.types import BeatGrid, Flag, Floats, NotMeasured, Pairing, Steps, Timing
from motion.timing.chance import chance_of_gathering
from motion.timing.consistency import repeats
from motion.timing.flags import Danced, in_sight, plain_sight
from motion.timing.match import WAYS
from motion.timing.settings import TimingSettings

#: Findings that say a count was not danced as it is, whatever its time.
LOST = frozenset({"missed", "other foot", "other step", "danced in mirror", "stood still", "count behind", "count ahead"})


def habits_with_dance(
    danced: Danced, flags: Sequence[Flag] | NotMeasured, timing: Timing | NotMeasured, settings: TimingSettings
) -> dict[str, Any] | None:
    """What review.json's timing says beside lead, steadiness and drift; None where timing was not measured.

    rayleigh: n, z and vector_length of the landings in the count; p, that landings which know nothing of the counts gather as closely
    (`chance_of_gathering`), as those that are matched lie near their count by the choosing alone, and draws, how many that rests on.
    on_beat: counts within `band_ms` of the dancer's usual time (of the beat itself where the usual time lies outside the band), of those
    that were in sight, with Wilson's interval. walls: n, bias_ms with interval and steadiness_ms of each, None where too few landings
    tell. counts: every count of the wall over the walls. right_on: how many of them surely lie where they should wall after wall; best:
    the surest few; hardest: the few that surely do not. Times are ms, late +.
    """
    if isinstance(timing, NotMeasured) or not danced.timed:
        return None
    offset = own_offsets(danced)
    held = np.isfinite(offset)
    judged = held | np.array([d.lands and _asked(danced, i, settings) for i, d in enumerate(danced.due)])
    counts = _counts(danced, offset, flags, timing.bias_ms, settings)
    right_on, hardest = _right_on_and_hard(counts, settings)
    return {
        "rayleigh": _rayleigh(offset[held], danced.gap_s[held]) | _by_chance(danced, settings),
        "on_beat": _on_beat(offset[judged], danced.gap_s[judged], timing.bias_ms, settings),
        "walls": _walls(danced, offset, settings),
        "counts": counts,
        "right_on": len(right_on),
        "best": right_on[: settings.told_counts],
        "hardest": hardest[: settings.told_counts],
    }


def habits_with_beats(
    steps: Steps | NotMeasured,
    pairing: Pairing | NotMeasured,
    timing: Timing | NotMeasured,
    grid: BeatGrid,
    settings: TimingSettings,
) -> dict[str, Any] | None:
    """The same without a dance: landings against the nearest beat or half beat; nothing by count or wall, which are not known.

    The circle of Rayleigh's test is then half a count: whatever lands anywhere is never further than that from the nearest half. No
    landing is left out for lying far off, so that the test's own p holds.
    """
    if not steps or not timing or isinstance(pairing, NotMeasured) or isinstance(timing, NotMeasured):
        return None
    lands = np.array([kind != "shift" for kind in steps.kinds]) if isinstance(steps, Steps) else np.zeros(0, bool)
    offset = pairing.offset_ms[lands]
    offset = offset[np.isfinite(offset)]
    gap_s = np.full(len(offset), 60 / grid.tempo_bpm)
    return {
        "rayleigh": _rayleigh(offset, gap_s / 2),
        "on_beat": _on_beat(offset, gap_s, timing.bias_ms, settings),
        "walls": [],
        "counts": [],
        "right_on": 0,
        "best": [],
        "hardest": [],
    }


def _asked(danced: Danced, i: int, settings: TimingSettings) -> bool:
    """Was event i to be danced in sight, and no easier option allowed in its place?"""
    return i not in danced.excused and in_sight(danced, i, settings)


def own_offsets(danced: Danced) -> Floats:
    """Offsets (N,) in ms of landings danced on their own count, in plain sight; NaN for the rest and for weight alone."""
    usable = [
        d.lands and plain_sight(danced.found, int(s)) and WAYS[int(w)][1] == 0 and not danced.found.shift[s]
        for d, s, w in zip(danced.due, danced.match.step, danced.match.way, strict=True)
    ]
    return np.where(usable, danced.match.offset_ms, np.nan)


def _rayleigh(offset_ms: Floats, circle_s: Floats) -> dict[str, Any]:
    length = vector(2 * np.pi * offset_ms / (1000 * circle_s))[1]
    z, p = rayleigh(len(offset_ms), length)
    return {"n": len(offset_ms), "vector_length": round(length, 3), "z": round(z, 2), "p": float(f"{p:.2g}")}


def _by_chance(danced: Danced, settings: TimingSettings) -> dict[str, Any]:
    """p of Rayleigh's question where the landings were chosen for being near their count, and on how many draws it rests."""
    first, last = danced.dance_s[0] - settings.sight_s, danced.dance_s[1] + settings.sight_s
    inside = (danced.at_s >= first) & (danced.at_s <= last)
    due = [d for d, kept in zip(danced.due, inside, strict=True) if kept]
    p = chance_of_gathering(danced.found, due, danced.at_s[inside], danced.gap_s[inside], settings)
    return {"p": round(p, 3), "draws": settings.chance_draws}


def _on_beat(offset_ms: Floats, gap_s: Floats, bias_ms: float, settings: TimingSettings) -> dict[str, Any]:
    """offset_ms (N,) of the counts judged, NaN where no landing served one."""
    band = np.maximum(settings.band_ms, settings.band_share * 1000 * gap_s)
    about = bias_ms if abs(bias_ms) <= float(np.median(band)) else 0.0
    on = int((np.abs(offset_ms - about) <= band).sum())
    low, high = share_interval(on, len(offset_ms))
    return {
        "n": on, "of": len(offset_ms), "share": round(on / len(offset_ms), 3), "interval": [round(low, 3), round(high, 3)],
        "within_ms": round(float(np.median(band)), 1), "about_ms": round(about, 1),
    }  # fmt: skip


def _walls(danced: Danced, offset: Floats, settings: TimingSettings) -> list[dict[str, Any]]:
    number = np.array([d.wall for d in danced.due])
    out = []
    for wall in sorted({int(w) for w in number[np.isfinite(offset)]}):
        own = offset[(number == wall) & np.isfinite(offset)]
        enough = len(own) >= settings.least_pairs
        out.append({
            "wall": wall, "n": len(own),
            "bias_ms": round(float(np.median(own)), 1) if enough else None,
            "bias_interval_ms": [round(edge, 1) for edge in median_interval(own)] if enough else None,
            "steadiness_ms": round(float(np.std(own, ddof=1)), 1) if enough else None,
        })  # fmt: skip
    return out


def _counts(
    danced: Danced, offset: Floats, flags: Sequence[Flag] | NotMeasured, bias_ms: float, settings: TimingSettings
) -> list[dict[str, Any]]:
    """One row a count of the wall (& and a apart): on how many walls it was in sight, on which it was lost, when it landed, less the
    dancer's usual time: usual_ms, the median, with give_ms, twice the standard error that the spread of all this dancer's landings
    leaves it."""
    sure = [f for f in flags if f.kind in LOST and f.sure >= settings.class_sure] if not isinstance(flags, NotMeasured) else []
    rest = offset[np.isfinite(offset)] - bias_ms
    spread = max(usual_spread(rest), settings.beat_sigma_ms)
    out = []
    for (count, _, _), events in sorted(repeats(danced.due).items()):
        seen = [i for i in events if np.isfinite(offset[i]) or _asked(danced, i, settings)]
        lost = [danced.due[i].wall for i in seen if any(spans(f, danced.due[i].count) for f in sure)]
        own = np.array([offset[i] - bias_ms for i in seen if np.isfinite(offset[i])])
        if not seen:
            continue
        out.append({
            "count": count, "walls": len({danced.due[i].wall for i in seen}), "lost_on": sorted(set(lost)), "landings": len(own),
            "usual_ms": round(float(np.median(own)), 1) if len(own) else None,
            "give_ms": round(float(2 * _median_error(spread, len(own))), 1) if len(own) else None,
            "least_ms": round(_agreed(own), 1) if len(own) else None,
            "most_ms": round(float(np.abs(own).max()), 1) if len(own) else None,
        })  # fmt: skip
    return out


def _median_error(spread: float, n: int) -> float:
    """Standard error of the median of n normal values: that of the mean for one and two, then towards sqrt(pi / 2) of it."""
    return spread / math.sqrt(n) * (1.0 if n <= 2 else math.sqrt(math.pi / 2))


def _agreed(values: Floats) -> float:
    """The size on which at least half of the values agree, with its sign: of the two middle ones the nearer to 0, 0 if they straddle."""
    ordered = np.sort(values)
    low, high = float(ordered[(len(ordered) - 1) // 2]), float(ordered[len(ordered) // 2])
    return 0.0 if low * high < 0 else min(low, high, key=abs)


def _right_on_and_hard(counts: list[dict[str, Any]], settings: TimingSettings) -> tuple[list[float], list[float]]:
    """Counts (in the wall) that are surely right on, and those with a habit beyond chance or lost on most walls; likeliest first.

    Nothing is said of a count seen on fewer than `habit_walls` walls. A hard one must be as far off on at least half of its walls,
    beyond what chance would do to any count of the dance (the level shared out among all counts, after Bonferroni).
    """
    often = [c for c in counts if c["walls"] >= settings.habit_walls]
    if not often:
        return [], []
    beyond = NormalDist().inv_cdf(1 - settings.habit_chance / (2 * len(often))) / 2  # in give_ms, which is twice the error
    hard = []
    for c in often:
        lost = len(c["lost_on"]) / c["walls"]
        off = abs(c["least_ms"] or 0.0)
        if (len(c["lost_on"]) >= settings.habit_walls and lost > 0.5) or (
            c["landings"] >= settings.habit_walls and off > max(settings.told_count_ms, beyond * c["give_ms"])
        ):
            hard.append((-lost, -off, float(c["count"])))
    right_on = [
        (abs(c["usual_ms"]) + c["give_ms"], float(c["count"]))
        for c in often
        if not c["lost_on"] and c["landings"] == c["walls"] and c["most_ms"] <= settings.band_ms
        and abs(c["usual_ms"]) + c["give_ms"] <= settings.right_on_ms
    ]  # fmt: skip
    return [c for _, c in sorted(right_on)], [c for *_, c in sorted(hard)]


def spans(flag: Flag, count: float) -> bool:
    """Does a finding speak of this running count?"""
    return flag.count is not None and flag.count - 0.01 <= count <= (flag.until_count or flag.count) + 0.01
