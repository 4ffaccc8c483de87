"""Which seconds show a moment. 120 beats a minute from 2.0 s: count c falls at 4.0 + (c - 1) / 2 s."""

from __future__ import annotations

from typing import Any

import pytest

from motion.tell.moments import other_first_count, time_of_count, window

BEATS: dict[str, Any] = {
    "times_s": [2.0 + 0.5 * n for n in range(20)],
    "counts": [(n - 4) % 8 + 1 for n in range(20)],
    "tempo_bpm": 120.0,
    "first_count_s": 4.0,
}
SILENT = {"not_measured": "the clip has no sound"}


def review(beats: dict[str, Any] = BEATS, duration_s: float = 60.0) -> dict[str, Any]:
    return {"beats": beats, "clip": {"duration_s": duration_s}}


@pytest.mark.parametrize("time_s", [6.0, 5.8, 6.19])
def test_from_the_beat_two_counts_before_to_two_after(time_s: float) -> None:
    shown = window(review(), time_s)
    assert (shown.from_s, shown.to_s, shown.at_s) == (pytest.approx(4.95), pytest.approx(7.05), time_s)
    assert shown.marks == ((5.0, "3"), (5.5, "4"), (6.0, "5"), (6.5, "6"), (7.0, "7"))


def test_a_stretch_is_shown_to_its_end() -> None:
    assert window(review(), 6.0, until_count=9.0).to_s == pytest.approx(9.05)  # count 9 at 8.0 s, and two counts more


def test_long_stretches_and_the_clips_ends_are_respected() -> None:
    assert window(review(), 0.3).from_s == 0.0
    assert window(review(duration_s=6.2), 6.0).to_s == 6.2
    late = window(review(), 11.5)  # the last beat: the tempo carries on
    assert late.to_s == pytest.approx(12.55)
    shown = window(review(), 4.0, until_count=1000.0)
    assert shown.to_s == pytest.approx(5.05)
    slow = {**BEATS, "times_s": [10.0 * n for n in range(20)], "tempo_bpm": 6.0}
    shown = window(review(slow), 40.0)
    assert shown.to_s - shown.from_s == pytest.approx(12.0)


def test_without_a_beat_a_moment_still_plays() -> None:
    shown = window(review(SILENT), 6.0, until_count=9.0)
    assert shown.from_s == pytest.approx(4.8)
    assert shown.to_s == pytest.approx(7.2)
    assert shown.marks == ()


def test_when_a_count_falls() -> None:
    assert time_of_count(BEATS, 1) == 4.0
    assert time_of_count(BEATS, 3.5) == 5.25
    assert time_of_count(BEATS, 16) == 11.5  # the last beat
    assert time_of_count(BEATS, 17) is None
    assert time_of_count(BEATS, -4) is None
    assert time_of_count({**BEATS, "first_count_s": None}, 1) is None
    assert time_of_count(SILENT, 1) is None


def test_another_count_one_lies_on_a_beat() -> None:
    assert other_first_count(BEATS, 1) == 4.5
    assert other_first_count(BEATS, -1) == 3.5
    assert other_first_count({**BEATS, "first_count_s": 4.2}, 0) == 4.0
    assert other_first_count({**BEATS, "first_count_s": 2.0}, -1) is None
    assert other_first_count({**BEATS, "first_count_s": 11.5}, 1) is None
    assert other_first_count(SILENT, 1) is None
