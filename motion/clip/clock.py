"""Picture times and sound times brought onto one clock: plain arithmetic, no files."""

from __future__ import annotations

import heapq

import numpy as np
from numpy.typing import NDArray

from motion.base.types import Floats, Ints


class OrderedTimes:
    """Times for pictures in files that store only the order of decoding (AVI): the n-th picture shown has the n-th time."""

    def __init__(self) -> None:
        self._waiting: list[int] = []

    def sent(self, time: int) -> None:
        """A coded picture with this time went into the decoder."""
        heapq.heappush(self._waiting, time)

    def lost(self, time: int) -> None:
        """The decoder refused it: no picture will come."""
        if time in self._waiting:
            self._waiting.remove(time)
            heapq.heapify(self._waiting)

    def shown(self) -> int | None:
        """Time of the picture that comes out now, None if there is none."""
        return heapq.heappop(self._waiting) if self._waiting else None


def are_uneven(times_s: Floats, *, off_ms: float, share: float) -> bool:
    """Whether more than `share` of the intervals between times_s (F,) lie off the median by over off_ms and over a tenth of it.

    Example: 0, 33, 67, 100 ms (a file that rounds to milliseconds) is even; 0, 33, 73, 100 ms is not.
    """
    if len(times_s) < 3:
        return False
    intervals = np.diff(times_s)
    usual = float(np.median(intervals))
    off = np.abs(intervals - usual) > max(off_ms / 1000.0, usual / 10.0)
    return bool(off.mean() > share)


def line_up(
    starts_s: Floats, counts: Ints, samples: NDArray[np.float32], rate_hz: int, *, gap_s: float, longest_s: float
) -> tuple[float, NDArray[np.float32]]:
    """Put pieces of sound where their own times say: silence into gaps, overlaps cut.

    Parameters: starts_s (M,) seconds, NaN = follows on; counts (M,) samples of each piece; samples (N,), the pieces joined;
    gap_s, deviations up to which a piece follows on without a seam; longest_s, length past which nothing is placed.
    Returns the time of the first sample in seconds (0 if no piece has a time) and the samples on an unbroken clock.
    Example: at 10 Hz, two pieces of 5 samples at 0.0 and 1.0 s give 15 samples, the middle five silent.
    """
    timed = np.flatnonzero(np.isfinite(starts_s))
    if len(timed) == 0:
        return 0.0, samples
    before = int(counts[: timed[0]].sum())
    start_s = float(starts_s[timed[0]]) - before / rate_hz
    most = int(longest_s * rate_hz)
    parts: list[NDArray[np.float32]] = []
    filled = 0
    ends = np.cumsum(counts)
    for start, count, end in zip(starts_s, counts, ends, strict=True):
        piece = samples[end - count : end]
        off_s = float(start) - (start_s + filled / rate_hz) if np.isfinite(start) else 0.0
        if off_s > gap_s:
            silent = round(off_s * rate_hz)
            if filled + silent > most:
                continue
            parts.append(np.zeros(silent, np.float32))
            filled += silent
        elif off_s < -gap_s:
            piece = piece[round(-off_s * rate_hz) :]
        if filled + len(piece) > most:
            break
        parts.append(piece)
        filled += len(piece)
    return start_s, np.concatenate(parts) if parts else np.zeros(0, np.float32)
