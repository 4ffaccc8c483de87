"""The yardstick itself, against mir_eval and against values worked out by hand (Davies et al. 2009, C4DM-TR-09-06)."""

import numpy as np
import pytest
from beat_scores import f_measure, level, offsets_ms

TRUE = 0.5 * np.arange(20) + 1.0


def two_off():
    found = TRUE.copy()
    found[4] += 0.08
    found[11] += 0.09
    return found


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (TRUE + 0.06, 1.0),
        (two_off(), 0.9),
        (TRUE[::2], 2 / 3),
        (np.arange(1.0, 10.75, 0.25)[:40], 2 * 20 / (20 + 39)),
        (TRUE + 0.25, 0.0),
    ],
)
def test_f_by_hand_and_by_mir_eval(found, expected):
    mir_eval = pytest.importorskip("mir_eval")
    assert f_measure(TRUE, found) == pytest.approx(expected)
    assert float(mir_eval.beat.f_measure(TRUE, found)) == pytest.approx(expected)


def test_levels_have_names():
    middle = (TRUE[1:] + TRUE[:-1]) / 2
    assert [level(TRUE, x) for x in (TRUE + 0.02, TRUE[1::2], TRUE[2::3], np.sort(np.r_[TRUE, middle]), middle)] == [
        "right", "half", "third", "double", "between",
    ]  # fmt: skip
    assert level(TRUE, np.random.default_rng(0).uniform(1, 10, 20)) == "lost"


def test_late_is_positive():
    assert offsets_ms(TRUE, TRUE + 0.012) == pytest.approx(np.full(20, 12.0))
