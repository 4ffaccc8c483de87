"""Counts on beats, by hand."""

import numpy as np
import pytest

from motion.base.errors import BadInput
from motion.base.types import BeatGrid
from motion.music.counts import (
    at_speed,
    beat_position,
    beats_csv_text,
    first_count_candidates,
    read_beats_csv,
    section_of,
    steady_grid,
    time_of,
    with_first_count,
)  # fmt: skip
from motion.review.settings import SETTINGS


def grid(n=16, gap=0.5, start=1.0, counts=None, first=None, half=0.5):
    times = start + gap * np.arange(n)
    counts = np.arange(n) % 8 + 1 if counts is None else np.array(counts)
    return BeatGrid("sound", times, counts, 60 / gap, half, 1.0, first)


def test_first_count_renumbers_and_keeps_the_beats():
    moved = with_first_count(grid(12), 2.6)  # nearest beat 2.5, the fourth
    assert moved.first_count_s == 2.5
    assert moved.counts.tolist() == [6, 7, 8, 1, 2, 3, 4, 5, 6, 7, 8, 1]
    assert moved.times_s.tolist() == grid(12).times_s.tolist()


def test_first_count_before_and_after_the_beats_goes_on_straight():
    assert with_first_count(grid(4), 0.02).first_count_s == 0.0
    assert with_first_count(grid(4), 0.02).counts.tolist() == [3, 4, 5, 6]
    assert with_first_count(grid(4), 3.4).first_count_s == 3.5
    assert with_first_count(grid(4), 3.4).counts.tolist() == [4, 5, 6, 7]


def test_waltz_counts_to_six():
    waltz = grid(14, counts=np.arange(14) % 6 + 1)
    assert section_of(waltz) == 6
    assert with_first_count(waltz, 2.0).counts.tolist()[:5] == [5, 6, 1, 2, 3]
    assert section_of(grid(5)) == 8


def test_position_and_time_are_each_others_inverse_on_uneven_beats():
    rng = np.random.default_rng(1)
    times = np.cumsum(rng.uniform(0.4, 0.6, 20))
    uneven = BeatGrid("sound", times, np.arange(20) % 8 + 1, 120, 0.5, 1.0, float(times[4]))
    counts = np.array([-5.0, 1.0, 1.25, 2.0, 7.75, 16.0, 20.0])
    assert beat_position(uneven, time_of(uneven, counts)) == pytest.approx(counts - 1)
    assert time_of(uneven, 1.0)[0] == pytest.approx(times[4])
    assert beat_position(uneven, times)[:6] == pytest.approx([-4, -3, -2, -1, 0, 1])


def test_half_counts_lie_where_the_music_swings():
    swung = grid(first=2.0, half=0.64)
    assert time_of(swung, np.array([3.0, 3.5, 3 + 2 / 3, 4.0])) == pytest.approx([3.0, 3.32, 3 + 1 / 3, 3.5])


def test_unknown_first_count_takes_the_first_one():
    late = grid(10, counts=[6, 7, 8, 1, 2, 3, 4, 5, 6, 7])
    assert beat_position(late, np.array([2.5])) == pytest.approx([0])
    middle = grid(4, counts=[2, 3, 4, 5])
    assert beat_position(middle, np.array([1.0])) == pytest.approx([1])


def test_steady_grid_by_hand():
    made = steady_grid(120, 2.0, 0.6, 4.1)
    assert made.times_s == pytest.approx([1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0])
    assert made.counts.tolist() == [7, 8, 1, 2, 3, 4, 5]
    assert (made.source, made.confidence, made.first_count_s) == ("given", 1.0, 2.0)
    assert steady_grid(90, 0.0, 0.0, 5.0, beats_per_bar=3).counts.tolist() == [1, 2, 3, 4, 5, 6, 1, 2]


@pytest.mark.parametrize("bpm", [0, -3, float("nan"), 1e9])
def test_impossible_tempo_is_told(bpm):
    with pytest.raises(BadInput, match="tempo"):
        steady_grid(bpm, 0.0, 0.0, 10.0)


def test_no_two_beats_in_so_short_a_time():
    with pytest.raises(BadInput, match="fewer than two beats"):
        steady_grid(60, 0.0, 0.0, 0.5)


def test_half_speed_keeps_count_one():
    slow = at_speed(grid(12, first=2.5), "half")
    assert slow.times_s.tolist() == [1.5, 2.5, 3.5, 4.5, 5.5, 6.5]
    assert slow.counts.tolist() == [8, 1, 2, 3, 4, 5]
    assert slow.tempo_bpm == 60


def test_double_speed_puts_a_beat_in_every_middle_and_half_undoes_it():
    fast = at_speed(grid(5, first=2.0), "double")
    assert fast.times_s == pytest.approx([1, 1.25, 1.5, 1.75, 2, 2.25, 2.5, 2.75, 3])
    assert fast.counts.tolist() == [5, 6, 7, 8, 1, 2, 3, 4, 5]
    assert at_speed(fast, "half").times_s == pytest.approx(grid(5).times_s)
    assert at_speed(grid(5), "same").times_s.tolist() == grid(5).times_s.tolist()


def test_beats_file_comes_back():
    written = grid(20, gap=0.5217, start=0.4031)
    back = read_beats_csv(beats_csv_text(written))
    assert back.times_s == pytest.approx(written.times_s, abs=5e-5)
    assert back.counts.tolist() == written.counts.tolist()
    assert back.source == "given"
    assert back.tempo_bpm == pytest.approx(60 / 0.5217, rel=1e-3)


@pytest.mark.parametrize(
    "text",
    [
        "time_s,count\n1.0,1\n1.5,2\n2.0,3\n",
        "\ufefftime_s;count\r\n1,0;1\r\n1,5;2\r\n2,0;3\r\n",
        "time_s\tcount\n1.0\t1\n\n1.5\t2\n2.0\t3\n",
        "1.0,1\n1.5,2\n2.0,3",
        "count,time_s\n1,1.0\n2,1.5\n3,2.0\n",
        "time_s\n1.0\n1.5\n2.0\n",
        "# tapped\ntime_s,count\n1.0,1\n1.5,\n2.0,\n",
    ],
)
def test_beats_files_of_every_hand(text):
    found = read_beats_csv(text)
    assert found.times_s.tolist() == [1.0, 1.5, 2.0]
    assert found.counts.tolist() == [1, 2, 3]


def test_beats_before_the_first_count_are_left_without_one():
    found = read_beats_csv("time_s,count\n1.0,\n1.5,\n2.0,1\n2.5,\n")
    assert found.counts.tolist() == [7, 8, 1, 2]
    assert found.first_count_s == 2.0
    assert read_beats_csv("time_s,count\n1.0,1\n1.5,2\n").first_count_s is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("time_s,count\n1.0,1\nx,2\n", "Row 3.*'x' is not a time"),
        ("time_s,count\n1.0,1\n0.5,2\n", "Row 3.*does not come after"),
        ("time_s,count\n1.0,1\n1.5,9\n", "Row 3.*'9' is not a count"),
        ("time_s,count\n1.0,1\n1.5,two\n", "Row 3.*'two' is not a count"),
        ("time_s,count\n1.0,1\n", "fewer than two beats"),
        ("", "fewer than two beats"),
        ("time_s,count\nnan,1\n2,2\n", "Row 2.*'nan' is not a time"),
    ],
)
def test_what_is_wrong_with_a_beats_file_is_told_by_row(text, says):
    with pytest.raises(BadInput, match=says):
        read_beats_csv(text)


def test_seven_is_no_count_of_a_waltz():
    with pytest.raises(BadInput, match="'7' is not a count"):
        read_beats_csv("1.0,6\n1.5,7\n", beats_per_bar=3)


def test_candidates_without_sound_are_the_section_starts():
    found = first_count_candidates(grid(24), None, settings=SETTINGS.music)
    assert [t for t, _ in found] == [1.0, 5.0, 9.0]
    weights = [w for _, w in found]
    assert weights == sorted(weights, reverse=True)
    assert sum(weights) < 1
