"""What the lesson's page tells a grown-up about their own counts, and a class about its own, in plain sentences."""

from __future__ import annotations

from motion.data import NotMeasured
from motion.lesson.energy import energy
from motion.lesson.pulse import (
    FOX,
    MEDICINES,
    READS_LOW,
    TANAKA,
    Counted,
    Zones,
    ZoneSource,
    checked_age,
    counted_breaths,
    counted_pulse,
    recovery,
    share_percent,
    top_rate,
    zones,
)
from motion.lesson.record import PulseNote
from motion.settings import SETTINGS, LessonSettings

#: How the sources of target zones are offered.
SOURCE_WORDS: dict[ZoneSource, str] = {
    "AHA": "American Heart Association: 50 to 70 and 70 to 85 % of 220 − age",
    "CDC": "Centers for Disease Control: 64 to 76 and 77 to 93 % of 220 − age",
    "reserve": "Heart rate reserve: 40 to 59 and 60 to 89 % above the pulse at rest",
}


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
) -> tuple[str, ...]:
    """A grown-up's pulse after the dance as a share of the highest, and beside the target of one source. rest: count at rest.

    BadInput for ages and counts that cannot be, and for children: they are told nothing of the kind.
    """
    pulse = counted_pulse(after, seconds, settings=settings)
    resting = None if rest is None else counted_pulse(rest, seconds, settings=settings).rate
    target = zones(source, age, rest=resting, settings=settings)
    top = top_rate(age, settings=settings)
    share, step = share_percent(pulse, age, settings=settings)
    return (
        f"{_rate(pulse)} is {share} % of {top.tanaka:.1f}, the age-predicted highest pulse by {TANAKA}; one beat of the count is {step} %. "
        f"For comparison: {FOX} gives {top.fox}.",
        f"{target.source}, {target.formula}: {_bands(target)}. {_beside(pulse, target)}",
        "Use the talk test beside it: talking but not singing is moderate.",
        f"{READS_LOW} {MEDICINES}",
    )


def breath_told(count: int, age: int, *, settings: LessonSettings = SETTINGS.lesson) -> str:
    """Breaths counted in 30 s as a rate. BadInput for a count or an age that cannot be."""
    checked_age(age, settings=settings)
    counted = counted_breaths(count, 30, settings=settings)
    return f"{count} in 30 s are {_rate(counted)}."


def energy_told(age: int, kg: float, minutes: float, *, settings: LessonSettings = SETTINGS.lesson) -> str:
    """What a grown-up spends, or why nothing is told. BadInput for numbers that cannot be."""
    spent = energy(age, kg, minutes, settings=settings)
    return f"Not told: {spent.why}." if isinstance(spent, NotMeasured) else spent.words


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
