"""Uneven-time filtering: no lag, no leak across breaks, and the curve of a published gait study left as it is."""

from __future__ import annotations

import numpy as np
import pytest

from motion.base.signals import gaps_filled, left_noise, low_pass, running_median, velocity

#: Knee flexion of children walking, mean of 51 points over a stride (Schwartz, Rozumalski, Trost, J Biomech 2008;41:1639-1650).
SCHWARTZ_KNEE_DEG = np.array(
    [
        5.5, 7.9, 11.0, 14.4, 17.2, 18.9, 19.7, 19.6, 18.9, 18.0, 16.9, 15.7, 14.5, 13.2, 12.0, 10.8, 9.8, 8.8, 7.9,
        7.2, 6.8, 6.7, 7.1, 8.0, 9.5, 11.6, 14.4, 18.1, 22.6, 28.0, 34.1, 40.6, 47.0, 52.5, 56.8, 59.4, 60.5, 60.0,
        58.2, 55.0, 50.8, 45.5, 39.5, 32.9, 26.0, 19.0, 12.6, 7.5, 4.5, 3.8, 5.2,
    ]
)  # fmt: skip


def uneven(rate_hz: float, length_s: float, seed: int = 1) -> np.ndarray:
    """Times that jitter by up to a fifth of a step, as phones write them."""
    n = round(rate_hz * length_s)
    return (np.arange(n) + np.random.default_rng(seed).uniform(-0.2, 0.2, n)) / rate_hz


def test_short_gap_is_bridged_and_long_one_is_not() -> None:
    times = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6])
    values = np.array([np.nan, 0.0, np.nan, 4.0, np.nan, np.nan, 7.0])
    assert gaps_filled(times, values, 0.2) == pytest.approx(np.array([np.nan, 0.0, 2.0, 4.0, np.nan, np.nan, 7.0]), nan_ok=True)


def test_gap_is_filled_by_time_not_by_index() -> None:
    filled = gaps_filled(np.array([0.0, 0.03, 0.1]), np.array([0.0, np.nan, 10.0]), 0.2)
    assert filled[1] == pytest.approx(3.0)


def test_columns_are_treated_by_themselves() -> None:
    values = np.array([[0.0, 1.0], [np.nan, 1.0], [2.0, np.nan]])
    assert gaps_filled(np.array([0.0, 0.1, 0.2]), values, 1.0) == pytest.approx(
        np.array([[0, 1], [1, 1], [2, np.nan]]), nan_ok=True
    )


def test_half_the_power_is_left_at_the_cutoff_after_both_passes() -> None:
    times = np.arange(0.0, 20.0, 0.01)
    through = low_pass(times, np.sin(2 * np.pi * 5.0 * times), 5.0)[500:1500]
    assert np.abs(through).max() == pytest.approx(np.sqrt(0.5), abs=0.01)


def test_slow_movement_keeps_its_time_and_size_on_an_uneven_clock() -> None:
    times = uneven(30.0, 8.0)
    clean = 20.0 * np.sin(2 * np.pi * 0.8 * times)
    smooth = low_pass(times, clean + np.random.default_rng(2).normal(0, 1.0, len(times)), 6.0)
    inner = slice(15, -15)
    assert np.abs(smooth - clean)[inner].max() < 2.0
    lags = [
        np.corrcoef(np.interp(times[inner] + lag, times, smooth), clean[inner])[0, 1] for lag in (-0.02, -0.01, 0.0, 0.01, 0.02)
    ]
    assert int(np.argmax(lags)) == 2


def test_published_knee_curve_passes_unchanged() -> None:
    stride = np.tile(SCHWARTZ_KNEE_DEG[:-1], 3)
    smooth = low_pass(np.arange(len(stride)) * 0.02, stride, 6.0)[50:101]
    assert np.argmax(smooth) == 36  # swing peak at 72 % of the stride
    assert np.argmax(smooth[:15]) in (6, 7)  # loading peak at 12 %; 14 % is 0.1 degrees lower
    assert smooth[:15].max() == pytest.approx(19.7, abs=0.3)
    assert smooth[15:30].min() == pytest.approx(6.7, abs=0.3)
    assert smooth.max() == pytest.approx(60.5, abs=0.6)
    assert smooth.max() - smooth.min() == pytest.approx(56.7, abs=1.5)
    assert smooth.mean() == pytest.approx(22.98, abs=0.3)


def test_nothing_leaks_over_a_missing_picture_or_a_jump_of_the_clock() -> None:
    times = np.concatenate([np.arange(0, 1, 0.04), 3.0 + np.arange(0, 1, 0.04)])
    values = np.where(times < 2, 0.0, 100.0)
    assert low_pass(times, values, 3.0) == pytest.approx(values)
    times = np.arange(0, 2, 0.04)
    values = np.where(times < 1, 0.0, 100.0)
    values[25] = np.nan
    assert low_pass(times, values, 3.0) == pytest.approx(values, nan_ok=True)


def test_short_runs_and_slow_clocks_come_back_as_they_are() -> None:
    assert low_pass(np.array([0.0, 0.1, 0.2]), np.array([1.0, 5.0, 1.0]), 3.0) == pytest.approx([1.0, 5.0, 1.0])
    times = np.arange(0, 2, 0.1)
    values = np.random.default_rng(3).normal(size=20)
    assert low_pass(times, values, 8.0) == pytest.approx(values)


def test_velocity_is_exact_for_a_parabola_on_an_uneven_clock() -> None:
    times = uneven(25.0, 2.0)
    speed = velocity(times, 3.0 * times**2 - times)
    assert speed[1:-1] == pytest.approx((6.0 * times - 1.0)[1:-1])


def test_velocity_of_runs() -> None:
    times = np.array([0.0, 0.1, 0.2, 0.3, 0.4])
    speed = velocity(times, np.array([0.0, 1.0, np.nan, 5.0, np.nan]))
    assert speed == pytest.approx(np.array([10.0, 10.0, np.nan, np.nan, np.nan]), nan_ok=True)


def test_a_clock_that_stands_still_is_our_bug() -> None:
    with pytest.raises(ValueError, match="rises strictly"):
        low_pass(np.array([0.0, 0.0]), np.zeros(2), 5.0)
    with pytest.raises(ValueError, match="cutoff_hz"):
        low_pass(np.array([0.0, 1.0]), np.zeros(2), 0.0)


def test_running_median_is_the_median_of_what_lies_within() -> None:
    times = np.cumsum(np.random.default_rng(3).uniform(0.02, 0.06, 200))
    values = np.random.default_rng(4).normal(size=200)
    values[120] = np.nan
    got = running_median(times, values, 0.5)
    want = [np.median(values[np.abs(times - t) <= 0.5]) for t in times]
    assert got == pytest.approx(np.array(want), abs=0, nan_ok=True)
    assert np.isnan(got).sum() > 10
    assert running_median(np.zeros(0), np.zeros(0), 1.0).shape == (0,)


def wandering(times_s: np.ndarray, memory_s: float, seed: int) -> np.ndarray:
    """Errors of one unit that last: the likeness of two falls to 1/e within memory_s."""
    chance, out = np.random.default_rng(seed), np.zeros(len(times_s))
    for k in range(1, len(out)):
        alike = np.exp(-(times_s[k] - times_s[k - 1]) / memory_s)
        out[k] = alike * out[k - 1] + np.sqrt(1 - alike**2) * chance.normal()
    return out


@pytest.mark.parametrize(("rate_hz", "cutoff_hz"), [(15.0, 4.8), (24.0, 6.0), (30.0, 6.0), (60.0, 6.0), (120.0, 6.0)])
def test_what_is_left_of_lasting_errors_is_told_at_any_rate(rate_hz: float, cutoff_hz: float) -> None:
    """Nine tenths of them stay in the cleaned series, at 120 a second as at 15."""
    times = np.arange(round(120 * rate_hz)) / rate_hz
    steps = 1.0 + np.random.default_rng(4).uniform(-0.1, 0.1, len(times))
    for at in (times, np.cumsum(steps) / rate_hz):  # even stamps, and a phone's
        errors = wandering(at, 0.15, 3)
        left = float(np.std(low_pass(at, errors, cutoff_hz)))
        told = float(np.sqrt(np.nanmean(left_noise(at, errors, cutoff_hz, memory_s=0.15) ** 2)))
        assert left == pytest.approx(0.93, abs=0.08)
        assert told == pytest.approx(left, rel=0.25)


@pytest.mark.parametrize(("rate_hz", "cutoff_hz"), [(24.0, 6.0), (30.0, 6.0), (60.0, 6.0), (120.0, 6.0)])
def test_errors_new_in_every_sample_leave_the_less_the_more_samples_there_are(rate_hz: float, cutoff_hz: float) -> None:
    times = np.arange(round(120 * rate_hz)) / rate_hz
    errors = np.random.default_rng(5).normal(0.0, 1.0, len(times))
    left = float(np.std(low_pass(times, errors, cutoff_hz)))
    told = float(np.sqrt(np.nanmean(left_noise(times, errors, cutoff_hz, memory_s=0.15) ** 2)))
    assert told == pytest.approx(left, rel=0.6)  # taken for lasting ones they were told four times too large
    assert told > 0.9 * left


def test_what_is_left_cannot_be_told_where_nothing_was_taken_away() -> None:
    times = np.arange(20) / 10.0
    assert np.isnan(left_noise(times, np.sin(times), 6.0, memory_s=0.15)).all()
    gap = np.where(np.arange(90) == 40, np.nan, np.sin(np.arange(90)))
    told = left_noise(np.arange(90) / 30.0, gap, 6.0, memory_s=0.15)
    assert np.flatnonzero(np.isnan(told)).tolist() == [40]
