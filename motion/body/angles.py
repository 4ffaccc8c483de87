"""Flexion of hips, knees and ankles with its uncertainty, withheld where it cannot be trusted. Zero is the dancer's own standing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.base.types import Angles, Landmarks, NotMeasured
from motion.body.joint_readings import Reading, read_joints
from motion.body.neutral_pose import NeutralPose, zero_of
from motion.body.settings import AngleSettings
from motion.body.yaw import View


def angles_of(
    landmarks: Landmarks, p: int, view: View, *, settings: AngleSettings, standing: NeutralPose | None = None,
    hidden: NDArray[np.bool_] | None = None,
) -> Angles | NotMeasured:  # fmt: skip
    """Flexion of the six joints of dancer number p (index) in every picture, relative to that dancer's quiet standing.

    Parameters: landmarks with the swaps of the legs already mended; view of the same dancer over the same pictures; standing, a
    stored one, used when this clip shows none; hidden (F,), pictures in which somebody in front hides the legs. What zero is,
    `zero_of` says.
    flexion_deg and sigma_deg are NaN where the dancer was not seen, where the view is too far from the side and where sigma
    passes its limit. NotMeasured when the body was hardly ever seen, or its legs were hidden more often than not.
    """
    read = read_joints(landmarks, p, view, settings=settings, hidden=hidden)
    return read if isinstance(read, NotMeasured) else flexion_of(read, view, settings=settings, standing=standing)


def flexion_of(read: Reading, view: View, *, settings: AngleSettings, standing: NeutralPose | None = None) -> Angles:
    """As `angles_of`, from a dancer's joint readings and view."""
    zero, names = zero_of(read, standing, settings)
    flexion = read.reading_deg - zero.reading_deg
    sigma = np.hypot(read.sigma_deg, zero.sigma_deg)
    limit = np.array(settings.sigma_limit_deg).repeat(2)
    low, high = np.array(settings.possible_deg).repeat(2, axis=0).T
    # a foot read back to front, a leg read as the other one: no joint does that, so the points are wrong, not the dancer odd
    possible = (flexion >= low) & (flexion <= high)
    trusted = possible & (sigma <= limit) & (read.off_deg <= settings.widest_off_deg)[:, None]
    return Angles(read.times_s, np.where(trusted, flexion, np.nan), np.where(trusted, sigma, np.nan), view.view_deg, names)
