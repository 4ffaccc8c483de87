"""When a foot that has touched the floor can bear the weight: its ankle, heel and toe have come to rest."""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats
from motion.body.settings import BodySettings

_FEET = {False: [27, 29, 31], True: [28, 30, 32]}  # ankle, heel, toe of the left and the right foot


def settled_times(
    times_s: Floats, points_px: Floats, leg_px: Floats, landings_s: Floats, right: bool, settings: BodySettings
) -> Floats:  # fmt: skip
    """When each landing's foot came to rest (N,) s; NaN where it did not within `settle_most_s`.

    times_s (F,), points_px (F, 33, 2) without NaN, leg_px (F,) length of the leg as it appears; landings_s (N,): first contacts. At rest
    is who moves slower than `settle_speed` for `settle_for_s`, all three points of the foot. Held against captured people seen from four
    sides with the pose model's errors (1,460 contacts): half within 20 ms, nine in ten within
    80 ms. The speed was chosen on those very contacts.
    """
    flat = points_px[:, _FEET[right]].reshape(len(times_s), -1)
    grid = np.arange(0.0, settings.settle_most_s + settings.settle_for_s + 1e-9, settings.settle_step_s)
    last = round(settings.settle_for_s / settings.settle_step_s)
    out = np.full(len(landings_s), np.nan)

    def at(when_s: Floats) -> Floats:
        return np.stack([np.interp(when_s, times_s, flat[:, k]) for k in range(flat.shape[1])], 1).reshape(len(when_s), 3, 2)

    for n, landing in enumerate(landings_s):
        when = landing + grid
        if when[0] < times_s[0] or when[-1] + settings.settle_reach_s > times_s[-1]:
            continue
        way = at(when + settings.settle_reach_s) - at(when - settings.settle_reach_s)
        speed = np.hypot(way[..., 0], way[..., 1]).max(1) / (2 * settings.settle_reach_s) / np.interp(when, times_s, leg_px)
        rests = np.lib.stride_tricks.sliding_window_view(speed < settings.settle_speed, last + 1).all(1)
        if rests.any():
            out[n] = when[int(np.argmax(rests))]
    return out
