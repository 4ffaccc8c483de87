"""The library's page and the question before a review, without a browser."""

from __future__ import annotations

import json
import re
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from motion import jobs as jobs_module
from motion.amend import add, give_label
from motion.jobs import Job, find, jobs, status
from motion.library import library_file, open_library
from motion.library_consent import add_no, add_yes, class_yes, consents, refusals
from motion.library_sweep import note_new
from motion.options import JudgeOptions
from motion.report_words import told_day
from motion.store import read_review

JARGON = re.compile(
    r"\b(bias|sigma|landmarks?|tracks?|overlay|confidence|localhost|vector|fps|percentiles?|bpm|sqlite|json)\b", re.I
)
Shelve = Callable[..., Job]
IN_A_MONTH = date.today() + timedelta(days=30)


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> Callable[..., AppTest]:
    return lambda name="page_library.py": open_page(name if name != "page_new.py" else None)


def shown(app: AppTest) -> str:
    """Everything that the page says."""
    said: list[str] = []

    def walk(block: Any) -> None:
        for child in getattr(block, "children", {}).values():
            proto = getattr(child, "proto", None)
            if proto is not None:
                said.append(str(proto))
            walk(child)

    walk(app.main)
    text = "\n".join(said).encode().decode("unicode_escape").encode("latin-1", "ignore").decode("utf-8", "ignore")
    return unescape(re.sub(r"<[^>]*>", " ", text))


def press(app: AppTest, label: str) -> AppTest:
    (button,) = [b for b in app.button if b.label == label]
    return button.click().run()


def a_class(*labels: str) -> int:
    with open_library() as library:
        class_id = library.add_class("Tuesday beginners")
        library.set_line_up(class_id, labels)
    return class_id


def agree(class_id: int, *labels: str) -> None:
    with open_library() as library:
        ids = [one.id for one in library.dancers(class_id) if one.label in labels]
        add_yes(library, ids, ("guardian", "child"), IN_A_MONTH.isoformat())


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
        ("x" * 17, None, "The label has 17 letters, but at most 16 are kept. Take a shorter one, not a full name."),
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
    files = [path for path in jobs_module.home().rglob("*") if path.is_file()]
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


# --- before a review


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
    from motion.jobs import save_upload, start
    from motion.options import WatchOptions

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
