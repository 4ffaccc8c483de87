"""A made hall with windows, posters and floor boards, and what a camera sees of it: for tests that need pictures and no clip."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray


def hall(seed: int = 7) -> NDArray[np.uint8]:
    """A hall 720 x 960 with windows, posters and floor boards, wider than the camera sees."""
    chance = np.random.default_rng(seed)
    out = np.full((720, 960, 3), chance.uniform(90, 150, 3), np.uint8)
    for _ in range(60):
        x, y, wide, high = (int(v) for v in chance.uniform((0, 0, 20, 20), (960, 430, 110, 120)))
        cv2.rectangle(out, (x, y), (x + wide, y + high), tuple(int(v) for v in chance.uniform(30, 220, 3)), -1)
    wide, first = (int(v) for v in chance.uniform((40, 0), (90, 40)))
    for x in range(first - 900, 1900, wide):
        cv2.line(out, (480 + (x - 480) // 3, 460), (x, 720), (60, 40, 30), 3)
    return out


def filmed(place: NDArray[np.uint8], x: float = 0.0, y: float = 0.0, zoom: float = 1.0, yaw: float = 0.0) -> NDArray[np.uint8]:
    """What a camera sees of a hall, 240 x 320: moved by x, y px of its picture, nearer by `zoom`, from further to one side by `yaw`."""
    half, across = np.array([[-320, -240], [320, -240], [320, 240], [-320, 240]]) / zoom, 1.0 + yaw
    corners = np.array([480 + 2 * x, 400 + 2 * y]) + half * np.array([[1, 1], [1, across], [1, across], [1, 1]])
    seen = cv2.getPerspectiveTransform(corners.astype(np.float32), np.array([[0, 0], [320, 0], [320, 240], [0, 240]], np.float32))
    return np.asarray(cv2.warpPerspective(place, seen, (320, 240), borderMode=cv2.BORDER_REFLECT), dtype=np.uint8)


def window(place: NDArray[np.uint8], seen: NDArray[np.float64], size: tuple[int, int] = (480, 360)) -> NDArray[np.uint8]:
    """What a window of `size` shows of a hall, seen (2, 3): from the hall's pixels to the window's."""
    return np.asarray(cv2.warpAffine(place, seen, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT), dtype=np.uint8)


def moved(x: float = 0.0, y: float = 0.0, zoom: float = 1.0, turn_deg: float = 0.0) -> NDArray[np.float64]:
    """A window (2, 3) on the hall's middle, moved by x, y px, zoomed and turned about its own middle."""
    out = np.asarray(cv2.getRotationMatrix2D((480, 380), turn_deg, zoom), dtype=np.float64)
    out[:, 2] += np.array([240 - 480 - x, 180 - 380 - y])
    return out
