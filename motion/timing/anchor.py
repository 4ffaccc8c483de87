"""Where is count 1, and how fast is the counting: the dance's own rhythm of feet laid against the landings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from motion.base.types import Candidates, Due, Floats
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Anchor:
    """first: what was asked about (index of the beat, or time in s); score: landings explained; second: score of the next best."""

    first: float
    score: float
    second: float

    @property
    def sure(self) -> float:
        """0..1: how far the best stands above the next."""
        return 0.0 if self.score <= 0 else float(np.clip((self.score - max(self.second, 0.0)) / self.score * 3, 0, 1))


class _FootCurves:
    """The landings of all dancers as two smooth curves over time, one a foot (in mirror image: feet exchanged)."""

    def __init__(self, dancers: Sequence[Candidates], settings: TimingSettings) -> None:
        self.step_s = 0.01
        last = max((float(d.times_s[-1]) for d in dancers if len(d.times_s)), default=0.0)
        self.grid = np.arange(-1.0, last + 2.0, self.step_s)
        self.curves = np.zeros((2, len(self.grid)))
        self.seen = np.zeros(len(self.grid), dtype=np.bool_)
        width = settings.anchor_width_ms / 1000
        for d in dancers:
            one = np.zeros_like(self.curves)
            for t, right, strength, shift in zip(d.times_s, d.right, d.strength, d.shift, strict=True):
                if not shift:
                    near = slice(*np.searchsorted(self.grid, [t - 3 * width, t + 3 * width]))
                    bump = strength * np.exp(-0.5 * ((self.grid[near] - t) / width) ** 2)
                    one[int(right), near] = np.maximum(one[int(right), near], bump)
            self.curves += one / max(1, len(dancers))
            for a, b in d.seen:
                self.seen |= (self.grid >= a) & (self.grid <= b)
        self.plain = [(d.times_s[(d.strength > 0.5) & ~d.shift], len(dancers)) for d in dancers]

    def at(self, times_s: Floats, right: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> tuple[Floats, Floats]:
        """Value of the right foot's or left foot's curve at each time, and whether anyone could be seen then."""
        k = np.clip(np.round((times_s - self.grid[0]) / self.step_s).astype(int), 0, len(self.grid) - 1)
        inside = (times_s >= self.grid[0]) & (times_s <= self.grid[-1])
        return np.where(inside, self.curves[right.astype(int), k], 0.0), (self.seen[k] & inside).astype(np.float64)

    def before(self, from_s: float, to_s: float) -> float:
        """Landings a dancer between two times."""
        return sum(float(((t > from_s) & (t < to_s)).sum()) / n for t, n in self.plain)


def anchored(
    dancers: Sequence[Candidates],
    due: Sequence[Due],
    first: Floats,
    time_of: Callable[[float, Floats], Floats],
    settings: TimingSettings,
    *,
    lags_ms: tuple[float, ...] | None = None,
    prior: Floats | None = None,
) -> Anchor | None:
    """The likeliest of several first counts.

    first (H,): hypotheses; time_of(hypothesis, counts (N,)) -> times (N,). A count that asks for a landing where nobody lands
    speaks against, and so do landings in the counts before; prior (H,) is added, in landings. The dance may end at any count. None
    when nothing fits.
    """
    curves = _FootCurves(dancers, settings)
    return _anchored(curves, due, first, time_of, settings, lags_ms or settings.anchor_lags_ms, prior)


def _anchored(
    curves: _FootCurves,
    due: Sequence[Due],
    first: Floats,
    time_of: Callable[[float, Floats], Floats],
    settings: TimingSettings,
    lags_ms: tuple[float, ...],
    prior: Floats | None = None,
) -> Anchor | None:
    lands = [d for d in due if d.lands and d.foot is not None]
    if not lands or not len(first):
        return None
    counts = np.array([d.count for d in lands])
    right = np.array([d.foot == "right" for d in lands])
    scores = np.empty(len(first))
    for h, value in enumerate(first):
        times = time_of(float(value), counts)
        start, gap = (float(v) for v in time_of(float(value), np.array([1.0, 2.0])))
        gap -= start
        early = curves.before(start - settings.anchor_before_counts * gap, start - 0.4 * gap)
        best = -np.inf
        for lag in lags_ms:
            landed, seen = curves.at(times + lag / 1000, right)
            mirrored, _ = curves.at(times + lag / 1000, ~right)
            for side in (landed, 0.9 * mirrored):
                best = max(best, float(np.cumsum(side - settings.anchor_miss * seen).max()))
        scores[h] = best - settings.anchor_early * early + (0.0 if prior is None else float(prior[h]))
    top = int(np.argmax(scores))
    others = np.abs(first - first[top]) > 1e-9
    return Anchor(float(first[top]), float(scores[top]), float(scores[others].max()) if others.any() else 0.0)


def rhythm_of_steps(dancers: Sequence[Candidates], due: Sequence[Due], settings: TimingSettings) -> tuple[float, float] | None:
    """(time of count 1 in s, length of a count in s) from landings alone, for clips without a beat; None when nothing fits.

    Tempi are tried coarsely over the dance's first counts, then the best ones finely over all of it.
    """
    plain = np.sort(np.concatenate([d.times_s[(d.strength > 0.5) & ~d.shift] for d in dancers]))
    if len(plain) < 8:
        return None
    curves = _FootCurves(dancers, settings)
    starts = plain[: max(8, len(plain) // 2)]
    opening = [d for d in due if d.count <= settings.opening_counts]
    gaps = np.geomspace(60 / settings.steps_highest_bpm, 60 / settings.steps_lowest_bpm, 300)
    rough = [
        (found.score, found.first, float(gap)) for gap in gaps if (found := _at_gap(curves, opening, starts, float(gap), settings))
    ]
    best: tuple[float, float, float] | None = None
    for _, first, gap in sorted(rough, reverse=True)[:6]:
        near = first + np.arange(-0.12, 0.13, 0.04)
        for fine in gap * np.linspace(0.994, 1.006, 13):
            found = _at_gap(curves, due, near, float(fine), settings)
            if found and (best is None or found.score > best[0]):
                best = (found.score, found.first, float(fine))
    if best is None or best[0] < settings.least_anchor:
        return None
    return best[1], best[2]


def _at_gap(curves: _FootCurves, due: Sequence[Due], starts: Floats, gap_s: float, settings: TimingSettings) -> Anchor | None:
    return _anchored(curves, due, starts, lambda first, counts: first + (counts - 1) * gap_s, settings, (0.0,))
