"""The work folder: where it is, which names its files may have, and what is said when nothing can be written there."""

from __future__ import annotations

import errno
import os
import re
from pathlib import Path

import platformdirs

from motion.base.errors import BadStore

#: Names the work folder, in place of the one that the system has for such things.
HOME_VARIABLE = "COUNTFALL_HOME"
#: How folders in the work folder begin that are there for a moment only: a film being made, a file handed over to be read.
PASSING = MAKING, GIVEN = "handout-", "given-"
#: Letters that no file system takes in a name, or that mean something to it.
_NOT_IN_NAMES = re.compile(r'[\x00-\x1f\x7f<>:"/\\|?*]')


def home() -> Path:
    """The work folder of the page, made when it is missing; only its owner may look into it."""
    given = os.environ.get(HOME_VARIABLE)
    folder = Path(given or platformdirs.user_data_dir("countfall", appauthor=False)) / "page"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
    except OSError as error:
        raise no_room(folder, error) from error
    return folder


def safe_name(name: str) -> str:
    """A file name without folders, control characters or anything that a file system refuses; letters of any script stay."""
    bare = _NOT_IN_NAMES.sub("_", re.split(r"[/\\]", name)[-1]).strip(" .")
    stem, suffix = os.path.splitext(bare)
    while len(stem.encode("utf-8", "replace")) > 120:
        stem = stem[:-1]
    return f"{stem or 'clip'}{suffix[:10]}".encode("utf-8", "replace").decode("utf-8")


def touched(path: Path) -> float:
    """When a file was last changed, in Unix time; 0 if it is not there."""
    try:
        return path.stat().st_mtime
    except FileNotFoundError:
        return 0.0


def touched_ns(path: Path) -> int:
    """The same in whole nanoseconds, as a key of what was made of the file; another process may take the file away at any moment."""
    try:
        return path.stat().st_mtime_ns
    except FileNotFoundError:
        return 0


def no_room(folder: Path, error: OSError) -> BadStore:
    """What to tell when nothing can be written to a folder: the disk is full, or the folder is closed to this account."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return BadStore(f"The disk with {folder} is full", "Make room and try again")
    return BadStore(f"Nothing can be written to {folder}", f"Give {HOME_VARIABLE} another folder, or open this one for yourself")
