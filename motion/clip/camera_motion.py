"""How the camera moves, from what stands still in the picture: corners of walls and floor, followed by optical flow with people left out.

Every picture is compared with a key picture, not with the one before, so that errors do not add up; a new key is taken only when too
little of the old one is left in sight, and an older key is taken up again when the camera comes back to it. Between a picture and its
key the still things are shifted, zoomed and turned alike (a similarity), found so that what moves by itself has no say (RANSAC, Fischler
and Bolles 1981; flow: Lucas and Kanade 1981 on pyramids, corners: Shi and Tomasi 1994). Where too few still things are seen, or too
near to each other, nothing is said of that picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.camera import CameraPath
from motion.base.signals import gaps_filled, running_median
from motion.base.types import Floats
from motion.clip.settings import CameraSettings

Grey = NDArray[np.uint8]
Rows = NDArray[np.bool_]
_LOG = np.round(255 * np.log1p(np.arange(256) / 8) / np.log1p(255 / 8)).astype(
    np.uint8
)  # levels below 8 of 255 are the film's noise
_SLOW = 31  # small px, side of the surroundings: windows and posters are smaller, a lamp's glow is wider
_STILL = np.array([1.0, 0.0, 0.0, 0.0])  # a similarity a, b, x, y that leaves everything where it is


@dataclass(eq=False)
class _Key:
    """A key picture: its grey picture, corners (N, 2) px of it, where its pixels lie in the shot's first picture, and which share of the
    corners was fitted in the picture after it: noise that looked like corners goes at once."""

    grey: Grey
    corners: Floats
    placed: Floats
    lasting: float | None = None


class CameraMotion:
    """Follows the camera through the pictures of one shot, which are handed in one by one.

    For every picture `follow`, with where people were in the picture before, then `settle`, with where they are in this one. Boxes
    are (N, 4): left, top, right, bottom in px, widened enough to hold all of a body and its shadow.
    """

    def __init__(self, settings: CameraSettings) -> None:
        self._settings = settings
        self._keys: list[_Key] = []
        self._at: _Key | None = None
        self._last = _STILL  # from the key's pixels to the last picture's
        self._scale = 1.0
        self._grey: Grey | None = None
        self._worn = False
        self._known_s = 0.0
        self.times_s: list[float] = []
        self.placed: list[Floats] = []  # as in CameraPath, in px of the small picture
        self.apart: list[float] = []
        self.hints: list[float] = []  # how far a few still things seem to have moved, where too few were seen to say more

    def follow(self, time_s: float, rgb: NDArray[np.uint8], boxes_px: Floats) -> None:
        """Find where the next picture (H, W, 3) lies."""
        self._scale = min(1.0, self._settings.look_px / max(rgb.shape[:2]))
        self._grey = _small(rgb, self._scale)
        self.times_s.append(time_s)
        if self._at is None:
            self._keep(None if self.placed else (_STILL, 0.0, 1.0), None, np.nan if self.placed else 0.0)
            return
        found, hint, holds = self._against(self._at, self._last, boxes_px * self._scale)
        self._keep(found, self._at, hint)
        if found is None:
            # while some of it holds, people are in the way, and a new key would be of them
            self._worn = self._worn or (time_s - self._known_s > self._settings.lost_s and not holds)
            return
        self._known_s, self._last = time_s, found[0]
        self._at.lasting = self._at.lasting or found[2]
        fewer = self._settings.least_share_still if _shift(found[0], self._middle()) < 1.0 else self._settings.key_share
        self._worn = found[2] < fewer * self._at.lasting or self._far(found[0])

    def settle(self, boxes_px: Floats) -> None:
        """Take a key picture where one is needed.

        After a stretch in which nothing could be told the camera is taken to be where it was before: movement from then on is right,
        where that lies in the hall is not known, and the stretch itself stays unknown.
        """
        if self._grey is None or not (self._at is None or self._worn):
            return
        boxes = boxes_px * self._scale
        here = next((one for one in reversed(self.placed) if np.isfinite(one).all()), _STILL)
        if self._at is not None and self._taken_up_again(here, boxes):
            return
        corners = _corners(self._grey, boxes, self._settings)
        if len(corners) < self._settings.least_points and self._at is not None:
            return
        self._at = _Key(self._grey, corners, here)
        self._keys = [*self._keys, self._at][-self._settings.most_keys :]
        self._last = _STILL
        self._worn = False

    @property
    def keys(self) -> int:
        """How many key pictures were taken."""
        return len(self._keys)

    def path(self) -> CameraPath:
        """What was found so far, in px of the clip's own pictures."""
        placed = np.array(self.placed).reshape(-1, 4) / np.array([1.0, 1.0, self._scale, self._scale])
        return CameraPath(np.array(self.times_s), placed, np.array(self.apart) / self._scale)

    def step(self) -> Floats | None:
        """How the pixels of the picture before lie in the last one (a, b, x, y as in CameraPath), None where it moved by too little to
        matter to whoever follows people, or that is not known."""
        if len(self.placed) < 2 or self._grey is None:
            return None
        moved = _after(self.placed[-2], _inverse(self.placed[-1]))
        least = self._settings.step_share * self._grey.shape[1]
        return moved / np.array([1.0, 1.0, self._scale, self._scale]) if _shift(moved, self._middle()) > least else None

    def hints_px(self) -> Floats:
        """How far a few still things seem to have moved since their key picture (F,), NaN where not even that was seen."""
        return np.array(self.hints) / self._scale

    def resume(self, times_s: Floats, placed: Floats, apart: Floats, hints: Floats) -> None:
        """Go on after pictures followed earlier: as they stood in `times_s`, `placed`, `apart` and `hints`."""
        self.times_s, self.placed = times_s.tolist(), list(placed)
        self.apart, self.hints = apart.tolist(), hints.tolist()

    def rekey(self, rgb: NDArray[np.uint8], boxes_px: Floats) -> None:
        """The last picture followed earlier, shown again: what comes next is compared with it."""
        self._scale = min(1.0, self._settings.look_px / max(rgb.shape[:2]))
        self._grey = _small(rgb, self._scale)
        self.settle(boxes_px)

    def _keep(self, found: tuple[Floats, float, float] | None, key: _Key | None, hint: float) -> None:
        if found is None:
            self.placed.append(np.full(4, np.nan))
            self.apart.append(np.nan)
        else:
            self.placed.append(_STILL if key is None else _after(_inverse(found[0]), key.placed))
            self.apart.append(found[1])
        self.hints.append(hint)

    def _middle(self) -> Floats:
        high, wide = self._grey.shape  # type: ignore[union-attr]
        return np.array([[wide / 2, high / 2]])

    def _far(self, moved: Floats) -> bool:
        s, zoom = self._settings, np.hypot(moved[0], moved[1])
        return bool(
            _shift(moved, self._middle()) > s.key_shift * 2 * self._middle()[0, 0]
            or not 1 / s.key_zoom < zoom < s.key_zoom
            or abs(np.degrees(np.arctan2(moved[1], moved[0]))) > s.key_turn_deg
        )

    def _taken_up_again(self, here: Floats, boxes: Floats) -> bool:
        """Does an older key fit this picture better than a new one would? The oldest first: fewest links to the shot's first picture."""
        for key in self._keys:
            if key is self._at:
                continue
            guess = _after(key.placed, _inverse(here))
            if self._far(guess):
                continue
            found, _, _ = self._against(key, guess, boxes)
            if found is not None and found[2] >= self._settings.key_again_share * (key.lasting or 1.0):
                self._at, self._last, self._worn = key, found[0], False
                if np.isfinite(self.placed[-1]).all():
                    self.placed[-1] = _after(_inverse(found[0]), key.placed)
                return True
        return False

    def _against(self, key: _Key, guess: Floats, boxes: Floats) -> tuple[tuple[Floats, float, float] | None, float, bool]:
        """The similarity from a key picture to this one, how far still things lie from it as a rule (px of the small picture) and
        which share of the key's corners fits; None where that cannot be told. Then a hint of how far things moved, and whether some of
        them are where they are expected."""
        s = self._settings
        assert self._grey is not None
        if len(key.corners) < s.least_hints:
            return None, np.nan, False
        ends, use = self._flow(key.grey, self._grey, key.corners, _moved(guess, key.corners))
        use &= ~_within(ends, boxes)
        found = _common(key.corners[use], ends[use], s)
        if found is None or (_off(found, key.corners[use], ends[use]) < s.fit_px).sum() < s.sound_share * use.sum():
            # some were lost on the way, behind somebody or at the edge, and lie anywhere: they do not find back
            back, there = self._flow(self._grey, key.grey, ends, key.corners)
            use &= there & (np.hypot(*(back - key.corners).T) < s.back_px)
            found = _common(key.corners[use], ends[use], s)
        if use.sum() < s.least_hints:
            return None, np.nan, False
        old, new = key.corners[use], ends[use]
        as_before = _off(guess, old, new) < s.fit_px
        holds = bool(as_before.sum() >= max(s.least_hints, s.least_share_hint * len(old)))
        hint = float(np.hypot(*np.median((new - old)[as_before if holds else slice(None)], axis=0)))
        if use.sum() < s.least_points:
            return None, hint, holds
        tries = [] if found is None else [found]
        # a crowd may move as one: unless nearly all move alike, what has not moved at all goes first, if there is some of it
        asked = [*((one, s.plain_share) for one in tries), (_STILL, s.least_share_still), *((one, s.least_share) for one in tries)]
        for moved, least in [*asked, (guess, s.least_share_as_before)]:
            fits = _off(moved, old, new) < s.fit_px
            if fits.sum() < max(s.least_points, least * len(old)):
                continue
            moved = _fitted(old[fits], new[fits])
            off = _off(moved, old, new)
            if self._unsure_px(old[fits], max(float(np.quantile(off[fits], 0.68)), 0.05)) > s.most_unsure_px:
                continue
            if key.lasting is None:  # noise that looked like a corner, and people who run
                key.corners = key.corners[use][off < s.stray_px]
            return (moved, _apart(off, new[:, 1]), float(fits.sum()) / len(key.corners)), hint, holds
        return None, hint, holds

    def _flow(self, a: Grey, b: Grey, points: Floats, expected: Floats) -> tuple[Floats, Rows]:
        """Where points (N, 2) of one picture lie in another (N, 2), looked for from where they are expected; and which were found."""
        import cv2

        s = self._settings
        ends, there, _ = cv2.calcOpticalFlowPyrLK(
            a, b, points.astype(np.float32), expected.astype(np.float32), winSize=(s.window_px, s.window_px), maxLevel=s.levels,
            criteria=(3, 20, 0.01), flags=cv2.OPTFLOW_USE_INITIAL_FLOW, minEigThreshold=s.flow_least,
        )  # fmt: skip
        out = np.asarray(ends, dtype=np.float64)
        inside = ((out > 1) & (out < np.array(b.shape[::-1]) - 2)).all(1)
        return out, np.asarray((np.asarray(there).ravel() > 0) & inside)

    def _unsure_px(self, points: Floats, apart: float) -> float:
        """Standard error of the similarity at the picture's farthest corner, px: grows where the points lie close together."""
        high, wide = self._grey.shape  # type: ignore[union-attr]
        middle = points.mean(0)
        spread = float(((points - middle) ** 2).sum())
        reach = float(max(np.hypot(x - middle[0], y - middle[1]) for x in (0, wide) for y in (0, high)))
        return apart * float(np.sqrt(self._settings.alike_points * (1 / len(points) + reach**2 / max(spread, 1e-6))))


def settled(path: CameraPath, hints_px: Floats, size_px: tuple[int, int], settings: CameraSettings) -> CameraPath | None:
    """What is taken off the places of one shot: None where the camera stood still, or nothing hints at anything else.

    hints_px (F,), as `CameraMotion.hints_px`. Short gaps are bridged. Where it moved and the movement is not known, or still things lie
    too far from it (they stand at other distances, or bend as the phone's own steadying bends them), pictures are not known (NaN).
    """
    placed = np.where((path.apart_px > settings.most_apart_share * size_px[1])[:, None], np.nan, path.placed)
    placed = gaps_filled(path.times_s, placed, settings.fill_s)
    apart = np.where(np.isfinite(placed).all(1), gaps_filled(path.times_s, path.apart_px, settings.fill_s), np.nan)
    out = CameraPath(path.times_s, placed, apart)
    least = settings.still_share * size_px[0]
    moved = _lasting(path.times_s, path.shifts_px(size_px), settings)
    hinted = _lasting(path.times_s, np.where(out.known, np.nan, hints_px), settings)
    if not (moved > least).any() and not (hinted > settings.hint_times * least).any():
        return None
    return out


def _lasting(times_s: Floats, values: Floats, settings: CameraSettings) -> Floats:
    """The running median of what is known of values (F,) over a moment: single pictures do not count. 0 where nothing is known."""
    seen = np.isfinite(values)
    if seen.sum() < settings.least_moved:
        return np.zeros(1)
    return running_median(times_s[seen], values[seen], settings.moment_s)


def _small(rgb: NDArray[np.uint8], scale: float) -> Grey:
    """The green of the picture, which is nearly its brightness, made small (every second row and column of a large one will do), as a
    logarithm and less its surroundings: a lamp that flares changes little of it."""
    import cv2

    high, wide = rgb.shape[:2]
    step = 2 if 2 * scale < 1 else 1
    few = np.ascontiguousarray(rgb[::step, ::step, 1])
    grey = cv2.LUT(cv2.resize(few, (round(wide * scale), round(high * scale)), interpolation=cv2.INTER_AREA), _LOG)
    about = cv2.addWeighted(grey, 1.0, cv2.boxFilter(grey, -1, (_SLOW, _SLOW)), -1.0, 128.0)
    return np.asarray(cv2.GaussianBlur(about, (5, 5), 1.0))


def _corners(grey: Grey, boxes: Floats, settings: CameraSettings) -> Floats:
    """Corners (N, 2) outside the boxes, the strongest of each part of the picture, so that no corner of the hall has all the say."""
    import cv2

    mask = np.full(grey.shape, 255, np.uint8)
    for left, top, right, bottom in boxes:
        mask[max(0, int(top)) : max(0, int(bottom) + 1), max(0, int(left)) : max(0, int(right) + 1)] = 0
    found = cv2.goodFeaturesToTrack(grey, settings.most_points, settings.corner_quality, settings.corner_apart_px, mask=mask)
    if found is None:
        return np.zeros((0, 2))
    corners = np.asarray(found.reshape(-1, 2), dtype=np.float64)
    plain, side = grey.astype(np.float32), (settings.window_px, settings.window_px)
    spread = np.sqrt(np.maximum(cv2.boxFilter(plain * plain, -1, side) - cv2.boxFilter(plain, -1, side) ** 2, 0.0))
    sizes = np.sort(np.abs(cv2.cornerEigenValsAndVecs(plain, settings.window_px, 3)[..., :2]), axis=2)
    x, y = np.round(corners).astype(int).T
    both_ways = sizes[y, x, 0] > settings.corner_both_ways * sizes[y, x, 1]
    return np.asarray(corners[(spread[y, x] > settings.corner_levels) & both_ways])


def _within(points: NDArray[Any], boxes: Floats) -> Rows:
    """Which points (N, 2) lie in one of the boxes (B, 4)."""
    if not len(boxes):
        return np.zeros(len(points), dtype=np.bool_)
    x, y = points[:, :1], points[:, 1:]
    return np.asarray(((x >= boxes[:, 0]) & (y >= boxes[:, 1]) & (x <= boxes[:, 2]) & (y <= boxes[:, 3])).any(1))


def _common(old: Floats, new: Floats, settings: CameraSettings) -> Floats | None:
    """The similarity that fits most of the points (RANSAC), None where there are too few."""
    import cv2

    if len(old) < settings.least_points:
        return None
    found, _ = cv2.estimateAffinePartial2D(
        old, new, method=cv2.RANSAC, ransacReprojThreshold=settings.fit_px, maxIters=500, confidence=0.995, refineIters=10
    )
    return None if found is None else np.array([found[0, 0], found[1, 0], found[0, 2], found[1, 2]])


def _moved(similarity: Floats, points: Floats) -> Floats:
    a, b, x, y = similarity
    return np.stack([a * points[:, 0] - b * points[:, 1] + x, b * points[:, 0] + a * points[:, 1] + y], 1)


def _off(similarity: Floats, old: Floats, new: Floats) -> Floats:
    """How far points new (N, 2) lie from where the similarity takes points old (N, 2), px (N,)."""
    return np.asarray(np.hypot(*(_moved(similarity, old) - new).T))


def _shift(similarity: Floats, point: Floats) -> float:
    """How far one point (1, 2) is moved."""
    return float(_off(similarity, point, point)[0])


def _apart(off: Floats, rows: Floats) -> float:
    """How far still things lie from the movement as a rule: off (N,) of points at picture rows (N,), in the upper or the lower half of the
    points, whichever fits less well, as walls and floor are. 1.48 medians are what 68 in 100 lie within."""
    upper = rows < np.median(rows)
    return 1.48 * max(float(np.median(off[half])) for half in (upper, ~upper) if half.any())


def _after(first: Floats, then: Floats) -> Floats:
    """One similarity after another."""
    turn = complex(*then[:2])
    size, shift = turn * complex(*first[:2]), turn * complex(*first[2:]) + complex(*then[2:])
    return np.array([size.real, size.imag, shift.real, shift.imag])


def _inverse(similarity: Floats) -> Floats:
    size = 1 / complex(*similarity[:2])
    shift = -size * complex(*similarity[2:])
    return np.array([size.real, size.imag, shift.real, shift.imag])


def _fitted(old: Floats, new: Floats) -> Floats:
    """The similarity that takes points old (N, 2) nearest to new, least squares, twice: far ones count less the second time."""
    z, w, weight = old @ np.array([1, 1j]), new @ np.array([1, 1j]), np.ones(len(old))
    for _ in range(2):
        total = weight.sum()
        from_z, from_w = (weight * z).sum() / total, (weight * w).sum() / total
        size = (weight * np.conj(z - from_z) * (w - from_w)).sum() / (weight * np.abs(z - from_z) ** 2).sum()
        shift = from_w - size * from_z
        off = np.abs(size * z + shift - w)
        weight = 1 / (1 + (off / (2 * np.median(off) + 1e-3)) ** 2)
    return np.array([size.real, size.imag, shift.real, shift.imag])
