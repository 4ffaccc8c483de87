"""Who is who, put right by hand: dancers exchanged, joined, labelled, left out, or covered whole and no longer kept.

A correction means a dancer by where they stand at a moment, not by number, so that it still holds when a new review numbers them
anew or follows them better. Corrections are worked through in the order in which they were made.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.errors import BadInput
from motion.base.settings import DeskSettings
from motion.base.types import Floats, Interval, Landmarks, Sealed

Kind = Literal["exchange", "join", "label", "own version", "leave out", "hide"]
KINDS: tuple[Kind, ...] = ("exchange", "join", "label", "own version", "leave out", "hide")
HEAD, HIPS, ANKLES = slice(0, 11), [23, 24], [27, 28]


@dataclass(frozen=True)
class Point:
    """A dancer, by the place of the mid-hip at one moment: x_px, y_px at time_s."""

    time_s: float
    x_px: float
    y_px: float


@dataclass(frozen=True)
class Correction:
    """One correction.

    at: the dancer. other: of "exchange", where this same dancer stands on the other side of from_s; of "join", the dancer who is the
    same person. label: of "label". numbers: the dancers' numbers when it was made, for telling it only.
    """

    kind: Kind
    at: Point
    other: Point | None = None
    from_s: float | None = None
    label: str | None = None
    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        need(self.kind in KINDS, f"kind is one of {KINDS}", self.kind)
        need((self.other is not None) == (self.kind in ("exchange", "join")), "other goes with exchange and join", self.other)
        need((self.from_s is not None) == (self.kind == "exchange"), "from_s goes with exchange", self.from_s)
        need((self.label is not None) == (self.kind == "label"), "label goes with label", self.label)
        if self.other is not None and self.from_s is not None:
            low, high = sorted((self.at.time_s, self.other.time_s))
            need(low < self.from_s <= high, "from_s lies between the two points", self.from_s)


@dataclass(frozen=True, eq=False)
class Corrected:
    """landmarks of the dancers who are shown, numbered from 1 from the picture's left; labels, one each; left_out: how many are not;
    missed: corrections that found nobody where they point; own_version: numbers of dancers who dance a version of their own."""

    landmarks: Landmarks
    labels: tuple[str | None, ...]
    left_out: int
    missed: tuple[Correction, ...]
    own_version: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Masks(Sealed):
    """Boxes over people who are not to be shown. times_s (N,); box_px (N, M, 4): left, top, right, bottom, NaN where they are not in
    the picture; points (M, 3): time_s, x_px, y_px of the correction that each came from."""

    times_s: Floats = field(default_factory=lambda: np.zeros(0))
    box_px: Floats = field(default_factory=lambda: np.zeros((0, 0, 4)))
    points: Floats = field(default_factory=lambda: np.zeros((0, 3)))

    def _check(self) -> None:
        n, m = len(self.times_s), len(self.points)
        need(self.box_px.shape == (n, m, 4), f"box_px has shape {(n, m, 4)}", self.box_px.shape)
        need(self.points.shape == (m, 3), f"points has shape {(m, 3)}", self.points.shape)
        need(bool(np.all(np.diff(self.times_s) > 0)), "times_s rises strictly", "it does not")

    def at(self, time_s: float) -> Floats:
        """Boxes (B, 4) at a moment, each around those kept just before and after it; the first and last hold on beyond."""
        boxes = self.kept_at(np.array([time_s]))[0]
        return np.asarray(boxes[np.isfinite(boxes).any(axis=1)])

    def kept_at(self, times_s: Floats) -> Floats:
        """All boxes (T, M, 4) at several moments (T,), NaN where somebody is not in the picture."""
        if not len(self.times_s):
            return np.full((len(times_s), len(self.points), 4), np.nan)
        last = len(self.times_s) - 1
        after = np.searchsorted(self.times_s, times_s)
        exact = (after <= last) & (self.times_s[np.minimum(after, last)] == times_s)
        before = np.where(exact, after, np.maximum(after - 1, 0))
        return _around(self.box_px[before], self.box_px[np.minimum(after, last)])

    def came_from(self, point: Point) -> int | None:
        """Which of the M boxes a correction's point made; None if none."""
        same = np.flatnonzero((self.points == (point.time_s, point.x_px, point.y_px)).all(axis=1))
        return int(same[0]) if len(same) else None


@dataclass(frozen=True, eq=False)
class Hidden:
    """landmarks without the people who are covered; their boxes; corrections without what was said of them; missed as in Corrected."""

    landmarks: Landmarks
    masks: Masks
    corrections: tuple[Correction, ...]
    missed: tuple[Correction, ...]


def label_of(text: str, settings: DeskSettings) -> str:
    """A label as it is kept. Raises BadInput unless it is short and made of letters (of any script), digits, spaces, - and '."""
    label = " ".join(text.split())
    if not label:
        raise BadInput("The label is empty", "Type a few letters, such as a colour or a nickname")
    if len(label) > settings.label_letters:
        raise BadInput(
            f"The label has {len(label)} letters, but at most {settings.label_letters} are kept",
            "Take a shorter one, not a full name",
        )
    strange = next((c for c in label if unicodedata.category(c)[0] not in "LMN" and c not in " -'"), None)
    if strange is not None:
        shown = f"'{strange}'" if strange.isprintable() else "a character that cannot be printed"
        raise BadInput(f"The label holds {shown}", "Use letters, digits and spaces")
    return label


def heights_px(image_px: Floats) -> Floats:
    """Body height as it appears (...), from landmarks (..., 33, 2): head to lower ankle, times 1.12 for crown and sole."""
    return np.asarray((image_px[..., ANKLES, 1].max(-1) - image_px[..., HEAD, 1].mean(-1)) * 1.12)


def told(correction: Correction) -> str:
    """A correction in a few words, with the numbers that dancers had when it was made."""
    who = " and ".join(str(n) for n in correction.numbers) or "?"
    match correction.kind:
        case "exchange":
            return f"dancers {who} exchanged from {correction.from_s:.1f} s on"
        case "join":
            return f"dancers {who} are one and the same"
        case "label":
            return f"dancer {who} is called {correction.label}"
        case "own version":
            return f"dancer {who} dances a version of their own"
        case "leave out":
            return f"dancer {who} left out"
        case _:
            return f"dancer {who} covered for good"


def can_be_undone(corrections: Sequence[Correction]) -> tuple[bool, ...]:
    """Whether each may be taken back: not whom to cover, nor who is who from before that, which the kept landmarks rest on by then."""
    last = _last_hidden(corrections)
    return tuple(c.kind in ("label", "own version", "leave out") or k > last for k, c in enumerate(corrections))


def apply(landmarks: Landmarks, corrections: Sequence[Correction], settings: DeskSettings) -> Corrected:
    """The dancers as corrected, from landmarks out of which `hide` has taken whoever is covered.

    Raises BadInput if nobody would be left.
    """
    people, missed = _people(landmarks), []
    settled = _last_hidden(corrections)
    for k, correction in enumerate(corrections):
        if correction.kind == "hide" or (k < settled and correction.kind in ("exchange", "join")):
            continue
        if not _done(people, landmarks.times_s, k, correction, settings):
            missed.append(correction)
    shown = [one for one in people if not one.left_out]
    if not shown:
        raise BadInput("Nobody would be left in the review", "Leave at least one dancer in, or delete the review")
    if corrections:
        if any(c.kind in ("exchange", "join") for c in corrections):
            shown.sort(key=lambda one: one.first_x_px())
        landmarks = _together(landmarks.times_s, shown)
    own = tuple(number for number, one in enumerate(shown, 1) if one.own_version)
    return Corrected(landmarks, tuple(one.label for one in shown), len(people) - len(shown), tuple(missed), own)


def hide(
    landmarks: Landmarks,
    corrections: Sequence[Correction],
    masks: Masks,
    size_px: tuple[int, int],
    settings: DeskSettings,
    *,
    anew: bool = False,
) -> Hidden:
    """Take whoever is to be covered out of the landmarks, for good, and leave boxes to cover them with.

    masks: boxes kept so far. anew: the landmarks were read from the pictures again, so that those covered before are in them again:
    they are found by their points and by lying where the boxes lie. Who is who from before is worked in, as it stood when the person
    was chosen. Raises BadInput if nobody would be left.
    """
    waiting = [k for k, c in enumerate(corrections) if c.kind == "hide" and (anew or masks.came_from(c.at) is None)]
    if not waiting and not (anew and len(masks.points)):
        return Hidden(landmarks, masks, tuple(corrections), ())
    people, times_s, missed = _people(landmarks), landmarks.times_s, []
    settled = -1 if anew else _last_hidden(corrections[: waiting[0]])
    for k, correction in enumerate(corrections[: waiting[-1] + 1] if waiting else ()):
        if (correction.kind == "hide" and k not in waiting) or (k < settled and correction.kind in ("exchange", "join")):
            continue
        if not _done(people, times_s, k, correction, settings) and correction.kind == "hide":
            missed += [correction] if masks.came_from(correction.at) is None else []
    boxes = [_boxes(one, times_s, size_px, settings) for one in people]
    for m in range(len(masks.points) if anew else 0):
        kept = masks.kept_at(times_s)[:, m]
        for one, box in zip(people, boxes, strict=True):
            if one.hidden_by is None and _alike(one, box, kept) >= settings.same_box:
                one.hidden_by = Point(*masks.points[m])
    for one, box in zip(people, boxes, strict=True):
        if one.hidden_by is not None:
            masks = _with(masks, one.hidden_by, times_s, box)
    left = [one for one in people if one.hidden_by is None]
    if not left:
        raise BadInput("Nobody would be left in the review", "Delete the review instead")
    of_them = {k for one in people if one.hidden_by is not None for k in one.said}
    rest = tuple(c for k, c in enumerate(corrections) if k not in of_them)
    return Hidden(_together(times_s, left), masks, rest, tuple(missed))


class _Person:
    """One person while corrections are worked through: landmarks (F, 33, 2), visibility (F, 33), unsure (F,), and what was said."""

    def __init__(self, image_px: Floats, visibility: Floats, unsure: NDArray[np.bool_]) -> None:
        self.image_px, self.visibility, self.unsure = image_px.copy(), visibility.copy(), unsure
        self.seen = np.isfinite(image_px[:, 0, 0])
        self.label: str | None = None
        self.own_version = False
        self.left_out = False
        self.hidden_by: Point | None = None
        self.said: set[int] = set()

    def hips_px(self) -> Floats:
        """Mid-hip (F, 2)."""
        return np.asarray(self.image_px[:, HIPS].mean(1))

    def first_x_px(self) -> float:
        """Where they stand across the picture at first sight."""
        return float(self.hips_px()[self.seen][0, 0]) if self.seen.any() else np.inf

    def tall_px(self) -> float:
        """Usual height."""
        return float(np.median(heights_px(self.image_px[self.seen]))) if self.seen.any() else 1.0


def _people(landmarks: Landmarks) -> list[_Person]:
    people = []
    for p in range(len(landmarks.ids)):
        unsure = np.zeros(len(landmarks.times_s), dtype=bool)
        for start, end in landmarks.unsure[p] if landmarks.unsure else ():
            unsure |= (landmarks.times_s >= start) & (landmarks.times_s <= end)
        people.append(_Person(landmarks.image_px[:, p], landmarks.visibility[:, p], unsure))
    return people


def _together(times_s: Floats, people: Sequence[_Person]) -> Landmarks:
    return Landmarks(
        times_s,
        np.arange(1, len(people) + 1),
        np.stack([one.image_px for one in people], axis=1),
        np.stack([one.visibility for one in people], axis=1),
        tuple(_stretches(times_s, one.unsure) for one in people),
    )


def _stretches(times_s: Floats, marked: NDArray[np.bool_]) -> tuple[Interval, ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], marked, [False]]).astype(int)))
    return tuple((float(times_s[a]), float(times_s[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True))


def _last_hidden(corrections: Sequence[Correction]) -> int:
    return max((k for k, c in enumerate(corrections) if c.kind == "hide"), default=-1)


def _standing(people: Sequence[_Person], times_s: Floats, point: Point, settings: DeskSettings) -> _Person | None:
    """Who stands nearest to the point at its moment, or nobody within reach."""
    found, least = None, settings.point_reach
    for one in people:
        when = np.flatnonzero(one.seen)
        if one.left_out or not len(when):
            continue
        near = when[np.argmin(np.abs(times_s[when] - point.time_s))]
        off = float(np.hypot(*(one.hips_px()[near] - (point.x_px, point.y_px)))) / one.tall_px()
        if abs(times_s[near] - point.time_s) <= settings.point_gap_s and off < least:
            found, least = one, off
    return found


def _done(people: list[_Person], times_s: Floats, k: int, correction: Correction, settings: DeskSettings) -> bool:
    """Work one correction, the k-th, into the people; False if nobody stands where it points."""
    one = _standing(people, times_s, correction.at, settings)
    other = _standing(people, times_s, correction.other, settings) if correction.other else one
    if one is None or other is None:
        return False
    match correction.kind:
        case "exchange" if correction.from_s is not None:
            after = times_s >= correction.from_s
            for name in ("image_px", "visibility", "unsure", "seen"):
                a, b = getattr(one, name), getattr(other, name)
                a[after], b[after] = b[after].copy(), a[after].copy()
        case "join" if other is not one:
            fill = ~one.seen & other.seen
            for name in ("image_px", "visibility", "unsure"):
                getattr(one, name)[fill] = getattr(other, name)[fill]
            one.seen |= other.seen
            one.label, one.said = one.label or other.label, one.said | other.said
            one.own_version |= other.own_version
            people.remove(other)
        case "label":
            one.label = correction.label
            one.said.add(k)
        case "own version":
            one.own_version = True
            one.said.add(k)
        case "leave out":
            one.left_out = True
            one.said.add(k)
        case "hide":
            one.hidden_by = correction.at
    return True


def _boxes(one: _Person, times_s: Floats, size_px: tuple[int, int], settings: DeskSettings) -> Floats:
    """Boxes (F, 4) that cover a person whole, coarse on purpose; wider while unseen; NaN once they have left at the picture's side."""
    if not one.seen.any():
        return np.full((len(times_s), 4), np.nan)
    points, when, tall = one.image_px[one.seen], times_s[one.seen], one.tall_px()
    margin = settings.mask_margin * tall
    tight = np.concatenate([points.min(1) - margin, points.max(1) + margin], axis=1)
    box = np.stack([np.interp(times_s, when, tight[:, k]) for k in range(4)], axis=1)
    after = np.searchsorted(when, times_s)
    unseen_s = np.minimum(*(np.abs(when[np.clip(k, 0, len(when) - 1)] - times_s) for k in (after - 1, after)))
    box += np.array([-1.0, -1.0, 1.0, 1.0]) * (np.minimum(unseen_s, 1.0) * 0.5 * tall)[:, None]
    grid = settings.mask_grid_px
    box = np.concatenate([np.floor(box[:, :2] / grid), np.ceil(box[:, 2:] / grid)], axis=1) * grid
    box = np.asarray(np.clip(box, 0.0, np.array([*size_px, *size_px], dtype=np.float64)), dtype=np.float64)
    for edge, gone in ((tight[0], when[0] - times_s), (tight[-1], times_s - when[-1])):
        if edge[0] <= 0 or edge[2] >= size_px[0]:
            box[gone > settings.mask_hold_s] = np.nan
    return box


def _around(a: Floats, b: Floats) -> Floats:
    """Boxes (..., 4) around both; one alone where the other is NaN."""
    return np.asarray(np.concatenate([np.fmin(a[..., :2], b[..., :2]), np.fmax(a[..., 2:], b[..., 2:])], axis=-1))


def _alike(one: _Person, box: Floats, kept: Floats) -> float:
    """Median share that a person's boxes (F, 4) and kept ones have in common (overlap over union), where both are there."""
    both = one.seen & np.isfinite(kept[:, 0])
    if not both.any():
        return 0.0
    a, b = box[both], kept[both]
    overlap = np.prod(np.clip(np.minimum(a[:, 2:], b[:, 2:]) - np.maximum(a[:, :2], b[:, :2]), 0, None), axis=1)
    union = np.prod(a[:, 2:] - a[:, :2], axis=1) + np.prod(b[:, 2:] - b[:, :2], axis=1) - overlap
    return float(np.median(overlap / np.maximum(union, 1.0)))


def _with(masks: Masks, point: Point, times_s: Floats, box: Floats) -> Masks:
    """The masks with one person's boxes (F, 4) added, or widened by them where that point has made boxes before."""
    when = np.union1d(masks.times_s, times_s)
    points = np.array([(point.time_s, point.x_px, point.y_px)])
    kept, new = masks.kept_at(when), Masks(times_s, box[:, None], points).kept_at(when)
    m = masks.came_from(point)
    if m is None:
        return Masks(when, np.concatenate([kept, new], axis=1), np.vstack([masks.points, points]))
    kept[:, m] = _around(kept[:, m], new[:, 0])
    return Masks(when, kept, masks.points)
