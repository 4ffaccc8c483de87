"""A careful review after a quick look, with the same options, for the same people, without asking anything twice."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path

from motion.base.errors import BadInput, BadStore
from motion.base.home import home
from motion.base.options import WatchOptions
from motion.jobs.queue import Job, as_filmed, is_careful, judged_before, start
from motion.library.classes import Library
from motion.store.folder import read_review


def can_be_careful(job: Job) -> bool:
    """Whether a review was a quick look whose clip is still there as it was filmed."""
    return not is_careful(job) and (job.clip.is_file() if not job.own_clip else as_filmed(job) is not None)


def carefully(library: Library, job: Job, *, command: Sequence[str] | None = None) -> Job:
    """Begin the careful review of a quick look's clip, or have it wait for its turn; it belongs to the same lesson and holds by the same
    yes. The quick look stays. Raises BadInput once the clip is only there with heads covered, BadStore."""
    if not can_be_careful(job):
        raise BadInput("The clip is no longer there as it was filmed", "Choose the clip again under New review")
    review = read_review(job.review)
    asked = review["made_by"].get("asked", {})
    watch = WatchOptions("fine", asked.get("dancers"), asked.get("from_s"), asked.get("to_s"))
    clip = _one_more(job.clip) if job.own_clip else job.clip
    begun = start(clip, watch, judged_before(review, job.sheet), title=job.title, command=command, queue=True)
    before = next((kept for kept in library.reviews() if kept.job == job.id), None)
    if before is not None:
        library.add_review(
            begun.review, job=begun.id, class_id=before.class_id, lesson_id=before.lesson_id, consent_id=before.consent_id
        )
    return begun


def _one_more(clip: Path) -> Path:
    """The same clip once more where uploads lie, from where a review takes it over; no room is needed where the disk can share it."""
    uploads = home() / "uploads"
    try:
        uploads.mkdir(exist_ok=True, mode=0o700)
        target = Path(tempfile.mkdtemp(dir=uploads)) / clip.name
        try:
            os.link(clip, target)
        except OSError:  # a disk that cannot share files
            shutil.copyfile(clip, target)
    except OSError as error:
        raise BadStore(f"Nothing can be written to {uploads}", "Make room and try again") from error
    return target
