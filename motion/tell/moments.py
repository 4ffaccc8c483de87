"""Which seconds of a clip show a moment: two counts of run-up, the counts to be read along, where another count 1 would be.

Pure functions on the blocks of review.json. Times are seconds from the clip's first picture.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import Any

from motion.base.settings import PageSettings
from motion.review.settings import SETTINGS
from motion.tell.words import why_not


@dataclass(frozen=True)
class Window:
    """A short stretch of a clip. at_s: the moment itself; marks: (time_s, the count as it is called) within the stretch."""

    from_s: float
    to_s: float
    at_s: float
    marks: tuple[tuple[float, str], ...]


def window(
    review: dict[str, Any], time_s: float, until_count: float | None = None, *, settings: PageSettings = SETTINGS.page
) -> Window:
    """The stretch that shows `time_s` (and on to `until_count`) with run-up and run-out, within the clip and not over-long.

    It begins a breath before the beat two counts ahead of the moment's own, so that this beat is heard, and ends likewise.
    Example: beats every half second, a moment at 10.1 s: from 8.95 s (the beat at 9.0 s) to 11.05 s.
    """
    beats, breath_s = review["beats"], settings.breath_s
    if why_not(beats):
        from_s, to_s, marks = time_s - settings.around_s, time_s + settings.around_s, []
    else:
        end_s = time_of_count(beats, until_count) if until_count is not None else None
        from_s = _beat_from(beats, time_s, -settings.counts_before) - breath_s
        to_s = _beat_from(beats, max(time_s, end_s or time_s), settings.counts_after) + breath_s
        marks = [(float(t), str(c)) for t, c in zip(beats["times_s"], beats["counts"], strict=True)]
    from_s = max(0.0, from_s)
    to_s = min(to_s, from_s + settings.longest_cut_s, float(review["clip"]["duration_s"]))
    return Window(from_s, to_s, time_s, tuple((t, name) for t, name in marks if from_s <= t <= to_s))


def time_of_count(beats: dict[str, Any], count: float) -> float | None:
    """When the running count (1 = first count of the dance, 3.5 = 3&) falls; None without a beat, a count 1, or past either end."""
    if why_not(beats) or beats["first_count_s"] is None:
        return None
    times = [float(t) for t in beats["times_s"]]
    place = _nearest(times, float(beats["first_count_s"])) + count - 1
    whole = int(place // 1)
    if not 0 <= whole < len(times):
        return None
    following = times[whole + 1] if whole + 1 < len(times) else times[whole] + 60.0 / float(beats["tempo_bpm"])
    return times[whole] + (place - whole) * (following - times[whole])


def other_first_count(beats: dict[str, Any], by: int) -> float | None:
    """Where count 1 would fall `by` beats later (earlier if negative); None where there is no such beat, or no count 1 yet."""
    if why_not(beats) or beats["first_count_s"] is None:
        return None
    times = [float(t) for t in beats["times_s"]]
    place = _nearest(times, float(beats["first_count_s"])) + by
    return times[place] if 0 <= place < len(times) else None


def _beat_from(beats: dict[str, Any], time_s: float, by: int) -> float:
    """The beat `by` beats from the one nearest to time_s; by the tempo where the clip has no such beat."""
    times = [float(t) for t in beats["times_s"]]
    place = _nearest(times, time_s) + by
    return times[place] if 0 <= place < len(times) else time_s + by * 60.0 / float(beats["tempo_bpm"])


def _nearest(times: list[float], time_s: float) -> int:
    after = min(bisect_left(times, time_s), len(times) - 1)
    return after - 1 if after and time_s - times[after - 1] < times[after] - time_s else after
