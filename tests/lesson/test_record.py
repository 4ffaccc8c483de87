"""The record: strict data, nothing about single children, nothing that was not asked."""

from __future__ import annotations

import json

import pytest

from motion.base.errors import BadInput
from motion.lesson.plan import plan
from motion.lesson.pulse import counted_pulse
from motion.lesson.record import Done, PulseNote, lesson_record
from motion.library.classes import open_library
from motion.review.settings import SETTINGS

S = SETTINGS.lesson
PARTS = plan(45, audience="children", settings=S)


def made(audience="children", held_on="2025-03-14", **said):
    return lesson_record(held_on, audience, plan(45, audience=audience, settings=S), Done(**said), dance="Hedgerow", settings=S)


def test_a_record_is_strict_json_and_says_what_was_done():
    done = made(checked=["water", "floor"], parts_done=["joints", "dance"], health={"ok": 14, "rest": 1}, counted=12, faster_than_rest=11,
                talk="talks", tempo_held_bpm=94, note="Soft knees.")  # fmt: skip
    assert json.loads(json.dumps(done, allow_nan=False)) == done
    assert done["minutes"] == 45
    assert [part["key"] for part in done["parts"] if part["done"]] == ["joints", "dance"]
    assert sum(part["seconds"] for part in done["parts"]) == 45 * 60
    assert done["checked"] == ["floor", "water"]
    assert done["health"] == {"ok": 14, "adapted": 0, "rest": 1}
    assert done["pulse"] == {"counted": 12, "faster_than_rest": 11}
    assert done["pulses"] == []
    assert done["tempo_held_bpm"] == 94


def test_no_pulse_of_a_single_child_is_kept():
    note = PulseNote("Red", counted_pulse(20, 15, settings=S), None, None)
    with pytest.raises(BadInput, match="single children are not kept"):
        made(pulses=[note], agreed=True)


def test_a_grown_ups_pulse_only_if_they_want_it():
    note = PulseNote("Red", counted_pulse(18, 15, settings=S), counted_pulse(30, 15, settings=S), None)
    with pytest.raises(BadInput, match="only if they want it"):
        made("adults", pulses=[note])
    kept = made("adults", pulses=[note], agreed=True)["pulses"]
    assert kept == [
        {"label": "Red", "rest": {"a_minute": 72, "step": 4, "counted_s": 15}, "after": {"a_minute": 120, "step": 4, "counted_s": 15},
         "minute_later": None}
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "words"),
    [({"checked": ["moon"]}, "'moon' is no check"),
     ({"parts_done": ["x"]}, "no part of the lesson"), ({"health": {"asthma": 1}}, "health note"),
     ({"counted": 3, "faster_than_rest": 4}, "pulse was faster is 4"), ({"health": {"ok": -1}}, "'ok' is -1"),
     ({"talk": "hums"}, "talk test"),
     ({"note": "x" * 501}, "501 letters"), ({"held_on": "yesterday"}, "no day"), ({"audience": "cats"}, "no audience")],
)  # fmt: skip
def test_what_a_record_refuses(said, words):
    audience = said.pop("audience", "children")
    held_on = said.pop("held_on", "2025-03-14")
    with pytest.raises(BadInput, match=words):
        lesson_record(held_on, audience, PARTS, Done(**said), settings=S)


def test_the_library_keeps_it_beside_the_lesson(tmp_path):
    record = made(health={"ok": 3})
    with open_library(tmp_path / "library.sqlite3") as library:
        lesson = library.add_lesson(library.add_class("Tuesday"), "2025-03-14", "Hedgerow")
        library.store_lesson_record(record, lesson)
        assert library.lesson_records(lesson) == [record]
