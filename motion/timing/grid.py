"""The counts in time: beats heard or given, the speed of counting, and which beat is the dance's count 1."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from motion.base.types import BeatGrid, Candidates, DanceSheet, Due, Floats, NotMeasured
from motion.dance.unroll import unroll
from motion.music.counts import at_speed, beat_position, changed, steady_grid, time_of, with_first_count
from motion.timing.anchor import anchored, rhythm_of_steps
from motion.timing.match import to_match
from motion.timing.settings import TimingSettings

Speed = Literal["half", "same", "double"]


@dataclass(frozen=True, eq=False)
class Counted:
    """grid: counts in time, None when there is none; beats: what is said of the beat; due: events that can be seen, as far as the
    clip goes, () without a sheet; untimed: why nobody can be early or late, None when they can."""

    grid: BeatGrid | None
    beats: BeatGrid | NotMeasured
    due: tuple[Due, ...]
    untimed: NotMeasured | None


def without_dance(
    beats: BeatGrid | NotMeasured, intro: Sequence[tuple[float, float]], first_count_s: float | None, speed: Speed
) -> Counted:
    """Counts from the music alone. intro: (time_s, weight) of beats that may be count 1, likeliest first."""
    if isinstance(beats, NotMeasured):
        return Counted(None, beats, (), NotMeasured("timing", beats.why))
    grid = at_speed(beats, speed)
    if first_count_s is None:
        first_count_s = grid.first_count_s if grid.first_count_s is not None else intro[0][0] if intro else None
    grid = with_first_count(grid, first_count_s) if first_count_s is not None else grid
    return Counted(grid, grid, (), None)


def with_dance(
    beats: BeatGrid | NotMeasured,
    intro: Sequence[tuple[float, float]],
    dancers: Sequence[Candidates],
    sheet: DanceSheet,
    settings: TimingSettings,
    *,
    first_count_s: float | None,
    speed: Speed,
    starting_wall: int,
) -> Counted:
    """Counts for a known dance: count 1 is where its steps fit the landings best, unless the person has said.

    Without beats the dance's rhythm is laid on the landings alone; then feet and missing steps can be told, lateness cannot.
    """
    end_s = max((float(d.times_s[-1]) for d in dancers if len(d.times_s)), default=0.0) + 1.0
    if isinstance(beats, NotMeasured):
        return _from_steps(beats, dancers, sheet, settings, starting_wall, end_s)
    chosen = at_speed(beats, speed)
    due = _due(sheet, chosen, end_s, starting_wall)
    if first_count_s is None and beats.first_count_s is not None:
        first_count_s = beats.first_count_s
    if first_count_s is not None:
        grid = with_first_count(chosen, first_count_s)
        return Counted(grid, grid, _within(due, grid, end_s), None)
    speeds: tuple[Speed, ...] = (speed,) if beats.source != "sound" or speed != "same" else ("same", "half", "double")
    best, best_score, sure = None, 0.0, 0.0
    for each in speeds:
        grid = at_speed(beats, each)
        if len(grid.times_s) < 4:
            continue
        found = anchored(dancers, due, grid.times_s, _counting(grid), settings, prior=_prior(grid, intro, settings))
        if found and (best is None or found.score > best_score * settings.speed_margin):
            best, best_score, sure = with_first_count(grid, found.first), found.score, found.sure
    if best is None or best_score < settings.least_anchor:
        counted = without_dance(beats, intro, None, speed)
        doubt = "The landings did not tell where count 1 is; it was taken from the music."
        grid = changed(counted.grid, doubts=(*beats.doubts, doubt)) if counted.grid else chosen
        return Counted(grid, grid, _within(due, grid, end_s), None)
    if sure < settings.anchor_sure:
        best = changed(best, doubts=(*best.doubts, "Count 1 fits almost as well at another beat; please check it."))
    return Counted(best, best, _within(_due(sheet, best, end_s, starting_wall), best, end_s), None)


def _counting(grid: BeatGrid) -> Callable[[float, Floats], Floats]:
    return lambda first_s, counts: time_of(with_first_count(grid, first_s), counts)


def _prior(grid: BeatGrid, intro: Sequence[tuple[float, float]], settings: TimingSettings) -> Floats:
    """What the music's beginning says for each beat (B,), in landings."""
    out = np.zeros(len(grid.times_s))
    for time_s, weight in intro:
        k = int(np.argmin(np.abs(grid.times_s - time_s)))
        out[k] = max(out[k], weight * settings.intro_worth)
    return out


def _due(sheet: DanceSheet, grid: BeatGrid, end_s: float, starting_wall: int) -> tuple[Due, ...]:
    many = len(grid.times_s) + max(0.0, float(beat_position(grid, np.array([end_s]))[0])) + sheet.counts
    events = unroll(sheet, until_count=float(many), starting_wall=starting_wall)
    return tuple(events[i] for i in to_match(events))


def _within(due: tuple[Due, ...], grid: BeatGrid, end_s: float) -> tuple[Due, ...]:
    at = time_of(grid, np.array([d.count for d in due])) if due else np.zeros(0)
    return tuple(d for d, t in zip(due, at, strict=True) if t <= end_s)


def _from_steps(
    beats: NotMeasured, dancers: Sequence[Candidates], sheet: DanceSheet, settings: TimingSettings, starting_wall: int, end_s: float
) -> Counted:
    untimed = NotMeasured("timing", beats.why)
    many = end_s * settings.steps_highest_bpm / 60 + sheet.counts
    events = unroll(sheet, until_count=many, starting_wall=starting_wall)
    due = tuple(events[i] for i in to_match(events))
    found = rhythm_of_steps(dancers, due, settings)
    if found is None:
        return Counted(None, beats, (), untimed)
    first_s, gap_s = found
    grid = steady_grid(60 / gap_s, first_s, min(first_s, 0.0), end_s + 4 * gap_s, sheet.beats_per_bar)
    return Counted(grid, beats, _within(due, grid, end_s), untimed)
