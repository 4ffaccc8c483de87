"""A review that is broken off goes on as if nothing had been."""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np
import pytest
from made import FIGURE

from motion.base.types import Floats, Landmarks
from motion.body.pose import Picture, Pose, Region
from motion.body.tracking import Tracker
from motion.body.tracking_state import last_time_s, packed, unpacked
from motion.review.checkpoint import Checkpoint, folder
from motion.review.settings import SETTINGS

BODY = SETTINGS.body
SIZE = (1280, 720)


def bodies(time_s: float) -> list[Floats]:
    """Two dancers who sway, and one who is gone for a while."""
    sway = 60 * np.sin(time_s)
    out = [FIGURE * 300 + np.array([300.0 + sway, 360.0]), FIGURE * 280 + np.array([900.0 + sway, 360.0])]
    return out if not 1.5 < time_s < 6.5 else out[:1]  # longer than anybody is waited for


def follower(now: list[float]) -> Tracker:
    def look(part: Picture) -> list[tuple[Floats, Floats]]:
        return [(b, np.full(33, 0.9)) for b in bodies(now[0])] if part.shape[:2] == SIZE[::-1] else []

    def look_at(picture: Picture, region: Region, hide: object = ()) -> Pose:
        best = min(bodies(now[0]), key=lambda b: abs(b[[23, 24], 0].mean() - region.x))
        near = abs(best[[23, 24], 0].mean() - region.x) < region.side / 2
        return Pose(best, np.full(33, 0.9), 0.98 if near else 0.05, region)

    return Tracker(look, look_at, BODY)


def run(one: Tracker, now: list[float], from_s: float, to_s: float) -> None:
    picture = np.full((SIZE[1], SIZE[0], 3), 90, np.uint8)
    for k in range(round(from_s * 30), round(to_s * 30)):
        now[0] = k / 30
        one.feed(now[0], picture)


def test_going_on_gives_what_one_go_gives() -> None:
    now = [0.0]
    whole = follower(now)
    run(whole, now, 0, 10)
    first = follower(now)
    run(first, now, 0, 3.5)  # in the middle of somebody's absence
    second = follower(now)
    unpacked(packed(first), second)
    assert last_time_s(packed(first)) == pytest.approx(3.5 - 1 / 30)
    run(second, now, 3.5, 10)
    a, b = whole.finish(*SIZE), second.finish(*SIZE)
    assert isinstance(a, Landmarks)
    assert isinstance(b, Landmarks)
    assert len(a.ids) == 2
    np.testing.assert_array_equal(a.image_px, b.image_px)
    assert a.unsure == b.unsure


def test_notes_are_found_again_by_the_same_review_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COUNTFALL_CACHE", str(tmp_path))
    notes = Checkpoint("clip", "model", None, None, BODY)
    assert notes.load() is None
    notes.save({"times_s": np.arange(3.0)})
    assert Checkpoint("clip", "model", None, 9.0, BODY).load() is None
    found = Checkpoint("clip", "model", None, None, BODY).load()
    assert found is not None
    np.testing.assert_array_equal(found["times_s"], [0, 1, 2])
    notes.forget()
    assert notes.load() is None
    assert list(folder().iterdir()) == []


def test_damaged_and_old_notes_are_done_without(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COUNTFALL_CACHE", str(tmp_path))
    notes = Checkpoint("clip", "model", None, None, BODY)
    notes.save({"times_s": np.arange(3.0)})
    (path,) = folder().glob("*.npz")
    path.write_bytes(path.read_bytes()[:40])
    assert notes.load() is None
    notes.save({"times_s": np.arange(3.0)})
    long_ago = time.time() - 86_400 * (SETTINGS.desk.unfinished_days + 1)
    os.utime(path, (long_ago, long_ago))
    assert notes.load() is None
    assert not path.exists()
