"""How far joints bend on every count of every wall, and walls on which they bend less."""

from __future__ import annotations

from typing import Any

import numpy as np

from motion.base.types import Angles, Due, Floats
from motion.body.flexion_by_count import bends_by_count, bends_of_dance, smaller_than, smaller_walls
from motion.review.settings import SETTINGS

TIMES = np.arange(0, 16, 1 / 30)
COUNTS = np.tile(np.arange(1.0, 9.0), 4)
WALLS = np.repeat([1, 2, 3, 4], 8)
AT_S = 0.25 + 0.5 * np.arange(32)


def danced(depth_deg: Floats, seen: tuple[int, ...] = (1, 2, 3, 4), sigma_deg: float = 3.0) -> tuple[dict[str, Any], ...]:
    """A right knee that bends once a count, depth_deg (4,) deep on each wall, seen on some walls only."""
    wall = np.minimum((TIMES / 4).astype(int), 3)
    flexion = np.full((len(TIMES), 6), np.nan)
    bend = depth_deg[wall] * (1 + np.cos(2 * np.pi * (TIMES - 0.25) / 0.5)) / 2
    flexion[:, 3] = np.where(np.isin(wall + 1, seen), bend, np.nan)
    sigma = np.where(np.isfinite(flexion), sigma_deg, np.nan)
    angles = Angles(TIMES, flexion, sigma, np.full(len(TIMES), 88.0), ("standing",) * 6)
    return bends_by_count(angles, COUNTS, WALLS, AT_S, 0.5, settings=SETTINGS.angles)


def test_bends_of_every_count_by_hand() -> None:
    rows = danced(np.array([40.0, 40.0, 40.0, 40.0]))
    assert [(r["wall"], r["joint"], r["side"]) for r in rows] == [(w, "knee", "right") for w in (1, 2, 3, 4)]
    for row in rows:
        assert row["counts"] == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]
        assert all(39.0 <= v <= 40.0 for v in row["bent_deg"])
        assert all(0.0 <= v <= 1.5 for v in row["stretched_deg"])
        assert row["sigma_deg"] == [3.0] * 8
        assert row["view_deg"] == [88.0] * 8


def test_counts_that_were_not_seen_are_left_out_rather_than_guessed() -> None:
    rows = danced(np.array([40.0] * 4), seen=(2, 4))
    assert [r["wall"] for r in rows] == [2, 4]
    flexion = np.full((len(TIMES), 6), np.nan)
    flexion[(TIMES > 0.0) & (TIMES < 0.24), 3] = 10.0  # less than half of count 1
    angles = Angles(TIMES, flexion, np.where(np.isfinite(flexion), 3.0, np.nan), np.full(len(TIMES), 90.0), ("standing",) * 6)
    assert bends_by_count(angles, COUNTS, WALLS, AT_S, 0.5, settings=SETTINGS.angles) == ()


def test_a_smaller_wall_is_told_against_the_dancers_own_others_only_when_it_is_clear() -> None:
    (told,) = smaller_walls(danced(np.array([40.0, 40.0, 20.0, 40.0])), settings=SETTINGS.angles)
    assert (told["wall"], told["joint"], told["side"], told["counts"]) == (3, "knee", "right", 8)
    assert abs(told["size_deg"] - 20.0) < 1.5
    assert smaller_walls(danced(np.array([40.0, 40.0, 32.0, 40.0])), settings=SETTINGS.angles) == []  # eight degrees are noise
    assert smaller_walls(danced(np.array([40.0, 40.0, 20.0, 40.0]), sigma_deg=8.0), settings=SETTINGS.angles) == []
    assert smaller_walls(danced(np.array([40.0] * 4), seen=(3,)), settings=SETTINGS.angles) == []


def test_against_a_demonstration() -> None:
    (mine,) = danced(np.array([25.0] * 4), seen=(1,))
    demo = list(danced(np.array([50.0] * 4), seen=(1, 2)))
    told = smaller_than(mine, demo, settings=SETTINGS.angles)
    assert told is not None
    assert abs(told["size_deg"] - 25.0) < 1.5
    assert smaller_than(demo[0], [mine], settings=SETTINGS.angles) is None  # larger is no finding


def test_counts_of_a_dance_run_through_walls_and_holds() -> None:
    # walls of four counts; a hold on count 3 of each, and an "and" before count 4
    due = [
        Due(4 * w + c, w + 1, c, "left", "side", True, True, 0.0) for w in range(2) for c in (1.0, 2.0, 3.5, 4.0)
    ]  # fmt: skip
    at_s = np.array([0.5 * (d.count - 0.5) for d in due])
    flexion = np.full((len(TIMES), 6), np.nan)
    flexion[:, 0] = 10.0 * np.floor(TIMES / 0.5 + 1e-9)  # ten degrees more every count
    angles = Angles(TIMES, flexion, np.where(np.isfinite(flexion), 2.0, np.nan), np.full(len(TIMES), 90.0), ("standing",) * 6)
    first, second = bends_of_dance(angles, due, at_s, 0.5, settings=SETTINGS.angles)
    assert (first["wall"], first["counts"]) == (1, [1.0, 2.0, 3.0, 4.0])
    assert (second["wall"], second["counts"]) == (2, [1.0, 2.0, 3.0, 4.0])
    assert first["bent_deg"] == [0.0, 10.0, 20.0, 30.0]
    assert second["bent_deg"] == [40.0, 50.0, 60.0, 70.0]
