"""Putting right who is who in a stored review: a correction made from what the page shows, kept, judged by, and taken back.

A dancer is meant by where they stand at the moment at which they are farthest from everybody else.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.errors import BadInput, MotionError
from motion.base.options import JudgeOptions
from motion.base.types import Floats
from motion.desk.recount import ONE_AT_A_TIME, recount
from motion.review.corrections import Corrected, Correction, Hidden, Point, apply, can_be_undone, hide, label_of, told
from motion.review.settings import SETTINGS
from motion.store.corrections import masks_of, read_corrections, write_corrections
from motion.store.folder import Stored, read_review, read_stored


def exchange(review: dict[str, Any], number: int, other: int, from_s: float) -> Correction:
    """From from_s on, dancer `number` is who was called `other` so far, and the other way round."""
    crossing_s, near_s = SETTINGS.page.beside_exchange_s
    _two(number, other)
    for one, two in ((number, other), (other, number)):
        before = _clearest(review, one, from_s - near_s, from_s - crossing_s) or _clearest(
            review, one, -np.inf, np.nextafter(from_s, -np.inf)
        )
        after = _clearest(review, two, from_s, from_s + near_s) or _clearest(review, two, from_s, np.inf)
        if before and after:
            return Correction("exchange", before, after, from_s, numbers=(number, other))
    raise BadInput(
        f"Dancers {number} and {other} are not seen on either side of {from_s:.1f} s", "Choose a moment between two sights of them"
    )


def join(review: dict[str, Any], number: int, other: int) -> Correction:
    """Dancers `number` and `other` are one and the same; where both are seen, `number` holds."""
    _two(number, other)
    return Correction("join", _place(review, number), _place(review, other), numbers=(number, other))


def give_label(review: dict[str, Any], number: int, text: str) -> Correction:
    """What a dancer is called from now on. Raises BadInput over a label that is long or strange."""
    return Correction("label", _place(review, number), label=label_of(text, SETTINGS.desk), numbers=(number,))


def own_version(review: dict[str, Any], number: int) -> Correction:
    """A dancer who dances a version of their own: shown beside the beat from now on, and nothing counts as missed or other."""
    return Correction("own version", _place(review, number), numbers=(number,))


def leave_out(review: dict[str, Any], number: int) -> Correction:
    """A dancer who is not to be reviewed; it can be taken back."""
    return Correction("leave out", _place(review, number), numbers=(number,))


def not_this_one(review: dict[str, Any], number: int) -> Correction:
    """A dancer of whom nothing is to be kept and who is covered in every picture; it cannot be taken back."""
    return Correction("hide", _place(review, number), numbers=(number,))


def made_by_hand(folder: Path) -> list[tuple[Correction, str, bool]]:
    """What was put right in a review: each correction, in words, and whether it can be taken back."""
    made = read_corrections(folder).get(read_review(folder)["clip"]["sha256"], ())
    return [(one, _sentence(told(one)), can) for one, can in zip(made, can_be_undone(made), strict=True)]


def add(folder: Path, correction: Correction | Sequence[Correction], judge: JudgeOptions) -> None:
    """Keep one more correction, or several, and judge the review again. Raises MotionError, and then nothing has changed."""
    more = (correction,) if isinstance(correction, Correction) else correction
    with ONE_AT_A_TIME:
        kept = read_corrections(folder).get(read_review(folder)["clip"]["sha256"], ())
        correct(folder, (*kept, *more), judge)


def undo(folder: Path, correction: Correction, judge: JudgeOptions) -> None:
    """Take one correction back and judge the review again. Raises BadInput for one that cannot be taken back or is not there."""
    with ONE_AT_A_TIME:
        kept = read_corrections(folder).get(read_review(folder)["clip"]["sha256"], ())
        for k, (one, can) in enumerate(zip(kept, can_be_undone(kept), strict=True)):
            if one == correction and can:
                correct(folder, (*kept[:k], *kept[k + 1 :]), judge)
                return
    raise BadInput("This cannot be taken back", "Review the clip again in another folder")


def correct(folder: Path, corrections: Sequence[Correction], judge: JudgeOptions) -> None:
    """Keep these as the review's corrections, whole or not at all, and judge it again by them.

    judge: how the review was judged so far. Raises BadInput if a new correction finds nobody where it points or nobody would be
    left, BadStore, and whatever judging says; corrections.json is then as it was.
    """
    with ONE_AT_A_TIME:
        stored, by_clip = read_stored(folder), read_corrections(folder)
        sha256 = stored.clip.sha256
        before = by_clip.get(sha256, ())
        own, judge = _own_by_place(stored.review, judge.own_version), replace(judge, own_version=())
        corrections = (*(c for c in corrections if c in before), *own, *(c for c in corrections if c not in before))
        hidden, corrected = _worked_in(stored, corrections)
        missed = [one for one in (*hidden.missed, *corrected.missed) if one not in before and one not in own]
        if missed:
            raise BadInput(f"Nobody stands there any more ({told(missed[0])})", "Look at the picture again and choose anew")
        write_corrections(folder, {**by_clip, sha256: hidden.corrections})
        try:
            recount(folder, judge)
        except MotionError:
            write_corrections(folder, {**by_clip, sha256: before})
            raise


def _own_by_place(review: dict[str, Any], numbers: Sequence[int]) -> tuple[Correction, ...]:
    """Dancers who were told by number to dance a version of their own, by where they stand: corrections may number everybody anew."""
    found = []
    for number in numbers:
        with contextlib.suppress(BadInput):  # nowhere seen for certain
            found.append(own_version(review, number))
    return tuple(found)


def _worked_in(stored: Stored, corrections: Sequence[Correction]) -> tuple[Hidden, Corrected]:
    size_px = (stored.clip.width_px, stored.clip.height_px)
    hidden = hide(stored.landmarks, corrections, masks_of(stored.arrays), size_px, SETTINGS.desk)
    return hidden, apply(hidden.landmarks, hidden.corrections, SETTINGS.desk)


def _two(number: int, other: int) -> None:
    if number == other:
        raise BadInput(f"Dancer {number} is named twice", "Choose two different dancers")


def _place(review: dict[str, Any], number: int) -> Point:
    found = _clearest(review, number, -np.inf, np.inf)
    if found is None:
        raise BadInput(f"Dancer {number} is nowhere seen for certain", "Choose another dancer")
    return found


def _clearest(review: dict[str, Any], number: int, from_s: float, to_s: float) -> Point | None:
    """Where a dancer stands when farthest from everybody else, in body heights up to where that no longer matters; None if unseen."""
    tracks = {int(one["id"]): one["track"] for one in review["dancers"]}
    if number not in tracks:
        raise BadInput(f"There is no dancer {number} in this review", "Choose one of those shown")
    mine = tracks[number]
    times_s, place = _path(mine)
    tall = max(1.0, float(np.median(np.array(mine["height_px"], dtype=np.float64)))) if len(times_s) else 1.0
    apart = np.full(len(times_s), SETTINGS.page.apart_heights)
    for one, track in tracks.items():
        when, theirs = _path(track)
        if one != number and len(when):
            near = np.column_stack([np.interp(times_s, when, theirs[:, k]) for k in (0, 1)])
            apart = np.minimum(apart, np.linalg.norm(place - near, axis=1) / tall)
    usable = (times_s >= from_s) & (times_s <= to_s)
    for start, end in mine["unsure"]:
        usable &= (times_s < start) | (times_s > end)
    if not usable.any():
        return None
    best = int(np.argmax(np.where(usable, apart, -1.0)))
    return Point(float(times_s[best]), float(place[best, 0]), float(place[best, 1]))


def _path(track: dict[str, Any]) -> tuple[Floats, Floats]:
    return np.array(track["times_s"], dtype=np.float64), np.array(track["pelvis_px"], dtype=np.float64).reshape(-1, 2)


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]
