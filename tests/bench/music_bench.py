"""How well the beat is found in generated music, beside librosa's tracker; run by hand:
python tests/bench/music_bench.py SET [PIECES]

SET is made (synthesised: a row a style), midi (the same styles by General MIDI instruments), patterns (accompaniments after musicians'
patterns, none of which the level weights were learned on), songs FOLDER (MIDI files of whole songs; the first minute) or alone (hand
claps, a drum, counting aloud). All but made need programs of Debian, see made_midi.py and alone.py. PIECES a style, 8 if not said.

F within 70 ms, bias and spread of the matched beats in ms, and how many pieces were heard at another level (twice, half,
a third, between the beats) or lost. The seeds are not those that the level weights were learned on.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import librosa
import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]
from alone import KINDS, alone  # noqa: E402
from beat_scores import f_measure, level, offsets_ms  # noqa: E402
from made_midi import accompanied, patterns, played, quarters, sounded  # noqa: E402
from made_music import RATE_HZ, STYLES, Made, make, talk  # noqa: E402

from motion.base.types import BeatGrid, Sound  # noqa: E402
from motion.music.beats import find_beats  # noqa: E402
from motion.music.onset_strength import OnsetCurve, onset_curve  # noqa: E402
from motion.review.settings import SETTINGS  # noqa: E402

FIRST_SEED = 6000
SONG_S = 60.0
#: Patterns of the half measured on that the weights of level.npz have seen all the same.
LEARNED = ("hillcountry", "jazzcombo", "jazzrhumba", "jazzwaltz", "latinwaltz", "lighttango", "mambo", "mellowjazz", "modernjazz",
           "nitejazz")  # fmt: skip


def ours(made: Made) -> BeatGrid | None:
    curve = onset_curve(Sound(made.samples, RATE_HZ, 0.0), settings=SETTINGS.music)
    grid = find_beats(curve, settings=SETTINGS.music) if isinstance(curve, OnsetCurve) else None
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


def rows(kind: str, count: int, folder: Path | None) -> list[tuple[str, list[Callable[[], Made | None]]]]:
    """(name, pieces to be made) of each row of a table."""
    seeds = range(FIRST_SEED, FIRST_SEED + count)
    if kind == "patterns":
        # The other half of this library is learned from.
        some = [pattern for pattern in patterns("stdlib")[1::2] if pattern[0] not in LEARNED]
        waltzes, others = [p for p in some if p[1] == 3], [p for p in some if p[1] == 4]
        return [
            (n, [lambda p=p, s=s: accompanied(*p, s) for p in ps for s in seeds])
            for n, ps in (("threes", waltzes), ("fours", others))
        ]
    if kind == "songs":
        assert folder is not None
        return [("songs", [lambda path=path: song(path) for path in sorted(folder.glob("*.mid"))])]
    maker, names = {"made": (make, STYLES), "midi": (played, STYLES), "alone": (alone, KINDS)}[kind]
    return [(name, [lambda name=name, s=s: maker(name, s) for s in seeds]) for name in names]


def song(path: Path) -> Made:
    """The first minute of a MIDI file; a beat is its quarter."""
    beats_s = quarters(path.read_bytes())
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(path.read_bytes())
        track = sounded(copy, np.random.default_rng(0))[: int(SONG_S * RATE_HZ)]
    beats_s = beats_s[beats_s < len(track) / RATE_HZ - 0.05]
    return Made(track, beats_s, 0, 4, 0.5, float(60 / np.median(np.diff(beats_s))))


def main(kind: str, count: int, folder: Path | None) -> None:
    sure: list[tuple[float, bool]] = []
    metres = firsts = halves = ticks = total = 0
    for name, makers in rows(kind, count, folder):
        pieces = [made for one in makers if (made := one()) is not None]
        grids = [ours(made) for made in pieces]
        found = [(m, g.times_s if g else np.zeros(0)) for m, g in zip(pieces, grids, strict=True)]
        print(f"{name:15s} ours    {cell(found)}")
        print(f"{'':15s} librosa {cell([(m, theirs(m)) for m in pieces])}", flush=True)
        for made, grid in zip(pieces, grids, strict=True):
            if grid is None:
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
    print(f"of {total} at the right level: metre right {metres}")
    if kind == "made":
        print(f"half beat within 0.04 {halves}; first count after ticks {firsts} of {ticks}")
    reliability(sure)
    if kind == "alone":
        silence(count)


def reliability(sure: list[tuple[float, bool]]) -> None:
    """What confidence means: of the pieces about which it said so, how many were right."""
    for low, high in ((0.0, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01)):
        some = [(chance, right) for chance, right in sure if low <= chance < high]
        if some:
            said, right = np.mean(some, axis=0)
            print(f"confidence {low:.2f}-{min(high, 1.0):.2f}: said {said:.2f}, right {right:.2f} of {len(some)}")


def silence(count: int) -> None:
    """Noise and talk, in which there is no beat to be said."""
    rng = np.random.default_rng(0)
    heard = {
        "noise": [rng.standard_normal(20 * RATE_HZ) * 0.1 for _ in range(count)],
        "talk": [talk(20.0, rng) for _ in range(count)],
    }
    for name, sounds in heard.items():
        grids = [ours(Made(x.astype(np.float32), np.zeros(2), 0, 4, 0.5, 100.0)) for x in sounds]
        print(f"{name} alone: no beat said in {sum(g is None for g in grids)} of {len(grids)}; confidence of the others "
              f"{[round(g.confidence, 2) for g in grids if g]}")  # fmt: skip


if __name__ == "__main__":
    words = sys.argv[1:]
    path = Path(words.pop(1)) if words[:1] == ["songs"] else None
    main(words[0] if words else "made", int(words[1]) if len(words) > 1 else 8, path)
