"""The lesson plan: parts whose times add up to the lesson's length, to the second."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from motion.base.checks import number_between
from motion.lesson.safety import Audience
from motion.lesson.settings import LessonSettings


@dataclass(frozen=True)
class Part:
    """One part of the lesson. key: its short name in the record; begins_s from the lesson's beginning."""

    key: str
    title: str
    words: str
    begins_s: int
    seconds: int

    @property
    def ends_s(self) -> int:
        """Seconds from the lesson's beginning."""
        return self.begins_s + self.seconds


@dataclass(frozen=True)
class _Kind:
    """key, title, words; steps of settings.step_s: the least, the most (0: no limit), weight in sharing out what is left; last: left
    out in this order when time is short, 0 never."""

    key: str
    title: str
    words: str
    least: int
    most: int
    weight: int
    leaves: int = 0


_KINDS: tuple[_Kind, ...] = (
    _Kind("arrive", "Arrive and look around", "Space, floor, shoes, water, health notes, who may be filmed.", 2, 10, 2),
    _Kind("rest pulse", "Pulse and breath at rest", "Sit, find the beat, count with the timer.", 2, 4, 1, 2),
    _Kind("joints", "Warm-up, joint by joint", "One joint at a time, big and playful, easy repeats.", 6, 16, 6),
    _Kind("own steps", "The dance's own steps, slowly", "What comes later, small and slow, to both sides.", 2, 8, 3, 4),
    _Kind("learn", "Learn it, eight by eight", "Show once, call the word just before the step, repeat, join to what is there.", 4, 0, 14),
    _Kind("ladder", "From slow to full tempo", "The practice music's tempos, one after the other; stay where it holds.", 3, 24, 6, 3),
    _Kind("dance", "Dance it, and film it if that was agreed", "Twice through, on all walls, rows changed in between.", 3, 24, 6),
    _Kind("after pulse", "Pulse, breath and talk test", "At once after the dance, and again a minute later.", 3, 5, 1, 2),
    _Kind("cool down", "Cool-down", "Walk, breathe with the screen, stretch on a chair.", 4, 20, 4),
    _Kind("talk", "What went well", "One thing that worked, one to try; drink; what was agreed about the clip.", 2, 8, 2, 1),
)  # fmt: skip
#: A children's cool-down is short: five minutes, also in a long lesson.
_MOST_CHILDREN = {"cool down": 10}


def plan(minutes: float, *, audience: Audience, settings: LessonSettings) -> tuple[Part, ...]:
    """A lesson of so many minutes (to half a minute) in parts that add up to it exactly.

    Looking around, warm-up, dancing and cool-down are always in it; other parts are left out when time is short. BadInput for a
    length that cannot be, such as 0.
    """
    number_between(minutes, settings.shortest_min, settings.longest_min, "The lesson's length", "minutes")
    total = int(minutes * 60 / settings.step_s + 0.5)
    kinds = list(_KINDS)
    for leaving in sorted({kind.leaves for kind in kinds if kind.leaves}):
        if sum(kind.least for kind in kinds) <= total:
            break
        kinds = [kind for kind in kinds if kind.leaves != leaving]
    steps = _shared(kinds, total, audience)
    parts, begins = [], 0
    for kind, n in zip(kinds, steps, strict=True):
        parts.append(Part(kind.key, kind.title, kind.words, begins, n * settings.step_s))
        begins += n * settings.step_s
    return tuple(parts)


def _shared(kinds: Sequence[_Kind], total: int, audience: Audience) -> list[int]:
    """Steps for each part: the least to all, then one step at a time to whoever is furthest behind their weight."""
    steps = [kind.least for kind in kinds]
    most = [_MOST_CHILDREN.get(kind.key, kind.most) if audience == "children" else kind.most for kind in kinds]
    for _ in range(total - sum(steps)):
        open_ones = [k for k in range(len(kinds)) if not most[k] or steps[k] < most[k]]
        k = min(open_ones, key=lambda k: ((steps[k] - kinds[k].least + 1) / kinds[k].weight, k))
        steps[k] += 1
    return steps


def seconds_of(parts: Sequence[Part], key: str) -> int:
    """Seconds of a part, 0 when the plan does without it."""
    return next((part.seconds for part in parts if part.key == key), 0)


def minutes_words(seconds: int) -> str:
    """Seconds as minutes on a watch: 90 is 1:30."""
    return f"{seconds // 60}:{seconds % 60:02d}"
