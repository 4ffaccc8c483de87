"""Short sounds made from nothing: the clicks that tests, count-ins and practice music are built of.

Every sound starts at its stated time: the first sample that is not silence lies there, so that a beat found in it can be held
against the time that was asked for.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.types import Floats

Timbre = Literal["wood block", "kick", "hi-hat", "snare", "piano", "ta", "beep"]
TIMBRES: tuple[Timbre, ...] = get_args(Timbre)


def sound_of(timbre: Timbre, rate_hz: int, rng: np.random.Generator, *, pitch_hz: float | None = None) -> Floats:
    """One sound, samples (n,) within -1..1, at most half a second long.

    Parameters: timbre; rate_hz; rng, for the noisy ones; pitch_hz, the fundamental (each timbre has its own when None).
    """
    t = np.arange(int(0.5 * rate_hz)) / rate_hz
    noise = rng.standard_normal(len(t))
    if timbre == "wood block":
        f = pitch_hz or 1100.0
        y = np.exp(-t / 0.018) * (np.sin(2 * np.pi * f * t) + 0.6 * np.sin(2 * np.pi * 1.51 * f * t))
    elif timbre == "kick":
        low = pitch_hz or 50.0
        # A drumhead's pitch falls as the blow dies: the phase is the integral of low + 90 Hz * exp(-t / 25 ms).
        y = np.exp(-t / 0.09) * np.sin(2 * np.pi * (low * t + 90.0 * 0.025 * (1 - np.exp(-t / 0.025))))
    elif timbre == "hi-hat":
        y = np.exp(-t / 0.025) * np.diff(noise, prepend=0.0)
    elif timbre == "snare":
        f = pitch_hz or 190.0
        y = np.exp(-t / 0.06) * (0.5 * noise + 0.7 * np.sin(2 * np.pi * f * t))
    elif timbre == "piano":
        f = pitch_hz or 262.0
        y = np.zeros_like(t)
        for k in range(1, 9):
            if f * k < 0.45 * rate_hz:
                y += np.sin(2 * np.pi * f * k * t) * np.exp(-t * k / 0.5) / k
        y = y * (1 - np.exp(-t / 0.002))
    elif timbre == "ta":
        y = _ta(t, noise, pitch_hz or 150.0)
    else:
        y = np.exp(-t / 0.04) * np.sin(2 * np.pi * (pitch_hz or 880.0) * t) * np.minimum(1.0, t / 0.001)
    y = y * np.minimum(1.0, (t[-1] - t) / 0.02)  # no click where the sound is cut off
    return np.asarray(y / np.max(np.abs(y)), dtype=float)


def _ta(t: Floats, noise: Floats, pitch_hz: float) -> Floats:
    """A spoken-like "ta": a burst of breath 12 ms long, then a voiced vowel with two formants."""
    burst = np.diff(noise, prepend=0.0) * np.exp(-t / 0.006)
    late = np.maximum(0.0, t - 0.012)
    envelope = (1 - np.exp(-late / 0.008)) * np.exp(-late / 0.12)
    vowel = np.zeros_like(t)
    for k in range(1, 24):
        f = k * pitch_hz
        gain = 1 / (1 + ((f - 750) / 120) ** 2) + 0.5 / (1 + ((f - 1200) / 150) ** 2) + 0.02
        vowel += gain * np.sin(2 * np.pi * f * late)
    return np.asarray(0.5 * burst + 0.7 * envelope * vowel)


def place(times_s: Floats, sounds: list[Floats], gains: Floats, rate_hz: int, duration_s: float) -> Floats:
    """Sounds laid down at their times: samples (n,) of a track duration_s long.

    Parameters: times_s (T,) seconds from the track's start, between samples too (moved by linear interpolation); sounds, T arrays;
    gains (T,).
    """
    need(len(times_s) == len(sounds) == len(gains), "one sound and one gain a time", (len(times_s), len(sounds), len(gains)))
    n = round(duration_s * rate_hz)
    track = np.zeros(n)
    for t, y, g in zip(times_s, sounds, gains, strict=True):
        first = int(np.ceil(t * rate_hz))
        part = first - t * rate_hz
        moved = np.interp(np.arange(len(y)) + part, np.arange(len(y)), y, right=0.0) if part else y
        lo, hi = max(0, first), min(n, first + len(y))
        if hi > lo:
            track[lo:hi] += g * moved[lo - first : hi - first]
    return track


def click_track(times_s: Floats, timbre: Timbre, rate_hz: int, duration_s: float, seed: int = 0) -> NDArray[np.float32]:
    """Mono samples (n,) in -1..1 with one click of the timbre at each of times_s (T,), seconds from the track's start."""
    rng = np.random.default_rng(seed)
    sounds = [sound_of(timbre, rate_hz, rng) for _ in times_s]
    track = place(np.asarray(times_s, float), sounds, np.full(len(sounds), 0.5), rate_hz, duration_s)
    return np.clip(track, -1, 1).astype(np.float32)
