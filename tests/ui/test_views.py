"""Three people, three views of a review, from stored reviews: what each opens with, what it asks, and what it never shows unasked."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from made_dances import COUNTS, MOVES, T, angles, dance, danced
from streamlit.testing.v1 import AppTest

from motion.base.types import DanceSheet, SheetRow
from motion.desk.correct import made_by_hand
from motion.jobs.queue import Job
from motion.library.classes import open_library
from motion.store.serialize import plain
from motion.timing.class_summary import class_of
from motion.timing.consistency import wall_by_wall
from motion.timing.flags import flags_of
from motion.timing.sheet_agreement import against_sheet

UI = Path(__file__).resolve().parents[2] / "ui"
Shelve = Callable[..., Job]
Opened = Callable[..., AppTest]
JARGON = re.compile(
    r"\b(bias|sigma|landmarks?|tracks?|overlay|confidence|localhost|vector|fps|frames?|percentiles?|offsets?)\b", re.I
)
RANKING = re.compile(r"\b(best|worst|rank(ed|ing)?|scores?|perfect|medals?|streak|wrong)\b", re.I)
ROWS = tuple(SheetRow(n + 1.0, "left" if n % 2 else "right", move, row=n + 1) for n, move in enumerate(MOVES))
SHEET = DanceSheet("Made", COUNTS, 1, ROWS)
VIEWS = ("teacher", "student", "choreographer", "everything")


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Opened:
    monkeypatch.syspath_prepend(str(UI))

    def go(**query: str) -> AppTest:
        app = AppTest.from_file(str(UI / "app.py"), default_timeout=30)
        app.query_params.clear()
        for name, value in query.items():
            app.query_params[name] = value
        app.run()
        return app.switch_page("page_review.py").run()

    return go


def drawn(app: AppTest) -> str:
    """What was drawn as HTML, by whatever component."""
    return unescape(" ".join(str(json.loads(e.proto.json)) for e in app.get("bidi_component") if e.proto.json))


def shown(app: AppTest) -> str:
    """What the page says, but for what is folded away under "Show the figures"."""
    folded = {id(m) for e in app.expander if not e.proto.expanded for m in e.markdown}
    folded |= {id(m) for e in app.get("popover") for m in getattr(e, "markdown", ())}
    kinds = (app.markdown, app.title, app.header, app.subheader, app.caption, app.button, app.toggle, app.selectbox)
    parts = [
        str(getattr(e, "value", "")) + " " + str(getattr(e, "label", "")) for kind in kinds for e in kind if id(e) not in folded
    ]
    return unescape(re.sub(r"<[^>]+>", " ", " ".join([*parts, *(e.proto.body for e in app.get("html"))])))


def class_of_three(shelve: Shelve, key: str = "three") -> Job:
    """Three dancers under labels: two late on count 5 of wall 1, the third leaves out count 12 alone."""
    job = shelve(key, 3, 24, wall_counts=8, labels=("Red", "Blue", "Sun"))
    path = job.folder / "review" / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    due = dance(3)
    ones = [danced(due, {4: 200.0}, seed=3), danced(due, {4: 200.0}, seed=4), danced(due, left_out=frozenset({11}), seed=5)]
    for block, one in zip(review["dancers"], ones, strict=True):
        flags = flags_of(one, T)
        block["flags"] = [plain(vars(f)) for f in flags]
        block["walls"] = plain(wall_by_wall(one, angles(one), T))
        block["sheet"] = plain(against_sheet(one, flags, SHEET, T))
    review["class"] = plain(class_of([(n, one, flags_of(one, T)) for n, one in enumerate(ones, 1)], T))
    path.write_text(json.dumps(review), encoding="utf-8")
    return job


def everything(block: Any) -> Iterator[Any]:
    """Every element in a block, from the top of the page to its end."""
    for one in block.children.values() if hasattr(block, "children") else ():
        yield one
        yield from everything(one)


def toggled(app: AppTest, label: str) -> AppTest:
    return next(t for t in app.toggle if t.label == label).set_value(True).run()


def test_a_review_opens_with_the_class_and_no_dancer(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened()
    assert not app.exception
    said = shown(app)
    assert "Count 5 of wall 1: 2 of the 3 dancers in sight lost it." in said
    assert "Most came late: set off a little sooner" in said
    assert "two landings in three lie within" in said
    assert len([b for b in app.button if b.label.startswith("Play ")]) <= 3
    for name in ("Red", "Blue", "Sun", "Dancer 1", "Dancer 2", "Dancer 3"):
        assert name not in said + drawn(app), name
    assert not RANKING.search(said)
    assert not JARGON.search(said)
    assert " ms" not in said


def test_dancers_come_when_asked_for_in_standing_order_and_are_remembered(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = toggled(opened(), "Show the dancers")
    assert not app.exception
    assert app.query_params["dancers"] == "shown"
    table = drawn(app)
    assert table.index("Dancer 1 · Red") < table.index("Dancer 2 · Blue") < table.index("Dancer 3 · Sun")
    assert "count 5 of wall 1: late, by about" in table
    assert [h.value for h in app.header if h.value != "The class"] == [
        "Where everybody stands", "Count by count", "Would like a minute with you", "The lesson",
    ]  # fmt: skip
    assert "Dancer 3 · Sun" in [h.value for h in app.subheader]
    assert not RANKING.search(shown(app))
    again = opened(dancers="shown")
    assert "Dancer 2 · Blue" in drawn(again)


def test_whoever_is_beside_the_beat_as_a_rule_is_told_so_once_below_the_table(opened: Opened, shelve: Shelve) -> None:
    path = class_of_three(shelve).review / "review.json"
    assert "one thing and not many" not in shown(opened(dancers="shown"))
    review = json.loads(path.read_text(encoding="utf-8"))
    review["dancers"][1]["timing"] |= {"bias_ms": 200.0, "bias_interval_ms": [190.0, 210.0]}
    path.write_text(json.dumps(review), encoding="utf-8")
    said = shown(opened(dancers="shown"))
    assert "**Dancer 2 · Blue**, one thing and not many: As a rule clearly after the beat" in said
    assert said.count("one thing and not many") == 1
    assert "one thing and not many" not in shown(opened())


def test_counts_in_doubt_lead_to_where_they_are_put_right(opened: Opened, shelve: Shelve) -> None:
    """All three were a count ahead on every count: nothing is told as lost, nothing is to be taught again."""
    path = class_of_three(shelve).review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    first, last = review["class"]["counts"][0], review["class"]["counts"][-1]
    review["class"]["lost"] = [
        {"count": first["count"], "until_count": last["count"], "said": first["said"], "of": 3, "dancers": [1, 2, 3]}
    ]
    for one in review["dancers"]:
        one["flags"] = [{**review["dancers"][0]["flags"][0], "kind": "count ahead", "count": 1.0, "until_count": last["count"]}]
    path.write_text(json.dumps(review), encoding="utf-8")
    app = opened()
    assert "count 1 was taken a count too late" in app.warning[0].value
    assert "lost it" not in shown(app)
    assert "lost them" not in shown(app)
    assert "Worth teaching again" not in shown(app)
    next(b for b in app.button if b.label == "To where the counts are put right").click().run()
    assert not app.exception
    assert app.query_params["view"] == "everything"
    assert "One count earlier" in [b.label for b in app.button]


def test_after_a_quick_look_only_the_class_is_told(opened: Opened, shelve: Shelve) -> None:
    path = class_of_three(shelve).review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    review["made_by"]["model"] = "fast"
    path.write_text(json.dumps(review), encoding="utf-8")
    app = opened(dancers="shown")
    assert not app.exception
    assert "Count 5 of wall 1: 2 of the 3" in shown(app)
    assert not app.toggle
    assert "Dancer 1" not in shown(app) + drawn(app)


def test_a_quick_look_at_one_dancer_says_where_to_go_on(opened: Opened, shelve: Shelve) -> None:
    path = shelve("one", 1, 16, sound=False).review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    review["made_by"]["model"] = "fast"
    path.write_text(json.dumps(review), encoding="utf-8")
    app = opened()
    assert not app.exception
    assert "stands under Student" in shown(app)
    assert "“Give the beat yourself”" in shown(app)
    assert "tells of the class" not in shown(app)
    for label, view in (("To the Student view", "student"), ("To where the beat is given", "everything")):
        app = opened()
        next(b for b in app.button if b.label == label).click().run()
        assert not app.exception
        assert app.query_params["view"] == view
    assert "Give the beat yourself" in [one.label for one in app.expander]


def test_where_a_beat_was_heard_nobody_is_sent_to_give_it(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened()
    assert "Give the beat yourself" not in shown(app)
    assert "Key n: names off and on again. Key b: blank the screen." in shown(app)


def test_names_off_takes_every_label_from_the_page(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened(dancers="shown", names="off")
    assert not app.exception
    for label in ("Red", "Blue", "Sun"):
        assert label not in shown(app) + drawn(app)
    assert "Dancer 2" in drawn(app)


def test_the_view_is_chosen_and_remembered(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened()
    assert app.query_params["view"] == "teacher"
    app = app.segmented_control(key="view").set_value("student").run()
    assert not app.exception
    assert app.query_params["view"] == "student"
    for view in VIEWS:
        app = opened(view=view)
        assert not app.exception, view
        assert app.query_params["view"] == view
    assert opened(view="nonsense").query_params["view"] == "teacher"


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("kind", ["class", "solo", "no sheet", "no sound"])
def test_every_view_of_every_kind_of_review_opens_in_plain_words(opened: Opened, shelve: Shelve, view: str, kind: str) -> None:
    if kind == "class":
        class_of_three(shelve)
    else:
        shelve("one", 1, 24, wall_counts=8, sheet=kind != "no sheet", sound=kind != "no sound")
    app = opened(view=view, dancers="shown")
    assert not app.exception
    assert not app.error
    said = shown(app)
    assert len(said) > 100
    assert not JARGON.search(said), JARGON.search(said)
    assert not RANKING.search(said), RANKING.search(said)


def test_empty_states_say_what_to_do(opened: Opened, shelve: Shelve) -> None:
    assert "Start one with a sample clip" in shown(opened())
    shelve("one", 1, 24, wall_counts=8, sheet=False)
    assert "needs two or more" in shown(opened())
    assert "Put it into one" in shown(opened(dancers="shown"))
    assert "Write the sheet, or draft it" in shown(opened(view="choreographer"))


def test_a_moment_is_played_or_it_is_said_where_the_clip_should_be(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened()
    next(b for b in app.button if b.label.startswith("Play ")).click().run()
    assert "no longer where it was" in app.error[0].value


def test_the_choreographer_sees_walls_differences_and_the_page_before_release(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened(view="choreographer")
    said = shown(app)
    assert "**Wall 2** · facing" in said
    assert [b.label for b in app.button].count("Play side by side") >= 1
    assert "no other review of this dance yet" in said
    assert "Starting foot" in drawn(app)
    assert [d.proto.label for d in app.get("download_button")] == ["The page to print"]


def test_what_was_asked_for_plays_where_it_was_asked_for(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    app = opened(view="choreographer")
    asked = next(b.key for b in app.button if str(b.key).startswith("wall-"))
    order = list(everything(app.button(key=asked).click().run().main))
    here = next(k for k, one in enumerate(order) if getattr(one, "key", None) == asked)
    below = next(k for k, one in enumerate(order) if one.type == "error")  # the clip is gone: it stands where the players would
    assert "no longer where it was" in order[below].value
    assert [one.key for one in order[here:below] if one.type == "button"] == [asked]  # no other wall stands between


def test_the_choreographer_is_told_which_sheet_and_whether_it_is_the_right_one(opened: Opened, shelve: Shelve) -> None:
    job = shelve("one", 1, 24, wall_counts=8)
    assert "Set against the sheet of" in shown(opened(view="choreographer"))
    path = job.review / "review.json"
    kept = json.loads(path.read_text(encoding="utf-8"))
    kept["dancers"][0]["sheet"] = {"judged": 24, "as_written": 5, "differs": [], "restarts": []}
    path.write_text(json.dumps(kept), encoding="utf-8")
    assert "Only 5 of 24 landings" in opened(view="choreographer").warning[0].value
    shelve("still", 1, 24, wall_counts=8, sound=False)
    silent = shown(opened(review="still", view="choreographer"))
    assert "so no landing can be set against the sheet" in silent
    assert "Nothing differs" not in silent


def test_a_review_whose_last_dancer_was_taken_out_says_so(opened: Opened, shelve: Shelve) -> None:
    path = shelve("one", 1, 24, wall_counts=8).review / "review.json"
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), "dancers": []}), encoding="utf-8")
    app = opened(view="choreographer")
    assert not app.exception
    assert "Nobody is left in this review" in shown(app)


def test_take_beside_take_asks_for_another_of_the_same_dance(opened: Opened, shelve: Shelve) -> None:
    class_of_three(shelve)
    class_of_three(shelve, "again")
    shelve("other", 1, 16, wall_counts=16)
    app = opened(review="three", view="choreographer", take="again")
    assert not app.exception
    box = next(s for s in app.selectbox if s.label == "Beside which take?")
    assert len(box.options) == 2  # none yet, or the one of the same dance
    assert "were seen in both" in shown(app)
    assert "No count was danced otherwise" in shown(app)


def lesson_of_two(shelve: Shelve, *, labels: bool) -> int:
    """Two groups of a lesson; with labels or without."""
    jobs = [
        shelve(f"group{n}", 2, 16, wall_counts=8, labels=(("Red", "Blue"), ("Sun", "Moon"))[n] if labels else ()) for n in (0, 1)
    ]
    with open_library() as library:
        group = library.add_class("Tuesday")
        library.set_line_up(group, ["Red", "Blue", "Sun", "Moon"])
        lesson = library.add_lesson(group, "2031-03-04", "Second evening")
        for job in jobs:
            library.add_review(job.review, lesson_id=lesson)
    return lesson


def test_a_lesson_gathers_its_clips_in_one_table(opened: Opened, shelve: Shelve) -> None:
    lesson_of_two(shelve, labels=True)
    app = opened(review="group0", dancers="shown")
    assert not app.exception
    assert "Second evening, 4 Mar 2031: 2 clips." in shown(app)
    assert ">Moon</th>" in drawn(app)
    assert "sole ground for a grade" in shown(app)


def test_labels_from_the_line_up_are_kept_with_one_tap(opened: Opened, shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    import motion.desk.correct

    lesson_of_two(shelve, labels=False)
    judged: list[Any] = []
    monkeypatch.setattr(motion.desk.correct, "recount", lambda folder, judge: judged.append(folder))
    app = opened(review="group0", dancers="shown")
    assert "1 is **Red**, 2 is **Blue**" in shown(app)
    assert app.warning[0].value.startswith("No yes holds for Red, Blue: leave them out")
    assert shown(app).index("1 is **Red**") < shown(app).index("Point at a mark")  # beside the picture, and not below the tables
    next(b for b in app.button if b.label == "Yes, these are they").click().run()
    assert not app.exception
    (folder,) = judged
    assert [one.label for one, _, _ in made_by_hand(folder)] == ["Red", "Blue"]


def test_a_judgement_is_the_teachers_with_evidence_beside_it(opened: Opened, shelve: Shelve) -> None:
    lesson = lesson_of_two(shelve, labels=True)
    app = opened(review="group0", dancers="shown")
    assert "As a rule" in shown(app)
    box = next(s for s in app.selectbox if s.label == "With the beat")
    assert box.options == ["left open", "not yet", "in parts", "mostly", "throughout", "not assessable"]
    box.set_value("mostly")
    next(s for s in app.selectbox if s.label == "Steps as written").set_value("not assessable")
    next(b for b in app.button if b.label == "Keep this judgement").click().run()
    assert not app.exception
    with open_library() as library:
        kept = {one.criterion: one.level for one in library.judgements(lesson_id=lesson)}
    assert kept == {"With the beat": "mostly", "Steps as written": None}
    again = opened(review="group0", dancers="shown")
    assert next(s for s in again.selectbox if s.label == "Steps as written").value == "not assessable"


def test_with_names_off_no_judgement_is_on_the_page(opened: Opened, shelve: Shelve) -> None:
    lesson_of_two(shelve, labels=True)
    app = opened(review="group0", dancers="shown", names="off")
    assert not app.exception
    assert not [s for s in app.selectbox if s.label == "With the beat"]
    assert not [b for b in app.button if b.label == "Yes, these are they"]
    assert "Moon" not in shown(app) + drawn(app)
