"""Landmarks to measure in: as they would lie if the camera had stood still. Those kept for drawing stay where the pictures have them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from motion.base.camera import CameraPath
from motion.base.types import Landmarks

_FEET = slice(27, 33)  # ankles, heels, toes


def steadied(landmarks: Landmarks, camera: CameraPath | None) -> Landmarks:
    """The landmarks in the first picture of their shot; nobody is seen where the camera's movement is not known."""
    return landmarks if camera is None else replace(landmarks, image_px=camera.steadied(landmarks.image_px))


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
