"""Wall against wall: does a dancer do the same on every wall, count by count, in time and in place?"""

from __future__ import annotations

from typing import Any

import numpy as np

from motion.data import Floats
from motion.settings import TimingSettings
from motion.timing.flags import Danced
from motion.timing.places import turning


def wall_by_wall(danced: Danced, settings: TimingSettings) -> list[dict[str, Any]]:
    """One row per count of the wall that was danced on at least two walls, for review.json.

    Each: count, foot, walls (how many), time_spread_ms and place_spread (standard deviation of landings about the dancer's own usual
    time; root mean square distance of the foot's places from their mean, leg lengths), and differs: walls whose landing or place
    stands apart from all the others, with what differs and by how much. None where it could not be measured.
    """
    groups: dict[tuple[float, str], list[int]] = {}
    for i, d in enumerate(danced.due):
        if d.lands and d.foot:
            groups.setdefault((round(d.count_in_wall, 2), d.foot), []).append(i)
    return [row for (count, foot), events in sorted(groups.items()) if (row := _row(danced, count, foot, events, settings))]


def _row(danced: Danced, count: float, foot: str, events: list[int], settings: TimingSettings) -> dict[str, Any] | None:
    held = [i for i in events if danced.match.step[i] >= 0 and danced.match.way[i] == 0]
    if len(held) < 2:
        return None
    times = np.array([danced.match.offset_ms[i] - danced.match.lag_ms if danced.timed else np.nan for i in held])
    nowhere = np.full(2, np.nan)
    places = np.array([nowhere if turning(danced.due, i) else danced.found.place[danced.match.step[i]] for i in held])
    sigma = float(np.median([danced.found.sigma_ms[danced.match.step[i]] for i in held]))
    known = np.isfinite(places).all(1)
    place_spread = float(np.sqrt(((places[known] - places[known].mean(0)) ** 2).sum(1).mean())) if known.sum() >= 2 else None
    differs = [
        *_apart(danced, held, times[:, None], settings.wall_time_ms, "time", "ms", 1),
        *_apart(danced, held, places, settings.place_apart, "place", "leg lengths", 2),
    ]
    return {
        "count": count, "foot": foot, "walls": len(held),
        "time_spread_ms": round(float(np.std(times, ddof=1)), 1) if danced.timed else None,
        "time_sigma_ms": round(sigma, 1),
        "place_spread": None if place_spread is None else round(place_spread, 2),
        "differs": differs,
    }  # fmt: skip


def _apart(
    danced: Danced, held: list[int], values: Floats, least: float, what: str, unit: str, digits: int
) -> list[dict[str, Any]]:
    """Walls whose value lies further than `least` from the median of the others, while those agree among themselves."""
    out = []
    for k, i in enumerate(held):
        others = np.delete(values, k, axis=0)
        others = others[np.isfinite(others).all(1)]
        if len(others) < 2 or not np.isfinite(values[k]).all():
            continue
        usual = np.median(others, axis=0)
        gap = float(np.hypot(*np.append(values[k] - usual, 0.0)[:2]))
        inner = float(np.median(np.hypot(*np.pad(others - usual, ((0, 0), (0, 1)))[:, :2].T)))
        if gap > least and inner < least / 2:
            out.append({"wall": danced.due[i].wall, "what": what, "size": round(gap, digits), "unit": unit})
    return out
