"""What is put over people in a picture before it is shown: a disc over a head, a block over somebody who is not to be seen at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.corrections import HEAD, Masks, heights_px
from motion.data import Floats, Landmarks
from motion.settings import SETTINGS

Image = NDArray[np.uint8]
Colour = tuple[int, int, int]
#: x, y and radius of a head, in pixels.
Place = tuple[float, float, float]

PLATE: Colour = (32, 36, 46)
LIGHT: Colour = (250, 248, 242)
COVER: Colour = (214, 209, 198)


class Head:
    """Where one person's head is at any time, and how large a disc covers it; nowhere long before and after it was seen.

    number: the dancer's, for whoever draws it; times_s (F,); points_px (F, 33, 2), NaN where not seen.
    """

    def __init__(self, number: int, times_s: Floats, points_px: Floats) -> None:
        self.number = number
        face = points_px[:, HEAD]
        seen = np.isfinite(face).all(axis=(1, 2))
        self.times_s = times_s[seen]
        self.middle_px = face[seen].mean(axis=1)
        reach = np.linalg.norm(face[seen] - self.middle_px[:, None], axis=2).max(axis=1)
        tall = np.nan_to_num(heights_px(points_px[seen]))
        self.radius_px = np.maximum(SETTINGS.desk.head_cover_share * tall, 1.6 * reach)
        # The face sits low in the head: hair and hat are above it.
        self.middle_px[:, 1] -= 0.25 * self.radius_px

    def at(self, time_s: float) -> Place | None:
        """x, y and radius in pixels, or None."""
        hold = SETTINGS.desk.head_hold_s
        if not len(self.times_s) or not self.times_s[0] - hold <= time_s <= self.times_s[-1] + hold:
            return None
        x, y = (float(np.interp(time_s, self.times_s, self.middle_px[:, k])) for k in (0, 1))
        gap = float(np.min(np.abs(self.times_s - time_s)))
        # Unseen for a moment, the head may be anywhere near: the disc grows by half its size in every second of not knowing.
        return x, y, float(np.interp(time_s, self.times_s, self.radius_px)) * (1 + 0.5 * gap)


def with_bystanders(landmarks: Landmarks, faces_px: Floats | None) -> Landmarks:
    """The landmarks and, after them, people of whom only the faces (F, M, 11, 2) were kept, so that their heads can be covered too."""
    if faces_px is None or not faces_px.shape[1]:
        return landmarks
    more = np.full((len(faces_px), faces_px.shape[1], *landmarks.image_px.shape[2:]), np.nan)
    more[:, :, HEAD] = faces_px
    image = np.concatenate([landmarks.image_px, more], axis=1)
    visibility = np.concatenate([landmarks.visibility, np.zeros(more.shape[:3])], axis=1)
    return Landmarks(landmarks.times_s, np.arange(1, image.shape[1] + 1), image, visibility)


def cover_head(image: Image, place: Place, fill: Colour = COVER, edge: Colour = PLATE) -> None:
    """A plain disc over a head, drawn into the image (H, W, 3)."""
    import cv2

    middle, radius = (round(place[0]), round(place[1])), round(place[2])
    cv2.circle(image, middle, radius, fill, -1, cv2.LINE_AA)
    cv2.circle(image, middle, radius, edge, max(1, round(radius / 14)), cv2.LINE_AA)


def cover_whole(image: Image, masks: Masks, time_s: float) -> None:
    """A plain block over everybody who is not to be seen, drawn into the image (H, W, 3) of that moment."""
    high, wide = image.shape[:2]
    for left, top, right, bottom in masks.at(time_s):
        rows = slice(max(0, int(top)), min(high, int(np.ceil(bottom))))
        image[rows, max(0, int(left)) : min(wide, int(np.ceil(right)))] = COVER


def write(image: Image, text: str, middle: tuple[float, float], size_px: float, colour: Colour) -> None:
    """Text with the middle of its letters at `middle`, drawn into the image (H, W, 3)."""
    import cv2

    font, size = cv2.FontFace("sans"), max(8, round(size_px))
    left, top, wide, high = cv2.getTextSize((0, 0), text, (0, 0), font, size, 700)
    origin = (round(middle[0] - wide / 2 - left), round(middle[1] - high / 2 - top))
    cv2.putText(image, text, origin, colour, font, size, 700)
