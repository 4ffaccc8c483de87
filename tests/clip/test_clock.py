"""Times by hand."""

import numpy as np
import pytest

from motion.clip.clock import OrderedTimes, are_uneven, line_up


def lined(starts, counts, rate_hz=10, **more):
    samples = np.arange(1, sum(counts) + 1, dtype=np.float32)
    limits = {"gap_s": 0.25, "longest_s": 100.0, **more}
    return line_up(np.array(starts, float), np.array(counts), samples, rate_hz, **limits)


def test_pieces_that_follow_on_are_joined():
    start_s, x = lined([0.5, 1.0], [5, 5])
    assert start_s == 0.5
    assert x.tolist() == list(range(1, 11))


def test_gap_becomes_silence():
    start_s, x = lined([0.0, 1.0], [5, 5])
    assert start_s == 0.0
    assert x.tolist() == [1, 2, 3, 4, 5, 0, 0, 0, 0, 0, 6, 7, 8, 9, 10]


def test_jitter_leaves_no_seam():
    _, x = lined([0.0, 0.6, 1.0], [5, 5, 5])
    assert x.tolist() == list(range(1, 16))


def test_overlap_is_cut():
    _, x = lined([0.0, 0.2], [5, 5])
    assert x.tolist() == [1, 2, 3, 4, 5, 9, 10]


def test_piece_without_time_follows_on_and_counts_back_to_the_start():
    start_s, x = lined([np.nan, 2.0, np.nan], [5, 5, 5])
    assert start_s == 1.5
    assert x.tolist() == list(range(1, 16))


def test_a_wild_time_does_not_fill_the_memory():
    _, x = lined([0.0, 1e9, 0.5], [5, 5, 5])
    assert x.tolist() == [1, 2, 3, 4, 5, 11, 12, 13, 14, 15]


def test_sound_ends_at_the_limit():
    _, x = lined([0.0, 0.5, 1.0], [5, 5, 5], longest_s=1.0)
    assert len(x) == 10


@pytest.mark.parametrize(
    ("milliseconds", "uneven"),
    [
        ([0, 33, 67, 100, 133, 167], False),  # 30 a second, rounded to milliseconds
        ([0, 17, 33, 50, 67, 83], False),  # 60 a second, likewise
        ([0, 8, 17, 25, 33, 42], False),  # 120 a second: off by a tenth, but under 2 ms
        ([0, 33, 73, 100, 133, 167], True),
        ([0, 33, 67, 133, 167, 200], True),  # one left out
        ([0, 33], False),
    ],
)
def test_uneven(milliseconds, uneven):
    assert are_uneven(np.array(milliseconds) / 1000.0, off_ms=2.0, share=0.02) is uneven


def test_pictures_shown_in_order_take_times_in_order():
    order = OrderedTimes()
    for t in (0, 3, 1):
        order.sent(t)
    assert [order.shown(), order.shown()] == [0, 1]
    order.sent(2)
    order.sent(4)
    order.lost(2)
    assert [order.shown(), order.shown(), order.shown()] == [3, 4, None]
