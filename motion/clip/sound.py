"""The clip's sound, on the pictures' clock."""

from __future__ import annotations

from math import gcd
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from motion.base.errors import BadInput, ClipMissing
from motion.base.types import Clip, Floats, Ints, NotMeasured, Sound
from motion.clip.clock import line_up
from motion.clip.guard import Guard, Message
from motion.clip.settings import ClipSettings


def read_sound(path: Path, clip: Clip, *, settings: ClipSettings) -> Sound | NotMeasured:
    """The sound as mono float32 at settings.sound_rate_hz; start_s: when its first sample is heard, seconds from the first picture.

    Each decoded piece sits where its own time stamp says (so a sound that begins late, an encoder's lead-in and gaps are respected;
    gaps become silence). Decoded in a guarded process: a broken file gives the sound as far as it goes.
    NotMeasured if there is no sound or none of it can be read.
    """
    if not clip.has_sound:
        return NotMeasured("sound", "the clip has no sound")
    sound = _decoded(path, "sound", clip.first_picture_s, settings)
    return NotMeasured("sound", "the clip's sound cannot be read") if sound is None else sound


def read_song(path: Path, *, settings: ClipSettings) -> Sound:
    """A sound file of any usual format as mono float32 at settings.sound_rate_hz, on its own clock; decoded in a guarded process.

    Raises ClipMissing if there is no such file, BadInput if no sound can be read from it.
    """
    if not path.is_file():
        raise ClipMissing(f"There is no song file '{path}'", "Check its name and folder")
    if path.stat().st_size > settings.largest_bytes:
        raise BadInput(f"The song file '{path.name}' is too large", "Give the song alone, as an ordinary sound file")
    sound = _decoded(path, "song", 0.0, settings)
    if sound is None:
        raise BadInput(f"No sound can be read from the song file '{path.name}'", "Save it as WAV, FLAC, MP3, M4A or OGG")
    # Coders put silence ahead and count from there; a player, and whoever notes beats with one, counts from what is heard first.
    return Sound(sound.samples, sound.rate_hz, 0.0)


def _decoded(path: Path, what: str, first_picture_s: float, settings: ClipSettings) -> Sound | None:
    """The sound of a file on the clock that is 0 at first_picture_s, None if none of it can be read."""
    limits = {"longest_s": settings.longest_s, "memory_mb": settings.memory_mb}
    job = {"what": what, "path": str(path.absolute()), "first_picture_s": first_picture_s, "limits": limits}
    starts: list[Floats] = []
    counts: list[Ints] = []
    pieces: list[NDArray[np.float32]] = []
    rate_hz = 0
    with Guard(job, hang_s=settings.hang_s) as guard:
        while (message := guard.read()) is not None:
            if message.kind == "SOND":
                rate_hz = message.number
                times_s, lengths, samples = _parts(message)
                starts.append(times_s)
                counts.append(lengths)
                pieces.append(samples)
    if rate_hz <= 0:
        return None
    start_s, lined_up = line_up(
        np.concatenate(starts),
        np.concatenate(counts),
        np.concatenate(pieces),
        rate_hz,
        gap_s=settings.sound_gap_s,
        longest_s=settings.longest_s + 60.0,
    )
    return Sound(samples=_at_rate(lined_up, rate_hz, settings.sound_rate_hz), rate_hz=settings.sound_rate_hz, start_s=start_s)


def _parts(message: Message) -> tuple[Floats, Ints, NDArray[np.float32]]:
    """Times (m,), lengths (m,) and samples (n,) of one message."""
    raw = message.data.tobytes()
    m = int(np.frombuffer(raw, np.int64, 1)[0])
    return (
        np.frombuffer(raw, np.float64, m, 8),
        np.frombuffer(raw, np.int64, m, 8 + 8 * m),
        np.frombuffer(raw, np.float32, -1, 8 + 16 * m),
    )


def _at_rate(samples: NDArray[np.float32], rate_hz: int, wanted_hz: int) -> NDArray[np.float32]:
    """The same sound (N,) at another rate, its first sample at the same moment (a filter without lag)."""
    if rate_hz == wanted_hz:
        return samples
    from scipy.signal import resample_poly

    common = gcd(rate_hz, wanted_hz)
    changed = resample_poly(samples, wanted_hz // common, rate_hz // common)
    return np.asarray(np.clip(changed, -1.0, 1.0), dtype=np.float32)
