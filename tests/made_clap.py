"""A person who claps, as landmarks, and the bangs, as sound: both at times that are known."""

from __future__ import annotations

import numpy as np

from motion.base.types import Landmarks, Sound

TORSO_PX = 100.0
RATE_HZ = 44_100


def picture_times(rate: float, length_s: float, rng: np.random.Generator) -> np.ndarray:
    """Uneven picture times (F,), as phones give them."""
    t = np.arange(0, length_s, 1 / rate)
    t = t + rng.uniform(-0.08, 0.08, len(t)) / rate
    return t - t[0]


def clapping(times_s: np.ndarray, claps_s: list[float], rest_s: float = 0.06) -> np.ndarray:
    """Wrists' distance in torsos (F,): open, closing within 0.2 s ever faster, resting together, parting slowly."""
    apart = np.full(len(times_s), 0.9)
    for at in claps_s:
        ahead, since = (at - times_s) / 0.2, (times_s - at - rest_s) / 0.3
        closing, parting = (ahead > 0) & (ahead < 1), (since >= 0) & (since < 1)
        apart = np.where(closing, 0.15 + 0.75 * (1 - (1 - ahead) ** 2), apart)
        apart = np.where((times_s >= at) & (times_s < at + rest_s), 0.15, apart)
        apart = np.where(parting, 0.15 + 0.75 * (0.5 - 0.5 * np.cos(np.pi * since)), apart)
    return apart


def person(
    times_s: np.ndarray, apart: np.ndarray, rng: np.random.Generator, noise_px: float = 1.5, x_px: float = 300.0
) -> np.ndarray:
    """Landmarks (F, 33, 2) of somebody seen from the front whose wrists are that far apart; apart < 0: arms crossed."""
    points = np.full((len(times_s), 33, 2), 300.0)
    for mark, dx, y in ((11, 35, 200), (12, -35, 200), (23, 20, 300), (24, -20, 300)):
        points[:, mark] = (x_px + dx, y)
    for mark, side in ((15, 0.5), (16, -0.5)):
        points[:, mark] = np.stack([x_px + side * apart * TORSO_PX, np.full(len(times_s), 230.0)], axis=1)
    return points + rng.normal(0, noise_px, points.shape)


def seen(times_s: np.ndarray, *people: np.ndarray) -> Landmarks:
    return Landmarks(times_s, np.arange(1, len(people) + 1), np.stack(people, axis=1), np.ones((len(times_s), len(people), 33)))


def bangs(
    at_s: list[float], length_s: float, rng: np.random.Generator, *, start_s: float = 0.0, ticks_s: tuple[float, ...] = ()
) -> Sound:
    """Bursts of noise that die within 12 ms over a quiet room; ticks_s: other sharp sounds, as loud."""
    x = rng.normal(0, 0.002, int(length_s * RATE_HZ))
    n = int(0.08 * RATE_HZ)
    for at in (*at_s, *ticks_s):
        i = round((at - start_s) * RATE_HZ)
        x[i : i + n] += 0.5 * rng.normal(0, 1, n) * np.exp(-np.arange(n) / RATE_HZ / 0.012)
    return Sound(np.clip(x, -1, 1).astype(np.float32), RATE_HZ, start_s)
