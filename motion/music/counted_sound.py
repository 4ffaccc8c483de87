"""A sound track to practise with: the clip's sound, slowed down if asked for, with every count clicked and spoken over it."""

from __future__ import annotations

import io
import os
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import number_between
from motion.base.errors import BadInput, BadStore
from motion.base.types import BeatGrid, Floats, Ints, NotMeasured, Sealed, Sound
from motion.music.av_sync import to_sound
from motion.music.clicks import sound_of
from motion.music.counts import beat_position, section_of, time_of
from motion.music.settings import PracticeSettings
from motion.music.speech import spoken_count
from motion.music.time_stretch import stretched

RATE_HZ = 44_100
HIGH_HZ, LOW_HZ = 1100.0, 440.0  # of a click: hearing fades from the top with age, and spares the octave about 440 Hz longest
ACCENT = 1.5  # pitch of count 1 against the others: a fifth


@dataclass(frozen=True, eq=False)
class CountedTrack(Sealed):
    """samples (n,) in -1..1 at rate_hz; times_s (C,) of the clicks from its beginning, counts (C,) called there; music_s: where
    the clip's sound begins."""

    samples: NDArray[np.float32]
    rate_hz: int
    times_s: Floats
    counts: Ints
    music_s: float


def counted_track(
    sound: Sound | None,
    beats: BeatGrid,
    *,
    from_count: int = 1,
    speed: float = 1.0,
    low: bool = False,
    voice: bool = True,
    settings: PracticeSettings,
) -> CountedTrack | NotMeasured:
    """The clip's sound (silence for None) from a count on, with clicks and spoken numbers on the counts, after a count-in.

    Parameters: from_count, running from 1 at the dance's first count; speed, 1 as danced, 0.5 half as fast, pitch kept; low, low
    clicks; voice, numbers spoken too. The count-in is 5-6-7-8 (4-5-6 in counts of 6) in the tempo that follows, without music.
    Clicks are laid down after the stretching, exact to the sample; a word's vowel begins with its click.
    NotMeasured when the clip has fewer than two beats from that count on. BadInput for a count or speed that cannot be.
    """
    number_between(from_count, 1, 100_000, "the count to begin from", "counts")
    number_between(speed, 0.25, 2.0, "the speed", "times")
    # Beats lie on the pictures' clock, the sound on its own.
    at_s = beats.times_s if beats.sound_offset is None else to_sound(beats.times_s, beats.sound_offset)
    begin = int(np.argmin(np.abs(beats.times_s - time_of(beats, float(from_count))[0])))
    if round(float(beat_position(beats, beats.times_s[begin : begin + 1])[0])) != from_count - 1 or begin > len(at_s) - 2:
        return NotMeasured("the counted sound", f"the clip has no beats from count {from_count} on")
    section = section_of(beats)
    lead = 4 if section == 8 else 3
    gap_s = float(np.median(np.diff(at_s[begin : begin + 9]))) / speed
    start_s = settings.count_silence_s + lead * gap_s
    times_s = np.concatenate([start_s - gap_s * np.arange(lead, 0, -1), start_s + (at_s[begin:] - at_s[begin]) / speed])
    running = (np.arange(begin, len(at_s)) - begin + from_count - 1) % section + 1
    counts = np.concatenate([np.arange(section - lead + 1, section + 1), running])
    music = _music(sound, float(at_s[begin]), float(at_s[-1]) + gap_s * speed, speed, settings)
    size = max(round(start_s * RATE_HZ) + len(music), round((times_s[-1] + 0.6) * RATE_HZ))
    track = np.zeros(size)
    first = round(start_s * RATE_HZ)
    track[first : first + len(music)] += music
    for time_s, count, here_s in zip(times_s, counts, np.append(np.diff(times_s), gap_s), strict=True):
        # Each count has a sound of its own making, and the same every time.
        rng = np.random.default_rng(int(count))
        pitch_hz = (LOW_HZ if low else HIGH_HZ) * (ACCENT if count == 1 else 1.0)
        _lay(track, 0.45 * sound_of("wood block", RATE_HZ, rng, pitch_hz=pitch_hz), time_s)
        if voice:
            word, vowel_s = spoken_count(int(count), RATE_HZ, rng, longest_s=0.9 * float(here_s))
            _lay(track, 0.4 * word, time_s - vowel_s)
    return CountedTrack(np.clip(track, -1, 1).astype(np.float32), RATE_HZ, times_s, counts.astype(np.int64), start_s)


def _music(sound: Sound | None, from_s: float, until_s: float, speed: float, settings: PracticeSettings) -> NDArray[np.float32]:
    """The clip's sound between two of its times at the wanted speed and loudness, its first sample at from_s."""
    if sound is None:
        return np.zeros(0, np.float32)
    if sound.rate_hz != RATE_HZ:
        raise ValueError(f"the sound has {sound.rate_hz} samples a second, not {RATE_HZ}")
    first, last = round((from_s - sound.start_s) * RATE_HZ), round((until_s - sound.start_s) * RATE_HZ)
    piece = np.zeros(last - first, np.float32)
    a, b = max(0, first), min(len(sound.samples), last)
    if b > a:
        piece[a - first : b - first] = sound.samples[a:b]
    made = stretched(piece, speed, RATE_HZ, settings=settings).copy()
    fade = min(len(made) // 2, round(0.005 * RATE_HZ))  # cut into the middle of a sound it would click where no count is
    made[:fade] *= np.linspace(0, 1, fade, dtype=np.float32)
    made[len(made) - fade :] *= np.linspace(1, 0, fade, dtype=np.float32)
    loud = float(np.max(np.abs(made), initial=0.0))
    return made * np.float32(settings.under_count / loud) if loud > 0 else made


def _lay(track: Floats, sound: Floats, time_s: float) -> None:
    """Add a sound to the track in place, its first sample at the sample nearest to time_s."""
    first = round(time_s * RATE_HZ)
    a, b = max(0, first), min(len(track), first + len(sound))
    track[a:b] += sound[a - first : b - first]


def wav_bytes(track: CountedTrack) -> bytes:
    """The track as a WAV file: mono, 16 bit."""
    made = io.BytesIO()
    with wave.open(made, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(track.rate_hz)
        file.writeframes(np.round(track.samples * 32767).astype("<i2").tobytes())
    return made.getvalue()


def write_wav(path: Path, track: CountedTrack) -> None:
    """Write the track as a WAV file, whole or not at all. BadInput for another ending, BadStore when it cannot be written."""
    if path.suffix.lower() != ".wav":
        raise BadInput(f"'{path.name}' does not end in .wav", "Give the sound a name such as counted.wav")
    half = path.with_name(f".{path.name}-{os.getpid()}")
    try:
        half.write_bytes(wav_bytes(track))
        os.replace(half, path)
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The sound cannot be written to {path}: {why}", "Choose another place") from error
    finally:
        half.unlink(missing_ok=True)
