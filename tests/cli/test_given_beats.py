"""Beats that a person gives: taps, a song, a distance; what stays in a stored review when it is judged again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made import made_review

from motion.clip.sound import Sound
from motion.music.counts import changed, steady_grid
from motion.music.onset_strength import onset_curve
from motion.music.pitch import tones_of
from motion.music.taps import taps_csv_text
from motion.review.settings import SETTINGS
from motion.review.watch import Watched
from motion.store.folder import read_review, write_review


def stored(folder: Path, **made: Any) -> Path:
    write_review(folder, made_review(**made), extra_arrays={}, report_html="<!doctype html><title>.</title>")
    return folder


def tapped(path: Path) -> Path:
    grid = changed(steady_grid(108.0, 0.4, 0.0, 24.0), source="taps", confidence=0.8, first_count_s=4.8444)
    path.write_text(taps_csv_text(grid), encoding="utf-8", newline="")
    return path


def test_taps_are_kept_as_taps_when_judged_again(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    assert command("recount", str(folder), "--beats", str(tapped(tmp_path / "taps.csv"))).code == 0
    first = read_review(folder)
    assert first["beats"]["source"] == "taps"
    assert first["beats"]["confidence"] == 0.8
    assert any("People tap 20 to 80 ms before the beat" in note for note in first["notes"])
    assert command("recount", str(folder)).code == 0
    again = read_review(folder)["beats"]
    assert again["source"] == "taps"
    np.testing.assert_allclose(again["times_s"], first["beats"]["times_s"], atol=1e-4)


def test_counting_at_another_speed_is_not_done_twice(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    taps = tapped(tmp_path / "taps.csv")
    assert command("recount", str(folder), "--beats", str(taps), "--count-speed", "double").code == 0
    first = read_review(folder)["beats"]
    assert first["tempo_bpm"] == pytest.approx(216.0, abs=0.1)
    assert command("recount", str(folder), "--count-speed", "double").code == 0
    assert read_review(folder)["beats"]["tempo_bpm"] == pytest.approx(216.0, abs=0.1)
    assert command("recount", str(folder)).code == 0
    assert read_review(folder)["beats"]["tempo_bpm"] == pytest.approx(108.0, abs=0.1)


def with_sound(folder: Path) -> Path:
    """A stored review whose sound ticks as its dancers do."""
    rng = np.random.default_rng(0)
    rate_hz, review = 44_100, made_review(counts=32)
    x = rng.normal(0, 0.003, round(review.clip.duration_s * rate_hz))
    for k, at in enumerate(review.beats.times_s):
        n = min(2000, len(x) - round(at * rate_hz))
        x[round(at * rate_hz) :][:n] += (0.5 if k % 4 == 0 else 0.3) * rng.normal(0, 1, n) * np.exp(-np.arange(n) / 400)
    sound = Sound(np.clip(x, -1, 1).astype(np.float32), rate_hz, 0.0)
    curve = onset_curve(sound, settings=SETTINGS.music)
    arrays = Watched(review.clip, review.landmarks, curve, {}, tones_of(sound)).arrays()
    write_review(folder, review, extra_arrays=arrays, report_html="<!doctype html><title>.</title>")
    return folder


def test_a_distance_moves_the_beats_and_is_written_down(command: Any, tmp_path: Path) -> None:
    folder = with_sound(tmp_path / "take")
    assert command("recount", str(folder)).code == 0
    here = read_review(folder)["beats"]
    assert here["source"] == "sound"
    assert "sound_offset_ms" not in here
    assert command("recount", str(folder), "--distance", "10.296").code == 0
    far = read_review(folder)["beats"]
    # 10.296 m at 343.2 m/s are 30 ms
    np.testing.assert_allclose(np.array(here["times_s"]) - far["times_s"], 0.03, atol=2e-4)
    assert far["sound_offset_ms"]["value"] == 30.0
    assert far["sound_offset_ms"]["claps"] == 0
    assert command("recount", str(folder), "--distance", "10.296").code == 0
    np.testing.assert_allclose(read_review(folder)["beats"]["times_s"], far["times_s"], atol=1e-4)


def test_the_heard_beat_comes_back_after_a_given_one(command: Any, tmp_path: Path) -> None:
    folder = with_sound(tmp_path / "take")
    assert command("recount", str(folder)).code == 0
    here = read_review(folder)["beats"]
    assert command("recount", str(folder), "--bpm", "60", "--first-count", "1").code == 0
    assert command("recount", str(folder)).code == 0
    assert read_review(folder)["beats"]["source"] == "given"  # a given beat stays
    assert command("recount", str(folder), "--heard").code == 0
    assert read_review(folder)["beats"] == here


def test_the_tones_of_a_stored_review_come_back(tmp_path: Path) -> None:
    from motion.review.watch import stored_watch
    from motion.store.folder import read_stored

    kept = read_stored(with_sound(tmp_path / "take"))
    watched = stored_watch(kept.clip, kept.landmarks, kept.arrays, {})
    assert watched.tones is not None
    np.testing.assert_array_equal(watched.arrays()["tones_levels"], kept.arrays["tones_levels"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--song", "nowhere.mp3"), "There is no song file"),
        (("--song", "a.mp3", "--bpm", "120"), "Both --bpm and --song are given"),
        (("--song", "a.mp3", "--beats", "b.csv"), "Both --beats and --song are given"),
        (("--heard", "--bpm", "120"), "Both --bpm and --heard are given"),
        (("--distance", "-3"), "--distance"),
        (("--distance", "4000"), "--distance"),
    ],
)
def test_what_cannot_be_is_refused(command: Any, tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    done = command("recount", str(stored(tmp_path / "take")), *words)
    assert done.code == 1
    assert said in done.last
    assert "Traceback" not in done.err


def test_a_song_that_is_none_and_a_bad_file_beside_it(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    song = tmp_path / "song.mp3"
    song.write_text("This is a letter.")
    done = command("recount", str(folder), "--song", str(song))
    assert (done.code, done.last) == (
        1,
        "No sound can be read from the song file 'song.mp3'. Save it as WAV, FLAC, MP3, M4A or OGG.",
    )
    (tmp_path / "song.beats.csv").write_text("time_s,count\n1,1\nsoon,2\n")
    done = command("recount", str(folder), "--song", str(song))
    assert done.code == 1
    assert "'soon' is not a time in seconds" in done.last
