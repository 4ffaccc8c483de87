"""Landings made from a dance sheet, for tests of timing: what a dancer's feet would give, with any fault put in by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from motion.base.types import BeatGrid, Candidates, DanceSheet, Due, Flag, Floats
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.unroll import unroll
from motion.music.counts import steady_grid, time_of
from motion.review.settings import SETTINGS
from motion.timing.match import to_match
from motion.timing.verdict import Verdict, against_dance

SHEETS = Path(__file__).resolve().parents[1] / "sample_clips"
#: (time_s, right, shift, strength, weight) of one landing.
Landing = tuple[float, bool, bool, float, float]
FIRST_S, BPM = 4.0, 120.0


def sheet_named(name: str) -> DanceSheet:
    return read_sheet(SHEETS / f"{name}.csv")


def marking_time(counts: int = 8) -> DanceSheet:
    """A step a count on the spot, right foot first: a dance without any shape of its own."""
    rows = "".join(f"{c},{'R' if c % 2 else 'L'},in place,\n" for c in range(1, counts + 1))
    return parse_sheet(f"# title: Marking time\n# counts: {counts}\n# walls: 1\ncount,foot,move,turn\n{rows}", "marking.csv")


def events(sheet: DanceSheet, until: float = 64.0, starting_wall: int = 1) -> tuple[Due, ...]:
    due = unroll(sheet, until_count=until, starting_wall=starting_wall)
    return tuple(due[i] for i in to_match(due))


def grid_of(due: Sequence[Due], *, bpm: float = BPM, first_s: float = FIRST_S, per_bar: int = 4) -> BeatGrid:
    return steady_grid(bpm, first_s, 0.0, first_s + (due[-1].count + 8) * 60 / bpm, per_bar)


def landings(due: Sequence[Due], at_s: Floats, *, spread_ms: float = 12.0, seed: int = 3) -> list[Landing]:
    """The landings of a good dancer, seen as plainly as they usually are."""
    chance = np.random.default_rng(seed)
    return [
        (
            float(t + chance.normal(0, spread_ms / 1000)),
            d.foot == "right",
            not d.lands,
            float(chance.uniform(0.8, 0.99)),
            float(chance.uniform(0.8, 0.97) if d.takes_weight else chance.uniform(0.03, 0.2)),
        )
        for d, t in zip(due, at_s, strict=True)
    ]


def candidates(rows: Sequence[Landing], seen: Sequence[tuple[float, float]] | None = None, sigma_ms: float = 12.0) -> Candidates:
    rows = sorted(rows)
    table = np.array(rows, dtype=np.float64).reshape(-1, 5)
    stretches = tuple(seen) if seen is not None else ((table[0, 0] - 4.0, table[-1, 0] + 4.0),)
    return Candidates(
        table[:, 0], np.full(len(rows), sigma_ms), table[:, 1] > 0, table[:, 2] > 0, table[:, 3], table[:, 4],
        np.full((len(rows), 2), np.nan), stretches,
    )  # fmt: skip


def judged(
    sheet: DanceSheet,
    change: Callable[[list[Landing], tuple[Due, ...], Floats], list[Landing]] | None = None,
    *,
    until: float = 64.0,
    seen: Sequence[tuple[float, float]] | None = None,
    seed: int = 3,
    bpm: float = BPM,
) -> tuple[Verdict, tuple[Due, ...], Floats]:
    """Verdict on a dancer whose landings `change` has spoiled, the events, and when each was due."""
    due = events(sheet, until)
    grid = grid_of(due, bpm=bpm, per_bar=sheet.beats_per_bar)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = landings(due, at_s, seed=seed)
    found = candidates(change(rows, due, at_s) if change else rows, seen)
    dance_s = (float(at_s[0]) - 0.05, float(at_s[-1]) + 0.05)
    return against_dance(found, due, grid, dance_s, SETTINGS.timing, untimed=None), due, at_s


def told(verdict: Verdict) -> list[tuple[str, float | None]]:
    assert isinstance(verdict.flags, tuple)
    return [(f.kind, f.count) for f in verdict.flags]


def flags(verdict: Verdict, *kinds: str) -> list[Flag]:
    assert isinstance(verdict.flags, tuple)
    return [f for f in verdict.flags if f.kind in kinds]
