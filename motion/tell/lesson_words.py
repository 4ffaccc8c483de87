"""What the lesson's page tells a grown-up about their own counts, and a class about its own, in plain sentences.

Whole numbers and what to do with them are the words; formulas and who published them are the figures, which stay folded away.
"""

from __future__ import annotations

from motion.base.types import NotMeasured
from motion.lesson.energy import energy
from motion.lesson.pulse import (
    FOX,
    MEDICINES,
    READS_LOW,
    TANAKA,
    Counted,
    Zones,
    ZoneSource,
    breaths_words,
    counted_breaths,
    counted_pulse,
    recovery,
    resting_breaths,
    share_percent,
    top_rate,
    zones,
)
from motion.lesson.record import PulseNote
from motion.lesson.settings import LessonSettings
from motion.review.settings import SETTINGS
from motion.tell.words import Told

#: How the sources of target zones are offered, and what each takes as moderate and vigorous.
SOURCE_WORDS: dict[ZoneSource, str] = {
    "AHA": "American Heart Association",
    "CDC": "Centers for Disease Control",
    "reserve": "From the pulse at rest",
}
SHARES: dict[ZoneSource, str] = {
    "AHA": "50 to 70 and 70 to 85 %",
    "CDC": "64 to 76 and 77 to 93 %",
    "reserve": "40 to 59 and 60 to 89 %",
}
#: How far from what is usual at an age the highest pulse of single people lies.
BESIDE = "Single people lie 7 to 11 and more above or below."


def counts_told(
    seconds: int, rest: int | None, after: int | None, later: int | None, *, settings: LessonSettings = SETTINGS.lesson
) -> tuple[str, ...]:
    """Counts at rest, after the dance and a minute later as rates with their step, and what fell. None: not counted.

    BadInput for a count that comes to a pulse that no heart beats at.
    """
    told, made = [], {}
    for name, count in (("At rest", rest), ("After the dance", after), ("A minute later", later)):
        if count is not None:
            counted = made[name] = counted_pulse(count, seconds, settings=settings)
            told.append(f"{name}: {count} in {seconds} s are {_rate(counted)}.")
    if "After the dance" in made and "A minute later" in made:
        fell, give = recovery(made["After the dance"], made["A minute later"])
        change = f"fell by {fell}" if fell > 0 else f"rose by {-fell}" if fell else "stayed the same"
        told.append(f"In that minute it {change}, give or take {give}.")
    return tuple(told)


def pulse_note(
    label: str, seconds: int, rest: int | None, after: int | None, later: int | None, *, settings: LessonSettings = SETTINGS.lesson
) -> PulseNote:
    """One grown-up's counts as the record keeps them. BadInput as `counts_told`."""
    made = [None if count is None else counted_pulse(count, seconds, settings=settings) for count in (rest, after, later)]
    return PulseNote(label.strip(), *made)


def effort_told(
    seconds: int, after: int, age: int, source: ZoneSource, *, rest: int | None = None, settings: LessonSettings = SETTINGS.lesson
) -> Told:
    """A grown-up's pulse after the dance as a share of the highest, and beside the target of one source, in paragraphs. rest: count
    at rest.

    BadInput for ages and counts that cannot be, and for children: they are told nothing of the kind.
    """
    pulse = counted_pulse(after, seconds, settings=settings)
    resting = None if rest is None else counted_pulse(rest, seconds, settings=settings).rate
    target = zones(source, age, rest=resting, settings=settings)
    top = top_rate(age, settings=settings)
    share, step = share_percent(pulse, age, settings=settings)
    return Told(
        f"{_rate(pulse)} is about {share} % of the highest pulse that is usual at {age}; one beat more or less in the count is {step} %, "
        "and single people lie well above or below what is usual.\n\n"
        f"Targets a minute: {_bands(target)}. {_beside(pulse, target)} Use the talk test beside it: talking but not singing is moderate."
        f"\n\n{READS_LOW} {MEDICINES}",
        (
            f"Highest pulse at {age}: {top.tanaka:.1f} by {TANAKA}. For comparison: {FOX} gives {top.fox}. {BESIDE}",
            f"Targets: {SHARES[source]}; {target.formula} ({target.source}).",
        ),
    )


def breath_told(count: int, age: int, *, settings: LessonSettings = SETTINGS.lesson) -> Told:
    """Breaths counted in 30 s as a rate, and what others of that age breathe. BadInput for a count or an age that cannot be."""
    usual = usual_breaths(age, settings=settings)
    return Told(f"{count} in 30 s are {_rate(counted_breaths(count, 30, settings=settings))}. {usual.words}", usual.figures)


def usual_breaths(age: int, *, settings: LessonSettings = SETTINGS.lesson) -> Told:
    """What others of that age breathe at rest, and who published it. BadInput for an age that cannot be."""
    words, found = breaths_words(age, settings=settings), resting_breaths(age, settings=settings)
    if isinstance(found, NotMeasured):
        return Told(words)
    return Told(words.replace(f" ({found.source})", ""), (f"Breaths of that age at rest: {found.source}.",))


def energy_told(age: int, kg: float, minutes: float, *, settings: LessonSettings = SETTINGS.lesson) -> Told:
    """What a grown-up spends, or why nothing is told. BadInput for numbers that cannot be."""
    spent = energy(age, kg, minutes, settings=settings)
    if isinstance(spent, NotMeasured):
        return Told(f"Not told: {spent.why}.")
    return Told(
        f"About {spent.low_kcal} to {spent.high_kcal} kcal in {minutes:g} minutes, rest included: less for a slow line of beginners, more "
        "for lively dancing. That is what many people spend on the whole, and no measurement of anybody.",
        (spent.words,),
    )


def _rate(counted: Counted) -> str:
    return f"{counted.rate} a minute (one more or less: ±{counted.step})"


def _bands(target: Zones) -> str:
    return ", ".join(f"{band.name} {band.low} to {band.high}" for band in target.bands)


def _beside(pulse: Counted, target: Zones) -> str:
    """Where the pulse lies among the bands, as far as its step lets one say."""
    low, high = pulse.rate - pulse.step, pulse.rate + pulse.step
    inside = [band.name for band in target.bands if band.low <= low and high <= band.high]
    if inside:
        return f"The count lies in {inside[0]}."
    if high < target.bands[0].low:
        return "The count lies below both."
    if low > target.bands[-1].high:
        return "The count lies above both: dance smaller or slower, and see whether talking still goes."
    return "The count lies at an edge: within its own step it belongs to either side."
