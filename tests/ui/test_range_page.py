"""The range check's page: what is asked and said before, starting one, and a finished one beside an earlier one."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from motion.jobs import queue as jobs_module
from motion.jobs.queue import Job, jobs
from motion.jobs.range_history import checks
from motion.tell.range_check import Check, earlier_of

JARGON = re.compile(r"\b(bias|sigma|landmarks?|tracks?|overlay|confidence|localhost|vector|fps|frames?|percentiles?)\b", re.I)
VERDICTS = re.compile(
    r"\b(normal|abnormal|poor|bad|best|worst|score|rank(ed|ing)?|grade|wrong|mistakes?|too (little|stiff))\b", re.I
)
Shelve = Callable[..., Job]


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> Callable[..., AppTest]:
    return lambda **asked: open_page("page_range.py", **asked)


def said(app: AppTest) -> str:
    """Every text of the page, drawings included."""
    found: list[str] = []

    def walk(block: Any) -> None:
        for child in getattr(block, "children", {}).values():
            proto = getattr(child, "proto", None)
            if proto is not None:
                found.append(str(proto))
            walk(child)

    walk(app.main)
    return unescape("\n".join(found)).encode("utf-8").decode("unicode_escape").encode("latin-1", "ignore").decode("utf-8", "ignore")


def words(app: AppTest) -> str:
    return "\n".join(e.value for kind in ("markdown", "caption", "info", "header", "subheader") for e in getattr(app, kind))


def put_check(job: Job, size_deg: float, label: str | None = "A") -> None:
    """Write a range check into a made review, as a real one has it."""
    path = job.review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    each = [size_deg - 1.0, size_deg, size_deg + 1.0]
    review["dancers"][0] |= {
        "label": label,
        "standing": {"reading_deg": [8.0] * 6, "sigma_deg": [1.0] * 6, "pictures": 90},
        "range_check": [
            {
                "task": "knee lift", "joint": "hip", "side": side, "repetitions": 3, "range_deg": size_deg,
                "interval_deg": [size_deg - 8, size_deg + 8], "each_deg": each, "at_s": [1.0, 2.0, 3.0], "near": True,
            }
            for side in ("left", "right")
        ],
    }  # fmt: skip
    path.write_text(json.dumps(review), encoding="utf-8")


def test_before_anything_the_page_asks_explains_and_cautions(page: Callable[..., AppTest]) -> None:
    app = page()
    assert not app.exception
    text = words(app) + said(app)
    for needed in (
        "hip or knee",
        "Dizziness",
        "skipped, without a remark",
        "chair",
        "45 seconds",
        "turn round",
        "not medical advice",
        "pain",
    ):
        assert needed in text, needed
    assert text.count("<figure>") == 5
    assert not JARGON.search(words(app))
    assert not VERDICTS.search(words(app))


def test_it_starts_only_when_the_questions_were_asked(page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs_module, "COMMAND", (sys.executable, "-c", "import time; time.sleep(30)"))
    app = page()
    assert app.button(key="range-start").disabled
    assert "tick that they were asked" in words(app)  # a button that waits says what for
    app.radio(key="range-way").set_value("A clip of mine").run()
    assert "choose a clip" in words(app)
    app.radio(key="range-way").set_value("The sample").run()
    app.checkbox(key="range-asked").check().run()
    assert not app.button(key="range-start").disabled
    assert "Before it can begin" not in words(app)
    app.button(key="range-start").click().run()
    assert not app.exception
    (job,) = jobs()
    argv = json.loads((job.folder / "job.json").read_text(encoding="utf-8"))["argv"]
    assert "--range-check" in argv
    assert argv[argv.index("--dancers") + 1] == "1"
    jobs_module.cancel(job)


def test_a_finished_check_shows_sides_and_says_nothing_published_unasked(page: Callable[..., AppTest], shelve: Shelve) -> None:
    put_check(shelve("one", 1, 16), 84.0)
    app = page()
    assert not app.exception
    text = words(app)
    assert "Left 84° give or take 8°, seen 3 times; right 84°" in text
    assert "Left: skipped, or not seen from the side" in text
    assert "not medical advice" in text
    assert "standing quietly (90 pictures)" in text
    assert "Soucie" not in text
    assert "#c9c9cf" not in said(app)
    assert not JARGON.search(text)
    assert not VERDICTS.search(text)
    app.toggle(key="published").set_value(True).run()
    assert "Soucie" in words(app)
    assert "no number to reach" in words(app)
    assert "#c9c9cf" in said(app)
    assert not VERDICTS.search(words(app))


def test_this_time_stands_beside_the_same_persons_last_time(page: Callable[..., AppTest], shelve: Shelve) -> None:
    put_check(shelve("old", 1, 16, started_at=1.7e9), 70.0)
    put_check(shelve("other", 1, 16, started_at=1.71e9), 99.0, label="B")
    put_check(shelve("new", 1, 16, started_at=1.72e9), 84.0)
    app = page()
    assert app.selectbox(key="check").value == "new"
    assert app.selectbox(key="beside-new").value == "old"  # the same label; never another dancer by itself
    assert "14° more than last time" in words(app)
    app.selectbox(key="beside-new").set_value("Nothing").run()
    assert "last time" not in "\n".join(m.value for m in app.markdown)


def test_nobody_is_set_beside_somebody_of_another_name(page: Callable[..., AppTest], shelve: Shelve) -> None:
    put_check(shelve("theirs", 1, 16, started_at=1.71e9), 99.0, label="B")
    put_check(shelve("unnamed", 1, 16, started_at=1.7e9), 90.0, label=None)
    put_check(shelve("mine", 1, 16, started_at=1.72e9), 84.0)
    beside = page().selectbox(key="beside-mine")
    assert [option for option in beside.options if "theirs" in option] == []
    assert len(beside.options) == 2


def test_a_review_without_standing_offers_that_of_a_check(
    page: Callable[..., AppTest], shelve: Shelve, monkeypatch: pytest.MonkeyPatch
) -> None:
    check, dance = shelve("check", 1, 16, started_at=1.7e9), shelve("dance", 1, 32, started_at=1.72e9, start_view_deg=80.0)
    put_check(check, 84.0, label=None)
    path = dance.review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    review["dancers"][0]["angles"] = {"zero": {"left_knee": "stance"}}
    path.write_text(json.dumps(review), encoding="utf-8")
    asked: list[Any] = []
    monkeypatch.setattr("motion.desk.recount.recount", lambda folder, judge: asked.append(judge))
    app = page()
    app.query_params["review"] = "dance"
    app.switch_page("page_review.py").run()
    assert not app.exception
    app.button(key="use-zero-1").click().run()
    assert asked[0].standing == check.review
    app.button(key="facts-1").click().run()
    assert asked[1].body_facts is True
    assert asked[1].standing is None


def test_earlier_checks_of_one_person_come_oldest_first() -> None:
    found = [Check(key, key, label, {"key": key}) for key, label in (("d", "A"), ("c", "A"), ("b", "B"), ("a", "A"))]
    assert [one["key"] for one in earlier_of(found, found[0], found[1])] == ["a", "c"]
    assert [one["key"] for one in earlier_of(found, found[0], found[2])] == ["b"]
    assert earlier_of(found, found[0], None) == []


def test_reviews_without_a_check_are_not_offered(shelve: Shelve) -> None:
    shelve("plain", 1, 16)
    assert checks() == []
