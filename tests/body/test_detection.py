"""Where the dancers are: tiles, one sighting a person, wholly in the picture or not."""

from __future__ import annotations

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Floats
from motion.body.detection import Sighting, find_people, merged, same_person, tiles, wholly_inside
from motion.review.settings import SETTINGS

BODY = SETTINGS.body


def person(x: float, y: float, tall: float) -> Floats:
    """Landmarks (33, 2) of somebody standing with mid-hip at (x, y)."""
    return np.asarray(FIGURE * tall + np.array([x, y]))


@pytest.mark.parametrize("size", [(1920, 1080), (1080, 1920), (640, 360), (320, 320), (1001, 333)])
@pytest.mark.parametrize("share", [0.62, 0.36, 1.0])
def test_tiles_cover_the_picture_and_stay_inside(size: tuple[int, int], share: float) -> None:
    width, height = size
    covered = np.zeros((height, width), bool)
    step = 1 / 3
    for x, y, side in tiles(width, height, share, step):
        assert 0 <= x <= width - side
        assert 0 <= y <= height - side
        covered[y : y + side, x : x + side] = True
    assert covered.all()


def test_a_person_cut_by_one_tile_is_whole_in_another() -> None:
    """Anyone who fits two thirds of a tile lies whole inside some tile, wherever they stand."""
    width, height, share = 1920, 1080, 0.36
    every = tiles(width, height, share, 1 / 3)
    side = every[0][2]
    small = 0.6 * side
    for x in np.linspace(0, width - small, 37):
        for y in np.linspace(0, height - small, 23):
            assert any(a <= x and x + small <= a + s and b <= y and y + small <= b + s for a, b, s in every)


def test_one_sighting_a_person_and_the_best_seen_is_kept() -> None:
    clear, dim = np.full(33, 0.9), np.full(33, 0.4)
    a, b = person(300, 400, 300), person(700, 400, 280)
    kept = merged([Sighting(a + 4, dim), Sighting(a, clear), Sighting(b, dim), Sighting(a - 6, dim)], BODY)
    assert len(kept) == 2
    assert min(kept, key=lambda s: s.torso[0]).visibility[0] == 0.9


def test_neighbours_are_not_merged() -> None:
    """Elbow to elbow: bodies half a height apart are two people."""
    one, two = Sighting(person(300, 400, 300), np.ones(33)), Sighting(person(450, 400, 300), np.ones(33))
    assert not same_person(one, two, BODY)
    assert same_person(one, one, BODY)
    assert len(merged([one, two], BODY)) == 2


def test_specks_are_nobody() -> None:
    assert merged([Sighting(person(300, 400, BODY.least_height_px * 0.8), np.ones(33))], BODY) == []


def test_people_are_found_in_tiles_and_put_back_in_their_place() -> None:
    """A look that, like the detector, sees only people taller than a third of what it is shown."""
    picture = np.zeros((1080, 1920, 3), np.uint8)
    there = [person(x, 540, 250) for x in (1500, 300, 900)]
    for k, p in enumerate(there):
        x, y = p.mean(0).astype(int)
        picture[y, x] = k + 1

    def look(part: np.ndarray) -> list[tuple[Floats, Floats]]:
        if part.shape[0] / 3 > 250:
            return []
        marks = np.argwhere(part[..., 0])
        return [(there[part[y, x, 0] - 1] - there[part[y, x, 0] - 1].mean(0).astype(int) + [x, y], np.ones(33)) for y, x in marks]

    assert find_people(picture, look, dense=False, settings=BODY) == []
    found = find_people(picture, look, dense=True, settings=BODY)
    assert len(found) == 3
    for one, true in zip(found, sorted(there, key=lambda p: p[:, 0].mean()), strict=True):
        np.testing.assert_allclose(one.points_px, true, atol=1)


def test_wholly_inside_is_head_and_feet() -> None:
    whole = person(300, 300, 400)
    assert wholly_inside(whole, 640, 640)
    for move in ((0, 150), (0, -150), (320, 0), (-280, 0)):
        assert not wholly_inside(whole + np.array(move), 640, 640)
    arm_out = whole.copy()
    arm_out[15] = (-40, 250)
    assert wholly_inside(arm_out, 640, 640)
    unseen = whole.copy()
    unseen[:] = np.nan
    assert wholly_inside(np.stack([whole, unseen]), 640, 640).tolist() == [True, False]
