"""Does a dancer begin the dance anew where the sheet has no restart? What was seen is held against the sheet as it is written, and against
the same sheet with one restart more.

Pure functions on the blocks of review.json.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import numpy as np

from motion.base.types import DanceSheet, Due, Restart
from motion.dance.unroll import unroll
from motion.review.settings import SETTINGS
from motion.tell.moments import time_of_count
from motion.tell.words import why_not
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Unwritten:
    """What was found. at: (wall, count in it, time in s) after which the dance began anew, or None; open: the same for each place of
    which it cannot be told; alike: the steps after those are as at the beginning, so that nothing could tell; until: (wall, count in
    it) up to which it was looked for, None where it could not be at all."""

    at: tuple[int, int, float] | None
    open: tuple[tuple[int, int], ...]
    alike: bool
    until: tuple[int, int] | None


@dataclass(frozen=True)
class _Seen:
    """What one dancer was seen to do, by running count: the foot that landed; place and view in degrees of landings that were read."""

    feet: Mapping[float, str]
    place: Mapping[float, tuple[float, float]]
    view_deg: Mapping[float, float]
    last: float


def unwritten_restart(
    review: dict[str, Any], dancer: dict[str, Any], sheet: DanceSheet, settings: TimingSettings = SETTINGS.timing
) -> Unwritten:
    """Looked for after every half section of every wall in the clip, by the counts of two walls after it.

    A place is ruled out where at least restart_least counts tell and restart_share of them are as written. The dance began anew there
    where more counts speak for that than chance would have it, with each as likely to speak for either.
    """
    nothing = Unwritten(None, (), False, None)
    if why_not(review["beats"]) or review["beats"]["first_count_s"] is None or not isinstance(dancer["steps"], list):
        return nothing
    first_wall = int(review["made_by"].get("judged", {}).get("starting_wall", 1))
    counted = [float(s["count"]) for s in dancer["steps"] if s["count"] is not None]
    if not counted or dancer.get("own_version"):
        return nothing
    written = unroll(sheet, until_count=max(counted), starting_wall=first_wall)
    seen = _seen(review, dancer, written, max(counted))
    open_: list[tuple[int, int]] = []
    alike, ended, best, until = False, False, (0, 0, 0, 0.0), None
    for wall, after, running in _cuts(sheet, written, seen.last):
        more = replace(sheet, restarts=(Restart(wall, after), *sheet.restarts))
        reach = running + 2 * max(settings.restart_counts, float(sheet.counts))
        other = unroll(more, until_count=min(reach, seen.last), starting_wall=first_wall)
        could, kept, anew = _votes(written, other, seen, running, reach, settings)
        if could < settings.restart_least and reach > seen.last:
            ended = True  # what follows is too short for it to show: looked for up to here
        if not ended:
            until = (wall, after)
        least = max(settings.restart_least, settings.restart_share * (kept + anew))
        if anew and anew - kept >= settings.restart_proof * (kept + anew) ** 0.5:
            best = max(best, (anew - kept, -wall, -after, running))
        if kept < least and not ended:
            open_.append((wall, after))
            alike |= could < settings.restart_least
    time_s = time_of_count(review["beats"], best[3] + 1) if best[0] else None
    at = None if time_s is None else (-best[1], -best[2], time_s)
    return Unwritten(at, tuple(open_), alike, until)


def _cuts(sheet: DanceSheet, written: Sequence[Due], last: float) -> Iterator[tuple[int, int, float]]:
    """(wall, count in it, running count) of every half section within a wall, up to a running count; tags are not cut."""
    half = sheet.section // 2
    for wall, events in groupby(written, key=lambda d: d.wall):
        own = list(events)
        base = own[0].count - own[0].count_in_wall
        plain = [d for d in own if abs(d.count - d.count_in_wall - base) < 0.01]
        for after in range(half, int(plain[-1].count_in_wall), half):
            if base + after <= last:
                yield wall, after, base + after


def _seen(review: dict[str, Any], dancer: dict[str, Any], written: Sequence[Due], last: float) -> _Seen:
    beats, timing = review["beats"], dancer["timing"]
    times = np.array(beats["times_s"], dtype=np.float64)
    origin = int(np.argmin(np.abs(times - float(beats["first_count_s"]))))
    lag_s = 0.0 if why_not(timing) else float(timing["bias_ms"]) / 1000
    feet = {}
    for step in dancer["steps"]:
        if step["kind"] != "shift":
            count = 1 + float(np.interp(float(step["time_s"]) - lag_s, times, np.arange(len(times)) - origin))
            feet[count] = str(step["foot"])
    place, view_deg = {}, {}
    at = {(d.wall, round(d.count_in_wall, 2)): i for i, d in reversed(list(enumerate(written)))}  # not of a tag, which counts anew
    for row in dancer.get("walls") or []:
        for one in row.get("each", []):
            i = at.get((int(one["wall"]), round(float(row["count"]), 2)))
            if i is None:
                continue
            count = written[i].count
            if one.get("place") is not None and None not in one["place"]:
                right, ahead = map(float, one["place"])
                place[count] = (-right if row["foot"] == "left" else right, ahead)
            if one.get("view_deg") is not None:
                view_deg[count] = float(one["view_deg"])
    return _Seen(feet, place, view_deg, last)


def _votes(
    written: Sequence[Due], other: Sequence[Due], seen: _Seen, after: float, until: float, settings: TimingSettings
) -> tuple[int, int, int]:
    """(counts on which both ask for something else, counts that speak for `written`, for `other`) after a running count."""
    one, two = ({round(d.count, 2): d for d in due} for due in (written, other))
    facing = [_facing(due, seen, after, until, settings) for due in (one, two)]
    places = {move: (right, ahead) for move, right, ahead in settings.restart_places}
    could = kept = anew = 0
    for count in sorted(c for c in one.keys() | two.keys() if after < c <= until):
        a, b = one.get(count), two.get(count)
        differ, says = False, 0
        feet = [d.foot if d is not None and d.lands else None for d in (a, b)]
        if feet[0] != feet[1]:
            differ = True
            landed = {foot for at, foot in seen.feet.items() if abs(at - count) <= settings.restart_near_counts}
            told = [landed == ({foot} if foot else set()) for foot in feet]
            says += told[0] - told[1]
        elif a is not None and b is not None and a.move != b.move and {a.move, b.move} <= places.keys():
            differ = True
            if (at := seen.place.get(a.count)) is not None:
                far = [float(np.hypot(at[0] - places[d.move][0], at[1] - places[d.move][1])) for d in (a, b)]
                says += (far[1] - far[0] > settings.place_slack) - (far[0] - far[1] > settings.place_slack)
        if a is not None and b is not None and _apart_deg(a.facing_deg, b.facing_deg) > settings.restart_facing_deg:
            differ = True
            says += facing[0].get(count, 0) - facing[1].get(count, 0)
        could += differ
        kept += says > 0
        anew += says < 0
    return could, kept, anew


def _facing(due: Mapping[float, Due], seen: _Seen, after: float, until: float, settings: TimingSettings) -> dict[float, int]:
    """By running count: 1 where the dancer faced as the dance has it then, against how they faced on the counts before, else 0.

    A view grows when the dancer turns to the left, so that view and facing add up to the camera's own place.
    """
    sums = {
        round(count, 2): view + due[round(count, 2)].facing_deg for count, view in seen.view_deg.items() if round(count, 2) in due
    }
    before = [total for count, total in sums.items() if count <= after]
    if not before:
        return {}
    camera = float(np.degrees(np.angle(np.exp(1j * np.radians(before)).mean())))
    near = settings.restart_facing_deg
    return {count: int(_apart_deg(total, camera) <= near) for count, total in sums.items() if after < count <= until}


def _apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)
