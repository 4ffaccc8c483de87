"""Body facts of made figures whose answers are known: told where the view allows, with their give or take."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from made_body import made_landmarks

from motion.base.types import Floats, Landmarks, Steps
from motion.body.joint_readings import Reading, read_joints
from motion.body.kinematics import body_facts
from motion.body.yaw import View
from motion.review.settings import SETTINGS

TIMES = np.arange(600) / 30.0
STILL = np.zeros((len(TIMES), 6))


def facts(landmarks: Landmarks, view_deg: float, steps: Steps | None = None) -> dict[tuple[str, str | None], dict[str, Any]]:
    view = View(TIMES, np.full(len(TIMES), view_deg), np.full(len(TIMES), 3.0))
    read = read_joints(landmarks, 0, view, settings=SETTINGS.angles)
    assert isinstance(read, Reading)
    return {(row["fact"], row["side"]): row for row in body_facts(read, view, steps, settings=SETTINGS.angles)}


def moved(landmarks: Landmarks, points: list[int], by_px: Floats) -> Landmarks:
    image = landmarks.image_px.copy()
    image[:, 0, points] += by_px
    return Landmarks(landmarks.times_s, landmarks.ids, image, landmarks.visibility)


def landings(place: tuple[float, float], n: int = 20) -> Steps:
    at = np.linspace(1.0, 19.0, n)
    return Steps(at, np.full(n, 10.0), np.arange(n) % 2 == 1, ("step",) * n, np.ones(n), np.tile(np.array(place), (n, 1)))


def test_lean_is_told_from_the_side_that_shows_it_and_has_its_sign() -> None:
    torso_px = 900 / 5.0 * 0.5
    upper = [0, 7, 8, 11, 12, 13, 14, 15, 16]
    # facing the picture's right (+90) and leaning that way by 10 degrees is forward; seen from the front it is to the left
    lean = moved(made_landmarks(TIMES, 90.0, STILL, noise_px=0.3), upper, np.array([torso_px * np.tan(np.radians(10.0)), 0.0]))
    forward = facts(lean, 90.0)
    assert forward[("forward lean", None)]["value"] == pytest.approx(10.0, abs=1.0)
    assert ("sideways lean", None) not in forward
    front = moved(made_landmarks(TIMES, 0.0, STILL, noise_px=0.3), upper, np.array([torso_px * np.tan(np.radians(10.0)), 0.0]))
    sideways = facts(front, 0.0)
    assert sideways[("sideways lean", None)]["value"] == pytest.approx(-10.0, abs=1.0)
    assert ("forward lean", None) not in sideways
    assert sideways[("sideways lean", None)]["plus_minus"] >= 2 * SETTINGS.angles.fact_lean_sd_deg * 0.97


def test_sway_and_knees_are_told_from_the_front() -> None:
    plain = made_landmarks(TIMES, 0.0, STILL, noise_px=0.2)
    leg_px = 900 / 5.0 * 0.84
    sway = np.stack([0.1 * leg_px * np.sin(2 * np.pi * TIMES / 2), np.zeros(len(TIMES))], axis=1)[:, None]
    swayed = facts(moved(plain, [23, 24], sway), 0.0)
    # a sine's 5th to 95th percentile is 1.975 of its amplitude
    assert swayed[("sway of the hips", None)]["value"] == pytest.approx(0.1975, abs=0.02)
    inside = facts(moved(plain, [25], np.array([-0.1 * leg_px, 0.0])), 0.0)  # the left knee towards the picture's left: inwards
    assert inside[("knee over foot", "left")]["value"] == pytest.approx(-0.1, abs=0.02)
    assert inside[("knee over foot", "right")]["value"] == pytest.approx(0.0, abs=0.02)
    behind = facts(moved(made_landmarks(TIMES, 180.0, STILL), [25], np.array([0.1 * leg_px, 0.0])), 180.0)
    assert behind[("knee over foot", "left")]["value"] == pytest.approx(-0.1, abs=0.02)
    assert not any(name in ("sway of the hips", "knee over foot") for name, _ in facts(made_landmarks(TIMES, 90.0, STILL), 90.0))


def test_steps_are_measured_across_the_picture_only() -> None:
    wide = landings((0.6, 0.05))
    front, side = made_landmarks(TIMES, 0.0, STILL), made_landmarks(TIMES, 90.0, STILL)
    assert facts(front, 0.0, wide)[("step width", None)]["value"] == pytest.approx(0.6)
    assert ("step width", None) not in facts(side, 90.0, wide)
    far = landings((0.1, -0.5))
    assert facts(side, 90.0, far)[("step length", None)]["value"] == pytest.approx(0.5)
    assert ("step length", None) not in facts(front, 0.0, far)
    together = landings((0.25, 0.0))
    assert not any(name.startswith("step") for name, _ in facts(front, 0.0, together))
    assert not any(name.startswith("step") for name, _ in facts(front, 0.0, landings((0.6, 0.0), n=7)))


def test_clearance_is_the_height_over_the_floor() -> None:
    leg_px = 900 / 5.0 * 0.84
    steps = landings((0.25, 0.0))
    up = np.zeros(len(TIMES))
    for t in steps.times_s[steps.right]:
        up += 0.2 * leg_px * np.clip(1 - np.abs(TIMES - (t - 0.25)) / 0.25, 0.0, None)
    lifted = moved(made_landmarks(TIMES, 0.0, STILL), [28, 30, 32], np.stack([0 * up, -up], axis=1)[:, None])
    found = facts(lifted, 0.0, steps)
    # cleaning at 6 Hz takes some off a peak as sharp as this one
    assert found[("foot clearance", "right")]["value"] == pytest.approx(0.18, abs=0.03)
    assert ("foot clearance", "left") not in found
