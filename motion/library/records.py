"""Records of lessons that the library keeps: each in plain words, and a way to delete one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from motion.base.errors import BadInput
from motion.lesson.safety import Audience, checks
from motion.library.classes import Library
from motion.tell.words import listed

WHO: dict[Audience, str] = {"children": "children", "adults": "grown-ups", "seniors": "seniors"}


@dataclass(frozen=True)
class LessonRecord:
    """A lesson's record. day: ISO date; group, lesson: names, "" where it belongs to none; words: what was done, in sentences."""

    id: int
    day: str
    group: str
    lesson: str
    words: tuple[str, ...]


def records_told(library: Library, *, class_id: int | None = None) -> list[LessonRecord]:
    """The records of a class's lessons, or all of them, newest first."""
    query = """
        SELECT n.id, n.made_on, c.name, l.title, l.held_on, n.record FROM lesson_records n
        LEFT JOIN lessons l ON l.id = n.lesson_id LEFT JOIN classes c ON c.id = l.class_id
        WHERE ?1 IS NULL OR l.class_id = ?1"""
    told = []
    for id_, made_on, group, lesson, held_on, text in library.rows(query, class_id):
        record = json.loads(text)
        day = str(record.get("held_on") or held_on or made_on)
        told.append(LessonRecord(int(id_), day, group or "", lesson or "", record_words(record)))
    return sorted(told, key=lambda one: (one.day, one.id), reverse=True)


def forget_record(library: Library, record_id: int) -> None:
    """Delete one record for good; its lesson stays. Raises BadInput if there is none."""
    if not library.rows("SELECT 1 FROM lesson_records WHERE id = ?", record_id):
        raise BadInput("This record is not in the library", "Choose one of those shown")
    library.rows("DELETE FROM lesson_records WHERE id = ?", record_id)
    library.settle()


def record_words(record: Mapping[str, Any]) -> tuple[str, ...]:
    """What was done in a lesson, in plain sentences; only what the record holds."""
    said = []
    if record.get("minutes") and record.get("audience") in WHO:
        dance = f", danced to “{record['dance']}”" if record.get("dance") else ""
        said.append(f"{record['minutes']:.0f} minutes for {WHO[record['audience']]}{dance}.")
    parts = [(str(part["title"]), bool(part["done"])) for part in record.get("parts") or ()]
    if done := [title for title, was in parts if was]:
        said.append(f"Done: {'; '.join(done)}.")
    if left := [title for title, was in parts if not was]:
        said.append(f"Planned and left out: {'; '.join(left)}.")
    if record.get("checked"):
        about = {check.key: check.about.lower() for check in checks("seniors")}  # whose checks are all that there are
        said.append(f"Looked at before: {', '.join(about.get(key, key) for key in record['checked'])}.")
    health = {name: int(n) for name, n in (record.get("health") or {}).items() if n}
    if health:
        said.append(f"That day {listed([f'{n} {name}' for name, n in health.items()])}.")
    pulse = record.get("pulse") or {}
    if pulse.get("counted"):
        said.append(f"{pulse['faster_than_rest']} of {pulse['counted']} who counted their pulse found it faster after the dance.")
    if record.get("talk"):
        said.append(f"While dancing, most could talk like this: {record['talk']}.")
    if record.get("tempo_held_bpm"):
        said.append(f"It held up to {record['tempo_held_bpm']:g} beats a minute.")
    if record.get("pulses"):
        said.append(f"Pulses of grown-ups who wanted it: {len(record['pulses'])}.")
    if record.get("note"):
        said.append(f"Note: {record['note']}")
    return tuple(said) or ("It says nothing about what was done.",)
