"""Bars: whether beats go in threes or fours, and which of them begins a bar."""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import MusicSettings


def beat_colours(curve: OnsetCurve, beats_s: Floats) -> Floats:
    """Mean colour (B, 24) in dB of the sound from each beat to the next."""
    edges = np.searchsorted(curve.colour_times_s, np.append(beats_s, beats_s[-1] + np.median(np.diff(beats_s))))
    sums = np.concatenate([np.zeros((1, curve.colour_db.shape[1])), np.cumsum(curve.colour_db.astype(float), axis=0)])
    low = np.minimum(edges[:-1], len(curve.colour_db) - 1)
    high = np.maximum(np.minimum(edges[1:], len(curve.colour_db)), low + 1)
    return np.asarray((sums[high] - sums[low]) / (high - low)[:, None])


def beat_accents(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> Floats:
    """Strongest flux (B, Q) near each beat."""
    reach = round(settings.near_s / settings.hop_s)
    centre = np.round((beats_s - curve.times_s[0]) / settings.hop_s).astype(int)
    at = np.clip(centre[:, None] + np.arange(-reach, reach + 1)[None, :], 0, len(curve.bands) - 1)
    return np.asarray(curve.bands[at].max(axis=1), dtype=float)


def beats_differ(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> bool:
    """Whether beats sound different at all; where they do not, as with a metronome's clicks, nothing is heard of bars.

    How strong the strongest flux of a click is depends on where the hops lie about it, which at many tempi repeats every three or
    four beats. The sum of the flux over a whole beginning, by how much each band rises in all, does not depend on it.
    """
    reach = int(np.ceil((settings.window_s / settings.hop_s + settings.flux_lag) / 2))
    centre = np.round((beats_s - curve.times_s[0]) / settings.hop_s).astype(int)
    at = np.clip(centre[:, None] + np.arange(-reach, reach + 1)[None, :], 0, len(curve.bands) - 1)
    # A frame is compared with the one flux_lag hops before it, so that the sum holds every rise so many times.
    rises_db = 20 / settings.flux_lag * curve.bands[at].sum(axis=1, dtype=float)
    colours_db = beat_colours(curve, beats_s)
    # Nothing rings on into the first beat, and the last is cut off: both differ without any bars.
    rise, colour = (float(x[1:-1].std(axis=0).max()) for x in (rises_db, colours_db))
    return rise > settings.rises_differ_db or colour > settings.colours_differ_db


def _standard(x: Floats) -> Floats:
    return np.asarray((x - x.mean(axis=0)) / (x.std(axis=0) + 1e-9))


def beats_in_bar(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> tuple[int, float]:
    """3 or 4, and how much more alike beats are at that distance (0..1; below settings.metre_margin it is a guess).

    Beats that are all alike are counted in fours, as most line dances are, by a guess.
    """
    gap = threes_over_fours(curve, beats_s, settings)
    if gap is None:
        return 4, 0.0
    return (3, gap) if gap > settings.metre_margin else (4, max(0.0, settings.metre_margin - gap))


def other_bar(curve: OnsetCurve, beats_s: Floats, beats_per_bar: int, settings: MusicSettings) -> int | None:
    """3 or 4 where the music plainly has bars of so many beats and not those of a sheet, else None.

    Bars of two are heard as fours; six eighths may be danced in two, and nothing is said against them.
    """
    gap = threes_over_fours(curve, beats_s, settings)
    if gap is None or beats_per_bar == 6 or abs(gap) < settings.metre_clear or (gap > 0) == (beats_per_bar == 3):
        return None
    return 3 if gap > 0 else 4


def threes_over_fours(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> float | None:
    """How much more alike (-1..1) beats are three apart than four apart; None when they are alike all over.

    Beats that share their place in the bar sound alike: similarity at 3 and 6 beats against 2, 4 and 8.
    """
    if not beats_differ(curve, beats_s, settings):
        return None
    accents, colours = beat_accents(curve, beats_s, settings), beat_colours(curve, beats_s)
    sound = np.concatenate([_standard(accents), 0.4 * _standard(colours)], axis=1)

    def alike(lag: int) -> float:
        return float(np.mean(sound[lag:] * sound[:-lag])) if len(sound) > 2 * lag else 0.0

    return (alike(3) + alike(6)) / 2 - (max(alike(4), alike(8)) / 2 + alike(2) / 2)


def bar_start(curve: OnsetCurve, beats_s: Floats, bar: int, settings: MusicSettings) -> tuple[int, float]:
    """Index below `bar` of the beats that begin bars, and its lead over the next best (0..1; 0 when all beats are alike).

    A bar begins with bass and with a change of harmony, seldom with the snare.
    """
    accents = _standard(beat_accents(curve, beats_s, settings))
    colours = beat_colours(curve, beats_s)[:, :12]
    change = np.concatenate([[0.0], np.abs(np.diff(colours, axis=0)).mean(axis=1)])
    evidence = accents[:, 0] + 0.5 * accents[:, 1] + _standard(change) - 0.5 * accents[:, 3]
    means = np.array([evidence[k::bar].mean() for k in range(bar)])
    order = np.argsort(means)[::-1]
    lead = float(np.clip(means[order[0]] - means[order[1]], 0, 1))
    return int(order[0]), lead if beats_differ(curve, beats_s, settings) else 0.0


def half_place(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> float | None:
    """Where the notes between two beats lie, 0.5 straight .. 0.67 swung; None when too few are heard there.

    The mean fine curve over all beats, by place in the beat, has a peak there that stands out from its surroundings.
    """
    places = np.arange(settings.half_from, settings.half_to + 1e-9, 0.005)
    gaps = np.diff(beats_s)
    at = np.round((beats_s[:-1, None] + places[None, :] * gaps[:, None] - curve.fine_start_s) / curve.fine_step_s).astype(int)
    heard = curve.fine[np.clip(at, 0, len(curve.fine) - 1)].astype(float)
    profile = np.convolve(np.pad(heard.mean(axis=0), 2, mode="edge"), [0.1, 0.25, 0.3, 0.25, 0.1], mode="valid")
    peak = int(np.argmax(profile))
    if peak in (0, len(places) - 1) or profile[peak] < settings.half_contrast * np.median(profile):
        return None
    return float(np.clip(places[peak], 0.5, 2 / 3)) if abs(places[peak] - 0.5) > settings.half_straight else 0.5
