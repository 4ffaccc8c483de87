"""Small statistics on plain arrays: circular (Fisher 1993; Mardia & Jupp 2000), intervals, a straight line's slope."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np

from motion.base.types import Floats, Interval


def vector(phases_rad: Floats) -> tuple[float, float]:
    """Mean direction (rad) and mean vector length 0..1 of angles (N,)."""
    z = complex(np.exp(1j * np.asarray(phases_rad)).mean())
    return float(np.angle(z)), abs(z)


def rayleigh(n: int, length: float) -> tuple[float, float]:
    """Rayleigh's z = n R^2 and its probability p of no common direction, for n angles with mean vector length R.

    p after Zar, Biostatistical Analysis: exp(sqrt(1 + 4n + 4(n^2 - (nR)^2)) - (1 + 2n)).
    """
    total = n * length
    return n * length**2, math.exp(math.sqrt(1 + 4 * n + 4 * (n**2 - total**2)) - (1 + 2 * n))


def median_interval(values: Floats, level: float = 0.95) -> Interval:
    """Interval of the median of values (N,) from their order (binomial, no shape assumed); the whole range when N is small."""
    ordered, n = np.sort(values), len(values)
    below, ways, rank = 0, 1, 0  # rank: the order statistic that the median lies below with at most half of 1 - level
    while rank < n // 2:
        below += ways  # of 2^n: whole numbers, as 2^-n is too small for a float in a long practice
        if below / 2**n > (1 - level) / 2:
            break
        ways, rank = ways * (n - rank) // (rank + 1), rank + 1
    k = max(rank - 1, 0)
    return float(ordered[k]), float(ordered[n - 1 - k])


def share_interval(held: int, of: int, level: float = 0.95) -> Interval:
    """Interval of a share `held` out of `of` (at least 1), after Wilson (1927): never beyond 0..1, and honest at 0 and at all."""
    z = NormalDist().inv_cdf((1 + level) / 2)
    share, wide = held / of, z**2 / of
    middle = (share + wide / 2) / (1 + wide)
    reach = z * math.sqrt(share * (1 - share) / of + wide / (4 * of)) / (1 + wide)
    return max(0.0, middle - reach), min(1.0, middle + reach)


def spread_interval(spread: float, n: int, level: float = 0.95) -> Interval:
    """Interval of a standard deviation found from n (at least 2) values that scatter normally, from chi squared."""
    from scipy.special import chdtri

    free = n - 1
    return spread * math.sqrt(free / chdtri(free, (1 - level) / 2)), spread * math.sqrt(free / chdtri(free, (1 + level) / 2))


def usual_spread(values: Floats) -> float:
    """Standard deviation of values (N,) about 0 as their middle tells it (1.4826 times the median size): a few wild ones do not matter."""
    return float(1.4826 * np.median(np.abs(values)))


def slope(x: Floats, y: Floats) -> float:
    """Slope of the least-squares line of y on x, both (N,)."""
    apart = x - x.mean()
    return float(apart @ (y - y.mean()) / (apart @ apart))
