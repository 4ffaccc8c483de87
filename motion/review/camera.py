"""How the camera moved, over all shots of a film: joined, stored beside the landmarks, and put into words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.camera import CameraPath, joined_paths
from motion.base.errors import BadStore
from motion.base.types import Clip, Floats
from motion.clip.settings import CameraSettings

_PLACED, _APART = "camera_placed", "camera_apart_px"
_STILL = (1.0, 0.0, 0.0, 0.0)


def joined_cameras(shots: Sequence[tuple[Floats, CameraPath | None]]) -> CameraPath | None:
    """One path for the pictures (F,) of several shots in order of time; None where the camera stood still in all of them."""
    if all(path is None for _, path in shots):
        return None
    still = [CameraPath(t, np.tile(_STILL, (len(t), 1)), np.zeros(len(t))) for t, _ in shots]
    return joined_paths([plain if path is None else path for (_, path), plain in zip(shots, still, strict=True)])


def camera_arrays(camera: CameraPath | None) -> dict[str, NDArray[Any]]:
    """The path as plain arrays, to be stored beside the landmarks, whose pictures it shares; none where the camera stood still."""
    return {} if camera is None else {_PLACED: camera.placed, _APART: camera.apart_px}


def stored_camera(times_s: Floats, arrays: Mapping[str, NDArray[Any]]) -> CameraPath | None:
    """The path as `camera_arrays` stored it. Raises BadStore where it does not fit the landmarks' pictures."""
    if _PLACED not in arrays:
        return None
    try:
        return CameraPath(times_s, arrays[_PLACED], arrays[_APART])
    except (KeyError, TypeError, ValueError) as error:
        raise BadStore("How the phone moved is not whole in landmarks.npz: it is damaged", "Review the clip again") from error


def camera_notes(camera: CameraPath | None, clip: Clip, settings: CameraSettings) -> tuple[str, ...]:
    """What is said of the camera's movement: how far, when, how well it was taken off; and when it could not be."""
    if camera is None:
        return ()
    out = []
    least = settings.still_share * clip.width_px
    moved = camera.shifts_px((clip.width_px, clip.height_px))
    swung = np.flatnonzero(moved > least)
    if len(swung):
        far, off = float(moved[swung].max()), 2 * float(np.median(camera.apart_px[swung]))
        share = 100 * far / clip.width_px
        out.append(
            f"The phone moved: by up to {_pixels(round(far))} ({max(0.1, share):.2g} % of the picture's width) "
            f"{_when(camera.times_s[swung], settings)}. This was taken off, give or take {_pixels(max(1, round(off)))}."
        )
    lost = camera.times_s[~camera.known]
    if len(lost):
        share = len(lost) / len(camera.times_s)
        out.append(
            f"The phone moved, and how far could not be told {_when(lost, settings)}: too little of the room stood still in the picture, "
            "or it moved too fast. No steps are timed there"
            + (", and who danced and who only sat or stood by cannot be told." if share > settings.most_lost else ".")
        )
    if out:
        out.append("Put the phone on a stand: what stands still needs nothing taken off.")
    return tuple(out)


def _pixels(many: int) -> str:
    return "1 pixel" if many == 1 else f"{many} pixels"


def _when(times_s: Floats, settings: CameraSettings) -> str:
    """The stretches in which the times lie, in whole seconds: "from second 4 to 9 and 12 to 15", or from the first to the last."""
    breaks = np.flatnonzero(np.diff(times_s) > settings.apart_s)
    first, last = times_s[np.concatenate([[0], breaks + 1])], times_s[np.concatenate([breaks, [len(times_s) - 1]])]
    if len(first) > settings.most_stretches:
        first, last = first[:1], last[-1:]
        return f"now and again from second {np.floor(first[0]):.0f} to {np.ceil(last[0]):.0f}"
    parts = [f"{np.floor(a):.0f} to {np.ceil(b):.0f}" for a, b in zip(first, last, strict=True)]
    return "from second " + (" and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else parts[0])
