"""Wall against wall: does a dancer do the same on every wall, count by count, in time, place, facing and in the joints?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from motion.base.geometry import wrapped_deg
from motion.base.types import JOINTS, Angles, Due, Floats, NotMeasured
from motion.timing.flags import Danced, plain_sight
from motion.timing.foot_placement import turning
from motion.timing.settings import TimingSettings


def wall_by_wall(danced: Danced, angles: Angles | NotMeasured, settings: TimingSettings) -> list[dict[str, Any]]:
    """One row per landing of the wall that was danced at least once, for review.json.

    Each: count, foot, walls (how many); the spread over the walls of time (time_spread_ms), place (place_spread, root mean square
    distance from the mean, leg lengths), facing (facing_spread_deg) and of joints seen from the same side on several walls
    (bends: joint, side, walls, spread_deg, sigma_deg); time_sigma_ms, of one landing; each: the values themselves, wall by wall; differs:
    walls that stand apart from all the others, with what differs, its size and (but for places) by how much with its sign: later, to
    the right and more bent are positive. None where it could not be measured.
    """
    facing = _facings(danced, angles)
    out = []
    for (count, foot, _), events in sorted(repeats(danced.due).items()):
        held = [
            i
            for i in events
            if danced.match.way[i] == 0 and i not in danced.excused and plain_sight(danced.found, int(danced.match.step[i]))
        ]
        if held:
            bends, views = _bends(danced, held, angles, settings)
            out.append(_row(danced, count, foot, held, facing[held], bends, views, settings))
    return out


def repeats(due: Sequence[Due]) -> dict[tuple[float, str, str], list[int]]:
    """Indexes of the landings that are the same one of another wall, by count in the wall, foot and move; tags, which count from 1
    within a wall, are left out."""
    out: dict[tuple[float, str, str], list[int]] = {}
    wall, reached, tag = 0, 0.0, False
    for i, d in enumerate(due):
        if d.wall != wall:
            wall, reached, tag = d.wall, 0.0, False
        tag = d.count_in_wall < reached or (tag and d.count_in_wall == reached)
        reached = max(reached, d.count_in_wall)
        if d.lands and d.foot and not tag:
            out.setdefault((round(d.count_in_wall, 2), d.foot, d.move), []).append(i)
    return out


def _facings(danced: Danced, angles: Angles | NotMeasured) -> Floats:
    """Where the dancer faced at each event (N,) against where the dance faces then, clockwise positive, less what is usual for this
    dancer (the camera's own place); NaN where not seen or turning. A view grows when the dancer turns to the left."""
    out = np.full(len(danced.due), np.nan)
    if isinstance(angles, NotMeasured):
        return out
    for i, (d, s) in enumerate(zip(danced.due, danced.match.step, strict=True)):
        if s >= 0 and danced.match.way[i] == 0 and not turning(danced.due, i):
            out[i] = -_at(angles, float(danced.found.times_s[s]), 0.0, angles.view_deg[:, None], circular=True)[0] - d.facing_deg
    known = np.isfinite(out)
    if known.any():
        usual = float(np.degrees(np.angle(np.exp(1j * np.radians(out[known])).mean())))
        out[known] = wrapped_deg(out[known] - usual)
    return out


def _at(angles: Angles, time_s: float, reach_s: float, values: Floats, *, circular: bool = False) -> Floats:
    """The mean (V,) of values (F, V) over the pictures within reach_s of a time, the nearest picture at least; NaN left out."""
    near = np.abs(angles.times_s - time_s)
    rows = values[(near <= reach_s) | (near == near.min())]
    known = np.isfinite(rows).any(axis=0)
    out = np.full(values.shape[1], np.nan)
    if circular:
        out[known] = np.degrees(np.angle(np.nanmean(np.exp(1j * np.radians(rows[:, known])), axis=0)))
    else:
        out[known] = np.nanmean(rows[:, known], axis=0)
    return out


def _bends(danced: Danced, held: list[int], angles: Angles | NotMeasured, settings: TimingSettings) -> tuple[Floats, Floats]:
    """Flexion and its sigma (W, 6, 2) at each landing of `held`, NaN where not shown, and the view (W,) it was seen from."""
    out, views = np.full((len(held), len(JOINTS), 2), np.nan), np.full(len(held), np.nan)
    if isinstance(angles, NotMeasured):
        return out, views
    for k, i in enumerate(held):
        t = float(danced.found.times_s[danced.match.step[i]])
        out[k, :, 0] = _at(angles, t, settings.bend_s, angles.flexion_deg)
        out[k, :, 1] = _at(angles, t, settings.bend_s, angles.sigma_deg)
        views[k] = _at(angles, t, settings.bend_s, angles.view_deg[:, None], circular=True)[0]
    return out, views


def _row(
    danced: Danced, count: float, foot: str, held: list[int], facing: Floats, bends: Floats, views: Floats,
    settings: TimingSettings,
) -> dict[str, Any]:  # fmt: skip
    steps = danced.match.step[held]
    times = np.array([danced.match.offset_ms[i] - danced.match.lag_ms if danced.timed else np.nan for i in held])
    own = [danced.found.right[s] == (foot == "right") and not turning(danced.due, i) for i, s in zip(held, steps, strict=True)]
    places = np.where(np.array(own)[:, None], danced.found.place[steps], np.nan)
    sigma = float(np.median(danced.found.sigma_ms[steps]))
    walls = [danced.due[i].wall for i in held]
    proof_ms = settings.proof * float(np.hypot(sigma, settings.beat_sigma_ms)) * 1.2  # one landing against the middle of others
    known = np.asarray(np.isfinite(places).all(axis=1))
    place_spread = float(np.sqrt(((places[known] - places[known].mean(0)) ** 2).sum(1).mean())) if known.sum() >= 2 else None
    return {
        "count": count, "foot": foot, "walls": len(held),
        "time_spread_ms": _spread(times, 1), "time_sigma_ms": round(sigma, 1),
        "place_spread": None if place_spread is None else round(place_spread, 2),
        "facing_spread_deg": _spread(facing, 1),
        "bends": _bend_rows(bends, views, settings),
        "each": [
            {
                "wall": wall, "time_ms": _known(times[k], 1), "place": [_known(p, 2) for p in places[k]] if known[k] else None,
                "facing_deg": _known(facing[k], 1), "view_deg": _known(views[k], 0),
                "bends_deg": [_known(b, 1) for b in bends[k, :, 0]] if np.isfinite(bends[k]).any() else None,
                "bends_sigma_deg": [_known(b, 1) for b in bends[k, :, 1]] if np.isfinite(bends[k]).any() else None,
            }
            for k, wall in enumerate(walls)
        ],
        "differs": [
            *_apart(walls, times[:, None], max(settings.wall_time_ms, proof_ms), "time", "ms", 1),
            *_apart(walls, places, settings.place_apart, "place", "leg lengths", 2),
            *_apart(walls, facing[:, None], settings.wall_turn_deg, "facing", "degrees", 0),
            *_bends_apart(walls, bends, views, settings),
        ],
    }  # fmt: skip


def _known(value: float, digits: int) -> float | None:
    return round(float(value), digits) + 0.0 if np.isfinite(value) else None


def _spread(values: Floats, digits: int) -> float | None:
    known = values[np.isfinite(values)]
    return round(float(np.std(known, ddof=1)), digits) if len(known) >= 2 else None


def _apart(walls: list[int], values: Floats, least: float, what: str, unit: str, digits: int) -> list[dict[str, Any]]:
    """Walls whose value (W, D) lies further than `least` from the median of the others, while those agree among themselves. Facings
    may be used straight: they are counted from the dancer's usual one, and half a turn off is far off either way."""
    out = []
    for k, wall in enumerate(walls):
        others = np.delete(values, k, axis=0)
        others = others[np.isfinite(others).all(1)]
        if len(others) < 2 or not np.isfinite(values[k]).all():
            continue
        usual = np.median(others, axis=0)
        gap = float(np.linalg.norm(values[k] - usual))
        inner = float(np.median(np.linalg.norm(others - usual, axis=1)))
        if gap > least and inner < least / 2:
            by = round(float(values[k, 0] - usual[0]), digits) if len(usual) == 1 else None
            out.append({"wall": wall, "what": what, "size": round(gap, digits), "unit": unit, "by": by})
    return out


def _alike(views: Floats, k: int, settings: TimingSettings) -> list[int]:
    """Walls on which the camera saw the dancer from the same side as on wall number k (k among them, if it was seen there)."""
    apart: Floats = np.abs(wrapped_deg(views - views[k]))
    return [m for m in range(len(views)) if apart[m] <= settings.same_view_deg]


def _bend_rows(bends: Floats, views: Floats, settings: TimingSettings) -> list[dict[str, Any]]:
    """The spread of each joint over walls seen from the same side: of the largest such group, where it holds two walls or more."""
    out = []
    for j, (side, joint) in enumerate(JOINTS):
        groups = [[m for m in _alike(views, k, settings) if np.isfinite(bends[m, j]).all()] for k in range(len(views))]
        largest = max(groups, key=len, default=[])
        if len(largest) >= 2:
            out.append({
                "joint": joint, "side": side, "walls": len(largest),
                "spread_deg": round(float(np.std(bends[largest, j, 0], ddof=1)), 1),
                "sigma_deg": round(float(np.median(bends[largest, j, 1])), 1),
            })  # fmt: skip
    return out


def _bends_apart(walls: list[int], bends: Floats, views: Floats, settings: TimingSettings) -> list[dict[str, Any]]:
    """Joints that bend otherwise on one wall than on the others seen from the same side, beyond what is usual and can be read."""
    out = []
    for j, (side, joint) in enumerate(JOINTS):
        for k, wall in enumerate(walls):
            others = [m for m in _alike(views, k, settings) if m != k and np.isfinite(bends[m, j]).all()]
            if len(others) < 2 or not np.isfinite(bends[k, j]).all():
                continue
            read = settings.bend_proof * float(np.hypot(bends[k, j, 1], np.median(bends[others, j, 1])))
            least = max(settings.wall_bend_deg, read)
            chosen = np.array([bends[k, j, 0], *bends[others, j, 0]])[:, None]
            found = _apart([wall, *(walls[m] for m in others)], chosen, least, f"{side} {joint}", "degrees", 0)
            out += [one for one in found if one["wall"] == wall]
    return out
