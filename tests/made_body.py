"""Landmarks of a jointed figure in space, seen by a pinhole camera: every angle and view is known exactly.

The figure stands on the spot with its pelvis fixed; legs move in its own sagittal plane.
"""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats, Landmarks

THIGH_M, SHANK_M, TRUNK_M, FOOT_M = 0.42, 0.42, 0.50, 0.21
HIPS_M, SHOULDERS_M = 0.20, 0.35
UP = np.array([0.0, 0.0, 1.0])


def made_landmarks(
    times_s: Floats,
    view_deg: Floats | float,
    flexion_deg: Floats,
    *,
    camera_m: float = 5.0,
    focal_px: float = 900.0,
    noise_px: float = 0.0,
    seed: int = 0,
) -> Landmarks:
    """One dancer. view_deg (F,) or one value; flexion_deg (F, 6) in the order of JOINTS; camera at hip height, camera_m away."""
    view = np.radians(np.broadcast_to(view_deg, times_s.shape))
    forward = np.stack([np.sin(view), -np.cos(view), np.zeros_like(view)], axis=1)
    right = np.cross(forward, UP)
    points = np.zeros((len(times_s), 33, 3))

    def swung(degrees: Floats) -> Floats:
        """Direction (F, 3) of a segment that hangs down and is swung forward by degrees."""
        a = np.radians(degrees)[:, None]
        return np.sin(a) * forward - np.cos(a) * UP

    for k, side in ((0, -1.0), (1, 1.0)):
        hip, knee, ankle = flexion_deg[:, k], flexion_deg[:, 2 + k], flexion_deg[:, 4 + k]
        a = points[:, 23 + k] = side * HIPS_M / 2 * right
        b = points[:, 25 + k] = a + THIGH_M * swung(hip)
        c = points[:, 27 + k] = b + SHANK_M * swung(hip - knee)
        along = swung(hip - knee + ankle + 90.0)  # the foot, square to the shank when the ankle is at zero
        sole = c + 0.06 * swung(hip - knee + ankle)
        points[:, 29 + k], points[:, 31 + k] = sole - 0.25 * FOOT_M * along, sole + 0.75 * FOOT_M * along
        shoulder = points[:, 11 + k] = TRUNK_M * UP + side * SHOULDERS_M / 2 * right
        points[:, 13 + k] = points[:, 15 + k] = shoulder - 0.28 * UP + side * 0.05 * right
        points[:, 7 + k] = (TRUNK_M + 0.22) * UP + side * 0.06 * right
    points[:, 0] = (TRUNK_M + 0.20) * UP + 0.09 * forward
    depth = camera_m + points[..., 1]
    image = focal_px * np.stack([points[..., 0], -points[..., 2]], axis=-1) / depth[..., None] + np.array([640.0, 360.0])
    image += np.random.default_rng(seed).normal(0.0, noise_px, image.shape) if noise_px else 0.0
    visibility = np.full(image.shape[:2], 0.95)
    visibility[:, [13, 15, 25, 27]] -= 0.6 * np.maximum(np.sin(view), 0.0)[:, None]
    visibility[:, [14, 16, 26, 28]] -= 0.6 * np.maximum(-np.sin(view), 0.0)[:, None]
    return Landmarks(times_s, np.array([1]), image[:, None], visibility[:, None])


def bends(times_s: Floats, *, still_s: float = 1.5, depth_deg: float = 60.0, every_s: float = 2.0) -> Floats:
    """Flexion (F, 6) of standing still for still_s, then knee bends: hips half as deep, ankles half as deep."""
    go = np.clip(times_s - still_s, 0.0, None)
    knee = depth_deg * (1 - np.cos(2 * np.pi * go / every_s)) / 2
    return np.stack([knee / 2, knee / 2, knee, knee, knee / 2, knee / 2], axis=1)
