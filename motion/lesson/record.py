"""What was done in a lesson, as plain data to keep beside the class's reviews. Nothing about any child's body is in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from motion.base.checks import number_between
from motion.base.errors import BadInput
from motion.lesson.energy import TALKS
from motion.lesson.plan import Part
from motion.lesson.pulse import Counted
from motion.lesson.safety import AUDIENCES, HEALTH, Audience, checks
from motion.lesson.settings import LessonSettings

FORMAT = 1


@dataclass(frozen=True)
class PulseNote:
    """One grown-up's counts, kept only because they asked for it: under a label of their own, never a name."""

    label: str
    rest: Counted | None
    after: Counted | None
    minute_later: Counted | None


@dataclass(frozen=True)
class Done:
    """What the teacher says was done. checked: keys of the checks that were looked at; parts_done: keys of the plan's parts;
    health: how many were ok, adapted, rest; faster_than_rest and counted: of those who counted their pulse, how many found it faster
    after the dance; talk: how the talk test went for most, "" if not asked; tempo_held_bpm: the fastest tempo that held, None if not
    asked; pulses: of grown-ups who want it; agreed: they said so; note: free words."""

    checked: Sequence[str] = ()
    parts_done: Sequence[str] = ()
    health: Mapping[str, int] = field(default_factory=dict)
    counted: int = 0
    faster_than_rest: int = 0
    talk: str = ""
    tempo_held_bpm: float | None = None
    pulses: Sequence[PulseNote] = ()
    agreed: bool = False
    note: str = ""


def lesson_record(
    held_on: str,
    audience: Audience,
    parts: Sequence[Part],
    done: Done,
    *,
    dance: str = "",
    music: str = "",
    settings: LessonSettings,
) -> dict[str, Any]:
    """The record as strict JSON data: what was planned and done, what was looked at, class counts.

    Parameters: held_on, the day as YYYY-MM-DD; dance, its title; music, the practice music's file name.
    Single pulses are refused (BadInput) in a children's lesson, and without the grown-ups' own wish. Health is three numbers.
    """
    try:
        day = date.fromisoformat(held_on)
    except ValueError:
        raise BadInput(f"'{held_on}' is no day", "Write it as 2025-03-14") from None
    if audience not in AUDIENCES:
        raise BadInput(f"'{audience}' is no audience of this tool", f"Choose {', '.join(AUDIENCES)}")
    known_checks, known_parts = [check.key for check in checks(audience)], [part.key for part in parts]
    _known(done.checked, known_checks, "check")
    _known(done.parts_done, known_parts, "part of the lesson")
    _known(done.health, HEALTH, "health note")
    for name, n in done.health.items():
        number_between(n, 0, settings.most_dancers, f"The number of '{name}'", "dancers")
    number_between(done.counted, 0, settings.most_dancers, "The number who counted their pulse", "dancers")
    number_between(done.faster_than_rest, 0, done.counted, "The number whose pulse was faster", "of those who counted")
    if done.talk:
        _known([done.talk], TALKS, "answer to the talk test")
    if done.pulses and audience == "children":
        raise BadInput("Pulses of single children are not kept", "Count hands instead: how many felt it beat faster?")
    if done.pulses and not done.agreed:
        raise BadInput("Pulses of single people are kept only if they want it", "Ask them, and say so, or leave the pulses out")
    if len(done.note) > settings.note_letters:
        raise BadInput(f"The note has {len(done.note)} letters, but {settings.note_letters} are the most", "Shorten it")
    return {
        "format": FORMAT,
        "kind": "lesson",
        "held_on": day.isoformat(),
        "audience": audience,
        "dance": dance,
        "music": music,
        "minutes": sum(part.seconds for part in parts) / 60,
        "parts": [
            {"key": part.key, "title": part.title, "seconds": part.seconds, "done": part.key in done.parts_done} for part in parts
        ],
        "checked": [key for key in known_checks if key in done.checked],
        "health": {name: int(done.health.get(name, 0)) for name in HEALTH},
        "pulse": {"counted": done.counted, "faster_than_rest": done.faster_than_rest},
        "talk": done.talk or None,
        "tempo_held_bpm": done.tempo_held_bpm,
        "pulses": [_pulse(note, settings) for note in done.pulses],
        "note": done.note,
    }


def _pulse(note: PulseNote, settings: LessonSettings) -> dict[str, Any]:
    label = note.label.strip()
    if not label or len(label) > settings.label_letters:
        raise BadInput(f"'{label}' cannot be a label", f"Use 1 to {settings.label_letters} letters of the dancer's own choice")
    out: dict[str, Any] = {"label": label}
    for name, counted in (("rest", note.rest), ("after", note.after), ("minute_later", note.minute_later)):
        out[name] = None if counted is None else {"a_minute": counted.rate, "step": counted.step, "counted_s": counted.seconds}
    return out


def _known(given: Sequence[str] | Mapping[str, Any], known: Sequence[str], what: str) -> None:
    for name in given:
        if name not in known:
            raise BadInput(f"'{name}' is no {what} of this lesson", f"Known are {', '.join(known)}")
