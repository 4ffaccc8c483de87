"""One dancer's landings against the dance, or against beats alone: what is written down of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.data import BeatGrid, Candidates, Due, Flag, Floats, Interval, Kind, NotMeasured, Pairing, Steps, Timing
from motion.music.counts import beat_position, time_of
from motion.settings import TimingSettings
from motion.timing.flags import Danced, extra_steps, flags_of, one_event, plain_sight
from motion.timing.match import WAYS, Match, match_dance
from motion.timing.summary import timing_of


@dataclass(frozen=True, eq=False)
class Verdict:
    """What is said of one dancer's timing; danced: how it was matched with the dance, None without one."""

    steps: Steps | NotMeasured
    pairing: Pairing | NotMeasured
    timing: Timing | NotMeasured
    flags: tuple[Flag, ...] | NotMeasured
    danced: Danced | None = None


def against_dance(
    found: Candidates, due: Sequence[Due], grid: BeatGrid, dance_s: Interval, settings: TimingSettings, *,
    untimed: NotMeasured | None,
) -> Verdict:  # fmt: skip
    """Verdict on one dancer who dances a known dance.

    due: all events that can be seen (see match.to_match), in order; grid: counts in time; dance_s: the danced stretch, the same for
    everyone; untimed: why no one can be early or late (then grid comes from the steps themselves).
    """
    match, at_s, gap_s = _matched(found, due, grid, settings)
    counts = np.array([d.count for d in due])
    if (match.step >= 0).sum() < settings.least_pairs:
        why = NotMeasured("steps", "too few of this dancer's landings fit the dance to be judged")
        return Verdict(_steps(found, np.zeros(0, dtype=np.int64), {}, settings), why, why, why)
    extra = extra_steps(found, match, dance_s, settings)
    event = {int(s): i for i, s in enumerate(match.step) if s >= 0}
    kept = np.array(sorted([*event, *extra]), dtype=np.int64)
    sheet_says = {s: due[i] for s, i in event.items()}
    paired_due = np.array([event.get(int(s), -1) for s in kept], dtype=np.int64)
    inside = paired_due >= 0
    paired_counts = np.where(inside, counts[paired_due], np.nan)
    offset = np.where(inside & (untimed is None), match.offset_ms[paired_due], np.nan)
    missed = tuple(int(i) for i in np.flatnonzero(match.step < 0) if due[int(i)].lands)
    pairing = Pairing(paired_counts, offset, paired_due, missed)
    danced = Danced(found, due, at_s, gap_s, match, untimed is None, dance_s)
    timing = untimed if untimed is not None else timing_of(counts, _own_way(match, due, found), gap_s, settings)
    return Verdict(_steps(found, kept, sheet_says, settings), pairing, timing, flags_of(danced, settings), danced)


def danced_stretch(found: Candidates, due: Sequence[Due], grid: BeatGrid | None, settings: TimingSettings) -> Interval | None:
    """From one dancer's first to last landing that fits the dance (or, without one, is plain); None when there is none."""
    if grid is None or not due:
        plain = found.times_s[(found.strength >= settings.plain_landing) & ~found.shift]
        return (float(plain[0]), float(plain[-1])) if len(plain) else None
    match = _matched(found, due, grid, settings)[0]
    held = np.flatnonzero(match.step >= 0)
    # a stray landing before or after the dance stands alone among counts without one
    firm = (
        [i for i in held if (match.step[i : i + 3] >= 0).sum() >= 2],
        [i for i in held if (match.step[max(0, i - 2) : i + 1] >= 0).sum() >= 2],
    )
    if not firm[0] or not firm[1]:
        return None
    return float(found.times_s[match.step[firm[0][0]]]), float(found.times_s[match.step[firm[1][-1]]])


def _matched(found: Candidates, due: Sequence[Due], grid: BeatGrid, settings: TimingSettings) -> tuple[Match, Floats, Floats]:
    counts = np.array([d.count for d in due])
    at_s = time_of(grid, counts)
    gap_s = (time_of(grid, counts + 1) - time_of(grid, counts - 1)) / 2
    return match_dance(found, due, at_s, gap_s, settings), at_s, gap_s


def _own_way(match: Match, due: Sequence[Due], found: Candidates) -> Floats:
    """Offsets (N,) of landings danced as written or in mirror image, in plain sight; NaN for the rest and for weight alone."""
    usable = np.array(
        [
            plain_sight(found, s) and WAYS[w][1] == 0 and not found.shift[s] and d.lands
            for s, w, d in zip(match.step, match.way, due, strict=True)
        ]
    )
    return np.where(usable, match.offset_ms, np.nan)


def against_beats(found: Candidates, grid: BeatGrid | None, settings: TimingSettings, *, untimed: NotMeasured | None) -> Verdict:
    """Verdict without a dance sheet: every plain landing against the nearest beat or half beat; only a habit is told."""
    plain = np.flatnonzero(found.strength >= settings.plain_landing).tolist()
    landed = [s for s in plain if not found.shift[s]]
    kept = np.array(
        [s for s in plain if not found.shift[s] or not any(one_event(found, s, k, settings) for k in landed)], dtype=np.int64
    )
    steps = _steps(found, kept, {}, settings)
    if grid is None:
        why = untimed if untimed is not None else NotMeasured("timing", "there is no beat to compare with")
        return Verdict(steps, why, why, why)
    times = found.times_s[kept]
    inside = (times > grid.times_s[0] - 0.3) & (times < grid.times_s[-1] + 0.3)
    half = np.round(2 * _straight(grid, times)) / 2
    counts = np.where(inside, half + 1, np.nan)
    due_s = time_of(grid, np.where(inside, half + 1, 1.0))
    offset = np.where(inside, 1000 * (times - due_s), np.nan)
    gap = time_of(grid, np.where(inside, half + 2, 2.0)) - due_s
    timing = timing_of(counts, np.where(found.shift[kept], np.nan, offset), gap, settings)
    pairing = Pairing(counts, offset, np.full(len(kept), -1), ())
    return Verdict(
        steps, pairing, timing, NotMeasured("findings", "without a dance sheet there is nothing to compare each count with")
    )


def _straight(grid: BeatGrid, times_s: Floats) -> Floats:
    """Beats since count 1 with the swing taken out, so that a swung & reads as a half."""
    position = beat_position(grid, times_s)
    whole = np.floor(position)
    part = position - whole
    half = grid.half_at
    return np.asarray(whole + np.where(part < half, part / half / 2, 0.5 + (part - half) / (1 - half) / 2))


def _steps(
    found: Candidates, kept: np.ndarray[tuple[int, ...], np.dtype[np.int64]], sheet_says: dict[int, Due], settings: TimingSettings
) -> Steps:
    """The candidates that are written down. sheet_says: the event that each serves, which tips the scale where the feet do not tell:
    between step and touch, and between a landing and weight that only moves where both are read."""
    moved = [m for m in range(len(found.times_s)) if found.shift[m]]
    kinds: list[Kind] = []
    for s in kept:
        weight = float(np.clip(found.weight[s], 0.02, 0.98))
        odds = np.log(weight / (1 - weight))
        asked = sheet_says.get(int(s))
        if asked is not None:
            odds += 1.0 if asked.takes_weight else -1.0
        stays = asked is not None and not asked.lands and any(one_event(found, s, m, settings) for m in moved)
        kinds.append("shift" if found.shift[s] or stays else "step" if odds > 0 else "touch")
    return Steps(
        found.times_s[kept], found.sigma_ms[kept], found.right[kept], tuple(kinds), found.strength[kept], found.place[kept]
    )
