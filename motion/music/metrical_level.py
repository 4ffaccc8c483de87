"""Which of several pulses is the beat: the one found, every second of them, twice as many, or the ones between.

Every candidate is scored by two things. One is how its beats sound against the places between them, band by band. The other is
whether what happens between them makes a bar: where in a bar of four or three bass drum, snare, cymbals and changes of harmony
lie is held against a few typical bars, begun at every beat, and the likeliest beginning counts. That is what tells a beat from
the place half a beat away when the bass drum plays more between the beats than on them. A softmax turns the scores into
probabilities. The weights and typical bars (level.npz) were learned (conditional logit, the bar and its beginning summed out,
ridge) on about 1,180 pieces whose beats are known: 572 of made music, 516 from played patterns, the others claps, a drum and counting
aloud. tests/bench/level_fit.py learns in the same way from 794 such pieces; its weights are similar, not the same (DEVELOPERS.md).
"""

from __future__ import annotations

from importlib import resources

import numpy as np

from motion.base.types import Floats
from motion.music.metre import beat_colours
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import MusicSettings

NAMES = ("same", "off", "half", "third", "double", "off third")
#: Twelfths of a beat at which the sound is looked at, and which of them are taken together (the strongest counts): the beat, a
#: quarter, a third, the half (straight to swung), and the last two quarters of swung and straight sixteenths.
TWELFTHS = 12
PLACES = ((0,), (3,), (4,), (6, 7, 8), (9,), (10,))


def load_weights() -> dict[str, Floats]:
    """plain (25,) for `describe`; fours (K, 124) and threes (L, 93), typical bars for `bars`; usual (K + L,) how usual each is."""
    with resources.files("motion.music").joinpath("level.npz").open("rb") as file, np.load(file) as stored:
        return {name: np.asarray(stored[name], dtype=float) for name in stored.files}


def candidates(beats_s: Floats, settings: MusicSettings) -> list[tuple[str, Floats]]:
    """(name, times (B',)) of every pulse that beats_s (B,) may stand for, within the allowed tempi. The first is beats_s itself."""
    gaps = np.diff(beats_s)
    middle = beats_s[:-1] + gaps / 2
    found = [("same", beats_s), ("off", middle), ("half", beats_s[::2]), ("half", beats_s[1::2])]
    found += [("third", beats_s[k::3]) for k in range(3)] + [("double", np.sort(np.concatenate([beats_s, middle])))]
    found += [("off third", beats_s[:-1] + gaps * part) for part in (1 / 3, 2 / 3)]
    return [found[0]] + [
        (name, times)
        for name, times in found[1:]
        if len(times) >= settings.fewest_beats
        and settings.lowest_bpm <= 60 / float(np.median(np.diff(times))) <= settings.highest_bpm
    ]


def chances(curve: OnsetCurve, pulses: list[tuple[str, Floats]], settings: MusicSettings) -> Floats:
    """Probability (len(pulses),) of each candidate being the beat."""
    weights, flux = load_weights(), flux_near(curve, settings)
    scores = np.array([score(*features(curve, flux, name, times, settings), weights) for name, times in pulses])
    raised = np.exp(scores - scores.max())
    return np.asarray(raised / raised.sum())


def score(plain: Floats, fours: Floats, threes: Floats, weights: dict[str, Floats]) -> float:
    """Log weight of one candidate from its `features`: the plain part, and the bars' likeliness with kind and beginning summed out."""
    k = len(weights["fours"])
    fits = [
        fours @ weights["fours"].T + weights["usual"][:k] - np.log(4),
        threes @ weights["threes"].T + weights["usual"][k:] - np.log(3),
    ]
    return float(plain @ weights["plain"] + np.logaddexp.reduce(np.concatenate([fit.ravel() for fit in fits])))


def features(curve: OnsetCurve, flux: Floats, name: str, times_s: Floats, settings: MusicSettings) -> tuple[Floats, Floats, Floats]:
    """`describe` (25,) of a candidate, and its `bars` of four (4, 124) and of three (3, 93)."""
    heard, change = between(curve, flux, times_s, settings), changes(curve, times_s)
    return describe(curve, flux, name, times_s, settings), bars(heard, change, 4), bars(heard, change, 3)


def flux_near(curve: OnsetCurve, settings: MusicSettings) -> Floats:
    """The bands of the curve (N, Q), each value the strongest within settings.near_s: players are not machines."""
    from scipy.ndimage import maximum_filter1d

    return np.asarray(maximum_filter1d(curve.bands.astype(float), 2 * round(settings.near_s / settings.hop_s) + 1, axis=0))


def _heard(curve: OnsetCurve, flux: Floats, at_s: Floats, settings: MusicSettings) -> Floats:
    return np.asarray(flux[np.clip(np.round((at_s - curve.times_s[0]) / settings.hop_s).astype(int), 0, len(flux) - 1)])


def between(curve: OnsetCurve, flux: Floats, times_s: Floats, settings: MusicSettings) -> Floats:
    """Flux (B - 1, 12, Q) at every twelfth of each beat."""
    at_s = times_s[:-1, None] + np.arange(TWELFTHS) / TWELFTHS * np.diff(times_s)[:, None]
    return _heard(curve, flux, at_s, settings)


def changes(curve: OnsetCurve, times_s: Floats) -> Floats:
    """How far the colour of each beat (B,) in dB, below about 650 Hz, lies from that of the beat before: a new harmony."""
    colours = beat_colours(curve, times_s)[:, :12]
    return np.concatenate([[0.0], np.abs(np.diff(colours, axis=0)).mean(axis=1)])


def bars(heard: Floats, change: Floats, beats: int) -> Floats:
    """Bars of so many beats, begun at each of them (beats, beats * (6 Q + 1)): log of the mean flux at each place of the bar against the
    mean of its band, then log of the mean change of colour at each beat of the bar."""
    places = np.stack([heard[:, group, :].max(axis=1) for group in PLACES], axis=1)
    usual, moved = heard.mean(axis=(0, 1)) + 1e-6, change.mean() + 1e-6
    sound = np.log(np.stack([places[b::beats].mean(axis=0) for b in range(beats)]) / usual + 0.1).reshape(beats, -1)
    harmony = np.log(np.array([change[b::beats].mean() for b in range(beats)]) / moved + 0.2)
    return np.stack([np.concatenate([np.roll(sound, -r, axis=0).ravel(), np.roll(harmony, -r)]) for r in range(beats)])


def describe(curve: OnsetCurve, flux: Floats, name: str, times_s: Floats, settings: MusicSettings) -> Floats:
    """Features (25,) of one candidate: per band (5 each) beats against middles, even against odd beats, middles against quarters,
    all as log ratios; the squared distance of the tempo from the usual one in octaves; the first two ratios again for the
    opening alone, where count-in ticks show the beat bare; the distance itself; and which candidate it is (6)."""
    floor = 0.02 * flux.mean(axis=0) + 1e-6
    gaps = np.diff(times_s)

    def heard(at_s: Floats) -> Floats:
        return _heard(curve, flux, at_s, settings)

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
        [octave],
        [float(name == n) for n in NAMES],
    ])  # fmt: skip


def _sum(heard: Floats, floor: Floats) -> float:
    """Mean strength over beats, all bands together."""
    return float(np.sum(heard.mean(axis=0) + floor))
