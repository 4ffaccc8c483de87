"""The drop folder beside the upload, without a browser."""

from __future__ import annotations

import os
import re
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from motion.base.home import home
from motion.jobs import queue as jobs_module
from motion.jobs.drop_folder import drop_folder, name_folder
from motion.jobs.queue import cancel, jobs

JARGON = re.compile(r"\b(director(y|ies)|symlinks?|permissions?|chmod|path|bias|sigma|landmarks?|tracks?|json)\b", re.I)
MAKE = "import pathlib, sys; pathlib.Path(sys.argv[4]).mkdir()"


@pytest.fixture
def page(open_page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """The first page, with the drop folder chosen."""
    monkeypatch.setattr(jobs_module, "COMMAND", (sys.executable, "-c", MAKE))
    return open_page().radio(key="way").set_value("In the drop folder").run()


def words(app: AppTest) -> str:
    return "\n".join(one.value for one in [*app.markdown, *app.caption, *app.info])


def put(folder: Path, make_film: Callable[..., None], name: str = "tuesday.mp4") -> Path:
    clip = folder / name
    make_film(clip, np.arange(120) / 30, click_s=1.0)
    return clip


def settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """A minute has gone by."""
    now = time.time
    monkeypatch.setattr("motion.jobs.drop_folder.time.time", lambda: now() + 60.0)


def test_an_empty_folder_says_where_to_put_clips(page: AppTest) -> None:
    assert not page.exception
    assert f"`{home() / 'drop'}`" in words(page)
    assert "Put clips into this folder" in words(page)
    assert not JARGON.search(words(page).replace(str(home()), ""))
    assert "start" not in [one.key for one in page.button]


def test_a_clip_put_there_is_reviewed_where_it_lies_and_stays(
    page: AppTest, monkeypatch: pytest.MonkeyPatch, make_film: Callable[..., None]
) -> None:
    clip = put(drop_folder(), make_film)
    page.button(key="look-again").click().run()
    assert "tuesday.mp4 is still being copied" in words(page)
    settled(monkeypatch)
    page.button(key="look-again").click().run()
    assert page.selectbox(key="dropped").options == ["tuesday.mp4"]
    assert "stays there until you delete it yourself" in words(page)
    page.radio(key="who-agreed").set_value("Only me, and I am grown up").run()
    page.button(key="start").click().run()
    assert not page.exception
    (job,) = jobs()
    assert (job.clip, job.own_clip) == (clip, False)
    assert clip.is_file()
    cancel(job)


def test_consent_is_asked_for_a_dropped_clip_too(
    page: AppTest, monkeypatch: pytest.MonkeyPatch, make_film: Callable[..., None]
) -> None:
    put(drop_folder(), make_film)
    settled(monkeypatch)
    page.button(key="look-again").click().run()
    assert page.button(key="start").disabled


def test_another_folder_is_remembered_and_one_that_is_not_there_is_refused(
    page: AppTest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make_film: Callable[..., None]
) -> None:
    mine = tmp_path / "class films"
    mine.mkdir()
    put(mine, make_film, "friday.mp4")
    settled(monkeypatch)
    page.text_input(key="drop-folder-path").set_value(str(mine / "not there"))
    next(b for b in page.button if b.label == "Use it from now on").click().run()
    assert "There is no folder" in page.error[0].value
    page.text_input(key="drop-folder-path").set_value(str(mine))
    next(b for b in page.button if b.label == "Use it from now on").click().run()
    assert not page.error
    assert page.selectbox(key="dropped").options == ["friday.mp4"]
    assert drop_folder() == mine
    if os.name == "posix":
        mine.chmod(0o750)
        page.button(key="look-again").click().run()
        assert "Other users of this computer may look into this folder" in words(page)


def test_a_folder_that_is_gone_leaves_a_way_on(page: AppTest, tmp_path: Path) -> None:
    mine = tmp_path / "stick"
    mine.mkdir()
    name_folder(str(mine))
    mine.rmdir()
    page.run()
    assert not page.exception
    assert "The drop folder cannot be used" in page.error[0].value
    page.text_input(key="drop-folder-path").set_value("")
    next(b for b in page.button if b.label == "Use it from now on").click().run()
    assert not page.error
    assert f"`{home() / 'drop'}`" in words(page)
