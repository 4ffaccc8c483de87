"""What zero is for each joint of one dancer: quiet standing, the same taken from elsewhere, or how the foot's leg bears weight.

Feet that stay put side by side, seen side-on, are quiet standing. A clip that begins in the dance shows none, but every planted
foot shows the leg as this dancer bears weight on it. That stance is softer than standing by a few degrees and differs from step to
step, so it counts for less; where there is little quiet standing the two are weighed together, and so are left and right, which
differ by a few degrees in one person.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.types import Floats, Landmarks, NotMeasured, Sealed
from motion.body.joint_readings import Reading, read_joints
from motion.body.leg_points import ANKLE, HEEL, TOE
from motion.body.settings import AngleSettings
from motion.body.yaw import HIP_L, HIP_R, View

ZeroName = Literal["standing", "stored", "stance", "anatomical"]


@dataclass(frozen=True, eq=False)
class NeutralPose(Sealed):
    """One dancer's quiet standing as the picture shows it: what a range check stores for other clips.

    reading_deg, sigma_deg (6,) in the order of JOINTS: anatomical readings and their standard deviations; pictures it rests on.
    """

    reading_deg: Floats
    sigma_deg: Floats
    pictures: int

    def _check(self) -> None:
        need(self.reading_deg.shape == (6,), "reading_deg has shape (6,)", self.reading_deg.shape)
        need(self.sigma_deg.shape == (6,), "sigma_deg has shape (6,)", self.sigma_deg.shape)

    def as_dict(self) -> dict[str, Any]:
        """As review.json keeps it; `standing_from` reads it back."""
        return {
            "reading_deg": [round(float(v), 1) for v in self.reading_deg],
            "sigma_deg": [round(float(v), 1) for v in self.sigma_deg],
            "pictures": self.pictures,
        }


def standing_from(kept: dict[str, Any]) -> NeutralPose:
    """Quiet standing as a review kept it."""
    return NeutralPose(np.array(kept["reading_deg"], float), np.array(kept["sigma_deg"], float), int(kept["pictures"]))


def standing_of(landmarks: Landmarks, p: int, view: View, *, settings: AngleSettings) -> NeutralPose | NotMeasured:
    """Quiet standing of dancer number p in this clip, as `standing_in` has it."""
    return standing_in(read_joints(landmarks, p, view, settings=settings), settings)


def standing_in(read: Reading | NotMeasured, settings: AngleSettings) -> NeutralPose | NotMeasured:
    """Quiet standing in a dancer's joint readings, to be stored and handed to `angles_of` for clips that show none.

    NotMeasured unless both feet stand level, side by side and unmoved, seen side-on, for long enough in all.
    """
    own = _quiet(read, settings) if isinstance(read, Reading) else None
    return own or NotMeasured("quiet standing", "nowhere does the dancer stand still, feet together, seen from the side")


def zero_of(read: Reading, stored: NeutralPose | None, settings: AngleSettings) -> tuple[NeutralPose, tuple[ZeroName, ...]]:
    """The zero of every joint with its standard deviation, and what it was taken from.

    "standing" where this clip shows the dancer standing quietly; else "stored" where one was given; else "stance", the median over
    planted feet; else "anatomical" (segments in line, foot square to the shank), so far from anyone's own zero that
    its angles pass the limit and are withheld.
    """
    own, stance, rough = _quiet(read, settings), _stance(read, settings), np.array(settings.anatomical_sd_deg).repeat(2)
    if own is not None:
        # who dances far softer than they stand is no better known by it
        apart = np.abs(stance.reading_deg - own.reading_deg) > 2.0 * np.hypot(own.sigma_deg, stance.sigma_deg)
        stance = NeutralPose(np.where(apart, np.nan, stance.reading_deg), stance.sigma_deg, stance.pictures)
        return _weighed((own, stance), settings), ("standing",) * 6
    if stored is not None:
        return NeutralPose(stored.reading_deg, np.hypot(stored.sigma_deg, settings.stored_sd_deg), stored.pictures), ("stored",) * 6
    found = np.isfinite(stance.reading_deg)
    # the line from heel to toe, as the model places them, is no sole: how it lies on the floor is much the same for everyone, while
    # over a planted foot the shank sways to and fro
    flat = np.where(found, [*[np.nan] * 4, *[settings.flat_foot_deg] * 2], np.nan)
    zero = _weighed((stance, NeutralPose(flat, np.full(6, settings.flat_foot_sd_deg), 0)), settings)
    names: tuple[ZeroName, ...] = tuple("stance" if one else "anatomical" for one in found)
    return NeutralPose(np.where(found, zero.reading_deg, 0.0), np.where(found, zero.sigma_deg, rough), zero.pictures), names


def _quiet(read: Reading, settings: AngleSettings) -> NeutralPose | None:
    """Median reading over the pictures in which the dancer stands quietly, side-on; None when they are too few.

    Bending both knees leaves the feet where they stand too: of the quiet pictures only the straightest are standing.
    """
    points, leg_px = read.points_px, read.leg_px
    # against the hips' own distance, so that feet under the hips count as side by side from any view
    apart = np.abs(-np.diff(read.side_px[:, [ANKLE, ANKLE + 1, HIP_L, HIP_R], 0])[:, [0, 2]] @ np.array([1.0, -1.0])) / leg_px
    soles = points[:, [HEEL, TOE]].max(1)[:, 1] - points[:, [HEEL + 1, TOE + 1]].max(1)[:, 1]
    hips, knees = read.reading_deg[:, 0:2], read.reading_deg[:, 2:4]
    quiet = (
        (read.off_deg <= settings.standing_off_deg)
        & (read.sole_speed.max(1) <= settings.standing_speed)
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
    return NeutralPose(np.median(read.reading_deg[quiet], axis=0), sigma, int(quiet.sum()))


def _stance(read: Reading, settings: AngleSettings) -> NeutralPose:
    """Median reading of every joint over the pictures in which that side's foot stays put; NaN where there are too few of them."""
    reading, sigma = np.full(6, np.nan), np.full(6, np.inf)
    own = np.array(settings.stance_sd_deg).repeat(2)
    limit = np.array(settings.sigma_limit_deg).repeat(2)
    usable = np.isfinite(read.reading_deg) & (read.sigma_deg <= limit) & (read.off_deg <= settings.standing_off_deg)[:, None]
    step_s = float(np.median(np.diff(read.times_s)))
    most = 0
    for j in range(6):
        planted = usable[:, j] & (read.sole_speed[:, j % 2] <= settings.stance_speed)
        if planted.sum() * step_s < settings.stance_s or _runs(planted) < settings.stance_times:
            continue
        reading[j], sigma[j] = np.median(read.reading_deg[planted, j]), own[j]
        most = max(most, int(planted.sum()))
    return NeutralPose(reading, sigma, most)


def _runs(flags: NDArray[np.bool_]) -> int:
    """How many unbroken runs of True there are."""
    return int((flags & ~np.concatenate(([False], flags[:-1]))).sum())


def _weighed(parts: tuple[NeutralPose, ...], settings: AngleSettings) -> NeutralPose:
    """The parts weighed by their certainty, left and right of a joint tied together; NaN and infinite sigma where none has a value."""
    reading, sigma = np.full(6, np.nan), np.full(6, np.inf)
    for j in (0, 2, 4):
        precision, pull = np.zeros((2, 2)), np.zeros(2)
        for one in parts:
            for side in (0, 1):
                if np.isfinite(one.reading_deg[j + side]):
                    precision[side, side] += one.sigma_deg[j + side] ** -2
                    pull[side] += one.reading_deg[j + side] * one.sigma_deg[j + side] ** -2
        if not precision.any():
            continue
        precision += np.array([[1.0, -1.0], [-1.0, 1.0]]) / settings.sides_sd_deg**2
        cover = np.linalg.inv(precision)
        reading[j : j + 2], sigma[j : j + 2] = cover @ pull, np.sqrt(np.diag(cover))
    return NeutralPose(reading, sigma, max(one.pictures for one in parts))
