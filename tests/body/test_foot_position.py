"""Places of feet on the floor and hidden feet, from people put before a camera by sums."""

from __future__ import annotations

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Candidates, Floats, Landmarks
from motion.body.foot_position import floor_of, placed
from motion.body.occlusion import hidden_pictures, in_sight
from motion.review.settings import SETTINGS

BODY = SETTINGS.body
SIZE = (1280, 720)
FOCAL = 0.72 * 1280
HORIZON, CAMERA_M, TALL_M = 330.0, 1.3, 1.7
LEG_M = TALL_M / 2


def seen_at(x_m: float, z_m: float) -> Floats:
    """A point of the floor in the picture (2,), px; the camera looks level along z."""
    return np.array([SIZE[0] / 2 + FOCAL * x_m / z_m, HORIZON + FOCAL * CAMERA_M / z_m])


def person(x_m: float, z_m: float, right_m: tuple[float, float], left_m: tuple[float, float]) -> Floats:
    """Landmarks (33, 2) of somebody at (x, z) whose feet stand off from there by so much (x, z)."""
    tall = FOCAL * TALL_M / z_m
    points = FIGURE * tall
    points = points - points[[23, 24]].mean(0)
    points = points + seen_at(x_m, z_m) - np.array([0.0, points[[27, 28], 1].mean()])
    top = seen_at(x_m, z_m)[1] - tall
    ankle = seen_at(x_m, z_m)[1]
    points[:11, 1] = ankle - (ankle - top) / 1.12
    for feet, off in (([28, 30, 32], right_m), ([27, 29, 31], left_m)):
        points[feet] = seen_at(x_m + off[0], z_m + off[1])
    return points


def clip(rows: list[Floats]) -> Landmarks:
    times = np.arange(len(rows)) / 30
    image = np.array(rows)[:, None]
    return Landmarks(times, np.array([1]), image, np.full(image.shape[:3], 0.9))


def test_the_horizon_is_found_from_how_bodies_grow() -> None:
    marks = clip([person(0.0, z, (-0.1, 0.0), (0.1, 0.0)) for z in np.linspace(4, 7, 60)])
    assert floor_of(marks, SIZE, BODY).horizon_px == pytest.approx(HORIZON, abs=15)


@pytest.mark.parametrize("z_m", [4.0, 6.5])
@pytest.mark.parametrize(
    ("view_deg", "right_of_left_m"),
    # the foot half a metre forward of the other: towards the camera, to the picture's right, away, to the left
    [(0, (0.0, -0.5)), (90, (0.5, 0.0)), (180, (0.0, 0.5)), (-90, (-0.5, 0.0))],
)
def test_a_step_forward_is_forward_from_every_side(view_deg: float, right_of_left_m: tuple[float, float], z_m: float) -> None:
    still = [person(0.2, z, (-0.1, 0.0), (0.1, 0.0)) for z in np.linspace(4, 7, 60)]
    marks = clip([*still, *[person(0.2, z_m, right_of_left_m, (0.0, 0.0))] * 30])
    floor = floor_of(marks, SIZE, BODY)
    one = np.ones(1)
    found = Candidates(
        one * (62 / 30), one * 12, np.array([True]), np.array([False]), one, one, np.full((1, 2), np.nan), ((0.0, 3.0),)
    )
    view = np.full(len(marks.times_s), float(view_deg))
    right, forward = placed(found, floor, 0, marks, view, BODY).place[0]
    assert forward == pytest.approx(0.5 / LEG_M, abs=0.12)
    assert right == pytest.approx(0.0, abs=0.12)


def test_a_foot_behind_somebody_in_front_is_hidden_and_one_beside_is_not() -> None:
    front, behind = person(0.0, 4.0, (-0.1, 0.0), (0.1, 0.0)), person(0.0, 6.0, (-0.1, 0.0), (0.1, 0.0))
    beside = person(1.5, 6.0, (-0.1, 0.0), (0.1, 0.0))
    image = np.array([[front, behind, beside]] * 3)
    marks = Landmarks(np.arange(3) / 30, np.arange(1, 4), image, np.full(image.shape[:3], 0.9))
    assert hidden_pictures(marks, 1, BODY).all()
    assert not hidden_pictures(marks, 0, BODY).any()  # whoever stands in front is never hidden by the row behind
    assert not hidden_pictures(marks, 2, BODY).any()


def test_side_by_side_in_one_row_nobody_hides_anybody() -> None:
    image = np.array([[person(x, 5.0, (-0.1, 0.0), (0.1, 0.0)) for x in (0.0, 0.15)]] * 3)
    marks = Landmarks(np.arange(3) / 30, np.arange(1, 3), image, np.full(image.shape[:3], 0.9))
    assert not hidden_pictures(marks, 0, BODY).any()
    assert not hidden_pictures(marks, 1, BODY).any()


def test_hidden_stretches_are_cut_out_with_a_margin() -> None:
    times = np.arange(0, 10, 1 / 30)
    hidden = (times > 4) & (times < 5)
    (a, b), (c, d) = in_sight([(0.0, 10.0)], times, hidden, BODY)
    assert (a, d) == (0.0, 10.0)
    assert b == pytest.approx(4 - BODY.hidden_margin_s, abs=0.05)
    assert c == pytest.approx(5 + BODY.hidden_margin_s, abs=0.05)
    assert in_sight([(0.0, 0.3)], times, hidden, BODY) == ()
