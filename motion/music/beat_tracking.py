"""A pulse in an onset curve: the likeliest path of beats whose spacing changes slowly, then each beat moved onto its own beginning.

The model is the bar pointer's beat (Krebs, Boeck and Widmer, ISMIR 2015): the first sixteenth of a beat shows an onset, the rest
does not; the period changes only at a beat. Between beats nothing is decided, so the search steps from beat to beat over all
periods (a segment model), which gives the same path as the state-by-state search at a fraction of the work.
"""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats, Ints
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import MusicSettings


def activation(strength: Floats, settings: MusicSettings) -> Floats:
    """The curve as a probability of an onset (N,), 0.01 .. 0.99: divided by its own loudest neighbours."""
    from scipy.ndimage import maximum_filter1d, uniform_filter1d

    width = int(settings.loud_neighbours_s / settings.hop_s)
    top = uniform_filter1d(maximum_filter1d(strength, width), width)
    top = np.maximum(top, settings.least_of_loudest * float(np.percentile(strength, 99)) + 1e-12)
    return np.asarray(np.clip(strength / top, 0.01, 0.99))


def decode(likely: Floats, low_bpm: float, high_bpm: float, prior_bpm: float, octaves: float, settings: MusicSettings) -> Ints:
    """Indices (B,) of the beats in the likeliest path through likely (N,), an onset probability every hop_s.

    Periods lie between those of low_bpm and high_bpm; a log-normal prior about prior_bpm with a spread in octaves acts once a beat.
    Neighbouring periods cost tempo_stiffness times their relative difference.
    """
    periods = np.arange(int(np.ceil(60 / high_bpm / settings.hop_s)), int(60 / low_bpm / settings.hop_s) + 1)
    longest, n = int(periods[-1]), len(likely)
    zone = np.maximum(1, np.round(periods / 32)).astype(int)
    # Before and after the sound there is no evidence either way.
    pad = longest + int(zone[-1])
    inside = np.concatenate([np.zeros(pad), np.log(likely), np.zeros(pad)])
    outside = np.concatenate([np.zeros(pad), np.log((1 - likely) / 15), np.zeros(pad)])
    beat_sum, rest_sum = np.concatenate([[0.0], np.cumsum(inside)]), np.concatenate([[0.0], np.cumsum(outside)])
    change = -settings.tempo_stiffness * np.abs(periods[None, :] / periods[:, None] - 1)
    prior = -0.5 * (np.log2(60 / (periods * settings.hop_s) / prior_bpm) / octaves) ** 2
    total = len(inside)
    # Only the scores of the last `longest` moments are looked back on.
    ring = longest + 1
    score = np.full((ring, len(periods)), -np.inf)
    arrived = np.full((total, len(periods)), -np.inf)
    first = int(zone[-1])
    score[np.arange(first, first + longest) % ring] = prior
    last = total - int(zone[-1]) - 1
    index = np.arange(len(periods))
    # No beat follows another within the shortest period: as many moments at once do not depend on each other.
    for block in np.split(np.arange(first, last), np.arange(int(periods[0]), last - first, int(periods[0]))):
        now = block[:, None]
        at = np.maximum(now - periods, first)
        lit = beat_sum[at + zone] - beat_sum[at - zone] + rest_sum[now - zone] - rest_sum[at + zone]
        arrived[block] = np.where(now - periods >= first, score[at % ring, index] + lit, -np.inf)
        free = block[block >= first + longest]
        score[free % ring] = (arrived[free, :, None] + change).max(axis=1) + prior
    row, k = divmod(int(np.argmax(arrived[pad + n : last])), len(periods))
    t = row + pad + n
    path: list[int] = []
    while True:
        t -= int(periods[k])
        path.append(t - pad)
        if t < first + longest:
            break
        k = int(np.argmax(arrived[t] + change[:, k]))
    beats = np.array(path[::-1], dtype=np.int64)
    return beats[(beats >= 0) & (beats < n)]


def one_level(times_s: Floats) -> Floats:
    """Beats (B',) on the level that most of them have: where the path went over to twice or half the tempo, as it may between bare
    ticks and music, beats are put in evenly or left out, walking both ways from the longest stretch at the usual gap."""
    gaps = np.diff(times_s)
    if len(gaps) < 3:
        return times_s
    usual = float(np.median(gaps))
    steady = np.concatenate([[False], (gaps > 0.7 * usual) & (gaps < 1.4 * usual), [False]]).astype(int)
    starts, ends = np.flatnonzero(np.diff(steady) == 1), np.flatnonzero(np.diff(steady) == -1)
    longest = int(np.argmax(ends - starts))
    middle = int(starts[longest] + ends[longest]) // 2
    ahead = _walk(times_s[middle:], usual)
    behind = -_walk(-times_s[middle::-1], usual)
    return np.concatenate([behind[:0:-1], ahead])


def _walk(times_s: Floats, gap_s: float) -> Floats:
    """Rising times from the first on, thinned or filled to a gap that may change slowly."""
    kept = [float(times_s[0])]
    for t in times_s[1:]:
        gap = float(t) - kept[-1]
        if gap < 0.7 * gap_s:
            continue
        pieces = max(1, round(gap / gap_s))
        kept += [kept[-1] + gap * (k + 1) / pieces for k in range(pieces)]
        gap_s = gap / pieces
    return np.array(kept)


def on_rise(curve: OnsetCurve, times_s: Floats, reach_s: float) -> tuple[Floats, Floats]:
    """Times (B,) moved to the strongest beginning within reach_s, and how strong it is (B,), both from the fine curve.

    The curve is tapered towards the ends of the reach, so that a neighbour does not win over a beginning well inside; within the
    inner half it is not, because a slope there would pull early. A beat without anything near stays.
    """
    reach = round(reach_s / curve.fine_step_s)
    centre = np.round((times_s - curve.fine_start_s) / curve.fine_step_s).astype(int)
    fine = np.concatenate([np.zeros(reach + 1), curve.fine, np.zeros(reach + 1)])
    at = np.clip(centre, 0, len(curve.fine) - 1)[:, None] + np.arange(2 * reach + 1)[None, :] + 1
    away = np.abs(np.arange(-reach, reach + 1)) / reach
    values = fine[at] * np.minimum(1.0, 2 * (1 - away) + 0.02)
    best = np.argmax(values, axis=1)
    peak = fine[at[np.arange(len(best)), best]]
    moved = curve.fine_start_s + (np.clip(centre, 0, len(curve.fine) - 1) + best - reach) * curve.fine_step_s
    return np.where(peak > 0, moved, times_s), peak


def smooth(times_s: Floats, trust: Floats) -> Floats:
    """Beats (B,) on a slow curve through themselves: as stiff as their own scatter allows.

    A smoother with second differences (Whittaker 1923), i.e. a tempo that wanders at random, whose stiffness is chosen by
    generalised cross-validation (Craven and Wahba 1979): a straight line for a machine, following for a band. trust (B,) >= 0
    weighs the beats; far ones are weighed down in turn (Cauchy weights), so that single slips do not pull.
    """
    from scipy.linalg import solveh_banded

    n = len(times_s)
    if n < 6:
        return times_s
    line = np.polynomial.Polynomial.fit(np.arange(n), times_s, 1)(np.arange(n))
    y = times_s - line
    rows = np.zeros((3, n))
    for offset, value in ((0, 1.0), (1, -2.0), (2, 1.0)):
        for other, weight in ((0, 1.0), (1, -2.0), (2, 1.0)):
            if other >= offset:
                rows[2 - (other - offset), other : n - 2 + other] += value * weight
    eigen = (2 - 2 * np.cos(np.pi * np.arange(n) / n)) ** 2
    robust = np.ones(n)
    fitted = y
    for _ in range(6):
        weights = np.maximum(1e-3, trust * robust)
        lowest = np.inf
        for stiffness in 10.0 ** np.arange(-1, 7.01, 0.5):
            banded = stiffness * rows
            banded[2] += weights
            z = solveh_banded(banded, weights * y)
            freedom = float(np.sum(1 / (1 + stiffness / weights.mean() * eigen)))
            if freedom > 0.5 * n:
                continue
            gcv = float(np.mean(weights * (y - z) ** 2)) / (1 - freedom / n) ** 2
            if gcv < lowest:
                lowest, fitted = gcv, z
        spread = 1.4826 * float(np.median(np.abs(y - fitted))) + 0.0005
        robust = 1 / (1 + ((y - fitted) / (2.4 * spread)) ** 2)
    return np.asarray(fitted + line)
