"""The library's page takes a no, asks nobody again who said it, and takes out what was written down by mistake."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from made_page import IN_A_MONTH, a_class, shown
from streamlit.testing.v1 import AppTest

from motion.jobs.queue import Job
from motion.library.classes import open_library
from motion.library.consent import add_no, add_yes, consents, refusals


def test_the_library_takes_a_no_and_asks_nobody_again_who_said_it(
    open_page: Callable[..., AppTest], shelve: Callable[..., Job]
) -> None:
    with open_library() as library:
        class_id = library.add_class("Tuesday beginners")
        library.set_line_up(class_id, ("Red", "Blue", "Kim"))
        add_yes(library, [1], ("guardian", "child"), (date.today() + timedelta(days=30)).isoformat())
        library.add_review(shelve("class", 3, 8).review, class_id=class_id)
    app = open_page("page_library.py")
    (missing,) = [one.value for one in app.warning]
    assert missing.startswith("No yes holds for Blue, Kim, and clips")
    app.multiselect(key=f"no-whose-{class_id}-0").set_value([2])
    app.radio(key=f"no-who-{class_id}-0").set_value("The child")
    next(button for button in app.button if button.label == "Write the no down").click().run()
    assert not app.exception
    assert app.success[0].value == "The no is written down."
    said, missing = [one.value for one in app.warning]
    assert said.startswith("A no holds for Blue, and clips")
    assert missing.startswith("No yes holds for Kim, and clips")


def test_what_was_written_down_by_mistake_is_taken_out_after_a_question(
    open_page: Callable[..., AppTest], shelve: Callable[..., Job]
) -> None:
    class_id, until = a_class("Red", "Blue"), IN_A_MONTH.isoformat()
    sooner = (IN_A_MONTH - timedelta(days=10)).isoformat()
    app = open_page("page_library.py")
    assert "Nothing is written down yet." in [one.value for one in app.caption]
    with open_library() as library:
        add_yes(library, [1], ("adult",), until)
        add_yes(library, [2], ("adult",), sooner)
        kept = library.add_review(shelve("class", 2, 8, expires="2099-01-01").review, class_id=class_id)
        add_no(library, [2], ("adult",))
    app.run()
    (told,) = [one.value for one in app.markdown if "nobody said" in one.value]
    assert "change their mind" in told
    book = app.selectbox(key=f"never-{class_id}-3")
    assert book.value is None  # nothing is chosen beforehand
    assert [option.partition(",")[0] for option in book.options] == [
        "Red: yes from grown-up",
        "Blue: no from grown-up",
        "Blue: yes from grown-up",
    ]
    book.select_index(1).run()
    assert app.button(key="never-out-3").disabled
    app.checkbox(key="never-sure-3").check().run()
    app.button(key="never-out-3").click().run()
    assert not app.exception
    assert app.success[0].value.startswith("It is out of the book: Blue: no from grown-up, ")
    assert not app.warning
    assert app.selectbox(key=f"never-{class_id}-2").value is None
    with open_library() as library:
        assert refusals(library) == []
        assert [one.withdrawn_on for one in consents(library)] == [None, None]
        assert [one.expires for one in library.reviews() if one.id == kept] == [sooner]  # at once


def test_reviews_of_one_clip_have_names_of_their_own_where_one_is_chosen(
    open_page: Callable[..., AppTest], shelve: Callable[..., Job], tmp_path: Path
) -> None:
    with open_library() as library:
        for key, at in (("a", 1_700_000_000.0), ("b", 1_700_000_000.0 + 3600)):
            library.add_review(shelve(key, 2, 8, clip=tmp_path / "lesson.mp4", started_at=at).review, job=key)
    app = open_page("page_library.py")
    names = app.selectbox(key="out-of").options
    assert len(set(names)) == 2
    assert all(name.startswith("lesson.mp4 (1") for name in names)
    assert all(name in shown(app) for name in names)
