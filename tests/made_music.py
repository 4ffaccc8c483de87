"""Music made for tests, with every beat known: drums, bass, chords and a tune in many styles, from a seed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np

from motion.base.types import NotMeasured, Sound
from motion.music.clicks import place, sound_of
from motion.music.onset_strength import OnsetCurve, onset_curve
from motion.review.settings import SETTINGS

RATE_HZ = 22050
STYLES = ("straight", "swung", "waltz", "half-time", "sparse", "syncopated", "drift", "ritardando", "room noise", "talk", "fast",
          "slow", "varied")  # fmt: skip

#: Curves by what they were made of: several tests listen to one piece, and listening is most of their time.
_CURVES: dict[tuple[bytes, int, float], OnsetCurve | NotMeasured] = {}


def curve_of(sound: Sound) -> OnsetCurve | NotMeasured:
    """The onset curve of a sound, made once."""
    key = (hashlib.sha1(sound.samples.tobytes()).digest(), sound.rate_hz, sound.start_s)
    if key not in _CURVES:
        _CURVES[key] = onset_curve(sound, settings=SETTINGS.music)
    return _CURVES[key]


@dataclass(frozen=True)
class Made:
    """samples (n,) at RATE_HZ; beats_s (B,); first_count: index of the beat that is count 1; beats_per_bar; half_at; bpm; notes:
    (time_s, part, gain, pitch_hz) of everything that sounds."""

    samples: np.ndarray
    beats_s: np.ndarray
    first_count: int
    beats_per_bar: int
    half_at: float
    bpm: float
    notes: tuple[tuple[float, str, float, float | None], ...] = ()


def make(style: str, seed: int, *, bpm: float | None = None, beats: int = 64, intro: str | None = None) -> Made:
    """One piece of a style. intro: "ticks" (a bar or two of clicks before count 1), "none", or by the seed."""
    rng = np.random.default_rng([seed, STYLES.index(style)])
    low, high = {"fast": (160, 210), "slow": (55, 78), "waltz": (80, 180)}.get(style, (80, 160))
    varied = style == "varied"
    if bpm is None:
        # What line dances are danced to: 76 (waltz) to 200 (two-step), most of it about 115.
        bpm = float(np.clip(115 * 2 ** rng.normal(0, 0.4), 60, 205)) if varied else float(rng.uniform(low, high))
    bar = 3 if style == "waltz" or (varied and rng.random() < 0.2) else 4
    half = float(rng.uniform(0.6, 0.67)) if style == "swung" or (varied and rng.random() < 0.25) else 0.5
    intro = intro or str(rng.choice(["ticks", "none"]))
    lead = int(rng.choice([1, 2])) * bar if intro == "ticks" else 0
    gaps = np.full(beats + lead, 60 / bpm)
    if style == "drift":
        walk = np.cumsum(rng.normal(0, 0.006, len(gaps)))
        gaps = gaps * np.exp(np.clip(walk - walk.mean(), -0.08, 0.08))
    if style == "ritardando":
        slow = np.clip((np.arange(len(gaps)) / len(gaps) - 0.6) / 0.4, 0, 1)
        gaps = gaps * (1 + 0.35 * slow**1.5)
    at = float(rng.uniform(0.1, 0.9)) + np.concatenate([[0.0], np.cumsum(gaps)])
    duration = at[-1] - 0.03

    def when(position: float) -> float:
        whole = int(np.floor(position))
        part = position - whole
        warped = part * 2 * half if part < 0.5 else half + (part - 0.5) * 2 * (1 - half)
        nxt = at[whole + 1] if whole + 1 < len(at) else at[whole] + gaps[-1]
        return float(at[whole] + warped * (nxt - at[whole]))

    times, sounds, gains, notes = [], [], [], []

    def hit(position: float, timbre: str, gain: float, pitch: float | None = None, part: str | None = None) -> None:
        if position < len(at) - 1:
            times.append(when(position) + float(rng.normal(0, 0.002)) * (timbre != "wood block"))
            sounds.append(sound_of(timbre, RATE_HZ, rng, pitch_hz=pitch))
            gains.append(gain * float(rng.uniform(0.8, 1.2)))
            notes.append((times[-1], part or timbre, gains[-1], pitch))

    for k in range(lead):
        hit(k, "wood block", 0.3 if k % bar == 0 else 0.2)
    ranges = {
        "kick": (0.5, 0.9),
        "snare": (0.25, 0.6),
        "hat": (0.05, 0.2),
        "bass": (0.15, 0.4),
        "chord": (0.05, 0.2),
        "tune": (0.05, 0.2),
    }
    mix = {name: float(rng.uniform(low, high)) for name, (low, high) in ranges.items()}
    pattern = _varied(bar, bpm, rng) if varied else _pattern(style, bar, bpm, rng)
    if varied:
        mix = {name: gain * float(2 ** rng.normal(0, 0.7)) for name, gain in mix.items()}
    root = 55.0 * 2 ** (rng.integers(0, 12) / 12)
    scale = 2.0 ** (np.array([0, 2, 4, 5, 7, 9, 11, 12]) / 12)
    chord = 1.0
    for b in range(lead, lead + beats, bar):
        number = (b - lead) // bar
        chord = scale[int(rng.choice([0, 3, 4, 5]))] if number % 2 == 0 or rng.random() < 0.5 else chord
        for position, part in pattern:
            if style == "sparse" and part != "bass" and rng.random() < 0.3:
                continue
            if part == "chord":
                for tone in (1.0, 1.26, 1.5):
                    hit(b + position, "piano", mix["chord"], 4 * root * chord * tone, "chord")
            elif part == "bass":
                hit(b + position, "piano", mix["bass"], root * chord, "bass")
            else:
                hit(b + position, {"kick": "kick", "snare": "snare", "hat": "hi-hat"}[part], mix[part])
        if style != "sparse":
            for position in np.arange(0, bar, 0.5):
                if rng.random() < (0.6 if position % 1 == 0 else 0.3):
                    hit(b + position, "piano", mix["tune"], 8 * root * float(rng.choice(scale)), "tune")
    track = place(np.array(times), sounds, np.array(gains), RATE_HZ, duration)
    track = surrounded(track, style, rng)
    return Made(track.astype(np.float32), at[:-1], lead, bar, half, bpm, tuple(notes))


def surrounded(track: np.ndarray, style: str, rng: np.random.Generator) -> np.ndarray:
    """The track as the phone hears it: in a hall under noise or talk where the style says so, within -1..1."""
    track = track / np.max(np.abs(track)) * 0.6
    if style in ("room noise", "talk"):
        track = in_hall(track, rng)
    if style == "room noise":
        track = track + rng.standard_normal(len(track)) * track.std() * 10 ** (-rng.uniform(0, 10) / 20)
    if style == "talk":
        track = track + talk(len(track) / RATE_HZ, rng)[: len(track)] * track.std() * 6
    return track / max(1.0, np.max(np.abs(track)))


def _pattern(style: str, bar: int, bpm: float, rng: np.random.Generator) -> list[tuple[float, str]]:
    """(position in the bar in beats, part) of one bar."""
    if bar == 3:
        chords = [(1.0, "chord"), (2.0, "chord")]
        drums = [(0.0, "kick")] + ([(1.0, "snare"), (2.0, "snare")] if rng.random() < 0.5 else [(1.0, "hat"), (2.0, "hat")])
        return [*drums, (0.0, "bass"), *chords]
    hats = [(i / 4, "hat") for i in range(16)] if bpm < 80 else [(i / 2, "hat") for i in range(8)]
    if rng.random() < 0.3:
        hats = [(i, part) for i, part in hats if i % 1 == 0]
    if style == "half-time":
        eighths = [(i / 2, "hat") for i in range(8)]
        return [(0.0, "kick"), (2.5, "kick"), (2.0, "snare"), (0.0, "bass"), (1.5, "bass"), (0.0, "chord"), *eighths]
    if style == "sparse":
        return [(0.0, "kick"), (2.0, "kick"), (1.0, "snare"), (3.0, "snare"), (0.0, "bass")]
    if style == "syncopated":
        drums = [(0.0, "kick"), (1.5, "kick"), (2.5, "kick"), (1.0, "snare"), (3.0, "snare")]
        return [*drums, (0.0, "bass"), (1.5, "bass"), (3.5, "bass"), (0.5, "chord"), (2.5, "chord"), *hats]
    kicks = [(float(i), "kick") for i in range(4)] if rng.random() < 0.4 else [(0.0, "kick"), (2.0, "kick")]
    bass = [(0.0, "bass"), (2.0, "bass")] if rng.random() < 0.6 else [(float(i), "bass") for i in range(4)]
    chords = [(i + 0.5, "chord") for i in range(4)] if rng.random() < 0.4 else [(0.0, "chord"), (2.0, "chord")]
    return [*kicks, (1.0, "snare"), (3.0, "snare"), *bass, *chords, *hats]


def _varied(bar: int, bpm: float, rng: np.random.Generator) -> list[tuple[float, str]]:
    """One bar put together by chance, with the habits of dance music: bass drum on the strong beats, snare on the weak ones."""
    strong = [0.0] if bar == 3 else [0.0, 2.0]
    weak = [1.0, 2.0] if bar == 3 else [1.0, 3.0]
    places = [i / 2 for i in range(2 * bar)]

    def some(part: str, on: float, off: float, between: float) -> list[tuple[float, str]]:
        chance = {p: on if p in strong else off if p in weak else between for p in places}
        chance[0.0] = max(chance[0.0], 0.9 if part in ("kick", "bass") else 0.0)
        return [(p, part) for p in places if rng.random() < chance[p]]

    parts = some("kick", 0.85, 0.9 if rng.random() < 0.3 else 0.05, float(rng.choice([0.0, 0.2])))
    parts += some("snare", 0.02, 0.85 if rng.random() < 0.85 else 0.1, float(rng.choice([0.0, 0.05])))
    parts += some("bass", 0.8, float(rng.choice([0.1, 0.8])), float(rng.choice([0.0, 0.3])))
    parts += some("chord", *[(0.5, 0.5, 0.1), (0.05, 0.8, 0.05), (0.1, 0.1, 0.9), (0.6, 0.1, 0.1)][int(rng.integers(4))])
    hats = [[], [float(i) for i in range(bar)], places, places, [i + 0.5 for i in range(bar)]]
    if bpm < 125:
        hats.append([i / 4 for i in range(4 * bar)])
    return parts + [(p, "hat") for p in hats[int(rng.integers(len(hats)))]]


def in_hall(track: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The track in a hall: direct sound and a tail that dies in half a second."""
    t = np.arange(int(0.5 * RATE_HZ)) / RATE_HZ
    tail = rng.standard_normal(len(t)) * np.exp(-6.9 * t / 0.5) * 0.03
    tail[0] = 1.0
    size = 2 ** int(np.ceil(np.log2(len(track) + len(tail))))
    return np.fft.irfft(np.fft.rfft(track, size) * np.fft.rfft(tail, size))[: len(track)]


def talk(duration_s: float, rng: np.random.Generator) -> np.ndarray:
    """Speech-like syllables at uneven times, peak about 0.5."""
    times, sounds, gains, t = [], [], [], 0.2
    while t < duration_s - 0.6:
        times.append(t)
        sounds.append(sound_of("ta", RATE_HZ, rng, pitch_hz=float(rng.uniform(110, 230))))
        gains.append(float(rng.uniform(0.1, 0.5)))
        t += float(rng.uniform(0.12, 0.35)) if rng.random() < 0.9 else float(rng.uniform(0.5, 1.5))
    return place(np.array(times), sounds, np.array(gains), RATE_HZ, duration_s)
