"""Reviews that wait for their turn."""

from __future__ import annotations

import io
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from motion.base.errors import BadInput
from motion.base.options import JudgeOptions, WatchOptions
from motion.jobs import queue as jobs_module
from motion.jobs.queue import ALIVE, Job, JobStatus, cancel, delete, find, jobs, save_upload, start, start_next, status
from motion.library.careful_review import can_be_careful, carefully
from motion.library.classes import open_library
from motion.library.retention import sweep

UI = Path(__file__).resolve().parents[2] / "ui"
#: Reviews whatever it is given, and takes as long as a file says.
SCRIPT = """
import json, os, pathlib, sys, time
clip, out = pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[4])
while clip.with_suffix(".wait").exists():
    time.sleep(0.05)
out.mkdir()
(out / "review.json").write_text(json.dumps([time.time()]))
"""
FAKE = (sys.executable, "-c", SCRIPT)


def begin(clip: Path, *, queue: bool = True) -> Job:
    clip.write_bytes(b"film")
    return start(clip, WatchOptions(), JudgeOptions(), title=clip.name, command=FAKE, queue=queue)


def until(job: Job, holds: Callable[[JobStatus], bool]) -> JobStatus:
    for _ in range(600):
        if holds(now := status(job)):
            return now
        time.sleep(0.05)
    raise AssertionError(f"still {status(job)}")


@pytest.fixture
def busy(tmp_path: Path) -> Job:
    """A review that runs until its file "first.wait" goes."""
    (tmp_path / "first.wait").touch()
    job = begin(tmp_path / "first.mp4")
    until(job, lambda now: now.state == "running")
    return job


def test_reviews_wait_and_follow_each_other_in_order(busy: Job, tmp_path: Path) -> None:
    second, third = begin(tmp_path / "second.mp4"), begin(tmp_path / "third.mp4")
    assert [status(job).state for job in (busy, second, third)] == ["running", "waiting", "waiting"]
    assert status(second).words == "Waiting for its turn"
    assert start_next() is None  # one at a time
    with pytest.raises(BadInput, match="Another review is running"):
        begin(tmp_path / "fourth.mp4", queue=False)
    (tmp_path / "first.wait").unlink()
    done = [until(job, lambda now: now.state == "done") for job in (busy, second, third)]
    at = [json.loads((now.folder / "review.json").read_text())[0] for now in done if now.folder]
    assert at == sorted(at)
    assert len(at) == 3


def test_stopping_one_lets_the_next_begin(busy: Job, tmp_path: Path) -> None:
    second = begin(tmp_path / "second.mp4")
    cancel(busy)
    until(second, lambda now: now.state == "done")
    assert status(busy).state == "cancelled"


def test_one_that_waits_can_be_taken_out(busy: Job, tmp_path: Path) -> None:
    second = begin(tmp_path / "second.mp4")
    delete(second)
    assert find(second.id) is None
    (tmp_path / "first.wait").unlink()
    until(busy, lambda now: now.state == "done")
    assert [job.id for job in jobs()] == [busy.id]
    assert (tmp_path / "second.mp4").exists()


def test_after_the_computer_was_switched_off_the_next_begins_when_asked(busy: Job, tmp_path: Path) -> None:
    second = begin(tmp_path / "second.mp4")
    cancel(busy)
    until(second, lambda now: now.state == "done")
    for name in (ALIVE, "ended.json"):  # as if it had waited when everything ended
        (second.folder / name).unlink()
    (second.folder / "review" / "review.json").unlink()
    (second.folder / "review").rmdir()
    assert status(second).state == "waiting"
    begun = start_next()
    assert begun is not None
    assert begun.id == second.id
    until(second, lambda now: now.state == "done")
    assert start_next() is None


def test_two_who_want_to_begin_the_same_review_begin_it_once(busy: Job, tmp_path: Path) -> None:
    from motion.jobs.queue import _launch

    second = begin(tmp_path / "second.mp4")
    (second.folder / ALIVE).touch()
    assert not _launch(second.folder)
    cancel(busy)


def test_the_page_lines_up_another_clip_while_one_runs(
    busy: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make_film: Callable[..., None]
) -> None:
    make_film(tmp_path / "next.mp4", np.arange(120) / 30, click_s=1.0)
    monkeypatch.setattr(jobs_module, "COMMAND", FAKE)
    app = AppTest.from_file(str(UI / "app.py"), default_timeout=30).run()
    app.radio(key="way").set_value("A clip that lies on this computer").run()
    app.text_input(key="path").set_value(str(tmp_path / "next.mp4")).run()
    app.radio(key="who-agreed").set_value("Only me, and I am grown up").run()
    assert app.button(key="start").label == "Review it next"
    app.button(key="start").click().run()
    assert not app.exception
    second = next(job for job in jobs() if job.id != busy.id)
    assert status(second).state == "waiting"
    assert any("Waiting for their turn" in words.value for words in app.markdown)
    app.button(key=f"out-{second.id}").click().run()
    assert [job.id for job in jobs()] == [busy.id]
    cancel(busy)
    until(busy, lambda now: now.state == "cancelled")


def test_the_sweep_leaves_what_waits_alone(busy: Job) -> None:
    upload = save_upload("theirs.mp4", io.BytesIO(b"film"))
    waiting = start(upload, WatchOptions(), JudgeOptions(), title="theirs", command=FAKE, queue=True)
    asked = json.loads((waiting.folder / "job.json").read_text())
    asked["started_at"] -= 10 * 86_400
    (waiting.folder / "job.json").write_text(json.dumps(asked))
    with open_library() as library:
        library.add_review(waiting.review, job=waiting.id)
        sweep(library)
        assert len(library.reviews()) == 1
    assert status(waiting).state == "waiting"
    assert waiting.clip.read_bytes() == b"film"
    delete(waiting)
    cancel(busy)
    until(busy, lambda now: now.state == "cancelled")
    assert os.listdir(busy.folder.parent) == [busy.id]


def quick_look(shelve: Callable[..., Job], clip: Path) -> Job:
    job = shelve("quick", 1, 8, clip=clip)
    asked = json.loads((job.folder / "job.json").read_text())
    (job.folder / "clip").mkdir(exist_ok=True)
    own = job.folder / "clip" / clip.name
    own.write_bytes(clip.read_bytes())
    asked |= {"argv": ["--quality", "fast"], "own_clip": True, "clip": str(own)}
    (job.folder / "job.json").write_text(json.dumps(asked))
    review = json.loads((job.review / "review.json").read_text())
    review["made_by"]["asked"] = {"dancers": 3, "from_s": 1.0}
    (job.review / "review.json").write_text(json.dumps(review))
    return find(job.id) or job


def test_a_careful_review_follows_a_quick_look_with_the_same_options_and_people(shelve: Callable[..., Job], tmp_path: Path) -> None:
    (tmp_path / "lesson.mp4").write_bytes(b"film")
    job = quick_look(shelve, tmp_path / "lesson.mp4")
    with open_library() as library:
        class_id = library.add_class("Tuesday")
        lesson = library.add_lesson(class_id, "2031-03-01", "Turns")
        library.add_review(job.review, job=job.id, lesson_id=lesson)
        begun = carefully(library, job, command=FAKE)
        until(begun, lambda now: now.state == "done")
        assert [kept.job for kept in library.reviews(lesson_id=lesson)] == [job.id, begun.id]
    argv = json.loads((begun.folder / "job.json").read_text())["argv"]
    assert argv[argv.index("--quality") :] == ["--quality", "fine", "--dancers", "3", "--from", "1.0"]
    assert begun.own_clip
    assert begun.clip.read_bytes() == b"film"
    delete(begun)
    assert job.clip.read_bytes() == b"film"  # the quick look's own copy is another


def test_a_careful_review_needs_the_clip_as_it_was_filmed(shelve: Callable[..., Job], tmp_path: Path) -> None:
    (tmp_path / "lesson.mp4").write_bytes(b"film")
    job = quick_look(shelve, tmp_path / "lesson.mp4")
    job.clip.rename(job.clip.with_name("viewing.mp4"))
    job = find(job.id) or job
    assert not can_be_careful(job)
    with open_library() as library, pytest.raises(BadInput, match="no longer there as it was filmed"):
        carefully(library, job, command=FAKE)


def test_the_review_page_offers_the_careful_review(
    shelve: Callable[..., Job], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "lesson.mp4").write_bytes(b"film")
    job = quick_look(shelve, tmp_path / "lesson.mp4")
    monkeypatch.setattr(jobs_module, "COMMAND", FAKE)
    app = AppTest.from_file(str(UI / "app.py"), default_timeout=30).run().switch_page("page_review.py").run()
    assert not app.exception
    app.button(key="carefully").click().run()
    begun = next(one for one in jobs() if one.id != job.id)
    until(begun, lambda now: now.state == "done")
