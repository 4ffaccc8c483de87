"""From what was heard to the beats on the pictures' clock: sound against picture, a song that is known, taps, or the sound alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from motion.base.settings import PageSettings
from motion.base.types import BeatGrid, Floats, Landmarks, NotMeasured, SoundOffset
from motion.music.av_sync import UNSURE_CLAPS, clap_offset, on_pictures, to_pictures, to_sound, way_offset
from motion.music.beats import find_beats
from motion.music.counts import changed
from motion.music.onset_strength import OnsetCurve
from motion.music.pitch import Tones
from motion.music.settings import MusicSettings, PracticeSettings
from motion.music.song_alignment import Heard, carried, find_song
from motion.music.taps import LEAD_WORDS


@dataclass(frozen=True, eq=False)
class Song:
    """A song of the person's own: how it sounds, and its beats where a beats file lies beside it."""

    name: str
    heard: Heard
    beats: BeatGrid | None


class SoundSettings(Protocol):
    """The groups of settings that are needed here, as the bundle of all settings has them."""

    @property
    def music(self) -> MusicSettings:
        """For beats in the sound."""
        ...

    @property
    def practice(self) -> PracticeSettings:
        """For a clap in view and for a known song."""
        ...

    @property
    def page(self) -> PageSettings:
        """For what a phone may add."""
        ...


@dataclass(frozen=True, eq=False)
class Synced:
    """A clip's sound on the pictures' clock, and by what it was moved there (None for nothing known); unsure: why claps that were
    seen and heard did not move it, empty where they did or there were none."""

    curve: OnsetCurve | NotMeasured
    tones: Tones | None
    offset: SoundOffset | None
    unsure: str = ""


def synced(
    curve: OnsetCurve | NotMeasured, tones: Tones | None, marks: Landmarks, distance_m: float | None, settings: SoundSettings
) -> Synced:
    """The sound moved by what a clap in view tells, else by the sound's way over a stated distance, else left where it is."""
    if isinstance(curve, NotMeasured):
        return Synced(curve, tones, None)
    offset = clap_offset(marks, curve, distance_m=distance_m, settings=settings.practice)
    unsure = ""
    if isinstance(offset, NotMeasured):
        unsure = offset.why if offset.what == UNSURE_CLAPS else ""
        if distance_m is None:
            return Synced(curve, tones, None, unsure)
        offset = way_offset(distance_m, settings=settings.practice)
    if tones is not None:
        tones = Tones(tones.levels, float(to_pictures(np.array([tones.start_s]), offset)[0]))
    return Synced(on_pictures(curve, offset), tones, offset, unsure)


def heard_beats(
    clip: Synced, metre: int | None, hint: float | None, song: Song | None, settings: SoundSettings
) -> BeatGrid | NotMeasured:
    """Beats of the clip's sound on the pictures' clock; of the song, if one is given and found. metre: beats in a bar, hint: beats a
    minute, as a sheet has them."""
    if isinstance(clip.curve, NotMeasured):
        return clip.curve
    doubt = ""
    if song is not None:
        beats = _song_beats(clip.curve, clip.tones, song, metre, hint, settings)
        if isinstance(beats, BeatGrid):
            return changed(beats, sound_offset=clip.offset)
        doubt = f"{song.name}: {beats.why}, so the beat was looked for in the clip's sound alone."
    grid = find_beats(clip.curve, beats_per_bar=metre, bpm_hint=hint, settings=settings.music)
    if isinstance(grid, NotMeasured):
        return NotMeasured(grid.what, f"{doubt} {grid.why}".strip()) if doubt else grid
    return changed(grid, sound_offset=clip.offset, doubts=(*([doubt] if doubt else []), *grid.doubts))


def _song_beats(
    curve: OnsetCurve, tones: Tones | None, song: Song, metre: int | None, hint: float | None, settings: SoundSettings
) -> BeatGrid | NotMeasured:
    if tones is None:
        return NotMeasured("the song", "the review was made before songs could be compared; review the clip again")
    found = find_song(Heard(curve, tones), song.heard, settings=settings.practice)
    if isinstance(found, NotMeasured):
        return found
    beats = song.beats or find_beats(song.heard.curve, beats_per_bar=metre, bpm_hint=hint, settings=settings.music)
    return beats if isinstance(beats, NotMeasured) else carried(beats, found, settings=settings.practice)


def on_picture_clock(grid: BeatGrid, offset: SoundOffset | None) -> BeatGrid:
    """Beats that a person tapped, or that came from a song in an earlier judgement, moved by an offset in place of the one that
    they were moved by before."""

    def moved(times_s: Floats) -> Floats:
        times_s = times_s if grid.sound_offset is None else to_sound(times_s, grid.sound_offset)
        return times_s if offset is None else to_pictures(times_s, offset)

    one = None if grid.first_count_s is None else float(moved(np.array([grid.first_count_s]))[0])
    return changed(grid, times_s=moved(grid.times_s), first_count_s=one, sound_offset=offset)


def beat_notes(beats: BeatGrid | NotMeasured, settings: SoundSettings, unsure: str = "") -> list[str]:
    """What is good to know about the beats, in plain sentences: doubts, sound against picture, the lead of a tapping hand. unsure: why
    claps that were seen and heard moved nothing."""
    if isinstance(beats, NotMeasured):
        return [f"Early and late are not judged: {beats.why}."]
    notes = [*beats.doubts, *([LEAD_WORDS] if beats.source == "taps" else [])]
    if beats.source != "given":
        notes.append(_offset_words(beats.sound_offset, settings, unsure))
    return notes


def _offset_words(offset: SoundOffset | None, settings: SoundSettings, unsure: str) -> str:
    phone = f"up to about {settings.page.phone_ms:.0f} ms, may come from the phone and not from the dancers"
    clapped = f"{unsure[0].upper()}{unsure[1:]}." if unsure else ""
    if offset is None:
        return f"A lead or lag that everyone shares, {phone}. {clapped or 'A clap in view would tell.'}"
    size = f"{abs(offset.value_ms):.0f} ± {2 * offset.sigma_ms:.0f} ms {'after' if offset.value_ms >= 0 else 'before'} the picture"
    if not offset.claps:
        words = (
            f"Over {offset.distance_m:g} m the sound comes {offset.value_ms:.0f} ms late; the beats were moved by that. "
            f"A lead or lag that everyone shares, {phone}, all the same."
        )
        return f"{words} {clapped.replace('the beats were not moved', 'they moved nothing')}".strip()
    claps = "one clap in view" if offset.claps == 1 else f"{offset.claps} claps in view"
    words = f"By {claps} the sound lies {size}; the beats were moved by that."
    if offset.drift_ms_per_min:
        words += f" It drifts by {offset.drift_ms_per_min:+.0f} ms a minute, which was taken out too.".replace("-", "−")
    if offset.distance_m is not None:
        own_ms = offset.value_ms - 1000.0 * offset.distance_m / settings.practice.sound_m_s
        words += f" Of that, the clip's own part is {own_ms:.0f} ms, the rest is the sound's way of {offset.distance_m:g} m."
    return words.replace(" -", " −")
