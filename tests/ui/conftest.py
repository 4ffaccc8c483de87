"""Pages opened from an address, without a browser."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from motion.base.home import HOME_VARIABLE
from motion.desk.page_server import START_VARIABLE
from motion.jobs.queue import Job

UI = Path(__file__).resolve().parents[2] / "ui"
Shelve = Callable[..., Job]
RATE_HZ = 44_100
TICK = Fraction(1, 90_000)


@pytest.fixture(autouse=True)
def work_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "work"))
    monkeypatch.delenv(START_VARIABLE, raising=False)
    return tmp_path / "work"


@pytest.fixture(autouse=True)
def pages_anew(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Parts of pages are in reach, and read anew in every test: one that was read before would keep what an earlier test put in a
    function's place."""
    monkeypatch.syspath_prepend(str(UI))
    yield
    for name in [path.stem for path in UI.glob("*.py")]:
        sys.modules.pop(name, None)


@pytest.fixture(autouse=True)
def all_of_a_review(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages open as from an address that asks for everything about a review; a test of another view asks for that one."""
    plain = AppTest.from_file

    def from_file(*args: Any, **kwargs: Any) -> AppTest:
        app = plain(*args, **kwargs)
        app.query_params["view"] = "everything"
        return app

    monkeypatch.setattr(AppTest, "from_file", from_file)


@pytest.fixture(autouse=True)
def nothing_read_ahead(monkeypatch: pytest.MonkeyPatch) -> None:
    """No page reads its review ahead in a thread, which would go on when the test has ended and its folder is gone."""
    monkeypatch.setattr("motion.desk.recount.look_ahead", lambda folder, judge: None)


@pytest.fixture
def open_page() -> Callable[..., AppTest]:
    """Open a page as from an address: open_page("page_review.py", review="solo"); the first page without a name."""

    def opened(name: str | None = None, **asked: str) -> AppTest:
        app = AppTest.from_file(str(UI / "app.py"), default_timeout=30)
        for key, value in asked.items():
            app.query_params[key] = value
        app.run()
        return app.switch_page(name).run() if name else app

    return opened
