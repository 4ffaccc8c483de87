"""How well found beats fit true ones: F within 70 ms, signed errors, and which version of the beats was found."""

from __future__ import annotations

import numpy as np

WINDOW_S = 0.07


def pairs(true_s: np.ndarray, found_s: np.ndarray) -> list[tuple[int, int]]:
    """One-to-one pairs (index of true, index of found) within the window, nearest first."""
    gap = np.abs(np.subtract.outer(np.asarray(true_s, float), np.asarray(found_s, float)))
    out: list[tuple[int, int]] = []
    rows, columns = set(), set()
    for flat in np.argsort(gap, axis=None):
        i, k = (int(v) for v in np.unravel_index(flat, gap.shape))
        if gap[i, k] > WINDOW_S:
            break
        if i not in rows and k not in columns:
            out.append((i, k))
            rows.add(i)
            columns.add(k)
    return out


def f_measure(true_s: np.ndarray, found_s: np.ndarray) -> float:
    return 2 * len(pairs(true_s, found_s)) / (len(true_s) + len(found_s)) if len(true_s) + len(found_s) else 0.0


def offsets_ms(true_s: np.ndarray, found_s: np.ndarray) -> np.ndarray:
    """Signed error of every matched beat, late positive."""
    return np.array([1000 * (found_s[k] - true_s[i]) for i, k in pairs(true_s, found_s)])


def level(true_s: np.ndarray, found_s: np.ndarray) -> str:
    """Which version of the true beats was found, "lost" when none reaches F 0.8."""
    middle = (true_s[1:] + true_s[:-1]) / 2
    versions = {"right": [true_s], "half": [true_s[::2], true_s[1::2]], "third": [true_s[k::3] for k in range(3)],
                "double": [np.sort(np.concatenate([true_s, middle]))], "between": [middle]}  # fmt: skip
    best = {name: max(f_measure(v, found_s) for v in some) for name, some in versions.items()}
    name = max(best, key=lambda n: best[n])
    return name if best[name] >= 0.8 else "lost"
