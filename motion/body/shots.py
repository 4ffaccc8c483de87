"""An edited film, piece by piece: dancers of one piece are not those of another, as nothing shows who is who across a cut."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from motion.base.types import Floats, Interval, Landmarks


def join_shots(parts: Sequence[tuple[Landmarks, Floats]]) -> tuple[Landmarks, Floats]:
    """One set of landmarks out of those of several pieces in order of time, dancers numbered on; and the faces of those left out
    (F, M, 11, 2) likewise. NaN outside a dancer's own piece."""
    if len(parts) == 1:
        return parts[0]
    times_s = np.concatenate([marks.times_s for marks, _ in parts])
    many = sum(len(marks.ids) for marks, _ in parts)
    points = np.full((len(times_s), many, *parts[0][0].image_px.shape[2:]), np.nan)
    visible = np.zeros((len(times_s), many, points.shape[2]))
    others = np.full((len(times_s), sum(faces.shape[1] for _, faces in parts), *parts[0][1].shape[2:]), np.nan)
    unsure: list[tuple[Interval, ...]] = []
    f = p = m = 0
    for marks, faces in parts:
        rows = slice(f, f + len(marks.times_s))
        points[rows, p : p + len(marks.ids)] = marks.image_px
        visible[rows, p : p + len(marks.ids)] = marks.visibility
        others[rows, m : m + faces.shape[1]] = faces
        unsure += marks.unsure or [()] * len(marks.ids)
        f, p, m = rows.stop, p + len(marks.ids), m + faces.shape[1]
    return Landmarks(times_s, np.arange(1, many + 1), points, visible, tuple(unsure)), others


def shots_of(cuts_s: Floats, end_s: float) -> tuple[Interval, ...]:
    """The stretches between cuts, from 0 to the clip's end."""
    edges = [0.0, *(float(t) for t in cuts_s), end_s]
    return tuple(pairwise(edges))
