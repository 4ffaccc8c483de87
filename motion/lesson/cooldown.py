"""The cool-down: walk, breathe to a pace on the screen, stretch on a chair. Short for children."""

from __future__ import annotations

from dataclasses import dataclass

from motion.base.checks import number_between
from motion.lesson.games import CALF, HIP_SIDE, SHOULDER, THIGH_BACK, THIGH_FRONT, TRUNK
from motion.lesson.safety import Audience
from motion.lesson.settings import LessonSettings
from motion.lesson.warmup import Item

NO_BOUNCE = "A mild pull and no pain, no bouncing; the breath goes on."


@dataclass(frozen=True)
class Pace:
    """One paced breath: seconds in and out, and what is said on the screen."""

    in_s: float
    out_s: float
    in_words: str
    out_words: str

    @property
    def a_minute(self) -> float:
        """Breaths a minute."""
        return 60 / (self.in_s + self.out_s)


#: Six breaths a minute with the longer half out is the usual slow breathing of grown-ups; children breathe faster and get less.
PACES: dict[Audience, Pace] = {
    "children": Pace(3.0, 4.0, "Smell the soup", "Blow the boat across the pond"),
    "adults": Pace(4.0, 6.0, "Breathe in", "Breathe out, slowly"),
    "seniors": Pace(4.0, 5.0, "Breathe in", "Breathe out, slowly"),
}
PACE_CARE = "Whoever gets dizzy or short of breath breathes as they like: the pace is an offer."
_STRETCHES: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("Long leg", "Sit at the front of the chair, one leg long with the heel down and the toes up. Lean forward with a straight back.",
     (THIGH_BACK, CALF)),
    ("Ankle on knee", "Sit tall, one ankle on the other knee or shin. Lean forward a little.", (HIP_SIDE,)),
    ("Heel under the chair", "Sit sideways on the edge and let the outer knee sink towards the floor, the foot back under you.",
     (THIGH_FRONT,)),
    ("Long side", "One hand on the seat, the other arm long overhead; lean gently over.", (TRUNK,)),
    ("Hug yourself", "Arms around yourself, shoulder blades apart, chin low; then change the upper arm.", (SHOULDER,)),
)  # fmt: skip
STRETCH_S = {"children": 20, "adults": 40, "seniors": 40}  # both sides: 10 or 20 s each, within the 15 to 30 s usual for grown-ups


def cool_down(seconds: int, *, audience: Audience, settings: LessonSettings) -> tuple[Item, ...]:
    """Walking, paced breathing and seated stretches that fill exactly `seconds`.

    BadInput when there is no time for any of it.
    """
    number_between(seconds, settings.step_s, settings.longest_min * 60, "The cool-down", "seconds")
    pace = PACES[audience]
    stretch_s = STRETCH_S[audience]
    most = 2 if audience == "children" else len(_STRETCHES)
    stretches = _STRETCHES[: min(most, int(seconds * 0.6) // stretch_s)]
    left = seconds - stretch_s * len(stretches)
    breath_s = min(120, left // 2)
    walk_s = left - breath_s
    walk = Item("Walk it out", "whole body", (), "Walk about, slower and slower, arms loose; drink a little.", walk_s)
    breathe = Item(
        "Breathing with the screen", "breath", (),
        f"In for {pace.in_s:g} s, out for {pace.out_s:g} s: {pace.in_words.lower()}, {pace.out_words[0].lower()}{pace.out_words[1:]}.",
        breath_s, care=PACE_CARE,
    )  # fmt: skip
    half = stretch_s // 2
    sides = (("one side", half), ("the other side", half))
    return (
        walk,
        breathe,
        *(Item(name, "stretch", muscles, words, stretch_s, sides, NO_BOUNCE) for name, words, muscles in stretches),
    )
