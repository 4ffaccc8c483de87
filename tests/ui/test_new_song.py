"""A song given on the page goes to the review that is started, and goes away with it."""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

import motion.desk.page_server as page_module
import motion.jobs.queue as jobs_module
from motion.base.home import home
from motion.base.options import JudgeOptions, WatchOptions
from motion.jobs.queue import Job, delete, jobs, save_upload, start, status

#: Writes down what the command was asked, in place of a review.
MAKE = "import pathlib, sys; out = pathlib.Path(sys.argv[4]); out.mkdir(); (out / 'got').write_text('\\n'.join(sys.argv[5:]))"
FAKE = (sys.executable, "-c", MAKE)


def done(job: Job) -> Job:
    for _ in range(400):
        if status(job).state == "done":
            return job
        time.sleep(0.05)
    raise AssertionError(f"still {status(job)}")


@pytest.fixture
def page(
    open_page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, make_film: Callable[..., None]
) -> AppTest:
    """The first page, with one sample clip."""
    clip = tmp_path / "practice.mp4"
    make_film(clip, np.arange(120) / 30, click_s=1.0)
    monkeypatch.setattr(page_module, "samples", lambda: [("One dancer", clip, None)])
    monkeypatch.setattr(jobs_module, "COMMAND", FAKE)
    return open_page()


def test_a_song_given_is_looked_for_in_the_clip(page: AppTest) -> None:
    page.file_uploader(key="song").set_value(("our song.mp3", b"sound", "audio/mpeg")).run()
    assert not (home() / "uploads").exists()  # nothing is written down before the review starts
    page.button(key="start").click().run()
    assert not page.exception
    (job,) = jobs()
    words = (done(job).review / "got").read_text().splitlines()
    song = Path(next(word for word in words if word.startswith("--song=")).removeprefix("--song="))
    assert song.name == "our song.mp3"
    assert song.read_bytes() == b"sound"
    assert song.is_relative_to(job.folder)


def test_without_a_song_none_is_asked_for(page: AppTest) -> None:
    page.button(key="start").click().run()
    (job,) = jobs()
    assert "--song" not in (done(job).review / "got").read_text()


def test_the_pages_copy_of_a_song_goes_with_the_job_and_the_persons_own_stays(tmp_path: Path) -> None:
    (tmp_path / "good.mp4").write_bytes(b"film")
    own = tmp_path / "mine.mp3"
    own.write_bytes(b"sound")
    for song in (own, save_upload("theirs.mp3", io.BytesIO(b"sound"))):
        job = done(start(tmp_path / "good.mp4", WatchOptions(), JudgeOptions(song=song), title="t", command=FAKE))
        used = Path((job.review / "got").read_text().split("--song=")[1])
        assert used.is_file()
        delete(job)
        assert used.exists() == (song == own)
    assert list((home() / "uploads").rglob("*.mp3")) == []
