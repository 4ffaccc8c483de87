"""What one dancer reads: first something measured that went well, or nothing; then one thing to try. Figures stay apart.

Words look outward, to the beat, the floor and the room, not to the body: G. Wulf, S. Chiviacowsky, E. Schiller, L. Avila, "Frequent
external-focus feedback enhances motor learning", Front. Psychol. 1 (2010) 190. A lag that phone and room may explain is never told as
the dancer's. Pure functions on the blocks of review.json; "give or take" means two standard deviations.
"""

from __future__ import annotations

import math
import re
import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from motion.base.settings import HandoutSettings
from motion.review.settings import SETTINGS
from motion.tell.review_words import Finding, dancer_name, findings, timing_told
from motion.tell.takes import Line, band_ms, beside_last_time, dancer_of, flags_of, gap_ms, much
from motion.tell.words import clock, most_of_dance, place_words, section_of, signed_ms, why_not

#: Kinds of findings in the order in which they are worth trying: first what takes the dancer out of the dance, then single moments.
WORTH = (
    "count behind", "count ahead", "stood still", "danced in mirror", "missed", "other foot", "late", "early", "extra", "other step",
)  # fmt: skip
#: What to try, looking outward. {where}: "count 5 of wall 2"; {much}: "clearly" or "a little".
TRY = {
    "count behind": "From {where} on, the dance was one count ahead of you: listen for the next 1 and start again with it.",
    "count ahead": "From {where} on, you were one count ahead of the dance: let the next 1 come to you, and start again with it.",
    "stood still": "No steps were seen on {where}: pick out the next 1 in the music and join in there.",
    "danced in mirror": "On {where} you and the dance went opposite ways: look to where the dance goes before you set off.",
    "missed": "No step was seen on {where}: let that beat be heard on the floor.",
    "other foot": "On {where} the dance uses the other foot: before that beat, find the shoe that is free to move.",
    "late": "On {where} you landed {much} after the beat: land together with the drum.",
    "early": "On {where} you landed {much} before the beat: let the beat come to your foot.",
    "extra": "Near {where} there was one step more than the dance has: leave the floor quiet there.",
    "other step": "On {where} your step came down on another spot than in the dance: pick the spot on the floor beforehand.",
}
#: The same where it was so for a part of the dance only: then the next 1 is no remedy, the dancer was back before it.
TRY_SHORT = {
    "count behind": "On {where} the dance was one count ahead of you: hear the count before it, and set off with the music.",
    "count ahead": "On {where} you were one count ahead of the dance: let each count be heard before you land on it.",
}
#: Kinds after which a count is not told as having gone well, sure or not.
FAULTS = frozenset(WORTH)
#: What is told as having gone well where landings are even, wherever they lie.
EVEN = "Your steps came evenly"


@dataclass(frozen=True)
class StudentView:
    """well: a measured fact, None where there is none; to_try: one thing, or that nothing stood out or could be told; figures: the
    rest of the numbers; since: how it was last time, only where that exceeds the noise; since_why: why nothing is set beside it."""

    name: str
    well: Line | None
    to_try: Line
    figures: tuple[str, ...]
    since: tuple[Line, ...] = ()
    since_why: str | None = None


def student_view(
    review: dict[str, Any],
    number: int,
    *,
    earlier: tuple[dict[str, Any], int] | None = None,
    settings: HandoutSettings = SETTINGS.handout,
) -> StudentView:
    """What dancer `number` of a review reads; earlier: an earlier review and this same dancer's number in it.

    Raises BadInput for a number that is not in the review.
    """
    dancer = dancer_of(review, number)
    told = timing_told(dancer, review["beats"])
    figures = list(told.figures)
    usual = _usual_ms(review, dancer)
    if usual is not None and _theirs(review, dancer) is None and abs(usual) >= SETTINGS.desk.told_offset_ms:
        figures.append(
            f"The usual place of {signed_ms(usual)} is no more than phone and room can make, so it is not told as the dancer's own."
        )
    since, why = beside_last_time(review, number, *earlier, settings=settings) if earlier is not None else ((), None)
    return StudentView(dancer_name(dancer), went_well(review, dancer, settings), to_try(review, dancer), tuple(figures), since, why)


def card_lines(review: dict[str, Any], number: int) -> tuple[str, ...]:
    """The one or two sentences of the opening card of the film that a student takes along."""
    seen = student_view(review, number)
    return tuple(line.words for line in (seen.well, seen.to_try) if line is not None)


def went_well(review: dict[str, Any], dancer: dict[str, Any], settings: HandoutSettings = SETTINGS.handout) -> Line | None:
    """The longest stretch of counts with every landing with the beat, or how even the landings are; None if neither was measured."""
    beats, timing = review["beats"], dancer["timing"]
    if why_not(beats) or why_not(timing) or not isinstance(dancer["steps"], list):
        return None
    own = _theirs(review, dancer) is None
    best = max(_runs(review, dancer, settings), key=lambda run: run[-1]["count"] - run[0]["count"], default=None)
    if best is not None:
        first, last = float(best[0]["count"]), float(best[-1]["count"])
        with_it = "Every step was with the beat" if own else EVEN
        far = max(abs(float(step["offset_ms"]) - float(timing["bias_ms"])) for step in best)
        figures = (
            f"{len(best)} landings in a row, none farther than {far:.0f} ms from this dancer's usual place "
            f"(with the beat means within {band_ms(beats):.0f} ms).",
        )
        whole = best[0] is dancer["steps"][0] and best[-1] is dancer["steps"][-1]
        where = "from beginning to end" if whole else _stretch(place_words(first, last, *_layout(review)))
        return Line(f"{with_it} {where}.", figures, float(best[0]["time_s"]), last)
    spread, n = float(timing["steadiness_ms"]), int(timing["n"])
    if n >= settings.even_landings and spread + 2 * _spread_error(spread, n) <= settings.even_share * gap_ms(beats):
        return Line(f"{EVEN} from beginning to end.", (f"Spread {spread:.0f} ms over {n} landings.",))
    return None


def to_try(review: dict[str, Any], dancer: dict[str, Any]) -> Line:
    """One thing to try, in words that look outward; or that nothing stood out, or could be told."""
    beats, dance = review["beats"], review.get("dance")
    reason = why_not(beats) or why_not(dancer["timing"]) or why_not(dancer["flags"])
    found = [one for one in findings(dancer, beats, dance) if one.kind in TRY and _true_of_the_beat(one, review, dancer)]
    if found and not why_not(beats):
        one = min(found, key=lambda f: (-_often(f, dancer, dance), WORTH.index(f.kind), f.time_s))
        return _tried(one, dancer, review)
    if why_not(beats):
        return Line(f"Whether you were with the beat could not be told: {reason}.", asks=False)
    if reason:
        return Line(
            "From this clip it cannot be told whether you were with the beat. That says nothing about your dancing.",
            (f"Why it cannot be told: {reason}.",),
            asks=False,
        )
    theirs = _theirs(review, dancer)
    if theirs is not None:
        where = "after" if theirs > 0 else "before"
        cue = "be on your way sooner, and land together with the drum" if theirs > 0 else "let the beat come to your foot"
        words = f"As a rule you land {much(theirs, beats)} {where} the beat: {cue}."
        return Line(words, timing_told(dancer, beats).figures[:1])
    if dancer.get("own_version"):
        words = "You dance a version of your own: it is set beside the beat alone, and no single moment of it is a fault."
        return Line(words, asks=False)
    if dance:
        return Line("Nothing stood out for sure: choose for yourself which count you would like to try again.")
    return Line("Without a dance sheet single moments cannot be told.", asks=False)


def _runs(review: dict[str, Any], dancer: dict[str, Any], settings: HandoutSettings) -> Iterator[list[dict[str, Any]]]:
    """Stretches of landings, each with the beat, that nothing found lies in and that cover enough of their counts."""
    if review.get("dance") is None or dancer.get("own_version"):
        return  # without a sheet a landing is held against the nearest half beat, and a missed one is not known
    band, usual = band_ms(review["beats"]), float(dancer["timing"]["bias_ms"])
    spoiled = [
        (float(f["count"]), float(f["until_count"] or f["count"])) for f in flags_of(dancer) if f["kind"] in FAULTS and f["count"]
    ]
    unsure = dancer["track"]["unsure"]
    run: list[dict[str, Any]] = []
    for step in [*dancer["steps"], None]:
        good = (
            step is not None
            and step["count"] is not None
            and step["offset_ms"] is not None
            and abs(float(step["offset_ms"]) - usual) <= band
            and not any(a - 0.5 < float(step["count"]) < b + 0.5 for a, b in spoiled)
            and not any(a <= float(step["time_s"]) <= b for a, b in unsure)
        )
        between = bool(run) and good and any(float(run[-1]["count"]) < a < float(step["count"]) for a, _ in spoiled)
        if run and (not good or between):
            if _covers(run, settings):
                yield run
            run = []
        if good:
            run.append(step)


def _covers(run: list[dict[str, Any]], settings: HandoutSettings) -> bool:
    many = float(run[-1]["count"]) - float(run[0]["count"]) + 1
    return many >= settings.run_counts and len({math.floor(float(s["count"])) for s in run}) >= settings.run_share * many


def _tried(one: Finding, dancer: dict[str, Any], review: dict[str, Any]) -> Line:
    beats, dance = review["beats"], review.get("dance")
    flag = next(f for f in flags_of(dancer) if f["kind"] == one.kind and float(f["time_s"]) == one.time_s)
    where = f"{one.where}{_in_eight(flag, review)}" if one.where else f"the moment at {clock(one.time_s)}"
    how = much(float(flag["size"]), beats) if flag["size"] is not None and flag["unit"] == "ms" else ""
    short = one.kind in TRY_SHORT and not most_of_dance(flag, dancer)
    words = (TRY_SHORT if short else TRY)[one.kind].format(where=where, much=how)
    many = _often(one, dancer, dance)
    if many > 1:
        words += f" It was so on {many} walls."
    return Line(words, (one.words, f"{one.sure.capitalize()}: {one.figures}."), one.time_s, one.until_count)


def _layout(review: dict[str, Any]) -> tuple[list[int], int]:
    """The first count of every wall, and how many counts a section has."""
    dance = review.get("dance")
    return (dance["wall_starts"] if dance else []), section_of(dance, review["beats"])


def _stretch(place: str) -> str:
    """A stretch after "with the beat": "on wall 1, counts 14 to 32", "from wall 1, count 13 to wall 2, count 6"."""
    return f"{'from' if place.count('wall') > 1 else 'on'} {place}"


def _in_eight(flag: dict[str, Any], review: dict[str, Any]) -> str:
    """Of a few counts within one eight, how they are called and shown while they play: " (1 to 4 in the 2nd eight)"."""
    if flag["count"] is None or flag["until_count"] is None or flag["until_count"] <= flag["count"]:
        return ""  # a single count is told so already
    ends = [place_words(float(flag[end]), None, *_layout(review)) for end in ("count", "until_count")]
    first, last = (re.search(r"\((\S+) (in the .*)\)$", end) for end in ends)
    wall = ends[0].split(", ")[0] == ends[1].split(", ")[0]
    return f" ({first[1]} to {last[1]} {last[2]})" if wall and first and last and first[2] == last[2] else ""


def _true_of_the_beat(one: Finding, review: dict[str, Any], dancer: dict[str, Any]) -> bool:
    """Early and late are found against the dancer's usual place; with a steady lag of their own, is it so against the beat too?"""
    usual = _theirs(review, dancer)
    flag = next(f for f in flags_of(dancer) if f["kind"] == one.kind and float(f["time_s"]) == one.time_s)
    if usual is None or one.kind not in ("late", "early") or flag["size"] is None:
        return True
    size = float(flag["size"])
    return (size + usual) * size > 0 and abs(size + usual) >= SETTINGS.desk.told_offset_ms


def _often(one: Finding, dancer: dict[str, Any], dance: dict[str, Any] | None) -> int:
    """On how many walls the same thing was found on the same count of the wall."""
    if dance is None:
        return 1
    starts = dance["wall_starts"]

    def in_wall(count: float) -> tuple[int, float]:
        wall = max(1, sum(start <= count for start in starts))
        return wall, count - starts[wall - 1]

    mine = [f for f in flags_of(dancer) if f["kind"] == one.kind and f["named"] and f["count"] is not None]
    here = next((in_wall(float(f["count"]))[1] for f in mine if float(f["time_s"]) == one.time_s), None)
    return max(1, len({in_wall(float(f["count"]))[0] for f in mine if in_wall(float(f["count"]))[1] == here}))


def _theirs(review: dict[str, Any], dancer: dict[str, Any]) -> float | None:
    """The dancer's own steady lead or lag in ms, once what phone and room may explain is taken off; None where nothing is left.

    Phone and room give everybody in the clip the same, and, without a clap in view, up to phone_ms.
    """
    usual = _usual_ms(review, dancer)
    if usual is None:
        return None
    low, high = (float(v) for v in dancer["timing"]["bias_interval_ms"])
    moved = review["beats"].get("sound_offset_ms")
    if moved and moved["claps"]:
        room = 2 * float(moved["sigma_ms"])
        explained = (-room, room)
    else:
        others = [u for one in review["dancers"] if one["id"] != dancer["id"] and (u := _usual_ms(review, one)) is not None]
        phone = SETTINGS.page.phone_ms
        common = max(-phone, min(phone, statistics.median(others))) if len(others) >= 2 else None
        explained = (-phone, phone) if common is None else (common, common)
    least = SETTINGS.desk.told_offset_ms
    if low > explained[1] and usual - explained[1] >= (least if explained[0] == explained[1] else 0) and usual >= least:
        return usual
    if high < explained[0] and explained[0] - usual >= (least if explained[0] == explained[1] else 0) and usual <= -least:
        return usual
    return None


def _usual_ms(review: dict[str, Any], dancer: dict[str, Any]) -> float | None:
    return None if why_not(review["beats"]) or why_not(dancer["timing"]) else float(dancer["timing"]["bias_ms"])


def _spread_error(spread_ms: float, n: int) -> float:
    """Standard error of a standard deviation of n normal values."""
    return spread_ms / math.sqrt(2 * max(1, n - 1))
