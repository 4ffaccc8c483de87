"""Claps that are seen and heard at known times give the known offset; what is no clap gives none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_clap import WAYS, bangs, clapping, filmed_claps, person, picture_times, seen

from motion.base.errors import BadInput
from motion.base.types import NotMeasured, Sound, SoundOffset
from motion.music.av_sync import UNSURE_CLAPS, _bang, clap_offset, on_pictures, to_pictures, to_sound, travel_ms, way_offset
from motion.music.hand_contact import Meeting, meetings
from motion.music.onset_strength import onset_curve
from motion.review.settings import SETTINGS

S = SETTINGS.practice
ANY = replace(S, clap_sure_ms=1000.0)  # for what does not depend on whether it is sure enough to be used


def measured(claps_s, heard_s, seed, *, rate=30.0, length_s=8.0, ticks_s=(), apart=None, settings=ANY):
    rng = np.random.default_rng(seed)
    t = picture_times(rate, length_s, rng)
    marks = seen(t, person(t, clapping(t, claps_s) if apart is None else apart(t), rng))
    curve = onset_curve(bangs(heard_s, length_s, rng, ticks_s=ticks_s), settings=SETTINGS.music)
    return clap_offset(marks, curve, settings=settings)


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
    assert abs(errors.mean()) < 30.0
    assert np.mean(np.abs(errors) < 2 * np.array(sigmas)) >= 0.9
    assert np.median(sigmas) < 45.0


@pytest.fixture(scope="module")
def three_claps():
    """Per way to close: (errors, sigmas, errors of single claps, their sigmas) in ms, over 24, 30 and 60 frames a second."""
    found = {}
    for way in WAYS:
        errors, sigmas, ones, one_sigmas = [], [], [], []
        for rate in (24.0, 30.0, 60.0):
            for seed in range(3):
                rng = np.random.default_rng([seed, int(rate), list(WAYS).index(way)])
                at, late_s = [float(k + rng.uniform(-0.2, 0.2)) for k in (1.5, 3.0, 4.5)], rng.uniform(-0.12, 0.12)
                marks = filmed_claps(way, at, rate, 6.0, rng)
                curve = onset_curve(bangs([t + late_s for t in at], 6.0, rng), settings=SETTINGS.music)
                offset = clap_offset(marks, curve, settings=ANY)
                assert isinstance(offset, SoundOffset), offset.why
                errors.append(offset.value_ms - 1000 * late_s)
                sigmas.append(offset.sigma_ms)
                for m in meetings(marks, 0, ANY):
                    ones.append(1000 * min((m.time_s - t for t in at), key=abs))
                    one_sigmas.append(np.linalg.norm([m.sigma_ms, ANY.clap_floor_ms, ANY.clap_common_ms]))
        found[way] = tuple(np.array(part) for part in (errors, sigmas, ones, one_sigmas))
    return found


@pytest.mark.parametrize("way", list(WAYS))
def test_three_claps_are_timed_however_the_hands_come(three_claps, way):
    errors, sigmas, ones, one_sigmas = three_claps[way]
    assert abs(errors.mean()) < 16.0
    assert np.mean(np.abs(errors) < 2 * sigmas) >= 7 / 9
    assert np.mean(np.abs(ones) < 2 * one_sigmas) >= 0.85
    assert len(ones) >= 24  # of 27 claps


def test_what_is_told_of_claps_holds_over_all_ways(three_claps):
    errors, sigmas, ones, one_sigmas = (np.concatenate(part) for part in zip(*three_claps.values(), strict=True))
    assert np.mean(np.abs(errors) < 2 * sigmas) >= 0.92
    assert np.mean(np.abs(ones) < 2 * one_sigmas) >= 0.92
    assert abs(errors.mean()) < 8.0
    assert np.median(sigmas) < 15.0  # and it is not so wide that it says nothing


def test_a_single_clap_too_unsure_moves_nothing_and_says_what_to_do():
    found = measured([3.0], [3.04], 1, settings=S)
    assert isinstance(found, NotMeasured)
    assert found.what == UNSURE_CLAPS
    assert found.why.startswith("one clap was seen and heard, but it shows how far sound and picture are apart only to ± ")
    assert "clap three times before the music" in found.why
    assert isinstance(measured([2.0, 4.0, 6.0], [2.04, 4.04, 6.04], 1, settings=S), SoundOffset)


@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 48_000])
def test_a_bang_is_heard_when_it_sounds(rate_hz):
    off = []
    for seed in range(12):
        rng = np.random.default_rng([seed, rate_hz])
        at, n = rng.uniform(1.5, 2.5), int(0.08 * rate_hz)
        x, i = rng.normal(0, 0.002, 4 * rate_hz), int(at * rate_hz)
        since = (np.arange(n) - (at * rate_hz - i)) / rate_hz
        x[i : i + n] += 0.5 * rng.normal(0, 1, n) * np.where(since >= 0, np.exp(-since / 0.012), 0.0)
        curve = onset_curve(Sound(np.clip(x, -1, 1).astype(np.float32), rate_hz, 0.0), settings=SETTINGS.music)
        near = Meeting(0, at + rng.uniform(-0.1, 0.1), 10.0, np.array([at]), np.zeros((1, 1)), np.zeros((1, 1)))
        off.append(1000 * (_bang(near, [near], curve, S) - at))
    assert abs(np.mean(off)) < 2.0
    assert np.std(off) < 4.0


def test_three_claps_are_surer_than_one():
    one, three = measured([2.0], [2.04], 1), measured([2.0, 4.0, 6.0], [2.04, 4.04, 6.04], 1)
    assert three.claps == 3
    assert three.value_ms == pytest.approx(40.0, abs=10.0)
    assert three.sigma_ms < 0.8 * one.sigma_ms


def test_claps_a_minute_apart_show_the_drift():
    at, late_s = [2.0, 4.0, 62.0, 64.0], [0.015, 0.016, 0.049, 0.050]
    found = measured(at, [t + late for t, late in zip(at, late_s, strict=True)], 3, length_s=68.0)
    assert found.claps == 4
    assert found.drift_ms_per_min == pytest.approx(35.0, abs=20.0)
    assert 4.0 < found.at_s < 62.0
    # so that each clap alone comes out right again
    np.testing.assert_allclose(to_pictures(np.array(at) + late_s, found), at, atol=0.015)


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


def test_somebody_far_off_is_believed_less_and_then_not_at_all():
    # hands half and then a fifth as large in the picture, so that twice and five times the noise lies on them
    sigma = {1.5: [], 3.0: []}
    for seed in range(6):
        rng = np.random.default_rng(seed)
        t = picture_times(30.0, 8.0, rng)
        curve = onset_curve(bangs([2.04, 4.04, 6.04], 8.0, rng), settings=SETTINGS.music)
        for px in sigma:
            found = clap_offset(seen(t, person(t, clapping(t, [2.0, 4.0, 6.0]), rng, noise_px=px)), curve, settings=ANY)
            assert isinstance(found, SoundOffset)
            assert abs(found.value_ms - 40.0) < 3 * found.sigma_ms
            sigma[px].append(found.sigma_ms)
        far = clap_offset(seen(t, person(t, clapping(t, [2.0, 4.0, 6.0]), rng, noise_px=7.5)), curve, settings=ANY)
        assert isinstance(far, NotMeasured)
    assert np.mean(sigma[3.0]) > np.mean(sigma[1.5])


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
    alone = clap_offset(seen(t, pair[0]), curve, settings=ANY)
    assert abs(alone.value_ms - 50.0) < 3 * alone.sigma_ms


def test_shifting_all_times_changes_nothing():
    rng = np.random.default_rng(9)
    t = picture_times(30.0, 8.0, rng)
    body = person(t, clapping(t, [3.0]), rng)
    curve = onset_curve(bangs([3.07], 8.0, rng), settings=SETTINGS.music)
    here = clap_offset(seen(t, body), curve, settings=ANY)
    later = clap_offset(seen(t + 5.0, body), on_pictures(curve, SoundOffset(-5000.0, 1.0, 1)), settings=ANY)
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
