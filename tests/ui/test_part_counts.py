"""Counts put right on the page, and the review that every run of the page shares."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from motion.base.errors import BadInput
from motion.base.options import JudgeOptions
from motion.jobs.queue import Job, finished
from motion.store.folder import read_review
from motion.tell.moments import other_first_count

Shelve = Callable[..., Job]


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> None:
    """As far as these tests go, judging again is another first count in the file."""

    def recount(folder: Path, asked: JudgeOptions) -> None:
        review = read_review(folder)
        review["beats"]["first_count_s"] = asked.first_count_s
        (folder / "review.json").write_text(json.dumps(review), encoding="utf-8")

    monkeypatch.setattr("motion.desk.recount.recount", recount)


def test_a_press_goes_on_from_the_press_before_it_though_the_page_was_not_drawn_between(shelve: Shelve, judged: None) -> None:
    from part_counts import _moved

    folder = shelve("solo", 1, 32).review
    beats = read_review(folder)["beats"]
    two_later = other_first_count(beats | {"first_count_s": other_first_count(beats, 1)}, 1)
    (one,) = finished()
    _moved(one, 1)
    _moved(one, 1)
    assert read_review(folder)["beats"]["first_count_s"] == two_later
    _moved(one, -1)
    _moved(one, -1)
    assert read_review(folder)["beats"]["first_count_s"] == beats["first_count_s"]


def test_one_press_draws_the_page_once_with_the_outcome(
    open_page: Callable[..., AppTest], shelve: Shelve, judged: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    import part_counts

    folder, drawn, plain = shelve("solo", 1, 32).review, list[float](), part_counts.put_right

    def counted(one: object, review: dict[str, dict[str, float]]) -> None:
        drawn.append(review["beats"]["first_count_s"])
        plain(one, review)

    monkeypatch.setattr(part_counts, "put_right", counted)
    app = open_page("page_review.py")
    before = read_review(folder)["beats"]
    drawn.clear()
    app.button(key="later").click().run()
    assert not app.exception
    after = read_review(folder)["beats"]["first_count_s"]
    assert after == other_first_count(before, 1)
    assert drawn == [after]
    assert [field.value for field in app.number_input if field.label == "Count 1 falls at second"] == [after]


def test_what_could_not_be_judged_is_told_once(
    open_page: Callable[..., AppTest], shelve: Shelve, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(folder: Path, judge: JudgeOptions) -> None:
        raise BadInput("Count 1 would fall after the clip", "Give an earlier second")

    shelve("solo", 1, 32)
    monkeypatch.setattr("motion.desk.recount.recount", refuse)
    app = open_page("page_review.py")
    app.button(key="earlier").click().run()
    assert [error.value for error in app.error] == ["Count 1 would fall after the clip. Give an earlier second."]
    app.run()
    assert list(app.error) == []


def test_no_view_changes_the_review_that_all_runs_share(open_page: Callable[..., AppTest], shelve: Shelve) -> None:
    from parts import forget, review_in

    folder = shelve("class", 3, 64).review
    shelve("another", 3, 64)
    shared = review_in(folder)
    for view in ("teacher", "student", "choreographer", "everything"):
        app = open_page("page_review.py", view=view, review="class", dancers="shown", names="off")
        assert not app.exception, view
    assert review_in(folder) is shared
    assert shared == read_review(folder)
    forget()
    assert review_in(folder) is not shared
