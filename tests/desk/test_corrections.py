"""Who is who, put right by hand: each operation, taking it back, a new review with other numbers, and people who are covered."""

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

from motion import desk
from motion.amend import add, exchange, give_label, join, leave_out, made_by_hand, not_this_one, undo
from motion.body.tracks import tracks_of
from motion.corrections import Corrected, Correction, Masks, Point, apply, can_be_undone, hide, label_of, told
from motion.data import Landmarks, Measurement, NotMeasured, Review
from motion.desk import judge_folder
from motion.errors import BadInput, BadStore, MotionError
from motion.options import JudgeOptions, WatchOptions
from motion.review import Watched, stored_watch
from motion.settings import SETTINGS
from motion.store import read_review, read_stored, write_review
from motion.store_corrections import masks_in, masks_of, read_corrections, write_corrections

DESK = SETTINGS.desk
SIZE_PX = (960, 540)
HIPS = [23, 24]
JUDGED = JudgeOptions(bpm=108.0, first_count_s=4.84)


def quick_judge(watched: Watched, options: JudgeOptions, *, labels: tuple[str | None, ...], **_: Any) -> Review:
    """A judge of who is who alone: everything else is not measured, which takes no time."""
    nothing = NotMeasured("all", "this is about who is who")
    dancers = tuple(Measurement(t, *[nothing] * 6) for t in tracks_of(watched.landmarks, labels))
    return Review(watched.clip, (), watched.landmarks, nothing, None, dancers, watched.made_by, ("judged",))


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch, judged_here: None) -> None:
    """Only who is who is judged."""
    monkeypatch.setattr("motion.review.judge", quick_judge)


@pytest.fixture
def folder(tmp_path: Path, quick: None) -> Path:
    """A stored review of four, 192 px apart."""
    store(tmp_path / "class", made_review(4, 12))
    return tmp_path / "class"


def store(folder: Path, review: Any, **options: Any) -> None:
    write_review(folder, review, extra_arrays={}, report_html=None, **options)


def hips(lm: Landmarks, p: int) -> np.ndarray:
    return np.asarray(lm.image_px[:, p, HIPS].mean(1))


def point(lm: Landmarks, p: int, time_s: float) -> Point:
    k = int(np.argmin(np.abs(lm.times_s - time_s)))
    return Point(float(lm.times_s[k]), *map(float, hips(lm, p)[k]))


def same(a: np.ndarray, b: np.ndarray) -> bool:
    return bool(np.array_equal(a, b, equal_nan=True))


def mixed(lm: Landmarks, one: int, other: int, from_s: float) -> Landmarks:
    """The landmarks with two dancers exchanged from a moment on."""
    image, visibility, after = lm.image_px.copy(), lm.visibility.copy(), lm.times_s >= from_s
    for array in (image, visibility):
        array[np.ix_(after, [one, other])] = array[np.ix_(after, [other, one])]
    return Landmarks(lm.times_s, lm.ids, image, visibility, lm.unsure)


def renumbered(lm: Landmarks, order: list[int]) -> Landmarks:
    return Landmarks(lm.times_s, lm.ids, lm.image_px[:, order], lm.visibility[:, order], tuple(lm.unsure[p] for p in order))


def broken(lm: Landmarks, p: int, at_s: float) -> Landmarks:
    """The landmarks with dancer p broken off at a moment and going on as one more person."""
    late = lm.times_s >= at_s
    image = np.concatenate([lm.image_px, lm.image_px[:, [p]]], axis=1)
    image[late, p] = np.nan
    image[~late, -1] = np.nan
    visibility = np.concatenate([lm.visibility, lm.visibility[:, [p]]], axis=1)
    unsure = [*(((),) * len(lm.ids)), ((float(lm.times_s[0]), float(lm.times_s[~late][-1])),)]
    unsure[p] = ((float(lm.times_s[late][0]), float(lm.times_s[-1])),)
    return Landmarks(lm.times_s, np.arange(1, len(lm.ids) + 2), image, visibility, tuple(unsure))


LM = made_review(4, 12).landmarks
END_S = float(LM.times_s[-1])


# --- the operations, on landmarks


def test_nothing_to_correct_changes_nothing() -> None:
    done = apply(LM, (), DESK)
    assert done.landmarks is LM
    assert (done.labels, done.left_out, done.missed) == ((None,) * 4, 0, ())


def test_exchanged_dancers_are_put_back() -> None:
    """Truth: nobody is exchanged. Seen: dancers 2 and 3 are, from 6 s on."""
    seen = mixed(LM, 1, 2, 6.0)
    put_right = Correction("exchange", point(LM, 1, 3.0), point(LM, 1, 8.0), from_s=6.0)
    assert same(apply(seen, (put_right,), DESK).landmarks.image_px, LM.image_px)


def test_an_exchange_moves_what_is_unsure_along() -> None:
    unsure = ((), ((5.0, 7.0),), (), ())
    marked = Landmarks(LM.times_s, LM.ids, LM.image_px, LM.visibility, unsure)
    done = apply(marked, (Correction("exchange", point(LM, 1, 3.0), point(LM, 2, 8.0), from_s=6.0),), DESK)
    frame = LM.times_s[1]
    assert done.landmarks.unsure[0] == done.landmarks.unsure[3] == ()
    assert done.landmarks.unsure[1] == ((pytest.approx(5.0), pytest.approx(6.0 - frame)),)
    assert done.landmarks.unsure[2] == ((pytest.approx(6.0), pytest.approx(7.0)),)


def test_an_exchange_that_a_better_reading_needs_no_more_is_left_alone() -> None:
    put_right = Correction("exchange", point(LM, 1, 3.0), point(LM, 1, 8.0), from_s=6.0)
    assert same(apply(LM, (put_right,), DESK).landmarks.image_px, LM.image_px)


def test_a_dancer_who_broke_off_is_joined_and_keeps_the_label() -> None:
    seen = broken(LM, 1, 6.0)
    made = (
        Correction("label", point(LM, 1, 8.0), label="Red"),
        Correction("join", point(LM, 1, 3.0), point(LM, 1, 8.0)),
    )
    done = apply(seen, made, DESK)
    assert same(done.landmarks.image_px, LM.image_px)
    assert done.landmarks.ids.tolist() == [1, 2, 3, 4]
    assert done.landmarks.unsure == ((), (), (), ())
    assert done.labels == (None, "Red", None, None)


def test_whoever_is_joined_is_numbered_by_where_they_stood_first() -> None:
    """The leftmost dancer broke off; joined from their later piece, which was found last."""
    done = apply(broken(LM, 0, 6.0), (Correction("join", point(LM, 0, 8.0), point(LM, 0, 3.0)),), DESK)
    assert same(done.landmarks.image_px, LM.image_px)


def test_where_both_are_seen_the_first_holds() -> None:
    done = apply(LM, (Correction("join", point(LM, 1, 3.0), point(LM, 2, 3.0)),), DESK)
    assert same(done.landmarks.image_px, LM.image_px[:, [0, 1, 3]])


def test_left_out_dancers_go_and_the_others_move_up() -> None:
    done = apply(LM, (Correction("leave out", point(LM, 1, 3.0)), Correction("label", point(LM, 3, 3.0), label="K")), DESK)
    assert same(done.landmarks.image_px, LM.image_px[:, [0, 2, 3]])
    assert done.landmarks.ids.tolist() == [1, 2, 3]
    assert (done.labels, done.left_out) == ((None, None, "K"), 1)
    everyone = [Correction("leave out", point(LM, p, 3.0)) for p in range(4)]
    with pytest.raises(BadInput, match="Nobody would be left"):
        apply(LM, everyone, DESK)


def test_a_version_of_ones_own_is_told_by_number_and_follows_a_join() -> None:
    own = Correction("own version", point(LM, 3, 3.0))
    done = apply(LM, (own, Correction("leave out", point(LM, 1, 3.0))), DESK)
    assert done.own_version == (3,)
    assert apply(LM, (), DESK).own_version == ()
    assert told(own) == "dancer ? dances a version of their own"
    assert can_be_undone((own,)) == (True,)


def test_the_later_label_holds() -> None:
    made = tuple(Correction("label", point(LM, 0, t), label=text) for t, text in ((1.0, "Red"), (9.0, "Blue")))
    assert apply(LM, made, DESK).labels[0] == "Blue"


@pytest.mark.parametrize("kind", ["label", "leave out", "join", "exchange"])
def test_corrections_hold_when_numbers_change(kind: str) -> None:
    """Whoever is meant by a place is the same in another order; the outcome goes from left to right again."""
    made = {
        "label": Correction("label", point(LM, 2, 3.0), label="K"),
        "leave out": Correction("leave out", point(LM, 2, 3.0)),
        "join": Correction("join", point(LM, 1, 3.0), point(LM, 2, 4.0)),
        "exchange": Correction("exchange", point(LM, 1, 3.0), point(LM, 2, 8.0), from_s=6.0),
    }[kind]

    def places(done: Corrected) -> set[tuple[bytes, str | None]]:
        return {(done.landmarks.image_px[:, p].tobytes(), label) for p, label in enumerate(done.labels)}

    assert (
        places(apply(renumbered(LM, [3, 2, 0, 1]), (made,), DESK))
        == places(apply(LM, (made,), DESK))
        != places(apply(LM, (), DESK))
    )


def test_nobody_there_is_said() -> None:
    far = Point(3.0, 480.0, 40.0)
    made = (
        Correction("label", far, label="K"),
        Correction("leave out", Point(END_S + 5, *hips(LM, 0)[-1])),
        Correction("join", far, point(LM, 0, 1.0)),
    )
    done = apply(LM, made, DESK)
    assert done.missed == made
    assert same(done.landmarks.image_px, LM.image_px)


def test_a_dancer_hidden_just_then_is_still_found() -> None:
    image = LM.image_px.copy()
    image[85:95, 2] = np.nan  # about 3 s
    gone = Landmarks(LM.times_s, LM.ids, image, LM.visibility, LM.unsure)
    assert apply(gone, (Correction("label", point(LM, 2, 3.0), label="K"),), DESK).labels[2] == "K"


@pytest.mark.parametrize("text", ["Red", " K ", "Zoë-2", "小明", "O'Hara", "no 3"])
def test_labels(text: str) -> None:
    assert label_of(text, DESK) == text.strip()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "empty"),
        ("   ", "empty"),
        ("x" * 17, "17 letters"),
        ("a\x07b", "cannot be printed"),
        ("<b>", "'<'"),
        ("*K*", r"'\*'"),
        ("=1", "'='"),
    ],
)
def test_labels_that_are_refused(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        label_of(text, DESK)


def test_a_correction_is_whole() -> None:
    for parts in (
        {"kind": "swop", "at": Point(1, 1, 1)},
        {"kind": "join", "at": Point(1, 1, 1)},
        {"kind": "label", "at": Point(1, 1, 1)},
        {"kind": "exchange", "at": Point(1, 1, 1), "other": Point(2, 1, 1), "from_s": 3.0},
    ):
        with pytest.raises(ValueError, match="got"):
            Correction(**parts)  # type: ignore[arg-type]


# --- covering somebody


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


def covered(masks: Masks, xy: np.ndarray, time_s: float) -> bool:
    return any((a <= xy[0] <= c) and (b <= xy[1] <= d) for a, b, c, d in masks.at(time_s))


def test_a_covered_dancer_leaves_only_coarse_boxes() -> None:
    done = hide(LM, (Correction("hide", point(LM, 1, 3.0)),), Masks(), SIZE_PX, DESK)
    assert same(done.landmarks.image_px, LM.image_px[:, [0, 2, 3]])
    assert done.masks.box_px.shape == (len(LM.times_s), 1, 4)
    assert not (done.masks.box_px % DESK.mask_grid_px)[done.masks.box_px < SIZE_PX[1]].any()
    tall = 0.55 * SIZE_PX[1]
    for k in range(0, len(LM.times_s), 30):
        points = LM.image_px[k, 1]
        crown = np.array([points[0, 0], points[:, 1].min() - 0.1 * tall])
        assert all(covered(done.masks, xy, LM.times_s[k] + 0.01) for xy in [*points, crown])
        assert not covered(done.masks, hips(LM, 0)[k], LM.times_s[k])
        assert not covered(done.masks, hips(LM, 2)[k], LM.times_s[k])


def test_the_cover_stays_while_somebody_is_not_seen_and_goes_when_they_have_left() -> None:
    k, late = 100, LM.times_s > 6.0
    image = LM.image_px.copy()
    image[k : k + 30, 1] = np.nan  # hidden for a second
    image[late, 1] = np.nan  # then never found again in the middle of the picture
    seen = Landmarks(LM.times_s, LM.ids, image, LM.visibility, LM.unsure)
    masks = hide(seen, (Correction("hide", point(LM, 1, 2.0)),), Masks(), SIZE_PX, DESK).masks
    for time_s in (LM.times_s[k + 15], 8.0, END_S, END_S + 60):
        at = int(np.argmin(np.abs(LM.times_s - time_s)))
        assert all(covered(masks, xy, time_s) for xy in LM.image_px[at, 1]), time_s
    image[:, 1, :, 0] -= 330  # the same at the picture's left edge: they have walked out
    seen = Landmarks(LM.times_s, LM.ids, image, LM.visibility, LM.unsure)
    masks = hide(seen, (Correction("hide", point(seen, 1, 2.0)),), Masks(), SIZE_PX, DESK).masks
    assert len(masks.at(7.0)) == 1
    assert len(masks.at(6.0 + DESK.mask_hold_s + 0.2)) == 0


def test_whoever_was_exchanged_before_is_covered_as_they_were_then() -> None:
    """Seen: 2 and 3 exchanged from 6 s on. Put right, then 2 covered: what is left of the two is the true 3, in one piece, for good."""
    seen = mixed(LM, 1, 2, 6.0)
    made = (
        Correction("exchange", point(LM, 1, 3.0), point(LM, 1, 8.0), from_s=6.0),
        Correction("label", point(LM, 1, 3.0), label="Z"),
        Correction("hide", point(LM, 1, 3.0)),
        Correction("label", point(LM, 2, 8.0), label="K"),
    )
    done = hide(seen, made, Masks(), SIZE_PX, DESK)
    assert same(done.landmarks.image_px, LM.image_px[:, [0, 2, 3]])
    assert [c.label for c in done.corrections] == [None, None, "K"]  # what they were called is forgotten too
    assert can_be_undone(done.corrections) == (False, False, True)
    after = apply(done.landmarks, done.corrections, DESK)
    assert same(after.landmarks.image_px, done.landmarks.image_px)
    assert after.labels == (None, "K", None)
    assert after.missed == ()
    again = hide(done.landmarks, done.corrections, done.masks, SIZE_PX, DESK)
    assert again.landmarks is done.landmarks


def test_a_second_one_can_be_covered() -> None:
    made = (Correction("hide", point(LM, 1, 3.0)), Correction("hide", point(LM, 2, 4.0)))
    first = hide(LM, made[:1], Masks(), SIZE_PX, DESK)
    both = hide(first.landmarks, made, first.masks, SIZE_PX, DESK)
    assert same(both.landmarks.image_px, LM.image_px[:, [0, 3]])
    assert same(both.masks.box_px[:, 0], first.masks.box_px[:, 0])
    with pytest.raises(BadInput, match="Delete the review"):
        hide(LM, [Correction("hide", point(LM, p, 3.0)) for p in range(4)], Masks(), SIZE_PX, DESK)


def test_a_new_reading_covers_the_same_person_also_in_pieces() -> None:
    made = (Correction("hide", point(LM, 1, 3.0)),)
    masks = hide(LM, made, Masks(), SIZE_PX, DESK).masks
    anew = renumbered(broken(LM, 1, 6.0), [4, 3, 1, 0, 2])
    done = hide(anew, made, masks, SIZE_PX, DESK, anew=True)
    assert same(done.landmarks.image_px, LM.image_px[:, [3, 0, 2]])
    assert len(done.masks.points) == 1
    lost = hide(anew, (replace(made[0], at=Point(3.0, 10.0, 10.0)),), Masks(), SIZE_PX, DESK, anew=True)
    assert len(lost.missed) == 1  # without boxes from before, nobody found is said


def test_a_neighbour_just_behind_is_not_taken_along() -> None:
    """A row behind, seen over the shoulder: smaller by a sixth, half a body to the side."""
    behind = LM.image_px[:, [1]].copy()
    middle = behind[:, :, HIPS].mean(2)[:, :, None]
    behind = (behind - middle) * 0.85 + middle + np.array([0.25, -0.12]) * 0.55 * SIZE_PX[1]
    image = np.concatenate([LM.image_px, behind], axis=1)
    visibility = np.concatenate([LM.visibility, LM.visibility[:, [1]]], axis=1)
    lm = Landmarks(LM.times_s, np.arange(1, 6), image, visibility, ((),) * 5)
    made = (Correction("hide", point(LM, 1, 3.0)),)
    masks = hide(lm, made, Masks(), SIZE_PX, DESK).masks
    done = hide(lm, made, masks, SIZE_PX, DESK, anew=True)
    assert same(done.landmarks.image_px, image[:, [0, 2, 3, 4]])


# --- in a review folder


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
    monkeypatch.setattr("motion.review.watch", lambda clip, options, progress: watched)
    desk.review_clip(tmp_path / "x.mp4", folder, WatchOptions(), JUDGED)
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
    monkeypatch.setattr("motion.review.watch", lambda clip, options, progress: other)
    desk.review_clip(tmp_path / "y.mp4", folder, WatchOptions(), JUDGED)
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

    monkeypatch.setattr("motion.amend.rejudge", refuse)
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
        lambda: desk.review_clip(folder / "no.mp4", folder, WatchOptions(), JUDGED),  # before the clip is even looked at
    ):
        with pytest.raises(BadStore, match=r"corrections\.json (is damaged|was written by a newer)"):
            do()
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_boxes_that_do_not_fit_are_refused_rather_than_left_away() -> None:
    with pytest.raises(BadStore, match="no longer says where covered people are"):
        masks_of({"masked_times_s": np.arange(3.0)})
