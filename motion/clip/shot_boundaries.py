"""Hard cuts in an edited film: where one picture shows something else than the one before, and what follows stays so."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from motion.base.types import Floats, Picture
from motion.clip.settings import ClipSettings


def with_cuts(shown: Iterable[Picture], settings: ClipSettings) -> Iterator[tuple[Picture, bool]]:
    """The pictures in order, each with whether a cut lies just before it.

    A cut changes the small picture far more than pictures have lately changed from one to the next, and for good: after a flash, or
    somebody who passes close by the camera, the pictures are soon as they were. So each picture is held back for a few.
    """
    held: deque[tuple[Picture, Floats]] = deque()
    before: deque[Floats] = deque(maxlen=settings.cut_held)
    lately: deque[float] = deque(maxlen=settings.cut_memory)

    def next_out() -> tuple[Picture, bool]:
        picture, small = held.popleft()
        cut = False
        if before:
            change = _apart(before[-1], small)
            least = max(settings.cut_levels, settings.cut_times * float(np.median(lately)) if lately else 0.0)
            after = [small, *(later for _, later in held)]
            cut = len(lately) >= settings.cut_held and all(_apart(a, b) > least for a in before for b in after)
            if not cut:
                lately.append(change)
        before.append(small)
        return picture, cut

    for picture in shown:
        held.append((replace(picture, rgb=picture.rgb.copy()), small_picture(picture)))
        if len(held) > settings.cut_held:
            yield next_out()
    while held:
        yield next_out()


def small_picture(picture: Picture) -> Floats:
    """The picture as means of 12 x 16 fields in three colours, 0..255: (12, 16, 3). Few of the picture's points do for that."""
    high, wide = picture.rgb.shape[:2]
    rows, columns = max(1, high // 96), max(1, wide // 128)
    few = picture.rgb[::rows, ::columns].astype(np.float64)
    few = few[: len(few) // 12 * 12, : few.shape[1] // 16 * 16]
    return np.asarray(few.reshape(12, len(few) // 12, 16, few.shape[1] // 16, 3).mean((1, 3)))


def _apart(a: Floats, b: Floats) -> float:
    """How far two small pictures differ, 0..255: the mean over the fields, a change of all light alike not counted."""
    change = b - a
    return float(np.abs(change - np.median(change, axis=(0, 1))).mean())
