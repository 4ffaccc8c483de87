"""Hard cuts in an edited film: where one picture shows something else than the one before, and what follows stays so.

What is compared is structure, not light: in every field of a small picture, how well what is in it goes with what was in it before
(correlation), once slow changes of brightness are taken out. A lamp that flares or goes off leaves structure as it is; a dancer who
fills the middle and jumps changes the fields there and no others. A knock or a swing of the phone moves all of it: a picture that fits
the one before once it is shifted back is no cut either.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.types import Picture
from motion.clip.settings import ClipSettings

Grey = NDArray[np.float32]

HIGH, WIDE = 96, 128  # px, the small picture
FIELD = 16  # px of it, side of a field in which structure is compared; fields lie half a field apart
SLOW = 6.0  # px of it, standard deviation of the blur that is taken for light: a lamp's glow is wider, windows and people narrower


@dataclass(frozen=True, eq=False)
class Small:
    """A picture made small: structure (96, 128), levels about the surroundings' own; mean level 0..255."""

    structure: Grey
    level: float

    def blank(self, settings: ClipSettings) -> bool:
        """Is it black, or burnt white, so that nothing can be said of it?"""
        low, high = settings.cut_blank_levels
        return not low < self.level < high


def with_cuts(shown: Iterable[Picture], settings: ClipSettings) -> Iterator[tuple[Picture, bool]]:
    """The pictures in order, each with whether a cut lies just before it.

    A cut changes most fields of the picture, far more than pictures have lately changed from one to the next, and for good: after a
    flash, or somebody who passes close by the camera, the pictures are soon as they were. So each picture is held back for a few.
    Pictures all black or white say nothing: what comes after them is compared with what came before.
    """
    held: deque[tuple[Picture, Small]] = deque()
    before: deque[Small] = deque(maxlen=settings.cut_held)
    lately: deque[float] = deque(maxlen=settings.cut_memory)

    def next_out() -> tuple[Picture, bool]:
        picture, small = held.popleft()
        if small.blank(settings):
            return picture, False
        cut = False
        if before:
            change = changed(before[-1].structure, small.structure, settings)
            least = max(settings.cut_change, settings.cut_times * float(np.median(lately)) if lately else 0.0)
            if change > least and len(lately) >= settings.cut_held:
                after = [small, *(later for _, later in held if not later.blank(settings))]
                cut = all(_another_place(a, b, least, settings) for a in before for b in after)
            if cut:
                before.clear()
            else:
                lately.append(change)
        before.append(small)
        return picture, cut

    for picture in shown:
        held.append((replace(picture, rgb=picture.rgb.copy()), small_picture(picture)))
        if len(held) > settings.cut_held:
            yield next_out()
    while held:
        yield next_out()


def small_picture(picture: Picture) -> Small:
    """The picture made small, without its slow changes of brightness."""
    import cv2

    high, wide = picture.rgb.shape[:2]
    step = max(1, min(high // (2 * HIGH), wide // (2 * WIDE)))  # two points each way for one of the small picture will do
    few = cv2.resize(np.ascontiguousarray(picture.rgb[::step, ::step]), (WIDE, HIGH), interpolation=cv2.INTER_AREA)
    grey = cv2.cvtColor(few, cv2.COLOR_RGB2GRAY).astype(np.float32)
    return Small(np.asarray(grey - cv2.GaussianBlur(grey, (0, 0), SLOW), dtype=np.float32), float(grey.mean()))


def changed(a: Grey, b: Grey, settings: ClipSettings) -> float:
    """How much of what two pictures (H, W) show has changed, 0 nothing to 1 all (and a little above): one minus the correlation, field by
    field, as far as the least changed `cut_fields` of the fields go. 0 where neither picture shows anything."""
    mean_a, mean_b = _fields(a), _fields(b)
    size_a = np.sqrt(np.maximum(_fields(a * a) - mean_a**2, 0.0))
    size_b = np.sqrt(np.maximum(_fields(b * b) - mean_b**2, 0.0))
    both = (_fields(a * b) - mean_a * mean_b) / np.maximum(size_a * size_b, 1e-3)
    some = np.maximum(size_a, size_b) > settings.cut_texture
    return float(np.quantile(1.0 - both[some], settings.cut_fields)) if some.any() else 0.0


def _fields(values: Grey) -> NDArray[Any]:
    """Means of the fields (R, C), half a field apart, none of them over the picture's edge."""
    import cv2

    step = FIELD // 2
    return np.asarray(cv2.boxFilter(values, -1, (FIELD, FIELD))[step : 1 - step : step, step : 1 - step : step])


def _another_place(a: Small, b: Small, least: float, settings: ClipSettings) -> bool:
    """Do two pictures differ, also once one is shifted to lie on the other as well as it can (phase correlation)?"""
    import cv2

    if changed(a.structure, b.structure, settings) <= least:
        return False
    window = cv2.createHanningWindow((WIDE, HIGH), cv2.CV_32F)
    (x, y), _ = cv2.phaseCorrelate(a.structure, b.structure, window)
    x, y = round(x), round(y)
    if abs(x) > settings.cut_shift * WIDE or abs(y) > settings.cut_shift * HIGH:
        return True
    there = b.structure[max(0, y) : HIGH + min(0, y), max(0, x) : WIDE + min(0, x)]
    here = a.structure[max(0, -y) : HIGH + min(0, -y), max(0, -x) : WIDE + min(0, -x)]
    return changed(np.ascontiguousarray(here), np.ascontiguousarray(there), settings) > least
