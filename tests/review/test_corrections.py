"""Who is who, put right by hand, on landmarks alone: each operation, other numbers, and people who are covered."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_corrections import HIPS, LM, broken, hips, mixed, point, renumbered, same

from motion.base.errors import BadInput
from motion.base.types import Landmarks
from motion.review.corrections import Corrected, Correction, Masks, Point, apply, can_be_undone, hide, label_of, told
from motion.review.settings import SETTINGS

DESK = SETTINGS.desk
SIZE_PX = (960, 540)
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
