"""A simple backing for practice music as a list of notes: bass, chords' tones, a tune and drums, made by dice with a seed.

No bar of the tune repeats another on purpose: a clip's sound is later matched against it, and has to find its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from motion.lesson.countin import Counting

Part = Literal["click", "kick", "snare", "hat", "bass", "chord", "tune", "voice"]
#: Half steps above the key's ground note of the chords that follow each other, with their third.
_CHORDS: dict[str, tuple[int, int, int]] = {"I": (0, 4, 7), "ii": (2, 5, 9), "IV": (5, 9, 12), "V": (7, 11, 14), "vi": (9, 12, 16)}
#: What may follow what; every phrase begins on I and ends on V.
_NEXT = {"I": ("IV", "vi", "ii", "V"), "ii": ("V", "IV"), "IV": ("I", "V", "ii"), "V": ("I", "vi"), "vi": ("IV", "ii")}
_SCALE = (0, 2, 4, 7, 9)  # half steps of five tones that sound well over all of these chords
_KEYS = (0, 5, 2, 7, 3, 10)  # half steps, from phrase to phrase
GROUND_HZ = 130.81  # c, an octave below the middle of the piano


@dataclass(frozen=True)
class Note:
    """One sound: time_s from the file's beginning, what plays it, pitch_hz (None: its own), gain; says: the number that is called."""

    time_s: float
    part: Part
    gain: float
    pitch_hz: float | None = None
    says: int | None = None


def clicks(counting: Counting) -> list[Note]:
    """A click on every count, higher on 1, and the numbers of the count-in called."""
    out = []
    for one in counting.counts:
        out.append(Note(one.time_s, "click", 0.30, 1650.0 if one.count == 1 else 1100.0))
        if one.says is not None:
            out.append(Note(one.time_s, "voice", 0.45, says=one.says))
    return out


def backing(counting: Counting, seed: int) -> list[Note]:
    """Bass, chords, tune and drums under all counts but those of the count-in itself; the same for the same seed."""
    rng = np.random.default_rng(seed)
    bar = 3 if counting.section == 6 else 4
    phrase = 4 * counting.section
    called = [(one.rung, one.running) for one in counting.counts if one.says is not None]
    called_from = {which: min(running for rung, running in called if rung == which) for which, _ in called}
    out: list[Note] = []
    chord, key, at, phrases = "I", 0, 4, -1
    for one in counting.counts:
        if called_from[one.rung] <= one.running <= 0:
            continue
        gap_s = 60 / counting.rungs[one.rung].bpm
        in_phrase, beat = (one.running - 1) % phrase, (one.running - 1) % bar
        if beat == 0:
            if in_phrase == 0:
                phrases += 1
                chord, key = "I", _KEYS[phrases % len(_KEYS)]
            elif in_phrase == phrase - bar:
                chord = "V"
            else:
                chord = str(rng.choice(_NEXT[chord]))
        out += _drums(one.time_s, gap_s, beat, bar)
        out += _harmony(one.time_s, beat, bar, _CHORDS[chord], key)
        at, tune = _tune(one.time_s, gap_s, at, key, rng)
        out += tune
    return out


def _drums(time_s: float, gap_s: float, beat: int, bar: int) -> list[Note]:
    if bar == 3:
        return [Note(time_s, "kick", 0.28)] if beat == 0 else [Note(time_s, "hat", 0.10)]
    struck = Note(time_s, "kick", 0.30) if beat % 2 == 0 else Note(time_s, "snare", 0.14)
    return [struck, Note(time_s + gap_s / 2, "hat", 0.07)]


def _harmony(time_s: float, beat: int, bar: int, chord: tuple[int, int, int], key: int) -> list[Note]:
    if beat == 0:
        return [Note(time_s, "bass", 0.22, _hz(chord[0] + key - 12))]
    if bar == 4 and beat == 2:
        return [Note(time_s, "bass", 0.18, _hz(chord[2] + key - 12))]
    return [Note(time_s, "chord", 0.06, _hz(tone + key)) for tone in chord]


def _tune(time_s: float, gap_s: float, at: int, key: int, rng: np.random.Generator) -> tuple[int, list[Note]]:
    """None, one or two tones in this count, walking up and down the scale; the place on it afterwards."""
    out = []
    size = int(rng.choice((0, 1, 1, 2)))
    for n in range(size):
        at = int(np.clip(at + rng.integers(-3, 4), 0, 11))
        out.append(Note(time_s + n * gap_s / 2, "tune", 0.16, _hz(_SCALE[at % 5] + 12 * (at // 5) + key + 12)))
    return at, out


def _hz(half_steps: int) -> float:
    return float(GROUND_HZ * 2 ** (half_steps / 12))
