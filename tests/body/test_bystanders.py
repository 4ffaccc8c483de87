"""Who of the people in the picture dances."""

from __future__ import annotations

import numpy as np
import pytest
from made import FIGURE
from made_walk import made_steps

from motion.base.types import Landmarks
from motion.body.bystanders import passes_through, without_bystanders
from motion.body.contact_network import load_weights
from motion.review.settings import SETTINGS

WEIGHTS = load_weights()
TIMES = np.arange(0, 9, 1 / 30)
SIZE_PX = (1920, 1080)
BUSY, STILL = 1.5 + 0.5 * np.arange(14), np.zeros(0)


def line(*landings_s: np.ndarray) -> Landmarks:
    """People side by side from the left, each with their own landings."""
    each = [made_steps(TIMES, s, at_px=(300.0 + 420 * k, 520.0), noise_px=1.0, seed=k).image_px for k, s in enumerate(landings_s)]
    image = np.concatenate(each, 1)
    unsure = tuple(((float(k), k + 0.5),) for k in range(len(each)))
    return Landmarks(TIMES, np.arange(1, len(each) + 1), image, np.full(image.shape[:3], 0.9), unsure)


def kept(marks: Landmarks, most: int | None = None) -> tuple[list[int], int]:
    only, faces = without_bystanders(marks, SIZE_PX, WEIGHTS, SETTINGS.body, most)
    out = faces.shape[1]
    assert faces.shape == (len(marks.times_s), out, 11, 2)
    assert only.ids.tolist() == list(range(1, len(only.ids) + 1))
    assert len(only.unsure) == len(only.ids)
    places = [int(np.argmin(np.abs(marks.image_px - only.image_px[:, [p]]).sum((0, 2, 3)))) for p in range(len(only.ids))]
    assert [only.unsure[p] for p in range(len(places))] == [marks.unsure[k] for k in places]
    return places, out


def test_who_stands_by_is_left_out_and_the_rest_keep_their_order() -> None:
    assert kept(line(BUSY, STILL, BUSY + 0.05)) == ([0, 2], 1)


def test_where_nobody_steps_everyone_stays() -> None:
    assert kept(line(STILL, STILL)) == ([0, 1], 0)


def test_somebody_who_joins_late_is_a_dancer() -> None:
    assert kept(line(BUSY, BUSY[8:])) == ([0, 1], 0)


@pytest.mark.parametrize(("most", "places"), [(1, [1]), (2, [1, 2]), (3, [0, 1, 2]), (5, [0, 1, 2])])
def test_as_many_as_the_person_says_the_busiest_first(most: int, places: list[int]) -> None:
    assert kept(line(STILL, BUSY, BUSY[6:]), most) == (places, 3 - len(places))


def test_whoever_walks_across_passes_through_and_a_dancer_who_travels_does_not() -> None:
    times = np.arange(0, 10, 0.1)
    across = 100 + 110 * times
    there_and_back = 500 + 250 * np.sin(times)
    image = np.array([[FIGURE * 240 + np.array([x, 360.0]) for x in row] for row in zip(across, there_and_back, strict=True)])
    marks = Landmarks(times, np.array([1, 2]), image, np.full(image.shape[:3], 0.9))
    assert passes_through(marks, 0, SETTINGS.body)
    assert not passes_through(marks, 1, SETTINGS.body)
