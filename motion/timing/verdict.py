"""One dancer's landings against the dance, or against beats alone: what is written down of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from motion.base.types import (
    BeatGrid,
    Candidates,
    Due,
    EasierWay,
    Flag,
    Floats,
    Interval,
    Kind,
    NotMeasured,
    Pairing,
    Steps,
    Timing,
)
from motion.music.counts import beat_position, time_of
from motion.timing.easier import in_easier_ways
from motion.timing.flags import Danced, extra_steps, flags_of, one_event, plain_sight, timed_events
from motion.timing.match import WAYS, Match, match_dance
from motion.timing.offbeat import Phrase, phrasing
from motion.timing.settings import TimingSettings
from motion.timing.summary import timing_of


@dataclass(frozen=True, eq=False)
class Matched:
    """One dancer's landings matched with the events of the dance, and when each of them (N,) was due and how long a count was there, s."""

    match: Match
    at_s: Floats
    gap_s: Floats


@dataclass(frozen=True, eq=False)
class Verdict:
    """What is said of one dancer's timing; danced: how it was matched with the dance, None without one; phrased: counts that the dancer
    places off the beat wall after wall, which are no findings; easier: (from, until) running counts danced in the sheet's easier way."""

    steps: Steps | NotMeasured
    pairing: Pairing | NotMeasured
    timing: Timing | NotMeasured
    flags: tuple[Flag, ...] | NotMeasured
    danced: Danced | None = None
    phrased: tuple[Phrase, ...] = ()
    easier: tuple[Interval, ...] = ()


def against_dance(
    found: Candidates, due: Sequence[Due], grid: BeatGrid, dance_s: Interval, settings: TimingSettings, *,
    untimed: NotMeasured | None, easier: Sequence[EasierWay] = (), rate_hz: float | None = None, matched: Matched | None = None,
) -> Verdict:  # fmt: skip
    """Verdict on one dancer who dances a known dance.

    due: all events that can be seen (see match.to_match), in order; grid: counts in time; dance_s: the danced stretch, the same for
    everyone; untimed: why no one can be early or late (then grid comes from the steps themselves); easier: what the sheet allows
    instead; rate_hz: pictures a second, None if every single landing may be judged; matched: as matched_with_dance gives it, where that
    is at hand.
    """
    matched = matched or matched_with_dance(found, due, grid, settings)
    match, at_s, gap_s = matched.match, matched.at_s, matched.gap_s
    counts = np.array([d.count for d in due])
    if (match.step >= 0).sum() < settings.least_pairs:
        why = NotMeasured("steps", "too few of this dancer's landings fit the dance to be judged")
        return Verdict(_steps(found, np.zeros(0, dtype=np.int64), {}, settings), why, why, why)
    match = _within(match, found, due, dance_s, settings)
    eased = in_easier_ways(found, due, at_s, gap_s, match, easier, lambda c: time_of(grid, c), settings)
    match = eased.match
    slow = rate_hz is not None and rate_hz < settings.slow_pictures_hz
    danced = Danced(found, due, at_s, gap_s, match, untimed is None, dance_s, eased.excused, slow, frozenset(eased.served))
    event = {int(s): i for i, s in enumerate(match.step) if s >= 0}
    kept = np.array(sorted({*event, *eased.served, *extra_steps(danced, settings)}), dtype=np.int64)
    sheet_says = {s: d for s, (d, _) in eased.served.items()} | {s: due[i] for s, i in event.items()}
    paired_due = np.array([event.get(int(s), -1) for s in kept], dtype=np.int64)
    inside = paired_due >= 0
    served = {s: (d.count, off) for s, (d, off) in eased.served.items()}
    other = np.array([served.get(int(s), (np.nan, np.nan)) for s in kept]).reshape(-1, 2)
    paired_counts = np.where(inside, counts[paired_due], other[:, 0])
    offset = np.where(inside, match.offset_ms[paired_due], other[:, 1])
    offset = offset if untimed is None else np.full(len(kept), np.nan)
    missed = tuple(int(i) for i in np.flatnonzero(match.step < 0) if due[int(i)].lands and int(i) not in eased.excused)
    pairing = Pairing(paired_counts, offset, paired_due, missed)
    timing = untimed if untimed is not None else timing_of(counts, _own_way(match, due, found), gap_s, settings)
    phrased = phrasing(due, timed_events(danced, settings), slow, settings) if untimed is None else []
    return Verdict(
        _steps(found, kept, sheet_says, settings), pairing, timing, flags_of(danced, settings), danced, tuple(phrased), eased.spans
    )


def danced_stretch(
    found: Candidates, due: Sequence[Due], grid: BeatGrid | None, settings: TimingSettings, *, matched: Matched | None = None
) -> Interval | None:
    """From one dancer's first to last landing that fits the dance (or, without one, is plain); None when there is none. matched: as
    matched_with_dance gives it, where that is at hand."""
    if grid is None or not due:
        plain = found.times_s[(found.strength >= settings.plain_landing) & ~found.shift]
        return (float(plain[0]), float(plain[-1])) if len(plain) else None
    matched = matched or matched_with_dance(found, due, grid, settings)
    return _firm(matched.match, found, due, settings)


def _firm(match: Match, found: Candidates, due: Sequence[Due], settings: TimingSettings) -> Interval | None:
    """From the first to the last landing of what hangs together as the dance; None when nothing does.

    Every landing that fits speaks for the dance being on, every one that is missing in plain sight against it: walking about before and
    after it, feet hit a count now and then.
    """
    worth = np.zeros(len(due))
    late_s = match.lag_ms / 1000
    for i, (d, s, w) in enumerate(zip(due, match.step, match.way, strict=True)):
        if s >= 0:
            off = (match.offset_ms[i] - match.lag_ms) / settings.stray_ms
            meant = found.right[s] == ((d.foot == "right") ^ WAYS[w][0])
            worth[i] = (1.5 / (1 + off**2) - 0.5) if meant else -0.5
        elif d.lands and match.due_s is not None and any(a <= match.due_s[i] + late_s <= b for a, b in found.seen):
            worth[i] = -settings.stray_gap
    held = np.flatnonzero(match.step >= 0)
    if not len(held) or worth.max() <= 0:
        return None
    last = int(np.argmax(np.cumsum(worth)))
    first = len(worth) - 1 - int(np.argmax(np.cumsum(worth[::-1])))
    inside = held[(held >= first) & (held <= last)]
    if len(inside) < 2:
        return None
    times = found.times_s[match.step[inside]]
    return float(times[0]), float(times[-1])


def _within(match: Match, found: Candidates, due: Sequence[Due], dance_s: Interval, settings: TimingSettings) -> Match:
    """The match without what fits a count only by chance, before and after what hangs together as this dancer's dance."""
    own = _firm(match, found, due, settings) or dance_s
    first, last = own[0] - 0.01, own[1] + 0.01
    stray = (match.step >= 0) & ((found.times_s[match.step] < first) | (found.times_s[match.step] > last))
    return replace(match, step=np.where(stray, -1, match.step), offset_ms=np.where(stray, np.nan, match.offset_ms))


def matched_with_dance(found: Candidates, due: Sequence[Due], grid: BeatGrid, settings: TimingSettings) -> Matched:
    """Match one dancer's landings with all events that can be seen (see match.to_match)."""
    counts = np.array([d.count for d in due])
    at_s = time_of(grid, counts)
    gap_s = (time_of(grid, counts + 1) - time_of(grid, counts - 1)) / 2
    return Matched(match_dance(found, due, at_s, gap_s, settings), at_s, gap_s)


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
    """Verdict without a dance sheet: every plain landing against the nearest beat, or half beat where this dancer steps on those.

    Late and early are told against the dancer's own usual time; with nothing written to be meant, never to a person's name.
    """
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
    half = _nearest(_straight(grid, times), ~found.shift[kept] & inside, settings)
    counts = np.where(inside, half + 1, np.nan)
    due_s = time_of(grid, np.where(inside, half + 1, 1.0))
    offset = np.where(inside, 1000 * (times - due_s), np.nan)
    gap = time_of(grid, np.where(inside, half + 2, 2.0)) - due_s
    timing = timing_of(counts, np.where(found.shift[kept], np.nan, offset), gap, settings)
    pairing = Pairing(counts, offset, np.full(len(kept), -1), ())
    return Verdict(steps, pairing, timing, _off_the_beat(found, kept, pairing, gap, settings))


def _nearest(position: Floats, landed: np.ndarray[tuple[int, ...], np.dtype[np.bool_]], settings: TimingSettings) -> Floats:
    """The beat or half beat (N,) that each landing was for; position (N,): beats since count 1.

    A dancer who hardly ever steps on half beats meant the beat, but for landings that lie right on a half.
    """
    whole = np.round(position)
    off = np.abs(position - whole)
    between = landed & (off > 0.25)
    if landed.any() and between.sum() <= settings.halves_share * landed.sum():
        return np.asarray(np.where(off > settings.half_near, np.round(2 * position) / 2, whole))
    return np.asarray(np.round(2 * position) / 2)


def _off_the_beat(
    found: Candidates,
    kept: np.ndarray[tuple[int, ...], np.dtype[np.int64]],
    pairing: Pairing,
    gap_s: Floats,
    settings: TimingSettings,
) -> tuple[Flag, ...]:
    told = [k for k, s in enumerate(kept) if plain_sight(found, int(s)) and not found.shift[s] and np.isfinite(pairing.counts[k])]
    if len(told) < settings.least_pairs:
        return ()
    usual = float(np.median(pairing.offset_ms[told]))
    out = []
    for k in told:
        s, count = kept[k], float(pairing.counts[k])
        off = float(pairing.offset_ms[k]) - usual
        spread = float(np.hypot(found.sigma_ms[s], settings.beat_sigma_ms))
        band = max(settings.band_ms, settings.band_share * 1000 * float(gap_s[k]), settings.proof * spread)
        if abs(off) <= band:
            continue
        foot, side = "right" if found.right[s] else "left", "after" if off > 0 else "before"
        mark = "" if count == round(count) else "&"
        said = (
            f"Near count {int(count)}{mark} of the music the {foot} foot landed {abs(off):.0f} ms {side} this dancer's usual time "
            f"(± {2 * spread:.0f} ms)."
        )
        sure = round(min(settings.unnamed_sure, 1 - np.exp(-((abs(off) - band) / spread) - 1.0)), 3)
        kind = "late" if off > 0 else "early"
        out.append(Flag(kind, count, None, float(found.times_s[s]), round(off, 1), "ms", float(sure), False, said))
    return tuple(out)


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
    bears = np.array([kind != "touch" for kind in kinds], dtype=np.bool_)
    settled_s = np.where(bears, found.settled_s[kept], np.nan) if len(found.settled_s) else found.settled_s
    return Steps(
        found.times_s[kept],
        found.sigma_ms[kept],
        found.right[kept],
        tuple(kinds),
        found.strength[kept],
        found.place[kept],
        settled_s,
    )
