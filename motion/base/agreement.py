"""How well two ways, or two times, of measuring agree: limits of agreement, intraclass correlation, smallest real change.

Bland & Altman, Lancet 1986;1:307-310. Shrout & Fleiss, Psychol Bull 1979;86:420-428. Pure arrays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from motion.base.checks import need
from motion.base.types import Floats, Interval

NORMAL_95 = 1.96  # standard deviations about the mean that hold 95 % of normal values


@dataclass(frozen=True)
class Agreement:
    """Differences of paired values: n pairs, their mean and standard deviation (n - 1), and the limits that hold 95 % of them."""

    n: int
    mean: float
    sd: float
    limits: Interval


def limits_of_agreement(first: Floats, second: Floats, *, width: float = NORMAL_95) -> Agreement:
    """Limits of agreement of paired values (N,), as first minus second: mean -+ width standard deviations.

    ValueError unless both hold the same number of values, two or more. Example: 1, 2, 3 against 1, 1, 1 gives mean 1, sd 1.
    """
    need(first.shape == second.shape and first.ndim == 1, "both hold one value a pair", (first.shape, second.shape))
    need(len(first) >= 2, "two pairs or more", len(first))
    apart = first - second
    mean, sd = float(apart.mean()), float(apart.std(ddof=1))
    return Agreement(len(apart), mean, sd, (mean - width * sd, mean + width * sd))


@dataclass(frozen=True)
class Icc:
    """Intraclass correlations after Shrout & Fleiss: of one rating (one-way, two-way random, two-way mixed) and of the raters' mean."""

    one_way: float
    random: float
    mixed: float
    one_way_mean: float
    random_mean: float
    mixed_mean: float


def icc(ratings: Floats) -> Icc:
    """Intraclass correlations of ratings (subjects, raters), two or more of each, none missing. ValueError otherwise."""
    need(ratings.ndim == 2 and min(ratings.shape) >= 2, "ratings has shape (subjects, raters), each 2 or more", ratings.shape)
    n, k = ratings.shape
    grand, rows, columns = ratings.mean(), ratings.mean(1), ratings.mean(0)
    between = k * ((rows - grand) ** 2).sum() / (n - 1)
    raters = n * ((columns - grand) ** 2).sum() / (k - 1)
    within = ((ratings - rows[:, None]) ** 2).sum() / (n * (k - 1))
    left = ((ratings - rows[:, None] - columns[None, :] + grand) ** 2).sum() / ((n - 1) * (k - 1))
    return Icc(
        one_way=float((between - within) / (between + (k - 1) * within)),
        random=float((between - left) / (between + (k - 1) * left + k * (raters - left) / n)),
        mixed=float((between - left) / (between + (k - 1) * left)),
        one_way_mean=float((between - within) / between),
        random_mean=float((between - left) / (between + (raters - left) / n)),
        mixed_mean=float((between - left) / between),
    )


def sem_from_icc(sd: float, correlation: float) -> float:
    """Standard error of measurement from the spread between people and an intraclass correlation."""
    return sd * math.sqrt(1.0 - correlation)


def sem_from_repeats(groups: list[Floats]) -> float | None:
    """Standard error of measurement from repeats: pooled standard deviation within groups of repeats of one thing.

    Groups of one value tell nothing and are passed over; None when none is left.
    """
    free = sum(len(g) - 1 for g in groups)
    if free < 1:
        return None
    return math.sqrt(sum(float(((g - g.mean()) ** 2).sum()) for g in groups if len(g)) / free)


def smallest_change(sem: float) -> float:
    """The least difference of two measurements that noise alone makes only once in twenty times (MDC95)."""
    return NORMAL_95 * math.sqrt(2.0) * sem
