"""Review folders: written whole or not at all, and read back.

A folder holds review.json, steps.csv, beats.csv, angles.csv, landmarks.npz, report.html and, when asked for, overlay.mp4.
"""

from __future__ import annotations

import errno
import io
import json
import os
import shutil
import tempfile
import tokenize
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.errors import BadStore
from motion.base.types import BeatGrid, Clip, Floats, Landmarks, Review, SoundOffset
from motion.review.settings import SETTINGS
from motion.store.serialize import FORMAT, review_json
from motion.store.tables import angles_csv, beats_csv, steps_csv
from motion.store.validate import misfit

REVIEW, LANDMARKS, REPORT, OVERLAY, CORRECTIONS = "review.json", "landmarks.npz", "report.html", "overlay.mp4", "corrections.json"
#: What every review.json holds, and as what; a file that lacks one was damaged or is none.
BLOCKS = {"made_by": dict, "clip": dict, "beats": dict, "dancers": list}
#: Blocks of review.json that judging makes from the landmarks, and does not read.
JUDGED = ("dancers", "notes")
#: Every name that may stand in a review folder; anything else there belongs to somebody else.
OWN_NAMES = frozenset({REVIEW, "steps.csv", "beats.csv", "angles.csv", LANDMARKS, REPORT, OVERLAY, CORRECTIONS})
#: What file managers leave in any folder that they have shown; it does not count as somebody's file.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})
#: Arrays of landmarks.npz that this file itself writes; all others are handed in and handed back by name.
OWN_ARRAYS = frozenset({"format", "times_s", "ids", "image_px", "visibility", "unsure", "clip_times_s"})
#: What review.json's block on the clip says of the film itself; the rest of it may be judged anew.
OF_THE_FILM = (
    "name", "sha256", "width_px", "height_px", "duration_s", "damaged_pictures", "has_sound", "cut_short", "uneven_times", "cuts_s",
    "first_picture_s",
)  # fmt: skip
#: Of the 33 points of a body the two without which nobody is followed.
HIPS = slice(23, 25)
#: What reading a garbled npz file was seen to raise: the zip module alone has five ways to say so.
DAMAGE = (OSError, EOFError, ValueError, KeyError, TypeError, RuntimeError, zipfile.BadZipFile, zlib.error, tokenize.TokenError)
DISK_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True, eq=False)
class Stored:
    """A review folder as read: `review` as review.json states it; clip and landmarks as they were when it was written; `arrays`,
    whatever else was stored beside the landmarks (onset curve, beat candidates), by name."""

    folder: Path
    review: dict[str, Any]
    clip: Clip
    landmarks: Landmarks
    arrays: dict[str, NDArray[Any]]


def default_out(clip_path: Path) -> Path:
    """Where a review goes unless the person says otherwise: "lesson.review" beside "lesson.mp4"."""
    return clip_path.with_name(f"{clip_path.stem}.review")


def check_out(folder: Path) -> None:
    """Raise BadStore now, before any slow work, if a review could not be written to `folder`. Leaves nothing behind.

    Allowed: a name that is free, an empty folder, an earlier review. Refused: a file, a folder with anything else in it, a place
    that may not be written to, a disk without room.
    """
    folder = _place(folder)
    try:
        if folder.exists():
            _check_contents(folder)
        _check_room(folder.parent)
        with tempfile.TemporaryDirectory(prefix=".countfall-", dir=folder.parent) as probe:
            # The name itself is tried too: it may be too long, or hold characters that this disk cannot store.
            (Path(probe) / folder.name).mkdir()
    except OSError as error:
        raise _cannot_write(folder, error) from error


def write_review(
    folder: Path,
    review: Review,
    *,
    extra_arrays: Mapping[str, NDArray[Any]],
    report_html: str | None,
    overlay: Callable[[Path], None] | None = None,
    landmarks: Landmarks | None = None,
    packed: bytes | None = None,
    said: Mapping[str, Any] | None = None,
) -> None:
    """Write one review folder, whole or not at all, in the place of an earlier review there; its corrections are carried over.

    Parameters: extra_arrays, stored beside the landmarks under their own names (plain numbers only); report_html, the text of
    report.html; overlay, called with the path at which it is to write overlay.mp4; landmarks, kept in place of the review's own: as
    they were before anybody corrected who is who; packed, landmarks.npz as an earlier review wrote it, where it is to stay as it is;
    said, what `review_json` gives for the review, where that is at hand.
    Raises BadStore as `check_out` does, or when the disk fails while writing; the earlier review then stays as it was.
    """
    check_out(folder)
    folder = _place(folder)
    try:
        holder = Path(tempfile.mkdtemp(prefix=".countfall-", dir=folder.parent))
        try:
            new = holder / "new"
            new.mkdir()
            _write_text(new / REVIEW, json.dumps(said or review_json(review), ensure_ascii=False, allow_nan=False) + "\n")
            _write_text(new / "steps.csv", steps_csv(review))
            _write_text(new / "beats.csv", beats_csv(review))
            _write_text(new / "angles.csv", angles_csv(review))
            _write_bytes(new / LANDMARKS, packed or _landmarks_npz(review, landmarks or review.landmarks, extra_arrays))
            if report_html is not None:
                _write_text(new / REPORT, report_html)
            if overlay is not None:
                overlay(new / OVERLAY)
            _swap(folder, new, holder / "old")
        finally:
            shutil.rmtree(holder, ignore_errors=True)
    except OSError as error:
        raise _cannot_write(folder, error) from error


def read_review(folder: Path, *, whole: bool = False) -> dict[str, Any]:
    """review.json of a folder, as a dictionary. Raises BadStore: no folder, no review in it, damaged or changed, of a newer version.

    whole: also where only what judging makes is not as it was written, which judging again mends.
    """
    path = folder / REVIEW
    try:
        if not folder.is_dir():
            raise BadStore(f"There is no review folder {folder}", "Give the folder that a review was written to")
        review = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise BadStore(f"The folder {folder} holds no review", "Give the folder that a review was written to") from error
    except OSError as error:
        raise BadStore(f"{path} cannot be read ({_reason(error)})", "Check that you may open it") from error
    except (ValueError, RecursionError) as error:  # neither UTF-8 nor JSON; brackets in brackets without end
        raise _damaged(path) from error
    if not isinstance(review, dict) or not isinstance(review.get("format"), int):
        raise _damaged(path)
    if review["format"] > FORMAT:
        raise BadStore(f"The review in {folder} was written by a newer version of this program", "Update the program to open it")
    if review["format"] < 1 or any(not isinstance(review.get(name), kind) for name, kind in BLOCKS.items()):
        raise _damaged(path)
    block = misfit(review)
    if block is not None and (whole or block not in JUDGED):
        remedy = f"Have it written anew with: countfall recount {folder}" if block in JUDGED else "Review the clip again"
        raise BadStore(f"{path} was changed or damaged since it was written: its part '{block}' cannot be used", remedy)
    return review


def read_stored(folder: Path) -> Stored:
    """Everything that judging again needs, without the video. Raises BadStore as `read_review` does, also for landmarks.npz."""
    review = read_review(folder)
    return Stored(folder, review, *unpacked(folder, read_packed(folder), review["clip"]))


def read_packed(folder: Path) -> bytes:
    """landmarks.npz of a review folder as it stands there. Raises BadStore when it is not there or cannot be read."""
    path = folder / LANDMARKS
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        raise BadStore(f"The review in {folder} has lost its {LANDMARKS}", "Review the clip again") from error
    except OSError as error:
        raise _damaged(path) from error


def unpacked(folder: Path, packed: bytes, clip: Mapping[str, Any]) -> tuple[Clip, Landmarks, dict[str, NDArray[Any]]]:
    """What landmarks.npz of a folder holds, with the clip that its review.json states. Raises BadStore when it is damaged."""
    try:
        with np.load(io.BytesIO(packed), allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in stored.files}
        return _clip(clip, arrays), _landmarks(arrays), _others(arrays)
    except DAMAGE as error:
        raise _damaged(folder / LANDMARKS) from error


def beat_grid(block: Mapping[str, Any]) -> BeatGrid | None:
    """The beats of a stored review from its block in review.json, None where none were measured."""
    if "not_measured" in block:
        return None
    times_s, counts = np.array(block["times_s"], dtype=np.float64), np.array(block["counts"], dtype=np.int64)
    moved, parts = block.get("sound_offset_ms"), ("value", "sigma_ms", "claps", "at_s", "drift_per_min", "distance_m")
    return BeatGrid(
        block["source"], times_s, counts, block["tempo_bpm"], block["half_at"], block["confidence"], block["first_count_s"],
        sound_offset=None if moved is None else SoundOffset(*(moved[name] for name in parts)),
    )  # fmt: skip


def _place(folder: Path) -> Path:
    """The real place of the folder: links followed, so that a swap replaces the folder and not the link to it."""
    try:
        return folder.expanduser().resolve()
    except (OSError, RuntimeError) as error:
        raise BadStore(f"{folder} leads nowhere", "Choose another folder") from error


def _check_contents(folder: Path) -> None:
    if not folder.is_dir():
        raise BadStore(f"{folder} is a file, and a review needs a folder", "Choose another name")
    found = {entry.name: entry for entry in os.scandir(folder) if entry.name not in LITTER}
    strange = sorted(name for name, entry in found.items() if name not in OWN_NAMES or not entry.is_file())
    if strange or (found and REVIEW not in found):
        which = strange[0] if strange else sorted(found)[0]
        raise BadStore(f"The folder {folder} already holds other files, such as {which}", "Choose another folder or an empty one")
    if not os.access(folder, os.W_OK):
        raise PermissionError(errno.EACCES, "read-only")


def _check_room(parent: Path) -> None:
    if not parent.exists():
        raise BadStore(f"There is no folder {parent} to write the review to", "Make it first, or choose another")
    if not parent.is_dir():
        raise BadStore(f"{parent} is a file, so no review can be written inside it", "Choose another folder")
    if shutil.disk_usage(parent).free < SETTINGS.desk.least_free_bytes:
        raise OSError(errno.ENOSPC, "too little room")


def _cannot_write(folder: Path, error: OSError) -> BadStore:
    remedy = "Make room, or choose another place" if error.errno in DISK_FULL else "Choose another place"
    return BadStore(f"The review cannot be written to {folder}: {_reason(error)}", remedy)


def _reason(error: OSError) -> str:
    match error.errno:
        case code if code in DISK_FULL:
            return "the disk is full"
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return "this place is closed to you"
        case errno.ENAMETOOLONG:
            return "the name is too long"
        case _:
            return (error.strerror or "the disk gave no reason").lower()


def _damaged(path: Path) -> BadStore:
    return BadStore(f"{path} is damaged or was not written by this program", "Review the clip again")


def _swap(folder: Path, new: Path, old: Path) -> None:
    """Put `new` in the place of `folder`, with the earlier review's corrections; if that fails, the earlier review comes back."""
    corrections = folder / CORRECTIONS
    if corrections.exists():
        _write_bytes(new / CORRECTIONS, corrections.read_bytes())
    _settle(new)
    if folder.exists():
        os.rename(folder, old)
    try:
        os.rename(new, folder)
    finally:
        if old.exists() and not folder.exists():
            os.rename(old, folder)
    _settle(folder.parent)


def _settle(folder: Path) -> None:
    """Have the system write the folder's list of names to the disk; Windows does so by itself and refuses to be asked."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _write_text(path: Path, text: str) -> None:
    # A file name in an old encoding holds characters that UTF-8 cannot; a question mark stands for them.
    _write_bytes(path, text.encode("utf-8", "replace"))


def _write_bytes(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _landmarks_npz(review: Review, lm: Landmarks, extra_arrays: Mapping[str, Any]) -> bytes:
    taken = sorted(OWN_ARRAYS & set(extra_arrays))
    if taken:
        raise ValueError(f"extra_arrays must not use the names {taken}")
    objects = sorted(name for name, values in extra_arrays.items() if values.dtype.hasobject)
    if objects:
        raise ValueError(f"extra_arrays must be plain numbers; {objects} hold objects, which only a pickle could store")
    unsure = [(who, start, end) for who, parts in zip(lm.ids, lm.unsure, strict=False) for start, end in parts]
    arrays: dict[str, Any] = {
        "format": np.int64(FORMAT),
        "times_s": lm.times_s,
        "ids": lm.ids,
        "image_px": lm.image_px,
        "visibility": lm.visibility,
        "unsure": np.array(unsure, dtype=np.float64).reshape(-1, 3),
        "clip_times_s": review.clip.times_s,
    }
    content = io.BytesIO()
    np.savez_compressed(content, **arrays, **extra_arrays)
    return content.getvalue()


def _landmarks(arrays: Mapping[str, NDArray[Any]]) -> Landmarks:
    ids, unsure = arrays["ids"], arrays["unsure"]
    if not np.isfinite(ids).all() or not np.isfinite(arrays["image_px"][:, :, HIPS]).all(axis=(2, 3)).any(axis=0).all():
        raise ValueError("somebody has no number, or is nowhere to be seen")
    stretches = tuple(tuple((float(start), float(end)) for who, start, end in unsure if who == one) for one in ids)
    return Landmarks(arrays["times_s"], ids, arrays["image_px"], arrays["visibility"], stretches)


def _clip(block: Mapping[str, Any], arrays: Mapping[str, Floats]) -> Clip:
    said = {name: block[name] for name in OF_THE_FILM}
    return Clip(**said | {"times_s": arrays["clip_times_s"], "cuts_s": np.array(block["cuts_s"], dtype=np.float64)})


def _others(arrays: Mapping[str, NDArray[Any]]) -> dict[str, NDArray[Any]]:
    return {name: values for name, values in arrays.items() if name not in OWN_ARRAYS}
