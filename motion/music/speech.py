"""The numbers one to eight, put together from buzz, hiss and vowel formants: a plain made voice, no recording of anybody.

Vowels after the men's averages of Peterson and Barney (J Acoust Soc Am 1952;24:175-184). It is a machine's voice: the vowels and
hisses tell the numbers apart, and nobody will take it for a person.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from motion.base.checks import need
from motion.base.types import Floats

Formants = tuple[float, float, float]
SHARPNESS = (70.0, 90.0, 130.0)  # Hz, half the width of each formant
PITCH_HZ = 128.0


class Part(NamedTuple):
    """A stretch of a word: seconds, formants at its beginning and end in Hz, loudness of the voice; hiss about hiss_hz."""

    length_s: float
    start: Formants = (0.0, 0.0, 0.0)
    end: Formants = (0.0, 0.0, 0.0)
    voice: float = 0.0
    hiss_hz: float = 0.0
    hiss: float = 0.0


UH, OO, EE, AW = (640.0, 1190.0, 2390.0), (300.0, 870.0, 2240.0), (270.0, 2290.0, 3010.0), (570.0, 840.0, 2410.0)
AH, IH, EH, UR = (730.0, 1090.0, 2440.0), (390.0, 1990.0, 2550.0), (530.0, 1840.0, 2480.0), (490.0, 1350.0, 1690.0)
N, V, W = (260.0, 1400.0, 2500.0), (250.0, 1100.0, 2300.0), (290.0, 650.0, 2200.0)
T, F, S, PAUSE = (
    Part(0.03, hiss_hz=4000, hiss=0.6),
    Part(0.06, hiss_hz=6500, hiss=0.15),
    Part(0.08, hiss_hz=6000, hiss=0.4),
    Part(0.04),
)
#: For each number its parts, and how many of them come before the vowel that carries the beat.
WORDS: dict[int, tuple[tuple[Part, ...], int]] = {
    1: ((Part(0.06, W, UH, 0.5), Part(0.12, UH, UH, 1.0), Part(0.08, N, N, 0.35)), 1),
    2: ((T, Part(0.20, (320.0, 1300.0, 2300.0), OO, 1.0)), 1),
    3: ((F, Part(0.06, (310.0, 1060.0, 1500.0), (300.0, 1700.0, 2300.0), 0.6), Part(0.16, EE, EE, 1.0)), 1),
    4: ((F, Part(0.14, AW, AW, 1.0), Part(0.08, AW, UR, 0.7)), 1),
    5: ((F, Part(0.18, AH, (330.0, 2100.0, 2700.0), 1.0), Part(0.05, V, V, 0.3, 6000, 0.05)), 1),
    6: ((S, Part(0.09, IH, IH, 1.0), PAUSE, Part(0.02, hiss_hz=2000, hiss=0.4), S), 1),
    7: ((S, Part(0.09, EH, EH, 1.0), Part(0.03, V, V, 0.35), Part(0.05, UH, UH, 0.6), Part(0.06, N, N, 0.3)), 1),
    8: ((Part(0.16, (480.0, 1950.0, 2550.0), (330.0, 2250.0, 2900.0), 1.0), PAUSE, T), 0),
}  # fmt: skip


def spoken_count(count: int, rate_hz: int, rng: np.random.Generator, *, longest_s: float = 0.5) -> tuple[Floats, float]:
    """The word for a count 1 .. 8 as samples (n,) within -1..1, and after how many seconds its vowel begins.

    Parameters: rng, for the hiss; longest_s, into which the word is pressed when counts come fast (it is spoken faster, not cut).
    """
    need(count in WORDS, "count is 1 to 8", count)
    parts, before = WORDS[count]
    press = min(1.0, longest_s / sum(part.length_s for part in parts))
    edges = np.concatenate([[0.0], np.cumsum([press * part.length_s for part in parts])])
    n = int(edges[-1] * rate_hz)
    t = np.arange(n) / rate_hz
    which = np.minimum(np.searchsorted(edges, t, side="right") - 1, len(parts) - 1)
    along = (t - edges[which]) / (edges[which + 1] - edges[which])
    smooth = np.hanning(2 * int(0.006 * rate_hz) + 1)
    smooth /= smooth.sum()

    def soft(values: Floats) -> Floats:
        return np.convolve(values, smooth, mode="same")

    start, end = np.array([p.start for p in parts]), np.array([p.end for p in parts])
    formants = start[which] + along[:, None] * (end[which] - start[which])
    voice = soft(np.array([p.voice for p in parts])[which])
    pitch = PITCH_HZ * (1.04 - 0.2 * t / max(edges[-1], 0.2))
    phase = 2 * np.pi * np.cumsum(pitch) / rate_hz
    out = np.zeros(n)
    for k in range(1, int(3800 / PITCH_HZ)):
        f = k * pitch
        gain = sum(
            level / (1 + ((f - formants[:, i]) / width) ** 2)
            for i, (level, width) in enumerate(zip((1.0, 0.6, 0.3), SHARPNESS, strict=True))
        )
        out += gain * np.sin(k * phase) / np.sqrt(k)
    # The hiss is loud against the vowel, so the voice comes to a spread of 1 first.
    out *= voice
    out /= np.sqrt(np.sum(out**2) / max(1.0, np.sum(voice**2)))
    for p, part in enumerate(parts):
        if part.hiss:
            out += soft(np.where(which == p, part.hiss, 0.0)) * _hiss(n, part.hiss_hz, rate_hz, rng)
    out *= np.minimum(1.0, (edges[-1] - t) / 0.01)  # no click where the word ends
    return np.asarray(out / np.max(np.abs(out))), float(edges[before])


def _hiss(n: int, centre_hz: float, rate_hz: int, rng: np.random.Generator) -> Floats:
    """Noise (n,) an octave wide about centre_hz, as far up as the rate allows, standard deviation 1."""
    from scipy.signal import butter, sosfilt

    low, high = centre_hz / 2**0.5, min(centre_hz * 2**0.5, 0.45 * rate_hz)
    noise = sosfilt(butter(2, [min(low, 0.8 * high), high], "bandpass", fs=rate_hz, output="sos"), rng.standard_normal(n))
    return np.asarray(noise / noise.std())
