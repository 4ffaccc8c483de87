"""Every dancer of a clip against the counts: over which stretch the dance goes, and the verdict on each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from motion.base.types import Candidates, DanceSheet, EasierWay, Floats, Interval, NotMeasured
from motion.dance.easier import easier_ways
from motion.timing.grid import Counted
from motion.timing.settings import TimingSettings
from motion.timing.verdict import Matched, Verdict, against_beats, against_dance, danced_stretch, matched_with_dance


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
    whose = [piece_of(f, pieces) for f in found if isinstance(f, Candidates)]
    for a, b in (piece for piece in pieces if piece in whose):
        spans = [
            span
            for f, matched in zip(found, matches, strict=True)
            if isinstance(f, Candidates) and piece_of(f, pieces) == (a, b)
            if (span := danced_stretch(f, counted.due, counted.grid, settings, matched=matched)) is not None
        ]
        half = (len(spans) - 1) // 2
        ends = (sorted(s for s, _ in spans)[half], sorted((e for _, e in spans), reverse=True)[half]) if spans else (a, b)
        out[a, b] = ends
    return out


def piece_of(found: Candidates, pieces: Sequence[Interval]) -> Interval:
    """The piece in which a dancer was followed: most of their candidates lie there."""
    many = [int(((found.times_s >= a) & (found.times_s < b)).sum()) for a, b in pieces]
    return pieces[int(np.argmax(many))]


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
