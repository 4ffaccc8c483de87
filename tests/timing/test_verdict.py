"""What is written down of one dancer, with a dance and without."""

from __future__ import annotations

import numpy as np
import pytest
from made_steps import BPM, FIRST_S, candidates, events, grid_of, judged, landings, sheet_named

from motion.base.types import BeatGrid, NotMeasured
from motion.music.counts import changed, steady_grid, time_of
from motion.review.settings import SETTINGS
from motion.timing.verdict import against_beats, against_dance, danced_stretch

TIMING = SETTINGS.timing
GRID = steady_grid(BPM, FIRST_S, 0.0, 40.0)


def test_every_landing_of_a_clean_dance_has_its_count() -> None:
    verdict, due, at_s = judged(sheet_named("lantern"))
    assert verdict.steps
    assert verdict.pairing
    assert verdict.pairing.counts.tolist() == [d.count for d in due]  # type: ignore[union-attr]
    assert verdict.pairing.missed == ()  # type: ignore[union-attr]
    assert [("right" if r else "left") for r in verdict.steps.right] == [d.foot for d in due]  # type: ignore[union-attr]
    kinds = ["shift" if not d.lands else "step" if d.takes_weight else "touch" for d in due]
    assert list(verdict.steps.kinds) == kinds  # type: ignore[union-attr]
    np.testing.assert_allclose(
        verdict.pairing.offset_ms,
        1000 * (verdict.steps.times_s - at_s),
        atol=1e-6,  # type: ignore[union-attr]
    )


def test_too_few_landings_are_no_dance() -> None:
    verdict, _, _ = judged(sheet_named("lantern"), lambda rows, due, at: rows[:4])
    for part in (verdict.pairing, verdict.timing, verdict.flags):
        assert isinstance(part, NotMeasured)
        assert "too few" in part.why


def test_missed_counts_stand_in_the_pairing() -> None:
    verdict, _, _ = judged(sheet_named("porchlight"), lambda rows, due, at: [r for k, r in enumerate(rows) if k not in (9, 30)])
    assert verdict.pairing.missed == (9, 30)  # type: ignore[union-attr]


def test_the_danced_stretch() -> None:
    due = events(sheet_named("porchlight"))
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = landings(due, at_s)[8:40]
    assert danced_stretch(candidates(rows), due, grid, TIMING) == pytest.approx((rows[0][0], rows[-1][0]))
    assert danced_stretch(candidates(rows), (), None, TIMING) == pytest.approx((rows[0][0], rows[-1][0]))
    faint = [(t, r, s, 0.1, w) for t, r, s, _, w in rows]
    assert danced_stretch(candidates(faint), (), None, TIMING) is None


def test_against_beats_a_landing_takes_the_nearest_half_beat() -> None:
    times = FIRST_S + np.array([0.02, 0.48, 1.01, 1.26, 1.49, 2.03, 2.50, 3.01, 3.52])
    found = candidates([(float(t), k % 2 == 0, False, 0.9, 0.9) for k, t in enumerate(times)])
    verdict = against_beats(found, GRID, TIMING, untimed=None)
    assert verdict.pairing.counts.tolist() == [1, 2, 3, 3.5, 4, 5, 6, 7, 8]  # type: ignore[union-attr]
    np.testing.assert_allclose(verdict.pairing.offset_ms, [20, -20, 10, 10, -10, 30, 0, 10, 20], atol=1e-6)  # type: ignore[union-attr]
    assert not verdict.flags
    assert verdict.timing.bias_ms == pytest.approx(10)  # type: ignore[union-attr]


@pytest.mark.parametrize("half_at", [0.5, 0.6, 2 / 3])
def test_a_swung_half_beat_is_where_the_music_has_it(half_at: float) -> None:
    swung: BeatGrid = changed(GRID, half_at=half_at)
    due_s = FIRST_S + 0.5 * (np.arange(0, 8) + half_at)
    found = candidates([(float(t), k % 2 == 0, False, 0.9, 0.9) for k, t in enumerate(due_s + 0.015)])
    verdict = against_beats(found, swung, TIMING, untimed=None)
    assert verdict.pairing.counts.tolist() == [k + 1.5 for k in range(8)]  # type: ignore[union-attr]
    np.testing.assert_allclose(verdict.pairing.offset_ms, 15.0, atol=1e-6)  # type: ignore[union-attr]
    # nearest by the music's own halves: well on the way from & to the next beat, it is still the &
    later = candidates(
        [(float(t + 0.4 * 0.5 * (1 - half_at)), *r) for t, r in zip(due_s, [(True, False, 0.9, 0.9)] * 8, strict=True)]
    )
    assert against_beats(later, swung, TIMING, untimed=None).pairing.counts.tolist() == [k + 1.5 for k in range(8)]  # type: ignore[union-attr]
    sooner = candidates([(float(t - 0.4 * 0.5 * half_at), *r) for t, r in zip(due_s, [(True, False, 0.9, 0.9)] * 8, strict=True)])
    assert against_beats(sooner, swung, TIMING, untimed=None).pairing.counts.tolist() == [k + 1.5 for k in range(8)]  # type: ignore[union-attr]


def test_landings_before_and_after_the_music_have_no_count() -> None:
    short = changed(GRID, times_s=GRID.times_s[8:24], counts=GRID.counts[8:24])
    times = np.array([0.5, 1.0, *short.times_s[:8], 20.0])
    found = candidates([(float(t), k % 2 == 0, False, 0.9, 0.9) for k, t in enumerate(times)])
    verdict = against_beats(found, short, TIMING, untimed=None)
    has = np.isfinite(verdict.pairing.counts)  # type: ignore[union-attr]
    assert has.tolist() == [False, False, *[True] * 8, False]
    assert np.isfinite(verdict.pairing.offset_ms).tolist() == has.tolist()  # type: ignore[union-attr]


def test_faint_landings_are_not_written_down_without_a_sheet() -> None:
    found = candidates([(FIRST_S + 0.5 * k, k % 2 == 0, False, 0.9 if k % 3 else 0.2, 0.9) for k in range(12)])
    verdict = against_beats(found, GRID, TIMING, untimed=None)
    assert len(verdict.steps.times_s) == 8  # type: ignore[union-attr]


def test_without_a_beat_the_reason_is_handed_on() -> None:
    why = NotMeasured("timing", "the clip has no sound")
    found = candidates([(FIRST_S + 0.5 * k, k % 2 == 0, False, 0.9, 0.9) for k in range(12)])
    verdict = against_beats(found, None, TIMING, untimed=why)
    assert verdict.timing is why
    assert len(verdict.steps.times_s) == 12  # type: ignore[union-attr]


def test_weight_that_only_moves_is_not_timed() -> None:
    """Shifts have their own, wider uncertainty: a dancer's usual place rests on landings."""
    due = events(sheet_named("shingle"))
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = [(t + 0.15 * shift, r, shift, *rest) for t, r, shift, *rest in landings(due, at_s)]
    assert sum(r[2] for r in rows) > 8
    verdict = against_dance(candidates(rows), due, grid, (float(at_s[0]), float(at_s[-1])), TIMING, untimed=None)  # type: ignore[arg-type]
    assert abs(verdict.timing.bias_ms) < 8  # type: ignore[union-attr]
    assert verdict.timing.n <= sum(not r[2] for r in rows)  # type: ignore[union-attr]


@pytest.mark.parametrize("spread_ms", [8.0, 20.0, 40.0])
def test_steadiness_is_the_spread_that_was_put_in(spread_ms: float) -> None:
    due = events(sheet_named("porchlight"), 128.0)
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    found = candidates(landings(due, at_s, spread_ms=spread_ms, seed=9))
    verdict = against_dance(found, due, grid, (float(at_s[0]), float(at_s[-1])), TIMING, untimed=None)
    assert verdict.timing.steadiness_ms == pytest.approx(spread_ms, rel=0.2)  # type: ignore[union-attr]
    assert abs(verdict.timing.drift_ms_per_count) < 0.2  # type: ignore[union-attr]
