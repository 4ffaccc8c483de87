"""Numbers as a teacher or student says them: clock times, counts, shares of a count, views."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from motion.review.settings import SETTINGS

#: Shares of a count that people say, and how they say them.
SHARES = (
    (1 / 20, "a twentieth"), (1 / 10, "a tenth"), (1 / 5, "a fifth"), (1 / 4, "a quarter"), (1 / 3, "a third"),
    (1 / 2, "half"), (2 / 3, "two thirds"), (3 / 4, "three quarters"), (1.0, "the whole"),
)  # fmt: skip
#: Two standard deviations of where a foot comes down, as read on drawn dancers: leg lengths.
PLACE_GIVE = 0.2
#: Of our own, for a system's may be in another language than the rest of the page.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WHOLE_COUNT = ("count behind", "count ahead")
CHECK_COUNTS = (
    "That is most of the dance: look first whether count 1 lies where it should, and put the counts right if it does not."
)


@dataclass(frozen=True)
class Told:
    """words: the first reading; figures: sentences for whoever asks for the numbers, may be empty."""

    words: str
    figures: tuple[str, ...] = ()


def why_not(block: Any) -> str | None:
    """The reason in a block that could not be measured; None if it was measured."""
    return str(block["not_measured"]) if isinstance(block, dict) and "not_measured" in block else None


def clock(time_s: float) -> str:
    """m:ss.s, so that 59.96 s reads 1:00.0."""
    tenths = round(time_s * 10)
    minutes, rest = divmod(abs(tenths), 600)
    return f"{'−' if tenths < 0 else ''}{minutes}:{rest // 10:02d}.{rest % 10}"


def told_day(day: date | str) -> str:
    """A day as people read it, on pages and on paper: 18 Jul 2031. day: a date, or ISO text; other text is given back as it is."""
    try:
        day = date.fromisoformat(day) if isinstance(day, str) else day
    except ValueError:
        return str(day)
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def count_name(count: float) -> str:
    """A count as it is called: 3, 3& for the half, 3a for the later two thirds."""
    whole = int(count // 1)
    part = count - whole
    if part < 0.1 or part > 0.9:
        return str(round(count))
    return f"{whole}{'&' if part < 0.6 else 'a'}"


def listed(words: Sequence[str]) -> str:
    """ "3", "3 and 5", "3, 5 and 7"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def wall_of(count: float, starts: Sequence[int]) -> int:
    """Number of the wall, from 1, that a running count belongs to; `starts` as review.json's dance block gives them."""
    return max(1, sum(start <= count for start in starts))


def section_of(dance: dict[str, Any] | None, beats: dict[str, Any]) -> int:
    """Counts in a section: as the dance has it; without one 6 where the beats are counted to 6, else 8."""
    if dance:
        return int(dance["section"])
    return 6 if max(beats.get("counts", [8])) == 6 else 8


def place_words(count: float | None, until: float | None, starts: Sequence[int], section: int) -> str:
    """Where in the dance: "wall 2, count 13 (5 in the 2nd eight)", "wall 1, counts 5 to 7"; "" if no count fits.

    Parameters: count, until on the running count; starts, the first count of every wall, empty without a dance; section, 8 or 6.
    """
    if count is None:
        return ""
    wall = wall_of(count, starts) if starts else 0
    here = _in_wall(count, starts)
    called = f"wall {wall}, " if starts else ""
    if until is None or until <= count:
        eight = int((here - 1) // section)
        name = "six" if section == 6 else "eight"
        within = f" ({count_name(here - section * eight)} in the {_ordinal(eight + 1)} {name})" if eight > 0 else ""
        return f"{called}count {count_name(here)}{within}"
    end = _in_wall(until, starts)
    if starts and wall_of(until, starts) != wall:
        return f"{called}count {count_name(here)} to wall {wall_of(until, starts)}, count {count_name(end)}"
    return f"{called}counts {count_name(here)} to {count_name(end)}"


def _in_wall(count: float, starts: Sequence[int]) -> float:
    return count - starts[wall_of(count, starts) - 1] + 1 if starts else count


def _ordinal(number: int) -> str:
    endings = {1: "st", 2: "nd", 3: "rd"}
    return f"{number}{'th' if number % 100 in (11, 12, 13) else endings.get(number % 10, 'th')}"


def letter(index: int) -> str:
    """a, b, .. z, aa, ab ..: the mark that ties a finding to its place in the chart."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("a") + rest) + text
    return text


def named_flags(dancer: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """The findings sure enough to be put to a person, in order of time, each with its letter."""
    flags = dancer["flags"]
    named = [flag for flag in flags if flag["named"]] if isinstance(flags, list) else []
    return [(letter(i), flag) for i, flag in enumerate(sorted(named, key=lambda flag: float(flag["time_s"])))]


def finding_words(flag: dict[str, Any], dancer: dict[str, Any]) -> str:
    """A finding as it is put to a person, without figures: `measured` has those. Who is a whole count off for most of the dance may
    have been counted from a wrong count 1, which is then said."""
    words = str(flag["words"])
    return f"{words} {CHECK_COUNTS}" if flag["kind"] in WHOLE_COUNT and most_of_dance(flag, dancer) else words


def most_of_dance(flag: dict[str, Any], dancer: dict[str, Any]) -> bool:
    """Does a finding cover more than half of the counts from this dancer's first landing to their last?"""
    counts = [float(s["count"]) for s in _steps(dancer) if s["count"] is not None]
    if flag["count"] is None or flag["until_count"] is None or not counts:
        return False
    return float(flag["until_count"] - flag["count"]) + 1 > (max(counts) - min(counts) + 1) / 2


def measured(flag: dict[str, Any], dancer: dict[str, Any], beats: dict[str, Any]) -> str:
    """The size of a finding as it was measured, with what it rests on: how exactly its landing is read, or how many; "" without a size."""
    if flag["size"] is None:
        return ""
    if flag["unit"] != "ms":
        give = f" ± {PLACE_GIVE}" if flag["unit"] == "leg lengths" else ""
        return f"{flag['size']:g}{give} {flag['unit'] or ''}".rstrip()
    size = abs(float(flag["size"]))
    if flag["kind"] == "drifting":
        told = f"{size:.0f} ms from the first of {sum(s['offset_ms'] is not None for s in _steps(dancer))} landings to the last"
    else:
        near = [
            s for s in _steps(dancer) if s["sigma_ms"] and s["count"] == flag["count"] and abs(s["time_s"] - flag["time_s"]) < 0.5
        ]
        give = f" ± {2 * math.hypot(near[0]['sigma_ms'], SETTINGS.timing.beat_sigma_ms):.0f}" if near else ""
        told = f"{size:.0f}{give} ms {'after' if flag['kind'] == 'late' else 'before'} this dancer's usual time"
    return told if why_not(beats) else f"{told}, {share_words(size, float(beats['tempo_bpm']))}"


def _steps(dancer: dict[str, Any]) -> Sequence[dict[str, Any]]:
    return dancer["steps"] if isinstance(dancer["steps"], list) else ()


def share_words(size_ms: float, tempo_bpm: float) -> str:
    """A time against the length of one count: 50 ms at 120 BPM is "a tenth of a count"."""
    share = abs(size_ms) * tempo_bpm / 60_000.0
    if share < SHARES[0][0]:
        return "less than a twentieth of a count"
    if share > 1.25:
        return f"about {share:.1f} counts"
    return f"about {min(SHARES, key=lambda known: abs(known[0] - share))[1]} of a count"


def signed_ms(value_ms: float) -> str:
    """30 ms early, 30 ms late, or "on the beat" at 0."""
    rounded = round(value_ms)
    if rounded == 0:
        return "on the beat"
    return f"{abs(rounded)} ms {'late' if rounded > 0 else 'early'}"


def degrees(value_deg: float) -> str:
    """Whole degrees with a true minus sign."""
    return f"{round(value_deg)}°".replace("-", "−")


def view_words(view_deg: float) -> str:
    """From where the camera saw the dancer; view_deg 0 faces the camera, +90 shows the dancer's right side, ±180 the back."""
    side = "right" if view_deg > 0 else "left"
    away = abs(view_deg)
    if away <= 30:
        return "from the front"
    if away >= 150:
        return "from behind"
    if away < 60:
        return f"half from the front, {side} side nearer"
    if away > 120:
        return f"half from behind, {side} side nearer"
    return f"from the dancer's {side} side"


def used_words(row: dict[str, Any]) -> str:
    """How many pictures a range rests on, and how many of those with this dancer they are; older reviews tell only the first."""
    share = row.get("seen_share")
    return str(row["pictures_used"]) if share is None else f"{row['pictures_used']} ({share:.0%} of those with this dancer)"
