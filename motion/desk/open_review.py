"""A stored review laid open to be judged again. What was laid open last stays in memory, so that judging it once more is quick."""

from __future__ import annotations

import json
import threading
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.types import Landmarks
from motion.review import judge
from motion.review.corrections import Corrected, Correction, Hidden, Masks, apply, hide
from motion.review.settings import SETTINGS
from motion.review.watch import Watched, stored_watch
from motion.store import tables
from motion.store.corrections import mask_arrays, masks_of, read_corrections
from motion.store.folder import OF_THE_FILM, read_packed, read_review, unpacked

#: Corrections that say something about a dancer and leave everybody's points as they are.
ABOUT = ("label", "own version")
#: Set by `let_go`: whoever was reading at that moment drops what came of it too.
LET_GO = threading.Event()


@dataclass(frozen=True, eq=False)
class Opened:
    """review as review.json states it; what was watched, with the dancers as the program found them; who is hidden and who is who by
    what was put right by hand; masks as they were stored; packed: landmarks.npz as it is, None when what is hidden now must leave it."""

    review: dict[str, Any]
    watched: Watched
    hidden: Hidden
    corrected: Corrected
    masks: Masks
    packed: bytes | None

    def arrays(self) -> dict[str, Any]:
        """What is stored beside the landmarks."""
        return self.watched.arrays() | mask_arrays(self.hidden.masks)


def opened(folder: Path) -> Opened:
    """A stored review with its corrections by hand. Raises BadStore where it or they are missing or damaged, BadInput if nobody would be
    left."""
    said, packed = read_review(folder), read_packed(folder)
    film = {name: value for name, value in said["clip"].items() if name in OF_THE_FILM}
    corrections = read_corrections(folder).get(film.get("sha256", ""), ())
    about = tuple(one for one in corrections if one.kind in ABOUT)
    kept = _laid_open(folder, packed, json.dumps(film), tuple(one for one in corrections if one not in about))
    if about:
        hidden, corrected = _worked_in(kept.watched, corrections, kept.masks)
        if _alike(corrected.landmarks, kept.corrected.landmarks):
            corrected = replace(corrected, landmarks=kept.corrected.landmarks)
        kept = replace(kept, hidden=hidden, corrected=corrected)
    made_by = {k: v for k, v in said["made_by"].items() if k != "judged"}
    return replace(kept, review=said, watched=replace(kept.watched, made_by=made_by))


@lru_cache(maxsize=1)
def _laid_open(folder: Path, packed: bytes, film: str, corrections: tuple[Correction, ...]) -> Opened:
    """The parts that the very same bytes make again: as the very same objects, judging knows them and does not read them anew."""
    clip, landmarks, arrays = unpacked(folder, packed, json.loads(film))
    watched, masks = stored_watch(clip, landmarks, arrays, {}), masks_of(arrays)
    hidden, corrected = _worked_in(watched, corrections, masks)
    stays = hidden.landmarks is landmarks and len(hidden.masks.points) == len(masks.points)
    return Opened({}, watched, hidden, corrected, masks, packed if stays else None)


def _worked_in(watched: Watched, corrections: tuple[Correction, ...], masks: Masks) -> tuple[Hidden, Corrected]:
    size_px = (watched.clip.width_px, watched.clip.height_px)
    hidden = hide(watched.landmarks, corrections, masks, size_px, SETTINGS.desk)
    return hidden, apply(hidden.landmarks, hidden.corrections, SETTINGS.desk)


def _alike(one: Landmarks, other: Landmarks) -> bool:
    whole = np.array_equal(one.ids, other.ids) and one.unsure == other.unsure
    return whole and all(np.array_equal(getattr(one, k), getattr(other, k), equal_nan=True) for k in ("image_px", "visibility"))


def let_go() -> None:
    """Drop what was laid open last from memory, and what was read of it: nothing of it may be kept any more."""
    LET_GO.set()
    _laid_open.cache_clear()
    judge.let_go()
    tables.let_go()
