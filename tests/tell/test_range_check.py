"""A range check read for people: left beside right, this time beside last time, drawings and what is said of them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made import made_review

from motion.base.errors import BadInput, BadStore
from motion.base.types import Angles
from motion.store.serialize import review_json
from motion.tell.range_charts import JointCurve, curves_of, joint_chart, joint_curves, task_chart
from motion.tell.range_check import (
    TaskRange,
    change_told,
    changes,
    checked_dancer,
    difference_told,
    facts_told,
    side_difference,
    stored_standing,
    task_ranges,
    task_told,
    use_told,
)
from motion.tell.range_norms import GROUPS, band_deg

NO_BEAT = {"not_measured": "the clip has no sound"}
STANDING = {"reading_deg": [8.0, 9.0, 15.0, 16.0, 5.0, 6.0], "sigma_deg": [1.0] * 6, "pictures": 120}


def row(task: str, side: str, each: list[float], *, joint: str = "hip", near: bool = True) -> dict[str, Any]:
    middle = float(np.median(each))
    return {
        "task": task, "joint": joint, "side": side, "repetitions": len(each), "range_deg": middle,
        "interval_deg": [middle - 8.0, middle + 8.0], "each_deg": each, "at_s": [1.0] * len(each), "near": near,
    }  # fmt: skip


def dancer(*rows: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"id": 1, "label": "A", "range_check": list(rows), "angles": {"zero": {"left_hip": "standing"}}, **more}


def test_left_stands_beside_right_and_a_skipped_task_is_no_fault() -> None:
    bend, lift, point, rise = task_ranges(
        dancer(row("knee lift", "left", [80.0, 84.0, 88.0]), row("knee lift", "right", [84.0] * 3))
    )
    assert (bend.left, bend.right, point.left, rise.right) == (None, None, None, None)
    assert lift.left is not None
    assert (lift.left.range_deg, lift.left.low_deg, lift.left.high_deg, lift.left.repetitions) == (84.0, 76.0, 92.0, 3)
    # repetitions spread by 4: the median of three strays by 1.25 * 4 / sqrt(3), and another day by 2
    assert lift.left.sem_deg == pytest.approx(np.hypot(1.25 * 4.0 / np.sqrt(3.0), 2.0))
    assert task_told(lift) == "Left 84° give or take 8°, seen 3 times; right 84° give or take 8°, seen 3 times."
    assert task_told(bend) == "Left: skipped, or not seen from the side; right: skipped, or not seen from the side."
    assert "Skipped" in task_chart(bend)


def test_a_difference_between_sides_is_told_only_when_it_is_more_than_chance() -> None:
    def against(left: list[float], right: list[float], *, near: bool = True) -> TaskRange:
        return task_ranges(dancer(row("knee lift", "left", left, near=near), row("knee lift", "right", right)))[1]

    apart, least = side_difference(against([80.0] * 3, [92.0] * 3)) or (0.0, 0.0)
    assert apart == -12.0
    assert least == pytest.approx(np.hypot(8.0, 8.0))  # what the two give or take, which is more than the repetitions strayed
    assert (difference_told(against([80.0] * 3, [92.0] * 3)) or "").startswith("The right side moved 12° more than the left")
    assert (difference_told(against([80.0] * 3, [91.0] * 3)) or "").startswith("Left and right do not differ")
    wild = [60.0, 80.0, 100.0]
    assert (difference_told(against(wild, [v + 30.0 for v in wild])) or "").startswith("Left and right do not differ")
    # a leg seen behind the other one only is read less well, and is no ground to call anybody uneven
    far = against([50.0] * 3, [90.0] * 3, near=False)
    assert side_difference(far) is None
    assert (difference_told(far) or "").startswith(
        "Left and right are not set beside each other: the left leg was seen only behind"
    )
    (_, alone, *_) = task_ranges(dancer(row("knee lift", "left", [80.0] * 3)))
    assert difference_told(alone) is None


def test_a_change_since_last_time_is_told_only_when_it_is_more_than_chance() -> None:
    before = dancer(row("knee lift", "left", [80.0] * 3))
    (small,) = changes(dancer(row("knee lift", "left", [85.0] * 3)), [before])
    assert (small.change_deg, small.told) == (5.0, False)
    assert "no change that can be told from chance (that takes 6°)" in change_told(small)
    (large,) = changes(dancer(row("knee lift", "left", [70.0] * 3)), [before])
    assert (large.change_deg, large.told) == (-10.0, True)
    assert change_told(large) == "Left: 10° less than last time; from 6° on that is more than chance."
    assert changes(dancer(row("knee lift", "right", [70.0] * 3)), [before]) == []  # nothing to set it beside
    assert changes(before, []) == []


def test_a_persons_own_repeats_count_once_there_are_three_and_they_stray_more() -> None:
    earlier = [dancer(row("knee lift", "left", [v] * 3)) for v in (70.0, 80.0, 90.0)]
    (own,) = changes(dancer(row("knee lift", "left", [99.0] * 3)), earlier)
    assert own.own_repeats == 3
    assert own.smallest_deg == pytest.approx(1.96 * np.sqrt(2.0) * 10.0)  # their standard deviation is 10
    assert not own.told
    (two,) = changes(dancer(row("knee lift", "left", [99.0] * 3)), earlier[1:])
    assert (two.own_repeats, two.told) == (0, True)
    alike = [dancer(row("knee lift", "left", [80.0] * 3)) for _ in range(3)]
    (steady,) = changes(dancer(row("knee lift", "left", [84.0] * 3)), alike)
    assert steady.smallest_deg == pytest.approx(1.96 * np.sqrt(2.0) * 2.0)  # three lucky ones do not make it surer


def test_the_standing_of_a_check_serves_other_clips() -> None:
    review = {"dancers": [{"id": 1, "label": None}, dancer(standing=STANDING)]}
    label, standing = stored_standing(review) or (None, None)
    assert label == "A"
    assert standing is not None
    assert standing == STANDING
    assert stored_standing(review, zero="stored") is None
    assert stored_standing({"dancers": [{"id": 1, "label": None}]}) is None
    assert checked_dancer({"dancers": [{"id": 1, "range_check": {"not_measured": "nothing moved"}}]}) is None


def test_asking_for_the_standing_of_a_review_without_one_is_refused_in_plain_words(tmp_path: Path) -> None:
    from motion.base.options import JudgeOptions
    from motion.desk.review_clip import _asked_standing

    assert _asked_standing(JudgeOptions()) is None
    with pytest.raises(BadStore):
        _asked_standing(JudgeOptions(standing=tmp_path / "nowhere"))
    bare = review_json(made_review(1, 16))
    assert "standing" not in bare["dancers"][0]
    (tmp_path / "review.json").write_text(json.dumps(bare), encoding="utf-8")
    with pytest.raises(BadInput, match="holds no quiet standing"):
        _asked_standing(JudgeOptions(standing=tmp_path))


def test_published_ranges_are_there_for_what_was_measured_in_them_only() -> None:
    group = next(g for g in GROUPS if g.name.startswith("Women, 20"))
    # Soucie et al. 2011: hip flexion 133.8 (132.5-135.1); dorsiflexion 13.8 (12.9-14.7) and plantarflexion 62.1 (60.6-63.6)
    assert band_deg("knee lift", group) == pytest.approx((132.5, 135.1))
    assert band_deg("point and flex", group) == pytest.approx((75.9 - np.hypot(0.9, 1.5), 75.9 + np.hypot(0.9, 1.5)))
    assert band_deg("knee bend", group) is None
    assert band_deg("rise on toes", group) is None


def test_bars_hold_both_sides_last_time_and_a_band_only_when_asked() -> None:
    now = task_ranges(dancer(row("knee lift", "left", [80.0] * 3), row("knee lift", "right", [90.0] * 3)))[1]
    before = task_ranges(dancer(row("knee lift", "left", [70.0] * 3)))[1]
    plain, full = task_chart(now), task_chart(now, before, (120.0, 130.0))
    assert plain.count('height="16"') == 2
    assert "#c9c9cf" not in plain
    assert "last time" not in plain
    assert "#c9c9cf" in full
    assert "last time 70°" in full


def curve(seen: list[bool], sigma: float = 3.0) -> JointCurve:
    times = np.arange(len(seen)) / 30.0
    flexion = np.where(np.array(seen)[:, None], np.stack([30 + 0 * times, 40 + 0 * times], axis=1), np.nan)
    return JointCurve("knee", times, flexion, np.where(np.isfinite(flexion), sigma, np.nan))


def test_a_chart_leaves_gaps_where_nothing_was_read_and_puts_left_above_right() -> None:
    chart = joint_chart(curve([True] * 30 + [False] * 30 + [True] * 30), NO_BEAT)
    assert chart.count("<polyline") == 4  # two sides, two runs each
    assert chart.count("<polygon") == 4
    lines = re.findall(r'<polyline points="([^"]+)"', chart)
    tops = [float(line.split()[0].split(",")[1]) for line in lines]
    assert max(tops[:2]) < min(tops[2:])
    first = [float(p.split(",")[0]) for p in lines[0].split()]
    second = [float(p.split(",")[0]) for p in lines[1].split()]
    assert first[-1] + 100 < second[0]
    assert chart.count(">Left<") == chart.count(">Right<") == 1
    assert joint_chart(curve([False] * 90), NO_BEAT).startswith("<p>Knee: no stretch")


def test_the_band_is_twice_sigma_either_way() -> None:
    def height(sigma: float) -> float:
        points = re.search(r'<polygon points="([^"]+)"', joint_chart(curve([True] * 60, sigma), NO_BEAT))
        assert points is not None
        ys = [float(p.split(",")[1]) for p in points.group(1).split()]
        return max(ys) - min(ys)

    low, high = 0.0, 50.0  # 40 + 2 * 3 rounds up to the next ten, standing at zero
    assert height(3.0) == pytest.approx(12.0 * 130.0 / (high - low), abs=0.3)


def test_counts_are_marked_where_the_beat_is_known() -> None:
    beats = {"times_s": [0.0, 0.5, 1.0, 1.5, 2.0, 2.5], "counts": [1, 2, 3, 4, 1, 2], "tempo_bpm": 120.0, "first_count_s": 0.0}
    chart = joint_chart(curve([True] * 90), beats)
    assert chart.count(">count 1<") == 1
    assert chart.count(">1<") == 1


def test_curves_are_read_back_from_the_table(tmp_path: Path) -> None:
    names = ["hip", "knee", "ankle"]
    head = ["dancer", "time_s", *(f"{s}_{j}_flexion_deg" for j in names for s in ("left", "right")), "view_deg",
            *(f"sigma_{s}_{j}_deg" for j in names for s in ("left", "right"))]  # fmt: skip
    lines = [",".join(head), "1,0.0,1,2,3,4,5,6,90,1,1,1,1,1,1", "2,0.0" + "," * 13, "1,0.1,,2,3,,5,6,90,,1,1,,1,1"]
    (tmp_path / "angles.csv").write_text("\r\n".join(lines) + "\r\n", encoding="utf-8")
    hip, knee, _ = joint_curves(tmp_path, 1)
    assert hip.times_s.tolist() == [0.0, 0.1]
    assert hip.flexion_deg[0].tolist() == [1.0, 2.0]
    assert np.isnan(hip.flexion_deg[1, 0])
    assert knee.flexion_deg[:, 0].tolist() == [3.0, 3.0]
    with pytest.raises(BadStore, match="cannot be read"):
        joint_curves(tmp_path / "nowhere", 1)
    (tmp_path / "angles.csv").write_text("dancer,time_s\r\n1,0.0\r\n", encoding="utf-8")
    with pytest.raises(BadStore, match="cannot be read"):
        joint_curves(tmp_path, 1)


def test_curves_of_a_review_in_memory_have_left_before_right() -> None:
    flexion = np.tile(np.arange(6.0), (3, 1))
    angles = Angles(np.arange(3.0), flexion, flexion + 1.0, np.zeros(3), ("standing",) * 6)
    hip, knee, ankle = curves_of(angles)
    assert (hip.joint, knee.joint, ankle.joint) == ("hip", "knee", "ankle")
    assert (hip.flexion_deg[0].tolist(), knee.flexion_deg[0].tolist(), ankle.sigma_deg[0].tolist()) == ([0, 1], [2, 3], [5, 6])


def test_what_is_said_of_use_and_facts_is_information() -> None:
    smaller = [{"wall": 3, "joint": "knee", "side": "left", "size_deg": 14.2, "sigma_deg": 4.0, "counts": 6}]
    (line,) = use_told({"smaller": smaller})
    assert line.startswith("Wall 3: left knee moved about 14° less than on this dancer's other walls (give or take 8°")
    assert use_told({}) == []
    assert facts_told({}) == []
    fact = {
        "fact": "knee over foot",
        "side": "left",
        "value": -0.1,
        "plus_minus": 0.06,
        "unit": "leg lengths",
        "n": 20,
        "seen": "front",
    }
    assert facts_told({"body_facts": [fact]}) == [
        "Knee over foot, left: -0.1 ± 0.06 leg lengths (seen from front or back, 20 looks)"
    ]
    assert facts_told({"body_facts": {"not_measured": "the body was not seen long enough"}}) == [
        "Not measured: the body was not seen long enough."
    ]
