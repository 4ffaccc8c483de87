"""The tables of a review folder: steps.csv, beats.csv and angles.csv as text (RFC 4180: commas, CRLF; plain ASCII, a header row).

Every cell is a number, empty, or one of a few fixed words, so that no spreadsheet can take a cell for a formula.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np

from motion.base.types import JOINTS, Angles, BeatGrid, Floats, Landmarks, NotMeasured, Review, Steps
from motion.store.serialize import COUNT_DIGITS, DEG_DIGITS, TIME_DIGITS, number, step_rows

STEP_COLUMNS = ("dancer", "time_s", "sigma_ms", "foot", "kind", "count", "offset_ms", "settled_s")
BEAT_COLUMNS = ("time_s", "count")
ANGLE_COLUMNS = (
    "dancer",
    "time_s",
    *(f"{side}_{joint}_flexion_deg" for side, joint in JOINTS),
    "view_deg",
    *(f"sigma_{side}_{joint}_deg" for side, joint in JOINTS),
)


def steps_csv(review: Review) -> str:
    """Every landing and weight change, dancer by dancer in order of time; count and offset_ms empty where none fits."""
    rows: list[list[object]] = []
    for one in review.dancers:
        if isinstance(one.steps, Steps):
            for row in step_rows(one.steps, one.pairing):
                cells = {**row, "count": _short(row["count"])}
                rows.append([one.track.id, *(cells[name] for name in STEP_COLUMNS[1:])])
    return _table(STEP_COLUMNS, rows)


def beats_csv(review: Review) -> str:
    """Every beat and its count; only the header where the beat was not measured."""
    if not isinstance(review.beats, BeatGrid):
        return _table(BEAT_COLUMNS, [])
    grid = review.beats
    return _table(BEAT_COLUMNS, ([number(t, TIME_DIGITS), int(c)] for t, c in zip(grid.times_s, grid.counts, strict=True)))


def angles_csv(review: Review) -> str:
    """One row per picture and dancer; a cell is empty where the angle is not to be trusted."""
    return _angles_csv(tuple((one.track.id, one.angles) for one in review.dancers), review.landmarks)


@lru_cache(
    maxsize=1
)  # the longest table by far, and the same again, known by identity, when only the counts of a clip are judged anew
def _angles_csv(whose: tuple[tuple[int, Angles | NotMeasured], ...], landmarks: Landmarks) -> str:
    rows: list[list[object]] = []
    for dancer, angles in whose:
        times_s, values = _angle_values(angles, landmarks.times_s)
        rounded = np.round(values, DEG_DIGITS) + 0.0
        cells = rounded.astype(object)
        cells[~np.isfinite(rounded)] = None
        rows += [[dancer, number(time_s, TIME_DIGITS), *row] for time_s, row in zip(times_s.tolist(), cells.tolist(), strict=True)]
    return _table(ANGLE_COLUMNS, rows)


def let_go() -> None:
    """Drop the last table of angles from memory."""
    _angles_csv.cache_clear()


def _angle_values(angles: object, times_s: Floats) -> tuple[Floats, Floats]:
    """Times (F,) and the thirteen columns after them (F, 13): six flexions, the view, six sigmas."""
    if not isinstance(angles, Angles):
        return times_s, np.full((len(times_s), len(ANGLE_COLUMNS) - 2), np.nan)
    trusted = np.isfinite(angles.flexion_deg)
    sigma = np.where(trusted, angles.sigma_deg, np.nan)
    return angles.times_s, np.column_stack([angles.flexion_deg, angles.view_deg, sigma])


def _short(count: float | None) -> str | None:
    """Counts as people write them: 3, not 3.0."""
    return None if count is None else f"{count:.{COUNT_DIGITS}f}".rstrip("0").rstrip(".")


def _table(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text)  # the default dialect writes CRLF and an empty cell for None, as RFC 4180 has it
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()
