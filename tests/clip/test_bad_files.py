"""Files that are no clips, or no longer whole: one plain sentence each, in good time, and nothing hangs or crashes."""

import os
import struct
from dataclasses import replace

import numpy as np
import pytest
from broken_files import broken, look_through

from motion.base.errors import ClipMissing, ClipTooLong, ClipTooShort, ClipUnreadable
from motion.clip.video import open_clip, pictures
from motion.review.settings import SETTINGS

DOOR = SETTINGS.clip
LONG = {"times_s": np.arange(240) / 30.0, "options": {"g": "30"}, "sound": "aac"}


def refused(path, kind, words):
    with pytest.raises(kind) as caught:
        open_clip(path, settings=DOOR)
    said = str(caught.value)
    assert words in said
    assert path.name in said
    assert said.endswith(".")
    assert len(said) < 240
    for jargon in ("Errno", "Traceback", "codec", "stream", "pts", "0x", "None", "process"):
        assert jargon not in said


def test_no_such_file(tmp_path):
    refused(tmp_path / "gone.mp4", ClipMissing, "no file 'gone.mp4'")


def test_a_folder(tmp_path):
    (tmp_path / "folder.mp4").mkdir()
    refused(tmp_path / "folder.mp4", ClipMissing, "is a folder")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"one two three four\n" * 200, "cannot be read as a video"),
        (b"\0" * 100_000, "cannot be read as a video"),
        (bytes(range(256)) * 400, "cannot be read as a video"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 500, "cannot be read as a video"),
    ],
)
def test_no_video(tmp_path, data, words):
    path = tmp_path / "clip.mp4"
    path.write_bytes(data)
    refused(path, ClipUnreadable, words)


@pytest.mark.parametrize(
    "text",
    [
        "#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\n{0}\n#EXT-X-ENDLIST\n",
        "ffconcat version 1.0\nfile {0}\n",
    ],
)
def test_a_list_that_names_another_file_is_not_followed(tmp_path, film, text):
    film(tmp_path / "a.mp4")
    path = tmp_path / "list.mp4"
    path.write_text(text.format("a.mp4"))
    refused(path, ClipUnreadable, "cannot be read as a video")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_named_pipe_does_not_hang(tmp_path):
    os.mkfifo(tmp_path / "pipe.mp4")
    refused(tmp_path / "pipe.mp4", ClipUnreadable, "not an ordinary file")


def test_sound_alone(tmp_path):
    import av

    path = tmp_path / "song.mp4"
    with av.open(str(path), "w") as box:
        audio = box.add_stream("aac", rate=44_100)
        audio.layout = "mono"
        for k in range(200):
            frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
            frame.sample_rate, frame.pts = 44_100, 1024 * k
            box.mux(audio.encode(frame))
        box.mux(audio.encode())
    refused(path, ClipUnreadable, "no moving pictures")


def test_one_second(tmp_path, film):
    refused(film(tmp_path / "short.mp4", times_s=np.arange(30) / 30.0), ClipTooShort, "lasts 1.0 s")


def test_one_picture(tmp_path, film):
    refused(film(tmp_path / "still.mp4", times_s=np.zeros(1)), ClipTooShort, "a single picture")


def test_three_hours(tmp_path, film):
    times = np.arange(0.0, 3 * 3600.0, 2.0)
    cheap = {"preset": "ultrafast"}
    for name, more in (("long.mp4", {}), ("long.mkv", {}), ("silent about it.mkv", {"box_options": {"live": "1"}})):
        refused(film(tmp_path / name, times_s=times, options=cheap, **more), ClipTooLong, "longer than 20 minutes")
    data = bytearray((tmp_path / "long.mkv").read_bytes())
    at = data.find(b"\x44\x89\x88") + 3  # the Duration element (Matroska, RFC 9559): an 8-byte float, in milliseconds
    assert struct.unpack(">d", data[at : at + 8])[0] == pytest.approx(3 * 3.6e6, rel=0.01)
    data[at : at + 8] = struct.pack(">d", 9000.0)
    (tmp_path / "lies.mkv").write_bytes(bytes(data))
    refused(tmp_path / "lies.mkv", ClipTooLong, "longer than 20 minutes")


def test_limits_of_size(tmp_path, film):
    path = film(tmp_path / "a.mp4")
    for limit, words in (
        ({"largest_bytes": 1000}, "GB"),
        ({"most_pictures": 50}, "more than 50 pictures"),
        ({"largest_side_px": 80}, "than 80 pixels"),
    ):
        with pytest.raises(ClipTooLong, match=words):
            open_clip(path, settings=replace(DOOR, **limit))


@pytest.mark.parametrize("name", ["cut.mp4", "cut.mkv", "cut.avi", "cut.mov"])
def test_cut_off_half_way_goes_as_far_as_it_goes(tmp_path, film, name):
    coding = "mjpeg" if name.endswith("avi") else "libx264"
    front = {"movflags": "faststart"} if name[-3:] in ("mp4", "mov") else {}
    path = film(
        tmp_path / name,
        coding,
        times_s=np.arange(240) / 30.0,
        box_options=front,
        sound="pcm_s16le" if name.endswith("avi") else "aac",
    )
    whole = open_clip(path, settings=DOOR)
    assert not whole.cut_short
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 8 // 10])
    clip = open_clip(path, settings=DOOR)
    assert clip.cut_short
    n = len(clip.times_s)
    assert 90 < n < 220
    assert clip.times_s[: n - 3].tolist() == whole.times_s[: n - 3].tolist()  # of the last few, some lean on pictures that are gone
    assert set(clip.times_s) <= set(whole.times_s)
    with pictures(path, clip, settings=DOOR) as shown:
        got = [p.time_s for p in shown]
    assert n - 3 <= len(got) <= n
    assert shown.as_seen().times_s.tolist() == got
    assert shown.as_seen().cut_short


def test_cut_before_its_table_of_contents(tmp_path, film):
    path = film(tmp_path / "half.mp4", **LONG)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    refused(path, ClipUnreadable, "cannot be read as a video")


def test_damaged_pictures_are_counted_and_left_out(tmp_path, film):
    import av

    path = film(tmp_path / "a.avi", "mjpeg", times_s=np.arange(120) / 30.0)
    data = bytearray(path.read_bytes())
    with av.open(str(path)) as box:
        spots = [(p.pos, p.size) for p in box.demux(video=0) if p.size]
    for n in (20, 50):
        at, size = spots[n]
        data[at + 16 : at + size] = bytes(size - 16)  # whether `at` is the chunk's head or its data, the next chunk stays whole
    path.write_bytes(bytes(data))
    clip = open_clip(path, settings=DOOR)
    assert len(clip.times_s) == 120
    with pictures(path, clip, settings=DOOR) as shown:
        times = [p.time_s for p in shown]
    after = shown.as_seen()
    assert after.damaged_pictures == 2
    np.testing.assert_allclose(after.times_s, np.delete(np.arange(120), [20, 50]) / 30.0, atol=1e-9)
    assert times == after.times_s.tolist()
    assert not after.cut_short


NAMES = ("v.mp4", "v.mkv", "v.avi", "v.webm", "v.mov", "front.mp4")


@pytest.fixture(scope="module")
def whole_files(tmp_path_factory, film):
    folder = tmp_path_factory.mktemp("whole")
    quick = {"cpu-used": "8", "deadline": "realtime"}
    film(folder / "v.mp4", sound="aac", options={"g": "15"})
    film(folder / "front.mp4", "libx265", sound="aac", box_options={"movflags": "faststart"})
    film(folder / "v.mov", "mjpeg", sound="pcm_s16le")
    film(folder / "v.mkv", sound="aac", options={"g": "15"})
    film(folder / "v.webm", "libvpx-vp9", sound="libopus", rate_hz=48_000, options=quick)
    film(folder / "v.avi", "mjpeg", sound="pcm_s16le")
    return folder


@pytest.mark.parametrize("seed", [pytest.param(n, marks=[pytest.mark.slow] if n % 4 else []) for n in range(60)])
def test_broken_at_random(tmp_path, whole_files, seed):
    """Through the child, every one: the decoder does crash over some of them."""
    path = tmp_path / NAMES[seed % len(NAMES)]
    path.write_bytes(broken((whole_files / path.name).read_bytes(), seed))
    look_through(path)
