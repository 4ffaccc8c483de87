"""What goes by its date, and deleting reviews, lessons and classes whole.

Only what this program wrote is deleted. A clip that lies elsewhere belongs to the person, and so does any file that somebody else put
into a review folder. Whatever cannot be reached is named.
"""

from __future__ import annotations

import contextlib
import glob
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from motion.base.errors import BadInput, BadStore, MotionError
from motion.desk.correct import made_by_hand
from motion.desk.open_review import let_go
from motion.jobs.covered_copy import drop_copy, is_current, keep_viewing_copy
from motion.jobs.queue import Job, as_filmed, delete, find, is_careful, jobs, status, sweep_uploads
from motion.library.classes import Kept, Library, day_of, open_library
from motion.library.consent import last_day_of
from motion.review import checkpoint
from motion.review.settings import SETTINGS
from motion.store.folder import LITTER, OWN_NAMES, REVIEW, read_review
from motion.tell.words import told_day


@dataclass(frozen=True)
class Swept:
    """What a sweep did, as sentences: what was deleted, how many clips had their heads covered, and what could not be done."""

    deleted: tuple[str, ...]
    covered: int
    left: tuple[str, ...]


@dataclass(frozen=True)
class Forgotten:
    """What deleting did, as sentences, and what it cannot reach."""

    done: tuple[str, ...]
    left: tuple[str, ...]


def sweep(library: Library, told: Iterable[Path] = (), *, today: date | None = None) -> Swept:
    """Delete every review whose last day has passed, cover heads in clips whose review is done, and clear what was broken off.

    told: review folders, or folders with such in them, which are remembered from now on. What cannot be done is named; the rest is.
    Raises BadInput if a told folder is none.
    """
    now = (today or date.today()).isoformat()
    deleted: list[str] = []
    left: list[str] = []
    for place in told:
        for folder in _reviews_in(place):
            library.add_review(folder)
    covered = 0
    for job in jobs():
        with _naming(left):
            covered += _settle_job(library, job)
    note_new(library)
    for kept in library.reviews():
        if not (kept.folder / REVIEW).is_file():
            continue
        expires = kept.expires
        with _naming(left):
            expires = look_again(library, kept)
        if expires is not None and expires < now:
            with _naming(left):
                left += forget_review(library, kept).left
                deleted.append(f"{called(kept)}, kept until {told_day(expires)}")
    deleted += _old_records(library, date.fromisoformat(now))
    sweep_uploads()
    checkpoint.sweep()
    if deleted:
        library.settle()
    return Swept(tuple(deleted), covered, tuple(left))


def swept_told(told: Iterable[Path]) -> tuple[list[str], list[str]]:
    """Open the library, sweep it, and say in lines what was done, and what could not be."""
    with open_library() as library:
        done = sweep(library, told)
        known = len(library.reviews())
    lines = [f"Deleted: {line}." for line in done.deleted]
    if done.covered:
        lines.append(f"Heads covered in {done.covered} kept {'clip' if done.covered == 1 else 'clips'}.")
    lines.append("1 review is known and within its time." if known == 1 else f"{known} reviews are known and within their time.")
    return lines, [f"{line}." for line in done.left]


def look_again(library: Library, kept: Kept) -> str | None:
    """Write down what a review folder holds now; its last day (ISO). Raises BadStore if it cannot be read."""
    review = read_review(kept.folder)
    own = review["clip"].get("expires")
    last = last_day_of(library, kept, None if own is None else day_of(own).isoformat())
    # What somebody is called stays in the review alone.
    by_hand = [(one.kind, "A label was given" if one.kind == "label" else words) for one, words, _ in made_by_hand(kept.folder)]
    library.note_review(kept.id, review, last, by_hand)
    return last


def note_new(library: Library) -> None:
    """Write down what the reviews hold that were done since the last look, and forget those that are no longer there."""
    for kept in library.reviews():
        there = (kept.folder / REVIEW).is_file()
        if not there and not _running(kept):
            library.drop_review(kept.id)
        elif there and kept.clip is None:
            with contextlib.suppress(BadStore):  # the sweep names it
                look_again(library, kept)


def dates_again(library: Library, class_id: int) -> None:
    """Work out anew until when the reviews of a class are kept, after somebody's yes or the clips of a lesson have changed."""
    for kept in library.reviews(class_id=class_id):
        if (kept.folder / REVIEW).is_file():
            with contextlib.suppress(BadStore):  # the sweep names it
                look_again(library, kept)


@dataclass(frozen=True)
class Going:
    """A review and the last day until which it is kept, in words. soon: it goes within the next days."""

    review: str
    lesson: str
    until: str
    soon: bool


def going(library: Library, *, today: date | None = None) -> list[Going]:
    """What goes when, soonest first; what has no date last."""
    edge = ((today or date.today()) + timedelta(days=SETTINGS.library.warn_days)).isoformat()
    lessons = {one.id: one for one in library.lessons()}
    names, rows = told_apart(library), []
    for kept in sorted(library.reviews(), key=lambda one: (one.expires is None, one.expires or "", one.id)):
        lesson = lessons.get(kept.lesson_id or 0)
        until = "no date: it stays until you delete it" if kept.expires is None else told_day(kept.expires)
        rows.append(Going(names[kept.id], lesson.title if lesson else "", until, kept.expires is not None and kept.expires <= edge))
    return rows


def told_apart(library: Library) -> dict[int, str]:
    """What to call each review, by its id: the clip and the day, with the time or the folder where one clip was reviewed twice on a day."""
    names: dict[int, str] = {}
    for clock in ("", ", %H:%M", ", %H:%M:%S"):
        alike = Counter(names.values())
        names |= {kept.id: _called_by(kept, clock) for kept in library.reviews() if alike[names.get(kept.id, "")] != 1}
    return names


def forget_review(library: Library, kept: Kept) -> Forgotten:
    """Delete a review and, if there is one, the page's own copy of its clip. Raises BadInput while it runs, BadStore."""
    job = find(kept.job) if kept.job else None
    if job is None:
        left = _delete_folder(kept.folder)
        left += [f"The film {path.name} beside the review stays: delete it there" for path in films_beside(kept.folder)]
        left += [yours(kept.clip)] if kept.clip else []
    else:
        delete(job)
        left = [] if job.own_clip else [yours(job.clip.name)]
    library.drop_review(kept.id)
    let_go()
    return Forgotten((f"{called(kept)} is deleted",), tuple(left))


def forget_lesson(library: Library, lesson_id: int) -> Forgotten:
    """Delete a lesson with its reviews, their clips, its judgements and its record."""
    note_new(library)
    gone = [forget_review(library, kept) for kept in library.reviews(lesson_id=lesson_id)]
    library.rows("DELETE FROM lessons WHERE id = ?", lesson_id)
    library.settle()
    return _all_of(gone, "The lesson is deleted")


def forget_class(library: Library, class_id: int) -> Forgotten:
    """Delete a class: its dancers, what they agreed to, its lessons, and every review of it with its clip."""
    note_new(library)
    gone = [forget_review(library, kept) for kept in library.reviews(class_id=class_id)]
    library.rows("DELETE FROM classes WHERE id = ?", class_id)
    library.settle()
    return _all_of(gone, "The class is deleted")


def cover_or_drop(job: Job) -> list[str]:
    """Make the kept copy of a job's clip anew with who is covered now; where that fails it goes, and what is said of it comes back."""
    if not (job.own_clip and job.clip.is_file()):
        return []
    try:
        keep_viewing_copy(job)
    except MotionError as error:
        drop_copy(job)
        return [f"The kept copy of the clip had to go whole. {error}".rstrip(".")]
    return []


def called(kept: Kept) -> str:
    """A review as a person knows it."""
    return f"The review of {kept.clip or 'a clip'}" + ("" if kept.job else f" in {kept.folder}")


def films_beside(folder: Path) -> list[Path]:
    """Films to take along that the command left beside a review folder, by name; whatever the folder's name holds."""
    return sorted(folder.parent.glob(f"{glob.escape(folder.stem)}-dancer-*hand-out*.mp4"))


def yours(clip: str) -> str:
    """What is to be said of a clip that is not ours to delete."""
    return f"The clip {clip} itself is yours, and stays where you keep it"


def _called_by(kept: Kept, clock: str) -> str:
    """A review by its clip and day; clock: how the time is added, or "" for none. A folder of one's own has no time, but a place."""
    job, name = find(kept.job) if kept.job else None, kept.clip or "under way"
    if job is None:
        return f"{name} ({told_day(kept.added_on)})" + (f" in {kept.folder}" if clock else "")
    began = datetime.fromtimestamp(job.started_at)
    return f"{name} ({told_day(began.date())}{began.strftime(clock)})"


def _settle_job(library: Library, job: Job) -> bool:
    """Know the job's review and cover heads in its clip, or delete what was broken off long ago; whether heads were covered."""
    now = status(job)
    old = time.time() - job.started_at > SETTINGS.page.upload_kept_s
    if now.state in ("waiting", "running"):
        return False
    if now.state != "done":
        if old and job.own_clip:
            delete(job)
        return False
    library.add_review(job.review, job=job.id)
    if (as_filmed(job) is None and is_current(job)) or not (old or is_careful(job)):
        return False
    try:
        return keep_viewing_copy(job)
    except MotionError:
        if old:  # rather no film than one with faces
            drop_copy(job)
        raise


def _old_records(library: Library, today: date) -> list[str]:
    """Delete lessons with their judgements, agreements that ended, and what was handed out, once they are a school year old."""
    edge = (today - timedelta(days=SETTINGS.library.records_kept_days)).isoformat()
    said = [f"The lesson {one.title} of {told_day(one.held_on)}" for one in library.lessons() if one.held_on < edge]
    with library.together():
        library.rows("DELETE FROM lessons WHERE held_on < ?", edge)
        library.rows("DELETE FROM lesson_records WHERE lesson_id IS NULL AND made_on < ?", edge)
        # A no is kept for as long as it holds: without it somebody would be asked again.
        library.rows("DELETE FROM consents WHERE CASE answer WHEN 'yes' THEN until ELSE withdrawn_on END < ?", edge)
        library.rows("DELETE FROM exports WHERE made_on < ?", edge)
    return said


def _running(kept: Kept) -> bool:
    job = find(kept.job) if kept.job else None
    return job is not None and status(job).state in ("waiting", "running")


def _reviews_in(place: Path) -> list[Path]:
    try:
        if not place.is_dir():
            raise BadInput(f"There is no folder {place}", "Name a review folder, or a folder with reviews in it")
        return sorted(path.parent for path in place.rglob(REVIEW))
    except OSError as error:
        raise BadInput(f"The folder {place} cannot be read", "Check that you may open it") from error


def _delete_folder(folder: Path) -> list[str]:
    """Delete what this program wrote into a review folder, and the folder unless somebody else's files are in it; those are named."""
    try:
        for name in OWN_NAMES | LITTER:
            (folder / name).unlink(missing_ok=True)
        others = sorted(path.name for path in folder.iterdir())
        if not others:
            folder.rmdir()
    except OSError as error:
        raise BadStore(f"The review in {folder} cannot be deleted", "Close whatever has its files open, and try again") from error
    return [f"Files of others stay in {folder}, such as {others[0]}"] if others else []


def _all_of(parts: Sequence[Forgotten], words: str) -> Forgotten:
    done = [line for part in parts for line in part.done]
    return Forgotten((*done, words), tuple(dict.fromkeys(line for part in parts for line in part.left)))


@contextlib.contextmanager
def _naming(left: list[str]) -> Iterator[None]:
    """Go on after what a person could mend, and name it."""
    try:
        yield
    except MotionError as error:
        left.append(str(error).rstrip("."))
