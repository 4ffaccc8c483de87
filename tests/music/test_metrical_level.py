"""Which pulse is the beat: what the candidates are, and that a bar is known wherever it begins."""

from __future__ import annotations

import numpy as np
import pytest
from beat_scores import level
from made_music import RATE_HZ, curve_of, make

from motion.base.types import Sound
from motion.music.beats import find_beats, pulse
from motion.music.metrical_level import NAMES, PLACES, bars, candidates, chances, load_weights, score
from motion.music.onset_strength import OnsetCurve
from motion.review.settings import SETTINGS

MUSIC = SETTINGS.music
WEIGHTS = load_weights()


def test_the_weights_fit_the_features():
    assert WEIGHTS["plain"].shape == (19 + len(NAMES),)
    assert WEIGHTS["fours"].shape[1] == 4 * (5 * len(PLACES) + 1)
    assert WEIGHTS["threes"].shape[1] == 3 * (5 * len(PLACES) + 1)
    assert len(WEIGHTS["usual"]) == len(WEIGHTS["fours"]) + len(WEIGHTS["threes"])
    assert all(np.isfinite(w).all() for w in WEIGHTS.values())


def test_candidates_by_hand():
    found = candidates(0.36 * np.arange(20), MUSIC)
    assert [name for name, _ in found] == ["same", "off", "half", "half", "third", "third", "third", "off third", "off third"]
    starts = [times[0] for _, times in found]
    np.testing.assert_allclose(starts, [0, 0.18, 0, 0.36, 0, 0.36, 0.72, 0.12, 0.24])
    gaps = [np.diff(times).mean() for _, times in found]
    np.testing.assert_allclose(gaps, [0.36, 0.36, 0.72, 0.72, 1.08, 1.08, 1.08, 0.36, 0.36])


def test_twice_as_fast_is_a_candidate_where_people_can_dance_it():
    names = {name for name, _ in candidates(0.8 * np.arange(20), MUSIC)}
    assert "double" in names
    assert "third" not in names  # 25 a minute is no beat


@pytest.mark.parametrize("beats", [3, 4])
def test_a_bar_by_hand(beats):
    heard = np.ones((24, 12, 5))
    heard[1::beats, 0, 0] = 9.0  # a drum on the second beat of every bar
    usual = heard[:, :, 0].mean()
    table = bars(heard, np.ones(25), beats)
    assert table.shape == (beats, beats * 31)
    for begun in range(beats):
        drum = table[begun].reshape(-1)[: beats * 30].reshape(beats, 6, 5)[:, 0, 0]
        due = [9.0 if (begun + b) % beats == 1 else 1.0 for b in range(beats)]
        np.testing.assert_allclose(drum, np.log(np.array(due) / usual + 0.1), atol=1e-5)


def test_where_the_clip_begins_in_the_bar_changes_nothing():
    rng = np.random.default_rng(4)
    heard, change = np.tile(rng.uniform(0, 3, (4, 12, 5)), (6, 1, 1)), np.tile(rng.uniform(0, 3, 4), 6)
    later = np.roll(heard, -1, axis=0), np.roll(change, -1)
    plain = rng.normal(0, 1, len(WEIGHTS["plain"]))
    one = score(plain, bars(heard, change, 4), bars(heard, change, 3), WEIGHTS)
    two = score(plain, bars(later[0], later[1], 4), bars(heard, change, 3), WEIGHTS)
    assert one == pytest.approx(two, abs=1e-9)
    # but a drum moved by half a beat is another bar
    moved = np.roll(heard, 6, axis=1)
    assert score(plain, bars(moved, change, 4), bars(heard, change, 3), WEIGHTS) != pytest.approx(one, abs=1e-3)


@pytest.mark.parametrize("seed", [3009, 3018, 3019])
def test_a_bass_drum_between_the_beats_is_not_taken_for_them(seed):
    piece = make("syncopated", seed, beats=32)
    curve = curve_of(Sound(piece.samples, RATE_HZ, 0.0))
    assert isinstance(curve, OnsetCurve)
    assert level(piece.beats_s, pulse(curve, None, MUSIC)) == "between"
    assert level(piece.beats_s, find_beats(curve, settings=MUSIC).times_s) == "right"


def test_chances_are_chances():
    piece = make("straight", 3000, beats=32)
    curve = curve_of(Sound(piece.samples, RATE_HZ, 0.0))
    odds = chances(curve, candidates(piece.beats_s, MUSIC), MUSIC)
    assert odds.sum() == pytest.approx(1.0)
    assert np.argmax(odds) == 0
    assert odds[0] > 0.9
