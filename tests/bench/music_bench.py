"""How well the beat is found in generated music, beside librosa's tracker: one row a style. Run by hand, with how many seeds a style:
python tests/bench/music_bench.py 12

F within 70 ms, bias and spread of the matched beats in ms, and how many pieces were heard at another level (twice, half,
a third, between the beats) or lost. The seeds are not those that the level weights were learned on.
"""

from __future__ import annotations

import sys
from pathlib import Path

import librosa
import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "music")]
from beat_scores import f_measure, level, offsets_ms  # noqa: E402
from made_music import RATE_HZ, STYLES, Made, make, talk  # noqa: E402

from motion.data import BeatGrid, Sound  # noqa: E402
from motion.music.beats import find_beats  # noqa: E402
from motion.music.onsets import OnsetCurve, onset_curve  # noqa: E402
from motion.settings import SETTINGS  # noqa: E402

FIRST_SEED = 1000


def ours(made: Made, beats_per_bar: int | None = None) -> BeatGrid | None:
    curve = onset_curve(Sound(made.samples, RATE_HZ, 0.0), settings=SETTINGS.music)
    grid = find_beats(curve, beats_per_bar=beats_per_bar, settings=SETTINGS.music) if isinstance(curve, OnsetCurve) else None
    return grid if isinstance(grid, BeatGrid) else None


def theirs(made: Made) -> np.ndarray:
    return np.asarray(librosa.beat.beat_track(y=made.samples, sr=RATE_HZ, units="time")[1])


def cell(runs: list[tuple[Made, np.ndarray]]) -> str:
    """F, bias, spread and wrong levels of one tracker over the pieces of one style."""
    f = np.mean([f_measure(made.beats_s, found) for made, found in runs])
    errors = [offsets_ms(made.beats_s, found) for made, found in runs if level(made.beats_s, found) == "right"]
    bias = float(np.median([np.median(e) for e in errors])) if errors else float("nan")
    spread = float(np.median([np.median(np.abs(e - np.median(e))) for e in errors])) if errors else float("nan")
    levels = [level(made.beats_s, found) for made, found in runs]
    wrong = ", ".join(f"{levels.count(name)} {name}" for name in dict.fromkeys(levels) if name != "right")
    return f"F {f:.3f}  bias {bias:+5.1f}  spread {spread:4.1f}  {wrong or 'all levels right'}"


def main(seeds: int) -> None:
    sure: list[tuple[float, bool]] = []
    metres = firsts = halves = ticks = total = 0
    for style in STYLES:
        pieces = [make(style, FIRST_SEED + k) for k in range(seeds)]
        grids = [ours(made) for made in pieces]
        found = [(m, g.times_s if g else np.zeros(0)) for m, g in zip(pieces, grids, strict=True)]
        print(f"{style:11s} ours    {cell(found)}")
        print(f"{'':11s} librosa {cell([(m, theirs(m)) for m in pieces])}", flush=True)
        for made, grid in zip(pieces, grids, strict=True):
            if grid is None:
                sure.append((0.0, False))
                continue
            right = level(made.beats_s, grid.times_s) == "right"
            sure.append((grid.confidence, right))
            if right:
                total += 1
                metres += (grid.counts.max() == 6) == (made.beats_per_bar == 3)
                halves += abs(grid.half_at - made.half_at) < 0.04
                if made.first_count:
                    ticks += 1
                    firsts += grid.first_count_s is not None and abs(grid.first_count_s - made.beats_s[made.first_count]) < 0.1
    print(
        f"of {total} at the right level: metre right {metres}, half beat within 0.04 {halves}; first count after ticks {firsts} of {ticks}"
    )
    for low, high in ((0.0, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 1.01)):
        some = [right for chance, right in sure if low <= chance < high]
        if some:
            print(f"confidence {low:.2f}-{high:.2f}: right {np.mean(some):.2f} of {len(some)}")
    rng = np.random.default_rng(0)
    heard = {
        "noise": [rng.standard_normal(20 * RATE_HZ) * 0.1 for _ in range(seeds)],
        "talk": [talk(20.0, rng) for _ in range(seeds)],
    }
    for name, sounds in heard.items():
        grids = [ours(Made(x.astype(np.float32), np.zeros(2), 0, 4, 0.5, 100.0)) for x in sounds]
        print(f"{name} alone: no beat said in {sum(g is None for g in grids)} of {len(grids)}; confidence of the others "
              f"{[round(g.confidence, 2) for g in grids if g]}")  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 8)
