"""A work folder of its own for every test, and the library in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from motion.jobs import HOME_VARIABLE
from motion.library import Library, open_library


@pytest.fixture(autouse=True)
def work_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "work"))
    return tmp_path / "work"


@pytest.fixture
def library() -> Iterator[Library]:
    with open_library() as opened:
        yield opened
