"""Learns the weights of motion/music/level.py again from generated music and prints them; run by hand."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "music")]
from beat_scores import f_measure  # noqa: E402
from made_music import RATE_HZ, STYLES, make  # noqa: E402

from motion.data import Sound  # noqa: E402
from motion.music.beats import pulse  # noqa: E402
from motion.music.level import candidates, describe  # noqa: E402
from motion.music.onsets import OnsetCurve, onset_curve  # noqa: E402
from motion.settings import SETTINGS  # noqa: E402

SEEDS = {style: range(100, 400 if style == "varied" else 116) for style in STYLES}
RIDGE = 5.0


def pieces() -> list[tuple[np.ndarray, int]]:
    """(features of every candidate, index of the right one) of each generated piece whose beat is among the candidates."""
    rows = []
    for style in STYLES:
        for seed in SEEDS[style]:
            made = make(style, seed, beats=48)
            curve = onset_curve(Sound(made.samples, RATE_HZ, 0.0), settings=SETTINGS.music)
            assert isinstance(curve, OnsetCurve)
            found = candidates(pulse(curve, None, SETTINGS.music), SETTINGS.music)
            fits = [f_measure(made.beats_s, times) for _, times in found]
            if max(fits) >= 0.8:
                table = np.array([describe(curve, name, times, SETTINGS.music) for name, times in found])
                rows.append((table, int(np.argmax(fits))))
    return rows


def learn(rows: list[tuple[np.ndarray, int]]) -> np.ndarray:
    from scipy.optimize import minimize

    def loss(w: np.ndarray) -> tuple[float, np.ndarray]:
        value, slope = RIDGE * float(w @ w), 2 * RIDGE * w
        for table, right in rows:
            score = table @ w
            chance = np.exp(score - score.max())
            chance /= chance.sum()
            value -= float(np.log(chance[right] + 1e-12))
            slope = slope - table[right] + chance @ table
        return value, slope

    return np.asarray(minimize(loss, np.zeros(rows[0][0].shape[1]), jac=True).x)


if __name__ == "__main__":
    print(", ".join(f"{w:.2f}" for w in learn(pieces())))
