"""The clip against the sheet: what was danced as written, what questions the sheet, whether restarts were caught."""

from __future__ import annotations

import pytest
from made_dances import COUNTS, MOVES, T, dance, danced

from motion.base.types import DanceSheet, Restart, SheetRow, Tag
from motion.tell.sheet_words import sheet_told
from motion.timing.flags import Danced, flags_of
from motion.timing.sheet_agreement import against_sheet

ROWS = tuple(SheetRow(n + 1.0, "left" if n % 2 else "right", move, row=n + 1) for n, move in enumerate(MOVES))
SHEET = DanceSheet("Made", COUNTS, 1, ROWS)


def said(one: Danced, sheet: DanceSheet = SHEET) -> dict:
    return against_sheet(one, flags_of(one, T), sheet, T)


def test_a_clip_that_equals_its_sheet() -> None:
    out = said(danced(dance(3)))
    assert out == {"judged": 24, "as_written": 24, "differs": [], "restarts": []}
    told = sheet_told({"sheet": out})
    assert told is not None
    assert told.words == "24 of the 24 landings that could be judged were danced as the sheet writes them."


def test_a_difference_on_one_wall_is_the_dancers_and_on_most_walls_the_sheets() -> None:
    once = said(danced(dance(3), other_foot=frozenset({4})))
    assert [(r["count"], r["walls"], r["of"], r["always"]) for r in once["differs"]] == [(5.0, [1], 3, False)]
    assert (once["judged"], once["as_written"]) == (24, 23)
    always = said(danced(dance(3), other_foot=frozenset({4, 12, 20})))
    assert [(r["count"], r["walls"], r["what"], r["always"]) for r in always["differs"]] == [(5.0, [1, 2, 3], ["other foot"], True)]
    told = sheet_told({"sheet": always})
    assert told is not None
    assert "Count 5 differs on 3 of 3 walls (the other foot): does the sheet say what is meant?" in told.words


def test_a_foot_that_always_goes_elsewhere_questions_the_sheet() -> None:
    back = (0.22, -0.4)
    out = said(danced(dance(3), moved={4: back, 12: back, 20: back}))
    assert [(r["count"], r["walls"], r["always"]) for r in out["differs"]] == [(5.0, [1, 2, 3], True)]
    assert "place" in out["differs"][0]["what"]


@pytest.mark.parametrize(
    ("left_out", "caught"), [(frozenset(), True), (frozenset(range(8, 14)), False)], ids=["caught", "stood still"]
)
def test_restarts(left_out: frozenset[int], caught: bool) -> None:
    sheet = DanceSheet("Made", COUNTS, 1, ROWS, restarts=(Restart(1, 8),), tags=(Tag(9, 8, 2, ()),))
    out = said(danced(dance(3), left_out=left_out), sheet)
    assert [(r["wall"], r["after"], r["caught"]) for r in out["restarts"]] == [(2, "restart", caught)]
    told = sheet_told({"sheet": out})
    assert told is not None
    assert f"The restart before wall 2, at 0:05.0, {'was caught' if caught else 'was not caught'}." in told.words


def test_a_restart_out_of_sight_is_not_judged() -> None:
    one = danced(dance(3), left_out=frozenset(range(8, 24)))
    unseen = Danced(one.found, one.due, one.at_s, one.gap_s, one.match, True, (one.at_s[0], one.at_s[7]))
    out = said(unseen, DanceSheet("Made", COUNTS, 1, ROWS, restarts=(Restart(1, 8),)))
    assert [r["caught"] for r in out["restarts"]] == [None]
    assert sheet_told({}) is None
