"""Which of several pulses is the beat: the one found, every second of them, twice as many, or the ones between.

Every candidate is described by how its beats sound against the places between them, band by band, and scored by a weighted sum;
a softmax turns the scores into probabilities. The weights were learned (conditional logit, ridge 5) on generated music of thirteen
styles with other seeds than those it is measured on; tests/bench/level_fit.py learns them again.
"""

from __future__ import annotations

import numpy as np

from motion.data import Floats
from motion.music.onsets import OnsetCurve
from motion.settings import MusicSettings

NAMES = ("same", "off", "half", "third", "double")
#: In the order of describe.
WEIGHTS = np.array([
    0.30, -0.11, -0.44, 0.38, 0.16, 0.14, 0.05, -0.65, 0.51, 0.15, -0.26, 0.33, 0.64, 0.07, 0.24,
    -1.36, 1.14, -0.48, 1.05, -0.02, 0.17, -1.15, -0.04,
])  # fmt: skip


def candidates(beats_s: Floats, settings: MusicSettings) -> list[tuple[str, Floats]]:
    """(name, times (B',)) of every pulse that beats_s (B,) may stand for, within the allowed tempi. The first is beats_s itself."""
    middle = (beats_s[1:] + beats_s[:-1]) / 2
    found = [("same", beats_s), ("off", middle), ("half", beats_s[::2]), ("half", beats_s[1::2])]
    found += [("third", beats_s[k::3]) for k in range(3)] + [("double", np.sort(np.concatenate([beats_s, middle])))]
    return [found[0]] + [
        (name, times)
        for name, times in found[1:]
        if len(times) > 4 and settings.lowest_bpm <= 60 / float(np.median(np.diff(times))) <= settings.highest_bpm
    ]


def describe(curve: OnsetCurve, name: str, times_s: Floats, settings: MusicSettings) -> Floats:
    """Features (23,) of one candidate: per band (5 each) beats against middles, even against odd beats, middles against quarters,
    all as log ratios; the squared distance of the tempo from the usual one in octaves; the first two ratios again for the
    opening alone, where count-in ticks show the beat bare; and which candidate it is (5)."""
    from scipy.ndimage import maximum_filter1d

    near = 2 * round(settings.near_s / settings.hop_s) + 1
    flux = maximum_filter1d(curve.bands.astype(float), near, axis=0)

    def heard(at_s: Floats) -> Floats:
        return np.asarray(flux[np.clip(np.round((at_s - curve.times_s[0]) / settings.hop_s).astype(int), 0, len(flux) - 1)])

    floor = 0.02 * flux.mean(axis=0) + 1e-6
    gaps = np.diff(times_s)
    on, first, middle, third = (heard(times_s[:-1] + part * gaps).mean(axis=0) + floor for part in (0.0, 0.25, 0.5, 0.75))
    every = heard(times_s) + floor
    sway = np.log(every[::2].mean(axis=0) / every[1::2].mean(axis=0))
    opening = float(np.log(_sum(heard(times_s[:4]), floor) / _sum(heard(times_s[:4] + 0.5 * gaps[:4]), floor)))
    uneven = float(np.log(_sum(every[:8:2], floor) / _sum(every[1:8:2], floor)))
    octave = np.log2(60 / float(np.median(gaps)) / settings.prior_bpm)
    return np.concatenate([
        np.clip(np.log(on / middle), -2, 2),
        np.clip(np.abs(sway), 0, 2),
        np.clip(np.log(middle / np.sqrt(first * third)), -2, 2),
        [octave**2],
        [np.clip(opening, -2, 2), np.clip(abs(uneven), 0, 2)],
        [float(name == n) for n in NAMES],
    ])  # fmt: skip


def _sum(heard: Floats, floor: Floats) -> float:
    """Mean strength over beats, all bands together."""
    return float(np.sum(heard.mean(axis=0) + floor))


def chances(curve: OnsetCurve, pulses: list[tuple[str, Floats]], settings: MusicSettings) -> Floats:
    """Probability (len(pulses),) of each candidate being the beat."""
    scores = np.array([describe(curve, name, times, settings) @ WEIGHTS for name, times in pulses])
    raised = np.exp(scores - scores.max())
    return np.asarray(raised / raised.sum())
