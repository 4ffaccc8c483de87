"""Before the lesson, and when to stop: what is looked at, what may be written down, and what the tool is not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Audience = Literal["children", "adults", "seniors"]
AUDIENCES: tuple[Audience, ...] = get_args(Audience)
#: All that is ever written down about anybody's health, and only how many.
Health = Literal["ok", "adapted", "rest"]
HEALTH: tuple[Health, ...] = get_args(Health)


@dataclass(frozen=True)
class Check:
    """One thing to look at before the lesson. key: short name in the record; question and help as a teacher reads them."""

    key: str
    about: str
    question: str
    help: str


_CHECKS: tuple[Check, ...] = (
    Check("space", "Space", "Is the floor as large as the plan needs?", "Dance in turns, or choose a dance that travels less."),
    Check("obstacles", "Obstacles", "Are bags, chairs, cables and phone stands out of the way?",
          "Half a metre stays free to every wall and to the loudspeaker. Exits and first-aid box are known."),
    Check("floor", "Floor", "Is the floor dry, even and neither slippery nor sticky?", "Wipe it; on a sticky floor lift the feet to turn."),
    Check("footwear", "Footwear", "Are shoes tied and do they hold? No socks on a smooth floor.",
          "Bare feet are better than socks. High heels and loose sandals stay aside."),
    Check("clothing", "Clothing", "Can knees and arms move, are jewellery, scarves and hems out of the way?",
          "For a clip: trousers that show the knee, shoes that differ from the floor."),
    Check("heat", "Heat and sun", "Is it neither hot nor stuffy, and is there shade outdoors?",
          "About 18 to 21 °C is pleasant. In heat: shorter, slower, more breaks, or another day."),
    Check("water", "Water", "Has everybody water at hand, and a break to drink?", "Bottles stand at the wall, closed."),
    Check("health", "Health notes", "Has everybody been asked, in private, whether today is ok, adapted or rest?",
          "Only the number of each is written down. Who is unsure asks a doctor first."),
    Check("filming", "Filming", "Do you know who may be filmed, and is there a place out of the picture?",
          "For a child a guardian and the child agree, beforehand and for a purpose. Whoever says no dances along, out of the picture."),
)  # fmt: skip
_SENIORS = Check("hold", "Something to hold", "Is there a chair or a rail within reach of everybody who wants one?",
                 "Chairs stand against the wall, so that they do not slide.")  # fmt: skip

#: To be asked in private before the first lesson; no answer is stored, only ok, adapted or rest.
ASK_FIRST = (
    "Anybody with chest pain, fainting, a heart or breathing condition, a recent injury or operation, a pregnancy, a fall in the last "
    "year, or medicines that change the pulse asks a health professional first whether and how to dance."
)
STOP_SIGNS: tuple[str, ...] = (
    "pain or pressure in the chest",
    "dizziness, or feeling faint",
    "breath so short that it frightens",
    "a heart that races or stumbles",
    "pain in a joint that is sharp or grows, or a limp",
    "headache, or feeling unwell",
)
STOP_CHILDREN = "Stop and tell a grown-up at once if something hurts, if you feel dizzy or sick, or if breathing feels hard."
STOP_THEN = (
    "Stop at once and sit down; somebody stays there. If it does not pass right away, or with pain in the chest: call the local "
    "emergency number."
)
CAUTIONS: tuple[str, ...] = (
    "A practice aid. It is no medical advice and no medical device, and it finds no illness.",
    "Local law, the rules of your school or club, and whoever holds a licence to teach or to treat come first.",
    "Pain is never a target. Nobody is pushed into a position, and nobody reaches for a norm.",
    "Nobody is compared with anybody. In a children's class questions go to the class, and nothing is kept about a child.",
)
FOR_SENIORS = "Small turns, no fast spins, a slower tempo, and a support within reach. Sitting down is always one way to join in."
FOR_CHILDREN = "Rest when it is hot. Heels and knees that keep hurting are a reason to stop and to tell a grown-up at home."


def checks(audience: Audience) -> tuple[Check, ...]:
    """What to look at before a lesson with that audience."""
    return (*_CHECKS, _SENIORS) if audience == "seniors" else _CHECKS


def stop_words(audience: Audience) -> tuple[str, ...]:
    """When to stop, in the words of that audience, and what to do then."""
    signs = f"Stop signs: {'; '.join(STOP_SIGNS)}."
    return (STOP_CHILDREN, signs, STOP_THEN) if audience == "children" else (signs, STOP_THEN)


def extra_words(audience: Audience) -> str:
    """What is particular to that audience, or ""."""
    return {"children": FOR_CHILDREN, "adults": "", "seniors": FOR_SENIORS}[audience]
