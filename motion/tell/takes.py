"""One dancer's takes side by side: what changed since last time beyond the noise, and up to which tempo a dance held.

Pure functions on reviews as review.json has them. People are not found again: whoever asks says which number is whose.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from motion.base.errors import BadInput
from motion.base.settings import HandoutSettings
from motion.base.types import Interval
from motion.review.settings import SETTINGS
from motion.tell.words import place_words, section_of, signed_ms, why_not

#: Of the median absolute deviation: what makes it a standard deviation, and its efficiency on normal values. P. Rousseeuw, C. Croux,
#: "Alternatives to the median absolute deviation", J. Am. Stat. Assoc. 88 (1993) 1273.
MAD_TO_SD, MAD_EFFICIENCY = 1.4826, 0.37
#: Two-sided 95 % of the normal distribution.
Z95 = 1.96


@dataclass(frozen=True)
class Line:
    """One sentence with its figures, and the moment in the clip that shows it (until_count of a stretch), None where there is none.
    asks: False where it says something of the clip alone and there is nothing in it to try."""

    words: str
    figures: tuple[str, ...] = ()
    time_s: float | None = None
    until_count: float | None = None
    asks: bool = True


@dataclass(frozen=True)
class Rung:
    """One tempo. held: True, False, or None where that could not be told; words: the same in words."""

    bpm: float
    held: bool | None
    words: str
    figures: tuple[str, ...]


@dataclass(frozen=True)
class Ladder:
    """Takes of one dance from slow to fast; words: up to which tempo it held."""

    words: str
    rungs: tuple[Rung, ...]


def dancer_of(review: dict[str, Any], number: int) -> dict[str, Any]:
    """A dancer's block. Raises BadInput for a number that is not in the review."""
    for one in review["dancers"]:
        if int(one["id"]) == number:
            return dict(one)
    there = ", ".join(str(one["id"]) for one in review["dancers"])
    raise BadInput(f"There is no dancer {number} in this review", f"Choose one of those shown ({there})")


def beside_last_time(
    review: dict[str, Any],
    number: int,
    earlier: dict[str, Any],
    earlier_number: int,
    *,
    settings: HandoutSettings = SETTINGS.handout,
) -> tuple[tuple[Line, ...], str | None]:
    """What changed since an earlier take of the same dance at the same tempo, only where the change exceeds the noise; and, if
    nothing is set side by side, why."""
    now, then = dancer_of(review, number), dancer_of(earlier, earlier_number)
    reason = why_not(review["beats"]) or why_not(earlier["beats"]) or why_not(now["timing"]) or why_not(then["timing"])
    if reason:
        return (), f"Not set beside last time: {reason}."
    if not same_dance(review, earlier):
        return (), "Not set beside last time: both clips need the sheet of one and the same dance."
    tempi = [float(one["beats"]["tempo_bpm"]) for one in (review, earlier)]
    if abs(tempi[0] / tempi[1] - 1) > settings.same_tempo:
        return (), f"Not set beside last time: that was at {tempi[1]:.0f} beats a minute, this at {tempi[0]:.0f}."
    lines = [*_spread_since(now, then, settings), *_moments_since(now, then, review, earlier, settings)]
    if not lines:
        return (), "Since last time nothing changed by more than chance could make it."
    return tuple(lines), None


def tempo_ladder(takes: Sequence[tuple[dict[str, Any], int]], *, settings: HandoutSettings = SETTINGS.handout) -> Ladder:
    """Up to which tempo it held: takes as (review, this dancer's number in it), in any order; of takes at one tempo the best counts.

    Held: at least held_share of the landings lay with the beat, and nobody fell out of the dance, with 95 % confidence (E. B. Wilson's
    interval, J. Am. Stat. Assoc. 22 (1927) 209). Takes without a beat are left out.
    """
    rungs: list[Rung] = []
    for review, number in sorted(takes, key=lambda take: tempo_of(take[0])):
        if why_not(review["beats"]):
            continue
        rung = _rung(review, dancer_of(review, number), settings)
        if rungs and rung.bpm - rungs[-1].bpm < settings.tempo_step_bpm:
            rank = {True: 2, None: 1, False: 0}
            rungs[-1] = max(rungs[-1], rung, key=lambda r: rank[r.held])
        else:
            rungs.append(rung)
    held = [rung.bpm for rung in rungs if rung.held]
    fell = next((rung.bpm for rung in rungs if rung.held is False), None)
    below = [bpm for bpm in held if fell is None or bpm < fell]
    if not rungs:
        words = "No take has a beat to hold to."
    elif fell is not None and held and held[-1] > fell:
        at = " and ".join(f"{bpm:.0f}" for bpm in held)
        words = f"It held at {at} beats a minute and came apart at {fell:.0f}: the tempo was not the reason."
    elif fell is not None and below:
        words = f"It held up to {below[-1]:.0f} beats a minute; at {fell:.0f} it came apart. Try the tempi between."
    elif fell is not None:
        words = f"At {fell:.0f} beats a minute it came apart, and no slower take held yet: try it slower."
    elif held:
        words = f"It held up to {held[-1]:.0f} beats a minute; of nothing faster that can be told yet."
    else:
        words = "Up to which tempo it holds could not be told yet."
    return Ladder(words, tuple(rungs))


def _rung(review: dict[str, Any], dancer: dict[str, Any], settings: HandoutSettings) -> Rung:
    bpm = tempo_of(review)
    reason = why_not(dancer["timing"])
    if reason or not isinstance(dancer["steps"], list):
        return Rung(bpm, None, f"{bpm:.0f}: could not be told, {reason or 'no landings were seen'}.", ())
    offsets = [float(s["offset_ms"]) - float(dancer["timing"]["bias_ms"]) for s in dancer["steps"] if s["offset_ms"] is not None]
    missed = sum(flag["kind"] == "missed" and bool(flag["named"]) for flag in flags_of(dancer))
    n, good = len(offsets) + missed, sum(abs(off) <= band_ms(review["beats"]) for off in offsets)
    low, high = wilson(good, n)
    out = any(flag["kind"] in ("count behind", "count ahead", "stood still") and flag["named"] for flag in flags_of(dancer))
    held = False if out or high < settings.held_share else True if low >= settings.held_share else None
    said = {True: "it held", False: "it came apart", None: "could not be told"}[held]
    return Rung(
        bpm, held, f"{bpm:.0f}: {said}.", (f"{good} of {n} landings with the beat: {low:.0%} to {high:.0%}, 19 times in 20.",)
    )


def wilson(good: int, n: int) -> Interval:
    """95 % interval of a share, `good` of `n`; (0, 1) of none."""
    if n == 0:
        return 0.0, 1.0
    share, z2 = good / n, Z95**2
    middle = (share + z2 / (2 * n)) / (1 + z2 / n)
    half = Z95 / (1 + z2 / n) * math.sqrt(share * (1 - share) / n + z2 / (4 * n * n))
    return max(0.0, middle - half), min(1.0, middle + half)


def _spread_since(now: dict[str, Any], then: dict[str, Any], settings: HandoutSettings) -> Iterator[Line]:
    """Whether the landings scatter more or less, by the median absolute deviation, which a single slip does not move."""
    spreads, errors = [], []
    for one in (now, then):
        offsets = (
            [float(s["offset_ms"]) for s in one["steps"] if s["offset_ms"] is not None] if isinstance(one["steps"], list) else []
        )
        if len(offsets) < settings.even_landings:
            return
        middle = statistics.median(offsets)
        spread = MAD_TO_SD * statistics.median(abs(off - middle) for off in offsets)
        spreads.append(spread)
        errors.append(spread / math.sqrt(2 * MAD_EFFICIENCY * len(offsets)))
    change, noise = spreads[0] - spreads[1], settings.sheer_sigmas * math.hypot(*errors)
    if abs(change) > noise:
        words = "Your steps came more evenly than last time." if change < 0 else "Your steps came less evenly than last time."
        yield Line(words, (f"Spread {spreads[1]:.0f} ms then, {spreads[0]:.0f} ms now; chance alone makes up to {noise:.0f} ms.",))


def _moments_since(
    now: dict[str, Any], then: dict[str, Any], review: dict[str, Any], earlier: dict[str, Any], settings: HandoutSettings
) -> Iterator[Line]:
    """Counts that were told as late or early last time and lie with the beat now."""
    for flag in flags_of(then):
        if not flag["named"] or flag["kind"] not in ("late", "early") or flag["count"] is None:
            continue
        was, step = _landing(then, flag["count"]), _landing(now, flag["count"])
        if was is None or step is None or any(f["count"] == flag["count"] for f in flags_of(now)):
            continue
        offs = [float(s["offset_ms"]) - float(one["timing"]["bias_ms"]) for s, one in ((step, now), (was, then))]
        noise = settings.sheer_sigmas * math.hypot(*(float(s["sigma_ms"] or 0) for s in (step, was)))
        if abs(offs[0]) <= band_ms(review["beats"]) and abs(offs[1]) - abs(offs[0]) > noise:
            dance = review["dance"]
            where = place_words(flag["count"], None, dance["wall_starts"] if dance else [], section_of(dance, review["beats"]))
            before = f"{much(offs[1], earlier['beats'])} {flag['kind']}"
            figures = (f"{signed_ms(offs[1])} then, {signed_ms(offs[0])} now, against the usual place; ± {noise:.0f} ms.",)
            yield Line(
                f"On {where} you were {before} last time; this time you landed with the beat.", figures, float(step["time_s"])
            )


def _landing(dancer: dict[str, Any], count: float) -> dict[str, Any] | None:
    steps = dancer["steps"] if isinstance(dancer["steps"], list) else []
    return next((s for s in steps if s["count"] == count and s["offset_ms"] is not None), None)


def flags_of(dancer: dict[str, Any]) -> list[dict[str, Any]]:
    """A dancer's findings, sure or not; empty where they were not measured."""
    return list(dancer["flags"]) if isinstance(dancer["flags"], list) else []


def much(size_ms: float, beats: dict[str, Any]) -> str:
    """How far that is, in a word."""
    return "clearly" if abs(size_ms) > band_ms(beats) else "a little"


def band_ms(beats: dict[str, Any]) -> float:
    """How far from the usual place still counts as with the beat."""
    return max(SETTINGS.page.little_ms, SETTINGS.page.little_share * gap_ms(beats))


def gap_ms(beats: dict[str, Any]) -> float:
    """From one beat to the next."""
    return 60_000 / float(beats["tempo_bpm"])


def tempo_of(review: dict[str, Any]) -> float:
    """Beats a minute; without a beat endless, so that it is sorted last."""
    return math.inf if why_not(review["beats"]) else float(review["beats"]["tempo_bpm"])


def same_dance(review: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether two reviews are of one dance, by the title and counts of their sheets; False where either has no sheet."""
    dances = [one.get("dance") for one in (review, other)]
    return all(dances) and len({(str(dance["title"]), int(dance["counts"])) for dance in dances if dance}) == 1
