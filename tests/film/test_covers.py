"""What covers people in a picture, by hand: where a head's disc lies, how it grows and holds, and that a block leaves nothing out."""

from __future__ import annotations

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Floats, Landmarks
from motion.film.covers import COVER, Head, boxes_over, cover_whole, with_bystanders
from motion.review.corrections import Masks, heights_px
from motion.review.settings import SETTINGS

TALL, HIPS = 400.0, np.array([600.0, 400.0])
TIMES = np.arange(91) / 30.0
BODY = FIGURE * TALL + HIPS


def standing(*, unseen: tuple[float, float] | None = None) -> Floats:
    """One who stands still, (F, 33, 2), not seen between two times."""
    points = np.repeat(BODY[None], len(TIMES), axis=0)
    if unseen is not None:
        points[(unseen[0] < TIMES) & (unseen[1] > TIMES)] = np.nan
    return points


def marks(*people: Floats) -> Landmarks:
    image = np.stack(people, axis=1)
    return Landmarks(TIMES, np.arange(1, len(people) + 1), image, np.full(image.shape[:3], 0.9))


def test_hair_and_hat_lie_under_the_disc() -> None:
    x, y, radius = Head(1, TIMES, standing()).at(1.0) or (0.0, 0.0, 0.0)
    assert x == pytest.approx(HIPS[0])
    assert radius == pytest.approx(0.1 * heights_px(BODY))
    eyes, chin = BODY[2, 1], BODY[9, 1] + 0.03 * TALL
    assert y - radius <= eyes - 0.09 * TALL
    assert y + radius >= chin


def test_a_face_near_the_camera_is_covered_whole() -> None:
    points = standing()
    points[:, :11] = HIPS + np.array([0.0, -0.4 * TALL]) + 4.0 * (FIGURE[:11] - FIGURE[0]) * TALL
    x, y, radius = Head(1, TIMES, points).at(1.0) or (0.0, 0.0, 0.0)
    reach = np.hypot(*(points[0, :11] - (x, y)).T).max()
    assert radius > 1.2 * reach


def test_the_disc_grows_while_the_head_is_not_seen() -> None:
    head = Head(1, TIMES, standing(unseen=(1.0, 2.0)))
    seen, unseen = head.at(1.0), head.at(1.5)
    assert seen is not None
    assert unseen is not None
    assert unseen[2] == pytest.approx(1.25 * seen[2], rel=0.01)  # half its size in a second; half a second from either sight


def test_a_head_is_covered_a_second_before_and_after_it_is_seen_and_then_no_more() -> None:
    points = standing()
    points[(TIMES < 1.2) | (TIMES > 1.8)] = np.nan
    head = Head(1, TIMES, points)
    hold_s = SETTINGS.desk.head_hold_s
    for time_s, covered in (
        (1.2 - hold_s + 0.05, True),
        (1.8 + hold_s - 0.05, True),
        (1.2 - hold_s - 0.05, False),
        (1.85 + hold_s, False),
    ):
        assert (head.at(time_s) is not None) == covered, time_s


def test_a_block_covers_every_pixel_that_the_box_touches() -> None:
    image = np.zeros((100, 120, 3), np.uint8)
    cover_whole(image, Masks(np.array([0.0, 1.0]), np.array([[[10.6, 20.4, 40.2, 70.3]]] * 2), np.zeros((1, 3))), 0.5)
    covered = (image == COVER).all(axis=2)
    rows, columns = np.flatnonzero(covered.any(axis=1)), np.flatnonzero(covered.any(axis=0))
    assert (rows[0], rows[-1], columns[0], columns[-1]) == (20, 70, 10, 40)
    assert covered[20:71, 10:41].all()


def test_a_box_has_the_same_margin_on_every_side() -> None:
    (left, top, right, bottom) = boxes_over(marks(standing()), [1]).at(1.0)[0]
    margin = SETTINGS.desk.mask_margin * float(heights_px(BODY))
    assert (left, top) == pytest.approx(tuple(BODY.min(0) - margin))
    assert (right, bottom) == pytest.approx(tuple(BODY.max(0) + margin))


def test_bystanders_have_heads_too() -> None:
    faces = np.repeat((BODY[:11] + np.array([300.0, 0.0]))[None, :, None], len(TIMES), axis=0).transpose(0, 2, 1, 3)
    everyone = with_bystanders(marks(standing()), faces)
    assert everyone.ids.tolist() == [1, 2]
    place = Head(2, TIMES, everyone.image_px[:, 1]).at(1.0)
    assert place is not None
    assert place[0] == pytest.approx(HIPS[0] + 300.0)
