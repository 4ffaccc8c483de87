"""How one dancer sits against the beat: lead or lag, steadiness, drift."""

from __future__ import annotations

import numpy as np

from motion.base.statistics import median_interval, slope, vector
from motion.base.types import Floats, NotMeasured, Timing
from motion.timing.settings import TimingSettings


def timing_of(counts: Floats, offset_ms: Floats, gap_s: Floats, settings: TimingSettings) -> Timing | NotMeasured:
    """Summary of one dancer's matched landings: counts, offset_ms (late +), gap_s (length of a count), all (N,), NaN left out.

    Steadiness is the standard deviation about the mean; vector length takes each offset as an angle of its count; drift is the
    slope of a straight line over the counts. NotMeasured when too few landings are matched to tell a habit from chance.
    Example: offsets -30 -10 5 -20 -45 15 -25 -10 ms at 120 BPM give steadiness 19.3 ms, vector length 0.975, drift 0.8 ms a count.
    """
    good = np.isfinite(offset_ms) & np.isfinite(counts)
    n = int(good.sum())
    if n == 0:
        return NotMeasured("timing", "no landing could be set against the beat")
    if n < settings.least_pairs:
        landings = "1 landing" if n == 1 else f"{n} landings"
        return NotMeasured("timing", f"only {landings} could be set against the beat, and {settings.least_pairs} are needed")
    c, off, gap = counts[good], offset_ms[good], gap_s[good]
    _, length = vector(2 * np.pi * off / (1000 * gap))
    return Timing(
        n=n,
        bias_ms=float(np.median(off)),
        bias_interval_ms=median_interval(off),
        steadiness_ms=float(np.std(off, ddof=1)),
        vector_length=length,
        drift_ms_per_count=slope(c, off) if np.ptp(c) > 0 else 0.0,
    )
