"""Whatever leaves the program by a page is written down, so that deleting can say what it does not reach."""

from __future__ import annotations

import ast
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from motion.base.options import JudgeOptions
from motion.desk.correct import add, give_label
from motion.jobs.queue import Job
from motion.library.classes import open_library
from motion.store.folder import read_review

UI = Path(__file__).resolve().parents[2] / "ui"
Shelve = Callable[..., Job]
#: Files that say nothing about any person: sheets, the page for the wall, practice music, the page before filming; and the archive about
#: one dancer, which writes itself down.
ABOUT_NOBODY = {"csv", "crib", "get-tune", "get-beats", "get-slip", "get-held"}
SCRIPT = """
import sys
sys.path.insert(0, {ui!r})
from motion.jobs.queue import finished
from motion.store.folder import read_review
from part_film import counted_clip
from part_student import student_view
from part_counted import counted_sound
one = finished()[0]
{call}(one, read_review(one.folder))
"""


def handed_out() -> list[tuple[str, str, str | None]]:
    with open_library() as library:
        return [(one.what, one.name, one.folder) for one in library.exports()]


def test_every_button_that_hands_something_out_writes_it_down_or_is_about_nobody() -> None:
    found, silent = 0, set()
    for path in sorted(UI.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "download_button":
                found += 1
                given = {word.arg: word.value for word in node.keywords}
                told = given.get("on_click")
                if not (isinstance(told, ast.Name) and told.id.strip("_") == "handed_out"):
                    silent.add(given["key"].value if isinstance(given["key"], ast.Constant) else ast.unparse(given["key"]))
    assert found >= 10
    assert silent == ABOUT_NOBODY


def test_the_counted_clip_is_written_down(shelve: Shelve) -> None:
    job = shelve("solo", 1, 16)
    (job.review / "overlay.mp4").write_bytes(b"a film")
    app = AppTest.from_string(SCRIPT.format(ui=str(UI), call="counted_clip"), default_timeout=20).run()
    assert handed_out() == []
    app.download_button(key="get-film").click().run()
    assert not app.exception
    assert handed_out() == [("The counted clip", "counted-clip.mp4", str(job.review.resolve()))]


def test_the_film_of_one_dancer_is_written_down_with_its_number(shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    job = shelve("solo", 2, 16)
    job.clip.write_bytes(b"a clip")
    monkeypatch.setattr("motion.film.take_home.handout_apart", lambda *_, **__: b"a film")
    app = AppTest.from_string(SCRIPT.format(ui=str(UI), call="student_view"), default_timeout=20).run()
    app.selectbox[0].select_index(1).run()
    next(b for b in app.button if b.label == "Make the film").click().run()
    app.download_button(key="get-handout").click().run()
    assert not app.exception
    assert handed_out() == [("The film of dancer 2", "hand-out-dancer-2.mp4", str(job.review.resolve()))]
    assert app.download_button(key="get-handout")  # still there for a second click


def test_a_file_of_a_dancer_with_a_label_is_written_down_as_theirs(shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    """The number may be another's once the review is judged again."""
    job = shelve("class", 2, 16)
    job.clip.write_bytes(b"a clip")
    add(job.review, give_label(read_review(job.review), 2, "Red"), JudgeOptions())
    with open_library() as library:
        class_id = library.add_class("Tuesday beginners")
        library.set_line_up(class_id, ["Blue", "red"])
        library.add_review(job.review, job=job.id, class_id=class_id)
    monkeypatch.setattr("motion.film.take_home.handout_apart", lambda *_, **__: b"a film")
    app = AppTest.from_string(SCRIPT.format(ui=str(UI), call="student_view"), default_timeout=20).run()
    for index in (1, 0):
        app.selectbox[0].select_index(index).run()
        next(b for b in app.button if b.label == "Make the film").click().run()
        app.download_button(key="get-handout").click().run()
        app.download_button(key=f"get-report-{job.id}-{index + 1}").click().run()
    assert not app.exception
    with open_library() as library:
        assert [(one.what, one.dancer_id) for one in library.exports()] == [
            ("The film of dancer 2", 2),
            ("The report of dancer 2", 2),
            ("The film of dancer 1", None),
            ("The report of dancer 1", None),
        ]


def test_the_counted_sound_is_written_down(shelve: Shelve) -> None:
    job = shelve("solo", 1, 16)
    app = AppTest.from_string(SCRIPT.format(ui=str(UI), call="counted_sound"), default_timeout=20).run()
    next(b for b in app.button if b.label == "Make it").click().run()
    app.download_button(key="get-counted").click().run()
    assert not app.exception
    assert handed_out() == [("The counted sound", "counted-from-1.wav", str(job.review.resolve()))]


def test_lesson_files_are_written_down_and_belong_to_no_review(open_page: Callable[..., AppTest]) -> None:
    app = open_page("page_lesson.py")
    app.download_button(key="get-lesson").click().run()
    next(b for b in app.button if b.label == "Write it down").click().run()
    app.download_button(key="get-record").click().run()
    assert not app.exception
    (lesson, record) = handed_out()
    assert lesson == ("A lesson as one file", "lesson.html", None)
    assert (record[0], record[2]) == ("The record of a lesson", None)


def test_a_library_that_cannot_be_written_is_said_and_the_file_is_still_had(shelve: Shelve, work_folder: Path) -> None:
    job = shelve("solo", 1, 16)
    (job.review / "overlay.mp4").write_bytes(b"a film")
    with open_library() as library:
        path = library.path
    for each in path.parent.iterdir():
        each.unlink()
    path.write_bytes(b"a letter " * 1000)
    app = AppTest.from_string(SCRIPT.format(ui=str(UI), call="counted_clip"), default_timeout=20).run()
    app.download_button(key="get-film").click().run()
    assert not app.exception
    assert "is damaged or was not written by this program" in app.error[0].value
