"""Flexion of hips, knees and ankles from picture points, with its uncertainty, and withheld where it cannot be trusted.

Two-dimensional points seen from the side beat the model's own depth, so angles are taken in the picture. What turns out of the
picture's plane looks shortened sideways: with the view known, the picture is stretched back by 1 / |sin view| before angles are
read (planar rule: tan seen = tan true * cos of the way off the side view). Zero is the dancer's own quiet standing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from motion.body.view import HIP_L, HIP_R, SHOULDER_L, SHOULDER_R, View
from motion.checks import need
from motion.data import JOINTS, Angles, Floats, Landmarks, NotMeasured, Sealed
from motion.geometry import ankle_flexion_deg, hip_flexion_deg, knee_flexion_deg
from motion.settings import AngleSettings
from motion.signals import gaps_filled, low_pass, velocity

#: Landmarks of the left side; the right side's are one higher.
HIP, KNEE, ANKLE, HEEL, TOE = 23, 25, 27, 29, 31
#: Points whose errors reach the angle, per joint; also the order of the settings' three-fold values.
POINTS = {"hip": (HIP, KNEE), "knee": (HIP, KNEE, ANKLE), "ankle": (KNEE, ANKLE, HEEL, TOE)}
KINDS = tuple(POINTS)


@dataclass(frozen=True, eq=False)
class Standing(Sealed):
    """One dancer's quiet standing as the picture shows it: what a range check stores for other clips.

    reading_deg, sigma_deg (6,) in the order of JOINTS: anatomical readings and their standard deviations; pictures it rests on.
    """

    reading_deg: Floats
    sigma_deg: Floats
    pictures: int

    def check(self) -> None:
        need(self.reading_deg.shape == (6,), "reading_deg has shape (6,)", self.reading_deg.shape)
        need(self.sigma_deg.shape == (6,), "sigma_deg has shape (6,)", self.sigma_deg.shape)


@dataclass(frozen=True, eq=False)
class _Reading:
    """One dancer read off the pictures.

    points_px (F, 33, 2) cleaned; side_px (F, 33, 2) the same as if seen from the side; rough (F, 33), how far the points as given
    lie from the cleaned ones, in torso lengths; off_deg (F,), how far the view is from the side; reading_deg (F, 6) anatomical.
    """

    times_s: Floats
    points_px: Floats
    side_px: Floats
    rough: Floats
    visibility: Floats
    off_deg: Floats
    torso_px: float
    reading_deg: Floats


def angles_of(
    landmarks: Landmarks, p: int, view: View, *, settings: AngleSettings, standing: Standing | None = None
) -> Angles | NotMeasured:
    """Flexion of the six joints of dancer number p (index) in every picture, relative to that dancer's quiet standing.

    Parameters: landmarks with the swaps of the legs already mended; view of the same dancer over the same pictures; standing, a
    stored one, used when this clip shows none. Zero is "standing" (found in this clip: side-on, feet level and side by side, not
    moving), "stored", or "anatomical" (segments in line, foot square to the shank), which is so far from anyone's own zero that
    its angles pass the limit and are withheld.
    flexion_deg and sigma_deg are NaN where the dancer was not seen, where the view is too far from the side and where sigma
    passes its limit. NotMeasured when the body was hardly ever seen.
    """
    read = _read(landmarks, p, view, settings)
    if read is None:
        return NotMeasured("joint angles", "the body was not seen long enough")
    own = _standing(read, settings)
    zero_name: Literal["standing", "stored", "anatomical"]
    if own is not None:
        zero_name, zero = "standing", own
    elif standing is not None:
        zero_name, zero = "stored", standing
    else:
        zero_name, zero = "anatomical", Standing(np.zeros(6), np.array(settings.anatomical_sd_deg).repeat(2), 0)
    flexion = read.reading_deg - zero.reading_deg
    sigma = np.hypot(_sigma(read, view, settings), zero.sigma_deg)
    limit = np.array(settings.sigma_limit_deg).repeat(2)
    trusted = np.isfinite(flexion) & (sigma <= limit) & (read.off_deg <= settings.widest_off_deg)[:, None]
    return Angles(
        landmarks.times_s,
        np.where(trusted, flexion, np.nan),
        np.where(trusted, sigma, np.nan),
        view.view_deg,
        (zero_name,) * 6,
    )


def standing_of(landmarks: Landmarks, p: int, view: View, *, settings: AngleSettings) -> Standing | NotMeasured:
    """Quiet standing of dancer number p in this clip, to be stored and handed to `angles_of` for clips that show none.

    NotMeasured unless both feet stand level, side by side and unmoved, seen side-on, for long enough in all.
    """
    read = _read(landmarks, p, view, settings)
    own = None if read is None else _standing(read, settings)
    return (
        own
        if own is not None
        else NotMeasured("quiet standing", "nowhere does the dancer stand still, feet together, seen from the side")
    )


def _read(landmarks: Landmarks, p: int, view: View, settings: AngleSettings) -> _Reading | None:
    """Cleaned points and anatomical readings; None when the torso was hardly seen."""
    times_s, given = landmarks.times_s, landmarks.image_px[:, p]
    points = low_pass(times_s, gaps_filled(times_s, given, settings.fill_s), settings.cutoff_hz)
    shoulders, hips = points[:, [SHOULDER_L, SHOULDER_R]].mean(1), points[:, [HIP_L, HIP_R]].mean(1)
    torso = np.hypot(*(shoulders - hips).T)
    if np.isfinite(torso).sum() < settings.least_pictures:
        return None
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
    apart = given - points
    rough = _nearby_rms(times_s, np.hypot(apart[..., 0], apart[..., 1]) / torso_px, settings.nearby_s)
    return _Reading(times_s, points, flat, rough, landmarks.visibility[:, p], off, torso_px, reading)


def _standing(read: _Reading, settings: AngleSettings) -> Standing | None:
    """Median reading over the pictures in which the dancer stands quietly, side-on; None when they are too few.

    Bending both knees leaves the feet where they stand too: of the quiet pictures only the straightest are standing.
    """
    points = read.points_px
    legs = points[:, [HIP, HIP + 1]] - points[:, [ANKLE, ANKLE + 1]]
    leg_px = float(np.nanmedian(np.hypot(legs[..., 0], legs[..., 1])))
    moving = velocity(read.times_s, points[:, [HEEL, HEEL + 1, TOE, TOE + 1]])
    speed = np.hypot(moving[..., 0], moving[..., 1]).max(1) / leg_px
    # against the hips' own distance, so that feet under the hips count as side by side from any view
    apart = np.abs(-np.diff(read.side_px[:, [ANKLE, ANKLE + 1, HIP_L, HIP_R], 0])[:, [0, 2]] @ np.array([1.0, -1.0])) / leg_px
    soles = points[:, [HEEL, TOE]].max(1)[:, 1] - points[:, [HEEL + 1, TOE + 1]].max(1)[:, 1]
    hips, knees = read.reading_deg[:, 0:2], read.reading_deg[:, 2:4]
    quiet = (
        (read.off_deg <= settings.standing_off_deg)
        & (speed <= settings.standing_speed)
        & (apart <= settings.standing_apart)
        & (np.abs(soles) / leg_px <= settings.standing_level)
        & (np.abs(hips[:, 0] - hips[:, 1]) <= settings.standing_alike_deg)
        & (np.abs(knees[:, 0] - knees[:, 1]) <= settings.standing_alike_deg)
        & np.isfinite(read.reading_deg).all(1)
    )
    bend = knees.mean(1)
    if quiet.any():
        quiet &= bend <= np.percentile(bend[quiet], 10) + settings.standing_straight_deg
    step_s = float(np.median(np.diff(read.times_s)))
    if quiet.sum() < 2 or quiet.sum() * step_s < settings.standing_s:
        return None
    looks = quiet.sum() * step_s / settings.standing_s
    sigma = np.array(settings.standing_sd_deg).repeat(2) / np.sqrt(looks)
    return Standing(np.median(read.reading_deg[quiet], axis=0), sigma, int(quiet.sum()))


def _sigma(read: _Reading, view: View, settings: AngleSettings) -> Floats:
    """Standard deviation (F, 6) of a reading, from what can be seen of its causes: how far the points jump about, how fast they
    move against the hips, how well the model sees them, how far the view is from the side, how many pixels a segment spans, and
    whether the foot is as long as a foot seen from there (when it is not, it is lifted off the plane or the legs are confused)."""
    points, torso_px = read.points_px, read.torso_px
    moving = velocity(read.times_s, points - points[:, [HIP_L, HIP_R]].mean(1)[:, None])
    speed = np.hypot(moving[..., 0], moving[..., 1]) / torso_px
    off = np.minimum(np.hypot(read.off_deg, view.sigma_deg), 80.0)
    flat = np.maximum(np.abs(np.sin(np.radians(view.view_deg))), np.cos(np.radians(settings.widest_off_deg)))
    # three points of equal error on two segments of equal length, the angle between them: sqrt(6) * error / length
    pixels = np.degrees(np.sqrt(6.0) * settings.point_px / (settings.segment_torsos * torso_px))
    out = np.empty((len(read.times_s), len(JOINTS)))
    for j, (of, joint) in enumerate(JOINTS):
        k = KINDS.index(joint)
        at = [point + (of == "right") for point in POINTS[joint]]
        foot = points[:, TOE + (of == "right")] - points[:, HEEL + (of == "right")]
        short = np.clip(1.0 - np.hypot(*foot.T) / torso_px / flat / settings.foot_length_torsos, 0.0, 1.0)
        parts = (
            np.full(len(points), np.hypot(settings.sigma_base_deg[k], pixels)),
            settings.sigma_rough_deg[k] * np.sqrt((read.rough[:, at] ** 2).mean(1)),
            settings.sigma_speed_deg[k] * np.sqrt((speed[:, at] ** 2).mean(1)),
            settings.sigma_hidden_deg[k] * (1.0 - read.visibility[:, at].min(1)),
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
