"""Does the dance fit the music: do its walls begin where the music's phrases do?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from motion.base.types import BeatGrid, Due, Floats, NotMeasured
from motion.music.counts import beat_position, section_of, time_of
from motion.music.metre import beat_colours
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import MusicSettings
from motion.timing.settings import TimingSettings


def wall_firsts(due: Sequence[Due], grid: BeatGrid, until_s: float) -> list[tuple[int, float]]:
    """(wall, running count of its count 1) of every wall that the events (in order) reach and that begins before until_s."""
    out: dict[int, float] = {}
    for d in due:
        out.setdefault(d.wall, round(d.count - d.count_in_wall + 1, 3))
    return [(wall, first) for wall, first in out.items() if time_of(grid, first)[0] < until_s]


def phrase_fit(
    grid: BeatGrid, curve: OnsetCurve | None, entry: Sequence[tuple[float, float]], walls: Sequence[tuple[int, float]],
    music: MusicSettings, settings: TimingSettings,
) -> dict[str, Any] | NotMeasured:  # fmt: skip
    """Where every wall begins in the music's phrases of eight bars, for review.json.

    grid: the counts as danced; entry: (time_s, weight 0..1) of beats that may be the music's beginning, likeliest first; walls: (wall,
    running count of its count 1). basis "changes": the sound changes again and again at the same place of the phrase; "entry":
    phrases are counted from where the music plainly comes in. after: counts from the phrase's start to the wall's, 0 on it.
    NotMeasured where neither can be heard: a guess would be right only once in so many counts.
    """
    if curve is None:
        return NotMeasured("the phrase", "there is no sound in which phrases could be heard")
    counts = settings.phrase_bars * (3 if section_of(grid) == 6 else 4)
    change = changes(beat_colours(curve, grid.times_s), music.quiet_db - 15, settings.phrase_near)
    found = _folded(change, counts, settings)
    if found is not None:
        start, heard, basis = *found, "changes"
    elif entry and entry[0][1] >= settings.phrase_entry:
        start, heard, basis = int(np.argmin(np.abs(grid.times_s - entry[0][0]))), 1, "entry"
    else:
        return NotMeasured(
            "the phrase",
            "the sound does not change plainly enough to say where phrases begin, and its beginning is not in the clip",
        )
    rows = []
    for wall, first in walls:
        at_s = time_of(grid, first)
        index = round(float(beat_position(grid, at_s)[0]) - float(beat_position(grid, grid.times_s[:1])[0]))
        after = (index - start) % counts
        rows.append({"wall": wall, "time_s": round(float(at_s[0]), 4), "after": int(after)})
    return {"basis": basis, "phrase_counts": counts, "heard": heard, "walls": rows}


def changes(colours_db: Floats, floor_db: float, near: int) -> Floats:
    """How much more the sound changes at each beat (B,) than half as far away, from its colours (B, Q) in dB, NaN near the ends.

    Each place is the distance between the mean colours of the `near` beats before and after it, less the mean of the same half of
    `near` to either side. Beats before anything sounds are floor_db, and the beginning of the music itself is left out: it is one
    change, far larger than any within the music.
    """
    heard = np.maximum(colours_db, floor_db)
    sounding = np.flatnonzero(heard.mean(axis=1) > np.median(heard.mean(axis=1)) - 10)
    first = int(sounding[0]) if len(sounding) else 0
    size = len(heard)
    apart = np.full(size, np.nan)
    for b in range(first + near, size - near + 1):
        if b < size:
            apart[b] = np.linalg.norm(heard[b : b + near].mean(axis=0) - heard[b - near : b].mean(axis=0))
    out, half = np.full(size, np.nan), near // 2
    out[half : size - half] = apart[half : size - half] - (apart[: size - 2 * half] + apart[2 * half :]) / 2
    return out


def _folded(change: Floats, counts: int, settings: TimingSettings) -> tuple[int, int] | None:
    """(index of a beat that begins a phrase, how many beginnings were heard); None where no place stands out from all others."""
    known = change[np.isfinite(change)]
    spread = float(known.std()) if len(known) else 0.0
    if len(known) < settings.phrase_least * counts or spread == 0.0:
        return None
    place = np.arange(len(change)) % counts
    scores, heard = np.full(counts, -np.inf), np.zeros(counts, dtype=np.int64)
    for p in range(counts):
        own = change[(place == p) & np.isfinite(change)]
        heard[p] = len(own)
        if len(own) >= settings.phrase_least and (own > 0).mean() >= 0.75:
            scores[p] = (own.mean() - known.mean()) * np.sqrt(len(own)) / spread
    best = int(np.argmax(scores))
    gap = np.abs(np.arange(counts) - best)
    rivals = scores[np.minimum(gap, counts - gap) > 1]
    if scores[best] < settings.phrase_proof or scores[best] - rivals.max() < settings.phrase_lead:
        return None
    return best, int(heard[best])
