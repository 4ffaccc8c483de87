"""Learns weights and typical bars for motion/music/metrical_level.py; run by hand (twenty minutes):
python tests/bench/level_fit.py FILE

The level.npz that is here was learned in the same way from more pieces; what this makes is similar (DEVELOPERS.md says how similar):
compare on music_bench.py before it takes that place. The pieces are the made music of tests/music; patterns of the libraries of mma,
played by a General MIDI synthesiser (every second one of the standard library: music_bench.py measures on the others); and claps, a drum
and counting alone, with other voices than are measured on. Without mma, fluidsynth or espeak-ng it stops, so that no weights are written
that know only half.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "bench")]
from alone import VOICES_LEARNED, alone  # noqa: E402
from beat_scores import f_measure  # noqa: E402
from made_midi import FONTS, accompanied, patterns  # noqa: E402
from made_music import RATE_HZ, STYLES, Made, make  # noqa: E402

from motion.base.types import Sound  # noqa: E402
from motion.music.beats import pulse  # noqa: E402
from motion.music.metrical_level import candidates, features, flux_near  # noqa: E402
from motion.music.onset_strength import OnsetCurve, onset_curve  # noqa: E402
from motion.review.settings import SETTINGS  # noqa: E402

SEEDS = range(100, 128)
#: (library of mma, every how many of its patterns, seeds).
PATTERNS = (("stdlib", 2, range(4)), *((name, 1, range(1)) for name in ("casio", "kara", "yamaha", "zoom", "alexis")))
ALONE, ALONE_SEEDS = ("claps", "drum", "counting made", *VOICES_LEARNED), range(100, 118)
STARTS = 4  # from different ones it ends in different places
KINDS = {"fours": 3, "threes": 1}  # typical bars of each kind: more fitted better and foretold worse
RIDGE = {"plain": 5.0, "fours": 4.0, "threes": 4.0, "usual": 1.0}
Row = tuple[np.ndarray, np.ndarray, np.ndarray, int]


def music() -> Iterator[Made]:
    for style in STYLES:
        yield from (make(style, seed) for seed in SEEDS)
    for kind in ALONE:
        yield from (alone(kind, seed) for seed in ALONE_SEEDS)
    for library, every, seeds in PATTERNS:
        for pattern in patterns(library)[::every]:
            yield from (made for seed in seeds if (made := accompanied(*pattern, seed)) is not None)


def row(made: Made) -> Row | None:
    """Features of every candidate of a piece, and which is right; None when none is."""
    curve = onset_curve(Sound(made.samples, RATE_HZ, 0.0), settings=SETTINGS.music)
    if not isinstance(curve, OnsetCurve) or len(found := pulse(curve, None, SETTINGS.music)) < SETTINGS.music.fewest_beats:
        return None
    pulses, flux = candidates(found, SETTINGS.music), flux_near(curve, SETTINGS.music)
    fits = [f_measure(made.beats_s, times) for _, times in pulses]
    if max(fits) < 0.8:
        return None
    plain, fours, threes = zip(*(features(curve, flux, name, times, SETTINGS.music) for name, times in pulses), strict=True)
    return np.array(plain), np.array(fours), np.array(threes), int(np.argmax(fits))


def learn(rows: list[Row]) -> dict[str, np.ndarray]:
    """Weights as `level.load_weights` describes them, by maximum likelihood with ridge; of the ends reached from
    several small random bars, the likeliest."""
    from scipy.optimize import OptimizeResult, minimize

    count = max(len(row[0]) for row in rows)

    def padded(part: int) -> np.ndarray:
        return np.array([np.concatenate([r[part], np.zeros((count - len(r[part]), *r[part].shape[1:]))]) for r in rows])

    plain, sounds = padded(0), {"fours": padded(1), "threes": padded(2)}
    off = np.array([np.where(np.arange(count) < len(r[0]), 0.0, -1e9) for r in rows])
    right = np.array([r[3] for r in rows])
    shapes = {
        "plain": (plain.shape[-1],),
        **{k: (n, sounds[k].shape[-1]) for k, n in KINDS.items()},
        "usual": (sum(KINDS.values()),),
    }
    edges = np.cumsum([0] + [int(np.prod(shape)) for shape in shapes.values()])
    ridge = np.concatenate([np.full(int(np.prod(s)), RIDGE[k]) for k, s in shapes.items()])

    def parts(w: np.ndarray) -> dict[str, np.ndarray]:
        return {k: w[a:b].reshape(s) for (k, s), a, b in zip(shapes.items(), edges[:-1], edges[1:], strict=True)}

    def loss(w: np.ndarray) -> tuple[float, np.ndarray]:
        now, n, first = parts(w), len(rows), KINDS["fours"]
        fits = [
            (sounds["fours"] @ now["fours"].T + now["usual"][:first]).reshape(n, count, -1) - np.log(4),
            (sounds["threes"] @ now["threes"].T + now["usual"][first:]).reshape(n, count, -1) - np.log(3),
        ]
        whole = np.concatenate(fits, axis=2)
        likely = np.logaddexp.reduce(whole, axis=2)
        score = plain @ now["plain"] + off + likely
        total = np.logaddexp.reduce(score, axis=1)
        wrong = np.exp(score - total[:, None])
        wrong[np.arange(n), right] -= 1
        share = np.exp(whole - likely[..., None]) * wrong[..., None]
        four, three = share[..., : 4 * first].reshape(n, count, 4, first), share[..., 4 * first :].reshape(n, count, 3, -1)
        slope = np.concatenate([
            np.einsum("nc,ncd->d", wrong, plain),
            np.tensordot(four, sounds["fours"], ([0, 1, 2], [0, 1, 2])).ravel(),
            np.tensordot(three, sounds["threes"], ([0, 1, 2], [0, 1, 2])).ravel(),
            four.sum(axis=(0, 1, 2)), three.sum(axis=(0, 1, 2)),
        ])  # fmt: skip
        value = float(np.sum(total - score[np.arange(n), right]) + np.sum(ridge * w**2))
        return value, slope + 2 * ridge * w

    def from_start(seed: int) -> OptimizeResult:
        start = np.random.default_rng(seed).normal(0, 0.05, edges[-1])
        start[: edges[1]] = 0
        return minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 500})

    return parts(min((from_start(seed) for seed in range(STARTS)), key=lambda end: float(end.fun)).x)


def main(file: Path) -> None:
    missing = [name for name in ("mma", "fluidsynth", "espeak-ng") if shutil.which(name) is None]
    if missing or not FONTS or not all(patterns(library) for library, _, _ in PATTERNS):
        raise SystemExit(f"not here: {', '.join(missing) or 'a soundfont, or the pattern libraries of mma'}")
    learned = learn([found for made in music() if (found := row(made)) is not None])
    np.savez(file, **{k: np.asarray(v, np.float32) for k, v in learned.items()})


if __name__ == "__main__":
    main(Path(sys.argv[1]))
