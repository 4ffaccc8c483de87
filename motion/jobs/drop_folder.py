"""The drop folder: clips that are put there are offered for a review, read where they lie, and left there.

Without a folder of the person's own it lies in the page's work folder, where only its owner may look.
"""

from __future__ import annotations

import json
import os
import stat
import time
from dataclasses import dataclass
from pathlib import Path

from motion.base.atomic import write_whole
from motion.base.errors import BadInput, BadStore
from motion.base.home import home
from motion.base.settings import PageSettings
from motion.review.settings import SETTINGS

FOLDER, NAMED = "drop", "drop.json"
#: Endings of the clips that are looked for, and that an upload may have.
VIDEO = ("mp4", "mov", "mkv", "webm", "avi", "m4v")


@dataclass(frozen=True)
class Dropped:
    """What lies in the drop folder. clips: newest first; arriving: names of clips that are still being written there; open_to_others:
    whether other users of the computer may look into it."""

    folder: Path
    clips: tuple[Path, ...]
    arriving: tuple[str, ...]
    open_to_others: bool


def drop_folder() -> Path:
    """The drop folder: the one that was named, or the page's own, made when it is missing. Raises BadStore if it cannot be made."""
    named = _named()
    if named is not None:
        return named
    folder = home() / FOLDER
    try:
        folder.mkdir(exist_ok=True, mode=0o700)
        folder.chmod(0o700)
    except OSError as error:
        raise _refused(folder, error) from error
    return folder


def name_folder(text: str) -> Path:
    """Take the folder that is written here from now on; nothing written means the page's own. Gives the folder.

    Its rights stay as they are. Raises BadInput if it is no folder or may not be looked into, BadStore if that cannot be remembered.
    """
    written = text.strip().strip("\"'")
    note = home() / NAMED
    try:
        if not written:
            note.unlink(missing_ok=True)
            return drop_folder()
        folder = Path(written).expanduser()
        if not folder.is_absolute() or not folder.is_dir():
            raise BadInput(f"There is no folder {written}", "Write the whole path of a folder that is there")
        if not os.access(folder, os.R_OK | os.X_OK):
            raise BadInput(f"The folder {written} may not be looked into", "Choose one of your own")
        write_whole(note, json.dumps({"folder": str(folder)}, ensure_ascii=False))
    except OSError as error:
        raise _refused(note, error) from error
    return folder


def dropped(*, settings: PageSettings = SETTINGS.page) -> Dropped:
    """The clips in the drop folder, not those in folders within it. Hidden files, and names that only point elsewhere, are left out.

    Raises BadStore if the folder is gone or closed.
    """
    folder = drop_folder()
    try:
        found = [
            (path, path.stat())
            for path in folder.iterdir()
            if path.suffix.lower().lstrip(".") in VIDEO
            and not path.name.startswith(".")
            and not path.is_symlink()
            and path.is_file()
        ]
        rights = folder.stat().st_mode
    except OSError as error:
        raise _refused(folder, error) from error
    found.sort(key=lambda one: (-one[1].st_mtime_ns, one[0].name))
    now_s = time.time()
    # A copy that keeps the old date is still seen by when its entry in the folder changed last.
    still = {path: now_s - max(at.st_mtime, at.st_ctime) >= settings.drop_still_s and at.st_size > 0 for path, at in found}
    return Dropped(
        folder,
        tuple(path for path, _ in found if still[path]),
        tuple(path.name for path, _ in found if not still[path]),
        os.name == "posix" and bool(rights & (stat.S_IRWXG | stat.S_IRWXO)),
    )


def _named() -> Path | None:
    """The folder that the person named; None without one, or if the note of it is damaged."""
    try:
        kept = json.loads((home() / NAMED).read_text(encoding="utf-8"))
        return Path(kept["folder"])
    except (FileNotFoundError, ValueError, KeyError, TypeError):
        return None


def _refused(place: Path, error: OSError) -> BadStore:
    why = (error.strerror or "the disk gave no reason").lower()
    return BadStore(f"The drop folder cannot be used ({place}: {why})", "Name another folder, or put it back")
