"""Left and right leg: swaps of a few pictures, common from the side and the back, are found over time and mended.

Two labellings a picture (as the model says, or legs exchanged); the whole clip's labelling is the path of least cost, where the
cost is how far knees, ankles, heels and toes stray from where their last two places point. Method: dynamic programming
(Viterbi, 1967) over the labels of two neighbouring pictures, so that movement and not place alone decides when legs cross.
"""

from __future__ import annotations

import numpy as np

from motion.data import Floats, Landmarks
from motion.settings import BodySettings

_LEFT, _RIGHT = [25, 27, 29, 31], [26, 28, 30, 32]


def mended_legs(landmarks: Landmarks, settings: BodySettings) -> Landmarks:
    """The same landmarks with the legs' labels put right; a picture without the dancer starts afresh."""
    image, visibility = landmarks.image_px.copy(), landmarks.visibility.copy()
    for p in range(image.shape[1]):
        swapped = swapped_pictures(image[:, p], settings)
        for block in (image, visibility):
            both = block[swapped, p]
            both[:, _LEFT], both[:, _RIGHT] = both[:, _RIGHT].copy(), both[:, _LEFT].copy()
            block[swapped, p] = both
    return Landmarks(landmarks.times_s, landmarks.ids, image, visibility, landmarks.unsure)


def swapped_pictures(points_px: Floats, settings: BodySettings) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Which pictures have left and right leg exchanged. points_px (F, 33, 2) of one dancer, NaN where not seen -> (F,) bool."""
    seen = np.flatnonzero(~np.isnan(points_px[:, 27, 0]))
    out = np.zeros(len(points_px), dtype=np.bool_)
    if len(seen) < 3:
        return out
    x = points_px[seen]
    leg = np.nanmedian(np.hypot(*(x[:, 23:25].mean(1) - x[:, 27:29].mean(1)).T)) + 1e-6
    as_is = np.concatenate([x[:, _LEFT], x[:, _RIGHT]], 1) / leg
    labelled = np.stack([as_is, np.concatenate([x[:, _RIGHT], x[:, _LEFT]], 1) / leg])  # (2, F, 8, 2)
    # state: (label before, label now); entry [before, now] holds the least cost so far
    price = np.array([0.0, settings.swap_price])
    cost = price[:, None] + price[None, :] + np.array([[_stray(labelled[a, 0], labelled[b, 1]) for b in (0, 1)] for a in (0, 1)])
    came_from = np.zeros((len(x), 2, 2), dtype=np.int64)
    gap = np.diff(seen) > 1
    for i in range(2, len(x)):
        keep = 0.0 if gap[i - 1] or gap[i - 2] else settings.swap_velocity
        new = np.empty((2, 2))
        for now in (0, 1):
            for before in (0, 1):
                straight = [
                    cost[older, before]
                    + _stray(labelled[before, i - 1] + keep * (labelled[before, i - 1] - labelled[older, i - 2]), labelled[now, i])
                    for older in (0, 1)
                ]
                best = int(np.argmin(straight))
                came_from[i, before, now] = best
                new[before, now] = straight[best] + price[now] + (settings.swap_change if now != before else 0.0)
        cost = new
    before, now = (int(v) for v in np.unravel_index(int(np.argmin(cost)), (2, 2)))
    labels = np.zeros(len(x), dtype=np.int64)
    for i in range(len(x) - 1, 0, -1):
        labels[i] = now
        before, now = int(came_from[i, before, now]), before
    labels[0] = now
    out[seen] = labels == 1
    return out


def _stray(expected: Floats, found: Floats) -> float:
    """How far points lie from where they were expected, leg lengths; one wild point cannot outweigh the rest."""
    gap = np.hypot(*(found - expected).T)
    return float(np.minimum(gap, 0.3).sum())
