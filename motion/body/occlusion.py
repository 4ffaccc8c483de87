"""Which feet are hidden behind somebody who stands in front: what cannot be seen is not judged."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.base.signals import usual_step_s
from motion.base.types import Floats, Interval, Landmarks
from motion.body.settings import BodySettings

_FEET = [[27, 29, 31], [28, 30, 32]]
#: Limbs of whoever stands in front, as pairs of landmarks.
_COVER = [[23, 25], [25, 27], [24, 26], [26, 28], [27, 31], [28, 32], [11, 23], [12, 24], [23, 24]]


def hidden_pictures(landmarks: Landmarks, p: int, settings: BodySettings) -> NDArray[np.bool_]:
    """In which pictures the feet of dancer index p are poorly seen (skirt, dark, covered), or one lies behind the body of somebody lower
    in the picture, and so nearer (F,)."""
    hidden: NDArray[np.bool_] = _poorly_seen(landmarks, p, settings) | covered_pictures(landmarks, p, settings)
    return hidden


def covered_pictures(landmarks: Landmarks, p: int, settings: BodySettings) -> NDArray[np.bool_]:
    """In which pictures a foot of dancer index p lies behind the body of somebody lower in the picture, and so nearer (F,)."""
    return np.asarray(covered_feet(landmarks, p, settings).any(1))


def covered_feet(landmarks: Landmarks, p: int, settings: BodySettings) -> NDArray[np.bool_]:
    """The same for the left and the right foot each (F, 2)."""
    x = landmarks.image_px
    out = np.zeros((len(x), 2), dtype=np.bool_)
    tall, low = np.ptp(x[..., 1], axis=2), x[:, :, 27:33, 1].max(2)
    with np.errstate(invalid="ignore"):
        for q in range(x.shape[1]):
            # Somebody who stands no lower hides nothing: most pictures of most pairs need no closer look.
            near = np.flatnonzero(low[:, q] - low[:, p] > settings.row_bodies * tall[:, q])
            if q == p or not len(near):
                continue
            foot = x[near, p][:, _FEET].mean(2)
            limbs = x[near, q][:, _COVER]
            away = _away(foot[:, :, None], limbs[:, None, :, 0], limbs[:, None, :, 1])
            out[near] |= (away < settings.limb_bodies * tall[near, q, None, None]).any(2)
    return out


def _poorly_seen(landmarks: Landmarks, p: int, settings: BodySettings) -> NDArray[np.bool_]:
    """Does the model itself, averaged over a while, say that the feet can hardly be seen? (F,)"""
    said = landmarks.visibility[:, p, _FEET[0] + _FEET[1]].mean(1)
    seen = ~np.isnan(landmarks.image_px[:, p, 27, 0])
    step_s = usual_step_s(landmarks.times_s)
    half = round(settings.feet_seen_s / step_s / 2 - 0.5) if step_s else 0
    smooth = np.convolve(np.pad(np.where(seen, said, 1.0), half, mode="edge"), np.ones(2 * half + 1) / (2 * half + 1), mode="valid")
    return np.asarray((smooth < settings.feet_visible) & seen)


def _away(points: Floats, a: Floats, b: Floats) -> Floats:
    """Distance (...) of points from the lines a to b, all (..., 2)."""
    along = b - a
    share = np.clip(((points - a) * along).sum(-1) / np.maximum((along**2).sum(-1), 1e-9), 0, 1)
    apart = points - a - along * share[..., None]
    return np.asarray(np.hypot(apart[..., 0], apart[..., 1]))


def in_sight(runs: list[Interval], times_s: Floats, hidden: NDArray[np.bool_], settings: BodySettings) -> tuple[Interval, ...]:
    """The runs without the stretches around hidden pictures; what is left of less than a short look is left out as well.

    times_s (F,); hidden (F,) of the same pictures.
    """
    out: list[Interval] = []
    for start, end in runs:
        at = start
        for t in times_s[hidden & (times_s >= start) & (times_s <= end)]:
            if t - settings.hidden_margin_s > at:
                out.append((at, float(t) - settings.hidden_margin_s))
            at = max(at, float(t) + settings.hidden_margin_s)
        if at < end:
            out.append((at, end))
    return tuple((a, b) for a, b in out if b - a >= settings.least_sight_s)
