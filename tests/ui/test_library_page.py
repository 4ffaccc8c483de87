"""The library's page, without a browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from made_page import IN_A_MONTH, a_class, agree, press, shown
from streamlit.testing.v1 import AppTest

from motion.base.home import home
from motion.base.options import JudgeOptions
from motion.desk.correct import add, give_label
from motion.jobs.queue import Job
from motion.library.classes import library_file, open_library
from motion.library.consent import class_yes, consents
from motion.store.folder import read_review
from motion.tell.words import told_day

JARGON = re.compile(
    r"\b(bias|sigma|landmarks?|tracks?|overlay|confidence|localhost|vector|fps|percentiles?|bpm|sqlite|json)\b", re.I
)
Shelve = Callable[..., Job]


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> Callable[..., AppTest]:
    return lambda name="page_library.py": open_page(name if name != "page_new.py" else None)


def test_an_empty_library_says_what_to_do_and_the_words_are_plain(page: Callable[..., AppTest]) -> None:
    app = page()
    assert not app.exception
    said = [element.value for element in app.markdown]
    assert any("No class yet." in words for words in said)
    assert any("For a clip of yourself nothing has to be written here" in words for words in said)
    assert any("No review yet." in words for words in said)
    app.text_input(key="class-name").set_value("Tuesday beginners")
    press(app, "Add the class")
    assert app.success[0].value == "Tuesday beginners is in the library."
    assert app.selectbox(key="class").value == 1
    words = " ".join(e.value for kind in (app.markdown, app.caption, app.header, app.info) for e in kind)
    assert JARGON.findall(words) == []


def test_a_field_is_empty_once_its_words_are_taken_and_keeps_them_when_refused(page: Callable[..., AppTest]) -> None:
    app = page()
    app.text_input(key="class-name").set_value("Tuesday beginners")
    press(app, "Add the class")
    assert app.text_input(key="class-name").value == ""
    app.text_input(key="class-name").set_value("Tuesday beginners")
    press(app, "Add the class")
    assert len(app.error) == 1
    assert app.text_input(key="class-name").value == "Tuesday beginners"
    app.text_input(key="lesson-title").set_value("Turns")
    press(app, "Add the lesson")
    assert app.success[0].value == "The lesson is in the library."
    assert app.text_input(key="lesson-title").value == ""
    app.text_input(key="lesson-title").set_value("T" * 500)
    press(app, "Add the lesson")
    assert "is longer than" in app.error[0].value
    assert app.text_input(key="lesson-title").value == "T" * 500


def test_a_line_up_a_yes_and_taking_it_back(page: Callable[..., AppTest]) -> None:
    a_class()
    app = page()
    app.text_area(key="line-up-1").set_value("Red\nBlue\n\nMia Miller\n")
    press(app, "Keep this order")
    assert not app.exception
    assert "Looks like a full name, and a shorter label would do: Mia Miller" in app.warning[0].value
    with open_library() as library:
        assert library.labels_in_standing_order(1) == ["Red", "Blue", "Mia Miller"]
        ids = [one.id for one in library.dancers(1)]
    assert app.radio(key="who-said").value is None
    press(app, "Write it down")  # nobody and nothing is chosen beforehand, so no yes is written down by one press
    assert "Nobody is chosen" in app.error[0].value
    with open_library() as library:
        assert consents(library) == []
    app.multiselect(key="whose-1").set_value(ids[:1])
    app.radio(key="who-said").set_value("A parent or guardian, and the child too")
    app.text_input(key="said-by").set_value("mother")
    app.date_input(key="until").set_value(IN_A_MONTH)
    press(app, "Write it down")
    assert app.success[0].value == f"A yes is written down for Red, until {told_day(IN_A_MONTH)}."
    assert (app.multiselect(key="whose-1").value, app.radio(key="who-said").value, app.text_input(key="said-by").value) == (
        [],
        None,
        "",
    )
    with open_library() as library:
        assert class_yes(library, 1).agreed == ("Red",)
    assert f"guardian (mother) and child, {told_day(date.today())}: practice clips, seen by the teacher" in shown(app)
    assert "agreed until" in shown(app)
    app.selectbox(key="back").set_value(ids[0])
    press(app, "It is taken back")
    assert "What is held about Red is still here" in app.warning[0].value
    with open_library() as library, pytest.raises(Exception, match="Nobody in this class has agreed"):
        class_yes(library, 1)


@pytest.mark.parametrize(
    ("labels", "until", "said"),
    [
        ("Red\nRed", None, "The label Red is named twice. Give every dancer a label of their own."),
        ("x" * 17, None, "The label xxxxxxxxxxxx… has 17 letters, but at most 16 are kept. Take a shorter one, not a full name."),
        (None, date.today() - timedelta(days=1), "has passed. Give a day that is still to come."),
    ],
)
def test_bad_input_is_told_where_it_happened_and_the_rest_of_the_page_stays(
    page: Callable[..., AppTest], labels: str | None, until: date | None, said: str
) -> None:
    a_class("Red")
    app = page()
    if labels is not None:
        app.text_area(key="line-up-1").set_value(labels)
        press(app, "Keep this order")
    if until is not None:
        app.date_input(key="until").set_value(until)
        press(app, "Write it down")
    assert not app.exception
    assert app.error[0].value.endswith(said)
    assert {"Lessons", "One dancer", "How long it is kept"} <= {head.value for head in app.header}
    with open_library() as library:
        assert library.labels_in_standing_order(1) == ["Red"]
        assert consents(library) == []


def test_a_broken_library_is_one_plain_sentence(page: Callable[..., AppTest]) -> None:
    a_class("Red")
    for path in library_file().parent.iterdir():
        path.unlink()
    library_file().write_bytes(b"a letter " * 1000)
    app = page()
    assert not app.exception
    assert "is damaged or was not written by this program. Nothing was changed." in app.error[0].value


def test_a_lesson_gathers_reviews_and_says_when_they_go(page: Callable[..., AppTest], shelve: Shelve) -> None:
    class_id = a_class("Red", "Blue")
    agree(class_id, "Red")
    job = shelve("solo", 1, 8, expires="2099-01-01")
    with open_library() as library:
        library.add_review(job.review, job=job.id)
    app = page()
    app.text_input(key="lesson-title").set_value("Restart on wall 3")
    press(app, "Add the lesson")
    assert "No yes holds" not in shown(app)  # as long as no clip is kept, nobody can be in one
    app.multiselect(key="more-1").set_value([1]).run()
    press(app, "Add them")
    assert not app.exception
    assert "No yes holds for Blue, and clips of this class are kept here." in app.warning[0].value
    with open_library() as library:
        (kept,) = library.reviews(lesson_id=1)
        assert kept.class_id == class_id
        assert kept.expires == IN_A_MONTH.isoformat()  # at once, and not only when the page is opened next
    press(app, "Delete now what is past its day")
    assert app.success[0].value == "Nothing was past its day."
    assert [one.value.strip() for one in app.toast] == ["Nothing was past its day."]  # the button lies far below the first line
    with open_library() as library:
        assert library.reviews()[0].expires == IN_A_MONTH.isoformat()
    assert told_day(IN_A_MONTH) in shown(app)
    app.multiselect(key="less-1").set_value([1]).run()
    press(app, "Take them out")
    assert not app.exception
    with open_library() as library:
        assert library.reviews(lesson_id=1) == []
        (kept,) = library.reviews(class_id=class_id)
    assert kept.expires == IN_A_MONTH.isoformat()  # it still shows the class
    app.multiselect(key="more-1").set_value([1]).run()
    press(app, "Add them")
    with open_library() as library:
        assert len(library.reviews(lesson_id=1)) == 1


def test_deleting_a_dancer_on_the_page_leaves_nothing_of_the_label(page: Callable[..., AppTest], shelve: Shelve) -> None:
    class_id = a_class("Zinnober", "Blue")
    job = shelve("class", 2, 8)
    with open_library() as library:
        library.add_review(job.review, job=job.id, class_id=class_id)
    app = page()
    add(job.review, give_label(read_review(job.review), 1, "Zinnober"), JudgeOptions())
    app.run()
    red = app.selectbox(key="one-dancer").value
    assert app.button(key=f"delete-dancer-{red}").disabled
    app.checkbox(key=f"sure-dancer-{red}").check().run()
    app.button(key=f"delete-dancer-{red}").click().run()
    assert not app.exception
    assert "Zinnober is no longer in the library" in app.success[0].value
    assert "is out of reach" in app.warning[0].value
    files = [path for path in home().rglob("*") if path.is_file()]
    assert len(files) > 5
    assert [path for path in files if b"zinnober" in path.read_bytes().lower()] == []
    assert len(read_review(job.review)["dancers"]) == 1


def test_somebody_without_a_label_is_deleted_from_one_review(page: Callable[..., AppTest], shelve: Shelve) -> None:
    job = shelve("class", 3, 8)
    with open_library() as library:
        library.add_review(job.review, job=job.id)
    app = page()
    app.multiselect(key="out-1").set_value([2]).run()
    app.checkbox(key="sure-out-1").check().run()
    app.button(key="delete-out-1").click().run()
    assert not app.exception
    assert len(read_review(job.review)["dancers"]) == 2


def test_what_was_done_in_lessons_is_shown_and_deleted(page: Callable[..., AppTest]) -> None:
    class_id = a_class("Red")
    parts = [{"key": "dance", "title": "Dance it", "seconds": 1200, "done": True}]
    with open_library() as library:
        lesson = library.add_lesson(class_id, "2031-03-01", "Restart on wall 3")
        record = {"held_on": "2031-03-01", "audience": "children", "dance": "Lantern", "minutes": 45.0, "parts": parts}
        library.store_lesson_record({**record, "note": "<b>wall</b> *3* went well"}, lesson)
    app = page()
    assert not app.exception
    (one,) = [each for each in app.expander if each.label.startswith("1 Mar 2031 · ") and each.label.endswith("Restart on wall 3")
              and "45 minutes" in "".join(h.proto.body for h in each.get("html"))]  # fmt: skip
    body = "".join(h.proto.body for h in one.get("html"))
    assert "45 minutes for children, danced to “Lantern”." in body
    assert "Done: Dance it." in body
    assert "&lt;b&gt;wall&lt;/b&gt; *3* went well" in body
    assert not JARGON.search(shown(app))
    assert app.button(key="delete-record-1").disabled
    app.checkbox(key="sure-record-1").check().run()
    app.button(key="delete-record-1").click().run()
    assert app.success[0].value == "The record of 1 Mar 2031 is deleted."
    assert "Nothing is written down yet." in shown(app)
    with open_library() as library:
        assert library.lesson_records() == []
        assert [one.id for one in library.lessons()] == [lesson]
