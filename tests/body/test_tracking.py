"""From frame to frame: which answer of the pose model is taken for whom. People made of numbers, their clothes painted into the frame."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Floats
from motion.body.pose import Picture, Pose, Region
from motion.body.tracking import Tracker, on_one_body
from motion.review.settings import SETTINGS

BODY = SETTINGS.body
TALL = 300.0
RED, BLUE = (200, 30, 30), (30, 30, 200)
Person = tuple[float, float, tuple[int, int, int]]  # mid-hip x, y and the clothes' colour


def body(x: float, y: float = 380.0, tall: float = TALL) -> Floats:
    return FIGURE * tall + np.array([x, y])


def frame(*people: Person) -> Picture:
    """A dark hall with everybody's clothes in it, the last in front."""
    picture = np.zeros((720, 1280, 3), np.uint8)
    for x, y, colour in people:
        picture[int(y - 130) : int(y + 90), int(x - 45) : int(x + 46)] = colour
    return picture


class Model:
    """The pose model as a script: `sighted`, whom a search finds; `answer`, what a look at a region gives."""

    def __init__(self) -> None:
        self.sighted: list[Floats] = []
        self.answer: Callable[[Region], Pose | None] = lambda _: None
        self.hidden: list[int] = []

    def look(self, picture: Picture) -> list[tuple[Floats, Floats]]:
        return [(b, np.full(33, 0.9)) for b in self.sighted] if picture.shape[:2] == (720, 1280) else []

    def look_at(self, _: Picture, region: Region, hide: Sequence[Floats] = ()) -> Pose:
        self.hidden.append(len(hide))
        given = self.answer(region)
        return Pose(np.full((33, 2), 5.0), np.zeros(33), 0.05, region) if given is None else given


def seen(points: Floats, presence: float = 0.98) -> Pose:
    return Pose(points, np.full(33, 0.9), presence, Region(0.0, 0.0, 1.0))


def nearest(*bodies: Floats) -> Callable[[Region], Pose]:
    """Every region shows whichever body lies nearest to its middle."""
    return lambda region: seen(min(bodies, key=lambda b: abs(b[[23, 24], 0].mean() - region.x)))


def only_near(*bodies: Floats) -> Callable[[Region], Pose | None]:
    """The same, but a region in which nobody stands shows nobody."""

    def answer(region: Region) -> Pose | None:
        pose = nearest(*bodies)(region)
        return pose if abs(pose.points_px[[23, 24], 0].mean() - region.x) < 60 else None

    return answer


def started(*people: Person) -> tuple[Tracker, Model]:
    """Everybody found in a first frame and followed over ten more."""
    model = Model()
    tracker = Tracker(model.look, model.look_at, BODY)
    model.sighted = [body(x, y) for x, y, _ in people]
    model.answer = nearest(*model.sighted)
    for k in range(11):
        tracker.feed(k / 30, frame(*people))
        model.sighted = []
    assert len(tracker.memory.active) == len(people)
    return tracker, model


def at(tracker: Tracker, frame_index: int) -> list[float]:
    """Where the hips were seen in a frame, by tracklet; nothing for who was not seen."""
    every = sorted(tracker.memory.active + tracker.memory.gone, key=lambda t: t.centres[0][0])
    return [float(t.poses[t.pictures.index(frame_index)].points_px[[23, 24], 0].mean()) for t in every if frame_index in t.pictures]


def test_an_answer_that_is_nobody_is_not_believed() -> None:
    tracker, model = started((400, 380, RED))
    model.answer = lambda _: seen(body(400), presence=0.3)
    tracker.feed(11 / 30, frame((400, 380, RED)))
    assert at(tracker, 11) == []


def test_a_body_of_another_size_is_not_believed_nor_one_that_jumped() -> None:
    tracker, model = started((400, 380, RED))
    for points in (body(400, tall=130.0), body(400, tall=700.0), body(480)):
        index = len(tracker.memory.times)
        model.answer = lambda _, points=points: seen(points)  # type: ignore[misc]
        tracker.feed(index / 30, frame((400, 380, RED), (480, 380, RED)))
        assert at(tracker, index) == []
    model.answer = nearest(body(420, tall=320.0))
    index = len(tracker.memory.times)
    tracker.feed(index / 30, frame((420, 380, RED)))
    assert len(at(tracker, index)) == 1


def test_a_region_that_slips_onto_a_neighbours_clothes_is_not_believed() -> None:
    tracker, model = started((400, 380, RED), (470, 380, BLUE))
    red, blue = sorted(tracker.memory.active, key=lambda t: t.centres[0][0])
    model.answer = nearest(body(460))
    tracker.feed(11 / 30, frame((460, 380, BLUE)))
    assert (red.pictures[-1], blue.pictures[-1]) == (10, 11)
    assert blue.doubtful == []  # nobody else claims that body


def test_other_light_on_the_same_clothes_with_nobody_near_is_believed() -> None:
    tracker, model = started((400, 380, RED), (1000, 380, BLUE))
    model.answer = nearest(body(400), body(1000))
    tracker.feed(11 / 30, frame((400, 380, (100, 120, 110)), (1000, 380, BLUE)))
    assert at(tracker, 11) == [400.0, 1000.0]


def test_who_is_hidden_is_expected_where_the_line_takes_them() -> None:
    tracker, model = started((300, 380, RED), (600, 380, RED), (900, 380, BLUE))
    for k in range(1, 31):  # two thirds of a body height to the right in a second; the middle one is not to be seen
        model.answer = only_near(body(300 + 7 * k), body(900 + 7 * k))
        tracker.feed((10 + k) / 30, frame((300 + 7 * k, 380, RED), (900 + 7 * k, 380, BLUE)))
    hidden = next(t for t in tracker.memory.active if t.pictures[-1] != 40)
    assert abs(float(hidden.expected[0]) - 810.0) < 15.0
    model.sighted = [body(810)]  # comes out from behind: the same person, and nobody new
    model.answer = nearest(body(510), body(810), body(1110))
    tracker.feed(2.0, frame((510, 380, RED), (810, 380, RED), (1110, 380, BLUE)))
    assert len(tracker.memory.active) == 3
    assert hidden.pictures[-1] == 41


def test_two_answers_on_one_body_are_doubtful_for_both_and_the_better_claim_keeps_it() -> None:
    """Two walk into each other; the model reads one body for both. It stands where the left one was expected."""
    tracker, model = started((400, 380, RED), (460, 380, RED))
    left, right = sorted(tracker.memory.active, key=lambda t: t.centres[0][0])
    model.answer = nearest(body(415))
    tracker.feed(11 / 30, frame((415, 380, RED)))
    assert left.doubtful == [11]
    assert right.doubtful == [11]
    assert left.pictures[-1] == 11
    assert right.pictures[-1] == 10


def test_the_better_claim_is_not_the_one_in_front() -> None:
    """The one in front is looked at first; the body that both read stands where the one behind was expected."""
    tracker, model = started((400, 380, RED), (460, 410, RED))
    behind, front = sorted(tracker.memory.active, key=lambda t: t.centres[0][0])
    model.answer = nearest(body(404, 382))
    tracker.feed(11 / 30, frame((404, 382, RED)))
    assert behind.pictures[-1] == 11
    assert front.pictures[-1] == 10


def test_the_one_in_front_is_painted_out_for_the_one_behind_and_not_the_other_way_round() -> None:
    tracker, model = started((400, 380, RED), (460, 410, BLUE))
    model.hidden = []
    model.answer = nearest(body(400), body(460, 410))
    tracker.feed(11 / 30, frame((400, 380, RED), (460, 410, BLUE)))
    assert model.hidden == [0, 1]


def test_feet_that_meet_make_no_single_body() -> None:
    one, other = body(400), body(460)
    other[[27, 28, 29, 30, 31, 32]] = one[[27, 28, 29, 30, 31, 32]]
    assert not on_one_body(one, other, BODY)
    assert on_one_body(one, body(415), BODY)


@pytest.mark.parametrize("rate_hz", [15, 30, 60])
def test_usual_height_and_colours_are_those_of_the_same_time_at_any_rate(rate_hz: int) -> None:
    """Half a second after somebody shrinks by a tenth, the region is sized by what they are now."""
    model = Model()
    tracker = Tracker(model.look, model.look_at, BODY)
    model.sighted = [body(400.0)]
    sizes = []
    for k in range(3 * rate_hz):
        tall = TALL if k < 2 * rate_hz else 0.9 * TALL
        model.answer = nearest(body(400.0, tall=tall))
        tracker.feed(k / rate_hz, frame((400.0, 380.0, RED)))
        sizes.append(tracker.memory.active[0].height(tracker._looks(BODY.region_memory_s)))
        model.sighted = []
    changed_s = np.flatnonzero(np.array(sizes) < 0.95 * sizes[0])[0] / rate_hz - 2.0
    assert changed_s == pytest.approx(BODY.region_memory_s / 2, abs=1.01 / rate_hz)


def test_a_knock_of_the_phone_loses_nobody_when_it_is_told() -> None:
    for told in (True, False):
        model = Model()
        tracker = Tracker(model.look, model.look_at, BODY)
        model.sighted, model.answer = [body(500.0)], only_near(body(500.0))
        for k in range(10):
            tracker.feed(k / 30, frame((500.0, 380.0, RED)))
        model.sighted, model.answer = [], only_near(body(610.0))
        moved = np.array([1.0, 0.0, 110.0, 0.0])
        tracker.feed(10 / 30, frame((610.0, 380.0, RED)), moved if told else None)
        (one,) = tracker.memory.active
        assert (one.pictures[-1] == 10) == told
        (box,) = tracker.boxes_px(0.15)
        if told:
            points = body(610.0)
            np.testing.assert_allclose(box[:2], points.min(0) - 0.15 * np.ptp(points[:, 1]))
            np.testing.assert_allclose(box[2:], points.max(0) + 0.15 * np.ptp(points[:, 1]))
