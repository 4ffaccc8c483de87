"""Landmarks to measure in: as they would lie if the camera had stood still. Those kept for drawing stay where the pictures have them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from motion.base.camera import CameraPath
from motion.base.types import Interval, Landmarks
from motion.body.settings import BodySettings

_FEET = slice(27, 33)  # ankles, heels, toes


def steadied(landmarks: Landmarks, camera: CameraPath | None) -> Landmarks:
    """The landmarks in the first picture of their shot; nobody is seen where the camera's movement is not known."""
    return landmarks if camera is None else replace(landmarks, image_px=camera.steadied(landmarks.image_px))


def apart_at_cuts(landmarks: Landmarks, cuts_s: Sequence[float], settings: BodySettings) -> Landmarks:
    """The landmarks with nobody seen right beside a cut who is in the pieces on both of its sides: else the change of camera would look
    like movement. The very same landmarks where there is nobody like that."""
    seen = np.asarray(np.isfinite(landmarks.image_px[:, :, 0, 0]))
    blank = np.zeros(seen.shape, dtype=np.bool_)
    for cut_s in cuts_s:
        near = np.asarray(np.abs(landmarks.times_s - cut_s) <= settings.cut_blank_s)
        before = near & (landmarks.times_s < cut_s)
        both = np.asarray(seen[before].any(0) & seen[near & ~before].any(0))
        blank |= near[:, None] & both[None, :]
    return replace(landmarks, image_px=np.where(blank[..., None, None], np.nan, landmarks.image_px)) if blank.any() else landmarks


def for_contacts(
    landmarks: Landmarks, size_px: tuple[int, int], camera: CameraPath | None
) -> tuple[Landmarks, tuple[int, int]]:  # fmt: skip
    """Landmarks and picture size to find landings in. What lies outside its own picture counts as outside wherever it comes to lie once
    the movement is taken off: there feet are NaN, and all others are shifted to lie inside a picture large enough."""
    if camera is None:
        return landmarks, size_px
    still = camera.steadied(landmarks.image_px)
    if not np.isfinite(still).any():
        return replace(landmarks, image_px=still), size_px
    with np.errstate(invalid="ignore"):
        outside = ~np.all((landmarks.image_px > 0) & (landmarks.image_px < np.array(size_px)), axis=-1)
    feet = still[:, :, _FEET]
    feet[outside[:, :, _FEET]] = np.nan
    low, high = (np.floor(pick(still, axis=(0, 1, 2))) for pick in (np.nanmin, np.nanmax))
    wide, tall = (int(v) + 3 for v in high - low)
    return replace(landmarks, image_px=still - low + 1.0), (wide, tall)


def within(landmarks: Landmarks, piece: Interval) -> Landmarks:
    """The landmarks of one stretch of the film."""
    rows = (landmarks.times_s >= piece[0]) & (landmarks.times_s < piece[1])
    return Landmarks(landmarks.times_s[rows], landmarks.ids, landmarks.image_px[rows], landmarks.visibility[rows])
