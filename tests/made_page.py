"""What tests of pages share: everything that a page says, a press, and a class in the library."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from typing import Any

from streamlit.testing.v1 import AppTest

from motion.library.classes import open_library
from motion.library.consent import add_yes

IN_A_MONTH = date.today() + timedelta(days=30)


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
