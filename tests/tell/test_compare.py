"""Two takes side by side: what was planted in the second stands out, what was not does not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from made import made_review
from made_dances import COUNTS, T, angles, dance, danced

from motion.store.serialize import review_json
from motion.tell.compare import compared, counts_apart
from motion.timing.consistency import wall_by_wall

WALLS = 3


def take(
    late_ms: Mapping[int, float] | None = None, *, turned: Mapping[int, float] | None = None, bent: Mapping[int, float] | None = None,
    moved: Mapping[int, tuple[float, float]] | None = None, walls: int = WALLS, camera_deg: float = 0.0, seed: int = 3,
) -> dict[str, Any]:  # fmt: skip
    """One dancer's block with rows of wall against wall."""
    one = danced(dance(walls), late_ms, moved=moved, shake_ms=15.0, seed=seed)
    return {"walls": wall_by_wall(one, angles(one, camera_deg=camera_deg, turned=turned, bent=bent), T)}


def on_every_wall(count: int, value: Any) -> dict[int, Any]:
    return {COUNTS * wall + count - 1: value for wall in range(WALLS)}


@pytest.mark.parametrize("seed", range(10, 30))
def test_two_takes_danced_alike_do_not_differ(seed: int) -> None:
    assert counts_apart(take(), take(seed=seed)) == []


def test_a_count_danced_later_in_every_wall_of_the_second_take() -> None:
    found = counts_apart(take(), take(on_every_wall(5, 90.0), seed=8))
    assert [(one.count, one.what, one.walls) for one in found] == [(5.0, "time", (3, 3))]
    assert found[0].size == pytest.approx(90.0, abs=found[0].give)
    back = counts_apart(take(on_every_wall(5, 90.0)), take(seed=8))
    assert back[0].size == pytest.approx(-90.0, abs=back[0].give)


def test_place_facing_and_joints_are_compared_too() -> None:
    # facing is against the dancer's own usual: one count of eight turned by 80 moves the usual by 10
    changed = take(moved=on_every_wall(3, (0.22, 0.7)), turned=on_every_wall(4, -80.0), bent=on_every_wall(7, 45.0), seed=8)
    found = {(one.count, one.what): one for one in counts_apart(take(), changed)}
    assert set(found) == {(3.0, "place"), (4.0, "facing"), (7.0, "right knee")}
    assert found[3.0, "place"].size == pytest.approx((0.28**2 + 0.7**2) ** 0.5, abs=0.01)
    assert found[4.0, "facing"].size == pytest.approx(-80.0, abs=12)
    assert found[7.0, "right knee"].size == pytest.approx(45.0, abs=1)


def test_joints_seen_from_another_side_are_not_compared() -> None:
    assert counts_apart(take(), take(bent=on_every_wall(7, 45.0), camera_deg=60.0, seed=8)) == []


def test_takes_of_one_wall_are_compared_with_what_one_landing_proves() -> None:
    assert [one.count for one in counts_apart(take(walls=1), take({4: 250.0}, walls=1, seed=8))] == [5.0]
    assert counts_apart(take(walls=1), take({4: 30.0}, walls=1, seed=8)) == []
    assert counts_apart({}, take()) == []


def test_the_lines_of_the_command() -> None:
    first, second = (review_json(made_review(1, 64, name=name, seed=n)) for n, name in enumerate(("a.mp4", "b.mp4")))
    first["dancers"][0] |= take()
    second["dancers"][0] |= take(on_every_wall(5, 90.0), seed=8)
    for review in (first, second):
        review["dancers"][0]["timing"]["on_beat"] = {"n": 20, "of": 24, "interval": [0.64, 0.93]}
    second["dancers"][0]["timing"]["on_beat"] = {"n": 24, "of": 24, "interval": [0.95, 1.0]}
    lines = compared(first, second)
    assert lines[0] == "a.mp4 beside b.mp4."
    assert "  On the beat: 20 of 24 counts and 24 of 24: more than chance." in lines
    assert any(line.startswith("  Count 5 (right foot), second take: landed") and "later (3 and 3 walls)" in line for line in lines)
    assert lines[-1] == "  8 steps of the dance compared; about the others no difference could be told from chance."


@pytest.mark.parametrize("other", [{"sheet": False}, {"wall_counts": 16}], ids=["no sheet", "another sheet"])
def test_takes_of_two_dances_are_not_compared_count_by_count(other: dict[str, Any]) -> None:
    first, second = review_json(made_review(1, 32)), review_json(made_review(1, 32, **other))
    first["dancers"][0] |= take()
    second["dancers"][0] |= take(on_every_wall(5, 90.0))
    lines = compared(first, second)
    assert "Count by count nothing is compared, because the two were not reviewed with the same dance sheet." in lines
    assert not any("second take" in line for line in lines)


def test_takes_without_a_beat_still_compare_places() -> None:
    silent = [review_json(made_review(1, 32, sound=False)) for _ in range(2)]
    silent[0]["dancers"][0] |= take()
    silent[1]["dancers"][0] |= take(moved=on_every_wall(3, (0.22, 0.7)))
    lines = compared(*silent)
    assert "Tempo: not measured in both, so nothing is said about it." in lines
    assert any("usual place against the beat not compared, because the clip has no sound" in line for line in lines)
    assert any("the foot came down" in line for line in lines)
