"""How far a joint reading may be off, picture by picture, from what can be seen of its causes.

What the low-pass leaves of the points' errors is told by what it takes away (`left_noise`), at the clip's own rate, so that the same
dancer filmed at 15 or 60 pictures a second has the same standard deviation. The pose model's errors last: most of them lie where the
movement lies, and no filter takes them away.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.base.signals import left_noise, velocity
from motion.base.types import JOINTS, Floats
from motion.body.leg_points import FOOT, HEEL, LIMBS, POINTS, SHANK, THIGH, TOE
from motion.body.settings import AngleSettings
from motion.body.yaw import HIP_L, HIP_R, View

#: Causes in the order of `causes_of`; each has its worth in degrees in the settings, as sigma_NAME_deg.
CAUSES = ("base", "error", "speed", "hidden", "near_hidden", "off", "foot", "far", "limb")


def left_errors(times_s: Floats, filled_px: Floats, cutoff_hz: float, torso_px: float, settings: AngleSettings) -> Floats:
    """What the low-pass leaves of every point's error (F, 33): standard deviation over both axes, torso lengths.

    filled_px (F, 33, 2): points as they go into the low-pass. NaN where the point was not seen. Where a run is too short to tell, a
    point errs as it usually does in this dancer, or as points do at all.
    """
    left = left_noise(times_s, filled_px, cutoff_hz, memory_s=settings.error_memory_s)
    error = nearby_rms(times_s, np.hypot(left[..., 0], left[..., 1]) / torso_px, settings.nearby_s)
    known = np.isfinite(error)
    usual = np.full(error.shape[1], settings.usual_error_torsos)
    some = known.any(0)
    usual[some] = np.nanmedian(error[:, some], axis=0)
    return np.where(known | np.isnan(filled_px[..., 0]), error, usual)


def sigma_of(causes: Floats, torso_px: float, settings: AngleSettings) -> Floats:
    """Standard deviation (F, 6), degrees, of readings with these causes (`causes_of`)."""
    # three points of equal error on two segments of equal length, the angle between them: sqrt(6) * error / length
    pixels = np.degrees(np.sqrt(6.0) * settings.point_px / (settings.segment_torsos * torso_px))
    worth = np.array([getattr(settings, f"sigma_{name}_deg") for name in CAUSES]).repeat(2, axis=1)
    return np.asarray(np.sqrt(((causes * worth[:, None]) ** 2).sum(0) + pixels**2))


def causes_of(
    times_s: Floats, points_px: Floats, side_px: Floats, error: Floats, visibility: Floats, near: Floats, torso_px: float, view: View,
    settings: AngleSettings,
) -> Floats:  # fmt: skip
    """The causes (9, F, 6) of a reading's error, of any joint in any picture, in the order of CAUSES.

    1; by how many degrees what is left of the points' own errors turns the limbs that the angle lies between; how fast the points move
    against the hips, torso lengths a second; how badly the model sees them, -log of its visibility; and the nearer leg, which hides
    behind nothing: where it is not seen well, the two are confused; tangent of the way off the side view; how much shorter the foot
    looks than a foot seen from there (it is lifted off the plane, or the legs are confused); whether the leg is the farther one, 0..1;
    how much shorter thigh and shank look than they are.
    """
    moving = velocity(times_s, points_px - points_px[:, [HIP_L, HIP_R]].mean(1)[:, None])
    speed = np.hypot(moving[..., 0], moving[..., 1]) / torso_px
    off_deg = np.abs(np.abs(view.view_deg) - 90.0)
    off = np.minimum(np.hypot(off_deg, view.sigma_deg), 80.0)
    flat = np.maximum(np.abs(np.sin(np.radians(view.view_deg))), np.cos(np.radians(settings.widest_off_deg)))
    short, bent = _shortness(side_px, off_deg, settings), _bent_by(points_px / torso_px, error)
    out = np.empty((len(CAUSES), len(times_s), len(JOINTS)))
    for j, (of, joint) in enumerate(JOINTS):
        right = int(of == "right")
        at, other = ([point + side for point in POINTS[joint]] for side in (right, 1 - right))
        foot = points_px[:, TOE + right] - points_px[:, HEEL + right]
        seen, other_seen = visibility[:, at].min(1), visibility[:, other].min(1)
        out[:, :, j] = (
            np.ones(len(times_s)),
            np.sqrt(sum(bent[limb][:, right] ** 2 for limb in LIMBS[joint])),
            np.sqrt((speed[:, at] ** 2).mean(1)),
            -np.log(np.clip(seen, settings.least_visibility, 1.0)),
            np.maximum(near[:, right] * (1.0 - seen), near[:, 1 - right] * (1.0 - other_seen)),
            np.tan(np.radians(off)),
            np.clip(1.0 - np.hypot(*foot.T) / torso_px / flat / settings.foot_length_torsos, 0.0, 1.0),
            near[:, 1 - right],
            np.sqrt(sum(short[limb][:, right] ** 2 for limb in LIMBS[joint] if limb != FOOT)),
        )
    return out


def _bent_by(points: Floats, error: Floats) -> dict[tuple[int, int], Floats]:
    """By how many degrees the errors (F, 33) of its two ends turn each limb (F, 2: left, right) as it is seen; points (F, 33, 2), both in
    torso lengths. The same error turns a limb the more the shorter it looks."""
    out = {}
    for a, b in (THIGH, SHANK, FOOT):
        apart = points[:, [a, a + 1]] - points[:, [b, b + 1]]
        across = np.sqrt((error[:, [a, a + 1]] ** 2 + error[:, [b, b + 1]] ** 2) / 2)  # one of two axes turns it, at either end
        out[a, b] = np.degrees(np.arctan2(across, np.hypot(apart[..., 0], apart[..., 1])))
    return out


def _shortness(side_px: Floats, off_deg: Floats, settings: AngleSettings) -> dict[tuple[int, int], Floats]:
    """How much of its own length each limb (F, 2: left, right) lacks in the picture, 0..1; its length is what it seldom passes where the
    dancer is seen fairly from the side, or, if never, where angles are read at all."""
    fair = off_deg <= settings.limb_off_deg
    if fair.sum() < np.isfinite(off_deg).sum() * settings.range_share:
        fair = off_deg <= settings.widest_off_deg
    out = {}
    for upper, lower in (THIGH, SHANK):
        apart = side_px[:, [upper, upper + 1]] - side_px[:, [lower, lower + 1]]
        long = np.hypot(apart[..., 0], apart[..., 1])
        known = long[fair & np.isfinite(long).all(1)]
        whole = np.quantile(known, settings.limb_share) if len(known) else np.inf
        out[upper, lower] = np.clip(1.0 - long / whole, 0.0, 1.0)
    return out


def nearby_rms(times_s: Floats, values: Floats, half_s: float) -> Floats:
    """Root mean square (F, ...) over what was seen within half_s seconds of each picture; NaN where nothing was."""
    low, high = np.searchsorted(times_s, times_s - half_s), np.searchsorted(times_s, times_s + half_s, side="right")

    def summed(column: NDArray[np.float64]) -> Floats:
        total = np.concatenate((np.zeros((1, *column.shape[1:])), np.cumsum(column, axis=0)))
        out: Floats = total[high] - total[low]
        return out

    count = summed(np.isfinite(values).astype(np.float64))
    mean = summed(np.nan_to_num(values) ** 2) / np.where(count > 0, count, np.nan)
    return np.sqrt(np.maximum(mean, 0.0))
