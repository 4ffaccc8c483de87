"""The command: exit codes, what it prints, and that judging, comparing and checking need no video."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from made import made_review

from motion import __version__
from motion.store.folder import read_review, write_review

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT.parent / "shared"
SHEETS = ROOT / "sample_clips"
NAME = "Übung 練習 ночь (2)"


def stored(folder: Path, **made: Any) -> Path:
    write_review(folder, made_review(**made), extra_arrays={}, report_html="<!doctype html><title>.</title>")
    return folder


# --- arguments


def test_the_version(command: Any) -> None:
    said = command("--version")
    assert (said.code, said.out.strip()) == (0, f"countfall {__version__}")


def test_help_names_every_command(command: Any) -> None:
    said = command("--help")
    assert said.code == 0
    for name in ("review", "recount", "compare", "check", "prepare", "open", "batch", "wallplan"):
        assert name in said.out
        one = command(name, "--help")
        assert one.code == 0
        assert len(one.out.splitlines()) > 3


@pytest.mark.parametrize(("earlier", "now"), [("judge", "recount"), ("crib", "wallplan")])
def test_earlier_names_are_still_taken_and_not_listed(command: Any, earlier: str, now: str) -> None:
    listed = [line.split()[0] for line in command("--help").out.splitlines() if line.startswith("    ") and line.strip()]
    assert now in listed
    assert earlier not in listed
    assert command(earlier, "--help").out == command(now, "--help").out
    assert command(earlier).err == command(now).err


@pytest.mark.parametrize(
    "words",
    [
        "",
        "dance",
        "review",
        "review a.mp4 b.mp4",
        "review a.mp4 --quality best",
        "review a.mp4 --bpm fast",
        "review a.mp4 --count-speed slow",
        "recount",
        "recount folder --quality fine",
        "compare one",
        "check",
        "batch",
    ],
)
def test_wrong_arguments(command: Any, words: str) -> None:
    said = command(*words.split())
    assert said.code == 2
    assert said.out == ""
    assert len(said.err.strip().splitlines()) == 1
    assert "--help" in said.err


def test_the_module_is_the_command_and_loads_nothing_that_it_does_not_need(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "motion", "--version"],
        capture_output=True, text=True, check=True, timeout=30, cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.stdout.strip() == f"countfall {__version__}"
    loaded = {line.split("|")[-1].strip().split(".")[0] for line in done.stderr.splitlines() if "|" in line}
    assert "motion" in loaded
    assert not loaded & {"numpy", "scipy", "cv2", "av", "mediapipe", "streamlit"}
    assert list(tmp_path.iterdir()) == []


# --- recount


def test_judging_again_needs_no_video_and_gives_a_whole_review(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / NAME)
    said = command("recount", folder, "--bpm", "108", "--first-count", "4.5")
    assert said.code == 0, said
    assert str(folder) in said.out
    review = read_review(folder)
    assert review["beats"]["source"] == "given"
    assert review["beats"]["tempo_bpm"] == 108.0
    assert review["dance"]["title"] == "Marking time"  # the stored sheet stays
    assert {p.name for p in folder.iterdir()} >= {
        "review.json",
        "steps.csv",
        "beats.csv",
        "angles.csv",
        "landmarks.npz",
        "report.html",
    }


def test_a_given_beat_stays_until_another_is_given(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    assert command("recount", folder, "--bpm", "100", "--first-count", "3").code == 0
    assert command("recount", folder).code == 0
    assert read_review(folder)["beats"]["tempo_bpm"] == 100.0
    assert command("recount", folder, "--bpm", "120", "--first-count", "3").code == 0
    assert read_review(folder)["beats"]["tempo_bpm"] == 120.0


def test_a_beats_file_goes_back_in(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    assert command("recount", folder, "--bpm", "100", "--first-count", "3").code == 0
    first = read_review(folder)["beats"]
    (tmp_path / "beats.csv").write_bytes((folder / "beats.csv").read_bytes())
    assert command("recount", folder, "--beats", tmp_path / "beats.csv").code == 0
    second = read_review(folder)["beats"]
    assert second["times_s"] == pytest.approx(first["times_s"], abs=1e-3)
    assert second["counts"] == first["counts"]


def test_another_sheet_is_taken(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    assert command("recount", folder, "--dance", SHEETS / "lantern.csv", "--bpm", "108", "--first-count", "4").code == 0
    assert read_review(folder)["dance"]["title"] == "Lantern"


@pytest.mark.parametrize(
    ("spoil", "said_of"),
    [
        (lambda f: None, "no review folder"),
        (lambda f: f.mkdir(), "holds no review"),
        (lambda f: (f.mkdir(), (f / "review.json").write_text("{")), "damaged"),
        (lambda f: (stored(f), (f / "landmarks.npz").unlink()), "landmarks.npz"),
        (lambda f: (stored(f), (f / "landmarks.npz").write_bytes(b"PK\x03\x04 no")), "damaged"),
    ],
    ids=["none", "empty", "garbled", "no landmarks", "garbled landmarks"],
)  # fmt: skip
def test_a_review_that_cannot_be_judged(command: Any, tmp_path: Path, spoil: Any, said_of: str) -> None:
    spoil(tmp_path / "take")
    before = sorted(tmp_path.rglob("*"))
    said = command("recount", tmp_path / "take")
    assert said.code == 1
    assert said_of in said.err
    assert len(said.err.strip().splitlines()) == 1
    assert sorted(tmp_path.rglob("*")) == before


def closed(*_: Any, **__: Any) -> Any:
    raise PermissionError(13, "Permission denied")


def test_a_folder_without_rights_is_told(command: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "clips").mkdir()
    with monkeypatch.context() as shut:
        shut.setattr(Path, "iterdir", closed)
        said = command("batch", tmp_path / "clips")
    assert (said.code, "clips cannot be read: permission denied. Check that you may open it." in said.err) == (1, True), said
    with monkeypatch.context() as shut:
        shut.setattr(Path, "is_dir", closed)  # what asking about a file answers in a folder that is closed to us
        said = command("check", tmp_path / "clips" / "mine.csv")
    assert (said.code, "mine.csv cannot be read (Permission denied)" in said.err) == (1, True), said


def test_music_from_a_number_below_nought_is_refused(command: Any, tmp_path: Path) -> None:
    said = command("tune", "--bpm", "100", "--counts", "8", "--seed", "-1", "--out", tmp_path / "t.wav")
    assert (said.code, said.last) == (1, "--seed is -1, but must lie in 0 to 999999. Give a value in 0 to 999999.")
    assert not list(tmp_path.iterdir())


def test_the_folder_that_one_is_in_may_be_named_by_a_point(command: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = stored(tmp_path / "take.review")
    monkeypatch.chdir(folder)
    assert command("release", ".").code == 0
    assert (tmp_path / "take.release.html").is_file()
    said = command("review", ".")
    assert (said.code, "'take.review' is a folder, not a clip" in said.err) == (1, True), said
    assert "'/' is a whole disk" in command("review", "/").err
    assert "take.review is a folder, not a dance sheet" in command("check", ".").err
    # Judged from inside, the folder is written anew: the one that we stand in is then no more.
    assert command("recount", ".").code == 0
    said = command("release", ".")
    assert (said.code, "no longer there" in said.err) == (1, True), said


def test_a_refused_judgement_leaves_the_review_as_it_was(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    (tmp_path / "bad.csv").write_text("count,foot,move,turn\n1,R,jump rope,\n")
    for words, said_of in (
        (["--dance", tmp_path / "bad.csv"], "jump rope"),
        (["--bpm", "100"], "--first-count"),
        (["--beats", tmp_path / "no.csv"], "no.csv"),
        (["--first-count", "600"], "--first-count is 600 s, but the clip"),
        (["--bpm", "100", "--first-count", "600"], "--first-count is 600 s, but the clip"),
        (["--own-version", "9"], "no dancer 9"),
        (["--own-version", "-1"], "no dancer -1"),
    ):
        said = command("recount", folder, *words)
        assert (said.code, said_of in said.err) == (1, True), said
        assert len(said.err.strip().splitlines()) == 1
        assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


# --- compare


def test_two_takes_side_by_side(command: Any, tmp_path: Path) -> None:
    one, two = stored(tmp_path / "one", lag_ms=60.0, seed=1), stored(tmp_path / "two", lag_ms=-40.0, seed=2)
    said = command("compare", one, two)
    assert said.code == 0
    assert "more than chance" in said.out
    assert "more than chance" in command("compare", two, one).out
    same = command("compare", one, one)
    assert same.code == 0
    assert "no difference that could not be chance" in same.out


def test_comparing_what_was_not_measured_says_why(command: Any, tmp_path: Path) -> None:
    one, two = stored(tmp_path / "one", dancers=2), stored(tmp_path / "two", sound=False)
    said = command("compare", one, two)
    assert said.code == 0
    assert "no sound" in said.out
    assert "2 and 1 dancers" in said.out
    assert "nan" not in said.out


def test_comparing_with_nothing(command: Any, tmp_path: Path) -> None:
    said = command("compare", stored(tmp_path / "one"), tmp_path / "two")
    assert said.code == 1
    assert "two" in said.err


# --- check


@pytest.mark.parametrize("sheet", sorted(SHEETS.glob("*.csv")), ids=lambda p: p.stem)
def test_the_sample_sheets_add_up(command: Any, sheet: Path) -> None:
    said = command("check", sheet)
    assert said.code == 0
    assert "error" not in said.out


def test_errors_and_doubts_of_a_sheet(command: Any, tmp_path: Path) -> None:
    good = "# counts: 4\n# walls: 1\ncount,foot,move,turn\n1,R,side,\n2,L,together,\n3,R,side,\n4,L,touch,\n"
    short = tmp_path / "short.csv"
    short.write_text(good.replace("3,R,side,\n", ""))
    said = command("check", short)
    assert said.code == 1
    assert any(line.startswith("error") for line in said.out.splitlines())
    assert said.err == ""


def test_a_sheet_that_is_not_there(command: Any, tmp_path: Path) -> None:
    said = command("check", tmp_path / "no.csv")
    assert said.code == 1
    assert said.out == ""
    assert "no.csv" in said.err


# --- batch


def test_a_batch_goes_on_after_a_bad_clip_and_says_so(command: Any, tmp_path: Path) -> None:
    (tmp_path / "a.mp4").touch()
    (tmp_path / "b.mov").write_text("text")
    (tmp_path / "notes.txt").write_text("mine")
    said = command("batch", tmp_path)
    assert said.code == 1
    assert "'a.mp4' is empty" in said.err
    assert "b.mov" in said.err
    assert "notes.txt" not in said.err
    assert "2 of 2" in said.last
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.mp4", "b.mov", "notes.txt"]


def test_a_batch_without_clips(command: Any, tmp_path: Path) -> None:
    said = command("batch", tmp_path)
    assert said.code == 1
    assert "No clip" in said.err


def test_no_two_clips_of_a_batch_have_one_review_folder(tmp_path: Path) -> None:
    from motion.cli.films import clips_named, places_for

    (tmp_path / "mon").mkdir()
    (tmp_path / "tue").mkdir()
    for name in ("mon/lesson.mp4", "mon/lesson.mov", "tue/lesson.mp4"):
        (tmp_path / name).touch()
    asked = [str(tmp_path / "mon"), str(tmp_path / "tue"), str(tmp_path / "mon" / "lesson.mp4")]
    clips = clips_named(asked)
    assert [str(clip.relative_to(tmp_path)) for clip in clips] == ["mon/lesson.mov", "mon/lesson.mp4", "tue/lesson.mp4"]
    beside = [str(place.relative_to(tmp_path)) for place in places_for(clips, None)]
    assert beside == ["mon/lesson.review", "mon/lesson.mp4.review", "tue/lesson.review"]
    together = [place.name for place in places_for(clips, tmp_path / "out")]
    assert together == ["lesson.review", "lesson.mp4.review", "lesson.mp4 2.review"]


def test_a_batch_refuses_a_bad_sheet_for_each_clip(command: Any, tmp_path: Path, clip: Path) -> None:
    (tmp_path / "bad.csv").write_text("count,foot,move,turn\n1,R,jump rope,\n")
    said = command("batch", clip, "--dance", tmp_path / "bad.csv", "--out", tmp_path / "out")
    assert said.code == 1
    assert "jump rope" in said.err


# --- from door to desk


@pytest.mark.slow
def test_a_sample_under_a_name_in_other_letters(command: Any, tmp_path: Path, model: None) -> None:
    source = SHARED / "samples" / "practice-solo.mp4"
    if not source.exists():
        pytest.skip("the shared sample practice-solo.mp4 is not beside the checkout")
    clip = tmp_path / f"{NAME}.mp4"
    clip.write_bytes(source.read_bytes())
    said = command("review", clip, "--quality", "fast", "--dancers", "1", "--from", "4", "--to", "13")
    assert said.code == 0, said
    folder = tmp_path / f"{NAME}.review"
    review = json.loads((folder / "review.json").read_text(encoding="utf-8"))
    assert review["clip"]["name"] == clip.name
    assert len(review["dancers"]) == 1
    assert len(review["dancers"][0]["steps"]) > 10
    assert sorted(p.name for p in tmp_path.iterdir()) == [clip.name, folder.name]
    assert "Following the dancers" in said.err
    # judged again with a sheet, then replaced by a second review
    assert command("recount", folder, "--count-speed", "half").code == 0
    again = json.loads((folder / "review.json").read_text(encoding="utf-8"))
    assert again["beats"]["tempo_bpm"] == pytest.approx(review["beats"]["tempo_bpm"] / 2, rel=0.01)


@pytest.mark.slow
def test_a_clip_cut_off_is_reviewed_as_far_as_it_goes(command: Any, tmp_path: Path, model: None) -> None:
    source = SHARED / "samples" / "practice-solo.mp4"
    if not source.exists():
        pytest.skip("the shared sample practice-solo.mp4 is not beside the checkout")
    import av

    whole = tmp_path / "whole.mkv"  # as a stick pulled out too early leaves it; the pictures themselves are copied
    with av.open(str(source)) as box, av.open(str(whole), "w") as out:
        kept = {s.index: out.add_stream_from_template(s) for s in box.streams if s.type in ("video", "audio")}
        for packet in box.demux():
            if packet.dts is not None and packet.stream.index in kept:
                packet.stream = kept[packet.stream.index]
                out.mux(packet)
    data = whole.read_bytes()
    whole.write_bytes(data[: len(data) * 6 // 10])
    said = command("review", whole, "--quality", "fast", "--dancers", "1", "--from", "8", "--out", tmp_path / "out")
    assert said.code == 0, said
    assert "breaks off" in said.out
