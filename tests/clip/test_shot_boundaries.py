"""Cuts: found where another place comes, not where light flashes, dancers move or the camera does."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import pytest
from made_hall import filmed, hall
from numpy.typing import NDArray

from motion.base.types import Landmarks, Picture
from motion.body.shots import join_shots, shots_of
from motion.clip.shot_boundaries import with_cuts
from motion.review.settings import SETTINGS


def room(seed: int, light: float = 1.0, at: int = 0) -> np.ndarray:  # type: ignore[type-arg]
    """A hall with walls and windows of its own, 240 x 320, and a dancer who stands at column `at`."""
    chance = np.random.default_rng(seed)
    picture = np.kron(chance.uniform(40, 180, (6, 8, 3)), np.ones((40, 40, 1)))
    picture[80:220, 60 + at : 90 + at] = 30
    return np.clip(picture * light, 0, 255).astype(np.uint8)


def cuts(rooms: list[np.ndarray]) -> list[float]:  # type: ignore[type-arg]
    shown = [Picture(k, k / 30, np.ascontiguousarray(rgb)) for k, rgb in enumerate(rooms)]
    out = list(with_cuts(iter(shown), SETTINGS.clip))
    assert [p.time_s for p, _ in out] == [p.time_s for p in shown]
    return [round(p.time_s * 30) for p, cut in out if cut]


def test_another_room_is_a_cut_and_so_is_a_title_card() -> None:
    moving = [room(1, at=3 * k) for k in range(40)]
    card = [np.full((240, 320, 3), 20, np.uint8) for _ in range(20)]
    other = [room(2, at=2 * (k % 30)) for k in range(30)]
    assert cuts([*moving, *other]) == [40]
    assert cuts([*moving, *card, *other]) == [40, 60]


@pytest.mark.parametrize("many", [1, 2, 3])
def test_a_flash_is_no_cut(many: int) -> None:
    flashed = [room(1, light=3.0 if 20 <= k < 20 + many else 1.0, at=k) for k in range(40)]
    assert cuts(flashed) == []


def test_light_that_changes_and_a_camera_that_swings_are_no_cuts() -> None:
    assert cuts([room(1, light=0.5 + k / 60, at=k) for k in range(60)]) == []
    lamp = [np.clip(room(1, at=k).astype(int) + 45 * (k >= 20), 0, 255).astype(np.uint8) for k in range(40)]
    assert cuts(lamp) == []
    wide = np.concatenate([room(1), room(3), room(4)], axis=1)
    assert cuts([wide[:, 6 * k : 6 * k + 320] for k in range(100)]) == []


def test_a_dancer_who_runs_aside_is_no_cut() -> None:
    assert cuts([room(1, at=min(160, max(0, 10 * (k - 20)))) for k in range(40)]) == []


def with_dancer(picture: NDArray[np.uint8], up: int = 0) -> NDArray[np.uint8]:
    """Somebody who stands so near that they fill most of the picture, `up` px off the floor."""
    out = picture.copy()
    cv2.ellipse(out, (160, 140 - up), (64, 105), 0, 0, 360, (40, 30, 90), -1)
    for k in range(12):
        cv2.circle(out, (110 + 33 * (k % 4), 80 + 45 * (k // 4) - up), 9, (220, 190, 20 * k), -1)
    return out


def glow(picture: NDArray[np.uint8], much: float) -> NDArray[np.uint8]:
    """A lamp at the upper left lights a good part of the picture."""
    y, x = np.mgrid[:240, :320]
    fall = much * np.exp(-(((x - 90) / 110) ** 2 + ((y - 40) / 110) ** 2))[..., None]
    return np.asarray(np.clip(picture * (1 + fall) + 30 * fall, 0, 255), dtype=np.uint8)


def lit(picture: NDArray[np.uint8], light: float) -> NDArray[np.uint8]:
    """All of the picture at another brightness."""
    return np.asarray(np.clip(picture * light, 0, 255), dtype=np.uint8)


def test_a_dancer_who_fills_the_picture_and_jumps_is_no_cut() -> None:
    heights = [0] * 20 + [45] * 10 + [0] * 20
    assert cuts([with_dancer(filmed(hall()), up) for up in heights]) == []


@pytest.mark.parametrize("much", [0.6, 1.0, 2.0])
def test_a_lamp_that_flares_is_no_cut(much: float) -> None:
    place = filmed(hall())
    assert cuts([glow(place, much if 20 <= k < 35 else 0.0) for k in range(50)]) == []


@pytest.mark.parametrize("light", [0.0, 0.05, 0.2, 1.8, 3.0])
def test_light_that_goes_off_or_on_is_no_cut(light: float) -> None:
    place = filmed(hall())
    assert cuts([lit(place, light if 20 <= k < 35 else 1.0) for k in range(50)]) == []
    assert cuts([lit(place, light if k >= 20 else 1.0) for k in range(50)]) == []


def test_another_place_is_a_cut_also_after_black() -> None:
    one, other = filmed(hall(7)), filmed(hall(8))
    assert cuts([one] * 20 + [other] * 20) == [20]
    assert cuts([one] * 20 + [lit(one, 0.0)] * 12 + [other] * 20) == [32]


@pytest.mark.parametrize("angle", [{"zoom": 1.6}, {"yaw": -0.45}, {"zoom": 1.3, "x": 40.0}])
def test_the_same_hall_from_another_place_is_a_cut(angle: dict[str, Any]) -> None:
    one, other = with_dancer(filmed(hall())), filmed(hall(), **angle)
    assert cuts([one] * 20 + [other] * 20) == [20]


def test_a_slow_pan_a_shaken_phone_and_a_knock_are_no_cuts() -> None:
    chance = np.random.default_rng(1)
    assert cuts([filmed(hall(), x=k - 50) for k in range(100)]) == []
    assert cuts([filmed(hall(), *chance.uniform(-12, 12, 2)) for _ in range(60)]) == []
    assert cuts([filmed(hall(), x=14.0 * (k >= 30), y=22.0 * (k >= 30)) for k in range(60)]) == []
    assert cuts([filmed(hall(), x=-70 + 9.0 * min(max(0, k - 30), 15)) for k in range(60)]) == []


def test_pieces_keep_their_dancers_apart() -> None:
    def piece(from_s: float, dancers: int, faces: int) -> tuple[Landmarks, np.ndarray]:  # type: ignore[type-arg]
        times = from_s + np.arange(5) / 10
        return Landmarks(
            times, np.arange(1, dancers + 1), np.full((5, dancers, 33, 2), from_s), np.ones((5, dancers, 33)),
            ((),) * dancers,
        ), np.full((5, faces, 11, 2), from_s)  # fmt: skip

    marks, faces = join_shots([piece(0.0, 2, 1), piece(3.0, 1, 0)])
    assert marks.ids.tolist() == [1, 2, 3]
    assert np.isfinite(marks.image_px[:, :, 0, 0]).tolist() == [[True, True, False]] * 5 + [[False, False, True]] * 5
    assert faces.shape == (10, 1, 11, 2)
    assert np.isfinite(faces[:, 0, 0, 0]).tolist() == [True] * 5 + [False] * 5
    assert shots_of(np.array([2.0]), 4.0) == ((0.0, 2.0), (2.0, 4.0))
