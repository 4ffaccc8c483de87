"""The library: its file, its steps from older versions, classes, lessons and judgements."""

from __future__ import annotations

import json
import os
import re
import sqlite3
from datetime import date
from pathlib import Path

import pytest

from motion.base.errors import BadInput, BadStore
from motion.library import schema
from motion.library.classes import Library, library_file, looks_like_a_name, open_library
from motion.library.consent import add_no, add_yes, class_yes, consents, never_said, refusals, without_yes
from motion.library.schema import MIGRATIONS, open_database
from motion.tell.consent_form import consent_html

TODAY = date(2031, 3, 1)


def of_version(path: Path, version: int) -> sqlite3.Connection:
    """A library as an older version of the program left it."""
    database = sqlite3.connect(path, isolation_level=None)
    for step in range(version):
        database.executescript(MIGRATIONS[step])
    database.execute(f"PRAGMA user_version = {version}")
    return database


# --- the file


@pytest.mark.parametrize("version", range(len(MIGRATIONS)))
def test_a_library_of_an_older_version_is_brought_up_to_date_and_loses_nothing(tmp_path: Path, version: int) -> None:
    path = tmp_path / "old.sqlite3"
    database = of_version(path, version)
    if version:
        database.execute("INSERT INTO classes VALUES (7, 'Evening')")
        database.execute("INSERT INTO dancers VALUES (9, 7, 'Red', 1)")
        database.execute(
            "INSERT INTO consents (id, class_id, dancer_id, who, said_by, purpose, given_on, until) "
            "VALUES (4, 7, 9, 'adult', '', 'practice', '2031-02-01', '2031-07-18')"
        )
    database.close()
    with open_library(path) as library:
        if version:
            assert library.labels_in_standing_order(7) == ["Red"]
            assert class_yes(library, 7, today=TODAY).agreed == ("Red",)  # a yes stays a yes
            assert refusals(library) == []
            add_no(library, [9], ("adult",), today=TODAY)
            assert without_yes(library, 7, ["Red"], today=TODAY) == ("Red",)
        library.store_lesson_record({"new": True})
        assert library.lesson_records() == [{"new": True}]
        assert library.rows("PRAGMA user_version")[0][0] == len(MIGRATIONS)
    # The same tables as in a library that was made just now.
    with open_library(tmp_path / "new.sqlite3") as new, open_library(path) as old:
        query = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name"
        assert [tuple(row) for row in new.rows(query)] == [tuple(row) for row in old.rows(query)]


def test_a_yes_that_an_older_version_knew_as_taken_back_stays_so_whatever_no_is_taken_out(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite3"
    database = of_version(path, 2)
    database.execute("INSERT INTO classes VALUES (7, 'Evening')")
    database.execute("INSERT INTO dancers VALUES (9, 7, 'Red', 1)")
    database.execute("INSERT INTO consents VALUES (4, 7, 9, 'adult', '', 'practice', '2031-02-01', '2031-07-18', '2031-02-20')")
    database.close()
    with open_library(path) as library:
        add_no(library, [9], ("adult",), said_on="2031-02-20", today=TODAY)
        never_said(library, refusals(library)[0].id)
        assert [one.withdrawn_on for one in consents(library)] == ["2031-02-20"]


def test_a_step_that_fails_leaves_the_library_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "old.sqlite3"
    database = of_version(path, 1)
    database.execute("INSERT INTO classes VALUES (7, 'Evening')")
    database.close()
    broken = (*MIGRATIONS[:1], "CREATE TABLE half (id INTEGER); CREATE TABLE classes (id INTEGER)")
    monkeypatch.setattr(schema, "MIGRATIONS", broken)
    with pytest.raises(BadStore):
        open_database(path)
    monkeypatch.setattr(schema, "MIGRATIONS", MIGRATIONS)
    with open_library(path) as library:
        assert [group.name for group in library.classes()] == ["Evening"]
        assert library.rows("SELECT 1 FROM sqlite_master WHERE name = 'half'") == []


def test_a_library_of_a_newer_version_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "newer.sqlite3"
    database = of_version(path, len(MIGRATIONS))
    database.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    database.close()
    before = path.read_bytes()
    with pytest.raises(BadStore, match=r"newer version of this program\. Update the program to open it\.$"):
        open_library(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"This is a letter, not a library. " * 100, b"SQLite format 3\x00" + b"\xff" * 5000])
def test_a_broken_library_gives_one_plain_sentence_and_nothing_is_lost(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "broken.sqlite3"
    path.write_bytes(content)
    with pytest.raises(BadStore) as caught:
        open_library(path)
    assert re.search(r"is damaged or was not written by this program\. Nothing was changed\.", str(caught.value))
    assert path.read_bytes() == content


def test_a_library_damaged_inside_is_told_when_it_is_met(tmp_path: Path) -> None:
    path = tmp_path / "torn.sqlite3"
    with open_library(path) as library:
        class_id = library.add_class("Evening")
        library.set_line_up(class_id, [f"D{n}" for n in range(400)])
        library.settle()
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xab" * (len(content) - 4096)
    path.write_bytes(bytes(content))
    with open_library(path) as library, pytest.raises(BadStore, match="is damaged"):
        library.dancers(class_id)


def test_foreign_keys_hold_and_a_class_takes_its_dancers_along(library: Library, beginners: int) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        library.rows("INSERT INTO dancers (class_id, label, place) VALUES (99, 'X', 1)")
    lesson = library.add_lesson(beginners, "2031-02-25", "First")
    red = library.dancers(beginners)[0]
    library.judge(lesson, red.id, "On the beat", "often")
    add_yes(library, [red.id], ("adult",), "2031-07-18", today=TODAY)
    library.rows("DELETE FROM classes WHERE id = ?", beginners)
    for table in ("dancers", "lessons", "judgements", "consents"):
        assert library.rows(f"SELECT count(*) FROM {table}")[0][0] == 0, table


@pytest.mark.skipif(os.name != "posix", reason="rights of files are a matter of POSIX systems")
def test_only_its_owner_may_read_it(library: Library) -> None:
    before = os.umask(0)
    try:
        library.add_class("Evening")  # has SQLite make its files beside it
        beside = sorted(library_file().parent.iterdir())
        assert [path.name for path in beside] == ["library.sqlite3", "library.sqlite3-shm", "library.sqlite3-wal"]
        assert [oct(path.stat().st_mode & 0o777) for path in beside] == ["0o600"] * 3
        assert library_file().parent.stat().st_mode & 0o777 == 0o700
    finally:
        os.umask(before)


def test_another_window_that_writes_is_told_as_such(library: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    library.rows("PRAGMA busy_timeout = 0")
    with open_library() as other, other.together(), pytest.raises(BadStore, match="in use by another window"):
        library.add_class("Evening")


# --- classes, lessons, judgements


def test_a_line_up_keeps_standing_order_and_nobody_is_lost_by_a_missing_line(library: Library, beginners: int) -> None:
    ids = {one.label: one.id for one in library.dancers(beginners)}
    assert library.set_line_up(beginners, ["k", " Green  shirt ", "Red"]) == ["Blue"]
    assert library.labels_in_standing_order(beginners) == ["k", "Green shirt", "Red", "Blue"]
    assert {one.label: one.id for one in library.dancers(beginners) if one.label in ids} == {"Red": ids["Red"], "Blue": ids["Blue"]}
    assert library.dancers(beginners)[0].id == ids["K"]


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        (["Red", ""], "The label is empty"),
        (
            ["Red", "Maximiliane Musterfrau"],
            r"The label Maximiliane… has 22 letters, but at most 16 are kept\. Take a shorter one, not a full name",
        ),
        (["Red", "Blue", "Lilac" * 4], "The label LilacLilacLi… has 20 letters"),
        (["Red", "red"], "named twice"),
        (["Red", "a\nb", "<b>"], "The label <b> holds '<'"),
        (["Red", "a\x07b"], "The label ab holds a character that cannot be printed"),
    ],
)
def test_bad_labels_are_refused_and_nothing_has_changed(library: Library, beginners: int, labels: list[str], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        library.set_line_up(beginners, labels)
    assert library.labels_in_standing_order(beginners) == ["Red", "Blue", "K"]


def test_what_looks_like_a_full_name() -> None:
    assert [looks_like_a_name(label) for label in ("Mia Miller", "Åsa Öberg", "Mia", "Red shoes", "K", "Red 2")] == [
        True, True, False, False, False, False
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\x07b"])
def test_bad_names_of_classes(library: Library, name: str) -> None:
    with pytest.raises(BadInput, match="The class's name"):
        library.add_class(name)


def test_a_class_is_there_once(library: Library, beginners: int) -> None:
    with pytest.raises(BadInput, match="There is a class TUESDAY beginners already"):
        library.add_class("TUESDAY beginners")


def test_lessons_and_judgements(library: Library, beginners: int) -> None:
    first, second = library.add_lesson(beginners, "2031-02-25", "Turns"), library.add_lesson(beginners, "2031-03-04", "Restart")
    assert [one.title for one in library.lessons(beginners)] == ["Restart", "Turns"]
    with pytest.raises(BadInput, match="4 March is no date"):
        library.add_lesson(beginners, "4 March", "Turns")
    red, blue, _ = library.dancers(beginners)
    library.judge(first, blue.id, "On the beat", "rarely off")
    library.judge(first, red.id, "On the beat", "often off", " her  words ")
    library.judge(first, red.id, "On the beat", None)  # in place of the one before
    told = [(one.label, one.level, one.words) for one in library.judgements(lesson_id=first)]
    assert told == [("Red", None, ""), ("Blue", "rarely off", "")]
    assert library.judgements(lesson_id=second) == []
    library.judge(first, red.id, "With the others", "often", "leads")
    library.take_back(first, red.id, "On the beat")
    assert [(one.label, one.criterion) for one in library.judgements(lesson_id=first)] == [
        ("Red", "With the others"),
        ("Blue", "On the beat"),
    ]
    library.take_back(first, red.id)
    assert [one.label for one in library.judgements()] == ["Blue"]
    library.store_lesson_record({"lost": [3, 7]}, first)
    library.store_lesson_record({"lost": [3]}, first)
    assert library.lesson_records(first) == [{"lost": [3]}]
    with pytest.raises(ValueError, match="not JSON compliant"):
        library.store_lesson_record({"lost": float("nan")}, first)
    assert library.lesson_records(first) == [{"lost": [3]}]


def test_a_review_takes_its_lessons_class_and_is_known_once(library: Library, beginners: int, tmp_path: Path) -> None:
    lesson = library.add_lesson(beginners, "2031-02-25", "Turns")
    one = library.add_review(tmp_path / "a.review", job="j1")
    assert library.add_review(tmp_path / "x" / ".." / "a.review", lesson_id=lesson) == one
    (kept,) = library.reviews(class_id=beginners)
    assert (kept.job, kept.lesson_id, kept.class_id) == ("j1", lesson, beginners)
    with pytest.raises(BadInput, match="This lesson is not in the library"):
        library.add_review(tmp_path / "b.review", lesson_id=99)


# --- on paper and on the disk


def test_the_page_to_print_says_what_where_who_and_when_and_nothing_from_elsewhere() -> None:
    html = consent_html("Kids & <Co>", date(2031, 7, 18))
    for words in ("What is filmed", "Where it stays", "Who sees it", "When it goes", "parent or guardian", "For the child"):
        assert words in html
    assert html.count("18 Jul 2031") == 2
    assert '<body contenteditable="true"' in html  # a school adapts it without another program
    for words in (
        "the teacher deletes the clip from phone, card and computer",
        "goes 400 days after it was written",
        "Responsible for",
    ):
        assert words in html  # nothing is promised that the program does not do
    assert "Kids &amp; &lt;Co&gt;" in html
    assert not re.search(r"https?:|<script|<link|<img|url\(", html)


def test_records_are_strict_json_on_the_disk(library: Library) -> None:
    library.store_lesson_record({"words": "grüße"})
    assert json.loads(library.rows("SELECT record FROM lesson_records")[0][0]) == {"words": "grüße"}
