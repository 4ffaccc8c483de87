"""A teacher's own judgement on the review page: kept, changed, and taken back."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from motion.jobs.queue import Job
from motion.library.classes import open_library

Shelve = Callable[..., Job]
BEAT, STEPS = "With the beat", "Steps as written"


@pytest.fixture
def lesson(shelve: Shelve) -> int:
    """A lesson of one clip with two dancers under labels."""
    job = shelve("group", 2, 16, wall_counts=8, labels=("Red", "Blue"))
    with open_library() as library:
        group = library.add_class("Tuesday")
        library.set_line_up(group, ["Red", "Blue"])
        lesson = library.add_lesson(group, "2031-03-04", "Second evening")
        library.add_review(job.review, lesson_id=lesson)
    return lesson


@pytest.fixture
def opened(open_page: Callable[..., AppTest]) -> Callable[[], AppTest]:
    return lambda: open_page("page_review.py", view="teacher", review="group", dancers="shown")


def level(app: AppTest, criterion: str) -> str:
    return str(next(s for s in app.selectbox if s.label == criterion).value)


def words(app: AppTest, criterion: str) -> str:
    return str(next(s for s in app.text_input if s.label == f"In your words: {criterion}").value)


def judged(app: AppTest, **levels: str) -> AppTest:
    for criterion, value in levels.items():
        next(s for s in app.selectbox if s.label == criterion).set_value(value)
    return press(app, "Keep this judgement")


def press(app: AppTest, label: str) -> AppTest:
    app = next(b for b in app.button if b.label == label).click().run()
    assert not app.exception
    assert not app.error
    return app


def kept(lesson: int) -> dict[tuple[str, str], str | None]:
    with open_library() as library:
        return {(one.label, one.criterion): one.level for one in library.judgements(lesson_id=lesson)}


def test_a_judgement_is_taken_back_whole(lesson: int, opened: Callable[[], AppTest]) -> None:
    app = opened()
    assert "Take it back" not in [b.label for b in app.button]  # there is nothing yet
    next(s for s in app.text_input if s.label == f"In your words: {BEAT}").set_value("listens well")
    app = judged(app, **{BEAT: "mostly", STEPS: "not assessable"})
    assert "Kept." in [one.value for one in app.success]
    with open_library() as library:
        _, blue = library.dancers(library.classes()[0].id)
        library.judge(lesson, blue.id, BEAT, "throughout")
    app = press(app, "Take it back")
    assert kept(lesson) == {("Blue", BEAT): "throughout"}
    assert (level(app, BEAT), words(app, BEAT), level(app, STEPS)) == ("left open", "", "left open")
    assert "Take it back" not in [b.label for b in app.button]
    assert "Taken back: nothing of it is kept." in [one.value for one in app.success]
    press(app, "Keep this judgement")
    assert kept(lesson) == {("Blue", BEAT): "throughout"}  # nor does the form bring it back


def test_one_criterion_left_open_again_is_taken_back(lesson: int, opened: Callable[[], AppTest]) -> None:
    judged(opened(), **{BEAT: "mostly", STEPS: "in parts"})
    app = opened()
    assert level(app, BEAT) == "mostly"
    app = judged(app, **{BEAT: "left open"})
    assert kept(lesson) == {("Red", STEPS): "in parts"}
    assert (level(app, BEAT), level(app, STEPS)) == ("left open", "in parts")
    judged(app, **{BEAT: "not yet"})
    assert kept(lesson) == {("Red", BEAT): "not yet", ("Red", STEPS): "in parts"}


def test_words_without_a_judgement_are_not_lost_in_silence(lesson: int, opened: Callable[[], AppTest]) -> None:
    app = opened()
    next(s for s in app.text_input if s.label == f"In your words: {BEAT}").set_value("listens well")
    app = judged(app, **{STEPS: "mostly"})
    assert app.warning[0].value == f"Nothing is kept yet: choose a word, or “not assessable”, where you wrote something: {BEAT}."
    assert kept(lesson) == {}
    assert (words(app, BEAT), level(app, STEPS)) == ("listens well", "mostly")  # and nothing has to be written again
    judged(app, **{BEAT: "not assessable"})
    assert kept(lesson) == {("Red", BEAT): None, ("Red", STEPS): "mostly"}


def test_a_form_left_open_says_that_nothing_is_kept(lesson: int, opened: Callable[[], AppTest]) -> None:
    app = press(opened(), "Keep this judgement")
    assert [one.value for one in app.success] == ["Nothing is kept: all of it is left open."]
    assert kept(lesson) == {}
