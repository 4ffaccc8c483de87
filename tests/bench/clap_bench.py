"""How exactly a clap in view is timed, on made hands: by the way they close and the frames a second.

    python tests/bench/clap_bench.py [CLAPS] [FRAMES_A_SECOND ...]

A row: bias, spread (ms) and the share inside two standard deviations, for single claps against their true contact and for three claps
of one clip together with bangs at known times; and in how many of the clips one clap and three move the beats. Hands, sizes, views and
errors are drawn anew (seeds from 9000 on, which neither a test nor a choice of a setting used).
CLAPS a row: 60 if not said; whole clips: a third of it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from made_clap import WAYS, bangs, filmed_claps

from motion.base.types import SoundOffset
from motion.music.av_sync import clap_offset
from motion.music.hand_contact import meetings
from motion.music.onset_strength import onset_curve
from motion.review.settings import SETTINGS

LENGTH_S = 6.0


def row(way: str, rate: float, claps: int) -> str:
    """One line of the table."""
    off, sigma, tried = [], [], 0
    whole, told = [], []
    floor_ms = np.hypot(SETTINGS.practice.clap_floor_ms, SETTINGS.practice.clap_common_ms)
    most_ms = SETTINGS.practice.clap_sure_ms
    for seed in range(claps // 3):
        rng = np.random.default_rng([9000 + seed, int(rate), list(WAYS).index(way)])
        at, late_s = [float(k + rng.uniform(-0.2, 0.2)) for k in (1.5, 3.0, 4.5)], rng.uniform(-0.12, 0.12)
        marks = filmed_claps(way, at, rate, LENGTH_S, rng)
        found = meetings(marks, 0, SETTINGS.practice)
        tried += len(at)
        for t in at:
            near = [m for m in found if abs(m.time_s - t) < 0.3]
            off += [1000 * (m.time_s - t) for m in near[:1]]
            sigma += [float(np.hypot(m.sigma_ms, floor_ms)) for m in near[:1]]
        curve = onset_curve(bangs([t + late_s for t in at], LENGTH_S, rng), settings=SETTINGS.music)
        offset = clap_offset(marks, curve, settings=SETTINGS.practice)
        if isinstance(offset, SoundOffset):
            whole.append(offset.value_ms - 1000 * late_s)
            told.append(offset.sigma_ms)
    one_moves = int(np.sum(2 * np.array(sigma) <= most_ms))
    first = f"{np.mean(off):+6.1f} {np.std(off):5.1f} {100 * np.mean(np.abs(off) < 2 * np.array(sigma)):4.0f} % {len(off):4d}/{tried:<4d}"
    last = f"{one_moves / max(1, len(off)):4.0%}"
    if whole:
        inside = 100 * np.mean(np.abs(whole) < 2 * np.array(told))
        last += f" | {np.mean(whole):+6.1f} {np.std(whole):5.1f} {inside:4.0f} % ± {2 * np.median(told):3.0f}"
    return f"{way:12} {rate:3.0f} | {first} {last} {len(whole)}/{claps // 3}"


def main(claps: int, rates: list[float]) -> None:
    print("closing      fps | one: bias, sd, in 2 sd, found, sure enough | three: bias, sd, in 2 sd, told, sure enough")
    for way in WAYS:
        for rate in rates:
            print(row(way, rate, claps), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60, [float(a) for a in sys.argv[2:]] or [24.0, 25.0, 30.0, 50.0, 60.0])
