"""Taps with known beats behind them, with taps missed and doubled, come back as these beats less the hand's own lead."""

from __future__ import annotations

import numpy as np
import pytest

from motion.base.types import BeatGrid, NotMeasured
from motion.music.counts import beats_csv_text, steady_grid
from motion.music.taps import LEAD_WORDS, grid_from_taps, read_beats, taps_csv_text
from motion.review.settings import SETTINGS

S = SETTINGS.practice


def tapped(bpm, seed, *, n=32, lead_s=0.04, spread_s=0.02, missed=0.15, doubled=3, bend=0.0):
    """True beats (n,) and the taps of a hand that is early, uneven, misses some and bounces on some."""
    rng = np.random.default_rng(seed)
    gaps = 60 / bpm * (1 + bend * np.arange(n) / n)
    beats = 2.0 + np.cumsum(gaps)
    taps = beats - lead_s + rng.normal(0, spread_s, n)
    taps = taps[rng.random(n) >= missed]
    return beats, np.concatenate([taps, rng.choice(taps, doubled, replace=False) + 0.06])


def nearest(grid, times_s):
    return np.array([grid.times_s[np.argmin(np.abs(grid.times_s - t))] - t for t in times_s])


@pytest.mark.parametrize("bpm", [60, 76, 110, 150, 190])
@pytest.mark.parametrize("seed", range(4))
def test_missed_and_doubled_taps_do_no_harm(bpm, seed):
    beats, taps = tapped(bpm, seed)
    grid = grid_from_taps(taps, from_s=0.0, to_s=60.0, settings=S)
    assert isinstance(grid, BeatGrid), grid.why
    assert grid.source == "taps"
    assert grid.tempo_bpm == pytest.approx(bpm, rel=0.01)
    off = nearest(grid, beats)
    # the hand's lead stays; its unevenness goes
    assert np.median(off) == pytest.approx(-0.04, abs=0.008)
    assert np.abs(off - np.median(off)).max() < 0.03
    assert np.allclose(np.diff(grid.times_s), 60 / bpm, rtol=0.12)  # no beat twice, none left out


def test_the_order_of_taps_is_of_no_account():
    _, taps = tapped(110, 1)
    one, other = (grid_from_taps(t, from_s=0.0, to_s=60.0, settings=S) for t in (taps, taps[::-1]))
    np.testing.assert_array_equal(one.times_s, other.times_s)


def test_a_band_that_slows_down_is_followed():
    beats, taps = tapped(120, 2, n=48, bend=0.2, missed=0.1)
    off = nearest(grid_from_taps(taps, from_s=0.0, to_s=60.0, settings=S), beats)
    assert np.abs(off + 0.04).max() < 0.05


def test_unevener_taps_are_less_sure():
    sure = [
        grid_from_taps(tapped(110, 3, spread_s=s)[1], from_s=0.0, to_s=60.0, settings=S).confidence for s in (0.005, 0.02, 0.04)
    ]
    assert 1.0 >= sure[0] > sure[1] > sure[2] >= 0.0
    assert sure[0] > 0.8


def test_taps_at_random_make_no_beat():
    made = [grid_from_taps(np.random.default_rng(s).uniform(0, 20, 30), from_s=0, to_s=60, settings=S) for s in range(30)]
    assert sum(isinstance(grid, BeatGrid) for grid in made) <= 3


def test_taps_that_only_roughly_keep_a_pace_make_no_beat_or_an_unsure_one():
    found = []
    for seed in range(12):
        taps = 1.0 + 0.5 * np.arange(24) + np.random.default_rng(seed).uniform(-0.125, 0.125, 24)
        found.append(grid_from_taps(taps, from_s=0.0, to_s=30.0, settings=S))
    beats = [grid for grid in found if isinstance(grid, BeatGrid)]
    assert len(beats) <= 4
    assert all(grid.confidence < 0.4 for grid in beats)
    assert "the taps follow no even pulse" in {grid.why for grid in found if isinstance(grid, NotMeasured)}


@pytest.mark.parametrize("taps", [[], [1.0], [1.0, 1.5, 2.0, 2.5], [1.0, 1.01, 1.02, 1.03, 1.04, 1.05], [float("nan")] * 8])
def test_too_few_taps(taps):
    found = grid_from_taps(np.array(taps), from_s=0.0, to_s=10.0, settings=S)
    assert isinstance(found, NotMeasured)


def test_beats_go_on_for_as_long_as_was_tapped_and_stay_in_the_clip():
    taps = 10.0 + 0.5 * np.arange(16)
    grid = grid_from_taps(taps, from_s=0.0, to_s=100.0, settings=S)
    assert grid.times_s[[0, -1]] == pytest.approx([2.0, 25.5], abs=1e-6)
    grid = grid_from_taps(taps, from_s=9.2, to_s=18.7, settings=S)
    assert grid.times_s[[0, -1]] == pytest.approx([9.5, 18.5], abs=1e-6)


def test_count_one_is_the_first_tap_or_the_one_that_was_said():
    taps = 10.0 + 0.5 * np.arange(16)
    grid = grid_from_taps(taps, from_s=0.0, to_s=30.0, settings=S)
    assert grid.counts[np.argmin(np.abs(grid.times_s - 10.0))] == 1
    assert grid.first_count_s is None
    grid = grid_from_taps(taps, one_s=11.6, from_s=0.0, to_s=30.0, settings=S)
    assert grid.first_count_s == pytest.approx(11.5)
    assert grid.counts[np.argmin(np.abs(grid.times_s - 11.5))] == 1


def test_a_waltz_goes_in_sixes():
    grid = grid_from_taps(10.0 + 0.4 * np.arange(24), from_s=0.0, to_s=30.0, beats_per_bar=3, settings=S)
    assert sorted(set(grid.counts.tolist())) == [1, 2, 3, 4, 5, 6]


def test_a_file_of_taps_comes_back_as_taps():
    grid = grid_from_taps(tapped(110, 1)[1], one_s=4.0, from_s=0.0, to_s=60.0, settings=S)
    text = taps_csv_text(grid)
    assert text.splitlines()[0] == "# source: taps"
    back = read_beats(text)
    assert back.source == "taps"
    assert back.confidence == pytest.approx(grid.confidence, abs=1e-3)
    assert back.first_count_s == pytest.approx(grid.first_count_s, abs=1e-3)
    np.testing.assert_allclose(back.times_s, grid.times_s, atol=1e-4)
    np.testing.assert_array_equal(back.counts, grid.counts)
    # as a spreadsheet writes it: semicolons, rows filled up
    other = read_beats(text.replace(",", ";").replace("# source: taps", "# source: taps;").replace("\r\n", "\n"))
    assert other.source == "taps"


def test_a_plain_file_of_beats_is_given_and_not_tapped():
    assert read_beats(beats_csv_text(steady_grid(120, 1.0, 0.0, 20.0))).source == "given"
    assert read_beats("# source: somebody\ntime_s,count\n1,1\n1.5,2\n").source == "given"


def test_the_lead_is_told():
    # Repp 2005: taps precede the tones by some tens of milliseconds
    assert "20 to 80 ms before the beat" in LEAD_WORDS
