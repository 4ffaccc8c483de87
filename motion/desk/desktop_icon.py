"""One icon on the desktop that opens the page, and which model a review would use."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

from motion.base.errors import BadStore
from motion.clip.pose_model import MODEL_VARIABLE, cached_model
from motion.desk.page_server import page_file
from motion.tell.words import Told

#: The name under which the icon lies on the desktop.
NAME = "Countfall"


def write_icon(folder: Path | None = None, *, system: str = sys.platform) -> Path:
    """Put an icon that opens the page into a folder, the desktop if None (the home folder where there is none), and give its path.

    A .desktop file on Linux, a .command file on a Mac, a .cmd file on Windows, whole or not at all. The page is started by the very
    Python that runs now. Raises BadStore if it cannot be written.
    """
    folder = desktop() if folder is None else folder
    start = [sys.executable, "-P", "-m", "motion", "open"]
    if system == "win32":
        name, text = f"{NAME}.cmd", f"@echo off\r\n{subprocess.list2cmdline(start)}\r\n"
    elif system == "darwin":
        name, text = f"{NAME}.command", f"#!/bin/sh\nexec {shlex.join(start)}\n"
    else:
        mark = page_file().with_name("mark.svg")
        name = f"{NAME}.desktop"
        text = (
            f"[Desktop Entry]\nType=Application\nVersion=1.0\nName={NAME}\nComment=Reviews line dance practice clips on this computer\n"
            f"Exec={' '.join(_quoted(word) for word in start)}\nIcon={mark}\nTerminal=true\nCategories=AudioVideo;Education;\n"
        )
    path = folder / name
    half = path.with_name(f".half-{os.getpid()}-{name}")
    try:
        half.write_text(text, encoding="utf-8", newline="")
        half.chmod(0o755)
        os.replace(half, path)
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The icon cannot be written to {folder}: {why}", "Open the page with: countfall open") from error
    finally:
        half.unlink(missing_ok=True)
    return path


def desktop() -> Path:
    """The person's desktop folder, under the name that their system gives it; their home folder where there is none."""
    import platformdirs

    place = Path(platformdirs.user_desktop_dir())
    return place if place.is_dir() else Path.home()


def model_told() -> Told:
    """Which model a careful review would use on this computer now, careful or quick; its file or its makers' name for it is a figure.

    No network is touched.
    """
    given = os.environ.get(MODEL_VARIABLE)
    if given:
        return Told("Bodies are found with a model of your own.", (f"Its file is {Path(given).name}.",))
    if (fine := cached_model("fine")) is not None:
        return Told("Bodies are found with the careful model, which is on this computer.", (f"It was made from {fine.made_from}.",))
    if (fast := cached_model("fast")) is not None:
        words = "Only the quick model is on this computer; the careful one is fetched when first asked for."
        return Told(words, (f"It was made from {fast.made_from}.",))
    return Told("The model that finds bodies is not on this computer yet; it is fetched at the first review.")


def _quoted(word: str) -> str:
    """A word of Exec= as the Desktop Entry Specification 1.5 has it: quoted, with four characters escaped, and % doubled."""
    escaped = "".join(f"\\{c}" if c in '"`$\\' else c for c in word)
    return f'"{escaped}"'.replace("\\", "\\\\").replace("%", "%%")
