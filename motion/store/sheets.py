"""Dance sheets that were written on the page: kept in its work folder, to be chosen for a review or taken up again."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

from motion.base.atomic import write_whole
from motion.base.errors import BadInput, BadStore
from motion.base.home import home, safe_name
from motion.dance.cells import plain_text

FOLDER = "sheets"


def own_sheets() -> list[tuple[str, Path]]:
    """The sheets kept here: name, file; in order of their names."""
    return sorted((f"{_title(path)} (mine)", path) for path in (home() / FOLDER).glob("*.csv"))


def keep_sheet(title: str, text: str) -> Path:
    """Keep a sheet's CSV text under its title, in place of an earlier one of that title, whole or not at all.

    Raises BadInput without a title, BadStore if the disk refuses.
    """
    name = safe_name(re.sub(r"[\s/\\]+", "-", title.strip().casefold()))
    if not title.strip():
        raise BadInput("The dance has no title", "Give it one, so that it can be found again")
    folder = home() / FOLDER
    try:
        folder.mkdir(exist_ok=True, mode=0o700)
        path = _place(folder, name, plain_text(title.strip()).casefold())
        write_whole(path, text)
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The sheet cannot be kept: {why}", "Make room, or download it instead") from error
    return path


def forget_sheet(path: Path) -> None:
    """Remove a sheet that was kept here. A file anywhere else is left alone."""
    if path.parent == home() / FOLDER:
        path.unlink(missing_ok=True)


def _place(folder: Path, name: str, title: str) -> Path:
    """The file of the sheet with this title (small letters), or a free one: titles may differ in what no file name can hold."""
    names = (f"{name}{'' if k == 1 else f'-{k}'}.csv" for k in itertools.count(1))
    return next(path for path in map(folder.joinpath, names) if not path.exists() or _title(path).casefold() == title)


def _title(path: Path) -> str:
    """The title in the sheet's header, or its file's name."""
    found = re.search(r'^"?#\s*title:\s*(.*?)"?$', path.read_text(encoding="utf-8", errors="replace"), re.MULTILINE | re.IGNORECASE)
    return plain_text(found[1].strip()) if found and found[1].strip() else path.stem.replace("-", " ")
