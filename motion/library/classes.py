"""The library: classes, dancers under short labels, lessons, clips, dances, reviews, judgements, and what was handed out.

    with open_library() as library:
        class_id = library.add_class("Tuesday beginners")
        library.set_line_up(class_id, ["Red", "Blue", "K"])

It lies in the page's work folder. Reviews stay in folders of their own; the library knows where they are, whose they are and when they
go. Who agreed to what is in `consent.py`, deleting in `erase.py`, what is held about somebody in `access.py`.
"""

from __future__ import annotations

import contextlib
import json
import re
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from motion.base.errors import BadInput, BadStore
from motion.base.home import home
from motion.library.schema import open_database, told
from motion.review.corrections import label_of
from motion.review.settings import SETTINGS
from motion.tell.words import told_day

FILE = "library.sqlite3"


@dataclass(frozen=True)
class Group:
    """A class of dancers."""

    id: int
    name: str


@dataclass(frozen=True)
class Dancer:
    """A dancer of a class under a short label; place: in standing order, from 1."""

    id: int
    class_id: int
    label: str
    place: int


@dataclass(frozen=True)
class Lesson:
    """A lesson of a class on a day (ISO date); it gathers any number of reviewed clips."""

    id: int
    class_id: int
    held_on: str
    title: str


@dataclass(frozen=True)
class Sheet:
    """A dance sheet that a review was judged by; text: the sheet itself as CSV."""

    id: int
    title: str
    text: str


@dataclass(frozen=True)
class Kept:
    """A review that the library knows. job: its job in the work folder, None for a folder of one's own; clip: the clip's name, None
    until the review is done; expires: ISO date at whose end it goes, None if it never does."""

    id: int
    folder: Path
    job: str | None
    clip: str | None
    dance: str | None
    class_id: int | None
    lesson_id: int | None
    consent_id: int | None
    added_on: str
    expires: str | None


@dataclass(frozen=True)
class Judgement:
    """A teacher's own judgement of one dancer by one criterion in one lesson; level None: not assessable."""

    lesson_id: int
    dancer_id: int
    label: str
    criterion: str
    level: str | None
    words: str
    made_on: str


@dataclass(frozen=True)
class Export:
    """Something that was handed out and that the program can no longer reach."""

    made_on: str
    what: str
    name: str
    dancer_id: int | None
    folder: str | None


def library_file() -> Path:
    """Where the library lies."""
    return home() / "library" / FILE


def open_library(path: Path | None = None) -> Library:
    """Open the library, made if there is none yet; close it when done (it is a `with`). Raises BadStore in one plain sentence."""
    path = path or library_file()
    return Library(path, open_database(path))


class Library:
    """The open library. Everything is written at once and whole; dates are ISO days."""

    def __init__(self, path: Path, database: sqlite3.Connection) -> None:
        self.path, self._database = path, database

    def __enter__(self) -> Library:
        return self

    def __exit__(self, *_: object) -> None:
        self._database.close()

    def rows(self, query: str, *values: object) -> list[sqlite3.Row]:
        """What a query gives, or changes by itself."""
        with told(self.path):
            return self._database.execute(query, values).fetchall()

    @contextlib.contextmanager
    def together(self) -> Iterator[None]:
        """Several changes, all or none."""
        self.rows("BEGIN IMMEDIATE")
        try:
            yield
            self.rows("COMMIT")
        except BaseException:
            self.rows("ROLLBACK")
            raise

    def settle(self) -> None:
        """Leave nothing of what was deleted in the file: written anew without it, and no old pages beside it."""
        self.rows("PRAGMA wal_checkpoint(TRUNCATE)")
        self.rows("VACUUM")
        if self.rows("PRAGMA wal_checkpoint(TRUNCATE)")[0][0]:
            raise BadStore("The library is in use by another window of this program", "Close it, and delete once more")

    # Classes and dancers

    def classes(self) -> list[Group]:
        """Every class, by name."""
        return [Group(*row) for row in self.rows("SELECT id, name FROM classes ORDER BY name")]

    def add_class(self, name: str) -> int:
        """A new class. Raises BadInput over a name that is empty, long or taken."""
        name = name_of(name, "The class's name")
        if self.rows("SELECT 1 FROM classes WHERE name = ?", name):
            raise BadInput(f"There is a class {name} already", "Choose another name")
        return self._add("INSERT INTO classes (name) VALUES (?)", name)

    def dancers(self, class_id: int) -> list[Dancer]:
        """The dancers of a class in standing order."""
        query = "SELECT id, class_id, label, place FROM dancers WHERE class_id = ? ORDER BY place, id"
        return [Dancer(*row) for row in self.rows(query, class_id)]

    def dancer(self, dancer_id: int) -> Dancer:
        """One dancer. Raises BadInput if there is none."""
        found = self.rows("SELECT id, class_id, label, place FROM dancers WHERE id = ?", dancer_id)
        if not found:
            raise BadInput("This dancer is not in the library", "Choose one of those shown")
        return Dancer(*found[0])

    def labels_in_standing_order(self, class_id: int) -> list[str]:
        """The labels of a class as they stand, from the picture's left: what a line-up is proposed from."""
        return [one.label for one in self.dancers(class_id)]

    def set_line_up(self, class_id: int, labels: Sequence[str]) -> list[str]:
        """Put the dancers of a class into standing order; labels that are new are added. Whoever is not named stands behind them, for
        nobody is deleted by leaving a line out: their labels are given back. Raises BadInput over a label that is empty, long, strange
        or named twice, and then nothing has changed."""
        wanted = [_label(text) for text in labels]
        seen: set[str] = set()
        for label in wanted:
            if label.casefold() in seen:
                raise BadInput(f"The label {label} is named twice", "Give every dancer a label of their own")
            seen.add(label.casefold())
        there = {one.label.casefold(): one for one in self.dancers(class_id)}
        left = [one for key, one in there.items() if key not in seen]
        with self.together():
            for place, label in enumerate(wanted, 1):
                if (one := there.get(label.casefold())) is not None:
                    self.rows("UPDATE dancers SET place = ?, label = ? WHERE id = ?", place, label, one.id)
                else:
                    self.rows("INSERT INTO dancers (class_id, label, place) VALUES (?, ?, ?)", class_id, label, place)
            for place, one in enumerate(left, len(wanted) + 1):
                self.rows("UPDATE dancers SET place = ? WHERE id = ?", place, one.id)
        return [one.label for one in left]

    # Lessons, dances, reviews

    def lessons(self, class_id: int | None = None) -> list[Lesson]:
        """Lessons, of one class or of all, newest first."""
        query = "SELECT id, class_id, held_on, title FROM lessons WHERE ? IS NULL OR class_id = ? ORDER BY held_on DESC, id DESC"
        return [Lesson(*row) for row in self.rows(query, class_id, class_id)]

    def add_lesson(self, class_id: int, held_on: str, title: str) -> int:
        """A new lesson. Raises BadInput over a title that is empty or long, or a date that is none."""
        return self._add(
            "INSERT INTO lessons (class_id, held_on, title) VALUES (?, ?, ?)",
            class_id,
            day_of(held_on).isoformat(),
            name_of(title, "The lesson's title"),
        )

    def sheets(self) -> list[Sheet]:
        """Every dance sheet that a review was judged by, by title."""
        return [Sheet(*row) for row in self.rows("SELECT id, title, sheet FROM dances ORDER BY title, id")]

    def reviews(self, *, class_id: int | None = None, lesson_id: int | None = None) -> list[Kept]:
        """The reviews that the library knows, of a class, of a lesson, or all; in the order in which they were added."""
        query = """
            SELECT r.id, r.folder, r.job, c.name, d.title, r.class_id, r.lesson_id, r.consent_id, r.added_on, r.expires
            FROM reviews r LEFT JOIN clips c ON c.id = r.clip_id LEFT JOIN dances d ON d.id = r.dance_id
            WHERE (?1 IS NULL OR r.class_id = ?1) AND (?2 IS NULL OR r.lesson_id = ?2) ORDER BY r.id"""
        return [Kept(row[0], Path(row[1]), *row[2:]) for row in self.rows(query, class_id, lesson_id)]

    def add_review(
        self,
        folder: Path,
        *,
        job: str | None = None,
        class_id: int | None = None,
        lesson_id: int | None = None,
        consent_id: int | None = None,
        expires: str | None = None,
    ) -> int:
        """Remember a review folder, which need not be there yet; one that is known gets what is given here besides. expires: a date
        that holds until the review brings its own. A lesson's class is the review's."""
        place = str(folder.expanduser().resolve())
        if lesson_id is not None:
            class_id = int(self._one("SELECT class_id FROM lessons WHERE id = ?", lesson_id, "lesson"))
        with self.together():
            self.rows(
                """INSERT INTO reviews (folder, job, class_id, lesson_id, consent_id, expires, added_on) VALUES (?, ?, ?, ?, ?, ?, ?)
                ON CONFLICT (folder) DO UPDATE SET job = coalesce(excluded.job, job), class_id = coalesce(excluded.class_id, class_id),
                lesson_id = coalesce(excluded.lesson_id, lesson_id), consent_id = coalesce(excluded.consent_id, consent_id),
                expires = coalesce(excluded.expires, expires)""",
                place, job, class_id, lesson_id, consent_id, expires, date.today().isoformat(),
            )  # fmt: skip
            return int(self.rows("SELECT id FROM reviews WHERE folder = ?", place)[0][0])

    def out_of_lesson(self, review_id: int) -> None:
        """A review belongs to its lesson no longer; it stays with its class, and may be put into another lesson."""
        self.rows("UPDATE reviews SET lesson_id = NULL WHERE id = ?", review_id)

    def drop_review(self, review_id: int) -> None:
        """Forget that there was a review; clips and dances that belong to no other go with it."""
        with self.together():
            self.rows("DELETE FROM reviews WHERE id = ?", review_id)
            self.rows("DELETE FROM clips WHERE id NOT IN (SELECT clip_id FROM reviews WHERE clip_id IS NOT NULL)")
            self.rows(
                "DELETE FROM consents WHERE class_id IS NULL AND id NOT IN (SELECT consent_id FROM reviews WHERE consent_id > 0)"
            )

    def note_review(
        self, review_id: int, review: Mapping[str, Any], expires: str | None, by_hand: Sequence[tuple[str, str]]
    ) -> None:
        """Write down what a review is: its clip, its dance, the date at whose end it goes, what was put right by hand (kind, words)."""
        clip, dance = review["clip"], review.get("dance")
        with self.together():
            self.rows("INSERT OR IGNORE INTO clips (sha256, name, duration_s) VALUES (?, ?, ?)",
                      clip["sha256"], clip["name"], clip["duration_s"])  # fmt: skip
            if dance is not None:
                self.rows("INSERT OR IGNORE INTO dances (title, sheet) VALUES (?, ?)", dance["title"], dance["written"])
            self.rows(
                """UPDATE reviews SET clip_id = (SELECT id FROM clips WHERE sha256 = ?),
                dance_id = (SELECT id FROM dances WHERE sheet = ?), expires = ? WHERE id = ?""",
                clip["sha256"], None if dance is None else dance["written"], expires, review_id,
            )  # fmt: skip
            self.rows("DELETE FROM corrections WHERE review_id = ?", review_id)
            for place, (kind, words) in enumerate(by_hand, 1):
                self.rows("INSERT INTO corrections VALUES (?, ?, ?, ?)", review_id, place, kind, words)

    # Judgements, records of lessons, what was handed out

    def judge(self, lesson_id: int, dancer_id: int, criterion: str, level: str | None, words: str = "") -> None:
        """Keep a teacher's own judgement in place of an earlier one of the same lesson, dancer and criterion. level None: not
        assessable. Raises BadInput over an empty or long criterion or level."""
        self.rows(
            "INSERT OR REPLACE INTO judgements VALUES (?, ?, ?, ?, ?, ?)",
            lesson_id,
            dancer_id,
            name_of(criterion, "The criterion"),
            None if level is None else name_of(level, "The judgement"),
            " ".join(words.split()),
            date.today().isoformat(),
        )

    def take_back(self, lesson_id: int, dancer_id: int, criterion: str | None = None) -> None:
        """Delete a teacher's judgement for good, by one criterion or (None) by all of them, as if it had never been kept."""
        self.rows(
            "DELETE FROM judgements WHERE lesson_id = ?1 AND dancer_id = ?2 AND (?3 IS NULL OR criterion = ?3)",
            lesson_id, dancer_id, criterion,
        )  # fmt: skip
        self.rows("PRAGMA wal_checkpoint(TRUNCATE)")  # nor is it left in the file's log

    def judgements(self, *, lesson_id: int | None = None, dancer_id: int | None = None) -> list[Judgement]:
        """Judgements of a lesson or of a dancer, dancers in standing order, never by level."""
        query = """
            SELECT j.lesson_id, j.dancer_id, d.label, j.criterion, j.level, j.words, j.made_on
            FROM judgements j JOIN dancers d ON d.id = j.dancer_id JOIN lessons l ON l.id = j.lesson_id
            WHERE (?1 IS NULL OR j.lesson_id = ?1) AND (?2 IS NULL OR j.dancer_id = ?2)
            ORDER BY l.held_on, l.id, d.place, j.criterion"""
        return [Judgement(*row) for row in self.rows(query, lesson_id, dancer_id)]

    def store_lesson_record(self, record: Mapping[str, Any], lesson_id: int | None = None) -> int:
        """Keep a lesson's own record as strict JSON, in place of the lesson's earlier one; its id. Raises ValueError if it is no JSON."""
        text = json.dumps(record, ensure_ascii=False, allow_nan=False)
        with self.together():
            self.rows("DELETE FROM lesson_records WHERE lesson_id = ?", lesson_id)
            return self._add(
                "INSERT INTO lesson_records (lesson_id, made_on, record) VALUES (?, ?, ?)",
                lesson_id,
                date.today().isoformat(),
                text,
            )

    def lesson_records(self, lesson_id: int | None = None) -> list[dict[str, Any]]:
        """The records of a lesson, or all of them, oldest first."""
        query = "SELECT record FROM lesson_records WHERE ?1 IS NULL OR lesson_id = ?1 ORDER BY id"
        return [dict(json.loads(row[0])) for row in self.rows(query, lesson_id)]

    def log_export(self, what: str, name: str, *, dancer_id: int | None = None, folder: Path | None = None) -> None:
        """Write down that something was handed out: what it is, the file's name, whom it is about, which review it came from."""
        self.rows(
            "INSERT INTO exports (made_on, what, name, dancer_id, folder) VALUES (?, ?, ?, ?, ?)",
            date.today().isoformat(), what, name, dancer_id, None if folder is None else str(folder.resolve()),
        )  # fmt: skip

    def exports(self) -> list[Export]:
        """Everything that was handed out, oldest first."""
        return [Export(*row) for row in self.rows("SELECT made_on, what, name, dancer_id, folder FROM exports ORDER BY id")]

    def _add(self, query: str, *values: object) -> int:
        self.rows(query, *values)
        return int(self.rows("SELECT last_insert_rowid()")[0][0])

    def _one(self, query: str, value: int, what: str) -> Any:
        found = self.rows(query, value)
        if not found:
            raise BadInput(f"This {what} is not in the library", "Choose one of those shown")
        return found[0][0]


def note_handed_out(folder: Path | None, what: str, name: str, label: str | None = None) -> None:
    """Write down that a file of a review was handed out; folder None: of no review, such as a lesson. Raises BadStore.

    label: of the dancer whose file it is, if one has it. Kept is which dancer of the class that is, for a review may number anew.
    """
    with open_library() as library:
        known = library.rows("SELECT class_id FROM reviews WHERE folder = ? AND class_id > 0", str(folder and folder.resolve()))
        dancers = library.dancers(known[0][0]) if known and label else []
        whose = {one.label.casefold(): one.id for one in dancers}.get((label or "").casefold())
        library.log_export(what, name, dancer_id=whose, folder=folder)


def remembered(folder: Path, expires: str) -> str:
    """Have the library know of a review made on the command line, so that it goes after its last day; what is said of that. The review
    stands even where the library cannot be written."""
    try:
        with open_library() as library:
            library.add_review(folder)
    except BadStore as error:
        return f"This review is not noted down to be deleted after its last day. {error}"
    return f"It is deleted after {told_day(expires)}, the next time the page is opened or by: countfall sweep"


def name_of(text: str, what: str) -> str:
    """A name as it is kept: one line, neither empty nor long. Raises BadInput that begins with `what`."""
    name = " ".join(text.split())
    most = SETTINGS.library.name_letters
    if not name:
        raise BadInput(f"{what} is empty", "Type a few words")
    if len(name) > most or not name.isprintable():
        raise BadInput(f"{what} is longer than {most} letters, or holds some that cannot be printed", "Take a shorter one")
    return name


def _label(text: str) -> str:
    """A label of a line-up as it is kept. Raises BadInput that says which of them cannot be."""
    try:
        return label_of(text, SETTINGS.desk)
    except BadInput as error:
        shown = "".join(letter for letter in " ".join(text.split()) if letter.isprintable())
        short = shown if len(shown) < SETTINGS.desk.label_letters else f"{shown[:12].rstrip()}…"
        raise BadInput(error.what.replace("The label", f"The label {short}".rstrip(), 1), error.remedy) from error


def day_of(text: str) -> date:
    """A day from its ISO date. Raises BadInput."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise BadInput(f"{text} is no date", "Write it as year-month-day, such as 2031-07-18") from error


def looks_like_a_name(label: str) -> bool:
    """Whether a label looks like somebody's full name: two words or more of three letters or more, each with a capital."""
    return len(re.findall(r"\b[^\W\d_a-z][^\W\d_]{2,}", label)) >= 2
