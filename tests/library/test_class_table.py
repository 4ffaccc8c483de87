"""A lesson of several clips: one table of them all, labels proposed for the next clip, evidence beside each criterion."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from made import made_review
from made_class import RANKING, flag, review

from motion.base.errors import BadInput
from motion.library.class_table import (
    CRITERIA,
    LEVELS,
    NOT_SOLE,
    OWN_EYE,
    Take,
    evidence,
    gathered,
    label_corrections,
    lesson_of,
    proposed_labels,
    with_label,
)
from motion.library.classes import open_library
from motion.store.serialize import review_json
from motion.tell.teacher import TROUBLED, count_table


def takes() -> list[Take]:
    made = [review(2), review(1), review(2, wall_counts=16)]
    made[0]["dancers"][1]["flags"] = [flag("missed", 7.0)]
    made[0]["dancers"][1]["steps"] = [s for s in made[0]["dancers"][1]["steps"] if s["count"] != 7.0]
    return [Take(f"group {n}", Path(f"/somewhere/{n}"), one) for n, one in enumerate(made, 1)]


def test_groups_of_a_lesson_make_one_table() -> None:
    whole = gathered(takes())
    assert [row.name for row in whole.table.rows] == ["Dancer 1, clip 1", "Dancer 2, clip 1", "Dancer 1, clip 2"]
    assert whole.clips == ("group 1", "group 2")
    assert whole.left_out == ("group 3",)  # another dance
    assert len(whole.table.columns) == 32
    # every dancer 1 misses count 7 and is late on 13, and one more misses 7
    assert whole.lost == ("Count 7: 3 of the 3 who were in sight lost it.", "Count 13: 2 of the 3 who were in sight lost it.")


def test_a_quick_look_is_no_part_of_a_lessons_table() -> None:
    """The same clip looked at quickly and then carefully would show everybody twice, and once too roughly."""
    careful, quick = review(2), review(2)
    quick["made_by"]["model"] = "fast"
    whole = gathered([Take("quick.mp4", Path("q"), quick), Take("careful.mp4", Path("c"), careful)])
    assert (whole.clips, whole.quick, whole.left_out) == (("careful.mp4",), ("quick.mp4",), ())
    assert [row.name for row in whole.table.rows] == ["Dancer 1", "Dancer 2"]
    assert gathered([Take("quick.mp4", Path("q"), quick)]).table.rows == ()


def test_a_label_in_two_clips_is_one_row_that_hides_no_trouble() -> None:
    """Whoever is dancer 1 misses count 7 and is late on 13: Red in the first clip, Blue in the second, where both stand otherwise."""
    made = [review(3, labels=("Red", "Blue", None)), review(4, labels=("blue", "Red", None, "K"))]
    whole = gathered([Take(f"group {n}", Path(f"/somewhere/{n}"), one) for n, one in enumerate(made, 1)])
    rows = {row.name: dict(zip([c.name for c in whole.table.columns], row.cells, strict=True)) for row in whole.table.rows}
    assert list(rows) == ["Red, 2 clips", "Blue, 2 clips", "Dancer 3, clip 1", "Dancer 3, clip 2", "K"]
    for name, bad, good in (("Red", 1, 2), ("Blue", 2, 1)):
        cell = rows[f"{name}, 2 clips"]["7"]
        assert cell.state == "missed"
        assert cell.words.startswith("count 7: no landing seen where one was due in 1 of 2 clips; on the beat in 1 of 2 clips (")
        assert f"group {bad}: no landing seen where one was due on wall 1" in cell.words
        assert f"group {good}: on the beat on wall 1" in cell.words
        assert rows[f"{name}, 2 clips"]["13"].state == "late"
        assert rows[f"{name}, 2 clips"]["2"].words.startswith("count 2: on the beat in 2 of 2 clips (")
    assert whole.lost == tuple(f"Count {n}: 2 of the 5 who were in sight lost it." for n in (7, 13))  # five people, not seven
    first, second = (row.usual for row in count_table(made[0]).rows[:2])
    assert whole.table.rows[1].usual == f"group 1: {second} group 2: {count_table(made[1]).rows[0].usual}"
    assert first in whole.table.rows[0].usual


def test_a_clip_that_does_not_show_a_count_or_is_late_throughout_outweighs_none_that_went_well() -> None:
    fine, hidden, behind = (review(2, labels=("Red", None)) for _ in range(3))
    red = hidden["dancers"][0]
    red["steps"] = [step for step in red["steps"] if step["count"] != 3.0]
    red = behind["dancers"][0]  # 200 ms after the beat throughout, and so on count 3
    red["timing"]["bias_ms"] += 200.0
    for step in red["steps"]:
        step["offset_ms"] += 200.0

    def cell(*made: dict[str, Any], count: str = "3") -> tuple[str, str]:
        table = gathered([Take("ab"[n], Path("ab"[n]), one) for n, one in enumerate(made)]).table
        found = table.rows[0].cells[[column.name for column in table.columns].index(count)]
        return found.state, found.words.partition(" (")[0]

    assert cell(hidden) == ("unseen", "count 3: not seen")
    assert cell(hidden, hidden) == ("unseen", "count 3: not seen in any clip")
    assert cell(hidden, fine) == ("on", "count 3: on the beat in 1 of 2 clips; not seen in 1 of 2 clips")
    assert cell(behind, hidden) == ("late", "count 3: late in 1 of 2 clips; not seen in 1 of 2 clips")
    assert cell(behind, fine) == ("on", "count 3: on the beat in 1 of 2 clips; late in 1 of 2 clips")
    assert cell(behind, fine, count="7")[0] == "missed"


def test_a_label_that_two_bear_in_one_clip_joins_nobody() -> None:
    made = [review(2, labels=("Red", "red")), review(1, labels=("Red",))]
    whole = gathered([Take(f"group {n}", Path(f"/somewhere/{n}"), one) for n, one in enumerate(made, 1)])
    assert [row.name for row in whole.table.rows] == [
        "Dancer 1 · Red, clip 1",
        "Dancer 2 · red, clip 1",
        "Red",
    ]
    assert [row.name for row in gathered([Take("a", Path("a"), made[1])]).table.rows] == ["Dancer 1 · Red"]


def test_over_several_walls_a_cell_tells_the_most_usual_and_all_in_words() -> None:
    made = review_json(made_review(1, 96))
    cells = dict(zip([c.name for c in gathered([Take("one", Path("a"), made)]).table.columns],
                     gathered([Take("one", Path("a"), made)]).table.rows[0].cells, strict=True))  # fmt: skip
    assert cells["7"].state == "on"  # missed on the first wall of three
    assert cells["7"].words == "count 7: no landing seen where one was due on wall 1; on the beat on walls 2 and 3"
    two = gathered([Take("one", Path("a"), review_json(made_review(1, 64)))]).table.rows[0].cells
    assert two[6].state == "missed"  # as many went well as did not: what needs a look is shown
    assert two[6].state in TROUBLED


def test_gathering_nothing_gives_nothing() -> None:
    assert gathered([]).table.rows == ()
    assert gathered([Take("x", Path("x"), review(1, sheet=False))]).left_out == ("x",)


def test_labels_are_proposed_in_standing_order_from_those_left() -> None:
    line_up = ["Red", "Blue", "K", "Sun", "Moon"]
    two = [Take("a", Path("/r/a"), review(2, labels=("Blue", "red"))), Take("b", Path("/r/b"), review(2))]
    assert proposed_labels(line_up, two, Path("/r/b")) == ((1, "K"), (2, "Sun"))
    assert proposed_labels(line_up[:3], two, Path("/r/b")) == ()  # one label for two dancers would be a guess
    assert proposed_labels(line_up, two, Path("/r/a")) == ()  # they have labels
    made = label_corrections(two[1].review, ((1, "K"), (2, "Sun")))
    assert [(one.kind, one.label) for one in made] == [("label", "K"), ("label", "Sun")]
    with pytest.raises(BadInput):
        label_corrections(two[1].review, ((9, "K"),))


def test_a_lesson_is_found_by_any_of_its_reviews(tmp_path: Path) -> None:
    for name in ("a", "b", "gone"):
        (tmp_path / name).mkdir()
        if name != "gone":
            (tmp_path / name / "review.json").write_text("{}")
    with open_library(tmp_path / "library.sqlite3") as library:
        lesson = library.add_lesson(library.add_class("Tuesday"), "2031-03-04", "Second evening")
        for name in ("a", "b", "gone"):
            library.add_review(tmp_path / name, lesson_id=lesson)
        found = lesson_of(library, tmp_path / "b")
        assert found is not None
        assert found[0].title == "Second evening"
        assert found[1] == (tmp_path / "a", tmp_path / "b")
        assert lesson_of(library, tmp_path / "c") is None


def test_evidence_beside_every_criterion_and_no_sole_ground() -> None:
    made = review(1)
    restarts = [
        {"wall": 2, "after": "restart", "time_s": 3.0, "caught": True},
        {"wall": 3, "after": "tag", "time_s": 9.0, "caught": None},
    ]
    made["dancers"][0]["sheet"] = {"judged": 31, "as_written": 30, "differs": [], "restarts": restarts}
    found = evidence(made, made["dancers"][0])
    assert tuple(found) == CRITERIA
    assert found[CRITERIA[0]].startswith("As a rule")
    assert found[CRITERIA[1]] == "31 landings could be judged, none surely on the other foot."
    assert found[CRITERIA[2]] == "31 landings could be judged; in one place, no step or another one."
    assert found[CRITERIA[3]].startswith("1 of 1 restarts")
    assert found[CRITERIA[4]] == OWN_EYE
    assert "a count behind" not in found[CRITERIA[0]]
    beside = {**made["dancers"][0], "flags": [flag("count ahead", 1.0, 9.0), flag("count behind", 20.0, named=False)]}
    assert evidence(made, beside)[CRITERIA[0]].endswith("In one place, a count behind or ahead.")
    assert "sole ground for a grade" in NOT_SOLE
    del made["dancers"][0]["sheet"]
    feet = evidence(made, made["dancers"][0])
    assert {feet[c] for c in CRITERIA[1:4]} == {"Not measured: it needs more of this dancer's feet in sight."}
    sheet = evidence({**made, "dance": None}, made["dancers"][0])
    assert {sheet[c] for c in CRITERIA[1:4]} == {"Not measured: it needs a dance sheet."}
    made["dancers"][0]["own_version"] = True
    own = evidence(made, made["dancers"][0])
    assert {own[c] for c in CRITERIA[1:4]} == {"Not set against the sheet: it is a version of their own."}
    assert not any(word in " ".join(LEVELS) for word in RANKING)


WALLS = "Walls were not measured: two must be in sight."
RESTARTS = "Restarts and tags were not measured: the counts after one must be in sight."


@pytest.mark.parametrize(
    ("walls", "caught", "said"),
    [
        (1, [None], f"{WALLS} {RESTARTS}"),
        (1, [True, None], f"1 of 1 restarts and tags were caught. {WALLS}"),
        (3, [None], f"3 walls were seen, each facing as the dance has it. {RESTARTS}"),
        (3, [], "3 walls were seen, each facing as the dance has it."),
        (0, [], WALLS),
    ],
)
def test_walls_and_restarts_name_only_what_is_missing(walls: int, caught: list[bool | None], said: str) -> None:
    made = review(1)
    restarts = [{"wall": 2, "after": "restart", "time_s": 3.0, "caught": one} for one in caught]
    made["dancers"][0]["sheet"] = {"judged": 31, "as_written": 30, "differs": [], "restarts": restarts}
    made["dancers"][0]["walls"] = [{"count": 1.0, "walls": walls, "differs": []}] if walls else []
    assert evidence(made, made["dancers"][0])[CRITERIA[3]] == said


def test_evidence_tells_phrasing_in_place_of_a_hard_count() -> None:
    made = review(1)
    made["dancers"][0]["phrasing"] = [{"count": 5.0, "foot": "left", "offset_ms": 90.0, "interval_ms": 12.0, "walls": 3, "off": 3}]
    assert "how this dancer phrases it" in evidence(made, made["dancers"][0])[CRITERIA[0]]


def test_a_label_finds_its_dancer_whatever_its_capitals() -> None:
    made = review(2, labels=("Red", None))
    assert with_label(made, "rED")["id"] == 1  # type: ignore[index]
    assert with_label(made, "Blue") is None
