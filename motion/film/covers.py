"""What is put over people in a picture before it is shown: a disc over a head, a block over somebody who is not to be seen at all."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from motion.base.types import Floats, Landmarks
from motion.review.corrections import HEAD, Masks, heights_px
from motion.review.settings import SETTINGS

Image = NDArray[np.uint8]
Colour = tuple[int, int, int]
#: x, y and radius of a head, in pixels.
Place = tuple[float, float, float]
EARS = [7, 8]
#: Limbs as pairs of the 33 landmarks with a width in body heights that covers clothes, and the trunk's corners.
LIMBS = (
    (11, 13, 0.08), (13, 15, 0.07), (15, 19, 0.07), (12, 14, 0.08), (14, 16, 0.07), (16, 20, 0.07), (23, 25, 0.12), (25, 27, 0.1),
    (24, 26, 0.12), (26, 28, 0.1), (27, 31, 0.07), (28, 32, 0.07), (29, 31, 0.07), (30, 32, 0.07), (11, 12, 0.1), (23, 24, 0.12),
)  # fmt: skip
TRUNK = (11, 12, 24, 23)

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
        # From the side a face is all in front; the ears tell where the middle of the head is.
        self.middle_px[:, 0] = face[seen][:, EARS, 0].mean(axis=1)
        reach = np.linalg.norm(face[seen] - self.middle_px[:, None], axis=2).max(axis=1)
        tall = heights_px(points_px[seen])
        # Of whom only the face is known: ears lie 0.045 of the height from the middle of the face.
        by_height = np.where(np.isfinite(tall), SETTINGS.desk.head_cover_share * tall, 2.2 * reach)
        self.radius_px = np.maximum(by_height, 1.6 * reach)
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


def boxes_over(landmarks: Landmarks, ids: Collection[int]) -> Masks:
    """Boxes over the whole bodies of these dancers, as `cover_whole` takes them; held where they were first and last seen."""
    boxes, margin = [], SETTINGS.desk.mask_margin
    for p in np.flatnonzero(np.isin(landmarks.ids, list(ids))):
        points = landmarks.image_px[:, p]
        seen = np.isfinite(points).all(axis=(1, 2))
        if not seen.any():
            continue
        tall = float(np.median(heights_px(points[seen])))
        tight = np.concatenate([points[seen].min(1) - margin * tall, points[seen].max(1) + margin * tall], axis=1)
        box = np.stack([np.interp(landmarks.times_s, landmarks.times_s[seen], tight[:, k]) for k in range(4)], axis=1)
        # Unseen for a moment, somebody may be anywhere near: half a body height wider in every second of not knowing.
        gap_s = np.abs(landmarks.times_s[:, None] - landmarks.times_s[seen][None]).min(axis=1)
        boxes.append(box + np.array([-1.0, -1.0, 1.0, 1.0]) * (np.minimum(gap_s, 1.0) * 0.5 * tall)[:, None])
    if not boxes:
        return Masks()
    return Masks(landmarks.times_s, np.stack(boxes, axis=1), np.zeros((len(boxes), 3)))


def body_shape(size_px: tuple[int, int], points_px: Floats, grow_px: float) -> Image:
    """Where a body is in a picture of (wide, high) pixels: (H, W), 255 on it and as far as grow_px around it, 0 elsewhere.

    points_px (33, 2), in that picture's pixels; all 0 where a point is missing.
    """
    import cv2

    shape = np.zeros((size_px[1], size_px[0]), np.uint8)
    if not np.isfinite(points_px).all():
        return shape
    tall = float(heights_px(points_px))
    dots = [(int(x), int(y)) for x, y in np.clip(points_px, -8000, 8000)]
    for a, b, width in LIMBS:
        cv2.line(shape, dots[a], dots[b], 255, max(1, round(width * tall + 2 * grow_px)), cv2.LINE_AA)
    cv2.fillPoly(shape, [np.array([dots[k] for k in TRUNK])], 255)
    face = points_px[HEAD].mean(axis=0)
    cv2.circle(shape, (round(face[0]), round(face[1] - 0.02 * tall)), max(1, round(0.1 * tall + grow_px)), 255, -1, cv2.LINE_AA)
    return shape


def write(image: Image, text: str, middle: tuple[float, float], size_px: float, colour: Colour) -> None:
    """Text with the middle of its letters at `middle`, drawn into the image (H, W, 3)."""
    import cv2

    font, size = cv2.FontFace("sans"), max(8, round(size_px))
    left, top, wide, high = cv2.getTextSize((0, 0), text, (0, 0), font, size, 700)
    origin = (round(middle[0] - wide / 2 - left), round(middle[1] - high / 2 - top))
    cv2.putText(image, text, origin, colour, font, size, 700)
