"""Beats tapped by hand along with a clip: an even grid through taps, some of which were missed and some doubled."""

from __future__ import annotations

import numpy as np

from motion.base.types import BeatGrid, Floats, Ints, NotMeasured
from motion.music.beat_tracking import smooth
from motion.music.counts import beats_csv_text, changed, read_beats_csv, with_first_count
from motion.music.settings import PracticeSettings

#: What is known of tapping (Repp, Psychonomic Bulletin & Review 2005;12:969-992): taps come before the beat they are meant for.
LEAD_WORDS = (
    "The beat was tapped by hand. People tap 20 to 80 ms before the beat as a rule, so all dancers alike may look that much late."
)
HEAD = "# source: taps"


def grid_from_taps(
    taps_s: Floats,
    *,
    one_s: float | None = None,
    from_s: float,
    to_s: float,
    beats_per_bar: int = 4,
    settings: PracticeSettings,
) -> BeatGrid | NotMeasured:
    """Beats through taps, seconds of the clip, in any order; one_s, a moment that is count 1, else the first tap is.

    Taps far nearer together than the rest count once; a beat that was not tapped is filled in; taps off the even pulse are left
    out. Beats go on from the taps, at their tempo, for as many beats again on either side within from_s .. to_s: further, a
    tempo read from taps is no longer good for the place of a beat. The lead of a tapping hand stays in, see LEAD_WORDS.
    NotMeasured with fewer than settings.fewest_taps, or when they follow no pulse.
    """
    taps = np.unique(np.asarray(taps_s, dtype=np.float64))
    taps = _single(taps[np.isfinite(taps)], settings)
    few = NotMeasured("the beat", f"there are fewer than {settings.fewest_taps} taps; tap a few bars")
    if len(taps) < settings.fewest_taps:
        return few
    index, trust = _numbered(taps, settings)
    if int(trust.sum()) < settings.fewest_taps or float(trust.mean()) < settings.tap_share:
        return NotMeasured("the beat", "the taps follow no even pulse")
    index, taps = index[trust], taps[trust]
    index = index - index[0]
    every = np.arange(index[-1] + 1)
    tapped = np.isin(every, index)
    beats = smooth(np.interp(every, index, taps), tapped.astype(float))
    gap = float(np.median(np.diff(beats)))
    spread = _unevenness(index, taps)
    if spread > settings.tap_spread * gap:
        return NotMeasured("the beat", "the taps follow no even pulse")
    sure = (1 - spread / gap / settings.tap_spread) * float(tapped.mean()) ** 0.5
    first = float(beats[0])
    beats = _going_on(beats, from_s, to_s)
    section = 6 if beats_per_bar == 3 else 8
    counts = (np.arange(len(beats)) - int(np.argmin(np.abs(beats - first)))) % section + 1
    grid = BeatGrid("taps", beats, counts, 60 / gap, 0.5, sure, None)
    return grid if one_s is None else with_first_count(grid, one_s)


def taps_csv_text(grid: BeatGrid) -> str:
    """The grid as a beats file whose first lines say that it was tapped, how sure it is, and where count 1 lies."""
    one = "" if grid.first_count_s is None else f"# first_count_s: {grid.first_count_s:.4f}\r\n"
    return f"{HEAD}\r\n# confidence: {grid.confidence:.3f}\r\n{one}{beats_csv_text(grid)}"


def read_beats(text: str, *, beats_per_bar: int = 4) -> BeatGrid:
    """Beats from a beats file, as `read_beats_csv`; a file that says it was tapped gives a grid of source "taps"."""
    grid = read_beats_csv(text, beats_per_bar=beats_per_bar)
    head = {
        name.strip(): value.strip()
        for line in text.removeprefix("\ufeff").splitlines()
        if line.startswith("#") and ":" in line
        for name, value in [line[1:].split(":", 1)]
    }
    if head.get("source", "").rstrip(",;\t") != "taps":
        return grid
    sure, one = _number(head.get("confidence", "")), _number(head.get("first_count_s", ""))
    grid = changed(grid, source="taps", confidence=grid.confidence if sure is None else float(np.clip(sure, 0, 1)))
    return grid if one is None else with_first_count(grid, one)


def _number(text: str) -> float | None:
    try:
        value = float(text.rstrip(",;\t"))  # a spreadsheet fills a comment's row up with marks
    except ValueError:
        return None
    return value if np.isfinite(value) else None


def _single(taps: Floats, settings: PracticeSettings) -> Floats:
    """The taps without the second of each double."""
    while len(taps) > 2:
        gaps = np.diff(taps)
        # The usual gap of the longer half: doubles are never that many.
        usual = float(np.median(gaps[gaps >= np.median(gaps)]))
        least = int(np.argmin(gaps))
        if gaps[least] >= max(settings.tap_least_s, settings.tap_double * _common(gaps, usual)):
            break
        taps = np.delete(taps, least + 1)
    return taps


def _common(gaps: Floats, usual: float) -> float:
    """The gap (s) that most others agree with within 15 %, no longer than `usual`; missed taps only make longer ones."""
    votes = [int(np.sum(np.abs(gaps / g - 1) < 0.15)) if g <= 1.15 * usual else 0 for g in gaps]
    return float(np.median(gaps[np.abs(gaps / gaps[int(np.argmax(votes))] - 1) < 0.15]))


def _numbered(taps: Floats, settings: PracticeSettings) -> tuple[Ints, np.ndarray]:
    """Number of the beat (T,) of every tap, and which taps (T,) lie on the pulse. The pulse may drift: its gap is followed."""
    gaps = np.diff(taps)
    gap = _common(gaps, float(np.median(gaps)) * 1.5)
    start = int(np.argmin(np.abs(gaps / gap - 1)))
    number, fits = np.zeros(len(taps), dtype=np.int64), np.zeros(len(taps), dtype=bool)
    fits[start] = True
    for way in (range(start + 1, len(taps)), range(start - 1, -1, -1)):
        at, n, pace = float(taps[start]), 0, gap
        for k in way:
            beats = (float(taps[k]) - at) / pace
            whole = round(beats)
            if whole == 0 or abs(beats - whole) > settings.tap_stray:
                continue
            number[k], fits[k] = n + whole, True
            pace += 0.2 * ((float(taps[k]) - at) / whole - pace)
            # half the way only: one early tap must not drag the next beats along
            at, n = at + whole * pace + 0.5 * (float(taps[k]) - at - whole * pace), n + whole
    return number, fits


def _unevenness(index: Ints, taps: Floats) -> float:
    """Spread (s) of single taps about an even pulse that may change its pace, from how far each lies off the middle of its two
    neighbours (by the ordinary factor from a median to a standard deviation)."""
    share = (index[1:-1] - index[:-2]) / (index[2:] - index[:-2])
    off = taps[1:-1] - taps[:-2] - share * (taps[2:] - taps[:-2])
    return 1.4826 * float(np.median(np.abs(off) / np.sqrt(1 + share**2 + (1 - share) ** 2)))


def _going_on(beats: Floats, from_s: float, to_s: float) -> Floats:
    """The beats with as many more on either side as there are, at the tempo of the nearest ones, within from_s .. to_s."""
    most = len(beats)
    near = min(8, most - 1)
    ahead, behind = (beats[near] - beats[0]) / near, (beats[-1] - beats[-1 - near]) / near
    before = beats[0] - ahead * np.arange(most, 0, -1)
    after = beats[-1] + behind * np.arange(1, most + 1)
    return np.concatenate([before[before >= from_s], beats, after[after <= to_s]])
