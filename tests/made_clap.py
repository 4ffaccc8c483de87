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


#: Ways in which hands close: how long (s, for a torso's swing), and how long they rest in each other (s).
WAYS = {
    "speeding up": ((0.15, 0.25), (0.02, 0.10)),
    "even": ((0.14, 0.30), (0.02, 0.10)),
    "braked": ((0.14, 0.30), (0.02, 0.10)),
    "smooth": ((0.20, 0.35), (0.04, 0.12)),
    "rebound": ((0.15, 0.25), (0.0, 0.0)),
    "resting": ((0.14, 0.30), (0.15, 0.30)),
}


def way_left(way: str, ahead: np.ndarray) -> np.ndarray:
    """Share of the swing that is left (F,), by the time to contact over the whole closing's: 0 at contact, 1 where it begins."""
    u = np.clip(ahead, 0.0, 1.0)
    if way in ("speeding up", "rebound"):
        return 1 - (1 - u) ** 2
    if way == "braked":  # evenly, to 0.55 of the speed it began with
        return (0.55 * u + 0.225 * u**2) / 0.775
    if way == "smooth":  # the least jerk from rest to rest
        return u**3 * (10 - 15 * u + 6 * u**2)
    return u


def hands_apart(way: str, times_s: np.ndarray, claps_s: list[float], rng: np.random.Generator) -> np.ndarray:
    """Wrists' distance in torsos (F,) of claps that all close the same way, each with its own size and speed."""
    apart = np.full(len(times_s), np.nan)
    gap, wide = rng.uniform(0.1, 0.25), rng.uniform(0.75, 1.3)  # wrists never touch: palms lie between them
    for at, until in zip(claps_s, [*(np.add(claps_s[:-1], claps_s[1:]) / 2), np.inf], strict=True):
        closing_s, rest_s = (rng.uniform(*span) for span in WAYS[way])
        closing_s *= np.sqrt(wide)
        since, parting_s = times_s - at - rest_s, rng.uniform(0.25, 0.4)
        if way == "rebound":
            speed = rng.uniform(0.15, 0.35) * 2 * wide / closing_s
            thrown = speed * np.clip(since, 0.0, 0.05)
            parting = thrown + (wide - speed * 0.05) * (0.5 - 0.5 * np.cos(np.pi * np.clip((since - 0.05) / parting_s, 0, 1)))
        else:
            parting = wide * (0.5 - 0.5 * np.cos(np.pi * np.clip(since / parting_s, 0, 1)))
        one = gap + np.where(times_s < at, wide * way_left(way, (at - times_s) / closing_s), parting)
        apart = np.where(np.isnan(apart), one, apart)
        apart[times_s > until] = np.nan
    return apart


def shaken(times_s: np.ndarray, shape: tuple[int, ...], rng: np.random.Generator, fresh: float, lasts_s: float) -> np.ndarray:
    """Errors (F, *shape) of spread 1: a share of their power new in every frame, the rest fading over lasts_s."""
    slow = rng.normal(size=(len(times_s), *shape))
    for i in range(1, len(times_s)):
        keep = np.exp(-(times_s[i] - times_s[i - 1]) / lasts_s)
        slow[i] = keep * slow[i - 1] + np.sqrt(1 - keep**2) * slow[i]
    return np.sqrt(fresh) * rng.normal(size=slow.shape) + np.sqrt(1 - fresh) * slow


def filmed_claps(way: str, claps_s: list[float], rate: float, length_s: float, rng: np.random.Generator) -> Landmarks:
    """Somebody who claps so, seen up to 40 degrees from the front, arms up to 25 degrees from level, elbows following a little or a lot.

    Landmarks are off by 1.5 % of a torso each, half of it for several frames, and hands by 5 % more while they cover each other.
    """
    t = np.arange(0, length_s, 1 / rate)
    t = np.sort(t + rng.uniform(-0.08, 0.08, len(t)) / rate)
    t = t - t[0] + rng.uniform(0, 1 / rate)
    apart = hands_apart(way, t, claps_s, rng)
    turned, tilted, follow = np.radians(rng.uniform(-40, 40)), np.radians(rng.uniform(-25, 25)), rng.uniform(0.05, 0.5)
    read = apart + 0.05 * np.clip((0.7 - apart) / 0.4, 0, 1) * shaken(t, (), rng, 0.3, 0.08)
    points = np.full((len(t), 33, 2), 300.0)
    for mark, dx, y in ((11, 38, 200), (12, -38, 200), (23, 20, 300), (24, -20, 300)):
        points[:, mark] = (300 + dx * np.cos(turned), y)
    for side, elbow, wrist in ((0.5, 13, 15), (-0.5, 14, 16)):
        across = side * np.cos(turned) * TORSO_PX
        points[:, elbow] = np.stack([300 + across * (0.95 + follow * apart), np.full(len(t), 250.0)], axis=1)
        rise = 230 + side * read * np.sin(tilted) * TORSO_PX
        points[:, wrist] = np.stack([300 + across * read * np.cos(tilted), rise], axis=1)
    return seen(t, points + 0.015 * TORSO_PX * shaken(t, points.shape[1:], rng, 0.5, 0.06))
