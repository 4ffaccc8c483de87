"""Counts on beats: which beat is count 1, where a count lies, given beats and tempi, and the beats file."""

from __future__ import annotations

import csv
import io
import math
from typing import Any, Literal

import numpy as np

from motion.base.checks import need, number_between
from motion.base.errors import BadInput
from motion.base.types import BeatGrid, Floats
from motion.music.metre import beat_colours
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import MusicSettings


def changed(grid: BeatGrid, **parts: Any) -> BeatGrid:
    """The grid with some parts replaced."""
    return BeatGrid(**{**{name: getattr(grid, name) for name in grid.__dataclass_fields__}, **parts})


def section_of(grid: BeatGrid) -> int:
    """Counts in one section: 6 when a 6 is followed by a 1, else 8."""
    wraps = grid.counts[:-1][grid.counts[1:] == 1]
    return 6 if len(wraps) and int(np.median(wraps)) == 6 else 8


def first_count_candidates(grid: BeatGrid, curve: OnsetCurve | None, *, settings: MusicSettings) -> list[tuple[float, float]]:
    """(time_s, weight 0..1) of beats that may be the dance's first count, likeliest first, from the intro alone.

    The first count is where the music comes in after ticks: from there on the beats sound fuller than any before, a whole number of
    bars after the first tick. Without that, the starts of sections are listed with small weights.
    """
    section = section_of(grid)
    bar = 3 if section == 6 else 4
    starts = [float(t) for t in grid.times_s[grid.counts == 1][: settings.intro_sections]]
    weak = [(t, settings.plain_start_weight * 0.7**i) for i, t in enumerate(starts)]
    if curve is None or len(grid.times_s) < 2 * bar:
        return weak
    loud = np.mean(np.maximum(beat_colours(curve, grid.times_s), settings.quiet_db - 15), axis=1)
    last = min(len(loud) - bar, settings.intro_sections * section)
    # The beat itself and the bar that it begins are louder than every beat before: an accent or a fill does not do that.
    entry = np.array([min(loud[i], np.median(loud[i : i + bar])) - loud[:i].max() if i else -np.inf for i in range(max(last, 1))])
    best = int(np.argmax(entry))
    if entry[best] <= 0:
        return weak
    weight = float(min(1.0, entry[best] / settings.entry_db)) * (0.95 if best % bar == 0 else 0.6)
    rest = [(t, w * (1 - weight)) for t, w in weak if abs(t - grid.times_s[best]) > 1e-6]
    return sorted([(float(grid.times_s[best]), weight), *rest], key=lambda pair: -pair[1])


def with_first_count(grid: BeatGrid, first_count_s: float) -> BeatGrid:
    """The grid numbered so that the beat nearest first_count_s (on the grid or on its straight continuation) is count 1."""
    number_between(first_count_s, -3600, 36000, "the first count", "seconds")
    at = round(float(_index(grid.times_s, np.array([first_count_s]))[0]))
    counts = (np.arange(len(grid.times_s)) - at) % section_of(grid) + 1
    return changed(grid, counts=counts, first_count_s=float(_time(grid.times_s, np.array([float(at)]))[0]))


def steady_grid(bpm: float, first_count_s: float, from_s: float, to_s: float, beats_per_bar: int = 4) -> BeatGrid:
    """Beats of a given tempo between two times, count 1 at first_count_s. BadInput when the tempo or the times cannot be used."""
    number_between(bpm, 20, 400, "the tempo", "beats a minute")
    number_between(first_count_s, -3600, 36000, "the first count", "seconds")
    gap = 60 / bpm
    k = np.arange(math.ceil((from_s - first_count_s) / gap - 1e-9), math.floor((to_s - first_count_s) / gap + 1e-9) + 1)
    if len(k) < 2:
        raise BadInput(
            f"At {bpm:g} beats a minute fewer than two beats fall between {from_s:g} and {to_s:g} s", "Give a faster tempo"
        )
    section = 6 if beats_per_bar == 3 else 8
    return BeatGrid("given", np.asarray(first_count_s + k * gap, float), k % section + 1, bpm, 0.5, 1.0, first_count_s)


def at_speed(grid: BeatGrid, speed: Literal["half", "same", "double"]) -> BeatGrid:
    """The grid counted half as fast (every second beat, count 1 kept) or twice as fast (a beat more in every middle)."""
    if speed == "same":
        return grid
    section = section_of(grid)
    one = _first_index(grid)
    if speed == "half":
        kept = np.arange(one % 2, len(grid.times_s), 2)
        if len(kept) < 2:
            raise BadInput("Counting half as fast leaves fewer than two beats", "Choose the same speed")
        times, first, factor = grid.times_s[kept], (one - one % 2) // 2, 0.5
    else:
        n = len(grid.times_s)
        times = np.interp(np.arange(2 * n - 1) / 2, np.arange(n), grid.times_s)
        first, factor = 2 * one, 2.0
    counts = (np.arange(len(times)) - first) % section + 1
    # The place of the half beat was measured for the other speed.
    return changed(grid, times_s=times, counts=counts, tempo_bpm=grid.tempo_bpm * factor, half_at=0.5)


def beat_position(grid: BeatGrid, times_s: Floats) -> Floats:
    """Beats since the first count (N,) at times_s (N,): 0 at count 1, straight between beats, going on past the ends."""
    return _index(grid.times_s, np.asarray(times_s, float)) - _first_index(grid)


def time_of(grid: BeatGrid, count: Floats | float) -> Floats:
    """Times in seconds (N,) of counts (N,), running on from 1 at the first count; a half count (3.5, written 3&) lies
    grid.half_at of the way to the next beat, every other part (an a, two thirds) where it says."""
    position = np.atleast_1d(np.asarray(count, float)) - 1
    whole = np.floor(position + 1e-9)
    part = position - whole
    part = np.where(np.abs(part - 0.5) < 0.01, grid.half_at, part)
    return _time(grid.times_s, whole + part + _first_index(grid))


def _first_index(grid: BeatGrid) -> int:
    """Index of the first count among the beats (below 0 when it lies before them); the first count 1 when it is not known."""
    if grid.first_count_s is not None:
        return round(float(_index(grid.times_s, np.array([grid.first_count_s]))[0]))
    ones = np.flatnonzero(grid.counts == 1)
    return int(ones[0]) if len(ones) else 1 - int(grid.counts[0])


def _index(beats_s: Floats, times_s: Floats) -> Floats:
    n = len(beats_s)
    k = np.clip(np.searchsorted(beats_s, times_s, side="right") - 1, 0, n - 2)
    return np.asarray(k + (times_s - beats_s[k]) / (beats_s[k + 1] - beats_s[k]))


def _time(beats_s: Floats, index: Floats) -> Floats:
    k = np.clip(np.floor(index).astype(int), 0, len(beats_s) - 2)
    return np.asarray(beats_s[k] + (index - k) * (beats_s[k + 1] - beats_s[k]))


def beats_csv_text(grid: BeatGrid) -> str:
    """The grid as the contract's beats.csv: time_s, count."""
    rows = [f"{t:.4f},{c}\r\n" for t, c in zip(grid.times_s, grid.counts, strict=True)]
    return "time_s,count\r\n" + "".join(rows)


def read_beats_csv(text: str, *, beats_per_bar: int = 4) -> BeatGrid:
    """Beats from the text of a beats file: time_s and, where given, count; commas, semicolons (then with decimal commas) or tabs.

    A row may leave its count empty; counts then run on from the last one given. When beats without a count come first, the
    first one with count 1 is the first count. BadInput names the row that cannot be used.
    """
    lines = text.removeprefix("\ufeff").splitlines()
    mark = ";" if any(";" in line for line in lines) else "\t" if any("\t" in line for line in lines) else ","
    times: list[float] = []
    given: list[int | None] = []
    section = 6 if beats_per_bar == 3 else 8
    headed = False
    columns = (0, 1)
    for number, cells in enumerate(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark), 1):
        cells = [c.strip() for c in cells]
        if not any(cells) or cells[0].startswith("#"):
            continue
        names = [c.lower() for c in cells]
        if not times and not headed and "time_s" in names:
            headed, columns = True, (names.index("time_s"), names.index("count") if "count" in names else -1)
            continue
        written = cells[columns[0]] if columns[0] < len(cells) else ""
        time_s = _number(written.replace(",", ".") if mark == ";" else written)
        if time_s is None:
            raise BadInput(f"Row {number} of the beats file: '{written}' is not a time in seconds", "Write seconds such as 12.345")
        if times and time_s <= times[-1]:
            raise BadInput(
                f"Row {number} of the beats file: {time_s:g} s does not come after {times[-1]:g} s", "Put the beats in order"
            )
        said = cells[columns[1]] if 0 <= columns[1] < len(cells) else ""
        value = _number(said)
        if said and (value is None or value != int(value) or not 1 <= value <= section):
            raise BadInput(
                f"Row {number} of the beats file: '{said}' is not a count", f"Write a whole number from 1 to {section}, or nothing"
            )
        times.append(time_s)
        given.append(None if value is None else int(value))
    if len(times) < 2:
        raise BadInput("The beats file holds fewer than two beats", "Give one row a beat: time_s, count")
    known = [i for i, c in enumerate(given) if c is not None]
    anchor = known[0] if known else 0
    counts = np.zeros(len(times), dtype=np.int64)
    here = (given[anchor] or 1) - anchor
    for i, c in enumerate(given):
        here = c if c is not None else here + (i > 0)
        counts[i] = (here - 1) % section + 1
    if not known:
        counts = np.arange(len(times)) % section + 1
    at = np.array(times)
    ones = [i for i in known if given[i] == 1]
    first = at[ones[0]] if ones and known[0] > 0 else None
    need(bool(np.all(counts >= 1)), "counts are positive", counts.min())
    return BeatGrid("given", at, counts, float(60 / np.median(np.diff(at))), 0.5, 1.0, None if first is None else float(first))


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
