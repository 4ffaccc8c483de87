"""Findings about one dancer: what differs from the dance or from the dancer's own time, each once, with how sure it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.base.types import Candidates, Due, Flag, Floats, Interval
from motion.timing.foot_placement import elsewhere
from motion.timing.match import WAYS, Match
from motion.timing.offbeat import Offsets, offsets_of, phrasing
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Danced:
    """What flags are read from: one dancer's match with the dance.

    due (N,) in order; at_s, gap_s (N,): when each is due and the length of a count there, s; timed: is there a beat to be late
    against; dance_s: from the dance's first to its last landing.
    """

    found: Candidates
    due: Sequence[Due]
    at_s: Floats
    gap_s: Floats
    match: Match
    timed: bool
    dance_s: Interval
    excused: frozenset[int] = frozenset()
    slow_pictures: bool = False
    served: frozenset[int] = frozenset()


def flags_of(danced: Danced, settings: TimingSettings) -> tuple[Flag, ...]:
    """All findings of one dancer, in order of time; never two for one fault."""
    out = _ways(danced, settings) + _missed(danced, settings)
    taken = [(f.count or 0.0, f.until_count or f.count or 0.0) for f in out]

    def free(count: float) -> bool:
        return all(not a - 0.01 <= count <= b + 0.01 for a, b in taken)

    for flag in (
        _feet(danced, settings)
        + _kinds(danced, settings)
        + _places(danced, settings)
        + (_offbeat(danced, settings) if danced.timed else [])
    ):
        if flag.count is None or flag.kind == "drifting" or free(flag.count):
            out.append(flag)
            if flag.count is not None and flag.kind not in ("late", "early", "drifting"):
                taken.append((flag.count, flag.until_count or flag.count))
    out += [f for f in _extra(danced, settings) if f.count is None or free(f.count)]
    first, last = danced.dance_s[0] - 0.3, danced.dance_s[1] + 0.3
    return tuple(sorted((f for f in out if first <= f.time_s <= last), key=lambda f: (f.time_s, f.kind)))


def where(due: Due) -> str:
    """A count as a teacher says it: "count 13 of wall 2"."""
    whole = int(due.count_in_wall + 1e-6)
    part = due.count_in_wall - whole
    mark = "" if part < 0.01 else "&" if abs(part - 0.5) < 0.1 else "a"
    return f"count {whole}{mark} of wall {due.wall}"


def _stretch(danced: Danced, a: int, b: int) -> str:
    first, last = danced.due[a], danced.due[b]
    if a == b:
        return where(first)
    begin = where(first).removesuffix(f" of wall {last.wall}") if first.wall == last.wall else where(first)
    return f"{begin} to {where(last)}"


def _ways(danced: Danced, settings: TimingSettings) -> list[Flag]:
    """Stretches in mirror image, or a whole count behind or ahead."""
    out = []
    way, step = danced.match.way, danced.match.step
    edges = np.flatnonzero(np.diff(np.concatenate([[0], way, [0]])))
    for a, b in zip(edges[:-1], edges[1:] - 1, strict=True):
        if way[a] == 0:
            continue
        mirror, behind = WAYS[way[a]]
        held = sum(plain_sight(danced.found, int(s)) for s in step[a : b + 1])
        if held < 2:
            continue
        sure = float(1 - np.exp(-held / 2))
        words = _stretch(danced, a, b)
        if mirror:
            kind, said = "danced in mirror", f"From {words}, left and right were exchanged ({held} steps seen)."
        elif behind > 0:
            kind, said = "count behind", f"From {words}, the steps came a whole count later than the dance has them."
        else:
            kind, said = "count ahead", f"From {words}, the steps came a whole count before the dance has them."
        out.append(_flag(danced, kind, a, b, float(held), "steps", sure, said, settings))
    return out


def _missed(danced: Danced, settings: TimingSettings) -> list[Flag]:
    """Landings that are due, were in sight and did not come; three and more in a row are one standing still."""
    gone = [
        i
        for i, d in enumerate(danced.due)
        if danced.match.step[i] < 0 and d.lands and i not in danced.excused and in_sight(danced, i, settings)
    ]
    out, k = [], 0
    while k < len(gone):
        last = k
        while last + 1 < len(gone) and not (danced.match.step[gone[last] + 1 : gone[last + 1]] >= 0).any():
            last += 1
        a, b, many = gone[k], gone[last], last - k + 1
        if many >= settings.still_steps:
            said = f"From {_stretch(danced, a, b)}, no step was seen: {many} landings are missing."
            out.append(_flag(danced, "stood still", a, b, float(many), "steps", 0.95, said, settings))
        else:
            for i in gone[k : last + 1]:
                if _maybe_there(danced, i, settings):
                    continue
                said = f"No landing of the {danced.due[i].foot} foot was seen on {where(danced.due[i])}."
                out.append(_flag(danced, "missed", i, i, None, None, settings.missed_sure, said, settings))
        k = last + 1
    return out


def _maybe_there(danced: Danced, i: int, settings: TimingSettings) -> bool:
    """May event i have come all the same? Something landed about then, if only read of the other foot or faintly; or it was to be a
    light touch, of feet that are read too restlessly to see one."""
    found, used = danced.found, set(danced.match.step.tolist())
    off = np.abs(found.times_s - danced.at_s[i] - danced.match.lag_ms / 1000)
    near = np.flatnonzero((off <= settings.missed_near_s) & (found.strength >= settings.missed_faint) & ~found.shift)
    if any(int(s) not in used for s in near):
        return True
    landed = danced.match.step[danced.match.step >= 0]
    return not danced.due[i].takes_weight and float(np.median(found.sigma_ms[landed])) > settings.restless_ms


def in_sight(danced: Danced, i: int, settings: TimingSettings) -> bool:
    """Were the dancer's feet followed all around event i, and was the dance on?"""
    t, reach = danced.at_s[i] + danced.match.lag_ms / 1000, settings.sight_s
    inside = any(a + reach <= t <= b - reach for a, b in danced.found.seen)
    return inside and danced.dance_s[0] - 0.01 <= t <= danced.dance_s[1] + 0.01


def plain_sight(found: Candidates, s: int) -> bool:
    """Was candidate s (-1 for none) seen, and not guessed through somebody in front?"""
    return s >= 0 and any(a <= found.times_s[s] <= b for a, b in found.seen)


def _feet(danced: Danced, settings: TimingSettings) -> list[Flag]:
    out = []
    for i, d in enumerate(danced.due):
        s, mirror = danced.match.step[i], WAYS[danced.match.way[i]][0]
        right = (d.foot == "right") ^ mirror
        if i in danced.excused or not plain_sight(danced.found, s) or danced.found.right[s] == right:
            continue
        did = "right" if danced.found.right[s] else "left"
        sure = float(danced.found.strength[s]) * 0.95
        said = f"On {where(d)} the {did} foot stepped; the dance has the {d.foot} foot there."
        out.append(_flag(danced, "other foot", i, i, None, None, sure, said, settings))
    return out


def _kinds(danced: Danced, settings: TimingSettings) -> list[Flag]:
    """A touch where weight should be taken, or the reverse, where both are plain: unless the free foot then goes on as written, which
    shows where the weight was, or the same is read on most other walls."""
    out = []
    for i, d in enumerate(danced.due):
        s = danced.match.step[i]
        if (
            not plain_sight(danced.found, s)
            or not d.lands
            or danced.found.shift[s]
            or danced.found.strength[s] < settings.extra_strength
            or i in danced.excused
            or _goes_on(danced, i)
        ):
            continue
        weight = float(danced.found.weight[s])
        wrong = weight < settings.plain_touch if d.takes_weight else weight > 1 - settings.plain_touch
        if wrong:
            said = (
                f"On {where(d)} the {d.foot} foot touched without taking the weight."
                if d.takes_weight
                else f"On {where(d)} the {d.foot} foot took the weight; the dance has a touch there."
            )
            sure = 0.9 * abs(2 * weight - 1)
            out.append(_flag(danced, "other step", i, i, None, None, sure, said, settings))
    return out


def _goes_on(danced: Danced, i: int) -> bool:
    """Does the foot that is free by the sheet after event i make the next landing? Or does the dance there change its way, which says it
    already?"""
    for k in range(i + 1, len(danced.due)):
        d, s = danced.due[k], int(danced.match.step[k])
        if d.count - danced.due[i].count > 2.01 or not d.lands:
            return False
        if danced.match.way[k] != danced.match.way[i]:
            return True
        return plain_sight(danced.found, s) and danced.found.right[s] == ((d.foot == "right") ^ WAYS[danced.match.way[k]][0])
    return False


def _places(danced: Danced, settings: TimingSettings) -> list[Flag]:
    """A foot that went elsewhere than the sheet, or than this dancer on the other walls, has it."""
    place = np.full((len(danced.due), 2), np.nan)
    for i, s in enumerate(danced.match.step):
        if (
            plain_sight(danced.found, s)
            and danced.match.way[i] != 1
            and danced.found.right[s] == (danced.due[i].foot == "right")
            and danced.due[i].lands
            and np.hypot(*danced.found.place[s]) <= settings.place_most
        ):
            place[i] = danced.found.place[s]
    out = []
    for e in elsewhere(danced.due, place, settings):
        d = danced.due[e.i]
        if e.i in danced.excused:
            continue
        than = f"where '{d.move}' puts it" if e.by_sheet else "where it went on the other walls"
        said = f"On {where(d)} the {d.foot} foot came down elsewhere than {than}."
        sure = float(np.clip(0.6 + e.far / 2, 0, 0.95)) * float(danced.found.strength[danced.match.step[e.i]])
        out.append(_flag(danced, "other step", e.i, e.i, round(e.far, 2), "leg lengths", sure, said, settings))
    return out


def timed_events(danced: Danced, settings: TimingSettings) -> Offsets:
    """The events in plain sight, danced as written or in mirror image, against the dancer's own time."""
    usable = [
        i
        for i, s in enumerate(danced.match.step)
        if plain_sight(danced.found, int(s)) and WAYS[danced.match.way[i]][1] == 0 and i not in danced.excused
    ]
    return offsets_of(danced.due, danced.gap_s, danced.match.offset_ms, usable, danced.found, danced.match.step, settings)


def _offbeat(danced: Danced, settings: TimingSettings) -> list[Flag]:
    """Late and early, only beyond what one landing can prove, and not where it is phrasing; and a drift over the whole dance."""
    out = []
    offsets = timed_events(danced, settings)
    phrased = {(p.count, p.foot) for p in phrasing(danced.due, offsets, danced.slow_pictures, settings)}
    for i, off, spread, band in zip(offsets.event, offsets.off_ms, offsets.spread_ms, offsets.band_ms, strict=True):
        d, s = danced.due[i], danced.match.step[i]
        half = d.count != round(d.count)
        if abs(off) <= band or (round(d.count_in_wall, 2), d.foot) in phrased or (half and danced.slow_pictures):
            continue
        kind = "late" if off > 0 else "early"
        side = "after" if off > 0 else "before"
        said = f"On {where(d)} the {d.foot} foot landed clearly {side} this dancer's usual time."
        sure = float(np.clip(1 - np.exp(-((abs(off) - band) / spread) - 1.0), 0, 0.99)) * float(danced.found.strength[s]) ** 0.5
        out.append(_flag(danced, kind, int(i), int(i), round(float(off), 1), "ms", sure, said, settings))
    if offsets.line_ms:
        a, b = int(offsets.event[0]), int(offsets.event[-1])
        way = "later and later" if offsets.line_ms > 0 else "earlier and earlier"
        said = f"From {_stretch(danced, a, b)}, the landings came {way}."
        out.append(_flag(danced, "drifting", a, b, round(offsets.line_ms, 1), "ms", 0.9, said, settings))
    return out


def _extra(danced: Danced, settings: TimingSettings) -> list[Flag]:
    """Plain landings that the dance does not ask for, away from every landing that it does: two feet that land together are one
    movement read twice, and so is a foot that turns on the floor."""
    out = []
    found, match = danced.found, danced.match
    used = np.array([*match.step[match.step >= 0].tolist(), *danced.served], dtype=np.int64)
    at_s = danced.at_s + match.lag_ms / 1000
    gone = [i for i, d in enumerate(danced.due) if match.step[i] < 0 and d.lands and i not in danced.excused]
    for s in extra_steps(danced, settings):
        t = float(found.times_s[s])
        apart = np.abs(found.times_s[used] - t)
        same = found.right[used] == found.right[s]
        if (apart[same] < settings.extra_apart_s).any() or (apart[~same] < settings.extra_other_s).any():
            continue
        i = int(np.argmin(np.abs(at_s - t)))
        gap_s = float(danced.gap_s[i])
        turned = any(abs(d.turn_deg) >= 90 and abs(at - t) < gap_s for d, at in zip(danced.due, at_s, strict=True))
        if turned or found.strength[s] < settings.extra_flag_strength or any(abs(at_s[k] - t) < gap_s for k in gone):
            continue
        if np.hypot(*found.place[s]) > settings.place_most:
            continue
        count = round(2 * float(np.interp(t, at_s, [d.count for d in danced.due]))) / 2
        foot = "right" if found.right[s] else "left"
        said = f"Near {where(danced.due[i])} the {foot} foot came down once more than the dance has it."
        flag = _flag(danced, "extra", i, i, None, None, 0.9 * float(found.strength[s]), said, settings)
        out.append(Flag(flag.kind, count, None, t, None, None, flag.sure, flag.named, said))
    return out


def one_event(found: Candidates, a: int, b: int, settings: TimingSettings) -> bool:
    """Are two candidates of one foot so near in time that they are one event, a landing and a weight shift maybe?"""
    return bool(found.right[a] == found.right[b] and abs(found.times_s[a] - found.times_s[b]) <= settings.one_event_s)


def extra_steps(danced: Danced, settings: TimingSettings) -> list[int]:
    """Indexes of plain landings within the dance that serve no count, nor are one event with a weight shift that does."""
    found, times_s = danced.found, danced.found.times_s
    used = np.array([*danced.match.step[danced.match.step >= 0].tolist(), *danced.served], dtype=np.int64)
    within = (danced.dance_s[0] - 0.1 <= times_s) & (times_s <= danced.dance_s[1] + 0.1)
    plain = np.flatnonzero(within & ~found.shift & (found.strength >= settings.extra_strength))
    near = np.abs(times_s[plain, None] - times_s[None, used]) <= settings.one_event_s
    spoken_for = (near & (found.right[plain, None] == found.right[None, used])).any(axis=1)  # as one_event has it
    return [int(s) for s in plain[~spoken_for] if plain_sight(found, int(s))]


def _flag(
    danced: Danced,
    kind: str,
    a: int,
    b: int,
    size: float | None,
    unit: str | None,
    sure: float,
    words: str,
    settings: TimingSettings,
) -> Flag:
    s = danced.match.step[a]
    time_s = float(danced.found.times_s[s]) if s >= 0 else float(danced.at_s[a] + danced.match.lag_ms / 1000)
    until = float(danced.due[b].count) if b > a else None
    return Flag(kind, float(danced.due[a].count), until, time_s, size, unit, round(sure, 3), sure >= settings.named_sure, words)
