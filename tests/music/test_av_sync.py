"""Claps that are seen and heard at known times give the known offset; what is no clap gives none."""

from __future__ import annotations

import numpy as np
import pytest
from made_clap import bangs, clapping, person, picture_times, seen

from motion.base.errors import BadInput
from motion.base.types import NotMeasured, SoundOffset
from motion.music.av_sync import clap_offset, meetings, on_pictures, to_pictures, to_sound, travel_ms, way_offset
from motion.music.onset_strength import onset_curve
from motion.review.settings import SETTINGS

S = SETTINGS.practice


def measured(claps_s, heard_s, seed, *, rate=30.0, length_s=8.0, ticks_s=(), apart=None):
    rng = np.random.default_rng(seed)
    t = picture_times(rate, length_s, rng)
    marks = seen(t, person(t, clapping(t, claps_s) if apart is None else apart(t), rng))
    curve = onset_curve(bangs(heard_s, length_s, rng, ticks_s=ticks_s), settings=SETTINGS.music)
    return clap_offset(marks, curve, settings=S)


@pytest.mark.parametrize("rate", [24.0, 30.0, 60.0])
def test_one_clap_gives_the_offset_within_what_it_says(rate):
    errors, sigmas = [], []
    for seed in range(12):
        rng = np.random.default_rng(100 + seed)
        at, offset = rng.uniform(2, 5), rng.uniform(-0.12, 0.12)
        found = measured([at], [at + offset], seed, rate=rate)
        assert isinstance(found, SoundOffset), found.why
        assert found.claps == 1
        errors.append(found.value_ms - 1000 * offset)
        sigmas.append(found.sigma_ms)
    errors = np.array(errors)
    assert abs(errors.mean()) < 5.0
    assert np.abs(errors).max() < 25.0
    assert np.mean(np.abs(errors) < 2 * np.array(sigmas)) >= 0.9
    assert max(sigmas) < 12.0


def test_three_claps_are_surer_than_one():
    one, three = measured([2.0], [2.04], 1), measured([2.0, 4.0, 6.0], [2.04, 4.04, 6.04], 1)
    assert three.claps == 3
    assert three.value_ms == pytest.approx(40.0, abs=10.0)
    assert three.sigma_ms < 0.8 * one.sigma_ms


def test_two_claps_a_minute_apart_show_the_drift():
    found = measured([2.0, 62.0], [2.0 + 0.015, 62.0 + 0.055], 3, length_s=66.0)
    assert found.claps == 2
    assert found.drift_ms_per_min == pytest.approx(40.0, abs=20.0)
    assert 2.0 < found.at_s < 62.0
    # so that each clap alone comes out right again
    at = to_pictures(np.array([2.015, 62.055]), found)
    np.testing.assert_allclose(at, [2.0, 62.0], atol=0.015)


@pytest.mark.parametrize("drift", [-15.0, 15.0])
def test_the_drift_is_told_over_minutes_either_way(drift):
    found = measured([3.0, 243.0], [3.0 + 0.02, 243.0 + 0.02 + 4 * drift / 1000], 3, length_s=247.0)
    assert isinstance(found, SoundOffset), found.why
    assert found.claps == 2
    assert found.drift_ms_per_min == pytest.approx(drift, abs=4.0)  # 10 ms of one clap over four minutes, twice over
    at = to_pictures(np.array([3.02, 123.02 + 2 * drift / 1000, 243.02 + 4 * drift / 1000]), found)
    np.testing.assert_allclose(at, [3.0, 123.0, 243.0], atol=0.012)


def test_clocks_do_not_part_by_a_tenth_of_a_second_in_a_minute():
    assert isinstance(measured([2.0, 62.0], [2.0, 62.1], 3, length_s=66.0), NotMeasured)


def test_one_clap_says_nothing_of_drift():
    assert measured([2.0], [2.04], 1).drift_ms_per_min == 0.0


@pytest.mark.parametrize("seed", range(6))
def test_somebody_far_off_is_believed_less_and_then_not_at_all(seed):
    # hands half and then a fifth as large in the picture, so that twice and five times the noise lies on them
    rng = np.random.default_rng(seed)
    t = picture_times(30.0, 8.0, rng)
    curve = onset_curve(bangs([3.04], 8.0, rng), settings=SETTINGS.music)
    near, farther, far = (
        clap_offset(seen(t, person(t, clapping(t, [3.0]), rng, noise_px=px)), curve, settings=S) for px in (1.5, 3.0, 7.5)
    )
    assert isinstance(near, SoundOffset)
    assert isinstance(farther, SoundOffset)
    assert farther.sigma_ms > near.sigma_ms
    assert abs(farther.value_ms - 40.0) < 3 * farther.sigma_ms
    assert isinstance(far, NotMeasured)


def test_two_claps_close_together_show_none():
    assert measured([2.0, 6.0], [2.02, 6.03], 3).drift_ms_per_min == 0.0


def test_claps_that_disagree_are_not_believed():
    assert isinstance(measured([2.0, 5.0], [2.15, 4.85], 4), NotMeasured)


@pytest.mark.parametrize("off", [-0.3, 0.3])
def test_a_bang_out_of_reach_is_not_this_clap(off):
    assert isinstance(measured([3.0], [3.0 + off], 5), NotMeasured)


def test_a_clap_among_other_sharp_sounds_cannot_be_told():
    found = measured([3.0], [3.03], 6, ticks_s=tuple(np.arange(0.5, 7.5, 0.5)))
    assert isinstance(found, NotMeasured)
    assert "apart from the rest" in found.why


@pytest.mark.parametrize(
    "apart",
    [
        lambda t: np.full(len(t), 0.2),  # hands folded
        lambda t: 0.9 * np.cos(2 * np.pi * t / 1.0),  # arms that swing past each other
        lambda t: 0.55 + 0.35 * np.cos(2 * np.pi * t / 4.0),  # hands that come together slowly
        lambda t: np.where(t < 3.0, 0.9, 0.15),  # hands that are clasped and stay
    ],
)
def test_hands_that_do_not_clap(apart):
    rng = np.random.default_rng(7)
    t = picture_times(30.0, 8.0, rng)
    assert meetings(seen(t, person(t, apart(t), rng)), 0, S) == []
    found = measured([], [1.0, 3.0, 5.0], 7, apart=apart)
    assert isinstance(found, NotMeasured)
    assert found.why == "no clap is seen in the clip"


def test_two_people_clapping_at_once_are_not_told_apart():
    rng = np.random.default_rng(8)
    t = picture_times(30.0, 8.0, rng)
    pair = [person(t, clapping(t, [at]), rng, x_px=x) for at, x in ((3.0, 300.0), (3.03, 700.0))]
    curve = onset_curve(bangs([3.05], 8.0, rng), settings=SETTINGS.music)
    assert isinstance(clap_offset(seen(t, *pair), curve, settings=S), NotMeasured)
    alone = clap_offset(seen(t, pair[0]), curve, settings=S)
    assert alone.value_ms == pytest.approx(50.0, abs=20.0)


def test_shifting_all_times_changes_nothing():
    rng = np.random.default_rng(9)
    t = picture_times(30.0, 8.0, rng)
    body = person(t, clapping(t, [3.0]), rng)
    curve = onset_curve(bangs([3.07], 8.0, rng), settings=SETTINGS.music)
    here = clap_offset(seen(t, body), curve, settings=S)
    later = clap_offset(seen(t + 5.0, body), on_pictures(curve, SoundOffset(-5000.0, 1.0, 1)), settings=S)
    assert later.value_ms == pytest.approx(here.value_ms, abs=1.0)


def test_sound_takes_its_time():
    # 343.2 m/s in dry air at 20 degrees C (ISO 9613-1, reference conditions): 34.32 m are a tenth of a second
    assert travel_ms(34.32, settings=S) == pytest.approx(100.0, abs=0.5)
    assert way_offset(10.0, settings=S).value_ms == pytest.approx(29.1, abs=0.2)
    assert way_offset(10.0, settings=S).claps == 0
    with pytest.raises(BadInput):
        travel_ms(-1.0, settings=S)


def test_there_and_back():
    offset = SoundOffset(35.0, 5.0, 2, at_s=10.0, drift_ms_per_min=6.0)
    times = np.array([0.0, 10.0, 70.0])
    # by hand: 35 ms at 10 s, 1 ms less ten seconds before, 6 ms more a minute after
    np.testing.assert_allclose(to_pictures(times, offset), [-0.034, 9.965, 69.959], atol=1e-9)
    np.testing.assert_allclose(to_sound(to_pictures(times, offset), offset), times, atol=1e-9)


def test_the_curve_moves_as_a_whole():
    curve = onset_curve(bangs([2.0], 5.0, np.random.default_rng(1)), settings=SETTINGS.music)
    moved = on_pictures(curve, SoundOffset(50.0, 5.0, 1))
    for name in ("times_s", "colour_times_s", "fine_start_s", "from_s", "until_s"):
        np.testing.assert_allclose(getattr(moved, name), getattr(curve, name) - 0.05, atol=1e-9)
    assert moved.fine_step_s == pytest.approx(curve.fine_step_s)
