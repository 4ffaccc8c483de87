"""A work folder of its own for every test, the library in it, and judging again in the test's own process."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from motion.desk import judge_folder
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


@pytest.fixture
def judged_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is put right by hand is judged in this process, not in a child."""
    monkeypatch.setattr("motion.amend.rejudge", lambda folder, judge, command=None: judge_folder(folder, judge))
