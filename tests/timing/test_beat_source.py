"""From sound to beats on the pictures' clock: claps, distance, a song, taps; and what the person is told of it."""

from __future__ import annotations

import numpy as np
import pytest
from made_clap import bangs, clapping, person, picture_times, seen
from made_music import RATE_HZ, curve_of, make

from motion.base.types import BeatGrid, NotMeasured, Sound, SoundOffset
from motion.music.counts import changed, read_beats_csv, steady_grid
from motion.music.pitch import tones_of
from motion.music.song_alignment import Heard
from motion.review.settings import SETTINGS
from motion.timing.beat_source import Song, beat_notes, heard_beats, on_picture_clock, synced

OFFSET_S = 0.08


CLAPS_S = (0.8, 1.9, 3.0)


def clip_sound(late_s=0.0, claps_s=CLAPS_S):
    """Music from 4 s on, claps before it, all of it late_s behind the picture; and the true beats on the pictures' clock."""
    made = make("straight", 3, bpm=110.0, beats=40, intro="none")
    lead = np.zeros(round(4.0 * RATE_HZ))
    clap = bangs([at + late_s for at in claps_s], 4.0, np.random.default_rng(0)).samples[::2]
    track = np.concatenate([lead, made.samples])
    track[: len(clap)] += clap
    if late_s:
        moved = np.concatenate([np.zeros(round(late_s * RATE_HZ)), track[len(clap) :]])
        track = np.concatenate([track[: len(clap)], moved])
    return Sound(np.clip(track, -1, 1).astype(np.float32), RATE_HZ, 0.0), made.beats_s + 4.0


def clapper(claps_s=CLAPS_S):
    rng = np.random.default_rng(1)
    t = picture_times(30.0, 12.0, rng)
    return seen(t, person(t, clapping(t, list(claps_s)), rng))


def moved_by(sound, marks, distance_m=None):
    return synced(curve_of(sound), tones_of(sound), marks, distance_m, SETTINGS)


def median_off(grid, beats_s):
    inside = beats_s[(beats_s > grid.times_s[0] - 0.1) & (beats_s < grid.times_s[-1] + 0.1)]
    assert len(inside) > 25
    return float(np.median([grid.times_s[np.argmin(np.abs(grid.times_s - b))] - b for b in inside]))


def test_claps_bring_the_beats_onto_the_picture():
    sound, beats = clip_sound(OFFSET_S)
    grid = heard_beats(moved_by(sound, clapper()), None, None, None, SETTINGS)
    assert grid.source == "sound"
    assert grid.sound_offset.claps == 3
    assert median_off(grid, beats) == pytest.approx(0.0, abs=0.015)
    said = " ".join(beat_notes(grid, SETTINGS))
    assert "By 3 claps in view the sound lies" in said
    assert "may come from the phone" not in said


def test_a_clap_that_shows_too_little_moves_nothing_and_is_answered():
    sound, beats = clip_sound(OFFSET_S, (1.2,))
    clip = moved_by(sound, clapper((1.2,)))
    grid = heard_beats(clip, None, None, None, SETTINGS)
    assert grid.sound_offset is None
    assert median_off(grid, beats) == pytest.approx(OFFSET_S, abs=0.01)
    said = " ".join(beat_notes(grid, SETTINGS, clip.unsure))
    assert "dancers. One clap was seen and heard, but it shows how far sound and picture are apart only to ± " in said
    assert said.endswith("arms wide between claps.")
    assert "A clap in view would tell" not in said
    far = moved_by(sound, clapper((1.2,)), 17.16)
    said = " ".join(beat_notes(heard_beats(far, None, None, None, SETTINGS), SETTINGS, far.unsure))
    assert "the beats were moved by that" in said
    assert "the beats were not moved" not in said
    assert "clap three times" in said


def test_without_a_clap_the_offset_stays_and_is_told():
    sound, beats = clip_sound(OFFSET_S)
    grid = heard_beats(moved_by(sound, clapper(())), None, None, None, SETTINGS)
    assert grid.sound_offset is None
    assert median_off(grid, beats) == pytest.approx(OFFSET_S, abs=0.01)
    said = " ".join(beat_notes(grid, SETTINGS))
    assert "up to about 45 ms, may come from the phone and not from the dancers" in said


def test_a_distance_takes_out_the_sounds_way():
    sound, _ = clip_sound(0.0)
    here = heard_beats(moved_by(sound, clapper(())), None, None, None, SETTINGS)
    far = heard_beats(moved_by(sound, clapper(()), 17.16), None, None, None, SETTINGS)
    # 17.16 m at 343.2 m/s are 50 ms
    np.testing.assert_allclose(far.times_s, here.times_s - 0.05, atol=1e-4)
    said = " ".join(beat_notes(far, SETTINGS))
    assert "Over 17.16 m the sound comes 50 ms late" in said
    assert "may come from the phone" in said


def test_a_distance_beside_a_clap_is_not_taken_out_twice():
    sound, _ = clip_sound(OFFSET_S)
    alone, both = (heard_beats(moved_by(sound, clapper(), d), None, None, None, SETTINGS) for d in (None, 10.0))
    np.testing.assert_allclose(both.times_s, alone.times_s, atol=1e-9)
    assert "the clip's own part is" in " ".join(beat_notes(both, SETTINGS))


def test_the_songs_own_beats_are_used():
    made = make("straight", 3, bpm=110.0, beats=40, intro="none")
    song_sound = Sound(made.samples, RATE_HZ, 0.0)
    heard = Heard(curve_of(song_sound), tones_of(song_sound))
    # a file that puts count 1 where nobody would hear it
    rows = "".join(f"{t:.4f},{(k - 3) % 8 + 1}\n" for k, t in enumerate(made.beats_s))
    song = Song("song.flac", heard, read_beats_csv("time_s,count\n" + rows))
    sound, beats = clip_sound(OFFSET_S)
    grid = heard_beats(moved_by(sound, clapper()), None, None, song, SETTINGS)
    assert grid.source == "song"
    assert median_off(grid, beats) == pytest.approx(0.0, abs=0.015)
    assert grid.counts[np.argmin(np.abs(grid.times_s - beats[3]))] == 1
    assert grid.first_count_s == pytest.approx(beats[3], abs=0.015)
    # without the file the beats are those heard in the song
    grid = heard_beats(moved_by(sound, clapper()), None, None, Song("song.flac", heard, None), SETTINGS)
    assert grid.source == "song"
    assert median_off(grid, beats) == pytest.approx(0.0, abs=0.015)


def test_a_song_that_is_not_there_is_said_and_the_sound_is_used():
    other = make("waltz", 9, beats=40)
    song_sound = Sound(other.samples, RATE_HZ, 0.0)
    song = Song("waltz.mp3", Heard(curve_of(song_sound), tones_of(song_sound)), None)
    sound, beats = clip_sound()
    grid = heard_beats(moved_by(sound, clapper(())), None, None, song, SETTINGS)
    assert grid.source == "sound"
    assert median_off(grid, beats) == pytest.approx(0.0, abs=0.01)
    assert any("waltz.mp3: the song was not found in the clip's sound" in doubt for doubt in grid.doubts)


def test_a_review_from_before_songs_could_be_compared():
    sound, _ = clip_sound()
    curve = curve_of(sound)
    song = Song("a.mp3", Heard(curve, tones_of(sound)), None)
    grid = heard_beats(synced(curve, None, clapper(()), None, SETTINGS), None, None, song, SETTINGS)
    assert any("review the clip again" in doubt for doubt in grid.doubts)


def test_a_clip_without_sound():
    clip = synced(NotMeasured("the beat", "the clip has no sound"), None, clapper(), 12.0, SETTINGS)
    assert clip.offset is None
    beats = heard_beats(clip, None, None, None, SETTINGS)
    assert isinstance(beats, NotMeasured)
    assert beat_notes(beats, SETTINGS) == ["Early and late are not judged: the clip has no sound."]


def test_taps_move_once_however_often_they_are_judged():
    grid = changed(steady_grid(120.0, 1.0, 0.0, 20.0), source="taps")
    first, other = SoundOffset(50.0, 5.0, 1), SoundOffset(20.0, 5.0, 0, distance_m=6.9)
    once = on_picture_clock(grid, first)
    np.testing.assert_allclose(once.times_s, grid.times_s - 0.05)
    assert once.first_count_s == pytest.approx(0.95)
    np.testing.assert_allclose(on_picture_clock(once, first).times_s, once.times_s)
    np.testing.assert_allclose(on_picture_clock(once, other).times_s, grid.times_s - 0.02)
    back = on_picture_clock(once, None)
    np.testing.assert_allclose(back.times_s, grid.times_s)
    assert back.sound_offset is None


def test_the_lead_of_taps_is_told_and_given_beats_need_no_word_on_the_phone():
    given = steady_grid(120.0, 1.0, 0.0, 20.0)
    assert beat_notes(given, SETTINGS) == []
    assert "20 to 80 ms" in beat_notes(changed(given, source="taps"), SETTINGS)[0]
    assert isinstance(given, BeatGrid)
