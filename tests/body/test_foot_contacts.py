"""Landings of made feet: found once each, on the right foot, in time within what is claimed for them."""

from __future__ import annotations

import numpy as np
import pytest
from made_walk import SIZE_PX, made_steps, mirrored

from motion.base.types import Candidates, Floats, Landmarks
from motion.body.contact_network import Curves, load_weights
from motion.body.foot_contacts import find_candidates, leg_px_of, peaks, picked, runs_seen, strength_of
from motion.body.occlusion import covered_feet
from motion.review.settings import SETTINGS

WEIGHTS = load_weights()
BODY = SETTINGS.body
LANDINGS = 1.5 + 0.5 * np.arange(12)


def pictures_at(kind: str) -> Floats:
    if kind == "uneven":
        # a phone that leaves out every tenth picture or so and jitters by a few milliseconds
        chance = np.random.default_rng(7)
        even = np.arange(0, 8.5, 1 / 30)
        return (even + chance.uniform(0, 0.008, len(even)))[chance.random(len(even)) > 0.1]
    return np.arange(0, 8.5, 1 / float(kind))


def found_in(marks: Landmarks) -> Candidates:
    found = find_candidates(marks, 0, SIZE_PX, WEIGHTS, BODY)
    assert isinstance(found, Candidates)
    return found


def plain(found: Candidates) -> tuple[Floats, Floats]:
    keep = (found.strength >= 0.5) & ~found.shift
    return found.times_s[keep], found.right[keep].astype(float)


@pytest.mark.parametrize("kind", ["24", "30", "60", "uneven"])
@pytest.mark.parametrize("gap_s", [0.45, 0.6])
def test_every_landing_is_found_once_on_its_foot(kind: str, gap_s: float) -> None:
    landings = 1.5 + gap_s * np.arange(10)
    found = found_in(made_steps(pictures_at(kind), landings, noise_px=1.0))
    times, right = plain(found)
    assert len(times) == len(landings)
    np.testing.assert_allclose(times, landings, atol=0.09)
    assert right.tolist() == [1.0, 0.0] * 5


@pytest.mark.parametrize("kind", ["24", "30", "60", "uneven"])
def test_times_scatter_no_more_than_they_say(kind: str) -> None:
    """Apart from a constant (what is a landing of a swing that ends softly is a matter of definition), errors keep to sigma."""
    errors, sigmas = [], []
    for seed in range(4):
        found = found_in(made_steps(pictures_at(kind) + 0.007 * seed, LANDINGS, noise_px=1.5, seed=seed))
        times, _ = plain(found)
        assert len(times) == len(LANDINGS)
        errors += (1000 * (times - LANDINGS)).tolist()
        sigmas += found.sigma_ms[(found.strength >= 0.5) & ~found.shift].tolist()
    off = np.array(errors) - np.median(errors)
    assert np.sqrt(np.mean(off**2)) < 1.3 * np.sqrt(np.mean(np.square(sigmas)))
    assert (np.abs(off) < 3 * np.array(sigmas)).mean() > 0.98
    assert min(sigmas) >= BODY.landing_floor_ms


def test_half_the_pictures_move_a_landing_little() -> None:
    whole, half = (plain(found_in(made_steps(np.arange(0, 8.5, 1 / rate), LANDINGS)))[0] for rate in (60, 30))
    assert len(whole) == len(half)
    assert np.abs(whole - half).max() < 1e-3 * BODY.landing_floor_ms


def test_a_mirrored_dancer_lands_on_the_other_feet() -> None:
    marks = made_steps(pictures_at("30"), LANDINGS, noise_px=1.0)
    one, two = found_in(marks), found_in(mirrored(marks, SIZE_PX[0]))
    np.testing.assert_allclose(one.times_s, two.times_s, atol=1e-9)
    assert (one.right != two.right).all()
    np.testing.assert_allclose(one.strength, two.strength, atol=1e-9)


def test_shifting_the_clock_shifts_the_landings() -> None:
    marks = made_steps(pictures_at("30"), LANDINGS)
    later = Landmarks(marks.times_s + 42.0, marks.ids, marks.image_px, marks.visibility)
    np.testing.assert_allclose(found_in(later).times_s - 42.0, found_in(marks).times_s, atol=1e-7)


def test_somebody_who_stands_lands_nowhere() -> None:
    marks = made_steps(pictures_at("30"), np.zeros(0), noise_px=1.0)
    times, _ = plain(found_in(marks))
    assert len(times) == 0


def test_one_foot_never_lands_twice_at_once() -> None:
    """However restless the points: of peaks too near each other only the plainest is a landing."""
    many = 0
    for seed in range(4):
        found = found_in(made_steps(pictures_at("60"), LANDINGS, noise_px=22.0, seed=seed))
        for right in (True, False):
            times = np.sort(found.times_s[~found.shift & (found.right == right)])
            assert (np.diff(times) > BODY.landing_apart_s).all()
            many += len(times)
    assert many > 4 * len(LANDINGS)  # more peaks than steps, so there was something to choose from


def gone(marks: Landmarks, from_s: float, to_s: float) -> Landmarks:
    image = marks.image_px.copy()
    image[(marks.times_s >= from_s) & (marks.times_s < to_s)] = np.nan
    return Landmarks(marks.times_s, marks.ids, image, marks.visibility)


def test_a_short_gap_is_bridged_and_a_long_one_is_not() -> None:
    marks = made_steps(pictures_at("30"), LANDINGS)
    short = found_in(gone(marks, 3.7, 3.75))
    assert len(short.seen) == 1
    assert len(plain(short)[0]) == len(LANDINGS)
    long = found_in(gone(marks, 3.2, 4.4))
    assert len(long.seen) == 2
    assert long.seen[0][1] < 3.2 + 1e-9
    assert long.seen[1][0] >= 4.4 - 1e-9
    assert not ((long.times_s > 3.25) & (long.times_s < 4.35)).any()


def test_feet_outside_the_picture_give_nothing() -> None:
    marks = made_steps(pictures_at("30"), LANDINGS)
    low = Landmarks(marks.times_s, marks.ids, marks.image_px + np.array([0.0, 400.0]), marks.visibility)
    found = find_candidates(low, 0, SIZE_PX, WEIGHTS, BODY)
    assert not found
    assert "feet" in found.why  # type: ignore[union-attr]


def test_a_toe_beyond_the_edge_loses_only_its_own_foot() -> None:
    """From 3 s on the left foot's toe is cut off by the picture's edge: the right foot is timed as before, of the left nothing is told,
    and nobody says that a landing of it was missed."""
    marks = made_steps(pictures_at("30"), LANDINGS, noise_px=1.0)
    image = marks.image_px.copy()
    image[marks.times_s >= 3.0, 0, 31, 1] = SIZE_PX[1] + 2.0
    cut = found_in(Landmarks(marks.times_s, marks.ids, image, marks.visibility))
    (whole, whole_right), (times, _) = plain(found_in(marks)), plain(cut)
    before = whole[(whole < 2.9) | (whole_right > 0)]
    assert len(times) == len(before)
    np.testing.assert_allclose(times, before, atol=0.05)
    assert not ((cut.times_s > 3.0) & ~cut.right & ~cut.shift).any()
    assert max(end for _, end in cut.seen) < 3.0


def test_what_is_read_of_feet_behind_somebody_changes_no_landing() -> None:
    """Somebody stands in front from 3 to 5 s. Where the model puts the hidden feet then is a guess, and is not listened to."""
    marks = made_steps(pictures_at("30"), LANDINGS, noise_px=1.0, stride=0.02)
    behind = marks.image_px[:, 0]
    stands = np.median(behind, axis=0)
    stands = (stands - stands[27:33].mean(0)) * 2.2 + stands[27:33].mean(0) + np.array([0.0, 620.0])
    front = np.repeat(stands[None], len(marks.times_s), axis=0)
    hides = (marks.times_s >= 3.0) & (marks.times_s < 5.0)
    front[~hides] = np.nan
    guessed = behind.copy()
    inside = (marks.times_s >= 3.2) & (marks.times_s < 4.8)
    guessed[np.ix_(inside, [27, 28, 29, 30, 31, 32])] = behind[np.flatnonzero(inside)[0], 27:33]  # as if they stood
    told = []
    for points in (behind, guessed):
        both = Landmarks(marks.times_s, np.array([1, 2]), np.stack([points, front], 1), np.repeat(marks.visibility, 2, axis=1))
        assert covered_feet(both, 0, BODY)[inside].all()
        found = find_candidates(both, 0, SIZE_PX, WEIGHTS, BODY)
        assert isinstance(found, Candidates)
        told.append((found.times_s[~found.shift & (found.strength > 0.3)], found.seen))
    assert len(told[0][0]) == len(told[1][0])
    np.testing.assert_allclose(told[0][0], told[1][0], atol=0.03)
    assert all(b <= 3.0 or a >= 4.9 for a, b in told[1][1])


def kicked(back_s: float) -> Landmarks:
    """Somebody who stands, takes the right foot up and out, holds it in the air for half a second, and puts it back at back_s."""
    times = pictures_at("30")
    marks = made_steps(times, np.zeros(0), noise_px=1.0)
    out = np.interp(times, [back_s - 1.2, back_s - 0.9, back_s - 0.4, back_s], [0, 1, 1, 0])
    out = out**2 * (3 - 2 * out)
    image = marks.image_px.copy()
    image[:, 0, [28, 30, 32]] += (out[:, None] * np.array([-0.12, -0.18]) * 620.0)[:, None]
    image[:, 0, 26] += out[:, None] * np.array([-0.06, -0.06]) * 620.0
    return Landmarks(times, marks.ids, image, marks.visibility)


@pytest.mark.parametrize("back_s", [3.4, 4.0, 4.75])
def test_a_foot_that_stops_in_the_air_lands_only_where_it_comes_down(back_s: float) -> None:
    times, right = plain(found_in(kicked(back_s)))
    assert len(times) == 1
    assert right.tolist() == [1.0]
    assert abs(times[0] - back_s) < 0.12


def test_a_landing_lies_where_the_network_says_from_its_peak() -> None:
    times = np.arange(0, 2, 1 / 60)
    bump = 0.85 * np.exp(-0.5 * ((times - 1.0) / 0.03) ** 2)
    found = Curves(times, bump, np.full(120, 0.7), np.zeros(120), np.full(120, 0.02), np.full(120, 0.01))
    ((time_s, sigma_ms, strength, weight),) = picked(found, BODY)
    assert time_s == pytest.approx(1.02, abs=0.002)
    assert sigma_ms == pytest.approx(np.hypot(10 * BODY.spread_sigmas, BODY.landing_floor_ms))
    assert strength == pytest.approx(0.985, abs=0.01)
    assert weight == pytest.approx(0.7)


def test_strength_is_the_share_that_is_there() -> None:
    shares = [strength_of(high, BODY) for high in np.arange(0.0, 1.01, 0.01)]
    assert shares == sorted(shares)
    assert 0 < shares[0] < 0.05
    assert shares[-1] < 1
    assert strength_of(0.25, BODY) == pytest.approx(0.07)


def test_nobody_there() -> None:
    marks = made_steps(pictures_at("30"), LANDINGS)
    assert not find_candidates(gone(marks, -1, 99), 0, SIZE_PX, WEIGHTS, BODY)


def test_runs_keep_to_the_pictures_own_times() -> None:
    times = pictures_at("uneven")
    marks = gone(made_steps(times, LANDINGS), 3.0, 3.04)
    (run,) = runs_seen(times, marks.image_px[:, 0], SIZE_PX, BODY)
    np.testing.assert_array_equal(run.times_s, times)
    np.testing.assert_array_equal(times[run.pictures], times)
    assert np.isfinite(run.points_px).all()
    assert not run.outside.any()


def test_a_blink_of_a_dancer_is_no_run() -> None:
    times = pictures_at("30")
    marks = gone(made_steps(times, LANDINGS), BODY.least_run_s / 2, 99)
    assert runs_seen(times, marks.image_px[:, 0], SIZE_PX, BODY) == []


def test_the_leg_is_half_the_body() -> None:
    times = pictures_at("30")
    leg = leg_px_of(times, made_steps(times, LANDINGS, height_px=620.0).image_px[:, 0])
    assert np.median(leg) == pytest.approx(310, rel=0.06)


def test_peaks_of_a_parabola_lie_between_samples() -> None:
    times = np.arange(0, 1, 0.1)
    curve = 0.8 - (times - 0.437) ** 2
    at, high = peaks(times, curve, 0.5)
    assert at == pytest.approx([0.437])
    assert high == pytest.approx([0.8])
    assert len(peaks(times, curve, 0.9)[0]) == 0
    assert len(peaks(times, np.full(10, 0.7), 0.5)[0]) == 0
