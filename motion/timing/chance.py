"""Whether landings gather at one place of the count more than chance would make them, where they were chosen for being near a count.

Landings that are matched with counts lie near them by the choosing alone: Rayleigh's test, which takes them for a fair sample, calls
anybody's landings steady. Here the choosing is repeated on the same landings put anywhere in their count by chance (a randomisation
test after Fisher; Phipson & Smyth 2010 for the ranks).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from motion.base.types import Candidates, Due, Floats
from motion.timing.settings import TimingSettings

#: Landings of one foot before and after a count that are looked at: two seconds, where two a second may be landings.
ABOUT = 4


def chance_of_gathering(found: Candidates, due: Sequence[Due], at_s: Floats, gap_s: Floats, settings: TimingSettings) -> float:
    """Probability that landings which know nothing of the counts gather as closely at one place of the count.

    found: all that may be landings, chosen without the counts; due (N,), at_s (N,) when each is due and gap_s (N,), one count there, s,
    of the stretch that was danced. Every landing due takes the nearest of its foot within reach of where it is due, once the dancer's
    own lead or lag is taken off; the length of the mean vector of what they lie off is compared with that of `chance_draws` dancers
    whose landings are moved by up to half a count either way, each by itself. Between 1 / (chance_draws + 1) and 1.
    """
    lands = np.array([d.lands and d.foot is not None for d in due], dtype=np.bool_)
    asked = np.array([d.foot == "right" for d in due])[lands]
    at_s, gap_s = at_s[lands], gap_s[lands]
    times, right = found.times_s[~found.shift], found.right[~found.shift]
    if not len(at_s) or not len(times):
        return 1.0
    count_s = float(np.median(gap_s))
    moved = np.random.default_rng(0).uniform(-count_s / 2, count_s / 2, (settings.chance_draws + 1, len(times)))
    moved[0] = 0.0  # the dancer as they danced
    length = _gathered(times + moved, right, at_s, asked, gap_s, settings)
    return float(np.mean(length >= length[0] - 1e-12))


def _gathered(
    times: Floats, right: NDArray[np.bool_], at_s: Floats, asked: NDArray[np.bool_], gap_s: Floats, settings: TimingSettings
) -> Floats:
    """Length of the mean vector (K,) of what was taken for the landings due, for every row of times (K, M)."""
    reach = np.minimum(settings.match_reach_ms / 1000, 0.9 * gap_s)
    total, taken = np.zeros(len(times), dtype=np.complex128), np.zeros(len(times))
    lag = np.zeros(len(times))
    for last in (False, True):
        offs = []
        for foot in (False, True):
            of = asked == foot
            if not of.any() or not (right == foot).any():
                continue
            own = times[:, right == foot]
            # of a dancer's own order, which moving changes by half a count: only the nearest few can be the nearest
            about = np.searchsorted(own[0], at_s[of])[:, None] + np.arange(-ABOUT, ABOUT)
            off = own[:, np.clip(about, 0, own.shape[1] - 1)] - (at_s[of][None, :] + lag[:, None])[..., None]
            nearest = np.take_along_axis(off, np.abs(off).argmin(2)[..., None], 2)[..., 0]
            near = np.abs(nearest) <= reach[of]
            offs.append(np.where(near, nearest, np.nan))
            if last:
                total += np.where(near, np.exp(2j * np.pi * nearest / gap_s[of]), 0.0).sum(1)
                taken += near.sum(1)
        if not last and offs:
            every = np.concatenate(offs, axis=1)
            seen = np.isfinite(every).any(1)
            lag[seen] = np.nanmedian(every[seen], axis=1)
    return np.abs(total) / np.maximum(taken, 1.0)
