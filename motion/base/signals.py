"""Cleaning and derivatives of series sampled at uneven times: zero lag, and never across a break.

A series is values (F,) or (F, ...) over times_s (F,); NaN means "not seen". Every column is treated by itself and in runs: a run
ends where a value is missing or where the clock jumps by more than `break_s`, so that nothing leaks from one stretch into another.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from motion.base.checks import need
from motion.base.types import Floats

#: A second-order Butterworth run forward and backward lets through less than either pass: to keep -3 dB at the asked cutoff
#: each pass must be set higher by (sqrt(2) - 1) ** -0.25 = 1 / 0.802 (Winter, Biomechanics and Motor Control of Human Movement).
TWO_PASSES = 0.802
BREAK_S = 0.25  # s without a picture: several counts' worth of movement may hide in more, so a run ends there
SHORTEST_RUN = 4  # samples that a cubic needs: shorter runs hold too little to tell movement from noise and are left as they are


def usual_step_s(times_s: Floats) -> float:
    """Median time between neighbouring samples, s: what one of them is worth. 0 where there are fewer than two.

    A sum of samples is worth that many seconds: so thresholds can be seconds where what is counted has gaps.
    """
    return float(np.median(np.diff(times_s))) if len(times_s) > 1 else 0.0


def _runs(times_s: Floats, column: Floats, break_s: float) -> Iterator[slice]:
    """Slices of unbroken runs of finite values."""
    seen = np.isfinite(column)
    joined = seen[1:] & seen[:-1] & (np.diff(times_s) <= break_s)
    starts = np.flatnonzero(seen & ~np.concatenate(([False], joined)))
    stops = np.flatnonzero(seen & ~np.concatenate((joined, [False]))) + 1
    for start, stop in zip(starts, stops, strict=True):
        yield slice(int(start), int(stop))


def _columns(times_s: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Values as (F, columns) copy, after a check of shapes and clock."""
    need(times_s.ndim == 1 and len(values) == len(times_s), "one value a time", (times_s.shape, values.shape))
    need(bool(np.all(np.diff(times_s) > 0)), "times_s rises strictly", "it does not")
    flat = np.array(values, dtype=np.float64).reshape(len(times_s), -1)
    return flat, np.full_like(flat, np.nan)


def gaps_filled(times_s: Floats, values: Floats, longest_s: float) -> Floats:
    """Fill gaps of at most longest_s seconds (last seen to next seen) by straight lines; longer gaps and both ends stay NaN.

    Parameters: times_s (F,) strictly rising; values (F, ...) with NaN where not seen; longest_s in seconds.
    Returns an array of the values' shape. ValueError if the shapes do not fit or the times do not rise.
    Example: 0, NaN, 4 at 0, 0.1, 0.2 s with longest_s 0.2 gives 0, 2, 4; with longest_s 0.1 the gap stays.
    """
    flat, _ = _columns(times_s, values)
    for c in range(flat.shape[1]):
        at = np.flatnonzero(np.isfinite(flat[:, c]))
        gap = np.flatnonzero(np.diff(at) > 1)
        for a, b in zip(at[gap], at[gap + 1], strict=True):
            if times_s[b] - times_s[a] <= longest_s + 1e-9:
                flat[a : b + 1, c] = np.interp(times_s[a : b + 1], times_s[[a, b]], flat[[a, b], c])
    return flat.reshape(values.shape)


def low_pass(times_s: Floats, values: Floats, cutoff_hz: float, *, break_s: float = BREAK_S) -> Floats:
    """Remove what is faster than cutoff_hz, without lag: second-order Butterworth, forward and backward, run by run.

    Parameters: times_s (F,) strictly rising, in seconds; values (F, ...) with NaN where not seen; cutoff_hz, where half the power
    is left after both passes; break_s, a jump of the clock that ends a run. Each run is put on an even grid at its median step by
    a cubic spline and read back from it the same way. Runs below four samples, or sampled too slowly to hold anything above the
    cutoff, come back as they are. Returns an array of the values' shape; NaN stays NaN.
    """
    from scipy.interpolate import CubicSpline
    from scipy.signal import butter, sosfiltfilt

    need(cutoff_hz > 0, "cutoff_hz is positive", cutoff_hz)
    flat, out = _columns(times_s, values)
    alike: dict[tuple[int, int], list[int]] = {}  # columns seen over the same run go through the filter together
    for c in range(flat.shape[1]):
        for run in _runs(times_s, flat[:, c], break_s):
            alike.setdefault((run.start, run.stop), []).append(c)
    for (start, stop), columns in alike.items():
        t, x = times_s[start:stop], flat[start:stop, columns]
        out[start:stop, columns] = x
        if len(t) < SHORTEST_RUN:
            continue
        step = float(np.median(np.diff(t)))
        one_pass_hz = cutoff_hz / TWO_PASSES
        if one_pass_hz >= 0.45 / step:
            continue
        grid = t[0] + step * np.arange(int(np.ceil((t[-1] - t[0]) / step)) + 1)
        even = CubicSpline(t, x)(np.minimum(grid, t[-1]))
        # the filter needs some history at both ends: reflected about the end value, as long as its own memory
        pad = min(len(grid) - 1, int(np.ceil(1.0 / (one_pass_hz * step))))
        smooth = sosfiltfilt(butter(2, one_pass_hz, fs=1.0 / step, output="sos"), even, axis=0, padtype="odd", padlen=pad)
        out[start:stop, columns] = CubicSpline(grid, smooth)(t)
    return out.reshape(values.shape)


def velocity(times_s: Floats, values: Floats, *, break_s: float = BREAK_S) -> Floats:
    """Rate of change per second (F, ...), by central differences weighted for uneven steps (exact for parabolas), run by run.

    Parameters as in `low_pass`. The ends of a run take the slope to their one neighbour; a lone sample has none (NaN).
    Differences double the noise of a series: pass it through `low_pass` first.
    """
    flat, out = _columns(times_s, values)
    for c in range(flat.shape[1]):
        for run in _runs(times_s, flat[:, c], break_s):
            if run.stop - run.start >= 2:
                out[run, c] = np.gradient(flat[run, c], times_s[run])
    return out.reshape(values.shape)


def running_median(times_s: Floats, values: Floats, half_s: float) -> Floats:
    """Median (F,) of the values (F,) within half_s seconds of each time, both ends included.

    times_s (F,) strictly rising, in seconds. A NaN makes every median that it reaches NaN.
    """
    first = np.searchsorted(times_s, times_s - half_s)
    count = np.searchsorted(times_s, times_s + half_s, side="right") - first
    reach = np.arange(int(count.max(initial=0)))
    window = np.where(reach < count[:, None], values[np.minimum(first[:, None] + reach, len(values) - 1)], np.inf)
    window.sort(axis=1)
    rows = np.arange(len(values))
    middle = (window[rows, (count - 1) // 2] + window[rows, count // 2]) / 2
    spoiled = np.concatenate(([0], np.cumsum(np.isnan(values))))
    return np.where(spoiled[first + count] > spoiled[first], np.nan, middle)
