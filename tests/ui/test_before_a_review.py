"""The question before a review, who agreed, and what is left of the clip after it; without a browser."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from made_page import IN_A_MONTH, a_class, agree, press, shown
from streamlit.testing.v1 import AppTest

from motion.base.options import JudgeOptions
from motion.jobs import queue as jobs_module
from motion.jobs.queue import Job, find, jobs, status
from motion.library.classes import library_file, open_library
from motion.library.consent import add_no, add_yes, consents, refusals
from motion.library.retention import note_new
from motion.store.folder import read_review
from motion.tell.words import told_day

Shelve = Callable[..., Job]


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> Callable[..., AppTest]:
    return lambda name="page_library.py": open_page(name if name != "page_new.py" else None)


@pytest.fixture
def clip(tmp_path: Path, make_film: Callable[..., None], monkeypatch: pytest.MonkeyPatch) -> Path:
    make_film(tmp_path / "lesson.mp4", np.arange(120) / 30, click_s=1.0)
    make = "import pathlib, sys; out = pathlib.Path(sys.argv[4]); out.mkdir(); (out / 'got').write_text('')"
    monkeypatch.setattr(jobs_module, "COMMAND", (sys.executable, "-c", make))
    return tmp_path / "lesson.mp4"


def asked(page: Callable[..., AppTest], clip: Path) -> AppTest:
    app = page("page_new.py")
    app.radio(key="way").set_value("A clip that lies on this computer").run()
    return app.text_input(key="path").set_value(str(clip)).run()


def begun(app: AppTest) -> Job:
    app.button(key="start").click().run()
    assert not app.exception
    (job,) = jobs()
    for _ in range(400):
        if status(job).state == "done":
            return job
        time.sleep(0.05)
    raise AssertionError(f"still {status(job)}")


def test_a_person_filming_themself_needs_two_clicks(page: Callable[..., AppTest], clip: Path) -> None:
    app = asked(page, clip)
    assert app.button(key="start").disabled
    app.radio(key="who-agreed").set_value("Only me, and I am grown up").run()
    job = begun(app)
    with open_library() as library:
        (kept,) = library.reviews()
        (yes,) = consents(library)
    assert (kept.job, kept.folder, kept.consent_id, yes.who) == (job.id, job.review, yes.id, "myself")


def test_others_need_everybodys_yes_and_the_childs_own(page: Callable[..., AppTest], clip: Path) -> None:
    app = asked(page, clip)
    app.radio(key="who-agreed").set_value("Others, who all said yes").run()
    app.checkbox(key="others-yes").check().run()
    assert app.button(key="start").disabled
    app.radio(key="others-child").set_value("Yes: for each a parent or guardian said yes, and so did the child").run()
    app.date_input(key="others-until").set_value(IN_A_MONTH).run()
    begun(app)
    with open_library() as library:
        assert [(one.who, one.until) for one in consents(library)] == [("others", IN_A_MONTH.isoformat())]


def test_a_class_begins_only_with_a_yes_and_tells_who_is_missing(page: Callable[..., AppTest], clip: Path) -> None:
    app = asked(page, clip)
    app.radio(key="who-agreed").set_value("A class from my library").run()
    assert "There is no class yet." in app.info[-1].value
    class_id = a_class("Red", "Blue")
    app.run()
    assert "Nobody in this class has agreed to be reviewed yet" in app.warning[0].value
    assert app.button(key="start").disabled
    agree(class_id, "Red")
    app.run()
    assert app.warning[0].value == "No yes holds for Blue."
    assert app.button(key="start").disabled
    app.checkbox(key="none-of-them").check().run()
    begun(app)
    with open_library() as library:
        assert [kept.class_id for kept in library.reviews()] == [class_id]


def test_a_no_is_written_down_told_and_only_a_later_yes_ends_it(page: Callable[..., AppTest], clip: Path, shelve: Shelve) -> None:
    class_id = a_class("Red", "Blue")
    agree(class_id, "Red")
    sooner = (IN_A_MONTH - timedelta(days=10)).isoformat()
    with open_library() as library:
        add_yes(library, [2], ("guardian", "child"), sooner)
        kept = library.add_review(shelve("class", 2, 8, expires="2099-01-01").review, class_id=class_id)
        note_new(library)
        assert [one.expires for one in library.reviews() if one.id == kept] == [sooner]
    app = asked(page, clip)
    app.radio(key="who-agreed").set_value("A class from my library").run()
    assert not app.warning
    press(app, "Write the no down")  # nobody is chosen beforehand, so one press writes down nothing
    assert "Nobody is chosen" in app.error[0].value
    app.multiselect(key=f"no-whose-{class_id}-0").set_value([2])
    app.radio(key=f"no-who-{class_id}-0").set_value("The child")
    press(app, "Write the no down")
    assert not app.exception
    assert not app.error
    (told,) = app.warning
    assert told.value.startswith("Whoever says no dances along, out of the picture.")
    assert told.value.endswith(f"- Blue: no from child, {told_day(date.today())}: practice clips, seen by the teacher.")
    assert app.button(key="start").disabled
    assert "A yes holds for Red." in shown(app)
    assert app.multiselect(key=f"no-whose-{class_id}-1").value == []
    app.checkbox(key="none-of-them").check().run()
    assert not app.button(key="start").disabled
    with open_library() as library:  # the date at once: Blue's yes is no longer waited for
        assert [one.expires for one in library.reviews() if one.id == kept] == [IN_A_MONTH.isoformat()]
    assert "no, since" in shown(page())
    agree(class_id, "Blue")
    app.run()
    assert not app.warning
    with open_library() as library:
        assert [one.replaced_on for one in refusals(library)] == [date.today().isoformat()]


def test_a_no_is_told_also_where_nobody_agreed(page: Callable[..., AppTest], clip: Path) -> None:
    class_id = a_class("Red", "Blue")
    with open_library() as library:
        add_no(library, [1], ("guardian",), said_by="mother")
    app = asked(page, clip)
    app.radio(key="who-agreed").set_value("A class from my library").run()
    assert "Red: no from guardian (mother)" in app.warning[0].value
    assert "Nobody in this class has agreed to be reviewed yet" in app.warning[1].value
    agree(class_id, "Red")  # both of them, today
    app.run()
    assert [one.value for one in app.warning] == ["No yes holds for Blue."]


def test_nothing_begins_while_the_library_cannot_be_written(page: Callable[..., AppTest], clip: Path) -> None:
    app = asked(page, clip)
    app.radio(key="who-agreed").set_value("Only me, and I am grown up").run()
    library_file().parent.mkdir(parents=True, exist_ok=True)
    library_file().write_bytes(b"a letter " * 1000)
    app.button(key="start").click().run()
    assert not app.exception
    assert "is damaged" in app.error[0].value
    assert jobs() == []


def test_a_drawn_sample_asks_for_no_yes(page: Callable[..., AppTest]) -> None:
    app = page("page_new.py")
    assert not [one for one in app.radio if one.key == "who-agreed"]
    assert not app.button(key="start").disabled


def test_after_a_careful_review_only_the_copy_with_heads_covered_is_left(
    tmp_path: Path, make_film: Callable[..., None], shelve: Shelve
) -> None:
    """The watch over a job covers heads by itself, once the command has ended."""
    from motion.base.options import WatchOptions
    from motion.jobs.queue import save_upload, start

    times_s = np.arange(120) / 30
    make_film(tmp_path / "lesson.mp4", times_s, click_s=1.0)
    made = shelve("made", 1, 8, clip=tmp_path / "lesson.mp4", size_px=(96, 64))
    with (tmp_path / "lesson.mp4").open("rb") as file:
        upload = save_upload("lesson.mp4", file)
    copy = f"import shutil, sys; shutil.copytree({str(made.review)!r}, sys.argv[4])"
    job = start(upload, WatchOptions(), JudgeOptions(), title="t", command=(sys.executable, "-c", copy))
    kept = job.folder / "clip" / "viewing.mp4"
    for _ in range(1200):
        if kept.is_file() and not job.clip.exists():
            break
        time.sleep(0.05)
    assert json.loads((kept.parent / "viewing.json").read_text())["of"] == read_review(job.review)["clip"]["sha256"]
    assert (find(job.id) or job).clip == kept
    assert (tmp_path / "lesson.mp4").is_file()
