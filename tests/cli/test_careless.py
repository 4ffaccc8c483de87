"""What somebody careless types: numbers that are none, files in each other's place, reviews that were changed by hand. One sentence
each, and nothing is lost."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made import made_review

from motion.base.types import Sound
from motion.cli.arguments import told_beside
from motion.clip.pose_model import PoseModel
from motion.music.onset_strength import OnsetCurve, onset_curve
from motion.review.settings import SETTINGS
from motion.review.watch import _clip_notes
from motion.store.folder import write_review
from motion.store.validate import misfit

ROOT = Path(__file__).resolve().parents[2]


def stored(folder: Path, **made: Any) -> Path:
    write_review(folder, made_review(**made), extra_arrays={}, report_html="<!doctype html><title>.</title>")
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


# --- numbers


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("review a.mp4 --dancers 2.5", "'2.5' is not a whole number such as 4"),
        ("review a.mp4 --from soon", "'soon' is not a number such as 4 or 4.5"),
        ("judge take --own-version two", "'two' is not a whole number"),
        ("handout take --dancer all", "'all' is not a whole number"),
        ("tune --bpm fast --out a.wav", "'fast' is not a number"),
    ],
)
def test_what_is_no_number_is_told_in_plain_words(command: Any, words: str, said: str) -> None:
    done = command(*words.split())
    assert (done.code, said in done.last, "invalid" in done.last) == (2, True, False), done


def test_a_comma_in_a_number_is_its_point(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    assert command("recount", folder, "--bpm", "108,5", "--first-count", "4,25").code == 0
    beats = json.loads((folder / "review.json").read_text(encoding="utf-8"))["beats"]
    assert (beats["tempo_bpm"], beats["first_count_s"]) == (108.5, 4.25)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("--age 40", "this lesson is for children"),
        ("--age 9 --for adults", "--age is 9, but the pulse tables are for grown-ups, from 18"),
        ("--rows 3", "--rows is about the floor plan"),
        ("--room 10x8", "--room is about the floor plan"),
    ],
)
def test_a_wish_that_nothing_would_come_of_is_told(command: Any, tmp_path: Path, words: str, said: str) -> None:
    done = command("lesson", *words.split(), "--out", tmp_path / "lesson.html")
    assert (done.code, said in done.last, list(tmp_path.iterdir())) == (1, True, []), done


# --- reviews that were changed


def changed(folder: Path, change: Callable[[dict[str, Any]], object]) -> None:
    path = folder / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    change(review)
    path.write_text(json.dumps(review), encoding="utf-8")


CHANGES: dict[str, tuple[str, Callable[[dict[str, Any]], object]]] = {
    "no name": ("clip", lambda r: r["clip"].pop("name")),
    "a name that is a number": ("clip", lambda r: r["clip"].update(name=5)),
    "no length": ("clip", lambda r: r["clip"].pop("duration_s")),
    "no last day": ("clip", lambda r: r["clip"].pop("expires")),
    "no beats": ("beats", lambda r: r.update(beats={})),
    "a beat without its count": ("beats", lambda r: r["beats"]["counts"].pop()),
    "a dance that is a number": ("dance", lambda r: r.update(dance=5)),
    "a dance without its rows": ("dance", lambda r: r["dance"].pop("written")),
    "a dancer who is a word": ("dancers", lambda r: r.update(dancers=["x"])),
    "no number of a dancer": ("dancers", lambda r: r["dancers"][0].pop("id")),
    "no steps": ("dancers", lambda r: r["dancers"][0].pop("steps")),
    "no timing": ("dancers", lambda r: r["dancers"][0].update(timing={})),
    "half a flag": ("dancers", lambda r: r["dancers"][0].update(flags=[{}])),
    "no path": ("dancers", lambda r: r["dancers"][0].update(track={})),
    "half a wall": ("dancers", lambda r: r["dancers"][0].update(walls=[{}])),
    "notes that are none": ("notes", lambda r: r.update(notes=5)),
}  # fmt: skip


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return stored(tmp_path_factory.mktemp("takes") / "take")


@pytest.mark.parametrize("name", CHANGES)
def test_a_review_that_was_changed_is_told_with_the_part(command: Any, tmp_path: Path, take: Path, name: str) -> None:
    folder = Path(shutil.copytree(take, tmp_path / "take"))
    block, change = CHANGES[name]
    changed(folder, change)
    before = contents(tmp_path)
    for words in (("release", folder), ("compare", folder, take), ("overlay", folder), ("handout", folder, "--dancer", "1")):
        said = command(*words)
        assert (said.code, len(said.err.strip().splitlines())) == (1, 1), said
        assert f"review.json was changed or damaged since it was written: its part '{block}' cannot be used" in said.err
    assert contents(tmp_path) == before
    said = command("recount", folder)
    if block in ("dancers", "notes"):  # judging makes these anew
        assert said.code == 0, said
        assert misfit(json.loads((folder / "review.json").read_text(encoding="utf-8"))) is None
        assert command("release", folder).code == 0
    else:
        assert (said.code, f"its part '{block}' cannot be used" in said.err) == (1, True), said
        assert contents(tmp_path) == before


def test_brackets_without_end_are_told(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take")
    (folder / "review.json").write_text("[" * 200_000)
    said = command("recount", folder)
    assert (said.code, "review.json is damaged or was not written by this program" in said.err) == (1, True), said
    swept = command("sweep", folder)
    assert "review.json is damaged or was not written by this program" in swept.err, swept


@pytest.mark.parametrize("made", [{}, {"dancers": 3}, {"sound": False}, {"sheet": False}], ids=str)
def test_reviews_as_they_are_written_fit(tmp_path: Path, made: dict[str, Any]) -> None:
    folder = stored(tmp_path / "take", **made)
    assert misfit(json.loads((folder / "review.json").read_text(encoding="utf-8"))) is None


@pytest.fixture(scope="module")
def heard() -> dict[str, Any]:
    """Arrays of landmarks.npz that keep what was heard: clicks twice a second."""
    samples = np.zeros(22_050 * 12, np.float32)
    for k in range(24):
        samples[11_025 * k : 11_025 * k + 400] = np.random.default_rng(k).uniform(-0.5, 0.5, 400)
    curve = onset_curve(Sound(samples, 22_050, 0.0), settings=SETTINGS.music)
    assert isinstance(curve, OnsetCurve)
    return {f"onset_{name}": np.array(getattr(curve, name)) for name in curve.__dataclass_fields__}


def test_what_was_heard_is_taken_as_it_was_stored(command: Any, tmp_path: Path, heard: dict[str, Any]) -> None:
    write_review(tmp_path / "take", made_review(), extra_arrays=heard, report_html=None)
    assert command("recount", tmp_path / "take", "--heard").code == 0


@pytest.mark.parametrize(
    "spoil",
    [
        lambda a: a.pop("onset_bands"),
        lambda a: a.update(onset_times_s=a["onset_times_s"][:9]),
        lambda a: a["onset_times_s"].fill(np.nan),
        lambda a: a["onset_fine"].fill(np.nan),
    ],
    ids=["one is gone", "one is cut", "no times", "no numbers"],
)
def test_what_was_heard_and_is_not_whole_is_told(
    command: Any, tmp_path: Path, heard: dict[str, Any], spoil: Callable[[dict[str, Any]], object]
) -> None:
    arrays = {name: values.copy() for name, values in heard.items()}
    spoil(arrays)
    write_review(tmp_path / "take", made_review(), extra_arrays=arrays, report_html=None)
    before = contents(tmp_path)
    said = command("recount", tmp_path / "take", "--heard")
    assert (said.code, "What was heard in the clip is not whole in landmarks.npz" in said.last) == (1, True), said
    assert contents(tmp_path) == before


# --- clips


def test_a_clip_that_is_not_there_is_named_with_the_way_out(command: Any, tmp_path: Path) -> None:
    folder = stored(tmp_path / "take", name="solo.mp4")
    for words in (("overlay", folder), ("handout", folder, "--dancer", "1")):
        said = command(*words)
        assert (said.code, "is not in the folder" in said.last, "name it with --clip" in said.last) == (1, True, True), said
        said = command(*words, "--clip", tmp_path / "other.mp4")
        assert (said.code, f"There is no clip '{tmp_path / 'other.mp4'}'" in said.last) == (1, True), said


def test_a_clip_is_found_whose_name_looks_like_a_pattern(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from motion.cli.films import clips_named

    monkeypatch.chdir(tmp_path)
    for name in ("[x]*.mp4", "[x]1.mp4", "x1.mp4"):
        Path(name).touch()
    assert clips_named(["[x]*.mp4"]) == [Path("[x]*.mp4")]
    assert clips_named(["x*.mp4"]) == [Path("x1.mp4")]


def test_a_name_cannot_break_the_line_or_colour_the_terminal(command: Any, tmp_path: Path) -> None:
    said = command("check", tmp_path / "no\nsuch\x1b[31m Übung 練.csv")
    assert (said.code, len(said.err.splitlines()), "\x1b" in said.err) == (1, 1, False), said
    assert "no?such?[31m Übung 練.csv" in said.err


# --- whoever reads


@pytest.mark.skipif(os.name != "posix", reason="a reader that leaves is told otherwise there")
def test_a_reader_who_leaves_early_leaves_no_traceback(tmp_path: Path, take: Path) -> None:
    ends, begins = os.pipe()
    os.close(ends)
    done = subprocess.run(
        [sys.executable, "-m", "motion", "compare", str(take), str(take)], stdout=begins, stderr=subprocess.PIPE, timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COUNTFALL_HOME": str(tmp_path)},
    )  # fmt: skip
    os.close(begins)
    assert (done.returncode, done.stderr) == (1, b"")


# --- what is said at the end


def test_what_is_said_of_heads_is_what_the_film_shows(command: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from motion.film import overlay, take_home

    folder = stored(tmp_path / "take", name="solo.mp4")
    (tmp_path / "solo.mp4").touch()
    monkeypatch.setattr(overlay, "draw_again", lambda *_, **__: folder / "overlay.mp4")
    monkeypatch.setattr(take_home, "make_handout", lambda *_, **__: [tmp_path / "hand-out.mp4"])
    for words in (("overlay", folder), ("handout", folder, "--dancer", "1")):
        covered, shown = command(*words).out, command(*words, "--show-heads").out
        assert "Heads are covered" in covered
        assert "Heads are covered" not in shown
        assert "Heads are not covered in the film" in shown


def test_a_reviewed_clip_with_heads_shown_says_so(command: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = stored(tmp_path / "take")
    review = json.loads((folder / "review.json").read_text(encoding="utf-8"))
    review["clip"]["expires"] = "2031-05-04"
    monkeypatch.setattr("motion.desk.review_clip.review_clip", lambda *_, **__: review)
    said = command("review", tmp_path / "solo.mp4", "--out", folder, "--overlay", "--show-heads", "--room-sound")
    assert (said.code, "Heads are not covered in the film" in said.out, "Heads are covered" in said.out) == (0, True, False), said
    assert "voices" in said.out
    assert "Heads are covered" in command("review", tmp_path / "solo.mp4", "--out", folder, "--overlay").out


def test_ranges_and_numbers_of_nobody_are_told() -> None:
    row = {"task": "knee bend", "side": "left", "range_deg": 90.0, "interval_deg": [86.0, 94.0], "repetitions": 3, "near": True}
    dancer = {"id": 1, "label": None, "range_check": [row]}
    told = told_beside({"dancers": [dancer], "made_by": {"judged": {"own_version": [1, 9]}}})
    assert told[0] == "Dancer 1, knee bend: Left 90° give or take 4°, seen 3 times; right: skipped, or not seen from the side."
    assert told[-1] == "There is no dancer 9 in this review (1), so --own-version 9 changes nothing."
    assert len(told) == 5
    assert told_beside({"dancers": [{"id": 1}], "made_by": {}}) == []


@pytest.mark.parametrize(
    ("many", "said"),
    [(1, "1 picture of the clip was damaged and left out."), (3, "3 pictures of the clip were damaged and left out.")],
)
def test_damaged_pictures_are_told_in_their_number(many: int, said: str) -> None:
    clip = replace(made_review().clip, damaged_pictures=many)
    assert said in _clip_notes(clip, PoseModel(Path("m"), "0" * 64, "fine", "a file"), 0)
