"""Which tones sound when: what tells two songs with the same beat apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.types import Sealed, Sound

Small = NDArray[np.float16]
PER_OCTAVE = 24  # quarter tones: a player 3 % fast or slow plays one quarter tone higher or lower
LOWEST_HZ = 82.4  # the lowest string of a guitar: below, drums fill every tone
TONES = 5 * PER_OCTAVE
HOP_S = 0.1
WINDOW_S = 0.186  # separates quarter tones from about 200 Hz up, and is still shorter than a beat


@dataclass(frozen=True, eq=False)
class Tones(Sealed):
    """levels (C, 120): how far each quarter tone stands out from its neighbours, HOP_S apart; the first row belongs to start_s."""

    levels: Small
    start_s: float

    def _check(self) -> None:
        need(self.levels.ndim == 2 and self.levels.shape[1] == TONES, f"levels has shape (C, {TONES})", self.levels.shape)


def tones_of(sound: Sound) -> Tones:
    """The tones of a sound, on its clock; loudness and slow colour of room and phone taken out."""
    from scipy.ndimage import uniform_filter1d

    rate_hz, x = sound.rate_hz, np.asarray(sound.samples, dtype=np.float32)
    size = 2 ** round(np.log2(WINDOW_S * rate_hz))
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    bins_hz = np.arange(size // 2 + 1) * rate_hz / size
    centre = PER_OCTAVE * np.log2(np.maximum(bins_hz, 1.0) / LOWEST_HZ)
    bank = np.maximum(0.0, 1 - np.abs(centre[:, None] - np.arange(TONES)[None, :]))
    # Low tones lie closer than the spectrum's bins: each then takes the bin it falls into.
    empty = np.flatnonzero(bank.sum(axis=0) < 0.5)
    bank[np.argmin(np.abs(centre[:, None] - empty[None, :]), axis=0), empty] = 1.0
    bank = (bank / bank.sum(axis=0)).astype(np.float32)
    marks = np.round(np.arange(int(len(x) / rate_hz / HOP_S) + 1) * HOP_S * rate_hz).astype(np.int64)
    padded = np.concatenate([np.zeros(size // 2, np.float32), x, np.zeros(size, np.float32)])
    rows = []
    for start in range(0, len(marks), 200):
        frames = padded[marks[start : start + 200, None] + np.arange(size)[None, :]] * window
        rows.append(np.abs(np.fft.rfft(frames, axis=1)).astype(np.float32) @ bank)
    level = np.concatenate(rows)
    level = np.log1p(level / (1e-9 + 0.1 * np.percentile(level, 95)))
    level = np.maximum(0.0, level - uniform_filter1d(level, PER_OCTAVE // 2 + 1, axis=1))
    return Tones(level.astype(np.float16), sound.start_s)
