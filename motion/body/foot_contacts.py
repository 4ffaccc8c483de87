"""Landings and weight changes of one dancer: peaks of the contact network's curves, each with its time, uncertainty and place."""

from __future__ import annotations

import numpy as np

from motion.base.signals import running_median
from motion.base.types import Candidates, Floats, Interval, Landmarks, NotMeasured
from motion.body.contact_network import Curves, curves
from motion.body.occlusion import hidden_pictures, in_sight
from motion.body.settings import BodySettings
from motion.body.weight_transfer import Crossing, crossings

_FOOT = {True: [28, 30, 32], False: [27, 29, 31]}  # ankle, heel, toe


def find_candidates(
    landmarks: Landmarks, dancer: int, size_px: tuple[int, int], weights: dict[str, Floats], settings: BodySettings
) -> Candidates | NotMeasured:
    """Everything that may be a landing or a weight change of one dancer.

    landmarks with legs mended; dancer: index 0..P-1; size_px: width and height of the picture; weights of the contact network.
    Short gaps are bridged; stretches in which the feet were not seen, or lie outside the picture, give nothing. Places are not yet
    known (NaN): see floor.placed.
    """
    rows: list[tuple[float, float, bool, bool, float, float]] = []
    seen: list[Interval] = []
    for times_s, points in runs_seen(landmarks.times_s, landmarks.image_px[:, dancer], size_px, settings):
        seen.append((float(times_s[0]), float(times_s[-1])))
        leg = leg_px_of(times_s, points)
        blur = float(np.clip(_unrest(points, leg) / settings.usual_unrest, *settings.unrest_reach))
        for right in (False, True):
            found = curves(times_s, points, leg, right, weights)
            landings, read = _picked(found, settings)
            for t, strength, weight in landings:
                rows.append((t, blur * _sigma_ms(strength, settings), right, False, strength, weight))
            for t, strength, sigma_ms in _shifted(read, crossings(times_s, points, leg, right, settings), settings):
                rows.append((t, blur * sigma_ms, right, True, strength, 1.0))
    if not seen:
        return NotMeasured("steps", "the feet were never seen for long enough to time a landing")
    table = np.array(sorted(rows), dtype=np.float64).reshape(-1, 6)
    nowhere = np.full((len(table), 2), np.nan)
    sight = in_sight(seen, landmarks.times_s, hidden_pictures(landmarks, dancer, settings), settings)
    return Candidates(table[:, 0], table[:, 1], table[:, 2] > 0, table[:, 3] > 0, table[:, 4], table[:, 5], nowhere, sight)


def runs_seen(times_s: Floats, points_px: Floats, size_px: tuple[int, int], settings: BodySettings) -> list[tuple[Floats, Floats]]:
    """Stretches in which the feet are seen inside the picture: (times (R,), points (R, 33, 2) without NaN), short gaps bridged."""
    with np.errstate(invalid="ignore"):
        feet = points_px[:, _FOOT[True] + _FOOT[False]]
        good = ((feet > 0) & (feet < np.array(size_px))).all((1, 2))
    at = np.flatnonzero(good)
    if not len(at):
        return []
    out = []
    for part in np.split(at, np.flatnonzero(np.diff(times_s[at]) > settings.bridge_s) + 1):
        inside = np.arange(part[0], part[-1] + 1)
        if times_s[inside[-1]] - times_s[inside[0]] < settings.least_run_s:
            continue
        flat = points_px[part].reshape(len(part), -1)
        whole = np.stack([np.interp(times_s[inside], times_s[part], flat[:, k]) for k in range(flat.shape[1])], 1)
        out.append((times_s[inside], whole.reshape(len(inside), -1, 2)))
    return out


def _picked(found: Curves, settings: BodySettings) -> tuple[list[tuple[float, float, float]], list[tuple[float, float]]]:
    """(time_s, strength, weight) of one foot's landings, and (time_s, strength) of weight that the network sees come without one."""
    at, high = peaks(found.times_s, found.landing, settings.least_landing)
    kept: list[tuple[float, float]] = []
    for t, s in sorted(zip(at, high, strict=True), key=lambda pair: -pair[1]):
        if all(abs(t - other) > settings.landing_apart_s for other, _ in kept):
            kept.append((float(t), float(min(s, 1.0))))
    late_s = settings.landing_late_ms / 1000
    landings = [(t - late_s, s, float(np.interp(t, found.times_s, found.weight))) for t, s in kept]
    shifts = zip(*peaks(found.times_s, found.shift, settings.least_shift), strict=True)
    return landings, [(float(t), float(min(s, 1.0))) for t, s in shifts]


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


def _unrest(points: Floats, leg: Floats) -> float:
    """How restless the feet's landmarks are, leg lengths: the median of how far each strays from midway between its neighbours in
    time. Most of the time most feet stand, so this is the reading's own noise: dim light, blur, small or half hidden feet."""
    strays = np.abs(np.diff(points[:, _FOOT[True] + _FOOT[False]], 2, axis=0)).sum(2) / leg[1:-1, None]
    return float(np.median(strays))


def _sigma_ms(strength: float, settings: BodySettings) -> float:
    """Standard deviation of a time, from how plain the landing was: a straight line in strength, fitted on held-out dances."""
    return settings.plain_sigma_ms + settings.faint_sigma_ms * (1 - strength)


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
