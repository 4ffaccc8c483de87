"""Wall against wall in facing and joints, and which landings are the same one of another wall."""

from __future__ import annotations

from dataclasses import replace

import pytest
from made_dances import COUNTS, T, angles, dance, danced

from motion.tell.class_words import walls_figures, walls_told
from motion.tell.sheet_words import spread_rows
from motion.timing.consistency import repeats, wall_by_wall


def test_a_dance_that_turns_is_alike_on_every_wall_wherever_the_camera_stands() -> None:
    for camera_deg in (0.0, 35.0, 180.0):
        one = danced(dance(4, 90.0))
        rows = wall_by_wall(one, angles(one, camera_deg=camera_deg), T)
        assert [row["differs"] for row in rows] == [[]] * COUNTS
        assert max(row["facing_spread_deg"] for row in rows) < 1
        assert all(e["facing_deg"] == pytest.approx(0.0, abs=0.5) for row in rows for e in row["each"])


def test_the_wall_that_was_turned_too_far_stands_out_to_its_side() -> None:
    one = danced(dance(4, -90.0))
    rows = wall_by_wall(one, angles(one, camera_deg=20.0, turned={2 * COUNTS + 3: 70.0}), T)
    assert [(row["count"], d["wall"], d["what"]) for row in rows for d in row["differs"]] == [(4.0, 3, "facing")]
    assert rows[3]["differs"][0]["by"] == pytest.approx(70, abs=4)
    assert walls_told({"walls": rows})[0].endswith(
        "faced further to the right than on the other walls, by about a quarter of a turn."
    )
    assert walls_figures({"walls": rows})[0].startswith("Count 4, wall 3, against the other walls: facing +7")
    left = wall_by_wall(one, angles(one, turned={2 * COUNTS + 3: -70.0}), T)
    assert "faced further to the left" in walls_told({"walls": left})[0]


def test_bends_are_compared_only_where_the_camera_sees_the_same_side() -> None:
    bent = {2 * COUNTS + 4: 40.0}
    straight, turning = danced(dance(4)), danced(dance(4, 90.0))
    rows = wall_by_wall(straight, angles(straight, bent=bent), T)
    assert [(row["count"], d["wall"], d["what"], d["by"]) for row in rows for d in row["differs"]] == [
        (5.0, 3, "right knee", 40.0)
    ]  # fmt: skip
    assert walls_told({"walls": rows})[0] == "Count 5, wall 3: the right knee was more bent than on the other walls."
    assert walls_figures({"walls": rows}) == ["Count 5, wall 3, against the other walls: right knee +40 ± 6 degrees."]
    assert [(b["joint"], b["walls"]) for b in rows[4]["bends"] if b["side"] == "right"] == [("hip", 4), ("knee", 4), ("ankle", 4)]
    assert "right knee 20°" in spread_rows({"walls": rows})[4]["Bends"]
    apart = wall_by_wall(turning, angles(turning, bent=bent), T)
    assert not any(row["differs"] or row["bends"] for row in apart)


def test_the_other_foot_tells_nothing_about_this_ones_place() -> None:
    one = danced(dance(3), other_foot=frozenset({COUNTS + 4}))
    row = wall_by_wall(one, angles(one), T)[4]
    assert [e["place"] for e in row["each"]] == [[0.22, 0.5], None, [0.22, 0.5]]


def test_one_wall_gives_its_values_and_no_spread() -> None:
    one = danced(dance(1), {2: 30.0})
    rows = wall_by_wall(one, angles(one), T)
    assert len(rows) == COUNTS
    assert rows[2]["each"][0]["time_ms"] == pytest.approx(30.0, abs=0.1)
    assert (rows[2]["time_spread_ms"], rows[2]["place_spread"], rows[2]["facing_spread_deg"]) == (None, None, None)
    assert walls_told({"walls": rows}) == []
    assert spread_rows({"walls": rows}) == []


def test_a_tag_is_no_count_of_the_wall_and_parts_are_kept_apart() -> None:
    due = dance(2)
    tag = [replace(due[n], count=17.0 + n, wall=2, count_in_wall=1.0 + n) for n in range(2)]
    assert all(len(events) == 2 for events in repeats([*due, *tag]).values())
    other = [replace(d, count=d.count + 16, wall=3, move="back") for d in due[:1]]
    assert repeats([*due, *other])[(1.0, "right", "back")] == [16]
