"""What zero is taken from, and what is not read at all: hidden legs, legs taken for each other, what no joint does."""

from __future__ import annotations

import numpy as np
import pytest
from made_body import bends, made_landmarks

from motion.base.types import Angles, Floats, Landmarks, NotMeasured
from motion.body.angles import angles_of
from motion.body.joint_readings import Reading, read_joints
from motion.body.neutral_pose import NeutralPose, _weighed, standing_from, zero_of
from motion.body.occlusion import covered_pictures
from motion.body.yaw import View
from motion.review.settings import SETTINGS

TIMES = np.arange(600) / 30.0
ANGLES = SETTINGS.angles


def known(view_deg: float) -> View:
    return View(TIMES, np.full(len(TIMES), view_deg), np.full(len(TIMES), 3.0))


def strides(soft_deg: float) -> Floats:
    """Feet apart all the time, one thigh ahead of the other; now and then one leg is drawn up and comes back."""
    true = np.zeros((len(TIMES), 6))
    true[:, 0], true[:, 1] = 25.0, -25.0
    wave = np.sin(2 * np.pi * TIMES / 2.5)
    true[:, 3] += 80.0 * np.clip(wave - 0.6, 0.0, None)
    true[:, 2] += 80.0 * np.clip(-wave - 0.6, 0.0, None)
    return true + np.array([soft_deg / 2, soft_deg / 2, soft_deg, soft_deg, soft_deg / 2, soft_deg / 2])


def test_without_quiet_standing_zero_is_how_a_planted_leg_bears_weight() -> None:
    landmarks = made_landmarks(TIMES, 90.0, strides(15.0), noise_px=0.5)
    angles = angles_of(landmarks, 0, known(90.0), settings=ANGLES)
    assert isinstance(angles, Angles)
    assert angles.zero == ("stance",) * 6
    # the left knee is bent 15 degrees whenever its foot is down, and that is its zero
    assert np.nanmedian(angles.flexion_deg[:, 2]) == pytest.approx(0.0, abs=1.5)
    # such a zero is less sure than standing, and says so
    read = read_joints(landmarks, 0, known(90.0), settings=ANGLES)
    assert isinstance(read, Reading)
    zero, _ = zero_of(read, None, ANGLES)
    assert np.all(zero.sigma_deg >= 2.4)
    # ankles: half-way between what the planted feet show (7.5) and how a foot lies on the floor (10)
    assert np.all((zero.reading_deg[4:] > 7.5) & (zero.reading_deg[4:] < 10.0))


def test_who_dances_far_softer_than_they_stand_keeps_the_standing_as_zero() -> None:
    true = strides(30.0)
    true[:60] = 0.0  # two seconds upright first
    landmarks = made_landmarks(TIMES, 90.0, true, noise_px=0.5)
    angles = angles_of(landmarks, 0, known(90.0), settings=ANGLES)
    assert isinstance(angles, Angles)
    assert angles.zero == ("standing",) * 6
    assert np.nanmedian(angles.flexion_deg[:50, 2:4]) == pytest.approx(0.0, abs=1.5)


def test_one_odd_pose_is_no_stance() -> None:
    # planted all along, but only once: a dancer frozen in a lunge
    true = np.zeros((len(TIMES), 6))
    true[:, 0], true[:, 1], true[:, 3] = 35.0, -25.0, 40.0
    angles = angles_of(made_landmarks(TIMES, 90.0, true), 0, known(90.0), settings=ANGLES)
    assert isinstance(angles, Angles)
    assert angles.zero == ("anatomical",) * 6
    assert np.isnan(angles.flexion_deg).all()


def test_a_stored_standing_comes_before_stance_and_carries_its_own_doubt() -> None:
    stored = standing_from({"reading_deg": [7.0, 7.0, 14.0, 14.0, 7.0, 7.0], "sigma_deg": [1.0] * 6, "pictures": 80})
    angles = angles_of(made_landmarks(TIMES, 90.0, strides(15.0)), 0, known(90.0), settings=ANGLES, standing=stored)
    assert isinstance(angles, Angles)
    assert angles.zero == ("stored",) * 6
    assert np.nanmedian(angles.flexion_deg[:, 2]) == pytest.approx(1.0, abs=1.5)
    assert np.nanmin(angles.sigma_deg) >= np.hypot(1.0, ANGLES.stored_sd_deg)
    assert standing_from(stored.as_dict()).reading_deg == pytest.approx(stored.reading_deg)


def test_quiet_standing_and_stance_are_weighed_and_the_two_sides_tied_by_hand() -> None:
    nothing = np.full(6, np.nan)
    sure, unsure = np.array([10.0, 20.0, *nothing[2:]]), np.array([16.0, 26.0, *nothing[2:]])
    parts = (NeutralPose(sure, np.full(6, 1.0), 30), NeutralPose(unsure, np.full(6, 2.0), 90))
    loose = _weighed(parts, SETTINGS.angles.__class__(sides_sd_deg=1e6))
    # weights 1 and 1/4: (10 + 16/4) / 1.25 = 11.2, sigma 1 / sqrt(1.25)
    assert loose.reading_deg[:2] == pytest.approx([11.2, 21.2])
    assert loose.sigma_deg[:2] == pytest.approx([np.sqrt(0.8)] * 2)
    assert np.isnan(loose.reading_deg[2:]).all()
    tied = _weighed(parts, SETTINGS.angles.__class__(sides_sd_deg=1e-3))
    assert tied.reading_deg[:2] == pytest.approx([16.2, 16.2], abs=1e-3)
    one = NeutralPose(np.array([10.0, *nothing[1:]]), np.full(6, 1.0), 30)
    alone = _weighed((one,), SETTINGS.angles)
    assert alone.reading_deg[:2] == pytest.approx([10.0, 10.0])  # the other side is like it, and less sure
    assert alone.sigma_deg[1] == pytest.approx(np.hypot(1.0, SETTINGS.angles.sides_sd_deg))


def test_a_foot_read_back_to_front_is_not_shown() -> None:
    times = TIMES[:240]
    landmarks = made_landmarks(times, 90.0, bends(times))
    image = landmarks.image_px.copy()
    image[150:160, 0, [29, 31]] = image[150:160, 0, [31, 29]]  # left heel and toe exchanged
    view = View(times, np.full(240, 90.0), np.full(240, 3.0))
    angles = angles_of(Landmarks(times, landmarks.ids, image, landmarks.visibility), 0, view, settings=ANGLES)
    assert isinstance(angles, Angles)
    assert np.isnan(angles.flexion_deg[152:158, 4]).all()
    assert np.nanmax(np.abs(angles.flexion_deg[:, 4])) <= 85.0
    assert np.isfinite(angles.flexion_deg[152:158, 5]).all()


def test_where_the_nearer_leg_is_not_seen_both_are_less_sure() -> None:
    landmarks = made_landmarks(TIMES[:240], 90.0, bends(TIMES[:240]))
    view = View(TIMES[:240], np.full(240, 90.0), np.full(240, 3.0))
    dim = landmarks.visibility.copy()
    dim[100:140, 0, [24, 26, 28]] = 0.4  # the right leg, nearer at +90
    plain, doubtful = (
        read_joints(Landmarks(landmarks.times_s, landmarks.ids, landmarks.image_px, seen), 0, view, settings=ANGLES)
        for seen in (landmarks.visibility, dim)
    )
    assert isinstance(plain, Reading)
    assert isinstance(doubtful, Reading)
    assert np.all(doubtful.sigma_deg[100:140, 2:4] > 1.5 * plain.sigma_deg[100:140, 2:4])
    assert doubtful.sigma_deg[:90] == pytest.approx(plain.sigma_deg[:90])


def test_legs_behind_somebody_are_not_read_and_when_hidden_most_of_the_time_nothing_is() -> None:
    landmarks = made_landmarks(TIMES, 90.0, bends(TIMES))
    hidden = np.zeros(len(TIMES), dtype=np.bool_)
    hidden[300:360] = True
    angles = angles_of(landmarks, 0, known(90.0), settings=ANGLES, hidden=hidden)
    assert isinstance(angles, Angles)
    assert np.isnan(angles.flexion_deg[298:362]).all()
    assert np.isfinite(angles.flexion_deg[:290]).mean() > 0.95
    hidden[100:500] = True
    assert isinstance(angles_of(landmarks, 0, known(90.0), settings=ANGLES, hidden=hidden), NotMeasured)


def test_who_stands_in_front_covers_the_feet_behind() -> None:
    behind = made_landmarks(TIMES[:60], 90.0, np.zeros((60, 6))).image_px
    front = behind * 1.2 - np.array([640.0, 360.0]) * 0.2 + np.array([0.0, 30.0])
    far = front + np.array([500.0, 0.0])
    for other, covered in ((front, True), (far, False)):
        both = Landmarks(TIMES[:60], np.array([1, 2]), np.concatenate([behind, other], axis=1), np.full((60, 2, 33), 0.9))
        assert covered_pictures(both, 0, SETTINGS.body).all() == covered
        assert not covered_pictures(both, 1, SETTINGS.body).any()
