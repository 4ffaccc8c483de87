"""Was an easier way of the sheet danced? For every span that has one, whichever explains the landings about it better."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from motion.base.types import Candidates, Due, EasierWay, Floats, Interval
from motion.timing.match import Match, match_gain, to_match
from motion.timing.settings import TimingSettings


@dataclass(frozen=True, eq=False)
class Eased:
    """match: without the landings that serve an easier way; excused: events that one stood for; served: candidate -> the easier way's
    event and the landing's offset_ms; spans: running counts from, until."""

    match: Match
    excused: frozenset[int]
    served: dict[int, tuple[Due, float]]
    spans: tuple[Interval, ...]


def in_easier_ways(
    found: Candidates, due: Sequence[Due], at_s: Floats, gap_s: Floats, match: Match, ways: Sequence[EasierWay],
    time_of: Callable[[Floats], Floats], settings: TimingSettings,
) -> Eased:  # fmt: skip
    """The match with each easier way laid over its span where it fits clearly better than what is written.

    due, at_s, gap_s, match (N,) as in match_dance; time_of: running counts -> s.
    """
    step, offset = match.step.copy(), match.offset_ms.copy()
    excused: set[int] = set()
    served: dict[int, tuple[Due, float]] = {}
    spans: list[Interval] = []
    for way in ways:
        inside = [i for i, d in enumerate(due) if way.from_count - 0.01 <= d.count <= way.until_count + 0.01]
        near = [i for i, d in enumerate(due) if way.from_count - 4 <= d.count < way.until_count + 5]
        easier = [way.due[k] for k in to_match(way.due)]
        if not inside or excused.intersection(inside):
            continue
        easier_s = time_of(np.array([d.count for d in easier]))
        mixed = sorted(
            [(float(at_s[i]), float(gap_s[i]), due[i], False) for i in near if i not in inside]
            + [(float(t), float(gap_s[inside[0]]), d, True) for t, d in zip(easier_s, easier, strict=True)],
            key=lambda row: row[0],
        )
        if len(mixed) < settings.least_pairs:
            continue
        late_s = match.lag_ms / 1000
        times = np.array([row[0] for row in mixed])
        some = _between(found, min(times[0], at_s[near[0]]) + late_s - 0.5, max(times[-1], at_s[near[-1]]) + late_s + 0.5)
        part = _part(found, some)
        written = match_gain(part, [due[i] for i in near], at_s[near] + late_s, gap_s[near], settings)
        instead = match_gain(part, [row[2] for row in mixed], times + late_s, np.array([row[1] for row in mixed]), settings)
        if instead.score <= written.score + settings.option_margin:
            continue
        spans.append((way.from_count, way.until_count))
        excused.update(inside)
        step[inside], offset[inside] = -1, np.nan
        for k, (t, _, d, new) in enumerate(mixed):
            if new and instead.step[k] >= 0:
                s = int(some[instead.step[k]])
                served[s] = (d, 1000 * (float(found.times_s[s]) - t))
    taken = np.isin(step, list(served))
    step, offset = np.where(taken, -1, step), np.where(taken, np.nan, offset)
    return Eased(replace(match, step=step, offset_ms=offset), frozenset(excused), served, tuple(spans))


def _between(found: Candidates, from_s: float, to_s: float) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    return np.flatnonzero((found.times_s >= from_s) & (found.times_s <= to_s))


def _part(found: Candidates, some: np.ndarray[tuple[int, ...], np.dtype[np.int64]]) -> Candidates:
    return replace(
        found,
        times_s=found.times_s[some], sigma_ms=found.sigma_ms[some], right=found.right[some], shift=found.shift[some],
        strength=found.strength[some], weight=found.weight[some], place=found.place[some],
        settled_s=found.settled_s[some] if len(found.settled_s) else found.settled_s,
    )  # fmt: skip
