"""How a camera moved while it filmed: a type that passes from the pictures to whatever is measured in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.sealed import Floats, Sealed


@dataclass(frozen=True, eq=False)
class CameraPath(Sealed):
    """Where the pixels of every picture lie in the first picture of its shot: shifted, zoomed and turned (a similarity).

    times_s (F,): the pictures' times, rising. placed (F, 4): a, b, x, y, so that (u, v) px of that picture lie at
    (a u - b v + x, b u + a v + y) px of the shot's first; NaN where that could not be found out. apart_px (F,): how far still
    things lie from there as a rule (68 of 100 nearer), NaN likewise: walls and floor at other distances move otherwise.
    """

    times_s: Floats
    placed: Floats
    apart_px: Floats

    def _check(self) -> None:
        f = len(self.times_s)
        need(self.placed.shape == (f, 4), f"placed has shape {(f, 4)}", self.placed.shape)
        need(self.apart_px.shape == (f,), f"apart_px has shape {(f,)}", self.apart_px.shape)
        need(bool(np.all(np.diff(self.times_s) > 0)), "times_s rises strictly", "it does not")

    @property
    def known(self) -> NDArray[np.bool_]:
        """In which pictures it could be found out (F,)."""
        return np.asarray(np.isfinite(self.placed).all(1))

    def steadied(self, points_px: Floats) -> Floats:
        """Points (F, ..., 2) px of the pictures as they lie in the shot's first picture; NaN where that is not known."""
        a, b, x, y = (self.placed[:, k].reshape(-1, *([1] * (points_px.ndim - 2))) for k in range(4))
        u, v = points_px[..., 0], points_px[..., 1]
        return np.stack([a * u - b * v + x, b * u + a * v + y], axis=-1)

    def moved_back(self, points_px: Floats) -> Floats:
        """What `steadied` took off, put on again."""
        a, b, x, y = (self.placed[:, k].reshape(-1, *([1] * (points_px.ndim - 2))) for k in range(4))
        u, v = points_px[..., 0] - x, points_px[..., 1] - y
        size = a**2 + b**2
        return np.stack([(a * u + b * v) / size, (a * v - b * u) / size], axis=-1)

    def shifts_px(self, size_px: tuple[int, int]) -> Floats:
        """How far each picture is moved against the shot's first (F,): the largest of four points midway between middle and corners."""
        corners = np.array([[0.25, 0.25], [0.75, 0.25], [0.25, 0.75], [0.75, 0.75]]) * np.array(size_px)
        there = np.broadcast_to(corners, (len(self.times_s), 4, 2))
        off = self.steadied(there) - there
        return cast(Floats, np.hypot(off[..., 0], off[..., 1]).max(1))


def joined_paths(parts: list[CameraPath]) -> CameraPath:
    """The paths of several shots, one after the other."""
    return CameraPath(*(np.concatenate([getattr(one, name) for one in parts]) for name in ("times_s", "placed", "apart_px")))
