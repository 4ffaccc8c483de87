"""Who is who, with people made of numbers in place of the pose model."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Floats, Landmarks, NotMeasured
from motion.body.pose import Picture, Pose, Region
from motion.body.tracking import Tracker
from motion.body.tracks import tracks_of
from motion.review.settings import SETTINGS

BODY = SETTINGS.body
WIDTH, HEIGHT = 1280, 720
TALL = 300.0
#: Where somebody's mid-hip is at a time, or None when nobody can see them.
Way = Callable[[float], tuple[float, float] | None]


class Stage:
    """People on their ways. The picture holds the time, so that looks answer for the right moment."""

    def __init__(self, *ways: Way) -> None:
        self.ways = ways

    def bodies(self, picture: Picture) -> list[Floats]:
        time_s = _time_in(picture)
        return [FIGURE * TALL + np.array(at) for way in self.ways if (at := way(time_s)) is not None]

    def look(self, part: Picture) -> list[tuple[Floats, Floats]]:
        if part.shape[:2] != (HEIGHT, WIDTH):
            return []
        return [(b, np.full(33, 0.9)) for b in self.bodies(part)]

    def look_at(self, picture: Picture, region: Region, *_: object) -> Pose:
        near = [b for b in self.bodies(picture) if abs(b[[23, 24], 0].mean() - region.x) < region.side / 2]
        if not near:
            return Pose(np.full((33, 2), 5.0), np.zeros(33), 0.05, region)
        best = min(near, key=lambda b: abs(b[[23, 24], 0].mean() - region.x))
        return Pose(best, np.full(33, 0.9), 0.98, region)


def _timed(time_s: float) -> Picture:
    picture = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    picture[0, :8, 0] = np.frombuffer(np.float64(time_s).tobytes(), np.uint8)
    return picture


def _time_in(picture: Picture) -> float:
    return float(np.frombuffer(picture[0, :8, 0].tobytes(), np.float64)[0])


def followed(*ways: Way, until_s: float = 8.0, rate_hz: float = 30.0) -> Landmarks | NotMeasured:
    stage = Stage(*ways)
    follower = Tracker(stage.look, stage.look_at, BODY)
    for time_s in np.arange(0, until_s, 1 / rate_hz):
        follower.feed(float(time_s), _timed(float(time_s)))
    return follower.finish(WIDTH, HEIGHT)


def stands(x: float) -> Way:
    return lambda t: (x + 20 * float(np.sin(3 * t)), 380.0)


def between(way: Way, from_s: float, to_s: float) -> Way:
    return lambda t: way(t) if from_s <= t < to_s else None


def hips_x(marks: Landmarks, p: int) -> Floats:
    return np.asarray(marks.image_px[:, p, [23, 24], 0].mean(1))


def test_two_dancers_are_followed_and_numbered_from_the_left() -> None:
    marks = followed(stands(900), stands(300))
    assert isinstance(marks, Landmarks)
    assert marks.ids.tolist() == [1, 2]
    assert np.isfinite(marks.image_px).all()
    assert abs(hips_x(marks, 0).mean() - 300) < 20
    assert abs(hips_x(marks, 1).mean() - 900) < 20
    assert marks.unsure == ((), ())


def test_a_dancer_who_is_hidden_for_a_moment_stays_who_they_are() -> None:
    hidden: Way = lambda t: None if 3.0 <= t < 3.5 else stands(300)(t)  # noqa: E731
    marks = followed(hidden, stands(900))
    assert isinstance(marks, Landmarks)
    assert len(marks.ids) == 2
    gone = (marks.times_s >= 3.0) & (marks.times_s < 3.5)
    assert np.isnan(marks.image_px[gone, 0]).all()
    assert (marks.visibility[gone, 0] == 0).all()
    assert np.isfinite(marks.image_px[~gone, 0]).all()
    ((a, b),) = marks.unsure[0]
    assert (a, b) == (pytest.approx(3.0, abs=0.04), pytest.approx(3.5, abs=0.04))
    assert marks.unsure[1] == ()


def test_a_newcomer_is_found_soon() -> None:
    marks = followed(stands(300), between(stands(900), 3.0, 99), until_s=10)
    assert isinstance(marks, Landmarks)
    assert len(marks.ids) == 2
    first = marks.times_s[np.isfinite(marks.image_px[:, 1, 0, 0])][0]
    assert 3.0 <= first <= 3.0 + BODY.find_again_s + 0.1


def test_numbers_go_by_first_sight() -> None:
    """Dancer 1 stood furthest left when first seen, wherever they went later."""
    crosses: Way = lambda t: (200 + 60 * t, 380.0)  # noqa: E731
    comes_later = between(stands(80), 4.0, 99)
    marks = followed(crosses, stands(1100), comes_later, until_s=10)
    assert isinstance(marks, Landmarks)
    assert [round(hips_x(marks, p)[np.isfinite(hips_x(marks, p))][0], -1) for p in range(3)] == pytest.approx(
        [80, 200, 1100], abs=25
    )


def test_a_passer_by_is_left_out() -> None:
    passes: Way = lambda t: (300 * (t - 3), 380.0) if 3 <= t < 5 else None  # noqa: E731
    marks = followed(stands(900), passes)
    assert isinstance(marks, Landmarks)
    assert len(marks.ids) == 1


def test_somebody_of_whom_only_half_is_seen_is_no_dancer() -> None:
    marks = followed(lambda t: (400.0, 650.0))
    assert isinstance(marks, NotMeasured)
    assert "head to feet" in marks.why


def test_nobody() -> None:
    assert not followed(lambda t: None)


def test_two_who_cross_are_marked_as_unsure() -> None:
    """They meet in one place: while both looks find one body, both are doubtful and neither is doubled."""
    left: Way = lambda t: (300 + 60 * t, 380.0)  # noqa: E731
    right: Way = lambda t: (780 - 60 * t, 380.0)  # noqa: E731
    marks = followed(left, right)
    assert isinstance(marks, Landmarks)
    assert len(marks.ids) == 2
    for stretches in marks.unsure:
        assert any(a <= 4.1 and b >= 3.9 for a, b in stretches)
        assert all(a > 2.5 for a, _ in stretches)  # before they meet there is no doubt
    both = np.abs(hips_x(marks, 0) - hips_x(marks, 1))
    assert not (both < 0.05 * TALL).any()


def test_a_jump_to_another_body_is_not_believed() -> None:
    """At 4 s one is gone and another stands half a body's height beside: whoever it is, the break is told."""
    marks = followed(between(stands(300), 0, 4.0), between(stands(450), 4.0, 99), until_s=9)
    assert isinstance(marks, Landmarks)
    assert any(a == pytest.approx(4.0, abs=0.04) and b > 4.2 for a, b in marks.unsure[0])


def test_somebody_far_off_is_somebody_else() -> None:
    marks = followed(between(stands(200), 0, 4.5), between(stands(1100), 4.5, 99), until_s=9)
    assert isinstance(marks, Landmarks)
    assert len(marks.ids) == 2
    assert np.isnan(marks.image_px[marks.times_s >= 4.5, 0]).all()


def test_uneven_picture_times_are_kept() -> None:
    stage = Stage(stands(300))
    follower = Tracker(stage.look, stage.look_at, BODY)
    times = np.cumsum(np.random.default_rng(3).uniform(0.01, 0.07, 200))
    for time_s in times:
        follower.feed(float(time_s), _timed(float(time_s)))
    marks = follower.finish(WIDTH, HEIGHT)
    assert isinstance(marks, Landmarks)
    np.testing.assert_array_equal(marks.times_s, times)


def test_tracks_bridge_gaps_and_measure_height() -> None:
    hidden: Way = lambda t: None if 3.0 <= t < 3.5 else (300 + 30 * t, 380.0)  # noqa: E731
    marks = followed(hidden)
    assert isinstance(marks, Landmarks)
    (track,) = tracks_of(marks, ("Blue shirt",))
    assert (track.id, track.label) == (1, "Blue shirt")
    np.testing.assert_allclose(track.pelvis_px[:, 0], 300 + 30 * track.times_s, atol=0.5)
    np.testing.assert_allclose(track.height_px, TALL, rtol=0.05)
    assert track.unsure == marks.unsure[0]
    assert tracks_of(marks)[0].label is None
