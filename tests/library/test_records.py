"""Records of lessons as the library page tells them, and deleting one."""

from __future__ import annotations

import dataclasses

import pytest

from motion.base.errors import BadInput
from motion.lesson.plan import Part
from motion.lesson.record import Done, lesson_record
from motion.lesson.safety import AUDIENCES
from motion.library.classes import Library
from motion.library.records import WHO, forget_record, record_words, records_told
from motion.review.settings import SETTINGS

PARTS = (Part("joints", "Warm-up", "", 0, 600), Part("dance", "Dance it", "", 600, 1200), Part("cool", "Cool-down", "", 1800, 300))


def made(day: str, **said: object) -> dict[str, object]:
    done = dataclasses.replace(Done(parts_done=("joints", "dance"), checked=("floor",)), **said)  # type: ignore[arg-type]
    return lesson_record(day, "children", PARTS, done, dance="Lantern", settings=SETTINGS.lesson)


def test_a_record_says_what_was_done_and_nothing_that_was_not_asked() -> None:
    assert set(WHO) == set(AUDIENCES)
    full = made("2031-03-01", health={"ok": 12, "rest": 1}, counted=10, faster_than_rest=9, tempo_held_bpm=96.0, note="<b>Well</b>")
    assert record_words(full) == (
        "35 minutes for children, danced to “Lantern”.",
        "Done: Warm-up; Dance it.",
        "Planned and left out: Cool-down.",
        "Looked at before: floor.",
        "That day 12 ok and 1 rest.",
        "9 of 10 who counted their pulse found it faster after the dance.",
        "It held up to 96 beats a minute.",
        "Note: <b>Well</b>",
    )
    assert record_words(made("2031-03-01"))[3:] == ("Looked at before: floor.",)
    assert record_words({"lost": [3]}) == ("It says nothing about what was done.",)


def test_records_come_newest_first_with_their_class_and_lesson(library: Library) -> None:
    tuesday, friday = library.add_class("Tuesday"), library.add_class("Friday")
    early, late = library.add_lesson(tuesday, "2031-03-01", "First wall"), library.add_lesson(friday, "2031-03-08", "Restart")
    library.store_lesson_record(made("2031-03-08"), late)
    library.store_lesson_record(made("2031-03-01"), early)
    library.store_lesson_record(made("2031-02-01"))
    told = [(one.day, one.group, one.lesson) for one in records_told(library)]
    assert told == [("2031-03-08", "Friday", "Restart"), ("2031-03-01", "Tuesday", "First wall"), ("2031-02-01", "", "")]
    assert [one.group for one in records_told(library, class_id=tuesday)] == ["Tuesday"]


def test_deleting_one_leaves_the_others_and_the_lesson(library: Library) -> None:
    lesson = library.add_lesson(library.add_class("Tuesday"), "2031-03-01", "First wall")
    library.store_lesson_record(made("2031-03-01", note="Zinnober was here"), lesson)
    library.store_lesson_record(made("2031-02-01"))
    newest, older = records_told(library)
    forget_record(library, newest.id)
    assert [one.id for one in records_told(library)] == [older.id]
    assert [one.id for one in library.lessons()] == [lesson]
    assert b"Zinnober" not in b"".join(path.read_bytes() for path in library.path.parent.iterdir())
    with pytest.raises(BadInput, match="This record is not in the library"):
        forget_record(library, newest.id)
