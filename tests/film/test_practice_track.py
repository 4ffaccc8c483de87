"""Practice music: clicks to the sample as the file has them, and found again in a room's sound."""

from __future__ import annotations

import io
import wave

import numpy as np
import pytest
from made_music import curve_of

from motion.base.errors import BadInput, BadStore
from motion.base.options import JudgeOptions
from motion.base.types import BeatGrid, NotMeasured, Sound
from motion.clip.sound import read_song
from motion.film.practice_track import (
    beats_name,
    beats_text,
    practice_rungs,
    practice_track,
    section_of_metre,
    tune_bytes,
    write_practice_track,
)
from motion.lesson.countin import Rung
from motion.music.pitch import tones_of
from motion.music.song_alignment import Heard, find_song
from motion.music.taps import read_beats
from motion.review.judge import check_asked
from motion.review.settings import SETTINGS
from motion.timing.beat_source import Song, Synced, heard_beats

RATE, RATE_HZ = 44_100, 22_050  # of the files, and of the made rooms: half as many samples, a quarter of the time


def samples_of(data):
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(int)


@pytest.mark.parametrize(
    ("rungs", "section"),
    [([(97, 40)], 8), ([(133.7, 60)], 8), ([(84, 24)], 6), ([(72, 16), (83, 16), (160, 32)], 8)],
)
def test_clicks_in_the_file_lie_where_they_should(rungs, section):
    """The file is read back: before every click it is silent, and its first sample that is not lies at the click's time ± 1 sample."""
    tune = practice_track([Rung(*rung) for rung in rungs], section=section, music=False, voice=False)
    found = samples_of(tune_bytes(tune))
    starts = [k for k in np.flatnonzero(found) if not found[max(0, k - 400) : k].any()]
    wanted = [one.time_s * RATE for one in tune.counting.counts]
    assert len(starts) == len(wanted)
    assert np.abs(np.array(starts) - np.array(wanted)).max() <= 1


def test_clicks_under_a_band_lie_there_too(monkeypatch):
    """The file with band and clicks less the file of the band alone: what is left begins at every count ± 1 sample."""
    both = practice_track([Rung(118, 32)], voice=False)
    whole = samples_of(tune_bytes(both))
    monkeypatch.setattr("motion.film.practice_track.clicks", lambda counted: [])
    rest = whole - samples_of(tune_bytes(practice_track([Rung(118, 32)], voice=False)))
    for one in both.counting.counts:
        first = round(one.time_s * RATE)
        piece = np.abs(rest[first - 20 : first + 20]) > 20  # two files rounded to whole numbers differ by 2 at most
        assert abs(int(np.flatnonzero(piece)[0]) - 20) <= 1


def test_nothing_is_cut_off():
    for rungs, section in (([(100, 64)], 8), ([(180, 64)], 6), ([(60, 32)], 8)):
        track = practice_track([Rung(*rung) for rung in rungs], section=section).track
        assert np.abs(track.samples).max() < 0.95


def test_the_beats_file_goes_back_in():
    tune = practice_track(practice_rungs(120, 16, ladder_of=3), music=False)
    grid = read_beats(beats_text(tune.counting))
    assert list(grid.counts[:5]) == [5, 6, 7, 8, 1]
    due = [one for one in tune.counting.counts if one.running > -4]
    np.testing.assert_allclose(grid.times_s, [one.time_s for one in due], atol=1e-6)
    waltz = practice_track([Rung(90, 12)], section=6, wait_counts=12, music=False)
    assert list(read_beats(beats_text(waltz.counting), beats_per_bar=3).counts[:5]) == [4, 5, 6, 1, 2]


def heard(samples, start_s=0.0):
    sound = Sound(np.clip(samples, -1, 1).astype(np.float32), RATE_HZ, start_s)
    return Heard(curve_of(sound), tones_of(sound))


def played(tune):
    """The music at the rate of the made rooms."""
    from scipy.signal import resample_poly

    assert RATE == 2 * RATE_HZ
    return resample_poly(tune.track.samples.astype(float), 1, 2)


def room(y, rng):
    """A hall: the way itself, then echoes that die away within 0.5 s and are together half as strong."""
    from scipy.signal import fftconvolve

    t = np.arange(int(0.5 * RATE_HZ)) / RATE_HZ
    echoes = rng.standard_normal(len(t)) * np.exp(-t / 0.07) * (t > 0.004)
    echoes *= 0.5 / np.sqrt(np.sum(echoes**2))
    echoes[0] = 1.0
    return fftconvolve(y, echoes)[: len(y)]


def talk(seconds, rng):
    """Somebody talks: syllables of a buzz that glides, four in a second, with pauses."""
    y = np.zeros(int(seconds * RATE_HZ))
    at = 0.0
    while at < seconds - 1:
        t = np.arange(int(rng.uniform(0.1, 0.22) * RATE_HZ)) / RATE_HZ
        pitch = rng.uniform(100, 220) * (1 + rng.uniform(-0.5, 0.5) * t)
        buzz = sum(np.sin(2 * np.pi * n * np.cumsum(pitch) / RATE_HZ) / n for n in range(1, 12))
        first = int(at * RATE_HZ)
        y[first : first + len(t)] += buzz * np.hanning(len(t))
        at += rng.uniform(0.15, 0.35) + (rng.uniform(0.3, 1.2) if rng.random() < 0.12 else 0.0)
    return y / np.abs(y).max()


def in_a_hall(samples, speed, seed, above_db):
    """From a loudspeaker at a speed, in a room, through a phone that begins 2.3 s earlier; the music above_db over talk and noise,
    which share what is left equally."""
    from scipy.signal import butter, resample, sosfilt

    rng = np.random.default_rng(seed)
    part = resample(samples, int(len(samples) / speed))
    y = sosfilt(butter(2, [150, 6000], "bandpass", fs=RATE_HZ, output="sos"), room(part, rng))
    loud = y.std() * 10 ** (-above_db / 20) / np.sqrt(2)
    y = np.concatenate([np.zeros(int(2.3 * RATE_HZ)), y, np.zeros(RATE_HZ)])
    speech = talk(len(y) / RATE_HZ + 1, rng)[: len(y)]
    y = y + loud * (speech / speech.std() + rng.normal(0, 1, len(y)))
    return 0.8 * y / np.abs(y).max()


@pytest.mark.parametrize(
    ("rungs", "section", "wait", "speed", "above_db"),
    [([(104, 40)], 8, 16, 1.0, 3.0), ([(92, 36)], 6, 0, 0.99, 6.0), ([(84, 16), (120, 16)], 8, 0, 1.0, 6.0)],
)
def test_a_clip_danced_to_it_is_counted_by_it(rungs, section, wait, speed, above_db):
    """Found in a room with talk and noise: every beat within 10 ms, every count the same, count 1 where it was played."""
    tune = practice_track([Rung(*rung) for rung in rungs], section=section, wait_counts=wait, seed=5)
    metre = 3 if section == 6 else 4
    song = Song("practice.wav", heard(played(tune)), read_beats(beats_text(tune.counting), beats_per_bar=metre))
    clip = heard(in_a_hall(played(tune), speed, 7, above_db))
    grid = heard_beats(Synced(clip.curve, clip.tones, None), None, None, song, SETTINGS)
    assert isinstance(grid, BeatGrid), grid
    assert grid.source == "song"
    there_s = 2.3 + song.beats.times_s / speed
    nearest = [int(np.argmin(np.abs(there_s - t))) for t in grid.times_s]
    assert len(grid.times_s) >= len(there_s) - 4
    np.testing.assert_allclose(grid.times_s, there_s[nearest], atol=0.010)
    np.testing.assert_array_equal(grid.counts, song.beats.counts[nearest])
    first = next(one.time_s for one in tune.counting.counts if one.running == 1)
    assert grid.first_count_s == pytest.approx(2.3 + first / speed, abs=0.010)
    assert not any("repeats itself" in doubt for doubt in grid.doubts)


def test_another_tune_at_the_same_tempo_is_not_taken_for_it():
    one, other = (played(practice_track([Rung(104, 32)], seed=seed)) for seed in (1, 2))
    found = find_song(heard(in_a_hall(one, 1.0, 3, 6.0)), heard(other), settings=SETTINGS.practice)
    assert isinstance(found, NotMeasured)


def test_files_whole_or_not_at_all(tmp_path):
    tune = practice_track([Rung(100, 8)], music=False)
    beats = write_practice_track(tmp_path / "slow.wav", tune)
    assert beats.name == "slow.beats.csv" == beats_name("slow.wav")
    assert (tmp_path / "slow.wav").read_bytes() == tune_bytes(tune)
    assert beats.read_text(encoding="utf-8").startswith("time_s,count")
    with pytest.raises(BadInput, match=r"does not end in \.wav"):
        write_practice_track(tmp_path / "slow.mp3", tune)
    with pytest.raises(BadStore, match="cannot be written"):
        write_practice_track(tmp_path / "no" / "slow.wav", tune)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["slow.beats.csv", "slow.wav"]


def test_nobody_elses_sound_or_beats_are_written_over(tmp_path):
    tune, again = practice_track([Rung(100, 8)], music=False), practice_track([Rung(110, 8)], music=False)
    write_practice_track(tmp_path / "mine.wav", tune)
    write_practice_track(tmp_path / "mine.wav", again)  # music made here may be made anew
    assert (tmp_path / "mine.wav").read_bytes() == tune_bytes(again)
    (tmp_path / "song.wav").write_bytes(b"RIFF, a song")
    (tmp_path / "tapped.beats.csv").write_text("# source: taps\r\ntime_s,count\r\n1,1\r\n2,2\r\n", encoding="utf-8")
    (tmp_path / "noted.wav").write_bytes(tune_bytes(tune))
    (tmp_path / "noted.beats.csv").write_text("time_s,count\n1,1\n2,2\n", encoding="utf-8")
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    for name in ("song.wav", "tapped.wav", "noted.wav"):
        with pytest.raises(BadInput, match=r"is already there.*another name"):
            write_practice_track(tmp_path / name, tune)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


def test_a_review_takes_both_files(tmp_path):
    """As `--song` reads them: the sound sample for sample, the beats from the file beside it."""
    tune = practice_track([Rung(100, 16)])
    write_practice_track(tmp_path / "slow.wav", tune)
    check_asked(JudgeOptions(song=tmp_path / "slow.wav"))
    read = read_song(tmp_path / "slow.wav", settings=SETTINGS.clip)
    assert read.rate_hz == RATE
    assert read.start_s == 0
    np.testing.assert_allclose(read.samples, tune.track.samples, atol=2e-4)
    (tmp_path / "slow.beats.csv").write_text("no beats at all", encoding="utf-8")
    with pytest.raises(BadInput):  # so it is this file that is read
        check_asked(JudgeOptions(song=tmp_path / "slow.wav"))


def test_metres():
    assert (section_of_metre("4/4"), section_of_metre("3/4")) == (8, 6)
    with pytest.raises(BadInput, match="'5/4' is no metre"):
        section_of_metre("5/4")
