"""A figure that marks time with known landings, in picture points: feet swing and rest, the hips follow."""

from __future__ import annotations

import numpy as np
from made import FIGURE

from motion.base.types import Floats, Landmarks

SIZE_PX = (960, 1080)
FEET = {True: [28, 30, 32], False: [27, 29, 31]}
KNEE = {True: 26, False: 25}


def made_steps(
    pictures_s: Floats,
    landings_s: Floats,
    *,
    swing_s: float = 0.32,
    lift: float = 0.12,
    stride: float = 0.16,
    height_px: float = 620.0,
    at_px: tuple[float, float] = (480.0, 520.0),
    noise_px: float = 0.0,
    seed: int = 2,
) -> Landmarks:
    """Landings at landings_s, right foot first, feet in turn; each swings for swing_s before it, lifted and set aside by shares of
    body height, to and fro, and rests until its next swing."""
    points = np.repeat(FIGURE[None], len(pictures_s), 0) * height_px
    place = {True: np.zeros(len(pictures_s)), False: np.zeros(len(pictures_s))}
    raised = {True: np.zeros(len(pictures_s)), False: np.zeros(len(pictures_s))}
    for k, landing in enumerate(landings_s):
        right = k % 2 == 0
        share = np.clip((pictures_s - (landing - swing_s)) / swing_s, 0, 1)
        eased = share**2 * (3 - 2 * share)
        place[right] += (-1) ** (k // 2) * stride * height_px * eased
        raised[right] += lift * height_px * np.sin(np.pi * share) ** 2
    hips = (place[True] + place[False]) / 2
    points[:, :25, 0] += hips[:, None]
    for right in (True, False):
        points[:, FEET[right], 0] += place[right][:, None]
        points[:, FEET[right], 1] -= raised[right][:, None]
        points[:, KNEE[right], 0] += (place[right] + hips) / 2
        points[:, KNEE[right], 1] -= raised[right] / 2
    points += np.array(at_px)
    if noise_px:
        points += np.random.default_rng(seed).normal(0, noise_px, points.shape)
    return Landmarks(pictures_s, np.array([1]), points[:, None], np.full((len(pictures_s), 1, 33), 0.95))


def mirrored(marks: Landmarks, width: float) -> Landmarks:
    """The same dancer in a mirror: the picture is turned over and left and right change their names."""
    pairs = [(a, a + 1) for a in (7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29, 31)] + [(1, 4), (2, 5), (3, 6)]
    order = np.arange(33)
    for a, b in pairs:
        order[a], order[b] = b, a
    image = marks.image_px[:, :, order] * np.array([-1.0, 1.0]) + np.array([width, 0.0])
    return Landmarks(marks.times_s, marks.ids, image, marks.visibility[:, :, order], marks.unsure)
