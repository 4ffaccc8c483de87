"""Where are the dancers: overlapping square tiles at several scales and the whole picture, merged to one sighting a person."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from motion.base.types import Floats
from motion.body.pose import Picture
from motion.body.settings import BodySettings

#: Persons in a picture: (points_px (33, 2), visibility (33,)) each.
Look = Callable[[Picture], list[tuple[Floats, Floats]]]

NOSE, SHOULDERS, HIPS, KNEES, ANKLES, HEELS, TOES = 0, [11, 12], [23, 24], [25, 26], [27, 28], [29, 30], [31, 32]


@dataclass(frozen=True)
class Sighting:
    """One person in one picture: points_px (33, 2), visibility (33,)."""

    points_px: Floats
    visibility: Floats

    @property
    def torso(self) -> Floats:
        """Centre of the torso (2,), px."""
        return np.asarray(self.points_px[SHOULDERS + HIPS].mean(0))

    @property
    def torso_px(self) -> float:
        """Length of the torso, mid-shoulder to mid-hip, px."""
        return float(np.hypot(*(self.points_px[SHOULDERS].mean(0) - self.points_px[HIPS].mean(0))))

    @property
    def height_px(self) -> float:
        """Height of the box around all points, px."""
        return float(np.ptp(self.points_px[:, 1]))


def tiles(width: int, height: int, share: float, step: float) -> list[tuple[int, int, int]]:
    """Squares (x, y, side) px of side `share` of the picture's height that cover the picture, a `step` of their side apart."""
    side = min(round(share * height), width, height)

    def starts(length: int) -> list[int]:
        many = max(1, int(np.ceil((length - side) / (side * step))) + 1)
        return [round(x) for x in np.linspace(0, length - side, many)]

    return [(x, y, side) for y in starts(height) for x in starts(width)]


def find_people(
    picture: Picture, look: Look, *, dense: bool, settings: BodySettings, places: Sequence[tuple[float, float, float]] = ()
) -> list[Sighting]:
    """Every person in an RGB picture (H, W, 3), once each, left to right.

    look: finds persons in a cut-out. dense: search the tiles too, else only the whole picture and squares around `places`
    (x, y, size in px).
    """
    height, width = picture.shape[:2]
    found = [Sighting(p, v) for p, v in look(picture)]
    squares = [tile for share in settings.tile_shares if dense for tile in tiles(width, height, share, settings.tile_step)]
    for x, y, size in () if dense else places:
        squares += [(int(max(0, x - r * size)), int(max(0, y - r * size)), int(2 * r * size)) for r in (0.7, 1.1)]
    for x0, y0, side in squares:
        for points, visibility in look(picture[y0 : y0 + side, x0 : x0 + side]):
            found.append(Sighting(points + np.array([x0, y0]), visibility))
    return sorted(merged(found, settings), key=lambda s: float(s.torso[0]))


def merged(found: list[Sighting], settings: BodySettings) -> list[Sighting]:
    """One sighting a person: of those whose torsos lie together the best seen is kept."""
    kept: list[Sighting] = []
    for one in sorted(found, key=lambda s: -float(s.visibility.mean())):
        if one.height_px >= settings.least_height_px and not any(same_person(one, k, settings) for k in kept):
            kept.append(one)
    return kept


def same_person(a: Sighting, b: Sighting, settings: BodySettings) -> bool:
    """Do two sightings lie on one body?"""
    return float(np.hypot(*(a.torso - b.torso))) < settings.same_person_torsos * max(a.torso_px, b.torso_px)


def wholly_inside(points_px: Floats, width: int, height: int) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Are head and feet inside the picture? points_px (..., 33, 2) -> (...) bool; NaN gives False."""
    ends = points_px[..., [NOSE, *ANKLES, *HEELS, *TOES], :]
    with np.errstate(invalid="ignore"):
        inside = (ends >= 0) & (ends < np.array([width, height]))
    return np.asarray(inside.all((-1, -2)))
