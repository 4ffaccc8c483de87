"""Where every dancer is in every picture, hidden stretches bridged by how the whole line moves."""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats, Landmarks, Track
from motion.body.detection import HIPS


def tracks_of(landmarks: Landmarks, labels: tuple[str | None, ...] | None = None) -> tuple[Track, ...]:
    """The tracks of all dancers. Where one was not seen they are taken to keep their place in the line (it stands in `unsure`).

    Height: from the top of the head's landmarks to the lower ankle, times 1.12, which reaches crown and sole.
    """
    points = landmarks.image_px
    hips = points[:, :, HIPS].mean(2)  # (F, P, 2)
    tall = (points[:, :, [27, 28], 1].max(2) - points[:, :, :11, 1].mean(2)) * 1.12
    drift = line_drift(hips, tall)
    out = []
    for p, number in enumerate(landmarks.ids):
        seen = ~np.isnan(hips[:, p, 0])
        when = landmarks.times_s[seen]
        height = np.interp(landmarks.times_s, when, tall[seen, p])
        moved = drift * float(np.median(tall[seen, p]))
        place = hips[:, p] - moved
        pelvis = np.stack([np.interp(landmarks.times_s, when, place[seen, k]) for k in (0, 1)], 1) + moved
        unsure = landmarks.unsure[p] if landmarks.unsure else ()
        out.append(Track(int(number), labels[p] if labels else None, landmarks.times_s, pelvis, height, unsure))
    return tuple(out)


def line_drift(hips_px: Floats, height_px: Floats) -> Floats:
    """How the whole line has moved since the first picture, in body heights (F, 2): the median step of whoever is seen.

    hips_px (F, P, 2), height_px (F, P), NaN where not seen. With one dancer there is no line, and nothing is said: zeros.
    """
    if hips_px.shape[1] < 2 or len(hips_px) < 2:
        return np.zeros((len(hips_px), 2))
    steps = np.diff(hips_px, axis=0) / np.nanmedian(height_px, axis=0)[None, :, None]
    known = np.isfinite(steps[:, :, 0])
    median = np.zeros((len(steps), 2))
    some = known.any(1)
    median[some] = np.nanmedian(steps[some], axis=1)
    return np.concatenate([np.zeros((1, 2)), np.cumsum(median, axis=0)])
