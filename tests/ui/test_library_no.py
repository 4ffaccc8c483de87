"""The library's page takes a no, and asks nobody again who said it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from streamlit.testing.v1 import AppTest

from motion.jobs import Job
from motion.library import open_library
from motion.library_consent import add_yes


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
    assert said.startswith("Blue said no, and clips")
    assert missing.startswith("No yes holds for Kim, and clips")
