"""Legs that the model exchanges for some pictures are put right; legs that cross are left alone."""

from __future__ import annotations

import numpy as np
import pytest
from made_walk import made_steps
from true_clips import TrueClip, true_clip, true_landmarks

from motion.base.types import Floats, Landmarks
from motion.body.leg_swaps import fix_leg_swaps, swapped_frames
from motion.review.settings import SETTINGS

TIMES = np.arange(0, 8, 1 / 30)
LEFT, RIGHT = [25, 27, 29, 31], [26, 28, 30, 32]


def walking(noise_px: float = 1.5) -> Floats:
    return np.array(made_steps(TIMES, 1.5 + 0.5 * np.arange(12), noise_px=noise_px).image_px[:, 0])


def swapped(points: Floats, pictures: slice) -> Floats:
    out = points.copy()
    out[pictures, LEFT], out[pictures, RIGHT] = points[pictures, RIGHT], points[pictures, LEFT]
    return out


@pytest.mark.parametrize("pictures", [slice(60, 61), slice(60, 63), slice(100, 112), slice(30, 34)])
def test_planted_swaps_are_found_exactly(pictures: slice) -> None:
    wrong = np.zeros(len(TIMES), bool)
    wrong[pictures] = True
    assert swapped_frames(TIMES, swapped(walking(), pictures), SETTINGS.body).tolist() == wrong.tolist()


def test_mending_gives_back_what_was_there() -> None:
    points = walking()
    spoilt = swapped(swapped(points, slice(50, 53)), slice(140, 149))
    two = np.stack([points + 300.0, spoilt], 1)
    visibility = np.full((len(TIMES), 2, 33), 0.9)
    visibility[:, :, LEFT] = 0.5
    visibility[50:53, 1, 25], visibility[50:53, 1, 26] = 0.9, 0.5
    marks = Landmarks(TIMES, np.array([1, 2]), two, visibility)
    mended = fix_leg_swaps(marks, SETTINGS.body)
    np.testing.assert_array_equal(mended.image_px[:, 0], points + 300.0)
    np.testing.assert_array_equal(mended.image_px[:, 1], points)
    assert (mended.visibility[50:53, 1, 25] == 0.5).all()
    np.testing.assert_array_equal(marks.image_px, two)  # what came in stays as it was


def test_a_clean_dance_is_left_alone() -> None:
    assert not swapped_frames(TIMES, walking(3.0), SETTINGS.body).any()


def test_legs_that_cross_are_not_a_swap() -> None:
    """A foot swings over to the other side of the standing one, rests there, and swings back."""
    points = np.array(made_steps(TIMES, np.zeros(0), noise_px=1.0).image_px[:, 0])
    for begin, sign in ((2.0, 1.0), (4.0, -1.0), (5.5, 1.0)):
        share = np.clip((TIMES - begin) / 0.35, 0, 1)
        over = sign * 0.24 * 620 * share**2 * (3 - 2 * share)
        points[:, RIGHT, 0] += over[:, None] * np.array([0.6, 1, 1, 1])
        points[:, RIGHT[1:], 1] -= (0.04 * 620 * np.sin(np.pi * share) ** 2)[:, None]
    crossed = points[:, 28, 0] > points[:, 27, 0] + 20
    assert 40 < crossed.sum() < 150
    assert not swapped_frames(TIMES, points, SETTINGS.body).any()


def walk_past(rate_hz: float, stride_hz: float) -> tuple[Floats, Floats]:
    """Walking on the spot seen from the side: the feet pass each other in the same place at every step, as fast as feet go."""
    times = np.arange(0, 6, 1 / rate_hz)
    points = np.repeat(np.array(made_steps(times[:1], np.zeros(0)).image_px[:, 0]), len(times), 0)
    for k, side in ((1.0, RIGHT), (-1.0, LEFT)):
        swing = k * np.sin(2 * np.pi * stride_hz * times)
        points[:, side, 0] = 480 + 155 * swing[:, None] * np.array([0.5, 1, 1, 1]) + np.array([0, 0, -12, 25])
        points[:, side[1:], 1] -= 25 * np.maximum(0, k * np.cos(2 * np.pi * stride_hz * times))[:, None]
    return times, points + np.random.default_rng(5).normal(0, 1.0, points.shape)


@pytest.mark.parametrize(("rate_hz", "stride_hz"), [(20.0, 0.9), (24.0, 1.3), (30.0, 0.9), (60.0, 1.3)])
def test_feet_that_pass_each_other_keep_their_names(rate_hz: float, stride_hz: float) -> None:
    """At few pictures a second the other foot is nearer to where this one was: only movement tells them apart."""
    times, points = walk_past(rate_hz, stride_hz)
    assert not swapped_frames(times, points, SETTINGS.body).any()
    wrong = np.zeros(len(points), bool)
    wrong[40:44] = True
    assert swapped_frames(times, swapped(points, slice(40, 44)), SETTINGS.body).tolist() == wrong.tolist()


def mended_share(name: str, rate_hz: float, lasts_s: float) -> float:
    """Of legs exchanged for so long, once every two seconds of a drawn dance, the share that is found, to within two in a hundred
    pictures of the six seconds about it."""
    clip = true_clip(name)
    times = np.arange(clip.times_s[0], clip.times_s[-1], 1 / rate_hz)
    again = {joint: np.stack([np.interp(times, clip.times_s, v) for v in at.T], 1) for joint, at in clip.image_px.items()}
    points = np.array(true_landmarks(TrueClip(times, {}, again, clip.told)).image_px[:, 0])
    found = []
    for start in np.arange(4.0, times[-1] - 4.0, 2.0):
        about = (times >= start - 3.0) & (times < start + 3.0 + lasts_s)
        wrong = ((times >= start) & (times < start + lasts_s))[about]
        given = points[about]
        given[np.ix_(wrong, [*LEFT, *RIGHT])] = given[np.ix_(wrong, [*RIGHT, *LEFT])]
        found.append(np.mean(swapped_frames(times[about], given, SETTINGS.body) == wrong) >= 0.98)
    return float(np.mean(found))


@pytest.mark.parametrize(("rate_hz", "least"), [(15.0, 0.9), (24.0, 0.95), (30.0, 0.95), (60.0, 0.95)])
def test_an_exchange_of_a_second_is_mended_at_any_rate(rate_hz: float, least: float) -> None:
    """Priced by the picture, 60 a second mended two thirds of them in the one clip and nine in ten in the other."""
    assert min(mended_share(name, rate_hz, 1.0) for name in ("quarter-rock", "recovers")) >= least


def test_gaps_and_too_few_pictures() -> None:
    points = swapped(walking(), slice(100, 104))
    points[60:75] = np.nan
    found = swapped_frames(TIMES, points, SETTINGS.body)
    assert np.flatnonzero(found).tolist() == [100, 101, 102, 103]
    points[2:] = np.nan
    assert not swapped_frames(TIMES, points, SETTINGS.body).any()
    assert not swapped_frames(TIMES[:10], np.full((10, 33, 2), np.nan), SETTINGS.body).any()


def test_size_and_place_do_not_matter() -> None:
    points = swapped(walking(), slice(90, 95))
    small = swapped_frames(TIMES, points * 0.25 + 11.0, SETTINGS.body)
    assert small.tolist() == swapped_frames(TIMES, points, SETTINGS.body).tolist()
