"""Late and early against phrasing, half counts and drift."""

from __future__ import annotations

import numpy as np
import pytest
from made_steps import Landing, candidates, events, flags, grid_of, judged, landings, sheet_named, told

from motion.base.types import Due, Floats, NotMeasured
from motion.music.counts import time_of
from motion.review.settings import SETTINGS
from motion.timing.offbeat import drift
from motion.timing.verdict import Verdict, against_beats, against_dance

TIMING = SETTINGS.timing


def shifted(count_in_wall: float, by_s: float, walls: set[int], until: float = 96.0, rate_hz: float | None = None) -> Verdict:
    """lantern, with one count of some walls moved."""
    due = events(sheet_named("lantern"), until)
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = [
        (t + by_s * (d.count_in_wall == count_in_wall and d.wall in walls), *rest)
        for d, (t, *rest) in zip(due, landings(due, at_s), strict=True)
    ]
    found = candidates(rows)  # type: ignore[arg-type]
    return against_dance(found, due, grid, (float(at_s[0]), float(at_s[-1])), TIMING, untimed=None, rate_hz=rate_hz)


def test_late_on_one_wall_is_a_fault_and_on_every_wall_is_phrasing() -> None:
    once = shifted(13.0, 0.15, {2})
    assert told(once) == [("late", 45.0)]
    assert once.phrased == ()
    always = shifted(13.0, 0.15, {1, 2, 3})
    assert told(always) == []
    (phrase,) = always.phrased
    assert (phrase.count, phrase.walls, phrase.off) == (13.0, 3, 3)
    assert phrase.offset_ms == pytest.approx(150, abs=25)
    assert 0 < phrase.interval_ms < 60


def test_early_once_and_late_once_is_no_phrasing() -> None:
    due = events(sheet_named("lantern"), 64.0)
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = [
        (t + 0.15 * (-1) ** d.wall * (d.count_in_wall == 13.0), *rest)
        for d, (t, *rest) in zip(due, landings(due, at_s), strict=True)
    ]
    verdict = against_dance(candidates(rows), due, grid, (float(at_s[0]), float(at_s[-1])), TIMING, untimed=None)  # type: ignore[arg-type]
    assert told(verdict) == [("early", 13.0), ("late", 45.0)]
    assert verdict.phrased == ()


def test_an_and_is_judged_over_its_walls_at_30_pictures_a_second_and_singly_at_60() -> None:
    """170 ms on one & of lantern: told singly only where pictures are quick; 100 ms on all of them proves itself together."""
    assert told(shifted(3.5, 0.17, {2}, rate_hz=60.0)) == [("late", 35.5)]
    assert told(shifted(3.5, 0.17, {2}, rate_hz=30.0)) == []
    together = shifted(3.5, 0.1, {1, 2, 3}, rate_hz=30.0)
    assert told(together) == []
    assert [p.count for p in together.phrased] == [3.5]
    assert shifted(3.5, 0.02, {1, 2, 3}, rate_hz=30.0).phrased == ()


def test_a_drift_over_the_dance_is_one_finding() -> None:
    """4 ms a count against a beat that stands: 250 ms after 64 counts."""
    verdict, _, _ = judged(
        sheet_named("porchlight"), lambda rows, due, at: [(t + 0.004 * d.count, *r) for d, (t, *r) in zip(due, rows, strict=True)]
    )
    assert [k for k, _ in told(verdict)] == ["drifting"]
    flag = flags(verdict, "drifting")[0]
    assert flag.size == pytest.approx(252, abs=40)
    assert "later and later" in flag.words
    assert " ms" not in flag.words


def test_noise_and_a_few_late_landings_at_the_end_are_no_drift() -> None:
    counts = np.arange(64.0)
    for seed in range(40):
        off = np.random.default_rng(seed).normal(0, 40, 64)
        assert drift(counts, off, TIMING) == 0.0
        assert drift(counts, off + 150 * (counts > 58), TIMING) == 0.0
    assert drift(counts, 4 * counts, TIMING) == pytest.approx(4.0)


def test_walking_off_after_the_dance_serves_no_count() -> None:
    """Half a wall is danced, then the dancer walks about: no count after the end is filled."""

    def walks(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        end = float(at_s[39])
        chance = np.random.default_rng(4)
        walk = [(end + 1.7 + 0.71 * k + chance.normal(0, 0.1), k % 2 == 0, False, 0.8, 0.9) for k in range(9)]
        return [*rows[:40], *walk]

    verdict, due, at_s = judged(sheet_named("porchlight"), walks)
    assert verdict.danced is not None
    # the whole dance goes on for the others (dance_s), so what is told after the end is that this one stood still
    assert {k for k, _ in told(verdict)} <= {"stood still", "extra"}
    from motion.timing.verdict import danced_stretch

    found = candidates(walks(landings(due, at_s), due, at_s), ((0.0, 40.0),))
    span = danced_stretch(found, due, grid_of(due), TIMING)
    assert span is not None
    assert span[1] == pytest.approx(at_s[39], abs=0.05)


def test_without_a_sheet_a_late_landing_is_told_but_put_to_nobody() -> None:
    due = events(sheet_named("porchlight"), 32.0)
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = landings(due, at_s)
    rows[12] = (rows[12][0] + 0.16, *rows[12][1:])
    verdict = against_beats(candidates(rows), grid, TIMING, untimed=None)
    assert told(verdict) == [("late", due[12].count)]
    assert not flags(verdict, "late")[0].named
    assert isinstance(against_beats(candidates(rows), None, TIMING, untimed=NotMeasured("timing", "no sound")).flags, NotMeasured)
