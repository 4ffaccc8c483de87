"""Deleting every trace of one dancer: out of reviews, tables, reports, kept copies of clips, and the library with its file's bytes.

What marks where they stood, so that they stay covered, is all that is kept. Whatever cannot be reached is named.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from motion.base.errors import BadInput
from motion.desk.correct import correct, not_this_one
from motion.desk.open_review import let_go
from motion.desk.recount import ONE_AT_A_TIME
from motion.jobs.queue import SAID, find, jobs, judged_before, status
from motion.library.classes import Dancer, Kept, Library
from motion.library.retention import Forgotten, called, cover_or_drop, films_beside, forget_review, look_again, note_new, yours
from motion.review import checkpoint
from motion.review.corrections import Correction, apply
from motion.review.settings import SETTINGS
from motion.store.corrections import ByClip, read_corrections, write_corrections
from motion.store.folder import read_review, read_stored
from motion.tell.words import told_day

HANDED_OUT = "Whatever was downloaded, printed, copied or sent before is out of reach: ask for it back, or delete it there"
#: Where words of a person's own are kept: table and column.
WORDS = (
    ("lessons", "title"),
    ("judgements", "words"),
    ("consents", "said_by"),
    ("consents", "purpose"),
    ("exports", "name"),
    ("corrections", "words"),
)


def forget_dancer(library: Library, dancer_id: int) -> Forgotten:
    """Delete every trace of a dancer: out of each review of the class (points, numbers, tables, report, corrections), covered whole in
    the copies of clips that are kept, and out of the library. A review that shows nobody else goes whole.

    Raises MotionError if a review cannot be changed now; the dancer then stays in the library, so that it can be done again.
    """
    one = library.dancer(dancer_id)
    note_new(library)
    done: list[str] = []
    left: list[str] = []
    changed: set[str] = set()
    for kept in library.reviews():
        if not kept.folder.exists():
            continue
        if kept.class_id == one.class_id:
            if now := _out_of(library, kept, one.label, left):
                done += now
                changed.add(str(kept.folder))
        elif numbers_of(read_review(kept.folder), one.label):
            left.append(f"{called(kept)} belongs to another class or to none, and also has a dancer called {one.label}")
    if not any(status(job).state == "running" for job in jobs()):
        checkpoint.forget_all()  # of reviews that were broken off: where people stood
    left += [
        f"{e.what}, {e.name}, handed out on {told_day(e.made_on)}"
        for e in library.exports()
        if e.dancer_id == one.id or e.folder in changed
    ]
    _out_of_library(library, one)
    return Forgotten((*done, f"{one.label} is no longer in the library"), (*dict.fromkeys(left), HANDED_OUT))


def forget_in_review(library: Library, kept: Kept, numbers: Sequence[int], *, label: str = "") -> Forgotten:
    """Take dancers, by their numbers, out of one review for good, and cover them whole in the copy of its clip that is kept.

    The review goes whole where it shows nobody else, or where they are nowhere seen apart from the others. Raises MotionError if it
    cannot be changed now.
    """
    with ONE_AT_A_TIME:
        review, by_clip = read_review(kept.folder), read_corrections(kept.folder)
        sha256 = review["clip"]["sha256"]
        others = {sha: _without(made, label) for sha, made in by_clip.items()}
        if len(review["dancers"]) <= len(numbers):
            return forget_review(library, kept)
        try:
            made = (*others.pop(sha256, ()), *(not_this_one(review, number) for number in numbers))
            write_corrections(kept.folder, {**others, sha256: by_clip.get(sha256, ())})
            correct(kept.folder, made, judged_before(review, None))
        except BadInput:
            return forget_review(library, kept)
    job = find(kept.job) if kept.job else None
    left = [] if job is not None and job.own_clip else [yours(review["clip"]["name"])]
    films = films_beside(kept.folder)
    if job is None:
        left += [f"The film {path.name} beside the review may show them: delete it there" for path in films]
    else:
        for path in films:  # of the others they can be made again
            path.unlink()
        (job.folder / SAID).unlink(missing_ok=True)
        left += cover_or_drop(job)
    look_again(library, kept)
    let_go()
    return Forgotten((f"{called(kept)} no longer holds them",), tuple(left))


def numbers_of(review: dict[str, Any], label: str) -> list[int]:
    """The numbers of whoever has this label in a review; capitals make no difference."""
    return [int(one["id"]) for one in review["dancers"] if (one["label"] or "").casefold() == label.casefold()]


def scrubbed(value: Any, label: str) -> Any:
    """A record without a dancer: whatever stands under their label goes, and the label within other words becomes "…".

    Example: {"rows": [{"label": "Red", "late": 2}, {"label": "Blue"}], "note": "Red leads"} without Red is
    {"rows": [{"label": "Blue"}], "note": "… leads"}.
    """
    same = label.casefold()
    match value:
        case dict():
            return {key: scrubbed(one, label) for key, one in value.items() if str(key).casefold() != same}
        case list():
            return [scrubbed(one, label) for one in value if not _is_theirs(one, same)]
        case str():
            return _word(label).sub("…", value)
        case _:
            return value


def _out_of(library: Library, kept: Kept, label: str, left: list[str]) -> list[str]:
    """Take whoever has this label out of one review of their class; what was done. What cannot be reached goes into `left`."""
    _back_in(kept.folder, label)
    review = read_review(kept.folder)
    numbers = numbers_of(review, label)
    by_clip = read_corrections(kept.folder)
    if numbers:
        gone = forget_in_review(library, kept, numbers, label=label)
        left += gone.left
        done = list(gone.done)
    elif _without_any(by_clip, label) != by_clip:
        # The label was given to somebody who is found no longer; the report may still say so.
        write_corrections(kept.folder, _without_any(by_clip, label))
        correct(
            kept.folder,
            _without_any(by_clip, label).get(review["clip"]["sha256"], ()),
            judged_before(review, None),
        )
        done = [f"{called(kept)} no longer names them"]
    else:
        done = []
    if any(dancer["label"] is None for dancer in review["dancers"]):
        left.append(f"{called(kept)} shows dancers without a label: look whether they are one of them, and take them out there")
    left += _still_named(kept.folder, label)
    return done


def _back_in(folder: Path, label: str) -> None:
    """Take back that whoever has this label was left out of a review: their points are still in it, and are found by the label."""
    with ONE_AT_A_TIME:
        review = read_review(folder)
        made = read_corrections(folder).get(review["clip"]["sha256"], ())
        if not any(one.kind == "label" and _is_theirs(one.label, label.casefold()) for one in made):
            return
        landmarks = read_stored(folder).landmarks

        def found(said: Sequence[Correction]) -> int:
            try:
                labels = apply(landmarks, said, SETTINGS.desk).labels
            except BadInput:  # nobody would be left
                return 0
            return sum(_is_theirs(one, label.casefold()) for one in labels)

        rest = tuple(one for one in made if one.kind != "leave out" or found([each for each in made if each != one]) <= found(made))
        if rest != made:
            correct(folder, rest, judged_before(review, None))


def _without(made: Sequence[Correction], label: str) -> tuple[Correction, ...]:
    return tuple(one for one in made if not label or (one.label or "").casefold() != label.casefold())


def _without_any(by_clip: ByClip, label: str) -> ByClip:
    return {sha: _without(made, label) for sha, made in by_clip.items()}


def _still_named(folder: Path, label: str) -> list[str]:
    """Files beside and in a review that hold the label all the same, such as in the clip's own name."""
    if len(label) < SETTINGS.library.named_letters or not folder.exists():
        return []
    places = [*folder.parent.glob("job.json"), *folder.rglob("*.json"), *folder.rglob("*.html"), *folder.rglob("*.csv")]
    found = [path.name for path in places if _word(label).search(path.read_text(encoding="utf-8", errors="replace"))]
    if not found:
        return []
    return [f"{', '.join(sorted(set(found)))} in {folder} still says {label}, perhaps as the clip's name: delete that review whole"]


def _is_theirs(value: Any, same: str) -> bool:
    if isinstance(value, str):
        return value.casefold() == same
    return isinstance(value, dict) and any(isinstance(one, str) and one.casefold() == same for one in value.values())


def _word(label: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w){re.escape(label)}(?!\w)", re.IGNORECASE)


def _out_of_library(library: Library, one: Dancer) -> None:
    """Rows and every mention in words, and then the bytes of the file."""
    with library.together():
        library.rows("DELETE FROM dancers WHERE id = ?", one.id)
        for table, column in WORDS:
            for row in library.rows(f"SELECT rowid, {column} FROM {table}"):
                if (said := scrubbed(row[1], one.label)) != row[1]:
                    library.rows(f"UPDATE {table} SET {column} = ? WHERE rowid = ?", said, row[0])
        for row in library.rows("SELECT id, record FROM lesson_records"):
            text = json.dumps(scrubbed(json.loads(row[1]), one.label), ensure_ascii=False)
            library.rows("UPDATE lesson_records SET record = ? WHERE id = ?", text, row[0])
    library.set_line_up(one.class_id, library.labels_in_standing_order(one.class_id))
    library.settle()
