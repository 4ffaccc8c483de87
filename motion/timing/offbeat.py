"""Late and early: against the dancer's own usual time, beyond what the measurement proves, and not where it is the dancer's phrasing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.base.statistics import slope
from motion.base.types import Candidates, Due, Floats, Ints
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Phrase:
    """A count that this dancer places off the beat wall after wall, which is phrasing and no fault.

    count in the wall, 3.5 is 3&; offset_ms: median against the dancer's own usual time, late +, with interval_ms either side (95 %);
    walls: of how many it was seen on, and off: on how many of them beyond what one landing proves."""

    count: float
    foot: str
    offset_ms: float
    interval_ms: float
    walls: int
    off: int


@dataclass(frozen=True, eq=False)
class Offsets:
    """Landings to be judged in time: event (K,) index into due; off_ms (K,) against the dancer's own time; spread_ms (K,) of landing and
    beat; band_ms (K,): what is still with the beat; line_ms: how far the dancer's own time drifts from first to last of them, 0.0 when no
    drift is proved."""

    event: Ints
    off_ms: Floats
    spread_ms: Floats
    band_ms: Floats
    line_ms: float


def offsets_of(
    due: Sequence[Due], gap_s: Floats, offset_ms: Floats, usable: Sequence[int], found: Candidates, step: Ints, settings: TimingSettings
) -> Offsets:  # fmt: skip
    """Landings of the usable events (indexes) against the dancer's own time: its median, or its line where it drifts.

    gap_s, offset_ms, step (N,) as in Danced and Match.
    """
    event = np.array([i for i in usable if np.isfinite(offset_ms[i])], dtype=np.int64)
    off = offset_ms[event]
    spread = np.hypot(found.sigma_ms[step[event]], settings.beat_sigma_ms)
    band = np.maximum(settings.band_ms, np.maximum(settings.band_share * 1000 * gap_s[event], settings.proof * spread))
    band = band + settings.half_count_extra_ms * np.array([_half(due[i]) for i in event], dtype=np.float64)
    band = band + settings.turn_extra_ms * np.array([abs(due[i].turn_deg) >= 90 for i in event], dtype=np.float64)
    counts = np.array([due[i].count for i in event])
    rise = drift(counts, off, settings)
    if rise:
        line = rise * (counts - np.median(counts))
        return Offsets(event, off - line - np.median(off - line), spread, band, rise * float(np.ptp(counts)))
    middle = np.median(off) if len(off) >= settings.least_pairs else 0.0
    return Offsets(event, off - middle, spread, band, 0.0)


def drift(counts: Floats, offset_ms: Floats, settings: TimingSettings) -> float:
    """Milliseconds a count by which a dancer drifts from the beat, 0.0 when it is not proved.

    Proved when the line is steeper than chance allows, rises by more than the band over the dance, and the dance's first and last
    thirds lie as far apart by themselves: a few late landings at one end are no drift.
    """
    if len(counts) < settings.drift_least:
        return 0.0
    rough = slope(counts, offset_ms)
    left = offset_ms - rough * counts
    left = left - np.median(left)
    usual = 1.4826 * float(np.median(np.abs(left)))
    kept = np.abs(left) <= 3 * max(usual, settings.beat_sigma_ms)
    c, o = counts[kept], offset_ms[kept]
    if len(c) < settings.drift_least or np.ptp(c) == 0:
        return 0.0
    steep = slope(c, o)
    error = float(np.std(o - steep * c, ddof=2)) / (float(np.std(c)) * np.sqrt(len(c)))
    third = np.ptp(c) / 3
    ends = float(np.median(o[c >= c[-1] - third]) - np.median(o[c <= c[0] + third]))
    rise = steep * float(np.ptp(c))
    proved = abs(steep) > settings.drift_proof * error and abs(rise) > settings.drift_ms and ends * rise > 0
    return steep if proved and abs(ends) > abs(rise) / 2 else 0.0


def phrasing(due: Sequence[Due], offsets: Offsets, slow_pictures: bool, settings: TimingSettings) -> list[Phrase]:
    """Counts that come early or late on most walls, or that do over all walls together where one landing proves nothing.

    slow_pictures: 30 pictures a second or fewer, at which a single & is within the noise.
    """
    groups: dict[tuple[float, str], list[int]] = {}
    for k, i in enumerate(offsets.event):
        groups.setdefault((round(due[i].count_in_wall, 2), str(due[i].foot)), []).append(k)
    out = []
    for (count, foot), members in sorted(groups.items()):
        off, band = offsets.off_ms[members], offsets.band_ms[members]
        middle, walls = float(np.median(off)), len(members)
        if walls < 2:
            continue
        same = int(((np.abs(off) > band) & (np.sign(off) == np.sign(middle))).sum())
        # the median of n is spread by 1.25 / sqrt(n) of one's; two walls' own difference counts as well
        spread = float(np.median(offsets.spread_ms[members]))
        wide = 1.96 * 1.2533 * max(spread, float(np.std(off, ddof=1))) / np.sqrt(walls)
        most = same >= 2 and same > walls * settings.phrase_share
        pooled = slow_pictures and count != round(count) and abs(middle) > max(settings.band_ms, settings.proof * wide / 1.96)
        if most or pooled:
            out.append(Phrase(count, foot, round(middle, 1), round(wide, 1), walls, same))
    return out


def _half(due: Due) -> bool:
    return due.count != round(due.count)
