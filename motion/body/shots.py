"""An edited film, piece by piece: who of one piece is who of another, where clothes and place tell it, and all pieces as one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from motion.base.geometry import wrapped_deg
from motion.base.types import Floats, Interval, Landmarks
from motion.body.association import unlike_clothes
from motion.body.detection import HIPS
from motion.body.settings import AngleSettings, BodySettings
from motion.body.yaw import view_of


@dataclass(frozen=True, eq=False)
class _Glimpse:
    """Somebody beside a cut: colours (6,), mid-hip (2,) px, height px and view (degrees), over the moment next to it."""

    clothes: Floats
    hips_px: Floats
    tall_px: float
    view_deg: float


def known_again(
    pieces: Sequence[Landmarks], clothes: Sequence[Floats], settings: BodySettings, angles: AngleSettings
) -> tuple[tuple[int, ...], ...]:
    """For the dancers of every piece their numbers, from 1, in the whole film.

    pieces in order of time; clothes, usual colours (P, 6) of each piece's dancers. Somebody keeps the number of the one dancer seen
    before who wears the same colours, if nobody else does and the camera looks from the same side; or who wears them and stands at the
    same place in the picture as large as before. Where that leaves a choice nobody is guessed: a new number is given.
    """
    last: list[_Glimpse] = []
    out = []
    for marks, worn in zip(pieces, clothes, strict=True):
        now = [_glimpse(marks, p, worn[p], angles, settings, first=True) for p in range(len(marks.ids))]
        same = _same(last, now, settings)
        numbers = []
        for p in range(len(now)):
            again = np.flatnonzero(same[:, p])
            then = _glimpse(marks, p, worn[p], angles, settings, first=False)
            if len(again) == 1 and same[again[0]].sum() == 1:
                numbers.append(int(again[0]) + 1)
                last[again[0]] = then
            else:
                last.append(then)
                numbers.append(len(last))
        out.append(tuple(numbers))
    return tuple(out)


def _glimpse(marks: Landmarks, p: int, clothes: Floats, angles: AngleSettings, settings: BodySettings, *, first: bool) -> _Glimpse:
    points = marks.image_px[:, p]
    seen = np.flatnonzero(np.isfinite(points[:, 0, 0]))
    when = marks.times_s[seen]
    near = seen[when <= when[0] + settings.cut_look_s] if first else seen[when >= when[-1] - settings.cut_look_s]
    hips = np.median(points[near][:, HIPS].mean(1), axis=0)
    views = np.radians(view_of(marks, p, settings=angles).view_deg[near])
    view = float(np.degrees(np.angle(np.nanmean(np.exp(1j * views)))))
    return _Glimpse(clothes, hips, float(np.median(np.ptp(points[near][..., 1], axis=1))), view)


def _same(
    before: Sequence[_Glimpse], now: Sequence[_Glimpse], settings: BodySettings
) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Who of those before (N) may surely be who of those now (M), (N, M)."""
    shape = (len(before), len(now))
    unlike, placed, side = np.ones(shape), np.zeros(shape, dtype=np.bool_), np.zeros(shape, dtype=np.bool_)
    for i, a in enumerate(before):
        for j, b in enumerate(now):
            known = np.isfinite(a.clothes).any() and np.isfinite(b.clothes).any()
            unlike[i, j] = unlike_clothes(a.clothes, b.clothes) if known else 1.0
            away = float(np.hypot(*(a.hips_px - b.hips_px))) / max(a.tall_px, b.tall_px)
            grown = max(a.tall_px, b.tall_px) / min(a.tall_px, b.tall_px)
            placed[i, j] = away < settings.cut_place_bodies and grown < settings.cut_size
            side[i, j] = abs(float(wrapped_deg(np.array(a.view_deg - b.view_deg)))) < settings.cut_view_deg
    alike, doubtful = unlike < settings.cut_clothes_alike, unlike < settings.cut_clothes_apart
    alone = (doubtful.sum(0, keepdims=True) == 1) & (doubtful.sum(1, keepdims=True) == 1)
    return np.asarray(alike & (placed | (alone & side)))


def join_shots(
    parts: Sequence[tuple[Landmarks, Floats]], numbers: Sequence[Sequence[int]] | None = None
) -> tuple[Landmarks, Floats]:  # fmt: skip
    """One set of landmarks out of those of several pieces in order of time, and the faces of those left out (F, M, 11, 2) likewise.

    numbers: of every piece's dancers in the whole film, from 1; without them dancers are numbered on. NaN outside a dancer's own pieces.
    """
    if len(parts) == 1:
        return parts[0]
    if numbers is None:
        firsts = np.cumsum([0, *(len(marks.ids) for marks, _ in parts)])
        numbers = [[int(k) + 1 + n for n in range(len(marks.ids))] for k, (marks, _) in zip(firsts, parts, strict=False)]
    times_s = np.concatenate([marks.times_s for marks, _ in parts])
    many = max(max(one) for one in numbers)
    points = np.full((len(times_s), many, *parts[0][0].image_px.shape[2:]), np.nan)
    visible = np.zeros((len(times_s), many, points.shape[2]))
    others = np.full((len(times_s), sum(faces.shape[1] for _, faces in parts), *parts[0][1].shape[2:]), np.nan)
    unsure: list[tuple[Interval, ...]] = [()] * many
    f = m = 0
    for (marks, faces), who in zip(parts, numbers, strict=True):
        rows, columns = slice(f, f + len(marks.times_s)), np.array(who) - 1
        points[rows, columns] = marks.image_px
        visible[rows, columns] = marks.visibility
        others[rows, m : m + faces.shape[1]] = faces
        for p, doubts in zip(columns, marks.unsure, strict=False):
            unsure[p] = (*unsure[p], *doubts)
        f, m = rows.stop, m + faces.shape[1]
    return Landmarks(times_s, np.arange(1, many + 1), points, visible, tuple(unsure)), others


def seen_again(landmarks: Landmarks, cuts_s: Floats) -> int:
    """How many dancers are seen in more than one of the pieces between cuts."""
    piece = np.searchsorted(cuts_s, landmarks.times_s, side="right")
    seen = np.isfinite(landmarks.image_px[:, :, 0, 0])
    return sum(len(np.unique(piece[seen[:, p]])) > 1 for p in range(len(landmarks.ids)))


def shots_of(cuts_s: Floats, end_s: float) -> tuple[Interval, ...]:
    """The stretches between cuts, from 0 to the clip's end."""
    edges = [0.0, *(float(t) for t in cuts_s), end_s]
    return tuple(pairwise(edges))
