"""The copy of a clip that is kept after its review: every head covered, whoever is not to be seen covered whole, times as they were.

It takes the place of the page's own copy of what was filmed, so that every moment can still be played and every correction made. A
clip that lies elsewhere belongs to whoever put it there and is never touched. Run as a program, it does so for one job's folder.
"""

from __future__ import annotations

import hashlib
import os
import sys
import threading
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path

import numpy as np

from motion.base.atomic import write_whole
from motion.base.errors import BadStore, ClipUnreadable
from motion.base.progress import Progress, quiet
from motion.base.types import Picture, Sound
from motion.clip.sound import read_sound
from motion.clip.video import pictures
from motion.film.covered_record import RECORD, VIEWING, read_record, record_of
from motion.film.covers import COVER, Head, Image, cover_head, cover_whole, with_bystanders
from motion.film.encode import write_film
from motion.film.extract import find_clip
from motion.jobs.queue import CLIP, Job, as_filmed, find
from motion.review.settings import SETTINGS, Settings
from motion.review.watch import BYSTANDERS
from motion.store.corrections import MASKED_POINTS, masks_of
from motion.store.folder import LANDMARKS, Stored, read_stored

#: Of several windows of one page: a second copy, written at the same time, would be written over the first.
_ONE_AT_A_TIME = threading.Lock()


def keep_viewing_copy(job: Job, *, progress: Progress = quiet, settings: Settings = SETTINGS) -> bool:
    """Put a copy with heads covered in the place of the job's own copy, or make that copy anew with who is covered now.

    False, and nothing done, for a clip that belongs to the person. The copy is there whole before what was filmed goes.
    Raises BadStore (no review yet, disk), and what reading the clip raises; then all stays as it was.
    """
    if not job.own_clip:
        return False
    with _ONE_AT_A_TIME:  # who waits finds the copy of whoever went first, and makes that anew
        _keep(find(job.id) or job, progress, settings)
    return True


def _keep(job: Job, progress: Progress, settings: Settings) -> None:
    filmed = as_filmed(job)
    kept = job.folder / CLIP / VIEWING
    part = kept.with_name(f".half-{os.getpid()}.mp4")
    try:
        covered = -1
        while covered != len((stored := read_stored(job.review)).arrays.get(MASKED_POINTS, ())):
            covered = len(stored.arrays.get(MASKED_POINTS, ()))  # somebody may be covered by hand meanwhile
            write_viewing(filmed or job.clip, stored, part, progress=progress, settings=settings)
        part.chmod(0o600)
        with part.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        write_whole(kept.with_name(RECORD), record_of(stored.clip.sha256, digest, covered))
        os.replace(part, kept)
        if filmed is not None:
            filmed.unlink()
    except OSError as error:
        raise BadStore(f"The copy with heads covered cannot be written to {kept.parent}", "Make room and try again") from error
    finally:
        part.unlink(missing_ok=True)


def is_current(job: Job) -> bool:
    """Whether a kept copy covers everybody who is to be covered whole now. Raises BadStore if that cannot be told."""
    kept = job.folder / CLIP / VIEWING
    if not kept.is_file() or kept.stat().st_mtime_ns > (job.review / LANDMARKS).stat().st_mtime_ns:
        return True
    return bool(read_record(kept).get("covered") == len(read_stored(job.review).arrays.get(MASKED_POINTS, ())))


def drop_copy(job: Job) -> None:
    """Delete the page's own copy of a clip, as filmed and with heads covered."""
    if job.own_clip:
        for path in (as_filmed(job), job.folder / CLIP / VIEWING, job.folder / CLIP / RECORD):
            if path is not None:
                path.unlink(missing_ok=True)


def write_viewing(path: Path, stored: Stored, out: Path, *, progress: Progress = quiet, settings: Settings = SETTINGS) -> None:
    """Write the clip at `path` to `out` (H.264, AAC), its heads covered as the review knows them, upright, at its own size and times.

    Heads are covered where they were first and last seen also long before and after; outside the stretch that was reviewed the whole
    picture is. Raises ClipMissing if the clip is another one, ClipUnreadable if no picture can be read, OSError when the disk fails.
    """
    clip = find_clip(path, stored.review, settings=settings)
    sound = read_sound(path, clip, settings=settings.clip)
    covered = _Covers(stored, settings)
    high, wide = clip.height_px // 2 * 2, clip.width_px // 2 * 2  # as H.264 asks; nothing moves

    def drawn(shown: Iterable[Picture]) -> Iterator[tuple[float, Image]]:
        for picture in shown:
            image = picture.rgb[:high, :wide].copy()
            covered.draw(image, picture.time_s)
            progress("Covering heads in the kept copy", min(1.0, picture.time_s / clip.duration_s))
            yield picture.time_s, image

    with pictures(path, clip, settings=settings.clip) as shown:
        first = next(shown, None)
        if first is None:
            raise ClipUnreadable(f"No picture of '{path.name}' can be read", "Copy the clip again from the phone")
        write_film(drawn(chain([first], shown)), sound if isinstance(sound, Sound) else None, out)


class _Covers:
    """Everybody's head and whoever is covered whole, worked out once for the clip."""

    def __init__(self, stored: Stored, settings: Settings) -> None:
        lm = with_bystanders(stored.landmarks, stored.arrays.get(BYSTANDERS))
        self.masks = masks_of(stored.arrays)
        heads = [Head(0, lm.times_s, lm.image_px[:, p]) for p in range(len(lm.ids))]
        self.heads = [head for head in heads if len(head.times_s)]
        hold_s = settings.desk.head_hold_s
        self.from_s, self.to_s = float(lm.times_s[0]) - hold_s, float(lm.times_s[-1]) + hold_s

    def draw(self, image: Image, time_s: float) -> None:
        """Cover what is to be covered in the image (H, W, 3) of that moment."""
        if not self.from_s <= time_s <= self.to_s:  # nobody was looked for here, so nobody is shown
            image[:] = COVER
            return
        cover_whole(image, self.masks, time_s)
        for head in self.heads:
            place = head.at(float(np.clip(time_s, head.times_s[0], head.times_s[-1])))
            if place is not None:
                cover_head(image, place)


if __name__ == "__main__":
    asked = find(Path(sys.argv[1]).name)
    if asked is not None:
        keep_viewing_copy(asked)
