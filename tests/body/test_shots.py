"""Dancers across a cut: the same number where clothes and place tell it, a new one where they do not; and no step made of the cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from true_clips import true_clip, true_landmarks

from motion.base.types import Candidates, Floats, Landmarks
from motion.body.contact_network import load_weights
from motion.body.dancers import bodies_of
from motion.body.shots import join_shots, known_again, seen_again, shots_of
from motion.review.settings import SETTINGS

CLIP = true_clip("quarter-rock")
SIZE = tuple(CLIP.told["size"])
STILL = true_landmarks(CLIP)
RED, BLUE, GREY, BLACK = (0.7, 0.1, 0.1), (0.15, 0.2, 0.7), (0.4, 0.4, 0.4), (0.08, 0.08, 0.08)
CUT_S = 9.0


def piece(first: bool, *shifts_px: float, zoom: float = 1.0, turned: bool = False) -> Landmarks:
    """The dancer's first or last stretch, once for every shift across the picture; turned: seen from behind."""
    rows = CLIP.times_s < CUT_S if first else CLIP.times_s >= CUT_S
    body = STILL.image_px[rows, 0]
    middle = body[:, 23:25].mean((0, 1))
    if turned:
        body = middle + (body - middle) * np.array([-1.0, 1.0])
    points = np.stack([middle + (body - middle) * zoom + np.array([x, 0.0]) for x in shifts_px], 1)
    return Landmarks(CLIP.times_s[rows], np.arange(1, len(shifts_px) + 1), points, np.full(points.shape[:3], 0.95))


def clothes(*pairs: tuple[tuple[float, ...], tuple[float, ...]], light: float = 1.0) -> Floats:
    return np.array([(*shirt, *trousers) for shirt, trousers in pairs]) * light


def numbers(a: Landmarks, worn_a: Floats, b: Landmarks, worn_b: Floats) -> tuple[tuple[int, ...], ...]:
    return known_again([a, b], [worn_a, worn_b], SETTINGS.body, SETTINGS.angles)


def test_other_framing_other_order_told_by_their_clothes() -> None:
    before, after = piece(True, 0.0, 300.0), piece(False, 500.0, 0.0, zoom=1.5)
    worn = clothes((RED, BLUE), (BLUE, GREY))
    assert numbers(before, worn, after, clothes((RED, BLUE), (BLUE, GREY), light=0.9)) == ((1, 2), (1, 2))
    assert numbers(before, worn, after, clothes((BLUE, GREY), (RED, BLUE))) == ((1, 2), (2, 1))
    # somebody new, and somebody gone
    assert numbers(before, worn, after, clothes((BLUE, GREY), (GREY, BLACK))) == ((1, 2), (2, 3))


def test_club_shirts_are_told_by_place_alone_and_not_where_the_framing_changed() -> None:
    same = clothes((RED, BLACK), (RED, BLACK))
    assert numbers(piece(True, 0.0, 300.0), same, piece(False, 0.0, 300.0), same) == ((1, 2), (1, 2))
    assert numbers(piece(True, 0.0, 300.0), same, piece(False, 500.0, 0.0, zoom=1.5), same) == ((1, 2), (3, 4))


def test_from_another_side_nobody_is_told_again() -> None:
    worn = clothes((RED, BLUE))
    assert numbers(piece(True, 0.0), worn, piece(False, 400.0), worn) == ((1,), (1,))
    assert numbers(piece(True, 0.0), worn, piece(False, 400.0, turned=True), worn) == ((1,), (2,))


def test_a_third_piece_knows_those_of_the_first() -> None:
    first, last = piece(True, 0.0, 300.0), piece(False, 0.0, 300.0)
    middle = replace(piece(True, 800.0), times_s=np.linspace(CUT_S - 2, CUT_S - 0.5, len(piece(True, 0.0).times_s)))
    told = known_again(
        [first, middle, last],
        [clothes((RED, BLUE), (BLUE, GREY)), clothes((GREY, BLACK)), clothes((RED, BLUE), (BLUE, GREY))], SETTINGS.body, SETTINGS.angles,
    )  # fmt: skip
    assert told == ((1, 2), (3,), (1, 2))


def test_pieces_are_joined_by_number() -> None:
    before, after = piece(True, 0.0, 300.0), piece(False, 500.0, 0.0)
    faces = [np.zeros((len(one.times_s), 0, 11, 2)) for one in (before, after)]
    marks, _ = join_shots([(before, faces[0]), (after, faces[1])], ((1, 2), (2, 3)))
    assert marks.ids.tolist() == [1, 2, 3]
    first = marks.times_s < CUT_S
    assert np.array_equal(marks.image_px[~first, 1], after.image_px[:, 0])
    assert np.isnan(marks.image_px[~first, 0]).all()
    assert np.isnan(marks.image_px[first, 2]).all()
    assert seen_again(marks, np.array([CUT_S])) == 1


@pytest.mark.parametrize("zoom", [0.6, 1.0])
def test_a_dancer_on_both_sides_of_a_cut_is_measured_as_without_it(zoom: float) -> None:
    cut, first = np.array([CUT_S]), CLIP.times_s < CUT_S
    moved = np.where(first[:, None, None, None], STILL.image_px, 40.0 + STILL.image_px * zoom)
    pieces = shots_of(cut, float(CLIP.times_s[-1]) + 0.1)

    def read(marks: Landmarks, shots: tuple[tuple[float, float], ...]) -> Candidates:
        (found,) = bodies_of(marks, SIZE, load_weights(), SETTINGS.body, SETTINGS.angles, None, shots).found  # type: ignore[arg-type]
        assert isinstance(found, Candidates)
        return found

    whole, cut_up = read(STILL, ()), read(replace(STILL, image_px=moved), pieces)
    away = np.abs(cut_up.times_s - CUT_S) > 0.7
    sure = cut_up.times_s[away & (cut_up.strength > 0.5) & ~cut_up.shift]
    true = whole.times_s[(np.abs(whole.times_s - CUT_S) > 0.7) & (whole.strength > 0.5) & ~whole.shift]
    np.testing.assert_allclose(sure, true, atol=0.02)
    assert not (np.abs(cut_up.times_s - CUT_S) < 0.09).any()  # right beside the cut nothing is read
    assert not any(a < CUT_S < b for a, b in cut_up.seen)
    kept = [np.nanmedian(one.place[one.times_s > CUT_S + 1], axis=0) for one in (cut_up, whole)]
    np.testing.assert_allclose(*kept, atol=0.1)  # feet are placed alike
