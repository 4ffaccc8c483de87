"""The library's one file: readable by its owner only, brought up to date step by step, and never touched when it cannot be read."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from motion.base.errors import BadStore
from motion.review.settings import SETTINGS

#: Every step from an empty file on, in the order in which they were released; the file's user_version counts those that it has
#: had. A step that was released is never changed. No statement holds a semicolon of its own.
MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE classes (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE);
    CREATE TABLE dancers (
        id INTEGER PRIMARY KEY, class_id INTEGER NOT NULL REFERENCES classes ON DELETE CASCADE,
        label TEXT NOT NULL COLLATE NOCASE, place INTEGER NOT NULL, UNIQUE (class_id, label));
    CREATE TABLE dances (id INTEGER PRIMARY KEY, title TEXT NOT NULL, sheet TEXT NOT NULL UNIQUE);
    CREATE TABLE lessons (
        id INTEGER PRIMARY KEY, class_id INTEGER NOT NULL REFERENCES classes ON DELETE CASCADE,
        held_on TEXT NOT NULL, title TEXT NOT NULL);
    CREATE TABLE clips (id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, name TEXT NOT NULL, duration_s REAL);
    CREATE TABLE consents (
        id INTEGER PRIMARY KEY, class_id INTEGER REFERENCES classes ON DELETE CASCADE,
        dancer_id INTEGER REFERENCES dancers ON DELETE CASCADE,
        who TEXT NOT NULL CHECK (who IN ('myself', 'adult', 'guardian', 'child', 'others')),
        said_by TEXT NOT NULL, purpose TEXT NOT NULL, given_on TEXT NOT NULL, until TEXT NOT NULL, withdrawn_on TEXT);
    CREATE TABLE reviews (
        id INTEGER PRIMARY KEY, folder TEXT NOT NULL UNIQUE, job TEXT,
        clip_id INTEGER REFERENCES clips ON DELETE SET NULL, lesson_id INTEGER REFERENCES lessons ON DELETE SET NULL,
        class_id INTEGER REFERENCES classes ON DELETE SET NULL, dance_id INTEGER REFERENCES dances ON DELETE SET NULL,
        consent_id INTEGER REFERENCES consents ON DELETE SET NULL, added_on TEXT NOT NULL, expires TEXT);
    CREATE TABLE corrections (
        review_id INTEGER NOT NULL REFERENCES reviews ON DELETE CASCADE, place INTEGER NOT NULL, kind TEXT NOT NULL,
        words TEXT NOT NULL, PRIMARY KEY (review_id, place));
    CREATE TABLE judgements (
        lesson_id INTEGER NOT NULL REFERENCES lessons ON DELETE CASCADE,
        dancer_id INTEGER NOT NULL REFERENCES dancers ON DELETE CASCADE,
        criterion TEXT NOT NULL, level TEXT, words TEXT NOT NULL, made_on TEXT NOT NULL,
        PRIMARY KEY (lesson_id, dancer_id, criterion))
    """,
    """
    CREATE TABLE lesson_records (
        id INTEGER PRIMARY KEY, lesson_id INTEGER REFERENCES lessons ON DELETE CASCADE, made_on TEXT NOT NULL, record TEXT NOT NULL);
    CREATE TABLE exports (
        id INTEGER PRIMARY KEY, made_on TEXT NOT NULL, what TEXT NOT NULL, name TEXT NOT NULL,
        dancer_id INTEGER REFERENCES dancers ON DELETE CASCADE, folder TEXT)
    """,
    # A no stands beside the yes: given_on is the day on which it was said, until is '', withdrawn_on the day of the yes in its place.
    """
    ALTER TABLE consents ADD COLUMN answer TEXT NOT NULL DEFAULT 'yes' CHECK (answer IN ('yes', 'no'))
    """,
    # withdrawn_on is the day at which a yes ended, whatever ended it: that it was taken back by itself is still known without a no.
    """
    ALTER TABLE consents ADD COLUMN taken_back_on TEXT;
    UPDATE consents SET taken_back_on = withdrawn_on WHERE answer = 'yes'
    """,
)


def open_database(path: Path) -> sqlite3.Connection:
    """Open the file, made if it is missing, with every step done. Raises BadStore; a file that cannot be read stays as it is.

    Its folder is open to its owner only, and so are the file and whatever SQLite puts beside it. What is deleted is overwritten.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        path.parent.chmod(0o700)
        # Made here and not by SQLite, which would leave it readable to others; its helper files take over these rights.
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        path.chmod(0o600)
    except OSError as error:
        raise BadStore(f"The library in {path.parent} cannot be opened", "Check that this folder is yours") from error
    with told(path):
        database = sqlite3.connect(path, timeout=SETTINGS.library.busy_s, isolation_level=None)
    try:
        with told(path):
            database.row_factory = sqlite3.Row
            database.execute("PRAGMA foreign_keys = ON")
            database.execute("PRAGMA secure_delete = ON")
            if _version(database) > len(MIGRATIONS):
                raise BadStore(
                    f"The library {path} was written by a newer version of this program", "Update the program to open it"
                )
            database.execute("PRAGMA journal_mode = WAL")
            _migrate(database)
    except BaseException:
        database.close()
        raise
    return database


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """What SQLite has to complain of, in one plain sentence. What breaks a rule of the tables is a fault of ours and flies on."""
    try:
        yield
    except sqlite3.IntegrityError:
        raise
    except sqlite3.OperationalError as error:
        words = str(error)
        if "locked" in words or "busy" in words:
            raise BadStore("The library is in use by another window of this program", "Wait a moment and try again") from error
        if "full" in words:
            raise BadStore(f"The disk with {path} is full", "Make room and try again") from error
        raise BadStore(f"The library {path} cannot be read or written", "Check that you may write there") from error
    except sqlite3.DatabaseError as error:
        raise BadStore(
            f"The library {path} is damaged or was not written by this program",
            "Nothing was changed. Put a copy of it back, or move it elsewhere to begin anew: reviews are kept in their own folders",
        ) from error


def _migrate(database: sqlite3.Connection) -> None:
    """All steps that are missing, together or not at all."""
    if _version(database) == len(MIGRATIONS):
        return
    database.execute("BEGIN IMMEDIATE")  # whoever waits here finds the work done and does nothing
    try:
        for step in range(_version(database), len(MIGRATIONS)):
            for statement in MIGRATIONS[step].split(";"):
                database.execute(statement)
            database.execute(f"PRAGMA user_version = {step + 1}")
        database.execute("COMMIT")
    except BaseException:
        database.execute("ROLLBACK")
        raise


def _version(database: sqlite3.Connection) -> int:
    return int(database.execute("PRAGMA user_version").fetchone()[0])
