"""Clips of every kind through the front door: the pictures, and their times."""

import gzip
import json
import os
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from motion.base.errors import BadInput
from motion.clip import decoder
from motion.clip.video import open_clip, pictures
from motion.review.settings import SETTINGS

DOOR = SETTINGS.clip
SHARED = Path(__file__).resolve().parents[2].parent / "shared"
EVEN = np.arange(105) / 30.0


def seen(path, clip, **stretch):
    """Times and pictures of one pass (small clips: kept here only), and the corrected clip."""
    with pictures(path, clip, settings=DOOR, **stretch) as shown:
        got = [(p.index, p.time_s, p.rgb) for p in shown]
    return got, shown.as_seen()


def corner(rgb, y, x):
    """Colour in the middle of a quarter, y and x 0 or 1: "red", "green" or "grey"."""
    h, w, _ = rgb.shape
    r, g, _ = (int(v) for v in rgb[h // 4 + y * h // 2, w // 4 + x * w // 2])
    return "red" if r > g + 80 else "green" if g > r + 80 else "grey"


@pytest.mark.parametrize(
    ("name", "coding", "round_s"),
    [
        ("h264.mp4", "libx264", 1e-4),
        ("hevc.mp4", "libx265", 1e-4),
        ("h264.mov", "libx264", 1e-4),
        ("hevc.mov", "libx265", 1e-4),
        ("h264.mkv", "libx264", 6e-4),  # mkv and webm round to milliseconds
        ("hevc.mkv", "libx265", 6e-4),
        ("vp9.webm", "libvpx-vp9", 6e-4),
        ("vp9.mkv", "libvpx-vp9", 6e-4),
        ("mjpeg.avi", "mjpeg", 1e-6),
        ("h264.avi", "libx264", 1e-6),  # with B pictures, whose times avi does not keep
        ("mjpeg.mov", "mjpeg", 1e-4),
        ("a clip with spaces – šťastný 踊り.mp4", "libx264", 1e-4),
    ],
)
def test_every_format(tmp_path, in_process, film, name, coding, round_s):
    path = film(tmp_path / name, coding, options={"cpu-used": "8", "deadline": "realtime"} if "vpx" in coding else None)
    clip = open_clip(path, settings=DOOR)
    assert (clip.name, clip.width_px, clip.height_px) == (name, 96, 64)
    assert not clip.has_sound
    assert not clip.uneven_times
    assert not clip.cut_short
    assert clip.duration_s == pytest.approx(3.5, abs=0.002)
    np.testing.assert_allclose(clip.times_s, EVEN, atol=round_s)
    got, after = seen(path, clip)
    assert [i for i, _, _ in got] == list(range(105))
    assert [t for _, t, _ in got] == clip.times_s.tolist() == after.times_s.tolist()
    assert after.damaged_pictures == 0
    for n in (0, 50, 104):
        rgb = got[n][2]
        assert rgb.shape == (64, 96, 3)
        assert rgb.dtype == np.uint8
        assert rgb.flags.c_contiguous
        assert abs(int(rgb[-8:, -8:].mean()) - (60 + n % 100)) <= 4, "this is the n-th picture"
        assert [corner(rgb, 0, 0), corner(rgb, 0, 1)] == ["red", "green"]


def test_sum_is_that_of_the_file(tmp_path, film):
    path = film(tmp_path / "a.mp4")
    import hashlib

    assert open_clip(path, settings=DOOR).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize(
    ("abcd", "shape", "where"),
    [  # the red quarter is upper left, the green one upper right before turning; where they come to lie (row, column)
        ((0, 1, -1, 0), (96, 64), {"red": (0, 1), "green": (1, 1)}),  # a quarter clockwise
        ((0, -1, 1, 0), (96, 64), {"red": (1, 0), "green": (0, 0)}),  # a quarter the other way
        ((-1, 0, 0, -1), (64, 96), {"red": (1, 1), "green": (1, 0)}),
        ((-1, 0, 0, 1), (64, 96), {"red": (0, 1), "green": (0, 0)}),  # a mirrored selfie
        ((0, 1, 1, 0), (96, 64), {"red": (0, 0), "green": (1, 0)}),  # mirrored and turned
    ],
)
def test_turned_and_mirrored(tmp_path, in_process, film, matrix, abcd, shape, where):
    path = film(tmp_path / "turned.mp4")
    matrix(path, *abcd)
    clip = open_clip(path, settings=DOOR)
    assert (clip.height_px, clip.width_px) == shape
    rgb = seen(path, clip, to_s=0.1)[0][0][2]
    assert rgb.flags.c_contiguous
    for colour, (y, x) in where.items():
        assert corner(rgb, y, x) == colour


def test_turn_set_by_the_writing_library(tmp_path, in_process, film):
    # PyAV's own set_display_rotation as the outside reference for the sign: 90 degrees anticlockwise.
    path = film(tmp_path / "turned.mov", turn_deg=90)
    clip = open_clip(path, settings=DOOR)
    rgb = seen(path, clip, to_s=0.1)[0][0][2]
    assert [corner(rgb, 1, 0), corner(rgb, 0, 0)] == ["red", "green"]


def test_pixels_that_are_not_square(tmp_path, in_process, film):
    path = film(tmp_path / "wide.mp4", pixel_shape=Fraction(4, 3))
    clip = open_clip(path, settings=DOOR)
    assert (clip.width_px, clip.height_px) == (128, 64)
    assert seen(path, clip, to_s=0.1)[0][0][2].shape == (64, 128, 3)


def test_uneven_times_are_kept(tmp_path, in_process, film):
    chance = np.random.default_rng(5)
    times = np.concatenate([[0.0], np.cumsum(chance.uniform(0.025, 0.06, 99))])
    for name in ("uneven.mp4", "uneven.mkv"):
        path = film(tmp_path / name, times_s=times)
        clip = open_clip(path, settings=DOOR)
        assert clip.uneven_times
        np.testing.assert_allclose(clip.times_s, times, atol=6e-4)
        assert [t for _, t, _ in seen(path, clip)[0]] == clip.times_s.tolist()


@pytest.mark.parametrize("name", ["late.mp4", "late.mkv"])
def test_pictures_that_begin_late_begin_at_zero(tmp_path, in_process, film, name):
    path = film(tmp_path / name, times_s=EVEN + 0.5, sound="aac")
    clip = open_clip(path, settings=DOOR)
    assert clip.first_picture_s == pytest.approx(0.5, abs=0.025)  # mkv moves everything by the sound's lead-in
    np.testing.assert_allclose(clip.times_s, EVEN, atol=1.1e-3)
    assert clip.has_sound
    assert len(seen(path, clip)[0]) == 105


@pytest.mark.parametrize("name", ["part.mp4", "part.mkv", "part.avi", "no index.mkv"])
def test_a_stretch(tmp_path, in_process, film, name):
    coding = "mjpeg" if name.endswith("avi") else "libx264"
    options = None if coding == "mjpeg" else {"g": "20"}
    path = film(tmp_path / name, coding, options=options, box_options={"live": "1"} if name.startswith("no") else None)
    clip = open_clip(path, settings=DOOR)
    got, after = seen(path, clip, from_s=2.0, to_s=2.5)
    inside = clip.times_s[(clip.times_s >= 2.0) & (clip.times_s <= 2.5)]
    assert [t for _, t, _ in got] == inside.tolist()
    assert got[0][0] == 0
    first = int(np.searchsorted(clip.times_s, 2.0))
    assert abs(int(got[0][2][-8:, -8:].mean()) - (60 + first)) <= 4
    assert after.times_s.tolist() == clip.times_s.tolist()
    assert not after.cut_short


def test_a_jump_that_lands_too_far_is_made_good(tmp_path, film, monkeypatch):
    path = film(tmp_path / "a.mp4", options={"g": "10"})
    clip = open_clip(path, settings=DOOR)
    monkeypatch.setattr(decoder, "RUN_UP_S", -1.5)  # as if the file's index were wrong: 1.5 s past what was asked
    limits = {"longest_s": 1200.0, "most_pictures": 1000}
    job = {"path": str(path), "limits": limits, "height_px": 64, "width_px": 96, "first_picture_s": 0.0, "from_s": 1.0, "to_s": 1.2}
    times = []
    decoder.pictures(job, lambda kind, number, time_s, data: times.append(time_s) if kind == "PICT" else None)
    assert times == clip.times_s[30:37].tolist()


def test_a_stretch_outside_is_refused(tmp_path, in_process, film):
    path = film(tmp_path / "a.mp4")
    clip = open_clip(path, settings=DOOR)
    for from_s, to_s in ((9.0, None), (2.0, 1.0), (-1.0, 2.0), (float("nan"), None)):
        with pytest.raises(BadInput, match="stretch"), pictures(path, clip, settings=DOOR, from_s=from_s, to_s=to_s):
            pass


def test_leaving_early_leaves_no_process(tmp_path, film):
    path = film(tmp_path / "a.mp4")
    clip = open_clip(path, settings=DOOR)
    with pictures(path, clip, settings=DOOR) as shown:
        next(shown)
        child = shown.process_id
    with pytest.raises(ProcessLookupError):
        os.kill(child, 0)
    assert shown.as_seen().times_s.tolist() == clip.times_s.tolist()
    assert not shown.as_seen().cut_short


def test_a_killed_decoder_ends_the_clip_there(tmp_path, film):
    chance = np.random.default_rng(1)
    path = film(tmp_path / "a.mp4", size=(960, 640))
    clip = open_clip(path, settings=DOOR)
    with pictures(path, clip, settings=DOOR, to_s=3.2) as shown:
        got = [next(shown).time_s for _ in range(int(chance.integers(20, 30)))]
        os.kill(shown.process_id, 9)
        got += [p.time_s for p in shown]
    after = shown.as_seen()
    assert 20 <= len(got) < 105
    assert after.cut_short
    assert after.times_s.tolist() == got
    assert after.duration_s == pytest.approx(got[-1] + 1 / 30, abs=1e-3)


def test_a_stuck_decoder_is_ended(tmp_path, film):
    path = film(tmp_path / "a.mp4", size=(960, 640))
    clip = open_clip(path, settings=DOOR)
    with pictures(path, clip, settings=replace(DOOR, hang_s=5.0)) as shown:
        next(shown)
        os.kill(shown.process_id, 19)  # SIGSTOP: alive, silent
        rest = sum(1 for _ in shown)
    with pytest.raises(ProcessLookupError):  # ended, and waited for
        os.kill(shown.process_id, 0)
    assert rest < 104
    assert shown.as_seen().cut_short


def test_a_decoder_out_of_memory_is_not_our_crash(tmp_path, film):
    path = film(tmp_path / "a.mp4")
    clip = open_clip(path, settings=DOOR)
    with pictures(path, clip, settings=replace(DOOR, memory_mb=64)) as shown:
        assert sum(1 for _ in shown) < 105
    assert shown.as_seen().cut_short


def test_memory_does_not_grow_with_the_clip(tmp_path, film):
    # 400 pictures of 1.4 MB (as decoded) are 550 MB; the decoder's process alone needs about 300 MB of address space.
    path = film(tmp_path / "a.mp4", times_s=np.arange(400) / 30.0, size=(1280, 720), options={"preset": "ultrafast"})
    clip = open_clip(path, settings=DOOR)
    with pictures(path, clip, settings=replace(DOOR, memory_mb=450)) as shown:
        assert sum(1 for _ in shown) == 400
    assert not shown.as_seen().cut_short


@pytest.mark.slow
def test_clips_with_truth():
    if not (SHARED / "clips").is_dir():
        pytest.skip("the clips with truth are not beside this checkout")
    for name in ("turned-phone", "solo-portrait", "quarter-rock"):
        with gzip.open(SHARED / "clips" / f"{name}.json.gz") as file:
            truth = json.load(file)
        path = SHARED / "clips" / f"{name}.mp4"
        clip = open_clip(path, settings=DOOR)
        assert [clip.width_px, clip.height_px] == truth["size"]
        np.testing.assert_allclose(clip.times_s, truth["frame_times"], atol=1e-5)
        assert clip.uneven_times == (name != "quarter-rock")
        with pictures(path, clip, settings=DOOR) as shown:
            assert [p.time_s for p in shown] == clip.times_s.tolist()
