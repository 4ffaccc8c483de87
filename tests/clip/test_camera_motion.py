"""The camera's movement: found where still things show it, taken for none on a stand, and not guessed where too little stands still."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from made_hall import hall, moved, window
from numpy.typing import NDArray

from motion.base.camera import CameraPath
from motion.clip.camera_motion import CameraMotion, settled
from motion.review.settings import SETTINGS

SIZE = (480, 360)
NOBODY = np.zeros((0, 4))
CAMERA = SETTINGS.camera
Pictures = list[NDArray[np.uint8]]


def watched(shown: Pictures, boxes: NDArray[np.float64] = NOBODY) -> CameraMotion:
    camera = CameraMotion(CAMERA)
    for k, rgb in enumerate(shown):
        camera.follow(k / 30, rgb, boxes)
        camera.settle(boxes)
    return camera


def taken_off(camera: CameraMotion) -> CameraPath | None:
    return settled(camera.path(), camera.hints_px(), SIZE, CAMERA)


def errors_px(path: CameraPath, seen: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """By how much the window's corners are put wrong (F,)."""
    corners = np.array([[0.0, 0.0], [480, 0], [0, 360], [480, 360]])
    whole = [np.vstack([one, [0, 0, 1]]) for one in seen]
    back = [whole[0] @ np.linalg.inv(one) for one in whole]
    true = np.stack([corners @ one[:2, :2].T + one[:2, 2] for one in back])
    off = path.steadied(np.broadcast_to(corners, (len(seen), 4, 2))) - true
    return np.asarray(np.hypot(off[..., 0], off[..., 1]).max(1))


def noisy(shown: Pictures, sd: float = 4.0) -> Pictures:
    chance = np.random.default_rng(3)
    return [np.clip(one + chance.normal(0, sd, one.shape), 0, 255).astype(np.uint8) for one in shown]


def body(picture: NDArray[np.uint8], x: int, up: int = 0, wide: int = 45) -> NDArray[np.uint8]:
    """Somebody in a patterned shirt at column x."""
    out = picture.copy()
    cv2.ellipse(out, (x, 220 - up), (wide, 120), 0, 0, 360, (40, 30, 90), -1)
    for k in range(24):
        cv2.circle(out, (x - wide // 2 + wide // 3 * (k % 4), 130 + 32 * (k // 4) - up), 6, (220, 190, 10 * k), -1)
    return out


def test_a_shaken_panned_zoomed_and_turned_picture_is_put_back_within_half_a_pixel() -> None:
    t = np.arange(60) / 30
    seen = [
        moved(40 * np.sin(2 * u) + 4 * np.sin(30 * u), 6 * np.sin(17 * u), 1 + 0.08 * np.sin(3 * u), 2 * np.sin(5 * u)) for u in t
    ]
    camera = watched(noisy([window(hall(), one) for one in seen]))
    path = taken_off(camera)
    assert path is not None
    assert path.known.all()
    assert errors_px(path, seen).max() < 0.5


def test_a_pan_out_of_the_first_picture_and_back_again_does_not_drift() -> None:
    seen = [moved(x) for x in 2 * (*range(0, 230, 6), *range(230, -230, -6), *range(-230, 1, 6))]
    camera = watched(noisy([window(hall(), one) for one in seen]))
    off = errors_px(camera.path(), seen)
    assert np.isfinite(off).all()
    assert off.max() < 1.5
    assert off[-1] < 0.5
    assert camera.keys < 8  # on the way back earlier ones were taken up again


def test_a_phone_on_a_stand_moves_by_nothing_at_all() -> None:
    place = window(hall(), moved())
    assert taken_off(watched(noisy([place] * 40))) is None
    jumping = noisy([body(place, 240, 40 if 10 <= k % 20 < 15 else 0) for k in range(40)])
    assert taken_off(watched(jumping, np.array([[170.0, 40, 310, 350]]))) is None
    # lamps: brighter by a half for a second
    assert taken_off(watched([np.clip(place * (1.5 if 10 <= k < 40 else 1.0), 0, 255).astype(np.uint8) for k in range(60)])) is None
    # one picture in which everything is off is no movement
    once = [place] * 20 + [window(hall(), moved(9))] + [place] * 20
    assert taken_off(watched(once)) is None


def test_people_whom_nobody_follows_pass_in_front_of_a_phone_on_a_stand() -> None:
    place = window(hall(), moved())
    passing = [body(body(place, 5 * k - 60, wide=60), 5 * k + 90, wide=60) for k in range(90)]
    assert taken_off(watched(noisy(passing))) is None


def test_dancers_who_move_together_have_no_say_where_they_are_known() -> None:
    seen = [moved(8 * np.sin(k / 2), 6 * np.sin(k / 3)) for k in range(40)]
    shown, boxes = [], []
    for k, one in enumerate(seen):
        x = 240 + 2 * k
        crowd = np.random.default_rng(5).integers(0, 255, (34, 26, 3)).astype(np.uint8)
        picture = window(hall(), one)
        picture[70:342, x - 104 : x + 104] = np.kron(crowd, np.ones((8, 8, 1), np.uint8))
        shown.append(picture)
        boxes.append(np.array([[x - 112.0, 62, x + 112, 350]]))
    camera = CameraMotion(CAMERA)
    for k, rgb in enumerate(shown):
        camera.follow(k / 30, rgb, boxes[max(0, k - 1)])
        camera.settle(boxes[k])
    path = taken_off(camera)
    assert path is not None
    assert path.known.mean() > 0.9
    assert np.nanmax(errors_px(path, seen)) < 1.5


def test_a_knock_is_taken_off_from_the_very_picture_on() -> None:
    seen = [moved()] * 20 + [moved(13, 9, turn_deg=1.0)] * 20
    path = taken_off(watched([window(hall(), one) for one in seen]))
    assert path is not None
    assert errors_px(path, seen).max() < 0.5
    assert path.shifts_px(SIZE)[19] < 0.3 < 10 < path.shifts_px(SIZE)[20]


def test_where_too_little_stands_still_nothing_is_guessed() -> None:
    crowd = np.array([[0.0, 0, 430, 360]])  # people all over the picture but for its edge
    shaken = [moved(7 * np.sin(k / 2), 5 * np.cos(k / 3)) for k in range(40)]
    path = taken_off(watched([window(hall(), one) for one in shaken], crowd))
    assert path is not None  # the few corners at the edge hint at a movement
    assert path.known.mean() < 0.4
    place = window(hall(), moved())
    assert taken_off(watched(noisy([place] * 40), crowd)) is None  # and here at none
    assert taken_off(watched(noisy([np.full((360, 480, 3), 120, np.uint8)] * 20))) is None  # a bare wall


def test_a_floor_that_moves_otherwise_than_the_wall_is_told_by_what_is_left_over() -> None:
    def near_and_far(x: float) -> NDArray[np.uint8]:
        out = window(hall(), moved(x))
        out[180:] = window(hall(), moved(1.4 * x))[180:]
        return out

    xs = [30 * np.sin(k / 8) for k in range(50)]
    camera = watched([near_and_far(x) for x in xs])
    left = camera.path().apart_px
    assert np.nanmedian(left) > 5 * np.nanmedian(watched([window(hall(), moved(x)) for x in xs]).path().apart_px)
    path = taken_off(camera)
    assert path is not None
    assert path.known.mean() < 0.8  # the wide swings are given up
    strict = settled(camera.path(), camera.hints_px(), SIZE, replace(CAMERA, most_apart_share=1.0))
    assert strict is not None
    assert strict.known.mean() > path.known.mean()


def test_points_go_there_and_back() -> None:
    path = CameraPath(np.array([0.0, 1.0]), np.array([[1.0, 0, 0, 0], [1.1, 0.2, 30, -8]]), np.zeros(2))
    points = np.random.default_rng(0).uniform(0, 400, (2, 3, 33, 2))
    np.testing.assert_allclose(path.moved_back(path.steadied(points)), points, atol=1e-9)
    assert path.steadied(points)[1, 0, 0, 0] == 1.1 * points[1, 0, 0, 0] - 0.2 * points[1, 0, 0, 1] + 30
