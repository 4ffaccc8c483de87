"""Circular statistics, the median's interval and slopes: against printed examples and a reference library."""

import numpy as np
import pytest
from scipy.stats import binom, binomtest, circmean, circstd, linregress, norm

from motion.base.statistics import median_interval, rayleigh, share_interval, slope, spread_interval, usual_spread, vector
from motion.review.settings import SETTINGS
from motion.timing.summary import timing_of

#: J. H. Zar, Biostatistical Analysis, 5th ed., example 26.4 (the trees' directions), degrees.
ZAR_DEG = [45, 55, 81, 96, 110, 117, 132, 154]
#: K. V. Mardia and P. E. Jupp, Directional Statistics (2000), p. 93: vanishing directions of homing pigeons, degrees.
PIGEONS_DEG = [55, 60, 65, 95, 100, 110, 260, 275, 285, 295]
#: Eight steps at 120 beats a minute against counts 1 to 8, count 1 at 2.000 s.
CLIP_S = np.array([1.970, 2.490, 3.005, 3.480, 3.955, 4.515, 4.975, 5.490])


@pytest.mark.parametrize(
    ("degrees", "mean_deg", "length", "z", "p"),
    [(ZAR_DEG, 98.99, 0.82522, 5.448, 0.0019), (PIGEONS_DEG, 48.1, 0.2229, 0.497, 0.62)],
    ids=["Zar 26.4", "Mardia and Jupp p. 93"],
)
def test_circular_examples_in_print(degrees: list[float], mean_deg: float, length: float, z: float, p: float) -> None:
    direction, r = vector(np.radians(degrees))
    assert np.degrees(direction) == pytest.approx(mean_deg, abs=0.06)
    assert r == pytest.approx(length, abs=6e-5)
    got_z, got_p = rayleigh(len(degrees), r)
    assert got_z == pytest.approx(z, abs=6e-4)
    assert got_p == pytest.approx(p, rel=0.03)


def test_rayleigh_as_a_reference_library_documents_it() -> None:
    # the documented result of pingouin.circ_rayleigh for these radians
    z, p = rayleigh(5, vector(np.array([0.785, 1.570, 3.141, 0.839, 5.934]))[1])
    assert z == pytest.approx(1.236, abs=5e-4)
    assert p == pytest.approx(0.3048435, abs=1e-6)


@pytest.mark.parametrize("degrees", [ZAR_DEG, PIGEONS_DEG], ids=["Zar 26.4", "pigeons"])
def test_mean_direction_and_length_against_scipy(degrees: list[float]) -> None:
    angles = np.radians(degrees)
    direction, length = vector(angles)
    assert direction % (2 * np.pi) == pytest.approx(float(circmean(angles)))
    assert np.sqrt(-2 * np.log(length)) == pytest.approx(float(circstd(angles)))


def test_rayleigh_says_by_chance_as_often_as_chance_does() -> None:
    chance = np.random.default_rng(11)
    p = [rayleigh(12, vector(chance.uniform(0, 2 * np.pi, 12))[1])[1] for _ in range(4000)]
    assert np.mean(np.array(p) < 0.05) == pytest.approx(0.05, abs=0.012)
    assert np.mean(np.array(p) < 0.5) == pytest.approx(0.5, abs=0.03)


def test_every_step_on_the_half_count_is_as_steady_as_on_the_count() -> None:
    """The trap of the vector length: it sees a steady time, not the right one."""
    direction, length = vector(np.full(8, np.pi))
    assert length == pytest.approx(1.0)
    assert abs(np.degrees(direction)) == pytest.approx(180.0)


@pytest.mark.parametrize(("held", "of"), [(0, 10), (10, 10), (28, 32), (1, 3), (64, 130)])
def test_a_shares_interval_is_scipys_wilson(held: int, of: int) -> None:
    said = binomtest(held, of).proportion_ci(method="wilson")
    assert share_interval(held, of) == pytest.approx((said.low, said.high), abs=1e-12)


def test_a_spreads_interval_holds_the_truth_nineteen_times_in_twenty() -> None:
    chance = np.random.default_rng(12)
    spreads = chance.normal(0, 25, (4000, 4)).std(axis=1, ddof=1)
    held = np.mean([low <= 25 <= high for low, high in (spread_interval(float(s), 4) for s in spreads)])
    assert held == pytest.approx(0.95, abs=0.012)
    # Zar's table of chi squared, 5 degrees of freedom: 0.831 and 12.833
    assert spread_interval(10.0, 6) == pytest.approx((10 * np.sqrt(5 / 12.833), 10 * np.sqrt(5 / 0.831)), rel=1e-3)


def test_the_usual_spread_does_not_mind_a_few_wild_values() -> None:
    chance = np.random.default_rng(13)
    values = np.append(chance.normal(0, 20, 400), np.full(20, 300.0))
    assert usual_spread(values) == pytest.approx(20, rel=0.15)
    assert usual_spread(norm.ppf((np.arange(999) + 0.5) / 999)) == pytest.approx(1.0, abs=3e-3)


def test_a_direction_does_not_depend_on_where_zero_lies() -> None:
    angles = np.radians(ZAR_DEG)
    turned = vector(angles + 2.0)
    assert turned[1] == pytest.approx(vector(angles)[1])
    assert np.exp(1j * turned[0]) == pytest.approx(np.exp(1j * (vector(angles)[0] + 2.0)))


def test_the_worked_clip_of_eight_steps() -> None:
    offset_ms = 1000 * (CLIP_S - (2.0 + 0.5 * np.arange(8)))
    counts = np.arange(1.0, 9.0)
    timing = timing_of(counts, offset_ms, np.full(8, 0.5), SETTINGS.timing)
    assert timing
    assert timing.n == 8
    assert timing.bias_ms == pytest.approx(-15.0, abs=1e-6)
    assert timing.steadiness_ms == pytest.approx(19.27, abs=0.005)
    assert timing.vector_length == pytest.approx(0.97458, abs=5e-6)
    assert timing.drift_ms_per_count == pytest.approx(0.83, abs=0.005)
    z, p = rayleigh(8, timing.vector_length)
    assert z == pytest.approx(7.598, abs=5e-4)
    assert p == pytest.approx(3.6e-5, rel=0.02)
    direction, _ = vector(2 * np.pi * offset_ms / 500)
    assert np.degrees(direction) == pytest.approx(-10.81, abs=0.005)


def test_118_steps_a_minute_over_music_of_120_drift() -> None:
    counts = np.arange(1.0, 33.0)
    offset_ms = 1000 * (counts - 1) * (60 / 118 - 60 / 120)
    timing = timing_of(counts, offset_ms, np.full(32, 0.5), SETTINGS.timing)
    assert timing
    assert timing.drift_ms_per_count == pytest.approx(8.47, abs=0.005)
    assert offset_ms[-1] == pytest.approx(262.7, abs=0.05)


def test_unmatched_landings_are_left_out_of_a_summary() -> None:
    counts = np.array([1.0, 2, 3, np.nan, 5, 6, 7, 8])
    offset_ms = np.array([10.0, 20, np.nan, 500, 10, 20, 10, 20])
    timing = timing_of(counts, offset_ms, np.full(8, 0.5), SETTINGS.timing)
    assert timing
    assert timing.n == 6
    assert timing.bias_ms == 15.0


def test_too_few_landings_tell_no_habit() -> None:
    few = SETTINGS.timing.least_pairs - 1
    timing = timing_of(np.arange(1.0, few + 1), np.zeros(few), np.full(few, 0.5), SETTINGS.timing)
    assert not timing
    assert str(few) in timing.why  # type: ignore[union-attr]


@pytest.mark.parametrize("n", [6, 8, 9, 17, 20, 31, 64, 101, 400])
def test_the_medians_interval_is_the_binomial_one(n: int) -> None:
    values = np.arange(n, dtype=np.float64)[::-1]
    low, high = median_interval(values)
    k = int(low)  # values are their own ranks
    assert high == n - 1 - k
    # P(the median lies outside) = 2 P(Bin(n, 1/2) <= k): at most 5 %, and one rank further in it would be more
    assert 2 * binom.cdf(k, n, 0.5) <= 0.05
    assert 2 * binom.cdf(k + 1, n, 0.5) > 0.05


def test_few_values_give_their_whole_range() -> None:
    assert median_interval(np.array([3.0, 1.0, 2.0])) == (1.0, 3.0)
    assert median_interval(np.array([4.0])) == (4.0, 4.0)


def test_the_interval_of_a_long_practice() -> None:
    # twenty minutes at 200 landings a minute; the normal approximation of the ranks is exact enough there
    low, high = median_interval(np.arange(4000, dtype=np.float64))
    half = 1.96 * np.sqrt(4000) / 2
    assert low == pytest.approx(2000 - half, abs=2)
    assert high == pytest.approx(2000 + half, abs=2)


@pytest.mark.parametrize("shape", ["normal", "skewed"])
def test_the_interval_holds_the_true_median_as_often_as_it_says(shape: str) -> None:
    chance = np.random.default_rng(5)
    many = chance.normal(-20, 30, (3000, 24)) if shape == "normal" else chance.exponential(30.0, (3000, 24))
    truth = -20.0 if shape == "normal" else 30 * np.log(2)
    held = np.mean([low <= truth <= high for low, high in map(median_interval, many)])
    # ranks are whole numbers: for 24 values the interval holds 2 (1 - 0.032 / 2) = 97.7 % (binom.cdf(6, 24, 0.5) = 0.0113)
    assert held == pytest.approx(1 - 2 * binom.cdf(6, 24, 0.5), abs=0.012)


def test_slope_against_scipy() -> None:
    chance = np.random.default_rng(6)
    x = np.sort(chance.uniform(0, 40, 25))
    y = 3.0 - 0.7 * x + chance.normal(0, 2, 25)
    assert slope(x, y) == pytest.approx(linregress(x, y).slope)
