"""Agreement of repeated measurements, against the worked examples of the papers that brought the methods."""

from __future__ import annotations

import numpy as np
import pytest

from motion.base.agreement import icc, limits_of_agreement, sem_from_icc, sem_from_repeats, smallest_change

#: Bland & Altman, Lancet 1986;1:307-310, table 1: peak expiratory flow of 17 people, first readings of two meters, l/min.
LARGE = np.array([494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427], float)
SMALL = np.array([512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451], float)
#: Shrout & Fleiss, Psychol Bull 1979;86:420-428, table 2: six people rated by four judges.
RATINGS = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], float)


def test_limits_of_agreement_as_bland_and_altman_worked_them_out() -> None:
    paper = limits_of_agreement(LARGE, SMALL, width=2.0)  # the paper takes two standard deviations
    assert (paper.n, round(paper.mean, 1), round(paper.sd, 1)) == (17, -2.1, 38.8)
    # the paper rounds mean and sd before it adds them: -79.7 and 75.5
    assert paper.limits == pytest.approx((-79.65, 75.41), abs=0.01)
    assert limits_of_agreement(LARGE, SMALL).limits == pytest.approx((-78.10, 73.86), abs=0.01)


def test_intraclass_correlations_as_shrout_and_fleiss_worked_them_out() -> None:
    found = icc(RATINGS)
    assert (round(found.one_way, 2), round(found.random, 2), round(found.mixed, 2)) == (0.17, 0.29, 0.71)  # the paper's own
    assert (found.one_way, found.random, found.mixed) == pytest.approx((0.166, 0.290, 0.715), abs=5e-4)
    assert (found.one_way_mean, found.random_mean, found.mixed_mean) == pytest.approx((0.443, 0.620, 0.909), abs=5e-4)


def test_a_rater_who_is_always_lower_matters_only_where_the_raters_count() -> None:
    one = np.array([[1.0, 1.0], [2.0, 2.0], [4.0, 4.0]])
    assert (icc(one).random, icc(one).mixed) == pytest.approx((1.0, 1.0))
    shifted = icc(one - [0.0, 3.0])
    assert shifted.mixed == pytest.approx(1.0)
    assert shifted.random < 0.5


def test_smallest_change_by_hand() -> None:
    assert sem_from_icc(10.0, 0.90) == pytest.approx(3.162, abs=1e-3)
    assert smallest_change(sem_from_icc(10.0, 0.90)) == pytest.approx(8.765, abs=1e-3)
    assert smallest_change(sem_from_icc(8.0, 0.95)) == pytest.approx(4.958, abs=1e-3)


def test_error_from_repeats_is_the_spread_within_and_not_between() -> None:
    # differences of 2 and of 4: variances 2 and 8, pooled 5
    assert sem_from_repeats([np.array([10.0, 12.0]), np.array([96.0, 100.0])]) == pytest.approx(np.sqrt(5.0))
    assert sem_from_repeats([np.array([10.0]), np.array([])]) is None
    # the one-way mean square within of Shrout & Fleiss, 6.264
    assert sem_from_repeats(list(RATINGS)) == pytest.approx(np.sqrt(6.264), abs=1e-3)


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(ValueError, match="one value a pair"):
        limits_of_agreement(LARGE, SMALL[:5])
    with pytest.raises(ValueError, match="two pairs"):
        limits_of_agreement(LARGE[:1], SMALL[:1])
    with pytest.raises(ValueError, match="ratings has shape"):
        icc(RATINGS[:1])
