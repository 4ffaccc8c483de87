"""Count-in, tempo ladder and tapped tempo: when every count of practice music falls. Numbers only; sounds are made elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, Protocol

from motion.base.checks import number_between
from motion.base.errors import BadInput
from motion.base.types import NotMeasured
from motion.lesson.settings import LessonSettings

Section = Literal[6, 8]


class DanceLimits(Protocol):
    """What a dance can be at most: its tempo in beats a minute, the counts before count 1, the counts of one wall."""

    @property
    def slowest_bpm(self) -> float:
        """Beats a minute."""
        ...

    @property
    def fastest_bpm(self) -> float:
        """Beats a minute."""
        ...

    @property
    def longest_intro(self) -> int:
        """Counts before count 1."""
        ...

    @property
    def most_counts(self) -> int:
        """Counts of one wall."""
        ...


@dataclass(frozen=True)
class Rung:
    """One tempo of the practice music: beats a minute, and how many counts are danced at it after the count-in."""

    bpm: float
    counts: int


@dataclass(frozen=True)
class Count:
    """One count: time_s from the file's beginning; count 1 .. section; says: the number called aloud there, None for none; rung: from 0;
    running: from 1 at the rung's first danced count, 0 or less before it."""

    time_s: float
    count: int
    says: int | None
    rung: int
    running: int


@dataclass(frozen=True)
class Counting:
    """All counts of practice music in order, in sections of 8 (or 6 in waltz), and how long the file is."""

    counts: tuple[Count, ...]
    rungs: tuple[Rung, ...]
    section: Section
    duration_s: float


def check_bpm(bpm: float, limits: DanceLimits) -> float:
    """The tempo, if anybody dances at it. BadInput otherwise, also for a negative one."""
    return number_between(bpm, limits.slowest_bpm, limits.fastest_bpm, "The tempo", "beats a minute")


def called(section: Section, bpm: float, *, settings: LessonSettings) -> tuple[int | None, ...]:
    """The numbers of the count-in, one a count, None for a silent one: 5-6-7-8, in waltz 4-5-6; fast music gets twice as many
    counts, "5, 6, 5-6-7-8", so that there is time to breathe in."""
    if section == 6:
        return (4, 5, 6)
    return (5, None, 6, None, 5, 6, 7, 8) if bpm >= settings.fast_bpm else (5, 6, 7, 8)


def count_in_s(section: Section, bpm: float) -> float:
    """Seconds from the first of the last 5-6-7-8 (4-5-6) to count 1: 2.0 at 120 beats a minute."""
    return (4 if section == 8 else 3) * 60 / bpm


def ladder(full_bpm: float, *, rungs: int, from_share: float, limits: DanceLimits, settings: LessonSettings) -> tuple[float, ...]:
    """Tempos from slow to full in equal steps, whole beats a minute but for the last, which is the full tempo itself.

    Example: 120 in 4 rungs from 0.7 is 84, 96, 108, 120. BadInput for a tempo or share that cannot be.
    """
    check_bpm(full_bpm, limits)
    number_between(rungs, 1, settings.most_rungs, "The number of tempos", "tempos")
    number_between(from_share, 0.4, 1.0, "The share to begin from", "of the full tempo")
    if rungs == 1:
        return (full_bpm,)
    steps = [from_share + (1 - from_share) * k / (rungs - 1) for k in range(rungs)]
    slow = [max(limits.slowest_bpm, float(int(full_bpm * step + 0.5))) for step in steps[:-1]]
    return (*dict.fromkeys(bpm for bpm in slow if bpm < full_bpm), full_bpm)


def counting(
    rungs: Sequence[Rung], *, section: Section = 8, wait_counts: int = 0, limits: DanceLimits, settings: LessonSettings
) -> Counting:
    """When every count falls: for each tempo the counts that are waited (wait_counts, at least the count-in), then those danced.

    BadInput for tempos or counts that cannot be, or more than settings.longest_tune_s of music.
    """
    if not rungs:
        raise BadInput("There is no tempo", "Give at least one tempo")
    number_between(wait_counts, 0, limits.longest_intro, "The counts to wait", "counts")
    counts: list[Count] = []
    start_s = settings.tune_silence_s
    end_s = start_s
    for which, rung in enumerate(rungs):
        check_bpm(rung.bpm, limits)
        number_between(rung.counts, 1, limits.most_counts, "The number of counts", "counts")
        gap_s = 60 / rung.bpm
        words = called(section, rung.bpm, settings=settings)
        lead = max(wait_counts, len(words))
        for n in range(lead + rung.counts):
            running = n - lead + 1
            word = words[n - lead + len(words)] if lead - len(words) <= n < lead else None
            number = (running - 1) % section + 1
            counts.append(Count(start_s + n * gap_s, number, word, which, running))
        end_s = start_s + (lead + rung.counts) * gap_s
        start_s = end_s + settings.rung_pause_s
    if end_s > settings.longest_tune_s:
        raise BadInput(
            f"That would be {end_s / 60:.0f} minutes of music, but {settings.longest_tune_s / 60:g} is the most",
            "Ask for fewer counts",
        )
    return Counting(tuple(counts), tuple(rungs), section, end_s + settings.tune_tail_s)


def tapped_bpm(taps_s: Sequence[float], *, limits: DanceLimits, settings: LessonSettings) -> float | NotMeasured:
    """Beats a minute of taps at these seconds: 60 over the middle gap, of the taps since the last long pause.

    NotMeasured with fewer than settings.tap_fewest taps, or a tempo that nobody dances at.
    """
    what = "the tempo"
    kept: list[float] = []
    for tap_s in taps_s:
        if kept and tap_s - kept[-1] > settings.tap_longest_s:
            kept = []
        kept.append(tap_s)
    if len(kept) < settings.tap_fewest:
        return NotMeasured(what, f"tap at least {settings.tap_fewest} times in a row")
    gaps = sorted(b - a for a, b in pairwise(kept))
    middle = (gaps[(len(gaps) - 1) // 2] + gaps[len(gaps) // 2]) / 2
    if middle <= 0 or not limits.slowest_bpm <= 60 / middle <= limits.fastest_bpm:
        return NotMeasured(what, "the taps are faster or slower than anybody dances")
    return 60 / middle


def rungs_words(counting_: Counting) -> str:
    """The tempos in words: "84, then 96, then 108, then 120 beats a minute, 32 counts each"."""
    tempos = ", then ".join(f"{rung.bpm:g}" for rung in counting_.rungs)
    sizes = {rung.counts for rung in counting_.rungs}
    each = f", {sizes.pop()} counts each" if len(sizes) == 1 and len(counting_.rungs) > 1 else ""
    return f"{tempos} beats a minute{each}"
