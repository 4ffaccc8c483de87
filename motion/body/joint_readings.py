"""One dancer's anatomical joint readings, picture by picture, before any zero is taken off and before anything is withheld.

Two-dimensional points seen from the side beat the model's own depth, so angles are read in the picture. What turns out of the
picture's plane looks shortened sideways: with the view known, the picture is stretched back by 1 / |sin view| before angles are
read (planar rule: tan seen = tan true * cos of the way off the side view).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from motion.base.geometry import ankle_flexion_deg, hip_flexion_deg, knee_flexion_deg
from motion.base.signals import gaps_filled, low_pass, usual_step_s, velocity
from motion.base.types import JOINTS, Floats, Landmarks, NotMeasured
from motion.body.leg_points import ANKLE, HEEL, HIP, KNEE, TOE
from motion.body.reading_sigma import causes_of, left_errors, nearby_rms, sigma_of
from motion.body.settings import AngleSettings
from motion.body.yaw import HIP_L, HIP_R, SHOULDER_L, SHOULDER_R, View


@dataclass(frozen=True, eq=False)
class Reading:
    """One dancer read off the pictures.

    points_px (F, 33, 2) cleaned; side_px (F, 33, 2) the same as if seen from the side; error (F, 33), what the cleaning leaves of the
    points' errors (standard deviation over both axes), in torso lengths; visibility (F, 33); off_deg (F,), how far the view is from the
    side; near (F, 2), how plainly the left and the right side is the nearer one, 0..1; torso_px, leg_px the usual lengths; sole_speed
    (F, 2) of the faster of heel and toe, leg lengths a second; reading_deg (F, 6) anatomical; sigma_deg (F, 6) its standard deviation.
    """

    times_s: Floats
    points_px: Floats
    side_px: Floats
    error: Floats
    visibility: Floats
    off_deg: Floats
    near: Floats
    torso_px: float
    leg_px: float
    sole_speed: Floats
    reading_deg: Floats
    sigma_deg: Floats


def read_joints(
    landmarks: Landmarks, p: int, view: View, *, settings: AngleSettings, hidden: NDArray[np.bool_] | None = None
) -> Reading | NotMeasured:
    """Cleaned points, anatomical readings and their sigma of dancer number p (index).

    hidden (F,): pictures in which somebody in front hides the legs (`covered_pictures`); nothing is read there and close by.
    NotMeasured when the torso was hardly seen, or the legs were hidden more often than not.
    """
    times_s, given = landmarks.times_s, landmarks.image_px[:, p]
    filled, cutoff_hz = gaps_filled(times_s, given, settings.fill_s), pass_band_hz(times_s, settings)
    points = low_pass(times_s, filled, cutoff_hz)
    shoulders, hips = points[:, [SHOULDER_L, SHOULDER_R]].mean(1), points[:, [HIP_L, HIP_R]].mean(1)
    torso = np.hypot(*(shoulders - hips).T)
    if np.isfinite(torso).sum() * usual_step_s(times_s) < settings.least_s:
        return NotMeasured("joint angles", "the body was not seen long enough")
    if hidden is not None and hidden.mean() > settings.most_hidden:
        return NotMeasured("joint angles", "somebody in front hides the legs most of the time")
    torso_px = float(np.nanmedian(torso))
    side = np.sin(np.radians(view.view_deg))
    off = np.abs(np.abs(view.view_deg) - 90.0)
    stretch = 1.0 / np.maximum(np.abs(side), np.cos(np.radians(settings.widest_off_deg)))
    flat = points.copy()
    flat[..., 0] = hips[:, None, 0] + (points[..., 0] - hips[:, None, 0]) * stretch[:, None]
    facing, middle = np.sign(side), (flat[:, SHOULDER_L] + flat[:, SHOULDER_R]) / 2
    reading = np.empty((len(times_s), len(JOINTS)))
    for j, (of, joint) in enumerate(JOINTS):
        hip, knee, ankle, heel, toe = (flat[:, k + (of == "right")] for k in (HIP, KNEE, ANKLE, HEEL, TOE))
        if joint == "hip":
            reading[:, j] = hip_flexion_deg(middle, hip, knee, facing, trunk_hip=hips)
        elif joint == "knee":
            reading[:, j] = knee_flexion_deg(hip, knee, ankle, facing)
        else:
            reading[:, j] = ankle_flexion_deg(knee, ankle, heel, toe, facing)
    if hidden is not None:
        reading[nearby_rms(times_s, hidden.astype(np.float64), settings.nearby_s) > 0] = np.nan
    error = left_errors(times_s, filled, cutoff_hz, torso_px, settings)
    legs = points[:, [HIP, HIP + 1]] - points[:, [ANKLE, ANKLE + 1]]
    lengths = np.hypot(legs[..., 0], legs[..., 1])
    leg_px = float(np.nanmedian(lengths)) if np.isfinite(lengths).any() else np.nan
    moving = velocity(times_s, points[:, [HEEL, HEEL + 1, TOE, TOE + 1]])
    sole_speed = np.hypot(moving[..., 0], moving[..., 1]).reshape(-1, 2, 2).max(1) / leg_px
    near = np.clip(np.stack([-side, side], axis=1), 0.0, 1.0)
    visibility = landmarks.visibility[:, p]
    causes = causes_of(times_s, points, flat, error, visibility, near, torso_px, view, settings)
    sigma = sigma_of(causes, torso_px, settings)
    return Reading(times_s, points, flat, error, visibility, off, near, torso_px, leg_px, sole_speed, reading, sigma)


def pass_band_hz(times_s: Floats, settings: AngleSettings) -> float:
    """Up to which frequency movement is read: lower for clips with few pictures a second, so that some of what they hold lies beyond."""
    step_s = usual_step_s(times_s)
    return min(settings.cutoff_hz, settings.cutoff_rate_share / step_s) if step_s else settings.cutoff_hz
