"""What the review page shows of habits, walls, the class, the sheet and the music's phrases."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html import unescape

import pytest
from made_dances import T, angles, dance, danced
from streamlit.testing.v1 import AppTest

from motion.jobs.queue import Job
from motion.store.serialize import plain
from motion.timing.class_summary import class_of
from motion.timing.consistency import wall_by_wall
from motion.timing.flags import flags_of
from motion.timing.habits import habits_with_dance, own_offsets
from motion.timing.summary import timing_of

Shelve = Callable[..., Job]
#: Words of engineers, and marks for people: neither has a place on the page.
UNWANTED = re.compile(
    r"\b(bias|sigma|vector|offsets?|confidence|bpm|percentiles?|best|worst|wrong|mistakes?|errors?|score)\b", re.I
)


@pytest.fixture
def opened(open_page: Callable[..., AppTest]) -> Callable[[], AppTest]:
    return lambda: open_page("page_review.py")


def shown(app: AppTest) -> str:
    """What the page says in paragraphs, headings and drawn words."""
    parts = [e.value for kind in (app.markdown, app.header, app.subheader) for e in kind]
    return unescape(re.sub(r"<[^>]+>", " ", " ".join([*parts, *(e.proto.body for e in app.get("html"))])))


def enriched(shelve: Shelve) -> None:
    """Three dancers on the shelf; the first comes early on count 5 of every wall and is late once, on the third wall."""
    job = shelve("three", 3, 32)
    path = job.folder / "review" / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    ones = [
        danced(dance(3), {4: -60.0, 12: -60.0, 20: -60.0, 18: 200.0}, shake_ms=8.0),
        *(danced(dance(3), shake_ms=8.0, seed=n) for n in (5, 6)),
    ]
    for block, one in zip(review["dancers"], ones, strict=True):
        timing = timing_of(own_offsets(one) * 0 + [d.count for d in one.due], own_offsets(one), one.gap_s, T)
        assert timing
        block["timing"] |= plain(habits_with_dance(one, flags_of(one, T), timing, T))
        block["walls"] = plain(wall_by_wall(one, angles(one), T))
        differs = {"count": 3.0, "foot": "right", "move": "side", "walls": [1, 2], "of": 3, "what": ["other foot"], "always": True}
        block["sheet"] = {"judged": 24, "as_written": 22, "differs": [differs], "restarts": []}
    review["class"] = plain(class_of([(n, one, flags_of(one, T)) for n, one in enumerate(ones, 1)], T))
    review["phrase"] = {"basis": "entry", "phrase_counts": 32, "heard": 1, "walls": [{"wall": 1, "time_s": 4.0, "after": 0}]}
    path.write_text(json.dumps(review), encoding="utf-8")


def test_words_first_and_figures_folded(opened: Callable[[], AppTest], shelve: Shelve) -> None:
    enriched(shelve)
    app = opened()
    assert not app.exception
    said = shown(app)
    for words in (
        "23 of the 24 counts that could be judged were on the beat.",
        "Count 5 comes early wall after wall",
        "The only wall in this clip begins with a phrase of the music.",
        "Count 3, wall 3: the landing came",
        "Count 3 differs on 2 of 3 walls (the other foot): does the sheet say what is meant?",
        "Against the beat, no wall surely differs from another.",
        "How close together: on a usual count",
        "dancer 1.",
    ):
        assert words in said, words
    assert not UNWANTED.findall(said)
    labels = [e.label for e in app.expander if not e.proto.expanded]
    assert "Show the figures: how far the walls lie apart, count by count" in labels
    assert "Show the figures: how together, count by count" in labels
    unfolded = " ".join(m.value for m in app.main.markdown if m not in [x for e in app.expander for x in e.markdown])
    assert "put anywhere in their counts by chance" in said
    assert "by chance, and matched again" not in unfolded


def test_a_review_from_before_shows_what_it_has(opened: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("old", 1, 32)
    app = opened()
    assert not app.exception
    said = shown(app)
    assert "With the beat" in said
    assert "The clip against the sheet" not in said
    assert "phrase of the music" not in said
