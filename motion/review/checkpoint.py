"""Notes of a review that is under way, in the cache folder of the person alone, so that it can go on after it was broken off."""

from __future__ import annotations

import hashlib
import json
import os
import time
import zipfile
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.body.settings import BodySettings
from motion.review.settings import SETTINGS


class Checkpoint:
    """The notes of one review: the same clip, model, stretch and settings find them again. Nothing here may stop a review: notes that
    cannot be written or read are done without."""

    def __init__(self, clip_sha256: str, model_sha256: str, from_s: float | None, to_s: float | None, body: BodySettings) -> None:
        key = json.dumps([clip_sha256, model_sha256, from_s, to_s, asdict(body)], sort_keys=True)
        self._path = folder() / f"{hashlib.sha256(key.encode()).hexdigest()}.npz"

    def load(self) -> dict[str, NDArray[Any]] | None:
        """What was noted, or None. Old notes of any review are deleted on the way."""
        sweep()
        try:
            with self._path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
                return {name: stored[name] for name in stored.files}
        except (OSError, EOFError, ValueError, KeyError, zipfile.BadZipFile):
            return None

    def save(self, arrays: Mapping[str, NDArray[Any]]) -> None:
        """Note how far the review is, whole or not at all."""
        part = self._path.with_suffix(f".{os.getpid()}.part")
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with part.open("wb") as file:
                plain: dict[str, Any] = dict(arrays)
                np.savez(file, **plain)
            os.replace(part, self._path)
        except OSError:
            part.unlink(missing_ok=True)

    def forget(self) -> None:
        """The review is done: delete its notes."""
        self._path.unlink(missing_ok=True)


def folder() -> Path:
    """Where notes lie: beside the pose model, or where COUNTFALL_CACHE says."""
    import platformdirs

    return Path(os.environ.get("COUNTFALL_CACHE") or platformdirs.user_cache_dir("countfall")) / "unfinished"


def sweep() -> None:
    """Delete notes older than the settings keep them: they hold where people stood."""
    limit_s = time.time() - 86_400 * SETTINGS.desk.unfinished_days
    for path in _notes():
        try:
            if path.stat().st_mtime < limit_s:
                path.unlink()
        except OSError:
            continue


def forget_all() -> None:
    """Delete the notes of every review; one that is under way then begins anew if it is broken off."""
    for path in _notes():
        path.unlink(missing_ok=True)


def _notes() -> list[Path]:
    """Notes, and halves of such as were being written when the computer was switched off."""
    return [path for ending in ("*.npz", "*.part") for path in folder().glob(ending)]
