"""Legs that are read as a small person of their own, and feet that can hardly be seen."""

from __future__ import annotations

import numpy as np
from made import FIGURE

from motion.base.types import Landmarks
from motion.body.association import part_of
from motion.body.occlusion import hidden_pictures
from motion.review.settings import SETTINGS

BODY = SETTINGS.body
ADULT = FIGURE * 470 + np.array([360.0, 650.0])


def standing(height_px: float, feet_at: tuple[float, float]) -> np.ndarray:
    body = FIGURE * height_px
    return body + np.array(feet_at) - body[[27, 28]].mean(0)


def test_a_small_body_on_somebodys_feet_is_their_legs() -> None:
    feet = tuple(ADULT[[27, 28]].mean(0))
    assert part_of(standing(213, feet), ADULT, BODY)
    assert not part_of(ADULT, standing(213, feet), BODY)


def test_a_child_a_step_in_front_or_beside_is_somebody() -> None:
    x, y = ADULT[[27, 28]].mean(0)
    assert not part_of(standing(300, (x, y + 80)), ADULT, BODY)
    assert not part_of(standing(300, (x + 120, y)), ADULT, BODY)


def test_a_dancer_nearly_as_tall_is_never_a_part() -> None:
    assert not part_of(standing(390, tuple(ADULT[[27, 28]].mean(0))), ADULT, BODY)


def test_covered_feet_are_not_in_sight_and_a_moment_does_not_matter() -> None:
    image = np.repeat(ADULT[None, None], 90, axis=0)
    visible = np.full((90, 1, 33), 0.9)
    visible[40:70, :, 27:33] = 0.3
    visible[10, :, 27:33] = 0.1
    marks = Landmarks(np.arange(90) / 30, np.array([1]), image, visible)
    hidden = hidden_pictures(marks, 0, BODY)
    assert hidden[45:65].all()
    assert not hidden[:30].any()
    assert not hidden[80:].any()
