"""corrections.json beside a review, and the boxes of covered people in its landmarks.npz."""

from __future__ import annotations

import json
import math
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from motion.base.errors import BadInput, BadStore
from motion.review.corrections import Correction, Masks, Point, label_of
from motion.review.settings import SETTINGS
from motion.store.folder import CORRECTIONS, read_stored

#: Rises only when an older reader would misread a newer file.
FORMAT = 1
MASKED_TIMES, MASKED_BOXES, MASKED_POINTS = "masked_times_s", "masked_box_px", "masked_point"
#: Corrections by the clip's sha256: a folder may be used again for another clip, and theirs are not to be lost or mixed up.
ByClip = dict[str, tuple[Correction, ...]]


def read_corrections(folder: Path) -> ByClip:
    """The corrections stored in a review folder, empty if there are none. Raises BadStore if the file is damaged; it stays as it is."""
    path = folder / CORRECTIONS
    try:
        kept = json.loads(path.read_text(encoding="utf-8"), parse_constant=_refuse)
        if not isinstance(kept, dict) or not isinstance(kept.get("format"), int):
            raise ValueError("no format")
        if kept["format"] > FORMAT:
            raise BadStore(f"{path} was written by a newer version of this program", "Update the program to go on")
        return {str(sha): tuple(_correction(row) for row in rows) for sha, rows in kept["clips"].items()}
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except OSError as error:
        raise BadStore(f"{path} cannot be read", "Check that you may open it") from error
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, BadInput) as error:
        raise BadStore(
            f"{path} is damaged or was not written by this program", "Move it out of the folder to go on without its corrections"
        ) from error


def write_corrections(folder: Path, by_clip: ByClip) -> None:
    """Write corrections.json, whole or not at all; without any correction the file goes. Raises BadStore when the disk fails."""
    path = folder / CORRECTIONS
    rows = {sha: [_row(c) for c in corrections] for sha, corrections in by_clip.items() if corrections}
    try:
        if not rows:
            path.unlink(missing_ok=True)
            return
        holder = Path(tempfile.mkdtemp(prefix=".countfall-", dir=folder.parent))
        try:
            with (holder / CORRECTIONS).open("w", encoding="utf-8") as file:
                json.dump({"format": FORMAT, "clips": rows}, file, ensure_ascii=False, allow_nan=False)
                file.flush()
                os.fsync(file.fileno())
            os.replace(holder / CORRECTIONS, path)
        finally:
            shutil.rmtree(holder, ignore_errors=True)
    except OSError as error:
        raise BadStore(f"The corrections cannot be written to {folder}", "Make room, or check that you may write there") from error


def mask_arrays(masks: Masks) -> dict[str, NDArray[Any]]:
    """Boxes as plain arrays for landmarks.npz; none if nobody is covered."""
    if not len(masks.points):
        return {}
    return {MASKED_TIMES: masks.times_s, MASKED_BOXES: masks.box_px, MASKED_POINTS: masks.points}


def masks_of(arrays: Mapping[str, NDArray[Any]]) -> Masks:
    """Boxes out of the arrays of landmarks.npz. Raises BadStore if they do not fit together: nothing may then be shown."""
    if not {MASKED_TIMES, MASKED_BOXES, MASKED_POINTS} & set(arrays):
        return Masks()
    try:
        return Masks(arrays[MASKED_TIMES], arrays[MASKED_BOXES], arrays[MASKED_POINTS])
    except (KeyError, ValueError, TypeError) as error:
        raise BadStore("The review no longer says where covered people are", "Review the clip again") from error


def earlier_masks(folder: Path, sha256: str) -> Masks:
    """Boxes from an earlier review of this very clip in the folder; none if there is none, or it cannot be read."""
    try:
        stored = read_stored(folder)
        return masks_of(stored.arrays) if stored.clip.sha256 == sha256 else Masks()
    except BadStore:
        return Masks()


def masks_in(folder: Path) -> Masks:
    """Whom to cover when a picture of this review's clip is shown. Raises BadStore if that cannot be told."""
    return masks_of(read_stored(folder).arrays)


def _refuse(name: str) -> Any:
    raise ValueError(f"{name} is no number")


def _row(correction: Correction) -> dict[str, Any]:
    row: dict[str, Any] = {"kind": correction.kind, "numbers": list(correction.numbers), "at": _point_row(correction.at)}
    if correction.other is not None:
        row["other"] = _point_row(correction.other)
    if correction.from_s is not None:
        row["from_s"] = correction.from_s
    if correction.label is not None:
        row["label"] = correction.label
    return row


def _point_row(point: Point) -> dict[str, float]:
    return {"time_s": point.time_s, "x_px": point.x_px, "y_px": point.y_px}


def _correction(row: dict[str, Any]) -> Correction:
    other, from_s, label = row.get("other"), row.get("from_s"), row.get("label")
    return Correction(
        row["kind"],
        _point(row["at"]),
        None if other is None else _point(other),
        None if from_s is None else _number(from_s),
        None if label is None else label_of(label, SETTINGS.desk),
        tuple(int(n) for n in row.get("numbers", ())),
    )


def _point(row: dict[str, Any]) -> Point:
    return Point(_number(row["time_s"]), _number(row["x_px"]), _number(row["y_px"]))


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"{value!r} is no number")
    return float(value)
