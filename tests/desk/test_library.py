"""The library: its file, its steps from older versions, classes, lessons, judgements, and who agreed to what."""

from __future__ import annotations

import json
import os
import re
import sqlite3
from datetime import date
from pathlib import Path

import pytest

from motion import library_schema
from motion.consent_page import consent_html
from motion.errors import BadInput, BadStore
from motion.library import Library, library_file, looks_like_a_name, open_library
from motion.library_consent import (
    ANSWERS,
    Who,
    add_no,
    add_yes,
    class_yes,
    consents,
    refusals,
    standing,
    take_back,
    usual_last_day,
    without_yes,
    yes_for_one_review,
)
from motion.library_schema import MIGRATIONS, open_database
from motion.settings import SETTINGS

TODAY = date(2031, 3, 1)


@pytest.fixture
def tuesday(library: Library) -> int:
    """A class of three."""
    class_id = library.add_class("Tuesday beginners")
    library.set_line_up(class_id, ["Red", "Blue", "K"])
    return class_id


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
        database.execute("INSERT INTO consents VALUES (4, 7, 9, 'adult', '', 'practice', '2031-02-01', '2031-07-18', NULL)")
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


def test_a_step_that_fails_leaves_the_library_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "old.sqlite3"
    database = of_version(path, 1)
    database.execute("INSERT INTO classes VALUES (7, 'Evening')")
    database.close()
    broken = (*MIGRATIONS[:1], "CREATE TABLE half (id INTEGER); CREATE TABLE classes (id INTEGER)")
    monkeypatch.setattr(library_schema, "MIGRATIONS", broken)
    with pytest.raises(BadStore):
        open_database(path)
    monkeypatch.setattr(library_schema, "MIGRATIONS", MIGRATIONS)
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


def test_foreign_keys_hold_and_a_class_takes_its_dancers_along(library: Library, tuesday: int) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        library.rows("INSERT INTO dancers (class_id, label, place) VALUES (99, 'X', 1)")
    lesson = library.add_lesson(tuesday, "2031-02-25", "First")
    red = library.dancers(tuesday)[0]
    library.judge(lesson, red.id, "On the beat", "often")
    add_yes(library, [red.id], ("adult",), "2031-07-18", today=TODAY)
    library.rows("DELETE FROM classes WHERE id = ?", tuesday)
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


def test_a_line_up_keeps_standing_order_and_nobody_is_lost_by_a_missing_line(library: Library, tuesday: int) -> None:
    ids = {one.label: one.id for one in library.dancers(tuesday)}
    assert library.set_line_up(tuesday, ["k", " Green  shirt ", "Red"]) == ["Blue"]
    assert library.labels_in_standing_order(tuesday) == ["k", "Green shirt", "Red", "Blue"]
    assert {one.label: one.id for one in library.dancers(tuesday) if one.label in ids} == {"Red": ids["Red"], "Blue": ids["Blue"]}
    assert library.dancers(tuesday)[0].id == ids["K"]


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        (["Red", ""], "The label is empty"),
        (["Red", "Maximiliane Musterfrau"], "Take a shorter one, not a full name"),
        (["Red", "red"], "named twice"),
        (["Red", "a\nb", "<b>"], "The label holds '<'"),
    ],
)
def test_bad_labels_are_refused_and_nothing_has_changed(library: Library, tuesday: int, labels: list[str], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        library.set_line_up(tuesday, labels)
    assert library.labels_in_standing_order(tuesday) == ["Red", "Blue", "K"]


def test_what_looks_like_a_full_name() -> None:
    assert [looks_like_a_name(label) for label in ("Mia Miller", "Åsa Öberg", "Mia", "Red shoes", "K", "Red 2")] == [
        True, True, False, False, False, False
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\x07b"])
def test_bad_names_of_classes(library: Library, name: str) -> None:
    with pytest.raises(BadInput, match="The class's name"):
        library.add_class(name)


def test_a_class_is_there_once(library: Library, tuesday: int) -> None:
    with pytest.raises(BadInput, match="There is a class TUESDAY beginners already"):
        library.add_class("TUESDAY beginners")


def test_lessons_and_judgements(library: Library, tuesday: int) -> None:
    first, second = library.add_lesson(tuesday, "2031-02-25", "Turns"), library.add_lesson(tuesday, "2031-03-04", "Restart")
    assert [one.title for one in library.lessons(tuesday)] == ["Restart", "Turns"]
    with pytest.raises(BadInput, match="4 March is no date"):
        library.add_lesson(tuesday, "4 March", "Turns")
    red, blue, _ = library.dancers(tuesday)
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


def test_a_review_takes_its_lessons_class_and_is_known_once(library: Library, tuesday: int, tmp_path: Path) -> None:
    lesson = library.add_lesson(tuesday, "2031-02-25", "Turns")
    one = library.add_review(tmp_path / "a.review", job="j1")
    assert library.add_review(tmp_path / "x" / ".." / "a.review", lesson_id=lesson) == one
    (kept,) = library.reviews(class_id=tuesday)
    assert (kept.job, kept.lesson_id, kept.class_id) == ("j1", lesson, tuesday)
    with pytest.raises(BadInput, match="This lesson is not in the library"):
        library.add_review(tmp_path / "b.review", lesson_id=99)


# --- who agreed


def test_a_childs_own_yes_is_needed_beside_a_guardians(library: Library, tuesday: int) -> None:
    red, blue, k = (one.id for one in library.dancers(tuesday))
    add_yes(library, [red], ("guardian", "child"), "2031-07-18", said_by="mother", today=TODAY)
    add_yes(library, [blue], ("guardian",), "2031-07-18", today=TODAY)
    said = [(one.until, one.words) for one in standing(library, tuesday, today=TODAY)]
    assert said == [
        (date(2031, 7, 18), "agreed until 18 Jul 2031"),
        (None, "the child’s own yes is missing"),
        (None, "no yes yet"),
    ]
    add_yes(library, [blue], ("child",), "2031-06-01", today=TODAY)
    add_yes(library, [k], ("adult",), "2031-12-24", today=TODAY)
    assert class_yes(library, tuesday, today=TODAY).until == date(2031, 6, 1)  # the earlier of the two
    assert class_yes(library, tuesday, today=date(2031, 6, 1)).missing == ()  # the last day still holds
    later = class_yes(library, tuesday, today=date(2031, 6, 2))
    assert (later.agreed, later.missing) == (("Red", "K"), ("Blue",))
    assert consents(library, dancer_id=red)[0].said_by == "mother"
    assert without_yes(library, tuesday, ["K", "Blue", "Nobody"], today=date(2031, 6, 2)) == ("Blue", "Nobody")


def test_a_yes_taken_back_no_longer_holds_and_a_new_one_does(library: Library, tuesday: int) -> None:
    red = library.dancers(tuesday)[0].id
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    take_back(library, red, today=date(2031, 3, 5))
    assert standing(library, tuesday, today=date(2031, 3, 6))[0].words == "taken back on 5 Mar 2031: delete what is held"
    with pytest.raises(BadInput, match="Nobody in this class has agreed"):
        class_yes(library, tuesday, today=date(2031, 3, 6))
    add_yes(library, [red], ("adult",), "2031-07-18", today=date(2031, 3, 7))
    assert class_yes(library, tuesday, today=date(2031, 3, 7)).agreed == ("Red",)


def stands(library: Library, class_id: int, day: int) -> list[str]:
    return [one.words for one in standing(library, class_id, today=date(2031, 3, day))]


NO = "no, since {} Mar 2031: leave them out, delete what is held"


@pytest.mark.parametrize("who", ["guardian", "child"])
def test_one_no_is_enough_and_the_same_persons_later_yes_takes_its_place(library: Library, tuesday: int, who: Who) -> None:
    """The other one's yes is neither lost nor enough."""
    other: Who = "child" if who == "guardian" else "guardian"
    red, blue, _ = (one.id for one in library.dancers(tuesday))
    add_yes(library, [red, blue], ("guardian", "child"), "2031-07-18", today=TODAY)
    add_no(library, [red], (who,), said_by="aunt", today=date(2031, 3, 5))
    one = standing(library, tuesday, today=date(2031, 3, 5))[0]
    assert (one.no, one.until, one.words) == (True, None, NO.format(5))
    assert one.said == f"no from {who} (aunt), 5 Mar 2031: practice clips, seen by the teacher"
    holds = class_yes(library, tuesday, today=date(2031, 3, 5))
    assert (holds.agreed, holds.missing) == (("Blue",), ("Red", "K"))
    assert without_yes(library, tuesday, ["Red", "Blue"], today=date(2031, 3, 5)) == ("Red",)
    assert [(each.who, each.withdrawn_on) for each in consents(library, dancer_id=red)] == [
        ("guardian", "2031-03-05" if who == "guardian" else None),
        ("child", "2031-03-05" if who == "child" else None),
    ]
    add_yes(library, [red], (other,), "2031-07-18", today=date(2031, 3, 6))
    assert stands(library, tuesday, 6)[0] == NO.format(5)
    add_yes(library, [red], (who,), "2031-06-01", today=date(2031, 3, 7))
    assert stands(library, tuesday, 7)[0] == "agreed until 1 Jun 2031"
    assert refusals(library)[0].replaced_on == "2031-03-07"
    add_no(library, [red], (who,), today=date(2031, 3, 8))
    assert stands(library, tuesday, 8)[0] == NO.format(8)


def test_taking_a_yes_back_does_not_take_a_no_away(library: Library, tuesday: int) -> None:
    red = library.dancers(tuesday)[0].id
    add_yes(library, [red], ("guardian", "child"), "2031-07-18", today=TODAY)
    add_no(library, [red], ("child",), today=TODAY)
    take_back(library, red, today=date(2031, 3, 5))
    assert stands(library, tuesday, 6)[0] == NO.format(1)
    assert [one.withdrawn_on for one in consents(library)] == ["2031-03-05", "2031-03-01"]


def test_answers_of_one_day_hold_in_the_order_in_which_they_were_written_down(library: Library, tuesday: int) -> None:
    red = library.dancers(tuesday)[0].id
    for yes in (False, True, False, True):
        if yes:
            add_yes(library, [red], ("guardian", "child"), "2031-07-18", today=TODAY)
        else:
            add_no(library, [red], ("guardian", "child"), today=TODAY)
        assert (without_yes(library, tuesday, ["Red"], today=TODAY) == ()) == yes


def test_answers_hold_by_the_day_on_which_they_were_said(library: Library, tuesday: int) -> None:
    """A slip that is written down late, and was signed before the answer that is there, changes nothing."""
    red, blue, _ = (one.id for one in library.dancers(tuesday))
    add_no(library, [red], ("adult",), said_on="2031-03-03", today=date(2031, 3, 9))
    add_yes(library, [red], ("adult",), "2031-07-18", given_on="2031-03-02", today=date(2031, 3, 9))
    assert stands(library, tuesday, 9)[0] == NO.format(3)
    assert consents(library, dancer_id=red)[0].withdrawn_on == "2031-03-03"
    add_yes(library, [blue], ("adult",), "2031-07-18", given_on="2031-03-03", today=date(2031, 3, 9))
    add_no(library, [blue], ("adult",), said_on="2031-03-02", today=date(2031, 3, 9))
    assert stands(library, tuesday, 9)[1] == "agreed until 18 Jul 2031"
    assert refusals(library, dancer_id=blue)[0].replaced_on == "2031-03-03"


@pytest.mark.parametrize("no", ["guardian", "child", "adult"])
@pytest.mark.parametrize("yes", ["guardian", "child", "adult"])
def test_whose_yes_takes_the_place_of_whose_no(library: Library, tuesday: int, no: Who, yes: Who) -> None:
    """A grown-up's own yes stands for a guardian's, whom they no longer have; a guardian's never for the dancer's own no."""
    red, blue, _ = (one.id for one in library.dancers(tuesday))
    add_no(library, [red], (no,), today=TODAY)
    add_yes(library, [red], (yes,), "2031-07-18", today=TODAY)
    over = no == yes or {no, yes} == {"child", "adult"} or yes == "adult"
    assert (refusals(library)[0].replaced_on is not None) == over == (yes in ANSWERS[no])
    add_yes(library, [blue], (yes,), "2031-07-18", today=TODAY)
    add_no(library, [blue], (no,), today=TODAY)
    assert (consents(library, dancer_id=blue)[0].withdrawn_on is not None) == over
    assert without_yes(library, tuesday, ["Blue"], today=TODAY) == ("Blue",)


def test_bad_noes(library: Library, tuesday: int) -> None:
    red = library.dancers(tuesday)[0].id
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    for ids, who, day, said in (
        ([red], ("adult",), "2031-03-02", "The no is dated 2 Mar 2031, which is yet to come"),
        ([], ("adult",), None, "Nobody is chosen. Choose whose no it is, and who said it"),
        ([red], (), None, "Nobody is chosen"),
        ([red, 99], ("adult",), None, "not in the library"),
    ):
        with pytest.raises(BadInput, match=said):
            add_no(library, ids, who, said_on=day, today=TODAY)
    assert refusals(library) == []  # all or none
    assert class_yes(library, tuesday, today=TODAY).agreed == ("Red",)


@pytest.mark.parametrize(
    ("until", "said"),
    [
        ("2031-02-28", "The last day, 28 Feb 2031, has passed"),
        ("2033-01-01", "more than 400 days away"),
        ("soon", "soon is no date"),
        ("2031-02-30", "2031-02-30 is no date"),
    ],
)
def test_bad_last_days(library: Library, tuesday: int, until: str, said: str) -> None:
    red = library.dancers(tuesday)[0].id
    with pytest.raises(BadInput, match=said):
        add_yes(library, [red], ("adult",), until, today=TODAY)
    with pytest.raises(BadInput, match=said):
        yes_for_one_review(library, "myself", until, today=TODAY)
    assert consents(library) == []


def test_other_bad_agreements(library: Library, tuesday: int) -> None:
    red = library.dancers(tuesday)[0].id
    with pytest.raises(BadInput, match="is yet to come"):
        add_yes(library, [red], ("adult",), "2031-07-18", given_on="2031-03-02", today=TODAY)
    with pytest.raises(BadInput, match="Nobody is chosen"):
        add_yes(library, [], ("adult",), "2031-07-18", today=TODAY)
    with pytest.raises(BadInput, match="not in the library"):
        add_yes(library, [red, 99], ("adult",), "2031-07-18", today=TODAY)
    assert consents(library) == []  # all or none


def test_the_last_day_that_is_proposed_is_as_long_as_a_review_is_kept() -> None:
    assert (usual_last_day(TODAY) - TODAY).days == SETTINGS.desk.kept_days


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
