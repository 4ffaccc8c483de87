"""The floor under the dancers: where a foot stands, in the dancer's own frame, from one camera that stands about level.

A body looks shorter the further away it stands, and its feet stand higher in the picture: the line through both gives the horizon,
and with it every point of the floor up to one scale (Hartley & Zisserman, Multiple View Geometry, ch. 8). The focal length is not
known; a phone's usual wide view is taken, which only stretches depth by a constant.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from motion.base.types import Candidates, Floats, Landmarks, Sealed
from motion.body.settings import BodySettings

_FEET = {False: [27, 29, 31], True: [28, 30, 32]}  # ankle, heel, toe


@dataclass(frozen=True, eq=False)
class Floor(Sealed):
    """horizon_px: picture row of the horizon; scale (P,): pixels of body height per pixel below the horizon, each dancer; focal_px;
    middle_px: column that the camera faces."""

    horizon_px: float
    scale: Floats
    focal_px: float
    middle_px: float

    def at(self, p: int, points_px: Floats) -> Floats:
        """Floor points (N, 2) of dancer index p in body heights, x to the picture's right, z away, from points (N, 2) px."""
        below = np.maximum(points_px[:, 1] - self.horizon_px, 1.0)
        tall = below * self.scale[p]  # height of the body as it would look standing there
        return np.stack([(points_px[:, 0] - self.middle_px) / tall, self.focal_px / tall], 1)


def floor_of(landmarks: Landmarks, size_px: tuple[int, int], settings: BodySettings) -> Floor:
    """The floor from everyone's feet and heights; a level camera is assumed where nobody comes nearer or goes further."""
    width, height = size_px
    focal, level = settings.usual_focal * max(width, height), height / 2
    feet = landmarks.image_px[:, :, [29, 30, 31, 32], 1].max(2)
    tall = (landmarks.image_px[:, :, [27, 28], 1].max(2) - landmarks.image_px[:, :, :11, 1].mean(2)) * 1.12
    good = np.isfinite(tall) & np.isfinite(feet)

    def misfit(horizon: float) -> float:  # a body's height grows in proportion to how far its feet lie below the horizon
        total = 0.0
        for p in range(tall.shape[1]):
            y, h = feet[good[:, p], p] - horizon, tall[good[:, p], p]
            if len(y) < 10 or (y <= 5).any():
                return np.inf if len(y) >= 10 else 0.0
            total += float(np.median(np.abs(h - np.median(h / y) * y) / h))
        return total + settings.level_worth * abs(horizon - level) / height

    tries = level + np.linspace(-0.35, 0.35, 71) * height
    horizon = float(tries[int(np.argmin([misfit(t) for t in tries]))])
    scale = np.array(
        [
            np.median(tall[good[:, p], p] / np.maximum(feet[good[:, p], p] - horizon, 1.0)) if good[:, p].any() else 1.0
            for p in range(tall.shape[1])
        ]
    )
    return Floor(horizon, scale, focal, width / 2)


def placed(found: Candidates, floor: Floor, p: int, landmarks: Landmarks, view_deg: Floats, settings: BodySettings) -> Candidates:
    """The candidates of dancer index p with their places: where each foot came to rest against the other foot, to the dancer's own
    right and forward, in leg lengths (a leg is taken as half a body height); NaN where it could not be seen.

    view_deg (F,) as in yaw.py, at the landmarks' pictures.
    """
    out = np.full((len(found.times_s), 2), np.nan)
    for n, (t, right) in enumerate(zip(found.times_s, found.right, strict=True)):
        first, past = np.searchsorted(landmarks.times_s, t), np.searchsorted(landmarks.times_s, t + settings.rest_look_s, "right")
        points, views = landmarks.image_px[first:past, p], view_deg[first:past]
        seen = np.isfinite(points[:, 0, 0]) & np.isfinite(views)
        if not seen.any():
            continue
        own, other = np.median(points[seen][:, [_FEET[bool(right)], _FEET[not right]]].mean(2), axis=0)
        step = floor.at(p, own[None])[0] - floor.at(p, other[None])[0]
        sight = float(np.arctan2(own[0] - floor.middle_px, floor.focal_px))
        facing = float(np.angle(np.exp(1j * np.radians(views[seen])).mean())) - sight
        out[n] = 2 * step @ np.array([-np.cos(facing), -np.sin(facing)]), 2 * step @ np.array([np.sin(facing), -np.cos(facing)])
    return replace(found, place=out)
