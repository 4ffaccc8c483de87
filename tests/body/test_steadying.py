"""Landings through a camera that moves: as through one that stands, once its movement is taken off; not told where it is not known."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from true_clips import true_clip, true_landmarks

from motion.base.camera import CameraPath
from motion.base.types import Candidates, Floats, Landmarks, NotMeasured
from motion.body.bystanders import without_bystanders
from motion.body.contact_network import load_weights
from motion.body.dancers import MOVED, Bodies, bodies_of
from motion.review.settings import SETTINGS

CLIP = true_clip("quarter-rock")
SIZE = tuple(CLIP.told["size"])
STILL = true_landmarks(CLIP)
Moves = tuple[Floats, Floats, Floats, Floats]


def camera(moves: Moves) -> CameraPath:
    """The path of a camera that shifts its picture by x, y px, zooms and turns (rad), each (F,)."""
    x, y, zoom, turn = (np.broadcast_to(v, CLIP.times_s.shape) for v in moves)
    size = np.exp(-1j * turn) / zoom
    shift = -size * (x + 1j * y)
    return CameraPath(CLIP.times_s, np.stack([size.real, size.imag, shift.real, shift.imag], 1), np.full(len(x), 0.3))


def filmed(path: CameraPath, marks: Landmarks = STILL) -> Landmarks:
    return replace(marks, image_px=path.moved_back(marks.image_px))


def read(marks: Landmarks, path: CameraPath | None) -> Bodies:
    return bodies_of(marks, SIZE, load_weights(), SETTINGS.body, SETTINGS.angles, path)  # type: ignore[arg-type]


def scored(found: Any) -> float:
    """F of the landings within 70 ms on the right foot."""
    assert isinstance(found, Candidates)
    sure = (found.strength > 0.5) & ~found.shift
    right = 0
    for event in CLIP.landings:
        near = sure & (np.abs(found.times_s - event["t"]) < 0.07) & (found.right == (event["foot"] == "R"))
        right += bool(near.any())
    return 2 * right / (sure.sum() + len(CLIP.landings))


T = CLIP.times_s
HAND: Moves = (22 * np.sin(9 * T) + 9 * np.sin(31 * T), 16 * np.sin(13 * T), 1 + 0.02 * np.sin(7 * T), 0.02 * np.sin(11 * T))
PAN: Moves = (200 * np.sin(4 * T), 0 * T, 1 + 0 * T, 0 * T)


@pytest.mark.parametrize("moves", [HAND, PAN])
def test_landings_are_those_of_a_camera_that_stands(moves: Moves) -> None:
    path = camera(moves)
    spoiled, steady, still = (read(*one).found[0] for one in ((filmed(path), None), (filmed(path), path), (STILL, None)))
    assert scored(still) > 0.97
    assert scored(steady) > 0.97
    assert scored(spoiled) < 0.9
    assert isinstance(steady, Candidates)
    assert isinstance(still, Candidates)
    np.testing.assert_allclose(np.nanmedian(steady.place, axis=0), np.nanmedian(still.place, axis=0), atol=0.05)


def test_nothing_taken_off_changes_nothing() -> None:
    still = camera((0 * T, 0 * T, 1 + 0 * T, 0 * T))
    a, b = read(STILL, None), read(STILL, still)
    assert isinstance(a.found[0], Candidates)
    assert isinstance(b.found[0], Candidates)
    np.testing.assert_allclose(a.found[0].times_s, b.found[0].times_s, atol=1e-9)
    assert np.array_equal(b.marks.image_px, a.marks.image_px, equal_nan=True)  # kept for drawing, in the pictures' own pixels


def test_feet_outside_their_own_picture_are_not_seen_wherever_they_lie_once_it_is_steadied() -> None:
    away = (T > 4) & (T < 8)
    path = camera((np.where(away, 3.0 * SIZE[0], 0.0), 0 * T, 1 + 0 * T, 0 * T))
    found = read(filmed(path), path).found[0]
    assert isinstance(found, Candidates)
    assert not ((found.times_s > 4.1) & (found.times_s < 7.9)).any()
    assert ((found.times_s > 8.5) & (found.strength > 0.5)).any()
    assert not any(a < 5 < b for a, b in found.seen)


def test_where_the_movement_is_not_known_no_step_is_told() -> None:
    path = camera(PAN)
    lost = replace(path, placed=np.where(((T > 5) & (T < 9))[:, None], np.nan, path.placed))
    found = read(filmed(path), lost).found[0]
    assert isinstance(found, Candidates)
    assert not ((found.times_s > 5.05) & (found.times_s < 8.95)).any()
    assert scored(found) > 0.6
    nowhere = replace(path, placed=np.full((len(T), 4), np.nan))
    (none,) = read(filmed(path), nowhere).found
    assert isinstance(none, NotMeasured)
    assert none.why == MOVED


def test_somebody_seated_is_no_dancer_because_the_phone_shakes() -> None:
    seat = np.broadcast_to(STILL.image_px[:1] + np.array([180.0, 0.0]), STILL.image_px.shape)
    seat = seat + np.random.default_rng(5).normal(0, 1.0, seat.shape)
    both = Landmarks(
        T, np.array([1, 2]), np.concatenate([STILL.image_px, seat], 1), np.concatenate([STILL.visibility] * 2, 1), ((), ())
    )
    path = camera(HAND)
    weights = load_weights()

    def dancers(moved: CameraPath | None) -> int:
        only, left_out = without_bystanders(filmed(path, both), SIZE, weights, SETTINGS.body, None, moved)  # type: ignore[arg-type]
        assert len(only.ids) + left_out.shape[1] == 2
        return len(only.ids)

    assert dancers(None) == 2
    assert dancers(path) == 1
    # a phone that is swung from one side of the hall to the other takes nobody through the picture
    swing = camera((-2.0 * SIZE[1] * T / T[-1], 0 * T, 1 + 0 * T, 0 * T))
    assert len(without_bystanders(filmed(swing, both), (4000, 4000), weights, SETTINGS.body, None, swing)[0].ids) == 1
