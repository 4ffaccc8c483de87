"""One shot of a film while it is watched: its dancers followed, and the camera."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.camera import CameraPath
from motion.base.types import Floats, Landmarks, NotMeasured
from motion.body.detection import Look
from motion.body.tracking import LookAt, Tracker
from motion.body.tracking_state import last_time_s, packed, unpacked
from motion.clip.camera_motion import CameraMotion, settled
from motion.review.settings import Settings

_CAMERA = "camera_"  # prefix of the camera's arrays in the notes of a review that is under way
_PARTS = ("placed", "apart", "hints")


class Shot:
    """What is known of one shot. look, look_at: as the Tracker takes them."""

    def __init__(self, look: Look, look_at: LookAt, settings: Settings) -> None:
        self._settings = settings.camera
        self._dancers = Tracker(look, look_at, settings.body)
        self._camera = CameraMotion(settings.camera)
        self._resumed_s: float | None = None

    def feed(self, time_s: float, rgb: NDArray[np.uint8]) -> None:
        """Look at the next picture, RGB (H, W, 3). After `resume`, the last picture looked at before comes once more."""
        margin = self._settings.body_margin
        if self._resumed_s is not None and time_s <= self._resumed_s:
            self._camera.rekey(rgb, self._dancers.boxes_px(margin))
            return
        self._camera.follow(time_s, rgb, self._dancers.boxes_px(margin))
        self._dancers.feed(time_s, rgb, self._camera.step())
        self._camera.settle(self._dancers.boxes_px(margin))

    def finish(self, size_px: tuple[int, int]) -> tuple[Landmarks | NotMeasured, CameraPath | None, Floats]:
        """Everybody's landmarks, or why there is nobody; how the camera moved, None where it stood still; and clothes' colours (P, 6)."""
        path = settled(self._camera.path(), self._camera.hints_px(), size_px, self._settings)
        marks, clothes = self._dancers.finish_with_clothes(*size_px)
        return marks, path, clothes

    def packed(self) -> dict[str, NDArray[Any]]:
        """All that is known, in arrays: points and numbers, no pictures."""
        camera = {_CAMERA + name: np.array(getattr(self._camera, name), dtype=np.float64) for name in _PARTS}
        return packed(self._dancers) | camera

    def resume(self, arrays: Mapping[str, NDArray[Any]]) -> float:
        """Take up what `packed` gave; the time of the picture to go on from."""
        unpacked(arrays, self._dancers)
        times_s = arrays["times_s"]
        nothing = {_CAMERA + name: np.full((len(times_s), 4) if name == "placed" else len(times_s), np.nan) for name in _PARTS}
        camera = nothing | dict(arrays)  # notes of an earlier version say nothing of the camera
        self._camera.resume(times_s, *(camera[_CAMERA + name] for name in _PARTS))
        self._resumed_s = last_time_s(arrays)
        return self._resumed_s
