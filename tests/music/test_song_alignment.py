"""A song is found again in a hall's sound where it was put, at the speed it was put there; another song is not."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from made_music import RATE_HZ, curve_of, in_hall, make, talk

from motion.base.types import BeatGrid, NotMeasured, Sound
from motion.music.counts import read_beats_csv, steady_grid
from motion.music.pitch import PER_OCTAVE, TONES, tones_of
from motion.music.song_alignment import Heard, SongMatch, carried, find_song
from motion.review.settings import SETTINGS

S = SETTINGS.practice


def heard(samples, start_s=0.0):
    sound = Sound(np.clip(samples, -1, 1).astype(np.float32), RATE_HZ, start_s)
    return Heard(curve_of(sound), tones_of(sound))


@cache
def song(style, seed=5, bpm=None):
    made = make(style, seed, bpm=bpm, beats=60)
    return made, heard(made.samples)


def in_a_hall(samples, from_s, to_s, speed, seed, *, before_s=2.3, noise_db=6.0, same_pitch=False):
    """A part of the song from a loudspeaker at a speed, in a room, through a phone, with talk and noise over it."""
    from scipy.signal import butter, resample, sosfilt

    rng = np.random.default_rng(seed)
    part = samples[int(from_s * RATE_HZ) : int(to_s * RATE_HZ)]
    if same_pitch:
        from motion.music.time_stretch import stretched

        part = stretched(part, speed, RATE_HZ, settings=S)
    else:
        part = resample(part, int(len(part) / speed))
    y = sosfilt(butter(2, [150, 6000], "bandpass", fs=RATE_HZ, output="sos"), in_hall(part, rng))
    y = np.concatenate([np.zeros(int(before_s * RATE_HZ)), y, np.zeros(RATE_HZ)])
    y = 0.3 * y / np.abs(y).max() + 0.25 * talk(len(y) / RATE_HZ + 1, rng)[: len(y)]
    return y + rng.normal(0, 1, len(y)) * y.std() * 10 ** (-noise_db / 20)


@pytest.mark.parametrize(
    ("style", "speed", "noise_db"),
    [("swung", 1.027, 6.0), ("waltz", 0.973, 6.0), ("drift", 0.99, 0.0), ("slow", 1.0, 0.0)],
)
def test_found_where_it_was_put(style, speed, noise_db):
    made, clean = song(style)
    length = len(made.samples) / RATE_HZ
    a, b = 0.2 * length, 0.8 * length
    clip = heard(in_a_hall(made.samples, a, b, speed, 1, noise_db=noise_db), start_s=0.1)
    found = find_song(clip, clean, settings=S)
    assert not isinstance(found, NotMeasured), found.why
    (match,) = found
    assert match.speed == pytest.approx(speed, abs=0.0005)
    inside = np.array([a, (a + b) / 2, b])
    # the room's own echoes and the phone's filter move an onset by a few milliseconds
    np.testing.assert_allclose(match.in_clip(inside), 0.1 + 2.3 + (inside - a) / speed, atol=0.008)
    # talk just before and after may pass for the song's own beginnings
    assert match.from_s == pytest.approx(2.4, abs=2.5)
    assert match.until_s == pytest.approx(2.4 + (b - a) / speed, abs=2.5)
    assert match.share > 0.8


def test_a_player_that_keeps_the_pitch():
    made, clean = song("straight")
    (match,) = find_song(heard(in_a_hall(made.samples, 4.0, 24.0, 0.975, 2, same_pitch=True)), clean, settings=S)
    assert match.speed == pytest.approx(0.975, abs=0.001)
    assert match.in_clip(np.array([4.0]))[0] == pytest.approx(2.3, abs=0.03)


@pytest.mark.parametrize("style", ["waltz", "syncopated", "slow"])
def test_another_song_of_the_same_kind_and_tempo_is_not_found(style):
    made, _ = song(style)
    clip = heard(in_a_hall(made.samples, 3.0, 25.0, 1.0, 3))
    found = find_song(clip, song(style, 6, made.bpm)[1], settings=S)
    assert isinstance(found, NotMeasured)
    assert found.why == "the song was not found in the clip's sound"


def test_noise_and_talk_hold_no_song():
    rng = np.random.default_rng(4)
    clip = heard(0.2 * talk(20.0, rng) + rng.normal(0, 0.02, len(talk(20.0, np.random.default_rng(4)))))
    assert isinstance(find_song(clip, song("straight")[1], settings=S), NotMeasured)


def test_too_short_to_tell():
    made, clean = song("straight")
    found = find_song(heard(made.samples[: 4 * RATE_HZ]), clean, settings=S)
    assert isinstance(found, NotMeasured)
    assert "too short" in found.why


def test_stopped_and_started_again():
    made, clean = song("straight")
    parts = [in_a_hall(made.samples, a, b, 1.0, k, before_s=3.0) for k, (a, b) in enumerate([(2.0, 20.0), (1.0, 16.0)])]
    found = find_song(heard(np.concatenate(parts)), clean, settings=S)
    assert len(found) == 2
    again_s = len(parts[0]) / RATE_HZ
    assert found[0].in_clip(np.array([10.0]))[0] == pytest.approx(3.0 + 8.0, abs=0.01)
    assert found[1].in_clip(np.array([10.0]))[0] == pytest.approx(again_s + 3.0 + 9.0, abs=0.01)
    assert found[0].until_s <= found[1].from_s


def test_loudness_is_of_no_account():
    made, clean = song("swung")
    quiet, loud = (find_song(heard(k * made.samples[: 25 * RATE_HZ]), clean, settings=S)[0] for k in (0.02, 1.0))
    assert quiet.start_s == pytest.approx(loud.start_s, abs=0.001)
    assert quiet.speed == pytest.approx(loud.speed, abs=1e-4)


def test_a_loop_is_found_but_said_to_repeat_itself():
    made, _ = song("straight")
    bar = made.samples[: round(16 * 60 / made.bpm * RATE_HZ)]
    looped = np.tile(bar, 6)
    (match,) = find_song(heard(looped[: len(bar) * 3]), heard(looped), settings=S)
    assert match.lead < S.song_lead
    grid = carried(steady_grid(made.bpm, 0.5, 0.0, len(looped) / RATE_HZ), (match,), settings=S)
    assert any("repeats itself" in doubt for doubt in grid.doubts)


# --- beats carried over

FAST = SongMatch(start_s=10.0, speed=1.02, from_s=9.0, until_s=40.0, sigma_ms=1.0, share=1.0, lead=2.0)


def test_beats_of_the_song_come_into_the_clips_time():
    # 120 beats a minute played 2 % fast are 122.4, and the song's second 5.1 falls at 10 + 5.1 / 1.02 = 15 s
    beats = read_beats_csv("time_s,count\n" + "".join(f"{5.1 + 0.5 * k},{k % 8 + 1}\n" for k in range(40)))
    grid = carried(beats, (FAST,), settings=S)
    assert grid.source == "song"
    assert grid.tempo_bpm == pytest.approx(122.4)
    assert grid.times_s[0] == pytest.approx(15.0)
    assert np.diff(grid.times_s) == pytest.approx(0.5 / 1.02)
    assert grid.first_count_s == pytest.approx(15.0)
    assert grid.counts[:9].tolist() == [1, 2, 3, 4, 5, 6, 7, 8, 1]
    assert grid.doubts == ()


def test_beats_outside_the_match_stay_out():
    grid = carried(steady_grid(120.0, 1.0, 0.0, 200.0), (FAST,), settings=S)
    assert grid.times_s.min() >= 9.0
    assert grid.times_s.max() <= 40.0
    nothing = carried(steady_grid(120.0, 101.0, 100.0, 200.0), (FAST,), settings=S)
    assert isinstance(nothing, NotMeasured)


def test_a_first_count_before_the_clip_is_left_open():
    late = SongMatch(start_s=-60.0, speed=1.0, from_s=0.0, until_s=30.0, sigma_ms=1.0, share=1.0, lead=2.0)
    grid = carried(steady_grid(120.0, 1.0, 0.0, 200.0), (late,), settings=S)
    assert isinstance(grid, BeatGrid)
    assert grid.first_count_s is None
    # song second 61 is 120 beats after its count 1: count 1 again, at clip second 1
    assert grid.counts[np.argmin(np.abs(grid.times_s - 1.0))] == 1


# --- tones


def test_a_tone_stands_where_it_belongs():
    t = np.arange(3 * RATE_HZ) / RATE_HZ
    levels = tones_of(Sound((0.3 * np.sin(2 * np.pi * 440 * t)).astype(np.float32), RATE_HZ, 0.0)).levels
    # 440 Hz lies 29 semitones, 58 quarter tones, above the guitar's low E of 82.4 Hz
    assert levels.shape[1] == TONES == 5 * PER_OCTAVE
    assert set(np.argmax(levels[3:-3], axis=1).tolist()) == {58}
