"""A work folder of its own for every test, and the library in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from made_library import a_class

from motion.home import HOME_VARIABLE
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
def cache_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Notes of reviews that were broken off lie in the test's own folder too."""
    monkeypatch.setenv("COUNTFALL_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def tuesday(library: Library) -> int:
    """A class of three with labels that stand in no file by chance."""
    return a_class(library)


@pytest.fixture
def beginners(library: Library) -> int:
    """A class of three under plain labels."""
    class_id = library.add_class("Tuesday beginners")
    library.set_line_up(class_id, ["Red", "Blue", "K"])
    return class_id
