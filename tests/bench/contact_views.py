"""A motion in space as a phone films it and the pose model reads it: any camera, any frame rate, errors like the model's own.

The errors were measured on the pose model's landmarks of four drawn clips against their truth (careful quality): about 1.2 % of a leg's
length for a point of the leg, alike from frame to frame (correlation 0.8 at 30 a second), three times that sideways for the toes and
slow there, ankles, heels and toes read 3 to 6 % too high throughout, heel and ankle erring together, 5 to 8 % for one in twenty. And the
model holds a foot stiffer than it is: of how heel and toe rise and fall against the ankle it shows .33 to .88 (median .6).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from contact_motions import LANDS, Motion
from scipy.ndimage import gaussian_filter1d

LEFT, RIGHT = [25, 27, 29, 31], [26, 28, 30, 32]
FEET = {"L": [27, 29, 31], "R": [28, 30, 32]}
#: Left and right landmark of each pair.
PAIRS = [(1, 4), (2, 5), (3, 6), *((k, k + 1) for k in range(7, 33, 2))]


@dataclass(eq=False)
class Seen:
    """times_s (F,); points (F, 33, 2) in the picture; events, unsure and unknown as a Motion has them, in these times; behind (F,): how
    much farther from the camera the left ankle is than the right one, m."""

    times_s: np.ndarray
    points: np.ndarray
    events: list[tuple[float, str, str]]
    unsure: list[tuple[float, str]]
    unknown: list[tuple[float, float, str]]
    behind: np.ndarray


def filmed(motion: Motion, yaw_deg: float, *, high_m: float = 1.5, away_m: float = 5.0, rate_hz: float = 30.0) -> Seen:
    """From a camera that stands still, without any error. yaw_deg: from where the person looks on the whole, 0 from ahead, 90 from the
    person's right."""
    times_s = np.arange(motion.times_s[0], motion.times_s[-1], 1 / rate_hz)
    return _projected(motion, times_s, yaw_deg, high_m, away_m)


def _heading(points: np.ndarray) -> float:
    """Which way the person faces on the whole, radians from x."""
    across = points[:, 23, :2] - points[:, 24, :2]
    ahead = np.stack([across[:, 1], -across[:, 0]], 1)
    middle = ahead.mean(0)
    return float(np.arctan2(middle[1], middle[0]))


def _projected(motion: Motion, times_s: np.ndarray, yaw_deg: float, high_m: float, away_m: float) -> Seen:
    flat = motion.points_m.reshape(len(motion.points_m), -1)
    points = np.stack([np.interp(times_s, motion.times_s, flat[:, k]) for k in range(flat.shape[1])], 1).reshape(-1, 33, 3)
    hips = points[:, 23:25].mean(1)
    middle = np.append((hips[:, :2].min(0) + hips[:, :2].max(0)) / 2, np.median(hips[:, 2]))
    way = _heading(points) - np.radians(yaw_deg)
    outwards = np.array([np.cos(way), np.sin(way), 0.0])  # from the person to the camera
    # nobody comes nearer to the lens than 2 m
    reach = float(((points - middle) @ outwards).max())
    camera = middle + outwards * max(away_m, reach + 2.0)
    camera[2] = high_m
    look = middle - camera
    look /= np.linalg.norm(look)
    right = np.cross(look, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    down = np.cross(look, right)
    from_camera = points - camera
    depth = from_camera @ look
    image = np.stack([from_camera @ right, from_camera @ down], -1) / depth[..., None] * 1600.0
    return Seen(times_s, image, list(motion.events), list(motion.unsure), list(motion.unknown), depth[:, 27] - depth[:, 28])


def varied(motion: Motion, chance: np.random.Generator) -> Seen:
    """From a camera by chance, at a frame rate by chance, faster or slower, maybe in a mirror, and read with the model's errors."""
    rate_hz = float(chance.choice([15.0, 20.0, 24.0, 25.0, 30.0, 30.0, 30.0, 30.0, 50.0, 60.0]))
    stretch = float(chance.uniform(0.75, 1.3))
    times_s = np.arange(motion.times_s[0], motion.times_s[-1], 1 / (rate_hz * stretch))
    if chance.random() < 0.3:  # uneven, and some left out
        times_s = np.sort(times_s + chance.uniform(-0.2, 0.2, len(times_s)) / (rate_hz * stretch))
        times_s = times_s[chance.random(len(times_s)) > chance.choice([0.0, 0.05, 0.2])]
    yaw_deg = chance.choice([0.0, 180.0]) + chance.normal(0, 12) if chance.random() < 0.4 else chance.uniform(-180, 180)
    seen = _projected(motion, times_s, float(yaw_deg), float(chance.uniform(0.7, 2.6)), float(chance.uniform(3.0, 12.0)))
    seen.times_s = seen.times_s * stretch
    seen.events = [(t * stretch, f, k) for t, f, k in seen.events]
    seen.unsure = [(t * stretch, f) for t, f in seen.unsure]
    seen.unknown = [(a * stretch, b * stretch, f) for a, b, f in seen.unknown]
    if chance.random() < 0.5:
        _mirror(seen)
    unit = _leg(seen.points)
    if not motion.real and not motion.made:
        seen.points = low_swings(seen.times_s, seen.points, unit, seen.events, chance)
        seen.points, seen.events = planted(seen.times_s, seen.points, unit, seen.events, chance)
    if chance.random() < 0.2:
        _followed(seen, chance)
    angle = chance.normal(0, 0.04)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    seen.points = seen.points @ turn.T
    misread(seen, unit, chance)
    return seen


def covered_at_times(times_s: np.ndarray, chance: np.random.Generator) -> np.ndarray:
    """Which foot nobody sees (F, 2), left and right: mostly neither, else one or both, for a while or throughout."""
    out = np.zeros((len(times_s), 2), bool)
    if chance.random() < 0.65:
        return out
    if chance.random() < 0.15:
        out[:, [[0], [1], [0, 1]][int(chance.integers(3))]] = True
        return out
    for _ in range(1 + chance.poisson((times_s[-1] - times_s[0]) / 6.0)):
        start, lasts = chance.uniform(times_s[0], times_s[-1]), np.exp(chance.uniform(np.log(0.1), np.log(3.0)))
        out[np.ix_((times_s > start) & (times_s < start + lasts), [[0], [1], [0, 1]][int(chance.integers(3))])] = True
    return out


def _leg(points: np.ndarray) -> float:
    return float(np.median(points[:, [27, 28], 1].max(1) - points[:, :11, 1].mean(1))) * 0.56


def _followed(seen: Seen, chance: np.random.Generator) -> None:
    """A camera that goes along with the dancer, more or less, as far as it was not taken off before."""
    hips = seen.points[:, [23, 24]].mean(1)
    step_s = float(np.median(np.diff(seen.times_s)))
    way = gaussian_filter1d(hips, float(chance.uniform(0.1, 0.8)) / step_s, axis=0)
    seen.points = seen.points - float(chance.uniform(0.3, 1.0)) * (way - way.mean(0))[:, None]


def _mirror(seen: Seen) -> None:
    seen.points[..., 0] *= -1
    seen.behind = -seen.behind
    for a, b in PAIRS:
        seen.points[:, [a, b]] = seen.points[:, [b, a]]
    other = {"L": "R", "R": "L", "both": "both"}
    seen.events = [(t, other[f], k) for t, f, k in seen.events]
    seen.unsure = [(t, other[f]) for t, f in seen.unsure]
    seen.unknown = [(a, b, other[f]) for a, b, f in seen.unknown]


def _alike(times_s: np.ndarray, shape: tuple[int, ...], memory_s: float, chance: np.random.Generator) -> np.ndarray:
    """Noise (F, *shape) of standard deviation 1 that forgets itself in memory_s (Ornstein and Uhlenbeck's process)."""
    out = chance.normal(0, 1, (len(times_s), *shape))
    keep = np.exp(-np.diff(times_s) / memory_s)
    for k, a in enumerate(keep, 1):
        out[k] = a * out[k - 1] + np.sqrt(1 - a * a) * out[k]
    return out


def misread(seen: Seen, unit: float, chance: np.random.Generator) -> None:
    """Move the points by errors like the pose model's; unit: the length of a leg in the picture."""
    times_s, points = seen.times_s, seen.points
    _stiff(seen, float(chance.uniform(0.1, 0.65)))
    strength = float(chance.uniform(0.3, 2.0))
    error = strength * 0.011 * _alike(times_s, (33, 2), 0.17, chance)
    error += strength * 0.012 * _alike(times_s, (33, 2), 1.5, chance)
    error += 0.003 * strength * chance.normal(0, 1, error.shape)
    for ankle, heel, toe in (FEET["L"], FEET["R"]):
        error[:, heel] = 0.75 * error[:, ankle] + 0.66 * error[:, heel]
        error[:, toe] = 0.45 * error[:, ankle] + 0.9 * error[:, toe]
        error[:, toe, 0] += strength * 0.022 * _alike(times_s, (), 1.0, chance)
    hips = strength * 0.02 * _alike(times_s, (2,), 2.0, chance)
    error[:, 23] += hips
    error[:, 24] += hips
    # now and then a leg is read badly for a while: blur, the other leg in front
    for side in ("L", "R"):
        for _ in range(chance.poisson((times_s[-1] - times_s[0]) / 3.0)):
            at, wide = chance.uniform(times_s[0], times_s[-1]), chance.uniform(0.05, 0.4)
            bump = np.exp(-0.5 * ((times_s - at) / wide) ** 2)[:, None, None]
            error[:, FEET[side]] += bump * chance.normal(0, 0.035, (1, 1, 2)) + bump * chance.normal(0, 0.012, (1, 3, 2))
    # the leg behind is read worse while the other one is in front of it
    crossed = np.exp(-(((points[:, 27, 0] - points[:, 28, 0]) / (0.15 * unit)) ** 2)) * float(chance.uniform(0, 2))
    error[:, LEFT] *= 1 + (crossed * np.clip(seen.behind / 0.1, 0, 1))[:, None, None]
    error[:, RIGHT] *= 1 + (crossed * np.clip(-seen.behind / 0.1, 0, 1))[:, None, None]
    steady = chance.normal(0, 0.012, (33, 2))
    for ankle, heel, toe in (FEET["L"], FEET["R"]):
        steady[[ankle, heel, toe], 1] -= np.array([0.03, 0.048, 0.036]) * chance.uniform(0.4, 1.4)
    points += (error + steady) * unit
    swing = np.cumsum(np.cumsum(chance.normal(0, 1, (len(times_s), 1, 2)), 0), 0)
    swing -= swing.mean(0)
    points += swing / (np.abs(np.diff(swing, axis=0)).max() + 1e-9) * unit * chance.uniform(0, 0.015)  # a hand that holds the phone
    for _ in range(chance.poisson(len(times_s) / 250)):
        a, n = int(chance.integers(0, max(1, len(times_s) - 4))), int(chance.integers(1, 4))
        if chance.random() < 0.5:
            block = points[a : a + n].copy()
            points[a : a + n, LEFT], points[a : a + n, RIGHT] = block[:, RIGHT], block[:, LEFT]
        else:
            points[a : a + n][:, FEET[chance.choice(["L", "R"])]] += chance.normal(0, 0.1 * unit, 2)


def _stiff(seen: Seen, share: float) -> None:
    """Take a share of how heel and toe move against the ankle away, and leave how they lie for the most part of two seconds."""
    step_s = float(np.median(np.diff(seen.times_s)))
    for ankle, heel, toe in (FEET["L"], FEET["R"]):
        for k in (heel, toe):
            away = seen.points[:, k, 1] - seen.points[:, ankle, 1]
            seen.points[:, k, 1] -= share * (away - gaussian_filter1d(away, 1.0 / step_s, mode="nearest"))


def low_swings(
    times: np.ndarray, points: np.ndarray, unit: float, events: list[tuple[float, str, str]], chance: np.random.Generator
) -> np.ndarray:
    """Drawn feet whose height is gone before their travel is: in walking a foot glides low for a tenth of a second before it lands, and
    a landing is where the travel ends. Only steps that travel are changed, else the landing itself would move."""
    out = points.copy()
    most, flat = chance.uniform(0.0, 0.15), chance.uniform(0.0, 1.0)
    for t, foot, kind in events:
        if kind not in LANDS:
            continue
        x = np.interp([t - 0.3, t - 0.1, t], times, points[:, FEET[foot][0], 0])
        if abs(x[2] - x[0]) < 0.25 * unit or abs(x[2] - x[1]) < 0.06 * unit:
            continue
        swing = (times > t - 0.35) & (times < t)
        early = most * np.clip((times[swing] - (t - 0.35)) / 0.2, 0, 1)
        early = np.minimum(early, np.maximum(0.0, t - times[swing]) + most)
        for k in FEET[foot]:
            later = np.interp(times[swing] + early, times, points[:, k, 1])
            rest = float(np.interp(t + 0.03, times, points[:, k, 1]))
            later = np.where(times[swing] + early >= t, rest, later)
            out[swing, k, 1] = later + flat * 0.3 * (rest - later)
    return out


def planted(
    times: np.ndarray, points: np.ndarray, unit: float, events: list[tuple[float, str, str]], chance: np.random.Generator
) -> tuple[np.ndarray, list[tuple[float, str, str]]]:
    """Some drawn steps in place with the foot left on the floor, and their events as shifts: hips and knees move as they did, the foot
    goes straight from where it stood to where it stands, with a standing foot's unrest and maybe a little of the heel's rise."""
    out, kept = points.copy(), []
    share = chance.choice([0.0, 0.5, 1.0])
    for t, foot, kind in events:
        kept.append((t, foot, kind))
        if kind != "weight" or chance.random() > share:
            continue
        knee, (ankle, heel, toe) = {"R": 26, "L": 25}[foot], FEET[foot]
        last = max((u for u, side, _ in events if side == foot and u < t - 0.05), default=-np.inf)
        from_s, until_s = max(t - 0.55, last + 0.08), t + 0.05
        ends = {
            k: np.array([[np.interp(w, times, points[:, k, c]) for c in (0, 1)] for w in (from_s, until_s)])
            for k in (knee, ankle, heel, toe)
        }
        swing = np.flatnonzero((times > from_s) & (times < until_s))
        if t - from_s < 0.15 or len(swing) < 3 or np.hypot(*np.diff(ends[ankle], axis=0)[0]) > 0.12 * unit:
            continue
        way = ((times[swing] - from_s) / (until_s - from_s))[:, None]
        unrest, risen, bent = unit * chance.uniform(0.002, 0.008), chance.uniform(0, 0.25), chance.uniform(0.1, 0.5)
        for k, keep in ((ankle, 0.0), (toe, 0.0), (heel, risen), (knee, bent)):
            line = ends[k][0] + way * (ends[k][1] - ends[k][0])
            out[swing, k] = line + keep * (points[swing, k] - line) + chance.normal(0, unrest, (len(swing), 2))
        kept[-1] = (t, foot, "shift")
    return out, kept
