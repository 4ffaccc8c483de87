"""A made review's landmarks with dancers exchanged, numbered anew or broken off, for tests of what is put right by hand."""

from __future__ import annotations

import numpy as np
from made import made_review

from motion.base.types import Landmarks
from motion.review.corrections import Point

HIPS = [23, 24]
LM = made_review(4, 12).landmarks


def hips(lm: Landmarks, p: int) -> np.ndarray:
    return np.asarray(lm.image_px[:, p, HIPS].mean(1))


def point(lm: Landmarks, p: int, time_s: float) -> Point:
    k = int(np.argmin(np.abs(lm.times_s - time_s)))
    return Point(float(lm.times_s[k]), *map(float, hips(lm, p)[k]))


def same(a: np.ndarray, b: np.ndarray) -> bool:
    return bool(np.array_equal(a, b, equal_nan=True))


def mixed(lm: Landmarks, one: int, other: int, from_s: float) -> Landmarks:
    """The landmarks with two dancers exchanged from a moment on."""
    image, visibility, after = lm.image_px.copy(), lm.visibility.copy(), lm.times_s >= from_s
    for array in (image, visibility):
        array[np.ix_(after, [one, other])] = array[np.ix_(after, [other, one])]
    return Landmarks(lm.times_s, lm.ids, image, visibility, lm.unsure)


def renumbered(lm: Landmarks, order: list[int]) -> Landmarks:
    return Landmarks(lm.times_s, lm.ids, lm.image_px[:, order], lm.visibility[:, order], tuple(lm.unsure[p] for p in order))


def broken(lm: Landmarks, p: int, at_s: float) -> Landmarks:
    """The landmarks with dancer p broken off at a moment and going on as one more person."""
    late = lm.times_s >= at_s
    image = np.concatenate([lm.image_px, lm.image_px[:, [p]]], axis=1)
    image[late, p] = np.nan
    image[~late, -1] = np.nan
    visibility = np.concatenate([lm.visibility, lm.visibility[:, [p]]], axis=1)
    unsure = [*(((),) * len(lm.ids)), ((float(lm.times_s[0]), float(lm.times_s[~late][-1])),)]
    unsure[p] = ((float(lm.times_s[late][0]), float(lm.times_s[-1])),)
    return Landmarks(lm.times_s, np.arange(1, len(lm.ids) + 2), image, visibility, tuple(unsure))
