"""Weight from foot to foot: the moment at which the hips pass the middle, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from motion.base.types import Candidates, Floats, Landmarks
from motion.body.contact_network import load_weights
from motion.body.foot_contacts import find_candidates
from motion.body.weight_transfer import crossings
from motion.review.settings import SETTINGS

BODY = SETTINGS.body


def standing(times_s: Floats, hips_px: Floats, wide_px: float = 60.0) -> Floats:
    """Feet wide_px apart about x = 500, right foot at the smaller x as seen from the front; hips where they are said to be."""
    points = np.full((len(times_s), 33, 2), 300.0)
    for right in (False, True):
        for k in [28, 30, 32] if right else [27, 29, 31]:
            points[:, k, 0] = 500 + (-wide_px / 2 if right else wide_px / 2)
            points[:, k, 1] = 700
    points[:, [23, 24], 0] = hips_px[:, None]
    return points


@pytest.mark.parametrize("rate_hz", [24.0, 30.0, 60.0])
def test_hips_that_go_over_in_a_fifth_of_a_second_pass_midway(rate_hz: float) -> None:
    """From over the right foot to over the left, midway at 2.0 s; back at 3.0 s."""
    times = np.arange(0, 5, 1 / rate_hz)
    hips = 500 + np.interp(times, [0, 1.9, 2.1, 2.9, 3.1, 5], [-25, -25, 25, 25, -25, -25])
    points, leg = standing(times, hips), np.full(len(times), 150.0)
    for right, at in ((False, 2.0), (True, 3.0)):
        (found,) = crossings(times, points, leg, right, BODY)
        assert found.time_s == pytest.approx(at, abs=0.01)
        assert found.far > BODY.shift_plain_far
        assert found.fastest < 0.1


def test_swaying_a_little_is_told_by_how_far_it_goes() -> None:
    times = np.arange(0, 6, 1 / 30)
    points = standing(times, 500 + 3 * np.sin(2 * np.pi * times))
    assert all(c.far < BODY.shift_least_far for c in crossings(times, points, np.full(len(times), 150.0), True, BODY))


def test_a_foot_that_swings_is_told_by_its_speed() -> None:
    times = np.arange(0, 4, 1 / 30)
    points = standing(times, np.full(len(times), 510.0))
    for k in (28, 30, 32):  # the right foot steps out, and the hips are left on its side of the middle
        points[:, k, 0] += np.interp(times, [0, 1.8, 2.1, 4], [0, 0, 120, 120])
    found = crossings(times, points, np.full(len(times), 150.0), True, BODY) + crossings(
        times, points, np.full(len(times), 150.0), False, BODY
    )
    assert all(c.fastest > BODY.shift_fastest for c in found)


TIMES_S = np.arange(0, 8, 1 / 30)


def candidates_of(swings_px: Floats) -> Candidates:
    """What is found of somebody who only moves the hips, by a network that has learned nothing."""
    points = standing(TIMES_S, 500 + swings_px)
    points[:, :11, 1], points[:, [11, 12], 1], points[:, [23, 24], 1], points[:, [25, 26], 1] = 380, 440, 560, 630
    points[:, :23, 0] = (500 + swings_px)[:, None]
    points[:, [25, 26], 0] = (500 + swings_px / 2)[:, None] + np.array([30, -30])
    marks = Landmarks(TIMES_S, np.array([1]), points[:, None], np.ones((len(TIMES_S), 1, 33)), ((),))
    nothing_learned = {k: np.zeros_like(v) - 1.0 * k.startswith("bias") for k, v in load_weights().items()}
    found = find_candidates(marks, 0, (1000, 1000), nothing_learned, BODY)
    assert isinstance(found, Candidates)
    return found


def test_swaying_while_standing_on_both_feet_is_no_shift() -> None:
    assert not candidates_of(3 * np.sin(2 * np.pi * TIMES_S)).shift.any()


def test_the_hips_alone_make_a_candidate_that_is_not_written_down_unasked() -> None:
    """Whoever stands and moves the weight over: a shift to each foot in turn, at its time, below what is listed without a sheet."""
    found = candidates_of(np.interp(TIMES_S, [0, 1.9, 2.1, 3.9, 4.1, 5.9, 6.1, 8], [-25, -25, 25, 25, -25, -25, 25, 25]))
    over = found.shift & (found.strength > BODY.shift_strength[0])
    assert found.times_s[over].tolist() == pytest.approx([2.0, 4.0, 6.0], abs=0.02)
    assert found.right[over].tolist() == [False, True, False]
    assert max(found.strength[over]) < SETTINGS.timing.plain_landing
