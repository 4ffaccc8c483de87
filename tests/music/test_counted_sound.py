"""The counted sound: every click where its count is, pitch as it was, length as asked for, read back from the file."""

from __future__ import annotations

import io
import wave

import numpy as np
import pytest

from motion.base.errors import BadInput, BadStore
from motion.base.types import NotMeasured, Sound, SoundOffset
from motion.music.counted_sound import HIGH_HZ, LOW_HZ, RATE_HZ, counted_track, wav_bytes, write_wav
from motion.music.counts import changed, steady_grid, with_first_count
from motion.music.speech import WORDS, spoken_count
from motion.music.time_stretch import stretched
from motion.review.settings import SETTINGS

S = SETTINGS.practice
GRID = with_first_count(steady_grid(117.0, 3.2, 0.0, 20.0), 3.2)


def read(content):
    with wave.open(io.BytesIO(content)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767, file.getframerate()


def clicks(samples, rate):
    """Times at which silence ends."""
    loud = np.flatnonzero(np.abs(samples) > 0.02)
    return loud[np.concatenate([[True], np.diff(loud) > 0.05 * rate])] / rate


@pytest.mark.parametrize("speed", [1.0, 0.75, 0.5])
@pytest.mark.parametrize("low", [False, True])
def test_clicks_come_back_at_the_counts(speed, low):
    made = counted_track(None, GRID, speed=speed, low=low, voice=False, settings=S)
    found = clicks(*read(wav_bytes(made)))
    gap = 60 / 117.0 / speed
    counts = np.sum(GRID.times_s >= 3.19)
    # by hand: a breath, four counts ahead, then every count
    expected = S.count_silence_s + gap * np.arange(4 + counts)
    np.testing.assert_allclose(found, expected, atol=0.001)
    np.testing.assert_allclose(made.times_s, expected, atol=1e-9)
    assert made.counts[:6].tolist() == [5, 6, 7, 8, 1, 2]


def test_from_any_count():
    made = counted_track(None, GRID, from_count=11, voice=False, settings=S)
    assert made.counts[:7].tolist() == [5, 6, 7, 8, 3, 4, 5]
    assert len(made.counts) == 4 + int(np.sum(GRID.times_s >= 3.19)) - 10


def test_a_waltz_is_counted_in_by_four_five_six():
    grid = with_first_count(steady_grid(100.0, 2.0, 0.0, 20.0, beats_per_bar=3), 2.0)
    assert counted_track(None, grid, voice=False, settings=S).counts[:8].tolist() == [4, 5, 6, 1, 2, 3, 4, 5]


def tone(length_s=21.0):
    t = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    return Sound((0.3 * np.sin(2 * np.pi * 440 * t) + 0.2 * np.sin(2 * np.pi * 1000 * t)).astype(np.float32), RATE_HZ, 0.0)


def peak_hz(x, low, high):
    size = np.abs(np.fft.rfft(x * np.hanning(len(x))))
    f = np.fft.rfftfreq(len(x), 1 / RATE_HZ)
    inside = (f > low) & (f < high)
    return f[inside][np.argmax(size[inside])]


@pytest.mark.parametrize("speed", [0.75, 0.5])
def test_slower_is_longer_and_no_lower(speed):
    x = tone(6.0).samples
    y = stretched(x, speed, RATE_HZ, settings=S)
    assert len(y) == round(len(x) / speed)
    assert y.std() == pytest.approx(x.std(), rel=0.02)
    for low, high, pitch in ((300, 600, 440), (800, 1300, 1000)):
        assert peak_hz(y, low, high) == pytest.approx(pitch, rel=0.01)


def test_slower_keeps_every_moment_in_its_place():
    """A tone that changes pitch at 2 s does so at 4 s when half as fast."""
    t = np.arange(4 * RATE_HZ) / RATE_HZ
    x = (0.3 * np.sin(2 * np.pi * np.where(t < 2, 300, 900) * t)).astype(np.float32)
    y = stretched(x, 0.5, RATE_HZ, settings=S)
    pieces = y[: len(y) // 441 * 441].reshape(-1, 441)
    high = np.array([np.mean(np.diff(np.signbit(p))) for p in pieces]) > 2 * 600 / RATE_HZ
    assert np.argmax(high) * 0.01 == pytest.approx(4.0, abs=0.03)


def test_full_speed_leaves_the_sound_alone():
    x = tone(1.0).samples
    np.testing.assert_array_equal(stretched(x, 1.0, RATE_HZ, settings=S), x)


@pytest.mark.parametrize("speed", [1.0, 0.5])
def test_the_clips_own_clicks_fall_under_the_counts(speed):
    """A sound that clicks on every beat, counted: both clicks lie together, also where sound and picture differ."""
    late = SoundOffset(120.0, 3.0, 2)
    x = np.zeros(21 * RATE_HZ, np.float32)
    for at in GRID.times_s + 0.12:
        x[round(at * RATE_HZ) :][:400] = 0.5 * np.sin(np.arange(400) * 0.3)
    made = counted_track(Sound(x, RATE_HZ, 0.0), changed(GRID, sound_offset=late), speed=speed, voice=False, settings=S)
    alone = counted_track(None, GRID, speed=speed, voice=False, settings=S)
    music = made.samples.copy()
    music[: len(alone.samples)] -= alone.samples[: len(music)]
    assert not np.any(np.abs(music[: round(made.music_s * RATE_HZ)]) > 1e-3)  # counted in over silence
    found = clicks(music / np.abs(music).max() * 0.5, RATE_HZ)
    for at in made.times_s[5:-1]:
        assert np.min(np.abs(found - at)) < (0.001 if speed == 1.0 else S.stretch_seek_s + S.stretch_frame_s)


def test_low_clicks_are_low():
    for low, pitch in ((False, HIGH_HZ), (True, LOW_HZ)):
        made = counted_track(None, GRID, low=low, voice=False, settings=S)
        at = round(made.times_s[5] * RATE_HZ)  # count 2: count 1 is higher
        assert peak_hz(np.pad(made.samples[at : at + 4000], (0, 40_000)), 200, 4000) == pytest.approx(pitch, rel=0.06)


def test_no_sample_is_beyond_full_scale_and_the_clip_stays_under():
    made = counted_track(tone(), GRID, settings=S)
    assert np.abs(made.samples).max() <= 1.0
    between = made.samples[round((made.times_s[-1] + 0.45) * RATE_HZ) :]
    assert np.abs(between).max(initial=0.0) <= S.under_count + 1e-6


def test_numbers_are_told_apart_and_begin_their_vowel_where_they_say():
    shapes = []
    for count in WORDS:
        word, vowel_s = spoken_count(count, RATE_HZ, np.random.default_rng(count))
        assert np.abs(word).max() == pytest.approx(1.0)
        assert 0.15 < len(word) / RATE_HZ <= 0.5
        after, before = word[round(vowel_s * RATE_HZ) :][: RATE_HZ // 20], word[: round(vowel_s * RATE_HZ)]
        assert after.std() > (before.std() if len(before) else 0.0)
        # loudness in 1/3-octave-like bands over five parts of the word
        parts = [np.log(np.abs(np.fft.rfft(p, 4096))[8:380].reshape(12, 31).mean(axis=1) + 1e-3) for p in np.array_split(word, 5)]
        shapes.append(np.concatenate(parts))
    shapes = np.array(shapes)
    apart = np.sqrt(((shapes[:, None] - shapes[None]) ** 2).mean(axis=2))
    assert apart[~np.eye(8, dtype=bool)].min() > 0.5


def test_fast_counts_are_spoken_faster_and_not_cut():
    word, _ = spoken_count(7, RATE_HZ, np.random.default_rng(0), longest_s=0.2)
    assert len(word) / RATE_HZ <= 0.2
    assert np.abs(word[-40:]).max() < 0.1


def test_the_same_every_time():
    assert wav_bytes(counted_track(tone(), GRID, settings=S)) == wav_bytes(counted_track(tone(), GRID, settings=S))


@pytest.mark.parametrize("count", [60, 1000])
def test_past_the_end_there_is_nothing_to_count(count):
    found = counted_track(None, GRID, from_count=count, settings=S)
    assert isinstance(found, NotMeasured)
    assert str(count) in found.why


def test_what_cannot_be():
    with pytest.raises(BadInput):
        counted_track(None, GRID, from_count=0, settings=S)
    with pytest.raises(BadInput):
        counted_track(None, GRID, speed=3.0, settings=S)


def test_written_whole_or_not_at_all(tmp_path):
    made = counted_track(None, GRID, settings=S)
    write_wav(tmp_path / "a.wav", made)
    assert (tmp_path / "a.wav").read_bytes() == wav_bytes(made)
    with pytest.raises(BadStore):
        write_wav(tmp_path / "nowhere" / "a.wav", made)
    with pytest.raises(BadInput):
        write_wav(tmp_path / "a.mp3", made)
    assert [p.name for p in tmp_path.iterdir()] == ["a.wav"]
