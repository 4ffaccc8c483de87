"""A draft from landings: a made demonstration comes back as its sheet, with faults that one wall has and another has not."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from motion.base.errors import BadInput
from motion.base.types import DanceSheet, Due
from motion.dance.check import check_sheet
from motion.dance.draft import Landed, draft_sheet, is_draft
from motion.dance.sheet import parse_sheet, read_sheet, sheet_text
from motion.dance.unroll import unroll

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
#: Where each word puts the foot against the other one, to its own side and forward, in leg lengths.
PLACES = {"side": (0.55, 0.0), "together": (0.22, 0.0), "forward": (0.22, 0.5), "back": (0.22, -0.5), "cross": (-0.05, 0.4),
          "behind": (-0.05, -0.4), "touch": (0.22, 0.1), "heel": (0.22, 0.5), "toe": (0.6, 0.0)}  # fmt: skip


def landed(due: Due, before: list[Landed]) -> Landed:
    side, ahead = PLACES.get(due.move, (0.22, 0.0))
    place = (side if due.foot == "right" else -side, ahead)
    if due.move in ("in place", "recover") and before:
        turn = math.radians(due.turn_deg)
        right, forward = before[-1].place  # of the other foot against this one
        place = (-right * math.cos(turn) + forward * math.sin(turn), -right * math.sin(turn) - forward * math.cos(turn))
    kind = "step" if due.takes_weight and due.lands else "shift" if due.takes_weight else "touch"
    assert due.foot is not None
    return Landed(due.count, 0.0, due.foot, kind, 0.9, place, due.facing_deg)  # type: ignore[arg-type]


def demonstration(sheet: DanceSheet, walls: int) -> list[Landed]:
    """Everything of the dance that comes to the floor or takes weight, facings running on."""
    out: list[Landed] = []
    facing_deg = 0.0
    for due in unroll(sheet, walls=walls):
        facing_deg += due.turn_deg
        if due.lands or (due.takes_weight and due.foot):
            out.append(replace(landed(due, out), facing_deg=facing_deg))
    return out


def agreement(draft: DanceSheet, sheet: DanceSheet) -> tuple[float, int]:
    """Share of the sheet's landings that the draft has, with count and foot; and how many it has that the sheet has not."""
    quiet = ("hold", "hitch", "kick", "scuff", "brush", "hook", "flick", "swivel")
    true = {(row.count, row.foot) for row in sheet.rows if row.move not in quiet}
    found = {(row.count, row.foot) for row in draft.rows if row.move not in quiet}
    return len(true & found) / len(true), len(found - true)


@pytest.mark.parametrize("name", ["lantern", "porchlight", "millpond", "shingle", "gravel"])
@pytest.mark.parametrize("walls", [1, 2, 3])
def test_a_demonstration_comes_back_as_its_sheet(name: str, walls: int) -> None:
    sheet = read_sheet(SAMPLES / f"{name}.csv")
    draft = draft_sheet(demonstration(sheet, walls), sheet.counts, title="D", made_from="x", beats_per_bar=sheet.beats_per_bar)
    assert agreement(draft, sheet) == (1.0, 0)
    assert sum(row.turn_deg for row in draft.rows) == sum(row.turn_deg for row in sheet.rows)
    assert (draft.walls, draft.section) == (sheet.walls, sheet.section)
    true = {row.count: row.move for row in sheet.rows}
    named = [(row.move, true[row.count]) for row in draft.rows if row.move != "hold"]
    assert sum(a == b for a, b in named) >= 0.8 * len(named), [n for n in named if n[0] != n[1]]
    assert not [f for f in check_sheet(draft) if f.grade == "error"]


def spoiled(change: Callable[[Landed], Landed | None], walls: int = 1) -> tuple[float, int]:
    sheet = read_sheet(SAMPLES / "porchlight.csv")
    seen = [new for one in demonstration(sheet, walls) if (new := change(one)) is not None]
    return agreement(draft_sheet(seen, 32, title="D", made_from="x"), sheet)


def test_a_late_landing_goes_back_to_its_own_count() -> None:
    late = spoiled(lambda one: replace(one, count=13.5, off=-0.2) if one.count == 13 else one)
    assert late == (1.0, 0)
    true_half = parse_sheet("# counts: 4\n# walls: 1\n1,R,side,\n1&,L,together,\n2,R,side,\n3,L,side,\n4,R,touch,\n", "t")
    draft = draft_sheet(demonstration(true_half, 1), 4, title="D", made_from="x")
    assert [row.count for row in draft.rows] == [1, 1.5, 2, 3, 4]


def test_what_one_wall_misses_the_others_have_and_what_one_has_twice_is_left_out() -> None:
    for missed in (4, 20):  # a touch, and a step whose weight could be worked out
        assert spoiled(lambda one, missed=missed: None if one.count == missed else one, walls=3) == (1.0, 0)  # type: ignore[misc]
    assert spoiled(lambda one: replace(one, foot="left", place=(-0.2, 0.0)) if one.count == 37 else one, walls=3)[0] == 1.0
    sheet = read_sheet(SAMPLES / "porchlight.csv")
    for walls in (2, 3):
        seen = demonstration(sheet, walls)
        twice = [*seen, replace(seen[5], count=seen[5].count + 0.5, strength=0.5)]
        draft = draft_sheet(sorted(twice, key=lambda one: one.count), 32, title="D", made_from="x")
        assert agreement(draft, sheet) == (1.0, 0)


def test_weight_that_came_back_unseen_is_worked_out() -> None:
    sheet = parse_sheet("# counts: 8\n# walls: 1\n1 to 4,R,rocking chair,\n5 to 8,R,rocking chair,\n", "t")
    seen = [one for one in demonstration(sheet, 1) if one.kind != "shift"]
    draft = draft_sheet(seen, 8, title="D", made_from="x")
    assert [(row.count, row.foot, row.move) for row in draft.rows[:4]] == [
        (1, "right", "forward"), (2, "left", "recover"), (3, "right", "back"), (4, "left", "recover"),
    ] or [row.move for row in draft.rows[1:3]] == ["recover", "back"]  # fmt: skip


def test_a_draft_says_so_in_its_header_and_comes_back() -> None:
    draft = draft_sheet(
        demonstration(read_sheet(SAMPLES / "lantern.csv"), 1), 32, title="Draft of x", made_from="the clip x.mp4", bpm=112.04
    )
    text = sheet_text(draft)
    assert "# draft: written down from the clip x.mp4; look at every row" in text
    assert "# bpm: 112" in text
    again = parse_sheet(text, "t")
    assert is_draft(again)
    assert not is_draft(read_sheet(SAMPLES / "lantern.csv"))


def test_places_and_facings_that_were_not_seen_leave_the_words_open() -> None:
    seen = [
        replace(one, place=(math.nan, math.nan), facing_deg=math.nan)
        for one in demonstration(read_sheet(SAMPLES / "porchlight.csv"), 1)
    ]
    draft = draft_sheet(seen, 32, title="D", made_from="x")
    assert {row.move for row in draft.rows} <= {"in place", "touch", "hold", "recover"}
    assert not any(row.turn_deg for row in draft.rows)


def test_what_cannot_be_written_down() -> None:
    with pytest.raises(BadInput, match="0 counts"):
        draft_sheet([], 0, title="D", made_from="x")
    with pytest.raises(BadInput, match="No landing lies after count 1"):
        draft_sheet([], 32, title="D", made_from="x")
    early = replace(demonstration(read_sheet(SAMPLES / "porchlight.csv"), 1)[0], count=-3.0)
    with pytest.raises(BadInput, match="No landing lies after count 1"):
        draft_sheet([early], 32, title="D", made_from="x")
