"""How hard it was, without instruments: the talk test for everybody, energy for grown-ups only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from motion.base.checks import number_between
from motion.base.types import NotMeasured
from motion.lesson.pulse import checked_age
from motion.lesson.settings import LessonSettings

Talk = Literal["sings", "talks", "few words"]
TALKS: tuple[Talk, ...] = get_args(Talk)
#: MET values of the adult Compendium of 2011, by its code.
COMPENDIUM = "2011 Compendium of Physical Activities (Ainsworth BE, et al. Med Sci Sports Exerc 2011;43:1575-1581)"
LINE_DANCE_CODE, LINE_DANCE_MET = "03031", 7.8
#: From a slow line of beginners to general dancing: solo free dance was measured at about 5.6 (PLoS ONE 2024, e0313144).
MET_LOW, MET_HIGH = 4.0, 8.0


@dataclass(frozen=True)
class Energy:
    """Kilocalories over the minutes at MET_LOW and MET_HIGH, half up, by 1 kcal per kg, hour and MET."""

    low_kcal: int
    high_kcal: int
    words: str


def kcal(met: float, kg: float, minutes: float) -> float:
    """MET × kg × hours: 7.8, 60 kg and 30 minutes are 234."""
    return met * kg * minutes / 60


def kcal_by_oxygen(met: float, kg: float, minutes: float) -> float:
    """The other common form, MET × 3.5 × kg / 200 a minute: 5 % more than `kcal`."""
    return met * 3.5 * kg / 200 * minutes


def energy(age: int, kg: float, minutes: float, *, settings: LessonSettings) -> Energy | NotMeasured:
    """The range that a grown-up of 19 to 59 years spends. NotMeasured for others: the adult table does not hold for them, and for
    children no kilocalories are told at all. BadInput for an age, weight or time that cannot be."""
    checked_age(age, settings=settings)
    if age < settings.youngest_energy_age:
        return NotMeasured("energy", "no kilocalories are told for children and young people")
    if age > settings.oldest_energy_age:
        return NotMeasured("energy", "the table that is used here is for 19 to 59 years; older bodies use less")
    number_between(kg, settings.lightest_kg, settings.heaviest_kg, "The weight", "kg")
    number_between(minutes, 0, settings.longest_min, "The time danced", "minutes")
    low, high = (int(kcal(met, kg, minutes) + 0.5) for met in (MET_LOW, MET_HIGH))
    return Energy(
        low, high, f"About {low} to {high} kcal, rest included: {MET_LOW:g} to {MET_HIGH:g} MET × kg × hours. {met_words()}"
    )


def met_words() -> str:
    """Where the range of METs comes from."""
    return (
        f"The Compendium gives {LINE_DANCE_MET:g} MET for general dancing with line dancing (code {LINE_DANCE_CODE}; {COMPENDIUM}); a "
        "slow line of beginners is nearer to 4. These are means of groups, no measurement of anybody. Counting oxygen instead "
        "(3.5 ml per kg and minute, 200 ml a kcal) gives 5 % more."
    )


def talk_words(talk: Talk, *, children: bool) -> str:
    """What the talk test says: talking but not singing is moderate."""
    told = {
        "sings": ("Easy.", "Light effort."),
        "talks": ("Just right for dancing.", "Moderate effort."),
        "few words": (
            "Hard work. Dance smaller, or take a rest.",
            "Vigorous effort. Smaller steps, a slower tempo or a rest bring it down.",
        ),
    }[talk]
    return told[0] if children else told[1]
