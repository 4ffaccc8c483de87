"""Pulse and breath, counted by hand: what a count is worth, against which formula, and what it cannot say.

Published numbers, each with its source; a rate is rounded half up everywhere, as the printed charts are (age 35: 93, not 92). For
children it is an exercise for the whole class; nothing here tells anybody that they are well or ill.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from motion.base.checks import number_between
from motion.base.errors import BadInput
from motion.base.types import NotMeasured
from motion.lesson.settings import LessonSettings

Seconds = Literal[10, 15, 30]
COUNT_SECONDS: tuple[Seconds, ...] = get_args(Seconds)
ZoneSource = Literal["AHA", "CDC", "reserve"]
ZONE_SOURCES: tuple[ZoneSource, ...] = get_args(ZoneSource)

TANAKA = "208 − 0.7 × age (Tanaka, Monahan, Seals. J Am Coll Cardiol 2001;37:153-156)"
FOX = "220 − age (an old rule of thumb without a study of its own)"
#: Counted 143.6 against 165.1 by ECG in boys of 12.7 years (Meas Phys Educ Exerc Sci 1998;2(4), pulse at the neck, 15 s); adults 13
#: a minute too few after walking and 17 after jogging (Norton 1997).
READS_LOW = (
    "A pulse that one counts oneself reads low after moving: boys of twelve counted about 20 a minute too few, grown-ups 13 to 17. It "
    "also falls by 7 to 9 a minute in the first 15 seconds of standing still, so begin to count at once."
)
MEDICINES = "Some medicines change the pulse (beta-blockers slow it). Then go by how talking feels, not by a number."
FIRST_BEAT = "Find the beat first. Say nought on the beat on which the timer starts, then one, two, three."


@dataclass(frozen=True)
class Counted:
    """A rate a minute from a count of `seconds`; step: what one beat more or less changes."""

    rate: int
    step: int
    count: int
    seconds: int


@dataclass(frozen=True)
class TopRate:
    """Age-predicted highest pulse a minute by two formulas: both are means of many people, single ones lie 7 to 11 beside them."""

    tanaka: float
    fox: int


@dataclass(frozen=True)
class Band:
    """A stretch of rates a minute, low to high, whole numbers, and what it is called by its source."""

    name: str
    low: int
    high: int


@dataclass(frozen=True)
class Zones:
    """Target bands of one source, with the source and the formula of the maximum that it is tied to."""

    source: str
    formula: str
    bands: tuple[Band, ...]


@dataclass(frozen=True)
class Centiles:
    """Rates a minute at rest of an age: 1st, 10th, 25th, 50th, 75th, 90th and 99th centile."""

    from_age: int
    below_age: int
    values: tuple[int, ...]
    source: str

    @property
    def middle(self) -> tuple[int, int]:
        """Eight in ten lie between these."""
        return self.values[1], self.values[5]


#: Share of the maximum in per cent, and the formula it goes with. Never one source's share with another's formula.
_ZONES: dict[ZoneSource, tuple[str, str, tuple[tuple[str, int, int], ...]]] = {
    "AHA": ("American Heart Association, target heart rates", "220 − age",
            (("moderate", 50, 70), ("vigorous", 70, 85))),
    "CDC": ("Centers for Disease Control and Prevention, target heart rate", "220 − age",
            (("moderate", 64, 76), ("vigorous", 77, 93))),
    "reserve": ("American College of Sports Medicine, share of the heart rate reserve (Karvonen)",
                "pulse at rest + share × (208 − 0.7 × age − pulse at rest)",
                (("moderate", 40, 59), ("vigorous", 60, 89))),
}  # fmt: skip
_FLEMING = "Fleming S, et al. Lancet 2011;377:1011-1018"
#: Ages from, below; centiles 1, 10, 25, 50, 75, 90, 99.
_RESTING_PULSE = (
    (6, 8, (59, 74, 82, 91, 101, 111, 123)),
    (8, 12, (52, 67, 75, 84, 93, 103, 115)),
    (12, 15, (47, 62, 69, 78, 87, 96, 108)),
    (15, 18, (43, 58, 65, 73, 83, 92, 104)),
)
_RESTING_BREATHS = (
    (6, 8, (16, 18, 20, 21, 23, 24, 27)),
    (8, 12, (14, 16, 18, 19, 21, 22, 25)),
    (12, 15, (12, 15, 16, 18, 19, 21, 23)),
    (15, 18, (11, 13, 15, 16, 18, 19, 22)),
)
#: Usual textbook values for grown-ups at rest, a minute.
ADULT_PULSE, ADULT_BREATHS = (60, 100), (12, 20)


def half_up(top: int, bottom: int) -> int:
    """top / bottom rounded to a whole number, halves up: 185 / 2 is 93. For top of 0 or more; exact, without binary fractions."""
    return (2 * top + bottom) // (2 * bottom)


def counted_pulse(count: int, seconds: int, *, settings: LessonSettings) -> Counted:
    """Beats counted in 10, 15 or 30 s as a rate a minute.

    Example: 24 in 15 s is 96, one beat more or less changes it by 4. BadInput for another span, or a rate that no heart beats at.
    """
    return _counted(count, seconds, "The pulse", "beats", (settings.lowest_rate, settings.highest_rate))


def counted_breaths(count: int, seconds: int, *, settings: LessonSettings) -> Counted:
    """Breaths (in and out is one) counted in 30 s, or 15 or 10, as a rate a minute. BadInput as `counted_pulse`."""
    return _counted(count, seconds, "The breathing", "breaths", (settings.lowest_breaths, settings.highest_breaths))


def _counted(count: int, seconds: int, what: str, unit: str, limits: tuple[int, int]) -> Counted:
    if seconds not in COUNT_SECONDS:
        raise BadInput(
            f"{unit.capitalize()} were counted for {seconds} s, but only 10, 15 and 30 are offered", "Count for 15 seconds"
        )
    step = 60 // seconds
    return Counted(_rate(count * step, what, limits), step, count, seconds)


def pulse_rate(rate: int, *, settings: LessonSettings) -> int:
    """A pulse that comes as a rate a minute already, as from a watch. BadInput when no heart beats at it."""
    return _rate(rate, "The pulse", (settings.lowest_rate, settings.highest_rate))


def _rate(rate: int, what: str, limits: tuple[int, int]) -> int:
    low, high = limits
    if not low <= rate <= high:
        raise BadInput(
            f"{what} comes to {rate} a minute, but must lie in {low} to {high}", "Count again, or look at the numbers typed in"
        )
    return rate


def checked_age(age: int, *, settings: LessonSettings) -> int:
    """The age in whole years. BadInput for ages outside the settings' limits."""
    number_between(age, settings.youngest_age, settings.oldest_age, "The age", "years")
    return age


def top_rate(age: int, *, settings: LessonSettings) -> TopRate:
    """The age-predicted highest pulse: age 40 gives 180 by both formulas, age 65 gives 162.5 and 155."""
    age = checked_age(age, settings=settings)
    return TopRate((2080 - 7 * age) / 10, 220 - age)


def share_percent(pulse: Counted, age: int, *, settings: LessonSettings) -> tuple[int, int]:
    """The pulse in per cent of the highest by Tanaka, and what one beat of the count changes in it, both half up."""
    tenths = round(10 * top_rate(age, settings=settings).tanaka)
    return half_up(1000 * pulse.rate, tenths), half_up(1000 * pulse.step, tenths)


def zones(source: ZoneSource, age: int, *, rest: int | None = None, settings: LessonSettings) -> Zones:
    """Target bands of one source, by the formula of that source.

    Example: "AHA" at 35 is moderate 93-130 and vigorous 130-157; "CDC" at 50 moderate 109-129. "reserve" needs the pulse at rest.
    For grown-ups; BadInput for children, or a missing pulse at rest.
    """
    if checked_age(age, settings=settings) < settings.adult_age:
        raise BadInput(f"Target zones are for grown-ups, and the age is {age}", "Ask the class whether talking still goes")
    name, formula, shares = _ZONES[source]
    if source != "reserve":
        bands = tuple(Band(words, half_up(low * (220 - age), 100), half_up(high * (220 - age), 100)) for words, low, high in shares)
        return Zones(name, formula, bands)
    if rest is None:
        raise BadInput("The reserve needs the pulse at rest", "Count the pulse at rest first")
    pulse_rate(rest, settings=settings)
    bands = tuple(
        Band(words, half_up(_reserve(age, rest, low), 1000), half_up(_reserve(age, rest, high), 1000))
        for words, low, high in shares
    )
    return Zones(name, formula, bands)


def reserve_rate(age: int, rest: int, percent: int, *, settings: LessonSettings) -> float:
    """Pulse a minute at a share of the heart rate reserve: age 65, rest 70, 40 % is 107.0."""
    checked_age(age, settings=settings)
    pulse_rate(rest, settings=settings)
    return _reserve(age, rest, percent) / 1000


def _reserve(age: int, rest: int, percent: int) -> int:
    """In thousandths of a beat a minute, so that it stays exact."""
    return 1000 * rest + percent * (2080 - 7 * age - 10 * rest)


def quarter_minute(age: int, percent: int, *, settings: LessonSettings) -> int:
    """Beats in 15 s at a share of 220 − age, as printed charts have it: age 20 at 70 % is 35."""
    return half_up(percent * (220 - checked_age(age, settings=settings)), 400)


def recovery(after: Counted, minute_later: Counted) -> tuple[int, int]:
    """By how much the pulse fell in the minute after the dance, and how far the two counts may shift that together."""
    return after.rate - minute_later.rate, after.step + minute_later.step


def resting_pulse(age: int, *, settings: LessonSettings) -> Centiles | NotMeasured:
    """Resting pulse of children of that age; NotMeasured outside 6 to 17 years."""
    return _centiles(age, _RESTING_PULSE, "the pulse at rest", settings)


def resting_breaths(age: int, *, settings: LessonSettings) -> Centiles | NotMeasured:
    """Breaths a minute at rest of children of that age; NotMeasured outside 6 to 17 years."""
    return _centiles(age, _RESTING_BREATHS, "breathing at rest", settings)


def _centiles(
    age: int, table: tuple[tuple[int, int, tuple[int, ...]], ...], what: str, settings: LessonSettings
) -> Centiles | NotMeasured:
    checked_age(age, settings=settings)
    for low, high, values in table:
        if low <= age < high:
            return Centiles(low, high, values, _FLEMING)
    return NotMeasured(what, "the published table that is used here is for 6 to 17 years")


def breaths_words(age: int, *, settings: LessonSettings) -> str:
    """What others of that age breathe at rest, as a band, and what to do with it."""
    found = resting_breaths(age, settings=settings)
    again = "Somebody who counts more or fewer sits quietly for two minutes and counts again; it is a class question, no test."
    if isinstance(found, NotMeasured):
        if age < settings.adult_age:
            return f"For this age there is no table here. {again}"
        low, high = ADULT_BREATHS
        return f"Grown-ups at rest usually breathe {low} to {high} times a minute (a usual textbook value). {again}"
    low, high = found.middle
    ages = f"{found.from_age} to {found.below_age - 1}"
    return f"At rest, eight in ten children of {ages} years breathe {low} to {high} times a minute ({found.source}). {again}"
