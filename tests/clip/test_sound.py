"""Clicks put into clips come back where they were put, on the pictures' clock."""

import numpy as np
import pytest

from motion.clip.sound import read_sound
from motion.clip.video import open_clip
from motion.review.settings import SETTINGS

DOOR = SETTINGS.clip
CLICKS_S = (0.6, 2.2)


def clicks(path):
    """Times of the clicks found, in seconds from the first picture, and the sound."""
    clip = open_clip(path, settings=DOOR)
    sound = read_sound(path, clip, settings=DOOR)
    assert sound, sound.why
    assert sound.samples.dtype == np.float32
    assert sound.rate_hz == 44_100
    loud = np.flatnonzero(np.abs(sound.samples) > 0.4 * np.abs(sound.samples).max())
    begins = loud[np.concatenate([[True], np.diff(loud) > 4410])]
    return sound.start_s + begins / sound.rate_hz, sound


# The muxers write the offset themselves; mp4's edit lists round to a millisecond, mkv and webm likewise.
pytestmark = pytest.mark.usefixtures("in_process")


@pytest.mark.parametrize("late_s", [0.0, 0.25])
@pytest.mark.parametrize(
    ("name", "coding", "sound", "rate_hz"),
    [
        ("a.mp4", "libx264", "aac", 44_100),
        ("b.mp4", "libx264", "aac", 48_000),
        ("a.mov", "libx265", "aac", 44_100),
        ("b.mov", "libx264", "pcm_s16le", 48_000),
        ("a.mkv", "libx264", "aac", 44_100),
        ("b.mkv", "libx264", "libmp3lame", 44_100),
        ("a.webm", "libvpx-vp9", "libopus", 48_000),
    ],
)
def test_clicks_come_back_within_2_ms(tmp_path, film, name, coding, sound, rate_hz, late_s):
    fast = {"cpu-used": "8", "deadline": "realtime"} if "vpx" in coding else None
    path = film(tmp_path / name, coding, sound=sound, rate_hz=rate_hz, sound_from_s=late_s, clicks_s=CLICKS_S, options=fast)
    found, heard = clicks(path)
    np.testing.assert_allclose(found, CLICKS_S, atol=0.002)
    assert heard.start_s == pytest.approx(late_s, abs=0.03)


def test_vorbis_in_webm(tmp_path, film):
    path = film(tmp_path / "v.webm", "libvpx-vp9", sound="vorbis", options={"cpu-used": "8", "deadline": "realtime"})
    found, _ = clicks(path)
    np.testing.assert_allclose(found, CLICKS_S, atol=0.002)


@pytest.mark.parametrize("rate_hz", [44_100, 22_050, 48_000])
def test_pcm_in_avi(tmp_path, film, rate_hz):
    found, _ = clicks(film(tmp_path / "a.avi", "mjpeg", sound="pcm_s16le", rate_hz=rate_hz))
    np.testing.assert_allclose(found, CLICKS_S, atol=0.002)


def test_mp3_in_avi_keeps_its_own_lead_in(tmp_path, film):
    # AVI stores no lead-in, so what the encoder (576) and decoder (529 samples) add stays in: late by up to 1105 + 1152 samples.
    found, _ = clicks(film(tmp_path / "a.avi", "mjpeg", sound="libmp3lame"))
    assert np.all((found - CLICKS_S > -0.002) & (found - CLICKS_S < 0.052))


def test_pictures_that_begin_after_the_sound(tmp_path, film):
    path = film(tmp_path / "a.mp4", times_s=0.5 + np.arange(105) / 30.0, sound="aac", clicks_s=CLICKS_S)
    found, heard = clicks(path)
    np.testing.assert_allclose(found, np.array(CLICKS_S) - 0.5, atol=0.002)
    assert heard.start_s == pytest.approx(-0.5, abs=0.03)


@pytest.mark.parametrize(("name", "sound"), [("a.mkv", "aac"), ("a.mkv", "pcm_s16le"), ("a.mp4", "aac")])
def test_a_gap_becomes_silence_and_shifts_nothing(tmp_path, film, name, sound):
    path = film(tmp_path / name, sound=sound, sound_gap=(1.0, 1.5), clicks_s=CLICKS_S)
    found, heard = clicks(path)
    np.testing.assert_allclose(found, CLICKS_S, atol=0.002)
    middle = slice(round((1.15 - heard.start_s) * 44_100), round((1.4 - heard.start_s) * 44_100))
    assert not heard.samples[middle].any()


def test_no_sound_is_said(tmp_path, film):
    path = film(tmp_path / "a.mp4")
    none = read_sound(path, open_clip(path, settings=DOOR), settings=DOOR)
    assert not none
    assert (none.what, none.why) == ("sound", "the clip has no sound")


def test_sound_that_vanished_is_said(tmp_path, film):
    path = film(tmp_path / "a.mp4", sound="aac")
    clip = open_clip(path, settings=DOOR)
    film(path)
    none = read_sound(path, clip, settings=DOOR)
    assert not none
    assert none.why == "the clip's sound cannot be read"


def test_a_cut_file_gives_its_sound_as_far_as_it_goes(tmp_path, film):
    path = film(tmp_path / "a.mkv", sound="aac", times_s=np.arange(240) / 30.0)
    whole, _ = clicks(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 8 // 10])
    found, heard = clicks(path)
    assert found[0] == whole[0]
    assert heard.start_s + len(heard.samples) / 44_100 < 8.0
