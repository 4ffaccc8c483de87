"""From which side a dancer is seen: a made figure turning, and drawn clips' truth where landmarks are at hand."""

from __future__ import annotations

import numpy as np
import pytest
from made_body import made_landmarks

from motion.base.geometry import wrapped_deg
from motion.base.types import Landmarks
from motion.body.yaw import view_of
from motion.review.settings import SETTINGS

STILL = np.zeros((90, 6))
TIMES = np.arange(90) / 30.0


@pytest.mark.parametrize("true_deg", [0.0, 45.0, 90.0, 135.0, -170.0, -135.0, -90.0, -45.0])
def test_every_side_is_told_from_every_other(true_deg: float) -> None:
    view = view_of(made_landmarks(TIMES, true_deg, STILL, noise_px=1.5), 0, settings=SETTINGS.angles)
    assert np.abs(wrapped_deg(view.view_deg - true_deg)).max() < 15
    assert np.all(view.sigma_deg < 15)


def test_right_side_nearer_is_plus_ninety() -> None:
    # facing the picture's right: the toes point to the right, and the right shoulder is the nearer one
    landmarks = made_landmarks(TIMES, 90.0, STILL)
    assert np.all(landmarks.image_px[:, 0, 32, 0] > landmarks.image_px[:, 0, 30, 0])
    assert view_of(landmarks, 0, settings=SETTINGS.angles).view_deg == pytest.approx(np.full(90, 90.0), abs=8)


def test_a_turn_is_followed_without_lag() -> None:
    times = np.arange(240) / 30.0
    true = 360.0 * np.clip((times - 2.0) / 2.0, 0.0, 1.0)  # a whole turn in two seconds
    view = view_of(made_landmarks(times, true, np.zeros((240, 6)), noise_px=1.5), 0, settings=SETTINGS.angles)
    error = wrapped_deg(view.view_deg - true)
    assert np.abs(error).max() < 30
    assert abs(np.mean(error[60:120])) < 2  # one picture late would be 6 degrees


def test_errors_stay_within_the_stated_sigma() -> None:
    times = np.arange(300) / 30.0
    true = 120.0 * np.sin(0.8 * times)
    view = view_of(made_landmarks(times, true, np.zeros((300, 6)), noise_px=2.0, seed=3), 0, settings=SETTINGS.angles)
    assert np.mean(np.abs(wrapped_deg(view.view_deg - true)) <= 2 * view.sigma_deg) > 0.93


def test_swapped_sides_in_two_pictures_do_not_turn_the_dancer_round() -> None:
    landmarks = made_landmarks(TIMES, 20.0, STILL, noise_px=1.0)
    image = landmarks.image_px.copy()
    for k in range(7, 33, 2):
        image[40:42, :, [k, k + 1]] = image[40:42, :, [k + 1, k]]
    view = view_of(Landmarks(TIMES, landmarks.ids, image, landmarks.visibility), 0, settings=SETTINGS.angles)
    assert np.abs(wrapped_deg(view.view_deg - 20.0)).max() < 30


def test_mirrored_picture_mirrors_the_view() -> None:
    landmarks = made_landmarks(TIMES, 60.0, STILL, noise_px=1.0)
    pairs = [0, 4, 5, 6, 1, 2, 3, 8, 7, 10, 9, *(k + 1 if k % 2 else k - 1 for k in range(11, 33))]
    image = landmarks.image_px[:, :, pairs] * [-1.0, 1.0] + [1280.0, 0.0]
    mirrored = Landmarks(TIMES, landmarks.ids, image, landmarks.visibility[:, :, pairs])
    one, other = (view_of(x, 0, settings=SETTINGS.angles) for x in (landmarks, mirrored))
    assert other.view_deg == pytest.approx(-one.view_deg, abs=1e-6)


def test_moved_and_scaled_picture_and_half_the_rate() -> None:
    landmarks = made_landmarks(TIMES, 60.0, STILL, noise_px=1.0)
    one = view_of(landmarks, 0, settings=SETTINGS.angles)
    moved = Landmarks(TIMES, landmarks.ids, landmarks.image_px * 2.5 + 300.0, landmarks.visibility)
    assert view_of(moved, 0, settings=SETTINGS.angles).view_deg == pytest.approx(one.view_deg)
    half = Landmarks(TIMES[::2], landmarks.ids, landmarks.image_px[::2], landmarks.visibility[::2])
    assert np.all(np.abs(view_of(half, 0, settings=SETTINGS.angles).view_deg - one.view_deg[::2]) < one.sigma_deg[::2])


def test_unseen_pictures_have_no_view_and_do_not_disturb_the_others() -> None:
    landmarks = made_landmarks(TIMES, 90.0, STILL)
    image, visibility = landmarks.image_px.copy(), landmarks.visibility.copy()
    image[30:50], visibility[30:50] = np.nan, np.nan
    view = view_of(Landmarks(TIMES, landmarks.ids, image, visibility), 0, settings=SETTINGS.angles)
    assert np.isnan(view.view_deg[30:50]).all()
    assert np.isnan(view.sigma_deg[30:50]).all()
    assert np.isfinite(view.view_deg[:30]).all()
    assert view.view_deg[50:] == pytest.approx(np.full(40, 90.0), abs=8)
