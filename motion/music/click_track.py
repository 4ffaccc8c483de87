"""A sound track for a film whose own sound is not to be heard: a click on every count and plain music made from nothing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.types import Floats, Ints
from motion.music.clicks import place, sound_of
from motion.music.speech import spoken_count

RATE_HZ = 44_100
#: Clicks: hearing fades from the top with age, and spares the octave about 440 Hz longest; count 1 lies a fifth higher.
HIGH_HZ, LOW_HZ, ACCENT = 1100.0, 440.0, 1.5
#: Root of the music (C3) and its round of four chords, in semitones above it: root and third.
ROOT_HZ = 130.81
ROUND = ((0, 4), (-3, 3), (5, 4), (7, 4))
FIFTH = 7


def clicked_track(
    beats_s: Floats, counts: Ints, *, duration_s: float, music: bool = True, voice: bool = False, low: bool = False
) -> NDArray[np.float32]:
    """Mono samples (n,) in -1..1 at RATE_HZ: beats_s (B,) clicked, higher on count 1, and under them drum, hat and a round of chords.

    Parameters: beats_s, seconds from the track's start, rising; counts (B,) as called there, 1 to 8, or 1 to 6 for counts in threes;
    voice, numbers spoken too, each vowel with its click; low, low clicks. Beats outside the track are left out. The same in, the same
    out: nothing is left to chance.
    """
    need(len(beats_s) == len(counts), "one count a beat", (len(beats_s), len(counts)))
    bar = 3 if len(counts) and int(np.max(counts)) == 6 else 4
    when, sounds, gains = [], [], []
    gap_s = np.diff(beats_s, append=beats_s[-1:] + 0.5)
    bars = np.cumsum((np.asarray(counts) - 1) % bar == 0) - 1
    for time_s, count, here_s, round_of in zip(beats_s, counts, gap_s, bars, strict=True):
        if not 0 <= time_s < duration_s:
            continue
        rng = np.random.default_rng(int(count))  # each count has a sound of its own making, the same every time
        pitch_hz = (LOW_HZ if low else HIGH_HZ) * (ACCENT if count == 1 else 1.0)
        laid = [(0.0, sound_of("wood block", RATE_HZ, rng, pitch_hz=pitch_hz), 0.4)]
        if voice:
            word, vowel_s = spoken_count(int(count), RATE_HZ, rng, longest_s=0.9 * float(here_s))
            laid.append((-vowel_s, word, 0.4))
        if music:
            root, third = ROUND[int(round_of) % len(ROUND)]
            first = (count - 1) % bar == 0
            laid.append((0.0, sound_of("kick" if (count - 1) % bar in (0, 2) else "hi-hat", RATE_HZ, rng), 0.3 if first else 0.18))
            for step in (root, root + third, root + FIFTH) if first or (count - 1) % bar == 2 else ():
                laid.append((0.0, sound_of("piano", RATE_HZ, rng, pitch_hz=ROOT_HZ * 2 ** (step / 12)), 0.1))
        for late_s, sound, gain in laid:
            when.append(float(time_s) + late_s)
            sounds.append(sound)
            gains.append(gain)
    track = place(np.array(when), sounds, np.array(gains), RATE_HZ, duration_s)
    return np.clip(track, -1, 1).astype(np.float32)
