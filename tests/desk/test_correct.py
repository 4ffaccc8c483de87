"""Who is who, put right by hand in a stored review: judged again, taken back, kept through a new review, and gone from every file."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made import made_review
from made_corrections import LM, broken, mixed, point, renumbered, same

from motion.base.errors import BadInput, BadStore, MotionError
from motion.base.options import JudgeOptions, WatchOptions
from motion.base.types import Landmarks, Measurement, NotMeasured, Review
from motion.body.tracks import tracks_of
from motion.desk import review_clip
from motion.desk.correct import add, exchange, give_label, join, leave_out, made_by_hand, not_this_one, undo
from motion.desk.review_clip import judge_folder
from motion.review.corrections import Correction, Point
from motion.review.watch import Watched, stored_watch
from motion.store.corrections import masks_in, masks_of, read_corrections, write_corrections
from motion.store.folder import read_review, read_stored, write_review

JUDGED = JudgeOptions(bpm=108.0, first_count_s=4.84)


def quick_judge(watched: Watched, options: JudgeOptions, *, labels: tuple[str | None, ...], **_: Any) -> Review:
    """A judge of who is who alone: everything else is not measured, which takes no time."""
    nothing = NotMeasured("all", "this is about who is who")
    dancers = tuple(Measurement(t, *[nothing] * 6) for t in tracks_of(watched.landmarks, labels))
    return Review(watched.clip, (), watched.landmarks, nothing, None, dancers, watched.made_by, ("judged",))


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only who is who is judged."""
    monkeypatch.setattr("motion.review.judge.judge", quick_judge)


@pytest.fixture
def folder(tmp_path: Path, quick: None) -> Path:
    """A stored review of four, 192 px apart."""
    store(tmp_path / "class", made_review(4, 12))
    return tmp_path / "class"


def store(folder: Path, review: Any, **options: Any) -> None:
    write_review(folder, review, extra_arrays={}, report_html=None, **options)


def restless(lm: Landmarks) -> Landmarks:
    """The same with every value a little off, so that no number is there twice."""
    chance = np.random.default_rng(5)
    return Landmarks(
        lm.times_s,
        lm.ids,
        lm.image_px + chance.normal(0, 0.01, lm.image_px.shape),
        lm.visibility - 0.01 * chance.random(lm.visibility.shape),
        lm.unsure,
    )


def values_of(lm: Landmarks, p: int) -> np.ndarray:
    both = np.concatenate([lm.image_px[:, p].ravel(), lm.visibility[:, p].ravel()])
    return np.unique(both[np.isfinite(both)])


def numbers_kept(folder: Path) -> np.ndarray:
    with np.load(folder / "landmarks.npz", allow_pickle=False) as kept:
        return np.unique(np.concatenate([kept[name].ravel().astype(float) for name in kept.files]))


def test_a_label_is_given_and_taken_back(folder: Path) -> None:
    before = read_review(folder)
    add(folder, give_label(before, 3, "Red"), JUDGED)
    assert [d["label"] for d in read_review(folder)["dancers"]] == [None, None, "Red", None]
    ((correction, words, can),) = made_by_hand(folder)
    assert (words, can) == ("Dancer 3 is called Red", True)
    undo(folder, correction, JUDGED)
    assert [d["label"] for d in read_review(folder)["dancers"]] == [None] * 4
    assert not (folder / "corrections.json").exists()
    assert [p.name for p in folder.parent.iterdir()] == ["class"]


def test_leaving_out_is_noted_and_comes_back(folder: Path) -> None:
    add(folder, leave_out(read_review(folder), 2), JUDGED)
    review = read_review(folder)
    assert [d["id"] for d in review["dancers"]] == [1, 2, 3]
    assert [round(d["track"]["pelvis_px"][0][0]) for d in review["dancers"]] == [192, 576, 768]
    assert "Left out by hand: 1." in review["notes"]
    assert same(read_stored(folder).landmarks.image_px, LM.image_px)  # nothing is lost
    undo(folder, made_by_hand(folder)[0][0], JUDGED)
    assert len(read_review(folder)["dancers"]) == 4


def test_found_of_asked_follows_what_was_left_out(tmp_path: Path, quick: None) -> None:
    review = made_review(4, 12)
    store(tmp_path / "a", replace(review, made_by={**review.made_by, "asked": {"dancers": 4}}))
    judge_folder(tmp_path / "a", JUDGED)
    assert not [note for note in read_review(tmp_path / "a")["notes"] if note.startswith("Found")]
    write_corrections(tmp_path / "a", {review.clip.sha256: (Correction("leave out", point(LM, 1, 3.0)),)})
    judge_folder(tmp_path / "a", JUDGED)
    assert not [note for note in read_review(tmp_path / "a")["notes"] if note.startswith("Found")]  # found, and then left out


@pytest.mark.parametrize(
    ("asked", "kinds", "note"),
    [
        (4, ("leave out", "hide"), None),
        (5, ("leave out", "hide"), "Found 4 of 5 dancers."),
        (3, ("leave out",), None),  # a passer-by among those found was left out
        (2, ("hide",), "Found 3 of 2 dancers."),
        (5, (), "Found 4 of 5 dancers."),
    ],
)
def test_whoever_was_left_out_or_covered_was_found(
    tmp_path: Path, quick: None, asked: int, kinds: tuple[Any, ...], note: str | None
) -> None:
    review = made_review(4, 12)
    store(tmp_path / "a", replace(review, made_by={**review.made_by, "asked": {"dancers": asked}}))
    made = tuple(Correction(kind, point(LM, p, 3.0)) for p, kind in enumerate(kinds))
    write_corrections(tmp_path / "a", {review.clip.sha256: made})
    judge_folder(tmp_path / "a", JUDGED)
    assert [n for n in read_review(tmp_path / "a")["notes"] if n.startswith("Found")] == ([note] if note else [])


def test_exchange_and_join_from_the_page(tmp_path: Path, quick: None) -> None:
    review = made_review(4, 12)
    store(tmp_path / "a", replace(review, landmarks=mixed(LM, 1, 2, 6.0)))
    judge_folder(tmp_path / "a", JUDGED)
    jumps = [np.ptp(d["track"]["pelvis_px"], axis=0)[0] for d in read_review(tmp_path / "a")["dancers"]]
    assert min(jumps[1], jumps[2]) > 150
    add(tmp_path / "a", exchange(read_review(tmp_path / "a"), 2, 3, 6.0), JUDGED)
    jumps = [np.ptp(d["track"]["pelvis_px"], axis=0)[0] for d in read_review(tmp_path / "a")["dancers"]]
    assert max(jumps) < 50
    store(tmp_path / "b", replace(review, landmarks=broken(LM, 1, 6.0)))
    judge_folder(tmp_path / "b", JUDGED)
    assert len(read_review(tmp_path / "b")["dancers"]) == 5
    add(tmp_path / "b", join(read_review(tmp_path / "b"), 2, 5), JUDGED)
    dancers = read_review(tmp_path / "b")["dancers"]
    assert [round(d["track"]["pelvis_px"][0][0]) for d in dancers] == [192, 384, 576, 768]
    assert dancers[1]["track"]["unsure"] == []


def test_points_are_taken_on_either_side_of_an_exchange(folder: Path) -> None:
    made = exchange(read_review(folder), 1, 4, 6.0)
    assert made.other is not None
    assert 2.0 <= made.at.time_s <= 5.0
    assert 6.0 <= made.other.time_s <= 10.0
    with pytest.raises(BadInput, match="named twice"):
        exchange(read_review(folder), 2, 2, 6.0)
    with pytest.raises(BadInput, match=r"either side of 0\.0 s"):
        exchange(read_review(folder), 1, 2, 0.0)
    with pytest.raises(BadInput, match="no dancer 9"):
        give_label(read_review(folder), 9, "K")


def test_a_covered_dancer_is_gone_from_every_file(folder: Path) -> None:
    lm = restless(LM)
    store(folder, replace(made_review(4, 12), landmarks=lm))
    add(folder, give_label(read_review(folder), 2, "Zed"), JUDGED)
    (folder / "overlay.mp4").write_bytes(b"an older film that shows everybody")
    theirs, others = values_of(lm, 1), values_of(lm, 3)
    assert np.isin(theirs, numbers_kept(folder)).all()
    add(folder, not_this_one(read_review(folder), 2), JUDGED)
    assert not np.isin(theirs, numbers_kept(folder)).any()
    assert np.isin(others, numbers_kept(folder)).all()
    with zipfile.ZipFile(folder / "landmarks.npz") as file:
        assert np.load(io.BytesIO(file.read("image_px.npy"))).shape[1] == 3
    assert len(masks_in(folder).points) == 1
    assert not (folder / "overlay.mp4").exists()
    for name in ("review.json", "report.html", "corrections.json", "steps.csv", "angles.csv"):
        assert "Zed" not in (folder / name).read_text(encoding="utf-8"), name
    review = read_review(folder)
    assert [round(d["track"]["pelvis_px"][0][0]) for d in review["dancers"]] == [192, 576, 768]
    assert "Covered whole by hand, and not followed: 1." in review["notes"]
    ((correction, _, can),) = made_by_hand(folder)
    assert not can
    with pytest.raises(BadInput, match="cannot be taken back"):
        undo(folder, correction, JUDGED)
    judge_folder(folder, JUDGED)  # judged once more, it stays so
    assert len(read_review(folder)["dancers"]) == 3
    assert len(masks_in(folder).points) == 1
    assert not np.isin(theirs, numbers_kept(folder)).any()


def test_corrections_survive_a_new_review(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The clip is read again: other numbers, one dancer in two pieces; and no film of it is needed to see what becomes of it."""
    lm = restless(LM)
    for correction in (give_label(read_review(folder), 4, "K"), leave_out(read_review(folder), 1)):
        add(folder, correction, JUDGED)
    add(folder, not_this_one(read_review(folder), 1), JUDGED)  # who stood second from the left
    kept = read_stored(folder)
    anew = renumbered(broken(lm, 1, 6.0), [4, 3, 1, 0, 2])
    watched = stored_watch(kept.clip, anew, {}, {"asked": {"dancers": 2}})
    monkeypatch.setattr("motion.review.watch.watch", lambda clip, options, progress: watched)
    review_clip.review_clip(tmp_path / "x.mp4", folder, WatchOptions(), JUDGED)
    review = read_review(folder)
    assert [(d["id"], d["label"], round(d["track"]["pelvis_px"][0][0])) for d in review["dancers"]] == [
        (1, "K", 768),
        (2, None, 576),
    ]
    assert [n for n in review["notes"] if "hand" in n or "Found" in n] == [
        "Left out by hand: 1.",
        "Covered whole by hand, and not followed: 1.",
    ]
    assert not np.isin(values_of(lm, 1), numbers_kept(folder)).any()
    other = stored_watch(replace(kept.clip, sha256="ab" * 32), anew, {}, {"asked": {}})
    monkeypatch.setattr("motion.review.watch.watch", lambda clip, options, progress: other)
    review_clip.review_clip(tmp_path / "y.mp4", folder, WatchOptions(), JUDGED)
    assert len(read_review(folder)["dancers"]) == 5  # another clip in the same folder: the corrections are not its own
    assert len(read_corrections(folder)[kept.clip.sha256]) == 3  # and not lost


def test_what_finds_nobody_is_refused_and_in_a_new_review_noted(folder: Path) -> None:
    lost = Correction("label", Point(3.0, 480.0, 20.0), label="K", numbers=(2,))
    with pytest.raises(BadInput, match=r"Nobody stands there any more \(dancer 2 is called K\)"):
        add(folder, lost, JUDGED)
    assert not (folder / "corrections.json").exists()
    write_corrections(folder, {read_review(folder)["clip"]["sha256"]: (lost,)})
    judge_folder(folder, JUDGED)
    assert any("nobody was found there now" in note for note in read_review(folder)["notes"])


def test_a_judgement_that_fails_leaves_the_corrections_as_they_were(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    add(folder, give_label(read_review(folder), 1, "A"), JUDGED)
    before = {p.name: p.read_bytes() for p in folder.iterdir()}

    def refuse(*_: Any, **__: Any) -> None:
        raise MotionError("No")

    monkeypatch.setattr("motion.desk.correct.recount", refuse)
    with pytest.raises(MotionError, match="No"):
        add(folder, not_this_one(read_review(folder), 2), JUDGED)
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_judged_again_by_the_page_and_refused_in_one_sentence(tmp_path: Path) -> None:
    store(tmp_path / "class", made_review(2, 12))
    add(tmp_path / "class", give_label(read_review(tmp_path / "class"), 2, "Red"), JUDGED)
    assert read_review(tmp_path / "class")["dancers"][1]["label"] == "Red"
    with pytest.raises(MotionError, match=r"^There is no beats file|^The beats file"):
        add(tmp_path / "class", leave_out(read_review(tmp_path / "class"), 2), JudgeOptions(beats=tmp_path / "none.csv"))
    assert len(made_by_hand(tmp_path / "class")) == 1


def test_the_file_comes_back_as_it_was_and_is_strict(folder: Path) -> None:
    made = (
        Correction("exchange", Point(1.5, 2.25, 3.0), Point(4.0, 5.0, 6.0), from_s=2.0, numbers=(1, 2)),
        Correction("join", Point(1, 2, 3), Point(4, 5, 6)),
        Correction("label", Point(0.1, 0.2, 0.3), label="Zoë", numbers=(3,)),
        Correction("hide", Point(1, 2, 3)),
    )
    write_corrections(folder, {"a": made, "b": made[:1], "c": ()})
    assert read_corrections(folder) == {"a": made, "b": made[:1]}
    assert json.loads((folder / "corrections.json").read_text(encoding="utf-8"))["format"] == 1


@pytest.mark.parametrize(
    "text",
    [
        "{", "[]", "{}", '{"format": 1}', '{"format": 1, "clips": []}', '{"format": 1, "clips": {"a": [{}]}}', "\xff", "[" * 100_000,
        '{"format": 1, "clips": {"a": [{"kind": "label", "label": "<b>", "at": {"time_s": 1, "x_px": 1, "y_px": 1}}]}}',
        '{"format": 1, "clips": {"a": [{"kind": "hide", "at": {"time_s": NaN, "x_px": 1, "y_px": 1}}]}}',
        '{"format": 1, "clips": {"a": [{"kind": "hide", "at": {"time_s": 1e999, "x_px": 1, "y_px": 1}}]}}',
        '{"format": 2, "clips": {}}',
    ],
    ids=range(12),
)  # fmt: skip
def test_a_damaged_file_is_said_and_nothing_is_lost(folder: Path, text: str) -> None:
    (folder / "corrections.json").write_text(text, encoding="latin-1")
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    for do in (
        lambda: judge_folder(folder, JUDGED),
        lambda: add(folder, give_label(read_review(folder), 1, "A"), JUDGED),
        lambda: review_clip.review_clip(folder / "no.mp4", folder, WatchOptions(), JUDGED),  # before the clip is even looked at
    ):
        with pytest.raises(BadStore, match=r"corrections\.json (is damaged|was written by a newer)"):
            do()
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_boxes_that_do_not_fit_are_refused_rather_than_left_away() -> None:
    with pytest.raises(BadStore, match="no longer says where covered people are"):
        masks_of({"masked_times_s": np.arange(3.0)})
