"""Practice music as a sound file with its beats beside it: the lesson's counts and notes joined with the sounds that play them.

A later clip danced to such a file is reviewed with `--song NAME.wav`: the file `NAME.beats.csv` beside it says where every count lies.
"""

from __future__ import annotations

import wave
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from motion.base.atomic import write_whole
from motion.base.errors import BadInput, BadStore
from motion.base.types import Floats
from motion.lesson.backing import Note, backing, clicks
from motion.lesson.countin import Counting, Rung, Section, counting, ladder
from motion.music.clicks import Timbre, sound_of
from motion.music.counted_sound import RATE_HZ, CountedTrack, wav_bytes, write_wav
from motion.music.speech import spoken_count
from motion.review.settings import SETTINGS, Settings

#: Which made sound plays which part.
_TIMBRES: dict[str, Timbre] = {
    "click": "wood block", "kick": "kick", "snare": "snare", "hat": "hi-hat", "bass": "piano", "chord": "piano", "tune": "piano",
}  # fmt: skip
#: Of full scale: the loudest moments of all parts together stay below it without anything being cut off.
LOUDNESS = 0.75
#: How the beats file of music made here begins.
BEATS_HEAD = "time_s,count\r\n"


@dataclass(frozen=True, eq=False)
class PracticeTrack:
    """Practice music: the sound, and when every count falls in it."""

    track: CountedTrack
    counting: Counting


def practice_rungs(bpm: float, counts: int, *, ladder_of: int = 1, settings: Settings = SETTINGS) -> tuple[Rung, ...]:
    """So many tempos (at most) from slow to `bpm`, each with so many counts. BadInput for numbers that cannot be."""
    own = settings.lesson
    tempos = ladder(bpm, rungs=ladder_of, from_share=own.ladder_from, limits=settings.dance, settings=own)
    return tuple(Rung(tempo, counts) for tempo in tempos)


def practice_track(
    rungs: Sequence[Rung], *, section: Section = 8, wait_counts: int = 0, music: bool = True, voice: bool = True, seed: int = 1,
    settings: Settings = SETTINGS,
) -> PracticeTrack:  # fmt: skip
    """Clicks at one or more tempos, each after its count-in, with a backing and called numbers if wanted.

    Parameters: rungs, tempos with their counts; section 8, or 6 for waltz; wait_counts, music that is waited through before count 1;
    seed, another number is another tune. Every sound begins at the sample nearest to its time. BadInput as `counting`.
    """
    counted = counting(rungs, section=section, wait_counts=wait_counts, limits=settings.dance, settings=settings.lesson)
    notes = clicks(counted) + (backing(counted, seed) if music else [])
    samples = np.zeros(round(counted.duration_s * RATE_HZ))
    sounds: dict[tuple[str, float | None, int | None], tuple[Floats, float]] = {}
    gaps_s = [60 / rung.bpm for rung in counted.rungs]
    for note in notes:
        if note.part == "voice" and not voice:
            continue
        key = (note.part, note.pitch_hz, note.says)
        if key not in sounds:
            sounds[key] = _sound(note, min(gaps_s))
        sound, before_s = sounds[key]
        first = round((note.time_s - before_s) * RATE_HZ)
        a, b = max(0, first), min(len(samples), first + len(sound))
        samples[a:b] += LOUDNESS * note.gain * sound[a - first : b - first]
    times_s = np.array([one.time_s for one in counted.counts])
    counts = np.array([one.count for one in counted.counts], dtype=np.int64)
    first_s = next(one.time_s for one in counted.counts if one.running == 1)
    return PracticeTrack(CountedTrack(np.clip(samples, -1, 1).astype(np.float32), RATE_HZ, times_s, counts, first_s), counted)


def _sound(note: Note, gap_s: float) -> tuple[Floats, float]:
    """The note's sound from its first sample that is not silent, and how long before the note's time it begins."""
    rng = np.random.default_rng(1)
    if note.says is not None:
        return spoken_count(note.says, RATE_HZ, rng, longest_s=0.9 * gap_s)
    sound = sound_of(_TIMBRES[note.part], RATE_HZ, rng, pitch_hz=note.pitch_hz)
    return sound[int(np.flatnonzero(sound)[0]) :], 0.0


def tune_bytes(tune: PracticeTrack) -> bytes:
    """The music as a WAV file: mono, 16 bit, 44,100 samples a second."""
    return wav_bytes(tune.track)


def beats_text(counted: Counting) -> str:
    """The beats file of the music: the last counts of every count-in and all counts danced, to a microsecond."""
    lead = 4 if counted.section == 8 else 3
    rows = [f"{one.time_s:.6f},{one.count}\r\n" for one in counted.counts if one.running > -lead]
    return BEATS_HEAD + "".join(rows)


def beats_name(music: str) -> str:
    """The beats file's name for the music's: "slow.wav" has "slow.beats.csv"."""
    return f"{Path(music).stem}.beats.csv"


def write_practice_track(path: Path, tune: PracticeTrack) -> Path:
    """Write NAME.wav and NAME.beats.csv beside it, each whole or not at all; the beats file's path. BadInput, BadStore.

    Music made here earlier is replaced; another sound of that name, or beats that somebody noted, are refused.
    """
    beside = path.with_name(beats_name(path.name))
    _refuse_others(path, beside)
    write_wav(path, tune.track)
    try:
        write_whole(beside, beats_text(tune.counting))
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The beats cannot be written to {beside}: {why}", "Choose another place") from error
    return beside


def _refuse_others(path: Path, beside: Path) -> None:
    taken = next((one for one in (path, beside) if one.exists()), None)
    if taken is not None and path.suffix.lower() == ".wav" and not _made_here(path, beside):
        what = f"'{taken}' is already there and is no practice music that was made here"
        raise BadInput(what, "Give the music another name, so that it stays")


def _made_here(path: Path, beside: Path) -> bool:
    """Songs have two channels, and beats noted by others begin otherwise."""
    try:
        with wave.open(str(path)) as sound:
            alike = (sound.getnchannels(), sound.getsampwidth(), sound.getframerate()) == (1, 2, RATE_HZ)
        return alike and beside.read_bytes().startswith(BEATS_HEAD.encode())
    except (OSError, EOFError, wave.Error):
        return False


def section_of_metre(metre: str) -> Section:
    """8 for 4/4, 6 for 3/4. BadInput for another metre."""
    if metre not in ("4/4", "3/4"):
        raise BadInput(f"'{metre}' is no metre for practice music", "Choose 4/4 or 3/4")
    return 6 if metre == "3/4" else 8
