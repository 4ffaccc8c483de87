"""How far joints moved, in words: at least so far where they were seen in part, and no side beside the other that was seen otherwise."""

from __future__ import annotations

import re
from typing import Any

import pytest
from made import made_review

from motion.store.serialize import review_json
from motion.tell.range_words import APART, BESIDE, RangeRow, moved_words, range_groups, seen_alike, sides_told


def review(*args: int, **kwargs: Any) -> dict[str, Any]:
    return review_json(made_review(*args, **kwargs))


def joint(side: str, **changed: Any) -> dict[str, Any]:
    return {
        "joint": "knee", "side": side, "low_deg": -5.0, "high_deg": 65.0, "sigma_deg": 12.0, "pictures_used": 400, "view_deg": 90.0,
        "seen_share": 0.39, "seen_sigma_deg": 4.0, "near_share": 0.5,
    } | changed  # fmt: skip


def rows_of(dancer: dict[str, Any]) -> dict[str, RangeRow]:
    groups = range_groups(dancer)
    assert not isinstance(groups, str)
    return {row.joint: row for _, rows in groups for row in rows}


def test_ranges_say_the_view_and_what_is_missing() -> None:
    rows = rows_of(review(start_view_deg=90.0)["dancers"][0])
    assert set(rows) == {f"{side} {name}" for side in ("Left", "Right") for name in ("hip", "knee", "ankle")}
    assert rows["Left knee"].seen == "from the dancer's right side"
    assert rows["Left knee"].give_or_take == "± 10°"
    assert re.fullmatch(r"\d+° \(from −?\d+° to \d+°\)", rows["Left knee"].moved)
    assert rows["Left ankle"].why is not None
    assert rows["Left ankle"].moved == ""
    assert range_groups(review()["dancers"][0]) == "Not measured: the dancer was never seen from the side."


@pytest.mark.parametrize(("sigma_deg", "told"), [(19.0, True), (19.4, False), (20.5, False)])
def test_a_range_no_larger_than_its_give_or_take_is_not_told_as_if_measured(sigma_deg: float, told: bool) -> None:
    """39 degrees: give or take 38 is told, 39 (38.8, as it is shown) and 41 are not."""
    knee = joint("right", low_deg=-22.0, high_deg=17.0, sigma_deg=sigma_deg, seen_share=0.95)
    row = rows_of({"ranges": [knee]})["Right knee"]
    give = round(2 * sigma_deg)
    if told:
        assert (row.moved, row.give_or_take) == ("39° (from −22° to 17°)", f"± {give}°")
    else:
        assert (row.moved, row.give_or_take) == (f"too uncertain to tell in this clip: about 39°, give or take {give}°", "–")
    assert row.why is None
    assert row.seen


def test_a_joint_seen_in_part_of_the_dance_moved_at_least_so_far() -> None:
    row = rows_of({"ranges": [joint("left")]})["Left knee"]
    assert row.moved == "at least 70° (from −5° to 65°), seen in 39% of the dance"
    assert row.give_or_take == "± 8°"  # of what was seen: what was not is in "at least"
    whole = rows_of({"ranges": [joint("left", seen_share=0.95)]})["Left knee"]
    assert (whole.moved, whole.give_or_take) == ("70° (from −5° to 65°)", "± 24°")
    before = joint("left")
    del before["seen_share"], before["seen_sigma_deg"], before["near_share"]
    assert moved_words(before) == "70° (from −5° to 65°)"


@pytest.mark.parametrize(
    ("right", "alike"),
    [
        ({}, True),
        ({"seen_share": 0.58, "near_share": 0.3}, True),
        ({"seen_share": 0.62}, False),
        ({"near_share": 0.9}, False),
        ({"near_share": None}, False),
    ],
)
def test_left_stands_beside_right_only_where_both_were_seen_alike(right: dict[str, Any], alike: bool) -> None:
    left, other = joint("left"), joint("right", **right)
    assert seen_alike(left, other) == alike
    groups = range_groups({"ranges": [left, other]})
    assert not isinstance(groups, str)
    assert [heading for heading, _ in groups] == ([BESIDE, APART] if alike else [APART])
    order = [row.joint for _, rows in groups for row in rows]
    assert (abs(order.index("Left knee") - order.index("Right knee")) == 1) == alike
    told = sides_told({"ranges": [left, other]})
    assert (told is None) == alike
    if told:
        assert "Left and right knee were seen differently" in told


def test_a_side_that_was_not_seen_is_beside_nothing() -> None:
    assert not seen_alike(joint("left"), None)
    assert sides_told({"ranges": [joint("left")]}) is None
