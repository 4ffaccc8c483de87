"""Landings and weight changes of one dancer: peaks of the contact network's curves, each with its time, uncertainty and place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from motion.base.signals import running_median
from motion.base.types import Candidates, Floats, Interval, Landmarks, NotMeasured, Sealed
from motion.body.contact_network import Curves, curves
from motion.body.occlusion import covered_feet, hidden_pictures, in_sight
from motion.body.settings import BodySettings
from motion.body.settling import settled_times
from motion.body.weight_transfer import Crossing, crossings

_FEET = [[27, 29, 31], [28, 30, 32]]  # ankle, heel, toe of the left and the right foot
_HIPS = [23, 24]


def find_candidates(
    landmarks: Landmarks, dancer: int, size_px: tuple[int, int], weights: dict[str, Floats], settings: BodySettings
) -> Candidates | NotMeasured:
    """Everything that may be a landing or a weight change of one dancer.

    landmarks with legs mended; dancer: index 0..P-1; size_px: width and height of the picture; weights of the contact network.
    Short gaps are bridged; where a foot lies outside the picture nothing is told of it, and where it is covered hips and knees speak for
    it. Places are not yet known (NaN): see floor.placed.
    """
    rows: list[tuple[float, float, bool, bool, float, float, float]] = []
    seen: list[Interval] = []
    x = landmarks.image_px[:, dancer]
    covered = covered_feet(landmarks, dancer, settings)
    for run in runs_seen(landmarks.times_s, x, size_px, settings):
        seen.append((float(run.times_s[0]), float(run.times_s[-1])))
        leg = leg_px_of(run.times_s, run.points_px)
        hidden = run.outside | covered[run.pictures]
        for right in (False, True):
            found = curves(run.times_s, run.points_px, leg, right, weights, hidden)
            out = run.times_s[run.outside[:, int(right)]]
            there = [row for row in picked(found, settings) if not len(out) or np.abs(out - row[0]).min() > settings.outside_s]
            landings_s = np.array([row[0] for row in there])
            rests = settled_times(run.times_s, run.points_px, leg, landings_s, right, settings)
            rows += [
                (t, sure, right, False, high, weight, rest) for (t, sure, high, weight), rest in zip(there, rests, strict=True)
            ]
            read = zip(*peaks(found.times_s, found.shift, settings.least_shift), strict=True)
            read_shifts = [(float(t), float(min(s, 1.0))) for t, s in read]
            passed = crossings(run.times_s, run.points_px, leg, right, settings)
            rows += [(t, sigma_ms, right, True, s, 1.0, t) for t, s, sigma_ms in _shifted(read_shifts, passed, settings)]
    if not seen:
        return NotMeasured("steps", "the feet were never seen for long enough to time a landing")
    table = np.array(sorted(rows), dtype=np.float64).reshape(-1, 7)
    nowhere = np.full((len(table), 2), np.nan)
    unseen = hidden_pictures(landmarks, dancer, settings) | feet_outside(x, size_px).any(1)
    sight = in_sight(seen, landmarks.times_s, unseen, settings)
    times_s, sigma_ms, right_foot, shift, strength, weight, settled_s = table.T
    return Candidates(times_s, sigma_ms, right_foot > 0, shift > 0, strength, weight, nowhere, sight, settled_s)


@dataclass(frozen=True, eq=False)
class Run(Sealed):
    """A stretch in which a foot at least is seen. times_s (R,); pictures (R,): their indices; points_px (R, 33, 2) without NaN, short gaps
    bridged; outside (R, 2): where the left and the right foot lie outside the picture."""

    times_s: Floats
    pictures: NDArray[np.int64]
    points_px: Floats
    outside: NDArray[np.bool_]


def feet_outside(points_px: Floats, size_px: tuple[int, int]) -> NDArray[np.bool_]:
    """Where ankle, heel or toe of the left and the right foot lie beyond the picture's edge, or are NaN while the hips are there (F, 2);
    points_px (F, 33, 2)."""
    feet = points_px[:, _FEET]
    there = np.asarray(np.isfinite(points_px[:, _HIPS]).all((1, 2)))
    with np.errstate(invalid="ignore"):
        beyond = np.logical_or(feet <= 0, feet >= np.array(size_px)).any((2, 3))
    return np.logical_or(beyond, there[:, None] & np.isnan(feet).any((2, 3)))


def runs_seen(times_s: Floats, points_px: Floats, size_px: tuple[int, int], settings: BodySettings) -> list[Run]:
    """Stretches in which the dancer is followed and one foot at least is inside the picture; times_s (F,), points_px (F, 33, 2)."""
    outside = feet_outside(points_px, size_px)
    at = np.flatnonzero(~outside.all(1) & np.isfinite(points_px[:, : _FEET[0][0]]).all((1, 2)))
    if not len(at):
        return []
    out = []
    for part in np.split(at, np.flatnonzero(np.diff(times_s[at]) > settings.bridge_s) + 1):
        inside = np.arange(part[0], part[-1] + 1)
        if times_s[inside[-1]] - times_s[inside[0]] < settings.least_run_s:
            continue
        whole = np.stack([_bridged(times_s[inside], times_s[part], line) for line in points_px[part].reshape(len(part), -1).T], 1)
        away = np.stack([np.interp(times_s[inside], times_s[part], outside[part, k].astype(np.float64)) > 0 for k in (0, 1)], 1)
        out.append(Run(times_s[inside], inside, whole.reshape(len(inside), -1, 2), away))
    return out


def _bridged(at_s: Floats, times_s: Floats, line: Floats) -> Floats:
    """A coordinate's values at other times, from where it is known."""
    known = np.isfinite(line)
    return np.asarray(np.interp(at_s, times_s[known], line[known]) if known.any() else np.zeros(len(at_s)))


def picked(found: Curves, settings: BodySettings) -> list[tuple[float, float, float, float]]:
    """(time_s, sigma_ms, strength, weight) of one foot's landings."""
    at, high = peaks(found.times_s, found.landing, settings.least_landing)
    ahead, spread, weight = (np.interp(at, found.times_s, c) for c in (found.ahead_s, found.spread_s, found.weight))
    times_s = at + ahead
    sigma_ms = np.hypot(settings.spread_sigmas * 1000 * spread, settings.landing_floor_ms)
    kept: list[int] = []
    for i in np.argsort(-high, kind="stable"):
        if all(abs(times_s[i] - times_s[k]) > settings.landing_apart_s for k in kept):
            kept.append(int(i))
    return [(float(times_s[i]), float(sigma_ms[i]), strength_of(float(high[i]), settings), float(weight[i])) for i in kept]


def strength_of(high: float, settings: BodySettings) -> float:
    """How probably a landing is where the network's curve is so high: 0..1."""
    heights, shares = zip(*settings.landing_strength, strict=True)
    return float(np.interp(high, heights, shares))


def _shifted(
    read: list[tuple[float, float]], passed: list[Crossing], settings: BodySettings
) -> list[tuple[float, float, float]]:  # fmt: skip
    """(time_s, strength, sigma_ms) of one foot's weight shifts: what the network reads and what the hips do, both together surer than
    one. Where both are, the hips tell the time: theirs is mechanics, and sharper."""
    out = []
    told = set()
    faint, plain = settings.shift_strength
    for c in passed:
        if c.far < settings.shift_least_far or c.fastest > settings.shift_fastest:
            continue
        near = {k for k, (t, _) in enumerate(read) if abs(t - c.time_s) <= settings.shift_one_s}
        told |= near
        doubt = 1 - (plain if c.far >= settings.shift_plain_far else faint)
        doubt *= 1 - max((read[k][1] for k in near), default=0.0)
        out.append((c.time_s, 1 - doubt, settings.crossing_sigma_ms))
    return out + [(t, s, settings.shift_sigma_ms) for k, (t, s) in enumerate(read) if k not in told]


def leg_px_of(times_s: Floats, points_px: Floats) -> Floats:
    """Length of the leg as it appears (F,), px: half the body's height, the median over a second either side.

    times_s (F,); points_px (F, 33, 2) without NaN. Height from the face's landmarks to the lower ankle, times 1.12 (crown, sole).
    """
    height = (points_px[:, [27, 28], 1].max(1) - points_px[:, :11, 1].mean(1)) * 1.12
    return 0.5 * running_median(times_s, height, 1.0)


def peaks(times_s: Floats, curve: Floats, least: float) -> tuple[Floats, Floats]:
    """Peaks of a curve (T,) that reach `least`: their times, placed between samples by a parabola, and heights, both (N,)."""
    inner = np.arange(1, len(curve) - 1)
    at = inner[(curve[inner] >= least) & (curve[inner] > curve[inner - 1]) & (curve[inner] >= curve[inner + 1])]
    before, here, after = curve[at - 1], curve[at], curve[at + 1]
    bend = before - 2 * here + after
    shift = np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1.0), 0.0)
    step = np.median(np.diff(times_s)) if len(times_s) > 1 else 0.0
    return times_s[at] + shift * step, here - 0.25 * (before - after) * shift
