"""A song of any usual format, read as sound; what is none is refused in plain words."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from motion.base.errors import BadInput, ClipMissing
from motion.clip.sound import read_song
from motion.review.settings import SETTINGS

DOOR = SETTINGS.clip


def write(path, coding, rate_hz):
    import av

    av.logging.set_level(None)
    x = np.zeros(3 * rate_hz, np.float32)
    for at in (0.5, 2.0):
        x[round(at * rate_hz) :][:60] = 0.8
    with av.open(str(path), "w") as box:
        stream = box.add_stream(coding, rate=rate_hz, layout="mono")
        kind = next(f.name for f in stream.codec_context.codec.audio_formats if f.name in ("fltp", "flt", "s16", "s16p"))
        piece = av.AudioFrame.from_ndarray(x[None, :], format="fltp", layout="mono")
        piece.sample_rate, piece.pts, piece.time_base = rate_hz, 0, Fraction(1, rate_hz)
        for part in av.AudioResampler(format=kind, layout="mono", rate=rate_hz).resample(piece):
            box.mux(stream.encode(part))
        box.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(
    ("name", "coding", "rate_hz"),
    [
        ("a.wav", "pcm_s16le", 44_100),
        ("b.wav", "pcm_s16le", 22_050),
        ("a.flac", "flac", 48_000),
        ("a.mp3", "libmp3lame", 44_100),
        ("a.m4a", "aac", 44_100),
        ("a.opus", "libopus", 48_000),
    ],
)
def test_beginnings_come_back_where_a_player_has_them(tmp_path, name, coding, rate_hz):
    sound = read_song(write(tmp_path / name, coding, rate_hz), settings=DOOR)
    assert (sound.rate_hz, sound.start_s) == (44_100, 0.0)
    loud = np.flatnonzero(np.abs(sound.samples) > 0.4 * np.abs(sound.samples).max())
    begins = loud[np.concatenate([[True], np.diff(loud) > 4410])] / 44_100
    np.testing.assert_allclose(begins, [0.5, 2.0], atol=0.003)


def test_what_is_no_song(tmp_path):
    (tmp_path / "letter.mp3").write_text("This is a letter.")
    with pytest.raises(BadInput, match=r"No sound can be read from the song file 'letter\.mp3'"):
        read_song(tmp_path / "letter.mp3", settings=DOOR)
    with pytest.raises(ClipMissing):
        read_song(tmp_path / "nowhere.mp3", settings=DOOR)
    with pytest.raises(ClipMissing):
        read_song(tmp_path, settings=DOOR)


def test_a_play_list_is_no_song(tmp_path):
    write(tmp_path / "a.wav", "pcm_s16le", 44_100)
    (tmp_path / "list.m3u8").write_text("#EXTM3U\n#EXTINF:3,\na.wav\n")
    with pytest.raises(BadInput):
        read_song(tmp_path / "list.m3u8", settings=DOOR)
