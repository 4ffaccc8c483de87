"""Every dancer of a clip against the counts: over which stretch the dance goes, and the verdict on each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from motion.base.types import Candidates, DanceSheet, EasierWay, Floats, Interval, NotMeasured
from motion.dance.easier import easier_ways
from motion.timing.grid import Counted
from motion.timing.settings import TimingSettings
from motion.timing.verdict import Matched, Verdict, against_beats, against_dance, danced_stretch, matched_with_dance

#: One in so many is a good part.
GOOD_PART = 20


def matches_of(found: Sequence[Candidates | NotMeasured], counted: Counted, settings: TimingSettings) -> tuple[Matched | None, ...]:
    """Every dancer's landings matched with the dance; None for whoever was not seen well enough, and where no dance is known."""
    grid = counted.grid if counted.due else None
    return tuple(
        matched_with_dance(f, counted.due, grid, settings) if grid is not None and isinstance(f, Candidates) else None
        for f in found
    )


def stretches_of(
    found: Sequence[Candidates | NotMeasured], pieces: Sequence[Interval], counted: Counted, matches: Sequence[Matched | None],
    settings: TimingSettings,
) -> dict[Interval, Interval]:  # fmt: skip
    """For each piece of the film (between cuts) in which somebody was followed, from the first to the last landing that half of its
    dancers, or more, danced; the piece itself where nobody did. matches: as matches_of gives them."""
    out = {}
    whose = [pieces_of(f, pieces) if isinstance(f, Candidates) else () for f in found]
    for a, b in (piece for piece in pieces if any(piece in own for own in whose)):
        spans = [
            (max(a, span[0]), min(b, span[1]))
            for f, matched, own in zip(found, matches, whose, strict=True)
            if isinstance(f, Candidates) and (a, b) in own
            if (span := danced_stretch(f, counted.due, counted.grid, settings, matched=matched)) is not None
            if span[0] < b and span[1] > a
        ]
        half = (len(spans) - 1) // 2
        ends = (sorted(s for s, _ in spans)[half], sorted((e for _, e in spans), reverse=True)[half]) if spans else (a, b)
        out[a, b] = ends
    return out


def pieces_of(found: Candidates, pieces: Sequence[Interval]) -> tuple[Interval, ...]:
    """The pieces in which a dancer was followed: a good part of their candidates lie there (one may be read just across a cut)."""
    many = [int(((found.times_s >= a) & (found.times_s < b)).sum()) for a, b in pieces]
    return tuple(piece for piece, n in zip(pieces, many, strict=True) if n * GOOD_PART >= sum(many) and n) or (pieces[0],)


def easier_of(sheet: DanceSheet | None, counted: Counted, starting_wall: int) -> tuple[EasierWay, ...]:
    """What the sheet allows instead, over the counts that were danced."""
    if sheet is None or not counted.due:
        return ()
    return easier_ways(sheet, until_count=counted.due[-1].count, starting_wall=starting_wall)


def verdict_of(
    found: Candidates | NotMeasured, counted: Counted, dance_s: Interval, easier: Sequence[EasierWay], times_s: Floats, *,
    own_version: bool, settings: TimingSettings, matched: Matched | None = None,
) -> Verdict:  # fmt: skip
    """What is said of one dancer: against the dance, or beside the beat alone where there is no sheet or it is their own version.

    times_s (F,): the clip's pictures; matched: this dancer's part of matches_of, where that is at hand.
    """
    if isinstance(found, NotMeasured):
        return Verdict(found, found, found, found)
    if counted.grid is not None and counted.due and not own_version:
        rate_hz = 1 / float(np.median(np.diff(times_s)))
        return against_dance(
            found, counted.due, counted.grid, dance_s, settings, untimed=counted.untimed, easier=easier, rate_hz=rate_hz,
            matched=matched,
        )  # fmt: skip
    return against_beats(found, None if counted.untimed is not None else counted.grid, settings, untimed=counted.untimed)
