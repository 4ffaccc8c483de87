"""The question about a mirror image, asked once, and what a dancer does that is no fault."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from motion.jobs.queue import Job
from motion.timing.questions import ANSWER_MIRROR

UI = Path(__file__).resolve().parents[2] / "ui"
Shelve = Callable[..., Job]
SCRIPT = """
import sys
sys.path.insert(0, {ui!r})
import streamlit as st
from motion.jobs.queue import finished
from motion.store.folder import read_review
from part_questions import easier, mirror_asked, phrased
one = finished()[0]
review = read_review(one.folder)
mirror_asked(one, review, lambda one, judge: st.session_state.update(asked=(one.key, judge.mirror, judge.starting_wall)))
phrased(review["dancers"][0])
easier(review["dancers"][0], review)
"""


def page(job: Job, mirror: str, notes: list[str], **dancer: Any) -> AppTest:
    """The parts alone, over a review whose judgement, notes and dancer are as given."""
    path = job.review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    review["made_by"]["judged"] = {"mirror": mirror, "starting_wall": 2}
    review["notes"] = notes
    review["dancers"][0].update(dancer)
    path.write_text(json.dumps(review), encoding="utf-8")
    app = AppTest.from_string(SCRIPT.format(ui=str(UI)), default_timeout=20).run()
    assert not app.exception
    return app


def words(app: AppTest) -> str:
    return "\n".join(one.value for one in [*app.markdown, *app.caption])


@pytest.mark.parametrize(("press", "mirror"), [("mirror-yes-class", "yes"), ("mirror-no-class", "no")])
def test_an_open_question_is_asked_and_the_answer_judges_again(shelve: Shelve, press: str, mirror: str) -> None:
    app = page(shelve("class", 2, 16), "ask", [f"The dancers fit better. {ANSWER_MIRROR}"])
    assert "Was the clip filmed with the front camera, or did you dance it turned for learners?" in words(app)
    assert "--mirror" not in words(app)
    assert len(app.button) == 2
    app.button(key=press).click().run()
    assert app.session_state["asked"] == ("class", mirror, 2)  # and all else as it was judged


@pytest.mark.parametrize("mirror", ["yes", "no"])
def test_what_was_answered_is_not_asked_again_and_can_be_taken_back(shelve: Shelve, mirror: str) -> None:
    app = page(shelve("class", 2, 16), mirror, [f"The dancers fit better. {ANSWER_MIRROR}"])
    assert "front camera" not in words(app)
    assert "because you said" in words(app)
    app.button(key="mirror-ask-class").click().run()
    assert app.session_state["asked"] == ("class", "ask", 2)


def test_nothing_is_asked_or_said_without_a_reason(shelve: Shelve) -> None:
    app = page(shelve("class", 2, 16), "ask", ["Left out by hand: 1."])
    assert (list(app.button), words(app), list(app.expander)) == ([], "", [])


def test_phrasing_and_easier_ways_are_said_with_figures_folded_away(shelve: Shelve) -> None:
    phrase = {"count": 3.5, "foot": "right", "offset_ms": -70.0, "interval_ms": 12.0, "walls": 3, "off": 3}
    app = page(shelve("solo", 1, 16), "ask", [], phrasing=[phrase], easier=[[5.0, 6.0]])
    told = "\n".join(one.value for one in app.main.markdown)
    assert "On count 3& the right foot comes clearly earlier" in told
    assert "easier way that the sheet offers, which is as good: wall 1, counts 5 to 6." in told
    (folded,) = app.expander
    assert folded.label == "Show the figures: how this dancer phrases it"
    assert "70 ± 12 ms earlier" in folded.markdown[0].value
