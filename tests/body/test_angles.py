"""Joint angles of a made figure: right from the side, carried round by the known view, withheld where they cannot be read."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from made_body import bends, made_landmarks

from motion.base.types import Angles, Floats, Landmarks, NotMeasured
from motion.body.angles import angles_of
from motion.body.joint_readings import Reading, read_joints
from motion.body.neutral_pose import NeutralPose, standing_of
from motion.body.settings import AngleSettings
from motion.body.yaw import View, view_of
from motion.review.settings import SETTINGS

TIMES = np.arange(240) / 30.0
TRUE = bends(TIMES)


#: Nothing withheld for its sigma.
OPEN = dataclasses.replace(SETTINGS.angles, sigma_limit_deg=(99.0, 99.0, 99.0))


def measured(landmarks: Landmarks, standing: NeutralPose | None = None, settings: AngleSettings = SETTINGS.angles) -> Angles:
    view = view_of(landmarks, 0, settings=settings)
    angles = angles_of(landmarks, 0, view, settings=settings, standing=standing)
    assert isinstance(angles, Angles)
    return angles


def known(view_deg: float, times_s: Floats = TIMES) -> View:
    return View(times_s, np.full(len(times_s), view_deg), np.full(len(times_s), 3.0))


def mirrored(landmarks: Landmarks) -> Landmarks:
    pairs = [0, 4, 5, 6, 1, 2, 3, 8, 7, 10, 9, *(k + 1 if k % 2 else k - 1 for k in range(11, 33))]
    image = landmarks.image_px[:, :, pairs] * [-1.0, 1.0] + [1280.0, 0.0]
    return Landmarks(landmarks.times_s, landmarks.ids, image, landmarks.visibility[:, :, pairs])


@pytest.mark.parametrize("view_deg", [90.0, -90.0])
def test_seen_from_the_side_every_joint_is_right(view_deg: float) -> None:
    angles = measured(made_landmarks(TIMES, view_deg, TRUE, noise_px=1.0))
    assert angles.zero == ("standing",) * 6
    assert np.mean(np.isfinite(angles.flexion_deg)) > 0.97
    error = np.abs(angles.flexion_deg - TRUE)
    assert np.nanmean(error[:, :4]) < 2.5
    assert np.nanmean(error[:, 4:]) < 3.5


def test_signs_flexion_positive_extension_and_pointing_negative() -> None:
    true = np.zeros((240, 6))
    swing = np.clip(TIMES - 3.0, 0.0, 1.0)
    true[:, 1], true[:, 5] = -20.0 * swing, -30.0 * swing  # right thigh back, foot pointed
    true[:, 0], true[:, 2] = 40.0 * swing, 70.0 * swing
    last = np.nanmean(measured(made_landmarks(TIMES, 90.0, true)).flexion_deg[-30:], axis=0)
    assert last == pytest.approx([40.0, -20.0, 70.0, 0.0, 0.0, -30.0], abs=2.5)


@pytest.mark.parametrize(("view_deg", "worst_deg"), [(75.0, 1.5), (60.0, 2.0), (45.0, 3.0)])
def test_known_view_undoes_the_foreshortening(view_deg: float, worst_deg: float) -> None:
    landmarks = made_landmarks(TIMES, view_deg, TRUE, camera_m=30.0, focal_px=5400.0)
    angles = angles_of(landmarks, 0, known(view_deg), settings=SETTINGS.angles)
    assert isinstance(angles, Angles)
    error = np.abs(angles.flexion_deg - TRUE)[:, :4]
    assert np.nanmax(error) < worst_deg
    # without it the knee's 60 degrees would read short: 56.3 at 30, 50.8 at 45 degrees from the side (planar rule)


def test_from_the_front_flexion_is_withheld() -> None:
    angles = measured(made_landmarks(TIMES, 0.0, TRUE, noise_px=1.0))
    assert np.isnan(angles.flexion_deg).all()
    assert np.isnan(angles.sigma_deg).all()
    assert angles.zero == ("anatomical",) * 6
    assert np.isfinite(angles.view_deg).all()


def test_errors_stay_within_two_sigma() -> None:
    angles = measured(made_landmarks(TIMES, 90.0, TRUE, noise_px=2.0, seed=5))
    within = np.abs(angles.flexion_deg - TRUE) <= 2 * angles.sigma_deg
    assert within[np.isfinite(angles.flexion_deg)].mean() > 0.93


def wandering(times_s: Floats, px: float, seed: int) -> Floats:
    """Errors (F, 33, 2) as the pose model's are: alike for a sixth of a second."""
    chance, alike = np.random.default_rng(seed), np.exp(-float(np.median(np.diff(times_s))) / 0.15)
    out = np.zeros((len(times_s), 33, 2))
    for k in range(1, len(out)):
        out[k] = alike * out[k - 1] + np.sqrt(1 - alike**2) * chance.normal(0.0, px, (33, 2))
    return out


@pytest.mark.parametrize("rate_hz", [15.0, 24.0, 30.0, 60.0])
def test_what_is_left_of_the_points_errors_is_known_at_any_number_of_pictures_a_second(rate_hz: float) -> None:
    """All that the cleaning takes away is a fourth of it at 30 pictures a second, and nothing at 15."""
    times = np.arange(0.0, 16.0, 1 / rate_hz)
    clean = made_landmarks(times, 90.0, bends(times))
    image = clean.image_px + wandering(times, 4.0, 3)[:, None]
    read = read_joints(Landmarks(times, clean.ids, image, clean.visibility), 0, known(90.0, times), settings=SETTINGS.angles)
    assert isinstance(read, Reading)
    apart = (read.points_px - clean.image_px[:, 0])[:, 23:33]
    left_px = np.sqrt((apart**2).sum(2).mean(0))
    told_px = np.sqrt((read.error[:, 23:33] ** 2).mean(0)) * read.torso_px
    assert told_px == pytest.approx(left_px, rel=0.5)
    assert told_px.mean() == pytest.approx(left_px.mean(), rel=0.25)


def test_sigma_grows_with_noise_distance_from_the_side_and_small_pictures() -> None:
    plain = np.nanmedian(measured(made_landmarks(TIMES, 90.0, TRUE, noise_px=0.5), settings=OPEN).sigma_deg, axis=0)
    for harder in (
        made_landmarks(TIMES, 90.0, TRUE, noise_px=3.0),
        made_landmarks(TIMES, 55.0, TRUE, noise_px=0.5),
        made_landmarks(TIMES, 90.0, TRUE, noise_px=0.5, camera_m=20.0),
    ):
        assert np.all(np.nanmedian(measured(harder, settings=OPEN).sigma_deg, axis=0) > plain)


def test_standing_differs_from_straight_and_is_the_zero() -> None:
    soft = np.array([10.0, 10.0, 20.0, 20.0, 10.0, 10.0])
    angles = measured(made_landmarks(TIMES, 90.0, TRUE + soft))
    assert np.nanmean(np.abs(angles.flexion_deg - TRUE)) < 2.0


def test_a_bend_held_with_both_feet_down_is_not_taken_for_standing() -> None:
    true = np.zeros((240, 6))
    true[60:] = [30.0, 30.0, 60.0, 60.0, 30.0, 30.0]
    angles = measured(made_landmarks(TIMES, 90.0, true))
    assert np.nanmean(angles.flexion_deg[100:, 2]) == pytest.approx(60.0, abs=2.0)


def test_a_step_is_not_standing() -> None:
    true = np.zeros((240, 6))
    true[:, 0], true[:, 1] = 25.0, -25.0
    landmarks = made_landmarks(TIMES, 90.0, true)
    assert isinstance(standing_of(landmarks, 0, known(90.0), settings=SETTINGS.angles), NotMeasured)


def test_weight_on_one_leg_with_the_other_knee_soft_is_not_standing() -> None:
    true = np.zeros((240, 6))
    true[:, 1], true[:, 3], true[:, 5] = 15.0, 30.0, 15.0
    landmarks = made_landmarks(TIMES, 90.0, true)
    assert isinstance(standing_of(landmarks, 0, known(90.0), settings=SETTINGS.angles), NotMeasured)


def test_stored_standing_serves_a_clip_that_shows_none() -> None:
    soft = np.array([10.0, 10.0, 20.0, 20.0, 10.0, 10.0])
    stored = standing_of(made_landmarks(TIMES, 90.0, TRUE + soft), 0, known(90.0), settings=SETTINGS.angles)
    assert isinstance(stored, NeutralPose)
    assert stored.reading_deg[:4] == pytest.approx(soft[:4], abs=1.5)
    step = TRUE + np.array([25.0, -25.0, 0.0, 0.0, 0.0, 0.0]) + soft
    walking = made_landmarks(TIMES, 90.0, step)
    angles = measured(walking, stored)
    assert angles.zero == ("stored",) * 6
    assert np.nanmean(np.abs(angles.flexion_deg - (step - soft))[:, :4]) < 2.0
    assert np.isnan(measured(walking).flexion_deg).all()  # nobody's own zero is known: withheld


def test_mirrored_picture_swaps_the_sides() -> None:
    true = TRUE.copy()
    true[:, 0] += 10.0 * np.clip(TIMES - 2.0, 0.0, 1.0)
    landmarks = made_landmarks(TIMES, 80.0, true, noise_px=1.0)
    one, other = measured(landmarks), measured(mirrored(landmarks))
    assert other.flexion_deg == pytest.approx(one.flexion_deg[:, [1, 0, 3, 2, 5, 4]], abs=1e-6, nan_ok=True)
    assert other.sigma_deg == pytest.approx(one.sigma_deg[:, [1, 0, 3, 2, 5, 4]], abs=1e-6, nan_ok=True)


def test_moved_and_scaled_picture_gives_the_same_angles() -> None:
    landmarks = made_landmarks(TIMES, 90.0, TRUE, noise_px=1.0)
    moved = Landmarks(TIMES, landmarks.ids, landmarks.image_px * 2.0 - 250.0, landmarks.visibility)
    assert measured(moved).flexion_deg == pytest.approx(measured(landmarks).flexion_deg, abs=1e-6, nan_ok=True)


def test_half_the_picture_rate_and_an_uneven_clock_stay_within_sigma() -> None:
    landmarks = made_landmarks(TIMES, 90.0, TRUE, noise_px=1.0)
    whole = measured(landmarks)
    half = measured(Landmarks(TIMES[::2], landmarks.ids, landmarks.image_px[::2], landmarks.visibility[::2]))
    apart = np.abs(half.flexion_deg - whole.flexion_deg[::2])
    assert np.nanmax(apart / whole.sigma_deg[::2]) < 1.5
    uneven = TIMES + np.random.default_rng(7).uniform(-0.006, 0.006, len(TIMES))
    angles = measured(made_landmarks(uneven, 90.0, bends(uneven), noise_px=1.0))
    assert np.nanmean(np.abs(angles.flexion_deg - bends(uneven))[:, :4]) < 2.5


def test_cleaning_does_not_lag() -> None:
    times = np.arange(360) / 30.0
    true = bends(times, every_s=1.0)
    knee = measured(made_landmarks(times, 90.0, true, noise_px=1.0)).flexion_deg[60:-15, 3]
    ok = np.isfinite(knee)
    error = [np.mean((np.interp(times[60:-15] + lag, times, true[:, 3]) - knee)[ok] ** 2) for lag in (-0.033, 0.0, 0.033)]
    assert int(np.argmin(error)) == 1


def test_a_short_gap_is_bridged_and_a_long_one_left_open() -> None:
    landmarks = made_landmarks(TIMES, 90.0, TRUE)
    image = landmarks.image_px.copy()
    image[100:102], image[150:165] = np.nan, np.nan
    angles = angles_of(Landmarks(TIMES, landmarks.ids, image, landmarks.visibility), 0, known(90.0), settings=SETTINGS.angles)
    assert isinstance(angles, Angles)
    assert np.isfinite(angles.flexion_deg[98:104]).all()
    assert np.isnan(angles.flexion_deg[150:165]).all()
    assert np.nanmax(np.abs(angles.flexion_deg - TRUE)[:, :4]) < 4.0


def test_a_leg_that_jumps_about_is_less_sure() -> None:
    landmarks = made_landmarks(TIMES, 90.0, TRUE, noise_px=0.5)
    image = landmarks.image_px.copy()
    image[120:130:2, 0, 25] += [18.0, 6.0]
    calm = measured(landmarks)
    jumpy = measured(Landmarks(TIMES, landmarks.ids, image, landmarks.visibility), settings=OPEN)
    assert np.all(jumpy.sigma_deg[122:128, 2] > 1.6 * calm.sigma_deg[122:128, 2])
    assert jumpy.sigma_deg[122:128, 3] == pytest.approx(calm.sigma_deg[122:128, 3], rel=0.2)


def test_nobody_seen_is_not_measured() -> None:
    empty = Landmarks(TIMES, np.array([1]), np.full((240, 1, 33, 2), np.nan), np.full((240, 1, 33), np.nan))
    view = view_of(empty, 0, settings=SETTINGS.angles)
    assert np.isnan(view.view_deg).all()
    assert isinstance(angles_of(empty, 0, view, settings=SETTINGS.angles), NotMeasured)
    assert isinstance(standing_of(empty, 0, view, settings=SETTINGS.angles), NotMeasured)
