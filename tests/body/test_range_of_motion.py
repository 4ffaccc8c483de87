"""Ranges that a clip shows, and repetitions of the guided check, from angles whose answers are known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from motion.base.types import Angles, Floats, NotMeasured
from motion.body.range_of_motion import range_check, ranges_of
from motion.review.settings import SETTINGS


def angles_from(times_s: Floats, flexion_deg: Floats, sigma_deg: float = 3.0, view_deg: Floats | float = 90.0) -> Angles:
    sigma = np.where(np.isfinite(flexion_deg), sigma_deg, np.nan)
    return Angles(times_s, flexion_deg, sigma, np.broadcast_to(view_deg, times_s.shape).astype(float), ("standing",) * 6)


def humps(times_s: Floats, at_s: list[float], size_deg: float, width_s: float = 1.0) -> Floats:
    total = np.zeros(len(times_s))
    for at in at_s:
        total += size_deg * (1 + np.cos(2 * np.pi * np.clip((times_s - at) / width_s, -0.5, 0.5))) / 2
    return total


TIMES = np.arange(0, 40, 1 / 30)


def guided() -> Floats:
    """Three knee bends, three lifts of each knee, three pointings of each foot, three rises on the toes."""
    flexion = np.zeros((len(TIMES), 6))
    bend, rise = humps(TIMES, [2, 4, 6], 60.0), humps(TIMES, [33, 35, 37], -30.0)
    flexion[:, 2] = flexion[:, 3] = bend
    flexion[:, 0] = flexion[:, 1] = flexion[:, 4] = flexion[:, 5] = bend / 2
    lift_l, lift_r = humps(TIMES, [9, 11, 13], 80.0), humps(TIMES, [15, 17, 19], 70.0)
    flexion[:, 0] += lift_l
    flexion[:, 1] += lift_r
    flexion[:, 2] += 1.2 * lift_l
    flexion[:, 3] += 1.2 * lift_r
    flexion[:, 0] += humps(TIMES, [24.5], 40.0, 6.0)  # the thigh is held up a little while the foot points
    flexion[:, 4] += humps(TIMES, [22, 24, 26], -40.0) + humps(TIMES, [23, 25, 27], 15.0) + rise
    flexion[:, 5] += humps(TIMES, [28, 29.5, 31], -45.0) + rise
    return flexion


def test_what_was_not_seen_and_which_leg_was_nearer_are_told_apart() -> None:
    """Seen for a quarter of ten seconds, half of that from the right and half from the left."""
    flexion = np.full((300, 6), np.nan)
    flexion[:75, 2] = flexion[:75, 3] = np.linspace(0.0, 60.0, 75)
    view = np.where(np.arange(300) < 50, 90.0, -90.0)
    left, right = ranges_of(angles_from(np.arange(300) / 30, flexion, view_deg=view), settings=SETTINGS.angles) or ()
    assert (left.seen_share, left.near_share, right.near_share) == pytest.approx((0.25, 1 / 3, 2 / 3))
    assert left.seen_sigma_deg == pytest.approx(3.0 * np.sqrt(2.0))
    assert left.sigma_deg > 3 * left.seen_sigma_deg


def test_percentiles_by_hand() -> None:
    flexion = np.full((101, 6), np.nan)
    flexion[:, 3] = np.linspace(0.0, 100.0, 101)
    (only,) = ranges_of(angles_from(np.arange(101) / 30, flexion), settings=SETTINGS.angles) or ()
    assert (only.joint, only.side, only.pictures_used, only.view_deg) == ("knee", "right", 101, 90.0)
    assert (only.low_deg, only.high_deg) == pytest.approx((1.0, 99.0))
    assert only.sigma_deg == pytest.approx(3.0 * np.sqrt(2.0))


@pytest.mark.parametrize("rate_hz", [15, 24, 30, 60])
def test_two_trusted_seconds_are_asked_for_at_any_rate(rate_hz: int) -> None:
    times = np.arange(8 * rate_hz) / rate_hz
    flexion = np.full((len(times), 6), np.nan)
    flexion[times < 2.3, 0] = 10.0
    flexion[times < 1.7, 1] = 10.0
    found = ranges_of(angles_from(times, flexion), settings=SETTINGS.angles)
    assert [(r.joint, r.side) for r in found or ()] == [("hip", "left")]


def test_only_trusted_pictures_count_and_too_few_are_left_out() -> None:
    flexion = np.full((200, 6), np.nan)
    flexion[:100, 0] = np.linspace(-10.0, 40.0, 100)
    flexion[:59, 1] = 0.0
    found = ranges_of(angles_from(np.arange(200) / 30, flexion), settings=SETTINGS.angles)
    assert [(r.joint, r.side) for r in found or ()] == [("hip", "left")]
    nothing = ranges_of(angles_from(np.arange(200) / 30, np.full((200, 6), np.nan)), settings=SETTINGS.angles)
    assert isinstance(nothing, NotMeasured)


def test_the_view_is_a_median_on_the_circle() -> None:
    flexion = np.zeros((99, 6))
    view = np.concatenate([np.full(50, 179.0), np.full(49, -175.0)])
    found = ranges_of(angles_from(np.arange(99) / 30, flexion, view_deg=view), settings=SETTINGS.angles)
    assert found
    assert all(abs((r.view_deg - 179.0 + 180) % 360 - 180) <= 1.0 for r in found)


def test_guided_check_finds_every_task_three_times() -> None:
    rows = range_check(angles_from(TIMES, guided()), settings=SETTINGS.angles)
    assert rows
    found = {(r["task"], r["side"]): (r["joint"], r["repetitions"], r["range_deg"]) for r in rows}
    want = {
        ("knee bend", "left"): ("knee", 60.0), ("knee bend", "right"): ("knee", 60.0),
        ("knee lift", "left"): ("hip", 80.0), ("knee lift", "right"): ("hip", 70.0),
        ("point and flex", "left"): ("ankle", 40.0), ("point and flex", "right"): ("ankle", 45.0),
        ("rise on toes", "left"): ("ankle", 30.0), ("rise on toes", "right"): ("ankle", 30.0),
    }  # fmt: skip
    assert set(found) == set(want)
    for key, (joint, size) in want.items():
        assert found[key][:2] == (joint, 3), key
        # pointing is measured from the flexed foot beside it: up to 15 degrees more on the left
        assert found[key][2] == pytest.approx(size, abs=16.0 if key == ("point and flex", "left") else 1.5), key


def test_interval_holds_the_spread_between_repetitions_and_the_error_of_an_angle() -> None:
    flexion = np.zeros((len(TIMES), 6))
    flexion[:, 2] = flexion[:, 3] = humps(TIMES, [5], 50.0) + humps(TIMES, [8], 60.0) + humps(TIMES, [11], 70.0)
    rows = range_check(angles_from(TIMES, flexion, sigma_deg=2.0), settings=SETTINGS.angles)
    assert rows
    low, high = rows[0]["interval_deg"]
    half = 1.96 * np.hypot(1.25 * 10.0 / np.sqrt(3.0), 2.0 * np.sqrt(2.0))
    assert rows[0]["range_deg"] == pytest.approx(60.0, abs=0.5)
    assert (low, high) == pytest.approx((60.0 - half, 60.0 + half), abs=0.7)


def test_skipped_movements_have_no_row_and_none_at_all_is_not_measured() -> None:
    flexion = np.zeros((len(TIMES), 6))
    flexion[:, 1] = humps(TIMES, [5, 7], 60.0)
    rows = range_check(angles_from(TIMES, flexion), settings=SETTINGS.angles)
    assert [(r["task"], r["side"], r["repetitions"]) for r in rows or ()] == [("knee lift", "right", 2)]
    assert isinstance(range_check(angles_from(TIMES, np.zeros((len(TIMES), 6))), settings=SETTINGS.angles), NotMeasured)
    assert isinstance(range_check(angles_from(TIMES, np.full((len(TIMES), 6), np.nan)), settings=SETTINGS.angles), NotMeasured)


def test_what_was_not_seen_makes_a_range_less_sure_and_a_glimpse_is_none() -> None:
    flexion = np.full((1000, 6), np.nan)
    flexion[:400, 2] = np.linspace(0.0, 60.0, 400)
    flexion[:80, 3] = np.linspace(0.0, 60.0, 80)
    found = ranges_of(angles_from(np.arange(1000) / 30, flexion), settings=SETTINGS.angles)
    (only,) = found or ()
    assert (only.side, only.seen_share) == ("left", pytest.approx(0.4))
    # six tenths of the pictures were not seen: 0.6 of the 20 degrees that a knee never seen may have done more
    assert only.sigma_deg == pytest.approx(np.hypot(3.0 * np.sqrt(2.0), 0.6 * 20.0))
    whole = ranges_of(angles_from(np.arange(400) / 30, flexion[:400]), settings=SETTINGS.angles)
    assert [r.seen_share for r in whole or ()] == pytest.approx([1.0, 0.2])


def test_a_leg_that_wavers_while_the_other_is_lifted_makes_no_bend_of_both() -> None:
    flexion = np.zeros((len(TIMES), 6))
    flexion[:, 2] = humps(TIMES, [5, 8, 11], 100.0) + humps(TIMES, [20, 23, 26], 60.0)
    flexion[:, 3] = humps(TIMES, [5, 8, 11], 16.0) + humps(TIMES, [20, 23, 26], 58.0)
    rows = range_check(angles_from(TIMES, flexion), settings=SETTINGS.angles)
    bends = {r["side"]: (r["repetitions"], r["range_deg"], r["each_deg"]) for r in rows or () if r["task"] == "knee bend"}
    assert bends["left"][:2] == (3, pytest.approx(60.0, abs=0.5))
    assert bends["right"][:2] == (3, pytest.approx(58.0, abs=0.5))
    assert bends["left"][2] == pytest.approx([60.0] * 3, abs=0.5)


def test_turned_round_half_way_each_side_is_judged_while_it_is_the_nearer_one() -> None:
    flexion = np.zeros((len(TIMES), 6))
    flexion[:, 2] = flexion[:, 3] = humps(TIMES, [3, 6, 9], 50.0) + humps(TIMES, [23, 26, 29], 70.0)
    view = np.where(TIMES < 20.0, 90.0, -90.0)  # first the right side is nearer, then the left
    rows = range_check(angles_from(TIMES, flexion, view_deg=view), settings=SETTINGS.angles)
    found = {r["side"]: (r["repetitions"], round(r["range_deg"]), r["near"]) for r in rows or ()}
    assert found == {"right": (3, 50, True), "left": (3, 70, True)}
    rows = range_check(angles_from(TIMES, flexion), settings=SETTINGS.angles)
    found = {r["side"]: (r["repetitions"], r["near"]) for r in rows or ()}
    assert found == {"right": (6, True), "left": (6, False)}  # never turned: the farther side keeps all of its own
