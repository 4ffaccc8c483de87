"""A beat that is not music: hand claps, a drum or counting aloud, alone in a room. The counting voices are the made one of
motion/music/speech.py and two of espeak-ng's (Debian: apt-get install espeak-ng).
"""

from __future__ import annotations

import subprocess
import tempfile
import wave
from functools import cache
from pathlib import Path

import numpy as np
from made_music import RATE_HZ, Made, in_hall

from motion.music.clicks import place, sound_of
from motion.music.speech import spoken_count

KINDS = ("claps", "drum", "counting made", "counting en-us", "counting en-gb+f3")
#: Voices that level_fit.py learns from, so that music_bench.py measures on others.
VOICES_LEARNED = ("counting en-gb+m4", "counting en-us+f2")
WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight")


def alone(kind: str, seed: int, beats: int = 48) -> Made:
    """One recording. People wander by 2 ms a beat and hit with a spread of 10 ms (a drummer: 5), as trained ones do."""
    rng = np.random.default_rng([seed, (KINDS + VOICES_LEARNED).index(kind)])
    bpm = float(rng.uniform(80, 150))
    at = 0.6 + np.arange(beats) * 60 / bpm + np.cumsum(rng.normal(0, 0.002, beats))
    hits = at + rng.normal(0, 0.005 if kind == "drum" else 0.010, beats)
    times, sounds, gains = [], [], []
    for i, (due, t) in enumerate(zip(at, hits, strict=True)):
        lead, gain = 0.0, float(rng.uniform(0.4, 0.8))
        if kind == "drum":
            sound = sound_of("kick", RATE_HZ, rng)
            if i % 4 == 3 and seed % 2:
                times, sounds, gains = [*times, due + 30 / bpm], [*sounds, sound], [*gains, 0.4]
        elif kind.startswith("claps"):
            n = int(0.08 * RATE_HZ)
            sound = rng.standard_normal(n) * np.exp(-np.arange(n) / RATE_HZ / 0.012) / 3
        elif kind == "counting made":
            sound, lead = spoken_count(i % 8 + 1, RATE_HZ, rng, longest_s=0.8 * 60 / bpm)
        else:
            sound = spoken(kind.removeprefix("counting "), WORDS[i % 8], int(200 * max(1.0, bpm / 110)))
            lead = vowel_s(sound)
        times, sounds, gains = [*times, t - lead], [*sounds, sound], [*gains, gain]
    track = in_hall(place(np.array(times), sounds, np.array(gains), RATE_HZ, at[-1] + 1), rng)
    track = track / np.max(np.abs(track)) * 0.6
    track = track + rng.standard_normal(len(track)) * track.std() * 10 ** (-rng.uniform(15, 30) / 20)
    return Made(track.astype(np.float32), at, 0, 4, 0.5, bpm)


@cache
def spoken(voice: str, word: str, words_a_minute: int) -> np.ndarray:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "word.wav"
        subprocess.run(["espeak-ng", "-v", voice, "-s", str(words_a_minute), "-w", str(path), word], check=True)
        with wave.open(str(path)) as file:
            assert file.getframerate() == RATE_HZ
            return np.frombuffer(file.readframes(file.getnframes()), np.int16) / 32768


def vowel_s(word: np.ndarray) -> float:
    """Where the vowel begins, which is about where a spoken word is felt to fall (Morton, Marcus and Frankish, Psychol Rev
    1976;83:405): its band's power passes a tenth of its highest. Known to 10 ms or so."""
    from scipy.signal import butter, sosfilt

    power = sosfilt(butter(2, [250, 2500], "bandpass", fs=RATE_HZ, output="sos"), word) ** 2
    width = RATE_HZ // 100
    mean = np.convolve(power, np.ones(width) / width)[: len(power)]
    # The mean over the last 10 ms passes it about 2 ms after the power itself.
    return max(0.0, float(np.argmax(mean > 0.1 * mean.max())) / RATE_HZ - 0.002)
