"""How strongly something begins to sound, at every moment: the curve in which beats are looked for.

Two views of the same sound. The coarse one is a spectral flux with a maximum filter over frequency (SuperFlux: Boeck and Widmer,
DAFx 2013), in several bands, each weighted by how regular it is in this clip: it says which beginnings belong to the beat. The
fine one, a thousand values a second, is a likelihood ratio of "the power changes here" against "it does not" in five bands: it
says when.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.types import Floats, NotMeasured, Sealed, Sound
from motion.music.settings import MusicSettings

Small = NDArray[np.float32]
#: Edges in Hz of the Q bands of the flux: bass drum, bass and low voices, voices, snare and presence, cymbals.
BAND_EDGES_HZ = (30.0, 150.0, 500.0, 2000.0, 6000.0, 16000.0)
COLOURS = 24


@dataclass(frozen=True, eq=False)
class OnsetCurve(Sealed):
    """What the music package keeps of a sound; beats can be found again from it without the clip.

    times_s (N,), even steps; bands (N, Q) flux of each band; weights (Q,), sum 1; strength (N,) their weighted sum.
    fine (M,): strength of a beginning, fine_step_s apart, the first at fine_start_s.
    colour_times_s (C,); colour_db (C, 24): power in log-spaced bands, dB below the clip's loud level.
    sounding (C,): False where it is silent. from_s, until_s: where the sound begins and ends.
    """

    times_s: Floats
    bands: Small
    weights: Floats
    strength: Floats
    fine: Small
    fine_start_s: float
    fine_step_s: float
    colour_times_s: Floats
    colour_db: Small
    sounding: NDArray[np.bool_]
    from_s: float
    until_s: float

    def _check(self) -> None:
        n = len(self.times_s)
        need(self.bands.shape == (n, len(self.weights)), f"bands has shape {(n, len(self.weights))}", self.bands.shape)
        need(self.strength.shape == (n,), f"strength has shape {(n,)}", self.strength.shape)
        need(self.colour_db.shape == (len(self.colour_times_s), COLOURS), "colour_db has shape (C, 24)", self.colour_db.shape)
        need(self.sounding.shape == self.colour_times_s.shape, "one sounding a colour", self.sounding.shape)


def onset_curve(sound: Sound, *, settings: MusicSettings) -> OnsetCurve | NotMeasured:
    """Onset curve of a sound, on the pictures' clock.

    Returns an OnsetCurve, or NotMeasured when the sound is silent throughout or too short to hold a beat.
    """
    x = np.asarray(sound.samples, dtype=np.float32)
    until_s = sound.start_s + len(x) / sound.rate_hz
    if len(x) / sound.rate_hz < settings.shortest_music_s:
        return NotMeasured("the beat", f"the sound is only {len(x) / sound.rate_hz:.1f} s long")
    x = np.where(np.isfinite(x), x, np.float32(0))
    loud = _loud_level(x, sound.rate_hz)
    if loud < 10 ** (settings.silence_dbfs / 20):
        return NotMeasured("the beat", "the sound is silent")
    x = x / np.float32(loud)
    bands, colour_db, power = _flux(x, sound.rate_hz, settings)
    times_s = np.asarray(sound.start_s + np.arange(len(bands)) * settings.hop_s, dtype=np.float64)
    weights = band_weights(bands, settings)
    every = settings.colour_every
    return OnsetCurve(
        times_s=times_s,
        bands=bands,
        weights=weights,
        strength=np.asarray(bands @ weights, dtype=float),
        fine=_fine(x, sound.rate_hz, settings),
        fine_start_s=sound.start_s,
        fine_step_s=settings.fine_step_s,
        colour_times_s=times_s[::every],
        colour_db=colour_db[::every],
        sounding=power[::every] > 10 ** (settings.quiet_db / 10),
        from_s=sound.start_s,
        until_s=until_s,
    )


def _loud_level(x: Small, rate_hz: int) -> float:
    """Root mean square of the louder parts (95th percentile over pieces of 50 ms), so that gain does not matter."""
    size = max(1, int(0.05 * rate_hz))
    pieces = x[: len(x) // size * size].reshape(-1, size)
    return float(np.percentile(np.sqrt(np.mean(pieces.astype(np.float64) ** 2, axis=1)), 95))


def _filters(bins_hz: Floats, per_octave: int) -> tuple[Small, Floats]:
    """Triangular log-spaced filters (bins, filters) and their centres in Hz; filters that share one bin are kept once."""
    top = min(BAND_EDGES_HZ[-1], bins_hz[-1])
    wanted = BAND_EDGES_HZ[0] * 2.0 ** (np.arange(int(per_octave * np.log2(top / BAND_EDGES_HZ[0])) + 1) / per_octave)
    marks = np.unique(np.argmin(np.abs(bins_hz[:, None] - wanted[None, :]), axis=0))
    bank = np.zeros((len(bins_hz), len(marks) - 2), dtype=np.float32)
    for i, (lo, mid, hi) in enumerate(zip(marks[:-2], marks[1:-1], marks[2:], strict=True)):
        bank[lo : mid + 1, i] = np.linspace(0, 1, mid - lo + 1)
        bank[mid : hi + 1, i] = np.linspace(1, 0, hi - mid + 1)
    return bank / bank.sum(axis=0), bins_hz[marks[1:-1]]


def _means(member: NDArray[np.int64], groups: int) -> Small:
    """Matrix (members, groups) that takes the mean over each group; an empty group gives 0."""
    share = member[:, None] == np.arange(groups)[None, :]
    return np.asarray(share / np.maximum(1, share.sum(axis=0)), dtype=np.float32)


def _flux(x: Small, rate_hz: int, settings: MusicSettings) -> tuple[Small, Small, Floats]:
    """Flux (N, Q), colour in dB (N, 24) and power (N,) of the sound; entry n belongs to time n * hop from its start."""
    from scipy.ndimage import maximum_filter1d

    size = 2 ** round(np.log2(settings.window_s * rate_hz))
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    count = int(len(x) / rate_hz / settings.hop_s) + 1
    centres = np.round(np.arange(count + settings.flux_lag) * settings.hop_s * rate_hz).astype(np.int64)
    padded = np.concatenate([np.zeros(size, np.float32), x, np.zeros(2 * size, np.float32)])
    bins_hz = np.arange(size // 2 + 1) * rate_hz / size
    bank, centre_hz = _filters(bins_hz, settings.per_octave)
    member = np.digitize(centre_hz, BAND_EDGES_HZ[1:-1])
    groups = _means(member, len(BAND_EDGES_HZ) - 1)
    shade = np.clip((np.log2(centre_hz / 40.0) * 3).astype(int), 0, COLOURS - 1)
    shades = _means(shade, COLOURS)
    lag = settings.flux_lag
    bands, colours, powers = [], [], []
    before = np.zeros((lag, bank.shape[1]), np.float32)
    for start in range(0, len(centres), settings.chunk):
        at = centres[start : start + settings.chunk]
        # Frame times are window centres: half a window before and behind.
        frames = padded[np.minimum(at[:, None] + size // 2 + np.arange(size)[None, :], len(padded) - 1)] * window
        magnitude = np.abs(np.fft.rfft(frames, axis=1)).astype(np.float32) * np.float32(4.0 / size)
        filtered = magnitude @ bank
        spectrum = np.log10(1 + np.float32(settings.compression) * filtered)
        run = np.concatenate([before, spectrum])
        # The maximum over neighbouring bins of the earlier frame keeps vibrato and slides from looking like new notes.
        rise = np.maximum(0, run[lag:] - maximum_filter1d(run[:-lag], 3, axis=1))
        bands.append(rise @ groups)
        colours.append(10 * np.log10(np.maximum(filtered**2 @ shades, 1e-9)))
        powers.append(np.mean(frames.astype(np.float64) ** 2, axis=1) * 8 / 3)
        before = run[-lag:]
    # The rise from frame n to frame n + lag lies half way between the two.
    half = lag // 2
    return np.concatenate(bands)[half : half + count], np.concatenate(colours)[:count], np.concatenate(powers)[:count]


def _fine(x: Small, rate_hz: int, settings: MusicSettings) -> Small:
    """Strength of a beginning every fine_step_s (M,).

    Per band, with mean powers a after and b before a moment (equal windows), the likelihood ratio of a change of variance of a
    Gaussian signal is log((a + b)^2 / 4ab); it counts only where the power rises. The filters are causal, so that a beginning
    casts no shadow ahead of itself; their delay is taken off.
    """
    from scipy.signal import butter, sosfilt

    step = settings.fine_step_s
    marks = np.round(np.arange(int(len(x) / rate_hz / step) + 1) * step * rate_hz).astype(np.int64)
    marks = marks[marks < len(x)]
    sizes = np.diff(np.append(marks, len(x)))
    width = round(settings.step_window_s / step)
    total = np.zeros(len(marks))
    edges = [e for e in settings.fine_edges_hz if e < 0.45 * rate_hz]
    filters = [butter(2, edges[0], "lowpass", fs=rate_hz, output="sos"), butter(2, edges[-1], "highpass", fs=rate_hz, output="sos")]
    filters += [butter(2, pair, "bandpass", fs=rate_hz, output="sos") for pair in pairwise(edges)]
    for sos in filters:
        power = np.add.reduceat(sosfilt(sos, x).astype(np.float64) ** 2, marks) / sizes
        floor = np.percentile(power, 95) * 10 ** (settings.floor_db / 10) + 1e-12
        summed = np.concatenate([[0.0], np.cumsum(power + floor)])
        i = np.arange(len(marks))
        after = (summed[np.minimum(i + width, len(marks))] - summed[i]) / np.maximum(1, np.minimum(i + width, len(marks)) - i)
        ahead = np.where(i >= width, (summed[i] - summed[np.maximum(i - width, 0)]) / width, 0)
        # Before the sound begins it is taken to be silent.
        early = i < width
        ahead[early] = (summed[i[early]] + (width - i[early]) * floor) / width
        ratio = np.where(after > ahead, np.log((after + ahead) ** 2 / (4 * after * ahead)), 0.0)
        total += ratio
    return (total / len(filters)).astype(np.float32)


def band_weights(bands: Small, settings: MusicSettings) -> Floats:
    """Weight of each band (Q,), sum 1: how regular its flux is in this clip.

    Regular means that the autocorrelation, over the lags of one beat, has a high peak above its middle; squared, so that a band of
    talk or hall noise counts for little beside a drum.
    """
    weight = np.zeros(bands.shape[1])
    for q in range(bands.shape[1]):
        r = autocorrelation(bands[:, q].astype(float), settings)
        low, high = int(0.25 / settings.hop_s), min(int(1.5 / settings.hop_s), len(r) - 1)
        if high > low and r[0] > 0:
            span = r[low:high]
            weight[q] = max(0.0, float(np.max(span) - np.median(span)))
    spread = bands.std(axis=0) + 1e-9
    raw = weight**2 / spread * (bands.max(axis=0) > 1e-4)
    return np.asarray(raw / raw.sum()) if raw.sum() > 0 else np.full(len(raw), 1 / len(raw))


def autocorrelation(values: Floats, settings: MusicSettings) -> Floats:
    """Autocorrelation (L,) of a curve about its moving mean, 1 at lag 0, lags 0 .. 8 s (or half the curve)."""
    from scipy.ndimage import uniform_filter1d

    x = values - uniform_filter1d(values, int(2.0 / settings.hop_s))
    n = len(x)
    longest = min(int(8.0 / settings.hop_s), n // 2)
    size = 2 ** int(np.ceil(np.log2(2 * n)))
    r = np.fft.irfft(np.abs(np.fft.rfft(x, size)) ** 2)[: longest + 1]
    r = r / np.maximum(1, n - np.arange(longest + 1)) * n
    return np.asarray(r / r[0] if r[0] > 0 else r)
