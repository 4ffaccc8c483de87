"""This very program run once more, in a process of its own: its words, its environment, and what it said when it failed."""

from __future__ import annotations

import os
import sys
from pathlib import Path

COMMAND: tuple[str, ...] = (sys.executable, "-P", "-m", "motion")


def child_environment() -> dict[str, str]:
    """The environment in which a child process finds this very program, installed or not."""
    root = str(Path(__file__).resolve().parents[2])
    return {**os.environ, "PYTHONPATH": os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])}


def error_sentence(code: int, said: str, where: Path | None) -> str:
    """The command's own sentence when it ended as it does over bad input; else that the fault is the program's."""
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    if code == 1 and lines and "Traceback (most recent call last):" not in said:
        return lines[-1].split("\r")[-1].removeprefix("countfall: ").strip()
    kept = f" What it said is in {where}." if where else ""
    return f"The program stopped by a fault of its own, not yours. Try it once more.{kept}"
