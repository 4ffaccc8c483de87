"""Tracklets that broke off are joined where place in the line, size and colours agree; by hand, with people made of numbers."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Floats, Landmarks
from motion.body.association import joined
from motion.body.pose import Pose, Region
from motion.review.settings import SETTINGS

BODY = SETTINGS.body
SIZE_PX = (1280, 720)
TIMES = np.arange(90) / 30.0
RED, BLUE = (0.7, 0.1, 0.1, 0.6, 0.1, 0.1), (0.1, 0.1, 0.7, 0.1, 0.1, 0.6)


@dataclass
class Sight:
    """A tracklet: one body that stands still at x over some frames."""

    pictures: list[int]
    x: float
    tall: float = 300.0
    colour: tuple[float, ...] = RED
    doubtful: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        body = FIGURE * self.tall + np.array([self.x, 380.0])
        region = Region(self.x, 380.0, 400.0)
        self.poses = [Pose(body, np.full(33, 0.9), 0.98, region)] * len(self.pictures)
        self.centres = [np.array([self.x, 380.0])] * len(self.pictures)
        self.heights = [self.tall] * len(self.pictures)
        self.colours = [np.array(self.colour)] * len(self.pictures)


BEFORE, AFTER = list(range(40)), list(range(50, 90))


def people(*sights: Sight, drift: Floats | None = None) -> list[list[float]]:
    """Of every person from the left: where the hips were seen, each place once, in order of time."""
    still = np.zeros((len(TIMES), 2)) if drift is None else drift
    marks = joined(sights, TIMES, still, SIZE_PX, BODY)
    assert isinstance(marks, Landmarks)
    out = []
    for p in range(len(marks.ids)):
        x = marks.image_px[:, p, [23, 24], 0].mean(1)
        x = np.round(x[np.isfinite(x)])
        out.append([float(v) for k, v in enumerate(x) if not k or v != x[k - 1]])
    return out


def test_dancers_are_numbered_from_the_left() -> None:
    assert people(Sight(BEFORE, 900), Sight(BEFORE, 300), Sight(BEFORE, 600)) == [[300], [600], [900]]


def test_whoever_was_hidden_goes_on_where_they_stood() -> None:
    assert people(Sight(BEFORE, 400), Sight(BEFORE, 700), Sight(AFTER, 690), Sight(AFTER, 410)) == [[400, 410], [700, 690]]


def test_the_line_moved_on_while_nobody_was_seen() -> None:
    """All went a body's height to the right meanwhile: who now stands where the right one stood is the left one."""
    moved = np.zeros((len(TIMES), 2))
    moved[50:, 0] = 1.0
    assert people(Sight(BEFORE, 300), Sight(BEFORE, 600), Sight(AFTER, 600), Sight(AFTER, 900), drift=moved) == [
        [300, 600],
        [600, 900],
    ]


def test_size_tells_two_apart_who_stood_close() -> None:
    """A child and a grown-up change places by a little; by place alone they would be exchanged."""
    child, adult = Sight(BEFORE, 600, 200.0), Sight(BEFORE, 640, 320.0)
    assert people(child, adult, Sight(AFTER, 630, 200.0), Sight(AFTER, 610, 320.0)) == [[600, 630], [640, 610]]


def test_colours_tell_two_apart_who_stood_close() -> None:
    red, blue = Sight(BEFORE, 600, colour=RED), Sight(BEFORE, 640, colour=BLUE)
    assert people(red, blue, Sight(AFTER, 635, colour=RED), Sight(AFTER, 605, colour=BLUE)) == [[600, 635], [640, 605]]


def test_other_clothes_at_the_same_place_are_somebody_else() -> None:
    assert people(Sight(BEFORE, 600, colour=RED), Sight(AFTER, 600, colour=BLUE)) == [[600], [600]]


def test_who_left_at_the_edge_may_come_back_anywhere_and_who_stood_inside_may_not() -> None:
    assert people(Sight(BEFORE, 1262), Sight(AFTER, 500)) == [[1262, 500]]
    assert people(Sight(BEFORE, 1000), Sight(AFTER, 500)) == [[500], [1000]]


def test_who_was_there_for_a_moment_is_no_dancer() -> None:
    assert people(Sight(BEFORE, 600), Sight(list(range(12)), 900)) == [[600]]


def test_doubtful_frames_and_frames_without_a_sight_are_unsure() -> None:
    marks = joined([Sight(BEFORE, 600, doubtful=[20, 21, 22]), Sight(AFTER, 600)], TIMES, np.zeros((90, 2)), SIZE_PX, BODY)
    assert isinstance(marks, Landmarks)
    assert marks.unsure == (((TIMES[20], TIMES[22]), (TIMES[40], TIMES[49])),)


def test_two_who_are_seen_at_once_are_never_one() -> None:
    assert len(people(Sight(BEFORE, 600), Sight(list(range(39, 90)), 600))) == 2


@pytest.mark.parametrize("drift", [0.0, 0.5])
def test_each_end_is_joined_once(drift: float) -> None:
    moved = np.full((len(TIMES), 2), drift)
    first, second, third = list(range(30)), list(range(32, 60)), list(range(62, 90))
    sights = [Sight(part, x) for part in (first, second, third) for x in (300, 600, 900)]
    assert people(*sights, drift=moved) == [[300], [600], [900]]
