"""Left and right leg: swaps of a few pictures, common from the side and the back, are found over time and mended.

Two labellings a picture (as the model says, or legs exchanged); the whole clip's labelling is the path of least cost, where the
cost is how far knees, ankles, heels and toes stray from where their last two places point. Method: dynamic programming
(Viterbi, 1967) over the labels of two neighbouring pictures, so that movement and not place alone decides when legs cross.
"""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats, Landmarks
from motion.body.settings import BodySettings

_LEFT, _RIGHT = [25, 27, 29, 31], [26, 28, 30, 32]


def fix_leg_swaps(landmarks: Landmarks, settings: BodySettings) -> Landmarks:
    """The same landmarks with the legs' labels put right; a picture without the dancer starts afresh."""
    image, visibility = landmarks.image_px.copy(), landmarks.visibility.copy()
    for p in range(image.shape[1]):
        swapped = swapped_frames(landmarks.times_s, image[:, p], settings)
        for block in (image, visibility):
            both = block[swapped, p]
            both[:, _LEFT], both[:, _RIGHT] = both[:, _RIGHT].copy(), both[:, _LEFT].copy()
            block[swapped, p] = both
    return Landmarks(landmarks.times_s, landmarks.ids, image, visibility, landmarks.unsure)


def swapped_frames(times_s: Floats, points_px: Floats, settings: BodySettings) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Which pictures have left and right leg exchanged. times_s (F,), points_px (F, 33, 2) of one dancer, NaN where not seen
    -> (F,) bool."""
    seen = np.flatnonzero(~np.isnan(points_px[:, 27, 0]))
    out = np.zeros(len(points_px), dtype=np.bool_)
    if len(seen) < 3:
        return out
    x = points_px[seen]
    leg = np.nanmedian(np.hypot(*(x[:, 23:25].mean(1) - x[:, 27:29].mean(1)).T)) + 1e-6
    as_is = np.concatenate([x[:, _LEFT], x[:, _RIGHT]], 1) / leg
    labelled = np.stack([as_is, np.concatenate([x[:, _RIGHT], x[:, _LEFT]], 1) / leg])  # (2, F, 8, 2)
    # state: (label before, label now); entry [before, now] holds the least cost so far
    # by time, not by picture: else a stretch of exchanged legs costs more to mend the more pictures a second it has
    steps = np.diff(times_s[seen])
    held = np.minimum(np.concatenate((steps[:1], steps)), np.median(steps))
    price = np.stack([np.zeros_like(held), settings.swap_price_a_s * held], axis=1)  # (F, 2)
    cost = price[0][:, None] + price[1][None, :] + _stray(labelled[:, None, 0], labelled[None, :, 1])
    came_from = np.zeros((len(x), 2, 2), dtype=np.int64)
    gap = np.diff(seen) > 1
    # where the next picture's points are expected, for every (older, before), and how far from that they are, for every now
    lasts = steps[1:] / steps[:-1] * np.exp(-steps[1:] / settings.swap_memory_s)
    keep = np.where(gap[1:] | gap[:-1], 0.0, lasts)[:, None, None]
    moved = labelled[None, :, 1:-1] - labelled[:, None, :-2]
    strays = _stray((labelled[None, :, 1:-1] + keep * moved)[:, :, None], labelled[None, None, :, 2:])  # (2, 2, 2, F - 2)
    change = settings.swap_change * (1 - np.eye(2))
    for i in range(2, len(x)):
        straight = cost[:, :, None] + strays[..., i - 2]
        came_from[i] = straight.argmin(0)
        cost = straight.min(0) + change + price[i]
    before, now = (int(v) for v in np.unravel_index(int(np.argmin(cost)), (2, 2)))
    labels = np.zeros(len(x), dtype=np.int64)
    for i in range(len(x) - 1, 0, -1):
        labels[i] = now
        before, now = int(came_from[i, before, now]), before
    labels[0] = now
    out[seen] = labels == 1
    return out


def _stray(expected: Floats, found: Floats) -> Floats:
    """How far points (..., 8, 2) lie from where they were expected, leg lengths (...); one wild point cannot outweigh the rest."""
    apart = found - expected
    return np.asarray(np.minimum(np.hypot(apart[..., 0], apart[..., 1]), 0.3).sum(-1))
