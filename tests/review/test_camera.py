"""The camera's movement in a review: told with its size, kept beside the landmarks, gone on with after a break."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from made_hall import hall, moved, window
from numpy.typing import NDArray
from true_clips import true_clip, true_watched

from motion.base.camera import CameraPath
from motion.base.errors import BadStore
from motion.base.options import JudgeOptions
from motion.base.types import Clip, Floats, NotMeasured
from motion.body.dancers import MOVED
from motion.body.pose import Pose, Region
from motion.review.camera import camera_arrays, camera_notes, joined_cameras, stored_camera
from motion.review.judge import judge
from motion.review.settings import SETTINGS
from motion.review.shot import Shot
from motion.review.watch import stored_watch

T = np.arange(300) / 30
CLIP = Clip("hall.mp4", "00" * 32, T, 1920, 1080, 10.0)


def shifted(x: Floats, apart: float = 1.4) -> CameraPath:
    placed = np.stack([np.ones(len(x)), np.zeros(len(x)), x, np.zeros(len(x))], 1)
    return CameraPath(T, placed, np.where(np.isfinite(x), apart, np.nan))


def notes(path: CameraPath | None) -> tuple[str, ...]:
    return camera_notes(path, CLIP, SETTINGS.camera)


def test_how_far_when_and_how_well_is_told() -> None:
    assert notes(None) == ()
    first, stand = notes(shifted(np.where((T >= 4.2) & (T < 8.6), 43.0, 0.0)))
    assert notes(shifted(np.full(len(T), 3.0), apart=0.2))[0].endswith("give or take 1 pixel.")
    assert first == (
        "The phone moved: by up to 43 pixels (2.2 % of the picture's width) from second 4 to 9. This was taken off, give or take 3 pixels."
    )
    assert stand.startswith("Put the phone on a stand")
    often = notes(shifted(np.where(np.mod(T, 2.6) < 0.3, 6.0, 0.0)))[0]
    assert "by up to 6 pixels (0.31 % of the picture's width) now and again from second 0 to 9" in often


def test_what_could_not_be_taken_off_is_told_with_what_follows_from_it() -> None:
    some = notes(shifted(np.where(T < 3, np.nan, 20.0)))
    assert "how far could not be told from second 0 to 3" in some[1]
    assert "No steps are timed there." in some[1]
    assert "who danced" not in some[1]
    most = notes(shifted(np.where(T < 8, np.nan, 0.0)))
    assert len(most) == 2
    assert "who danced and who only sat or stood by cannot be told" in most[0]


def test_shots_are_joined_and_a_film_without_movement_keeps_nothing() -> None:
    assert joined_cameras([(T, None), (T + 20, None)]) is None
    path = joined_cameras([(T + 20, None), (T + 40, replace(shifted(T), times_s=T + 40))])
    assert path is not None
    assert path.known.all()
    assert path.shifts_px((1920, 1080))[:300].max() == 0.0
    assert camera_arrays(None) == {}


def test_it_is_kept_beside_the_landmarks_and_read_back() -> None:
    path = shifted(T)
    arrays = camera_arrays(path)
    back = stored_camera(T, arrays)
    assert back is not None
    assert np.array_equal(back.placed, path.placed)
    assert stored_camera(T, {}) is None  # reviews of earlier versions
    for broken in ({**arrays, "camera_placed": path.placed[:, :2]}, {"camera_placed": path.placed}):
        with pytest.raises(BadStore, match=r"landmarks\.npz"):
            stored_camera(T, broken)


def test_a_review_whose_phone_moved_beyond_telling_times_nobody() -> None:
    clip = true_clip("quarter-rock")
    watched = true_watched(clip)
    frames = len(clip.times_s)
    lost = CameraPath(clip.times_s, np.full((frames, 4), np.nan), np.full(frames, np.nan))
    arrays = replace(watched, camera=lost).arrays()
    again = stored_watch(watched.clip, watched.landmarks, arrays, {})
    (dancer,) = judge(again, JudgeOptions(bpm=120.0, first_count_s=1.0)).dancers
    assert isinstance(dancer.steps, NotMeasured)
    assert dancer.steps.why == MOVED
    assert np.isfinite(dancer.track.pelvis_px).all()  # where they are in the picture is still known


def somebody(picture: NDArray[np.uint8], region: Region, hide: Sequence[Floats] = ()) -> Pose:
    """A model that sees one body in the middle of whatever region it is shown."""
    x, y = region.x, region.y
    points = np.stack([np.full(33, x), y + np.linspace(-60, 60, 33)], 1)
    return Pose(points, np.full(33, 0.9), 1.0, region)


def nobody(picture: NDArray[np.uint8]) -> list[tuple[Floats, Floats]]:
    return []


def test_a_review_that_was_broken_off_goes_on_with_the_camera_where_it_was() -> None:
    seen = [moved(20 * np.sin(k / 6), 3.0 * k / 10) for k in range(40)]
    shown = [window(hall(), one) for one in seen]
    whole, first, rest = (Shot(nobody, somebody, SETTINGS) for _ in range(3))
    for k, rgb in enumerate(shown):
        whole.feed(k / 30, rgb)
    for k in range(25):
        first.feed(k / 30, shown[k])
    from_s = rest.resume(first.packed())
    assert from_s == 24 / 30
    for k in range(24, 40):
        rest.feed(k / 30, shown[k])
    one, other = whole.finish((480, 360))[1], rest.finish((480, 360))[1]
    assert one is not None
    assert other is not None
    assert np.array_equal(one.times_s, other.times_s)
    assert np.abs(one.steadied(np.zeros((40, 1, 2))) - other.steadied(np.zeros((40, 1, 2)))).max() < 0.5
    # notes of an earlier version say nothing of the camera
    older = Shot(nobody, somebody, SETTINGS)
    older.resume({k: v for k, v in first.packed().items() if not k.startswith("camera_")})
    for k in range(24, 40):
        older.feed(k / 30, shown[k])
    assert older.finish((480, 360))[1] is not None
