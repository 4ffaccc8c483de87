"""Bad input: exit code 1, one or two plain sentences, nothing written, no traceback, at once."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT.parent / "shared"
SHEET = "# title: Try\n# counts: 4\n# walls: 1\ncount,foot,move,turn\n1,R,side,\n2,L,together,\n3,R,side,\n4,L,touch,\n"


def refused(said: Any, *words: str) -> None:
    assert said.code == 1, said
    assert said.out == ""
    assert "Traceback" not in said.err
    last = said.last
    assert last.endswith("."), last
    assert 1 <= len(re.findall(r"[.!?](?:\s|$)", last)) <= 3, last  # a file's name may hold a point of its own
    assert len(last) < 320
    assert not re.search(r"\b(None|Errno|errno|Error|exception|argv|tuple|decode)\b", last), last
    for word in words:
        assert word in last, last


def _all(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*"))


def tried(command: Callable[..., Any], folder: Path, *words: object) -> Any:
    """Run the command; it must leave the folder as it was."""
    before = _all(folder)
    said = command(*words)
    assert _all(folder) == before
    return said


# --- the clip


def test_no_such_file(command: Any, tmp_path: Path) -> None:
    refused(tried(command, tmp_path, "review", tmp_path / "lesson.mp4"), "lesson.mp4", "no file")


def test_a_folder(command: Any, tmp_path: Path) -> None:
    (tmp_path / "lessons").mkdir()
    refused(tried(command, tmp_path, "review", tmp_path / "lessons"), "lessons", "folder")


def test_an_empty_file(command: Any, tmp_path: Path) -> None:
    (tmp_path / "lesson.mp4").touch()
    refused(tried(command, tmp_path, "review", tmp_path / "lesson.mp4"), "lesson.mp4", "empty")


def test_a_text_named_mp4(command: Any, tmp_path: Path) -> None:
    (tmp_path / "lesson.mp4").write_text("step touch step touch\n" * 500)
    refused(tried(command, tmp_path, "review", tmp_path / "lesson.mp4"), "lesson.mp4")


def test_no_moving_pictures(command: Any, tmp_path: Path, make: Any) -> None:
    make.sound_only(tmp_path / "song.mp4")
    refused(tried(command, tmp_path, "review", tmp_path / "song.mp4"), "song.mp4", "no moving pictures")


def test_one_second(command: Any, tmp_path: Path, make: Any) -> None:
    make.encode(tmp_path / "blink.mp4", seconds=1.0)
    refused(tried(command, tmp_path, "review", tmp_path / "blink.mp4"), "blink.mp4", "at least 3 s")


def test_three_hours(command: Any, tmp_path: Path, make: Any) -> None:
    """A picture every ten seconds: as long as a film, and quickly made."""
    make.encode(tmp_path / "film.mp4", seconds=3 * 3600, rate_hz=0.1, paint=lambda n: np.full((16, 16, 3), n % 200, np.uint8))
    refused(tried(command, tmp_path, "review", tmp_path / "film.mp4"), "film.mp4", "minutes")


def test_a_name_in_other_letters_with_spaces_is_named_as_it_is(command: Any, tmp_path: Path) -> None:
    name = "Übung 練習 ночь (2).mp4"
    (tmp_path / name).touch()
    refused(tried(command, tmp_path, "review", tmp_path / name), name)


def test_a_name_that_is_no_unicode(command: Any, tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.mp4"))
    try:
        path.touch()
    except (OSError, ValueError):
        pytest.skip("this disk stores no such names")
    said = subprocess.run(
        [sys.executable, "-m", "motion", "review", os.fsencode(path)], capture_output=True, cwd=ROOT, timeout=30, check=False
    )
    assert said.returncode == 1
    assert b"Traceback" not in said.stderr
    assert b"empty" in said.stderr


# --- the sheet


def test_a_sheet_with_a_bad_row(command: Any, tmp_path: Path, clip: Path) -> None:
    sheet = tmp_path / "try.csv"
    sheet.write_text(SHEET.replace("2,L,together,", "2,L,jump rope,"))
    said = tried(command, tmp_path, "review", clip, "--dance", sheet, "--out", tmp_path / "out")
    refused(said, "jump rope")
    assert re.search(r"[Rr]ow 6\b", said.last), said.last
    assert "together" in said.last or "side" in said.last or "such as" in said.last, f"does not say what is allowed: {said.last}"


def test_a_sheet_whose_counts_do_not_add_up(command: Any, tmp_path: Path, clip: Path) -> None:
    sheet = tmp_path / "try.csv"
    sheet.write_text(SHEET.replace("# counts: 4", "# counts: 8"))
    refused(tried(command, tmp_path, "review", clip, "--dance", sheet, "--out", tmp_path / "out"), "8")


def test_no_such_sheet(command: Any, tmp_path: Path, clip: Path) -> None:
    refused(tried(command, tmp_path, "review", clip, "--dance", tmp_path / "no.csv", "--out", tmp_path / "out"), "no.csv")


# --- what is asked


@pytest.fixture
def not_watched(monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(*_: Any, **__: Any) -> Any:
        raise AssertionError("the slow part had begun")

    monkeypatch.setattr("motion.review.watch.watch", slow)


@pytest.mark.usefixtures("not_watched")
@pytest.mark.parametrize(
    ("words", "named"),
    [
        (["--beats", "no.csv"], "no.csv"),
        (["--bpm", "120"], "--first-count"),
        (["--bpm", "1000", "--first-count", "2"], "--bpm"),
        (["--bpm", "nan", "--first-count", "2"], "--bpm"),
        (["--bpm", "120", "--first-count", "inf"], "--first-count"),
        (["--dancers", "0"], "--dancers"),
        (["--dancers", "1000"], "--dancers"),
        (["--starting-wall", "0"], "--starting-wall"),
        (["--first-count", "9"], "--first-count is 9 s, but the clip 'clip.mp4' lasts"),
        (["--bpm", "120", "--first-count", "2", "--beats", "beats.csv"], "--beats"),
    ],
    ids=" ".join,
)
def test_what_cannot_be_is_refused_before_the_slow_part(
    command: Any, tmp_path: Path, clip: Path, words: list[str], named: str
) -> None:
    refused(tried(command, tmp_path, "review", clip, *words, "--out", tmp_path / "out"), named)


@pytest.mark.usefixtures("not_watched")
def test_a_beats_file_with_a_bad_row_is_refused_before_the_slow_part(command: Any, tmp_path: Path, clip: Path) -> None:
    (tmp_path / "beats.csv").write_text("time_s,count\n1.0,1\nsoon,2\n")
    said = tried(command, tmp_path, "review", clip, "--beats", tmp_path / "beats.csv", "--out", tmp_path / "out")
    refused(said, "Row 3", "soon")


@pytest.mark.usefixtures("not_watched")
def test_a_song_without_sound_is_refused_before_the_slow_part(command: Any, tmp_path: Path, clip: Path) -> None:
    (tmp_path / "song.mp3").write_text("This is a letter.")
    said = tried(command, tmp_path, "review", clip, "--song", tmp_path / "song.mp3", "--out", tmp_path / "out")
    refused(said, "No sound can be read from the song file 'song.mp3'")


@pytest.mark.parametrize(
    "words", [["--from", "50"], ["--from", "3", "--to", "2"], ["--from", "-5"], ["--from", "nan"], ["--to", "nan"]], ids=" ".join
)
def test_a_stretch_outside_the_clip(command: Any, tmp_path: Path, clip: Path, words: list[str], model: None) -> None:
    refused(tried(command, tmp_path, "review", clip, "--quality", "fast", *words, "--out", tmp_path / "out"), "stretch")


# --- the place


@pytest.mark.usefixtures("not_watched")
class TestPlaces:
    """Where a review cannot be written: said before the slow part."""

    def test_other_files(self, command: Any, tmp_path: Path, clip: Path) -> None:
        (tmp_path / "homework.txt").write_text("mine")
        refused(tried(command, tmp_path, "review", clip, "--out", tmp_path), "homework.txt")
        assert (tmp_path / "homework.txt").read_text() == "mine"

    def test_a_file(self, command: Any, tmp_path: Path, clip: Path) -> None:
        (tmp_path / "out").write_text("mine")
        refused(tried(command, tmp_path, "review", clip, "--out", tmp_path / "out"), "is a file")

    def test_no_such_folder_above(self, command: Any, tmp_path: Path, clip: Path) -> None:
        refused(tried(command, tmp_path, "review", clip, "--out", tmp_path / "a" / "b" / "c"), "no folder")

    def test_a_full_disk(self, command: Any, small_disk: Path, clip: Path) -> None:
        refused(tried(command, small_disk, "review", clip, "--out", small_disk / "out"), "disk is full", "room")

    def test_a_full_disk_said_by_the_system(
        self, command: Any, tmp_path: Path, clip: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        import shutil

        usage = shutil.disk_usage(tmp_path)
        monkeypatch.setattr("shutil.disk_usage", lambda _: usage._replace(free=1000))
        refused(tried(command, tmp_path, "review", clip, "--out", tmp_path / "out"), "disk is full")

    def test_a_read_only_place(self, command: Any, small_disk: Path, clip: Path) -> None:
        subprocess.run(["mount", "-o", "remount,ro,size=64m", str(small_disk)], check=True)
        refused(tried(command, small_disk, "review", clip, "--out", small_disk / "out"), "closed to you")

    def test_a_batch_whose_folder_is_a_file(self, command: Any, tmp_path: Path, clip: Path) -> None:
        (tmp_path / "out").write_text("mine")
        said = command("batch", clip, "--out", tmp_path / "out")
        assert said.code == 1
        assert "Traceback" not in said.err
        assert "cannot be made" in said.last
        assert (tmp_path / "out").read_text() == "mine"

    def test_a_batch_into_a_read_only_place(self, command: Any, small_disk: Path, clip: Path) -> None:
        subprocess.run(["mount", "-o", "remount,ro,size=64m", str(small_disk)], check=True)
        said = command("batch", clip, "--out", small_disk / "deep" / "er")
        assert said.code == 1
        assert "cannot be made: read-only" in said.last


# --- with the pose model


@pytest.mark.slow
def test_a_picture_without_people(command: Any, tmp_path: Path, make: Any, model: None) -> None:
    make.encode(tmp_path / "noise.mp4", seconds=4, rate_hz=10, paint=make.noise)
    said = tried(command, tmp_path, "review", tmp_path / "noise.mp4", "--quality", "fast")
    refused(said, "noise.mp4", "No dancer")


@pytest.mark.slow
def test_only_half_bodies(command: Any, tmp_path: Path, make: Any, model: None) -> None:
    """The upper 45 % of a dancer's picture, cut out of a shared clip."""
    source = SHARED / "samples" / "practice-solo.mp4"
    if not source.exists():
        pytest.skip("the shared sample practice-solo.mp4 is not beside the checkout")
    import av

    with av.open(str(source)) as box:
        shown = []
        for frame in box.decode(video=0):
            rgb = frame.to_ndarray(format="rgb24")
            shown.append(np.ascontiguousarray(rgb[: rgb.shape[0] * 45 // 100 // 2 * 2]))
            if len(shown) == 120:
                break
    make.encode(tmp_path / "half.mp4", seconds=4, rate_hz=30, paint=lambda n: shown[n])
    said = tried(command, tmp_path, "review", tmp_path / "half.mp4", "--quality", "fast")
    refused(said, "half.mp4", "No dancer")
