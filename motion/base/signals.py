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
BESIDE = (
    2.0  # times the cutoff: up to there errors are watched; movement of legs has died away, and 24 frames a second still reach it
)
BELOW = 0.5  # times the cutoff: from there on errors are watched below it
QUIETEST = 0.25  # of the samples: a quarter of the time a planted foot, and whatever else, hardly moves as fast as the cutoff
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


def _alike(times_s: Floats, flat: Floats, break_s: float) -> dict[tuple[int, int], list[int]]:
    """Unbroken runs (start, stop) with the columns that are seen over each: they go through a filter together."""
    alike: dict[tuple[int, int], list[int]] = {}
    for c in range(flat.shape[1]):
        for run in _runs(times_s, flat[:, c], break_s):
            alike.setdefault((run.start, run.stop), []).append(c)
    return alike


def _can_pass(step_s: float, cutoff_hz: float) -> bool:
    """Whether a series sampled every step_s holds anything above the cutoff that a filter could take away."""
    return cutoff_hz / TWO_PASSES < 0.45 / step_s


def _one_pass(step_s: float, cutoff_hz: float) -> Floats:
    """Second-order sections of one of the two passes."""
    from scipy.signal import butter

    return np.asarray(butter(2, cutoff_hz / TWO_PASSES, fs=1.0 / step_s, output="sos"))


def low_pass(times_s: Floats, values: Floats, cutoff_hz: float, *, break_s: float = BREAK_S) -> Floats:
    """Remove what is faster than cutoff_hz, without lag: second-order Butterworth, forward and backward, run by run.

    Parameters: times_s (F,) strictly rising, in seconds; values (F, ...) with NaN where not seen; cutoff_hz, where half the power
    is left after both passes; break_s, a jump of the clock that ends a run. Each run is put on an even grid at its median step by
    a cubic spline and read back from it the same way. Runs below four samples, or sampled too slowly to hold anything above the
    cutoff, come back as they are. Returns an array of the values' shape; NaN stays NaN.
    """
    from scipy.interpolate import CubicSpline
    from scipy.signal import sosfiltfilt

    need(cutoff_hz > 0, "cutoff_hz is positive", cutoff_hz)
    flat, out = _columns(times_s, values)
    for (start, stop), columns in _alike(times_s, flat, break_s).items():
        t, x = times_s[start:stop], flat[start:stop, columns]
        out[start:stop, columns] = x
        if len(t) < SHORTEST_RUN:
            continue
        step = float(np.median(np.diff(t)))
        if not _can_pass(step, cutoff_hz):
            continue
        one_pass_hz = cutoff_hz / TWO_PASSES
        grid = t[0] + step * np.arange(int(np.ceil((t[-1] - t[0]) / step)) + 1)
        even = CubicSpline(t, x)(np.minimum(grid, t[-1]))
        # the filter needs some history at both ends: reflected about the end value, as long as its own memory
        pad = min(len(grid) - 1, int(np.ceil(1.0 / (one_pass_hz * step))))
        smooth = sosfiltfilt(_one_pass(step, cutoff_hz), even, axis=0, padtype="odd", padlen=pad)
        out[start:stop, columns] = CubicSpline(grid, smooth)(t)
    return out.reshape(values.shape)


def left_noise(times_s: Floats, values: Floats, cutoff_hz: float, *, memory_s: float, break_s: float = BREAK_S) -> Floats:
    """What `low_pass` at cutoff_hz leaves of the errors in a series, told by what it takes away: the root mean square of this, taken
    over a while, is the standard deviation of the error still in the cleaned series.

    Parameters as in `low_pass`; memory_s, the time in seconds in which lasting errors lose all but 1/e of their likeness. A series holds
    errors that are new in every sample and errors that last (first-order autoregressive). How much of either tells, run by run, how the
    spectrum goes on from below the cutoff to above it, in the series' quietest moments: new errors lie as high on both sides, lasting ones
    fall off. Movement below the cutoff makes errors count as lasting ones, of which more is left. What lies beside the cutoff, up to
    `BESIDE` times it, is then scaled by the share of such a mixture that the filter lets through. All of it is reckoned at the run's own
    sampling rate: with more samples new errors spread over a broader band and less of them is left, of lasting ones the same.
    Returns an array of the values' shape, NaN where the series is, and in runs that `low_pass` leaves as they are.
    """
    flat, out = _columns(times_s, values)
    inner, passed, upper = (low_pass(times_s, flat, cutoff_hz * of, break_s=break_s) for of in (BELOW, 1.0, BESIDE))
    for (start, stop), columns in _alike(times_s, flat, break_s).items():
        step = float(np.median(np.diff(times_s[start:stop]))) if stop - start >= SHORTEST_RUN else np.inf
        if _can_pass(step, cutoff_hz):
            below, beside = (passed - inner)[start:stop, columns], (upper - passed)[start:stop, columns]
            out[start:stop, columns] = beside * np.sqrt(_left_over_beside(below, beside, step, cutoff_hz, memory_s))
    return out.reshape(values.shape)


def _left_over_beside(below: Floats, beside: Floats, step_s: float, cutoff_hz: float, memory_s: float) -> Floats:
    """Power that the low-pass lets through over the power beside its cutoff (columns,), for the mixture of errors in every column.

    below, beside (F, columns): what lies just below the cutoff, and just above it.
    """
    from scipy.signal import sosfreqz

    turn = np.linspace(0.0, np.pi, 512)  # radians a sample, up to half the sampling rate
    likeness = np.exp(-step_s / memory_s)
    lasting = (1.0 - likeness**2) / (1.0 - 2.0 * likeness * np.cos(turn) + likeness**2)

    def gain(hz: float) -> Floats:
        # run forward and backward, the gain of one pass counts twice
        return np.asarray(np.abs(sosfreqz(_one_pass(step_s, hz), turn)[1]) ** 2) if _can_pass(step_s, hz) else np.ones_like(turn)

    inner, low, high = (gain(cutoff_hz * of) for of in (BELOW, 1.0, BESIDE))
    # rows: let through, below, beside; columns: of errors new in every sample, of lasting ones
    let, under, near = np.stack([low**2, (low - inner) ** 2, (high - low) ** 2]) @ np.stack([np.ones_like(turn), lasting], axis=1)
    told = np.quantile(below**2, QUIETEST, axis=0) / np.maximum(np.quantile(beside**2, QUIETEST, axis=0), np.finfo(float).tiny)
    # below over beside of a mixture runs evenly with the share of new errors beside the cutoff, from lasting ones' to theirs
    ends = under / near
    new = np.clip((ends[1] - told) / (ends[1] - ends[0]), 0.0, 1.0)
    return np.asarray(new * let[0] / near[0] + (1.0 - new) * let[1] / near[1])


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
