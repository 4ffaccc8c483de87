"""The pose model: 33 landmarks of one dancer from one square region of a picture.

The only file that knows the runtimes of the model's makers. People are found with mediapipe's landmarker on still crops (its
video mode smooths, and so lags); a dancer who is followed is looked at with the landmark network alone on a region that this
tool places itself, at half the time and equal accuracy.

Source of the network's outputs and of the region's rule: V. Bazarevsky et al., "BlazePose: On-device Real-time Body Pose
tracking" (2020): 39 points of which two place the next region; heat maps of a quarter of the input's size refine the points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.types import LANDMARKS, Floats

INPUT_PX = 256
_POINTS = 39
_REGION_CENTRE, _REGION_EDGE = 33, 34  # the two extra points: the body's centre, and a point on the circle around it
_REGION_GROWTH = 1.25  # the model was trained on regions a quarter larger than the body's circle
_HEAT_WINDOW = 7  # heat-map cells around a point that may refine it
_HEAT_LEAST = 0.5  # a heat map that never rises above this says nothing

#: Limbs as pairs of landmarks, with a width in body heights that covers clothes, and the trunk's corners.
_LIMBS = (
    (11, 13, 0.07), (13, 15, 0.06), (12, 14, 0.07), (14, 16, 0.06), (23, 25, 0.11), (25, 27, 0.09), (24, 26, 0.11), (26, 28, 0.09),
    (27, 31, 0.06), (28, 32, 0.06), (29, 31, 0.06), (30, 32, 0.06), (11, 12, 0.09), (23, 24, 0.11), (11, 23, 0.07), (12, 24, 0.07),
)  # fmt: skip
_TRUNK = (11, 12, 24, 23)

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Region:
    """A square of the picture: centre x, y and side in pixels, turned by angle_rad (clockwise as seen)."""

    x: float
    y: float
    side: float
    angle_rad: float = 0.0


@dataclass(frozen=True)
class Pose:
    """One look at one dancer: points_px (33, 2), visibility (33,) 0..1, presence 0..1 and where to look next."""

    points_px: Floats
    visibility: Floats
    presence: float
    following: Region


class LandmarkNetwork:
    """The landmark network of a model bundle, ready to run. network: bytes of the .tflite; threads: processor threads to use."""

    def __init__(self, network: bytes, threads: int) -> None:
        from ai_edge_litert.interpreter import Interpreter

        self._net: Any = Interpreter(model_content=network, num_threads=threads)
        self._net.allocate_tensors()
        self._input = self._net.get_input_details()[0]["index"]
        by_size = {int(np.prod(d["shape"])): d["index"] for d in self._net.get_output_details()}
        self._points, self._presence = by_size[_POINTS * 5], by_size[1]
        self._heat = by_size[(INPUT_PX // 4) ** 2 * _POINTS]

    def look(self, picture: Picture, region: Region, hide: Sequence[Floats] = ()) -> Pose:
        """Landmarks of the dancer in `region` of an RGB picture (H, W, 3).

        hide: landmarks (33, 2) of people who stand in front; they are painted out, else the network reads them instead.
        """
        crop, to_picture = _cut(picture, region)
        if hide:
            crop = painted_out(crop, to_picture, hide)
        self._net.set_tensor(self._input, crop[None].astype(np.float32) / np.float32(255))
        self._net.invoke()
        raw = self._net.get_tensor(self._points).reshape(_POINTS, 5).astype(np.float64)
        presence = float(self._net.get_tensor(self._presence).ravel()[0])
        heat = self._net.get_tensor(self._heat).reshape(INPUT_PX // 4, INPUT_PX // 4, _POINTS)
        points = _refined(raw[:, :2], heat) @ to_picture[:, :2].T + to_picture[:, 2]
        visibility = 1 / (1 + np.exp(-raw[:LANDMARKS, 3]))
        return Pose(points[:LANDMARKS], visibility, presence, _following(points))


def _cut(picture: Picture, region: Region) -> tuple[Picture, Floats]:
    """The region as an INPUT_PX square, and the (2, 3) matrix from its pixels back to the picture's."""
    import cv2

    scale = region.side / INPUT_PX
    c, s = np.cos(region.angle_rad) * scale, np.sin(region.angle_rad) * scale
    half = INPUT_PX / 2
    back = np.array([[c, -s, region.x - c * half + s * half], [s, c, region.y - s * half - c * half]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(picture, back, (INPUT_PX, INPUT_PX), flags=flags), dtype=np.uint8), back


def painted_out(crop: Picture, to_picture: Floats, hide: Sequence[Floats]) -> Picture:
    """The crop with people, given by their landmarks (33, 2) in the picture, covered in the crop's own mean colour.

    to_picture (2, 3): from the crop's pixels to the picture's.
    """
    import cv2

    colour = tuple(int(c) for c in crop.reshape(-1, 3).mean(0))
    back = np.linalg.inv(to_picture[:, :2])
    crop = crop.copy()
    for points in hide:
        at = (points - to_picture[:, 2]) @ back.T
        tall = float(np.ptp(at[:, 1]))
        dots = [(int(x), int(y)) for x, y in np.clip(at, -4000, 4000)]
        for a, b, width in _LIMBS:
            cv2.line(crop, dots[a], dots[b], colour, max(1, int(width * tall)))
        cv2.fillPoly(crop, [np.array([dots[k] for k in _TRUNK])], colour)
        cv2.circle(crop, dots[0], max(1, int(0.09 * tall)), colour, -1)
    return crop


def _refined(points: Floats, heat: NDArray[np.float32]) -> Floats:
    """Points (39, 2) in input pixels, moved to the centre of their heat map's window where it has a clear peak."""
    side, half = heat.shape[0], _HEAT_WINDOW // 2
    out = points.copy()
    cells = np.floor(points / INPUT_PX * side).astype(int)
    for k, (col, row) in enumerate(cells):
        if not (0 <= col < side and 0 <= row < side):
            continue
        r0, r1, c0, c1 = max(0, row - half), min(side, row + half + 1), max(0, col - half), min(side, col + half + 1)
        window = 1 / (1 + np.exp(-heat[r0:r1, c0:c1, k].astype(np.float64)))
        total = window.sum()
        if window.max() >= _HEAT_LEAST and total > 0:
            out[k, 0] = (window.sum(0) @ np.arange(c0, c1)) / total / side * INPUT_PX
            out[k, 1] = (window.sum(1) @ np.arange(r0, r1)) / total / side * INPUT_PX
    return out


def _following(points: Floats) -> Region:
    """Where the model says to look next, from its two region points."""
    centre, edge = points[_REGION_CENTRE], points[_REGION_EDGE]
    across = edge - centre
    angle = float(np.arctan2(across[0], -across[1]))
    return Region(float(centre[0]), float(centre[1]), float(2 * np.hypot(*across) * _REGION_GROWTH), angle)


class PersonFinder:
    """mediapipe's landmarker on still pictures. bundle: path of the model's .task file; most: persons per picture."""

    def __init__(self, bundle: str, most: int) -> None:
        import mediapipe as mp
        from mediapipe.tasks import python as tasks
        from mediapipe.tasks.python import vision

        self._mp = mp
        options = vision.PoseLandmarkerOptions(
            base_options=tasks.BaseOptions(model_asset_path=bundle), running_mode=vision.RunningMode.IMAGE, num_poses=most
        )
        self._landmarker: Any = vision.PoseLandmarker.create_from_options(options)

    def persons(self, picture: Picture) -> list[tuple[Floats, Floats]]:
        """(points_px (33, 2), visibility (33,)) of every person found in an RGB picture."""
        image = self._mp.Image(image_format=self._mp.ImageFormat.SRGB, data=np.ascontiguousarray(picture))
        size = np.array([picture.shape[1], picture.shape[0]], dtype=np.float64)
        found = self._landmarker.detect(image).pose_landmarks
        return [
            (np.array([(p.x, p.y) for p in one]) * size, np.array([p.visibility for p in one], dtype=np.float64)) for one in found
        ]

    def close(self) -> None:
        """Release the model."""
        self._landmarker.close()
