"""The way to write a small text file whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path


def write_whole(path: Path, text: str) -> None:
    """Write a small text file whole or not at all."""
    half = path.with_name(f".{path.name}-{os.getpid()}")
    half.write_text(text, encoding="utf-8")
    os.replace(half, path)
