"""Weight that moves from foot to foot without a landing: when the hips pass midway between the feet.

Plain mechanics, nothing learned: whoever stands on one foot has the hips near it, so weight goes over when the hips' way crosses the
middle. The picture's x axis alone is used: up and down also tell of bending knees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion.base.types import Floats
from motion.body.contact_network import RATE_HZ, even_times
from motion.body.settings import BodySettings

_FEET = {True: [28, 30, 32], False: [27, 29, 31]}  # ankle, heel, toe
_HIPS = [23, 24]


@dataclass(frozen=True)
class Crossing:
    """time_s: the hips pass midway; far: how far they go over to this foot within a fifth of a second either side, as a share of the
    feet's distance apart; fastest: leg lengths a second, of this foot about then and of the other before."""

    time_s: float
    far: float
    fastest: float


def crossings(times_s: Floats, points_px: Floats, leg_px: Floats, right: bool, settings: BodySettings) -> list[Crossing]:
    """Moments at which the hips pass towards one foot, in order of time.

    times_s (F,); points_px (F, 33, 2) without NaN; leg_px (F,) length of the leg as it appears.
    """
    grid = even_times(times_s)
    leg = np.interp(grid, times_s, leg_px)
    hips, own, other = (_smooth(grid, times_s, points_px[:, part].mean(1)) for part in (_HIPS, _FEET[right], _FEET[not right]))
    apart = own[:, 0] - other[:, 0]
    over = (hips[:, 0] - (own[:, 0] + other[:, 0]) / 2) * np.sign(apart) / np.maximum(abs(apart), settings.least_apart_legs * leg)
    arriving, leaving = _speed(own, leg), _speed(other, leg)  # the other foot may lift at once when it is free
    reach, near = round(settings.shift_reach_s * RATE_HZ), round(settings.shift_still_s * RATE_HZ)
    out = []
    for i in np.flatnonzero((over[:-1] < 0) & (over[1:] >= 0)) + 1:
        part = over[i - 1] / (over[i - 1] - over[i])
        before, after = over[max(0, i - reach) : i], over[i : i + reach]
        far = float(min(-before.min(), after.max()))
        fastest = max(arriving[max(0, i - near) : i + near].max(), leaving[max(0, i - near) : i].max())
        out.append(Crossing(float(grid[i - 1] + part / RATE_HZ), far, float(fastest)))
    return out


def _smooth(grid: Floats, times_s: Floats, path_px: Floats) -> Floats:
    """A path (F, 2) on the even grid, averaged over a twelfth of a second: (T, 2)."""
    wide = 5
    even = [np.interp(grid, times_s, path_px[:, k]) for k in (0, 1)]
    return np.stack([np.convolve(np.pad(v, wide // 2, mode="edge"), np.ones(wide) / wide, mode="valid") for v in even], 1)


def _speed(path_px: Floats, leg_px: Floats) -> Floats:
    return np.asarray(np.hypot(*(np.gradient(path_px, 1 / RATE_HZ, axis=0) / leg_px[:, None]).T))
