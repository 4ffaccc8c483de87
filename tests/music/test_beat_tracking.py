"""The search for the likeliest pulse, against the same search spelt out beat by beat."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from motion.base.types import Floats
from motion.music.beat_tracking import decode
from motion.review.settings import SETTINGS

MUSIC = SETTINGS.music


def spelt_out(likely: Floats, low_bpm: float, high_bpm: float, prior_bpm: float, octaves: float) -> list[int]:
    """Beats of the best path: every beat looks back on every beat that may have come before it."""
    hop, n = MUSIC.hop_s, len(likely)
    periods = list(range(int(np.ceil(60 / high_bpm / hop)), int(60 / low_bpm / hop) + 1))
    zone = {p: max(1, round(p / 32)) for p in periods}
    prior = {p: -0.5 * (np.log2(60 / (p * hop) / prior_bpm) / octaves) ** 2 for p in periods}
    longest, ahead = periods[-1], zone[periods[-1]]

    def told(a: int, b: int, lit: bool) -> float:
        inside = likely[max(0, a) : max(0, min(b, n))]
        return float(np.sum(np.log(inside) if lit else np.log((1 - inside) / 15)))

    @cache
    def came(t: int, p: int) -> tuple[float, int]:
        """Score of a beat at t that came p after the one before, and the period before that (0: it was the first)."""
        start, z = t - p, zone[p]
        if start < -longest:
            return -np.inf, 0
        before = (prior[p], 0)
        if start >= 0:
            options = [(came(start, q)[0] - MUSIC.tempo_stiffness * abs(p / q - 1), q) for q in periods]
            best, q = max(options, key=lambda one: one[0])
            before = best + prior[p], q
        return before[0] + told(start - z, start + z, True) + told(start + z, t - z, False), before[1]

    ends = range(n + ahead, n + longest + ahead)
    t, p = max(((t, p) for t in ends for p in periods), key=lambda one: came(*one)[0])
    beats = []
    while p:
        t, p = t - p, came(t, p)[1]
        beats.append(t)
    return [t for t in reversed(beats) if 0 <= t < n]


@pytest.mark.parametrize("seed", range(8))
def test_the_search_by_blocks_finds_the_path_of_the_search_beat_by_beat(seed: int) -> None:
    rng = np.random.default_rng(seed)
    likely = rng.uniform(0.01, 0.3, 240)
    likely[rng.integers(0, 20) + np.cumsum(rng.integers(20, 31, 8))] = 0.95
    args = likely, 60 / 0.15, 60 / 0.1, 60 / 0.11, 0.06
    beats = decode(*args, MUSIC)
    assert len(beats) > 5
    assert beats.tolist() == spelt_out(*args)
