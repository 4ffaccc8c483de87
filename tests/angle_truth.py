"""Joint angles that are known, read through the pose model's own errors, at any number of pictures a second.

Drawn dancers: landmarks as the pose model gave them in a stored review, the true joints beside the clip. Captured people: true joints in
space, seen by a camera put there by sums, with errors cut out of drawn dancers' reviews, each side's as the nearer or the farther leg.
Fewer pictures are pictures left out. More, and others, are made: the joints' way is smooth, and the model's errors between two pictures
wander as a walk by chance between their two ends: their likeness falls off by an eighth to a quarter from one picture to the next, and
hardly any of them is new in every picture.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from true_clips import PARTS, TrueClip, true_flexion_deg

from motion.base.types import JOINTS, Floats, Landmarks
from motion.body.leg_swaps import fix_leg_swaps
from motion.body.yaw import view_of
from motion.review.settings import SETTINGS

#: Landmark by landmark, which is its like on the other side.
MIRROR = (0, 4, 5, 6, 1, 2, 3, 8, 7, 10, 9, *(k + 1 if k % 2 else k - 1 for k in range(11, 33)))
SIDEWAYS_DEG = 50.0  # from the side view, within which errors are cut out: angles are read there
LEAST_S = 1.5  # of errors in one piece
JOIN_S = 0.3  # either way of a join between two pieces, which no model would make
JUMP_PX = 30.0  # between two pictures: what goes further is a leg taken for the other, and no wandering


@dataclass(frozen=True, eq=False)
class Known:
    """One dancer: landmarks of that dancer alone; flexion_deg (F, 6) against standing, at their times; usable (F,)."""

    name: str
    marks: Landmarks
    flexion_deg: Floats
    usable: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


def truths(path: Path) -> tuple[Floats, list[dict[str, Floats]]]:
    """Times (F,) and of every dancer the joints by name (F, 5): metres in space, pixels in the picture."""
    with gzip.open(path, "rt", encoding="utf-8") as file:
        told: dict[str, Any] = json.load(file)
    frames = told["frames"]
    return np.array(told["frame_times"]), [
        {name: np.array([row[k][name] for row in frames], float) for name in frames[0][k]} for k in range(len(told["dancers"]))
    ]


def flexion_of(times_s: Floats, joints: dict[str, Floats]) -> Floats:
    """True flexion (F, 6) against standing still, or against the first second."""
    clip = TrueClip(times_s, {k: v[:, :3] for k, v in joints.items()}, {}, {})
    found = true_flexion_deg(clip)
    return np.stack([found[side, joint] for side, joint in JOINTS], axis=1)


def drawn(review: Path, truth: Path) -> list[tuple[Known, Floats]]:
    """Every dancer of a stored review with the true points (F, 33, 2) in the picture, NaN where no joint belongs to a landmark."""
    with np.load(review / "landmarks.npz", allow_pickle=False) as kept:
        marks = Landmarks(kept["times_s"], kept["ids"], kept["image_px"].astype(float), kept["visibility"].astype(float))
    times, dancers = truths(truth)
    at = np.clip(np.searchsorted(times, marks.times_s - 1e-3), 0, len(times) - 1)
    hips = [((d["hipL"] + d["hipR"]) / 2)[at, 3:] for d in dancers]
    out = []
    for p in range(len(marks.ids)):
        middle = marks.image_px[:, p, [23, 24]].mean(1)
        k = int(np.argmin([np.nanmedian(np.hypot(*(middle - h).T)) for h in hips]))
        one = Landmarks(marks.times_s, marks.ids[[p]], marks.image_px[:, [p]], marks.visibility[:, [p]])
        points = np.full((len(at), 33, 2), np.nan)
        for n, name in PARTS.items():
            points[:, n] = dancers[k][name][at, 3:]
        flexion = flexion_of(times, dancers[k])[at]
        out.append((Known(f"{truth.name.split('.')[0]} {p + 1}", one, flexion, np.ones(len(at), bool)), points))
    return out


def at_rate(known: Known, points_px: Floats, rate_hz: float, seed: int = 1) -> Known:
    """The same dancer in so many pictures a second; points_px (F, 33, 2) where the joints truly are, NaN where unknown."""
    from scipy.interpolate import CubicSpline

    marks, times = known.marks, known.marks.times_s
    every = round(1.0 / (rate_hz * float(np.median(np.diff(times)))))
    if every and abs(every * rate_hz * float(np.median(np.diff(times))) - 1.0) < 0.01:
        kept = slice(None, None, every)
        fewer = Landmarks(times[kept], marks.ids, marks.image_px[kept], marks.visibility[kept])
        return Known(known.name, fewer, known.flexion_deg[kept], known.usable[kept])
    new = np.arange(times[0], times[-1] - 1e-6, 1 / rate_hz)
    told = np.isfinite(points_px).all((0, 2))
    true, true_new = np.zeros_like(points_px), np.zeros((len(new), 33, 2))
    true[:, told], true_new[:, told] = points_px[:, told], CubicSpline(times, points_px[:, told])(new)
    error = marks.image_px[:, 0] - true
    k = np.clip(np.searchsorted(times, new, side="right") - 1, 0, len(times) - 2)
    share = ((new - times[k]) / (times[k + 1] - times[k]))[:, None, None]
    # a walk by chance pinned at both ends: its spread in between follows from how far it usually goes from one picture to the next
    far = np.nan_to_num(np.minimum(np.abs(np.diff(error, axis=0)), JUMP_PX)) ** 2
    total = np.concatenate((np.zeros((1, 33, 2)), np.cumsum(far, axis=0)))
    low, high = np.maximum(np.arange(len(far)) - 4, 0), np.minimum(np.arange(len(far)) + 5, len(far))
    usual = np.sqrt((total[high] - total[low]) / (high - low)[:, None, None])[k]
    chance = np.random.default_rng(seed).normal(size=(len(new), 33, 2))
    image = true_new + error[k] * (1 - share) + error[k + 1] * share + chance * usual * np.sqrt(share * (1 - share))
    seen = marks.visibility[k, 0] * (1 - share[..., 0]) + marks.visibility[k + 1, 0] * share[..., 0]
    flexion = CubicSpline(times, known.flexion_deg)(new)
    return Known(known.name, Landmarks(new, marks.ids, image[:, None], seen[:, None]), flexion, known.usable[k])


def error_pieces(dancers: Sequence[tuple[Known, Floats]]) -> list[tuple[Floats, Floats]]:
    """The model's errors (n, 33, 2), torso lengths, and visibility (n, 33), in pieces seen from the side; as if the right side were the
    nearer one, mirrored where it was not."""
    pieces = []
    for known, points in dancers:
        marks = fix_leg_swaps(known.marks, SETTINGS.body)
        image, visibility, view = marks.image_px[:, 0], marks.visibility[:, 0], view_of(marks, 0, settings=SETTINGS.angles).view_deg
        torso = np.nanmedian(np.hypot(*(image[:, [11, 12]].mean(1) - image[:, [23, 24]].mean(1)).T))
        error = np.nan_to_num((image - points) / torso)
        error[:, 0] = 0.0  # what is drawn for the head is no nose
        side = np.sign(np.sin(np.radians(view)))
        fair = (np.abs(np.abs(view) - 90.0) <= SIDEWAYS_DEG) & np.isfinite(image).all((1, 2))
        state = np.where(fair, side, 0.0)
        edges = np.concatenate(([0], np.flatnonzero(np.diff(state)) + 1, [len(state)]))
        for a, b in pairwise(edges.tolist()):
            if state[a] and marks.times_s[b - 1] - marks.times_s[a] >= LEAST_S:
                e, v = error[a:b], visibility[a:b]
                pieces.append((e, v) if state[a] > 0 else (e[:, MIRROR] * [-1.0, 1.0], v[:, MIRROR]))
    return pieces


def captured(path: Path, camera_deg: float, pieces: Sequence[tuple[Floats, Floats]], seed: int = 7) -> tuple[Known, Floats]:
    """One captured motion at 30 pictures a second, seen from 6.5 m away by a camera at chest height, with errors from `pieces`; and where
    the joints truly are in the picture. What zero is, nobody knows: compare about each joint's own middle."""
    with np.load(path, allow_pickle=False) as kept:
        space, names, rate = kept["points_m"].astype(float), [str(n) for n in kept["names"]], float(kept["rate_hz"])
    short = {"left": "L", "right": "R"}
    joints = {"head": space[:, names.index("nose")]} | {
        part.replace("foot_index", "toe") + short[side]: space[:, k]
        for k, (side, part) in ((k, n.split("_", 1)) for k, n in enumerate(names) if "_" in n)
    }
    times = np.arange(len(space)) / rate
    flexion = flexion_of(times, joints)
    points = np.repeat(joints["head"][:, None], 33, axis=1)
    across = joints["shoulderR"] - joints["shoulderL"]
    toes = (joints["toeL"] + joints["toeR"] - joints["heelL"] - joints["heelR"]) / 2
    ahead = np.cross(across, [0.0, 0.0, -1.0])
    ahead *= np.sign((ahead * toes).sum(1, keepdims=True))
    points[:, 7], points[:, 8] = (joints["head"] - 0.3 * ahead + s * 0.2 * across for s in (-1, 1))
    hands = {k: "wristL" if k % 2 else "wristR" for k in range(17, 23)}
    for k, name in ({n: p for n, p in PARTS.items() if n} | hands).items():
        points[:, k] = joints[name]
    turn = np.radians(camera_deg)
    look, right = np.array([np.cos(turn), np.sin(turn), 0.0]), np.array([np.sin(turn), -np.cos(turn), 0.0])
    middle = np.median(points[:, [23, 24]].mean(1), axis=0)
    camera = middle - 6.5 * look
    camera[2] = 1.2
    away = points - camera
    flat = np.stack([away @ right, -away[..., 2]], -1) / (away @ look)[..., None] * 1600.0 + [960.0, 540.0]
    new = np.arange(0, times[-1], 1 / 30)
    flat = np.stack([np.interp(new, times, v) for v in flat.reshape(len(times), -1).T], 1).reshape(-1, 33, 2)
    flexion = np.stack([np.interp(new, times, v) for v in flexion.T], 1)
    torso = np.median(np.hypot(*(flat[:, [11, 12]].mean(1) - flat[:, [23, 24]].mean(1)).T))
    clean = Landmarks(new, np.array([1]), flat[:, None], np.full((len(new), 1, 33), 0.95))
    side = np.sign(np.sin(np.radians(view_of(clean, 0, settings=SETTINGS.angles).view_deg)))
    error, visibility, usable = np.zeros_like(flat), np.full((len(new), 33), 0.95), np.ones(len(new), bool)
    chance, at = np.random.default_rng(seed), 0
    while at < len(new):
        e, v = pieces[int(chance.integers(len(pieces)))]
        first = int(chance.integers(max(1, len(e) - 60)))
        turned = np.flatnonzero(side[at:] != side[at])
        n = min(len(e) - first, len(new) - at, int(turned[0]) if len(turned) else len(new))
        e, v = e[first : first + n], v[first : first + n]
        error[at : at + n], visibility[at : at + n] = (e, v) if side[at] > 0 else (e[:, MIRROR] * [-1.0, 1.0], v[:, MIRROR])
        usable[np.abs(new - new[at]) < JOIN_S] = False
        at += n
    marks = Landmarks(new, np.array([1]), (flat + error * torso)[:, None], visibility[:, None])
    return Known(f"{path.stem} {camera_deg:.0f}", marks, flexion, usable), flat
