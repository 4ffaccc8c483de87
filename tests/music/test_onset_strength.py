"""The onset curve: where beginnings are, and that it does not depend on gain or on the clock."""

import numpy as np
import pytest

from motion.base.types import NotMeasured, Sound
from motion.music.clicks import TIMBRES, click_track
from motion.music.onset_strength import OnsetCurve, onset_curve
from motion.review.settings import SETTINGS

MUSIC = SETTINGS.music
RATE_HZ = 44100


def curve_of(samples, rate=RATE_HZ, start=0.0):
    curve = onset_curve(Sound(np.asarray(samples, np.float32), rate, start), settings=MUSIC)
    assert isinstance(curve, OnsetCurve)
    return curve


@pytest.mark.parametrize("timbre", TIMBRES)
@pytest.mark.parametrize("rate", [16000, 44100])
def test_a_beginning_is_marked_where_it_is(timbre, rate):
    beats = 0.3 + 0.61 * np.arange(8)
    curve = curve_of(click_track(beats, timbre, rate, 5.5, seed=4), rate)
    for t in beats:
        near = slice(int((t - 0.1) / curve.fine_step_s), int((t + 0.1) / curve.fine_step_s))
        found = (near.start + np.argmax(curve.fine[near])) * curve.fine_step_s
        assert found == pytest.approx(t, abs=0.003)


@pytest.mark.parametrize("timbre", ["kick", "snare", "piano"])
def test_the_flux_rises_near_the_beginning_for_the_fine_curve_to_mend(timbre):
    beats = 0.5 + 0.7 * np.arange(5)
    curve = curve_of(click_track(beats, timbre, RATE_HZ, 4.5))
    for t in beats:
        near = np.abs(curve.times_s - t) < 0.2
        rise = curve.strength[near] > 0.5 * curve.strength[near].max()
        assert np.mean(curve.times_s[near][rise]) == pytest.approx(t, abs=0.015)


def test_gain_does_not_matter():
    x = click_track(np.arange(0.3, 5, 0.5), "snare", RATE_HZ, 5.5)
    loud, soft = curve_of(x), curve_of(0.01 * x)
    assert soft.fine == pytest.approx(loud.fine, abs=1e-3)
    assert soft.strength == pytest.approx(loud.strength, abs=1e-3)


def test_a_sound_that_starts_later_is_the_same_later():
    x = click_track(np.arange(0.3, 5, 0.5), "kick", RATE_HZ, 5.5)
    a, b = curve_of(x), curve_of(x, start=0.137)
    assert b.times_s == pytest.approx(a.times_s + 0.137)
    assert b.fine_start_s == pytest.approx(a.fine_start_s + 0.137)
    assert np.array_equal(a.fine, b.fine)


def test_the_regular_band_is_weighed_up_against_irregular_noise():
    rng = np.random.default_rng(0)
    kicks = click_track(np.arange(0.3, 20, 0.5), "kick", RATE_HZ, 20.5)
    hiss = click_track(np.sort(rng.uniform(0.2, 20, 80)), "hi-hat", RATE_HZ, 20.5)
    curve = curve_of(kicks + hiss)
    heard = curve.weights * curve.bands.std(axis=0)
    assert heard[:2].sum() > 2 * heard[3:].sum()
    assert curve.weights.sum() == pytest.approx(1)


@pytest.mark.parametrize("samples", [np.zeros(5 * RATE_HZ), 1e-5 * np.sin(np.arange(5 * RATE_HZ))])
def test_silence_is_said_not_measured(samples):
    found = onset_curve(Sound(samples.astype(np.float32), RATE_HZ, 0.0), settings=MUSIC)
    assert isinstance(found, NotMeasured)
    assert "silent" in found.why


def test_a_second_of_sound_is_too_short():
    found = onset_curve(Sound(np.ones(RATE_HZ, np.float32), RATE_HZ, 0.0), settings=MUSIC)
    assert isinstance(found, NotMeasured)
    assert "1.0 s" in found.why


def test_damaged_samples_do_no_harm():
    x = click_track(np.arange(0.3, 5, 0.5), "kick", RATE_HZ, 5.5)
    x[1000:1010] = np.nan
    assert np.all(np.isfinite(curve_of(x).fine))


def test_chunks_do_not_show():
    from dataclasses import replace

    sound = Sound(click_track(np.arange(0.3, 5, 0.31), "piano", RATE_HZ, 5.5), RATE_HZ, 0.0)
    whole, parts = (onset_curve(sound, settings=replace(MUSIC, chunk=c)) for c in (100_000, 77))
    assert parts.bands == pytest.approx(whole.bands, abs=1e-5)
    assert parts.colour_db == pytest.approx(whole.colour_db, abs=1e-3)
