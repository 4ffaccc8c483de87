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
from motion.body.settings import AngleSettings
from motion.body.yaw import HIP_L, HIP_R, SHOULDER_L, SHOULDER_R, View

#: Landmarks of the left side; the right side's are one higher.
HIP, KNEE, ANKLE, HEEL, TOE = 23, 25, 27, 29, 31
#: Points whose errors reach the angle, per joint; also the order of the settings' three-fold values.
POINTS = {"hip": (HIP, KNEE), "knee": (HIP, KNEE, ANKLE), "ankle": (KNEE, ANKLE, HEEL, TOE)}
KINDS = tuple(POINTS)


@dataclass(frozen=True, eq=False)
class Reading:
    """One dancer read off the pictures.

    points_px (F, 33, 2) cleaned; side_px (F, 33, 2) the same as if seen from the side; rough (F, 33), how far the points as given
    lie from the cleaned ones, in torso lengths; visibility (F, 33); off_deg (F,), how far the view is from the side; near (F, 2),
    how plainly the left and the right side is the nearer one, 0..1; torso_px, leg_px the usual lengths; sole_speed (F, 2) of the
    faster of heel and toe, leg lengths a second; reading_deg (F, 6) anatomical; sigma_deg (F, 6) its standard deviation.
    """

    times_s: Floats
    points_px: Floats
    side_px: Floats
    rough: Floats
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
    points = low_pass(times_s, gaps_filled(times_s, given, settings.fill_s), settings.cutoff_hz)
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
        reading[_nearby_rms(times_s, hidden.astype(np.float64), settings.nearby_s) > 0] = np.nan
    apart = given - points
    rough = _nearby_rms(times_s, np.hypot(apart[..., 0], apart[..., 1]) / torso_px, settings.nearby_s)
    legs = points[:, [HIP, HIP + 1]] - points[:, [ANKLE, ANKLE + 1]]
    lengths = np.hypot(legs[..., 0], legs[..., 1])
    leg_px = float(np.nanmedian(lengths)) if np.isfinite(lengths).any() else np.nan
    moving = velocity(times_s, points[:, [HEEL, HEEL + 1, TOE, TOE + 1]])
    sole_speed = np.hypot(moving[..., 0], moving[..., 1]).reshape(-1, 2, 2).max(1) / leg_px
    near = np.clip(np.stack([-side, side], axis=1), 0.0, 1.0)
    visibility = landmarks.visibility[:, p]
    sigma = _sigma(times_s, points, rough, visibility, off, near, torso_px, view, settings)
    return Reading(times_s, points, flat, rough, visibility, off, near, torso_px, leg_px, sole_speed, reading, sigma)


def _sigma(
    times_s: Floats, points: Floats, rough: Floats, visibility: Floats, off_deg: Floats, near: Floats, torso_px: float, view: View,
    settings: AngleSettings,
) -> Floats:  # fmt: skip
    """Standard deviation (F, 6) of a reading, from what can be seen of its causes: how far the points jump about, how fast they
    move against the hips, how well the model sees them (the nearer leg hides behind nothing: where it is not seen well, the two legs
    are confused), how far the view is from the side, how many pixels a segment spans, and whether the foot is as long as a foot seen
    from there (when it is not, it is lifted off the plane or the legs are confused)."""
    moving = velocity(times_s, points - points[:, [HIP_L, HIP_R]].mean(1)[:, None])
    speed = np.hypot(moving[..., 0], moving[..., 1]) / torso_px
    off = np.minimum(np.hypot(off_deg, view.sigma_deg), 80.0)
    flat = np.maximum(np.abs(np.sin(np.radians(view.view_deg))), np.cos(np.radians(settings.widest_off_deg)))
    # three points of equal error on two segments of equal length, the angle between them: sqrt(6) * error / length
    pixels = np.degrees(np.sqrt(6.0) * settings.point_px / (settings.segment_torsos * torso_px))
    out = np.empty((len(times_s), len(JOINTS)))
    for j, (of, joint) in enumerate(JOINTS):
        k, right = KINDS.index(joint), int(of == "right")
        at, other = ([point + side for point in POINTS[joint]] for side in (right, 1 - right))
        foot = points[:, TOE + right] - points[:, HEEL + right]
        short = np.clip(1.0 - np.hypot(*foot.T) / torso_px / flat / settings.foot_length_torsos, 0.0, 1.0)
        doubt = np.maximum(
            near[:, right] * (1.0 - visibility[:, at].min(1)), near[:, 1 - right] * (1.0 - visibility[:, other].min(1))
        )
        seen = np.clip(visibility[:, at].min(1), settings.least_visibility, 1.0)
        parts = (
            np.full(len(points), np.hypot(settings.sigma_base_deg[k], pixels)),
            settings.sigma_rough_deg[k] * np.sqrt((rough[:, at] ** 2).mean(1)),
            settings.sigma_speed_deg[k] * np.sqrt((speed[:, at] ** 2).mean(1)),
            settings.sigma_hidden_deg[k] * -np.log(seen),
            settings.sigma_near_hidden_deg[k] * doubt,
            settings.sigma_off_deg[k] * np.tan(np.radians(off)),
            settings.sigma_foot_deg[k] * short,
        )
        out[:, j] = np.sqrt(sum(part**2 for part in parts))
    return out


def _nearby_rms(times_s: Floats, values: Floats, half_s: float) -> Floats:
    """Root mean square (F, ...) over what was seen within half_s seconds of each picture; NaN where nothing was."""
    low, high = np.searchsorted(times_s, times_s - half_s), np.searchsorted(times_s, times_s + half_s, side="right")

    def summed(column: NDArray[np.float64]) -> Floats:
        total = np.concatenate((np.zeros((1, *column.shape[1:])), np.cumsum(column, axis=0)))
        out: Floats = total[high] - total[low]
        return out

    count = summed(np.isfinite(values).astype(np.float64))
    mean = summed(np.nan_to_num(values) ** 2) / np.where(count > 0, count, np.nan)
    return np.sqrt(np.maximum(mean, 0.0))
