"""Pasted prose: what is understood becomes rows, all else waits as it was, and nothing is guessed."""

from __future__ import annotations

import pytest

from motion.base.errors import SheetError
from motion.dance.check import check_sheet
from motion.dance.prose import read_prose
from motion.dance.sheet import parse_sheet, sheet_text
from motion.dance.table import lines_of, look, table_text

WHOLE = """Pebble Road
Written by: somebody
32 count, 4 wall, beginner line dance
Intro: 16 counts

Section 1: Vine right, vine left
1-4 Vine right with touch
5-8 Vine left, touch R

S2: ROCKING CHAIR, STEP TOUCH
1-2 Rock R forward, recover on L
3-4 Rock R back, recover on L
5-6 Step R to right side, touch L beside R
7-8 Step L to left side, touch R beside L
(keep it small)

[17-24] Shuffles
1&2 Shuffle forward R-L-R
3&4 Shuffle forward LRL
5-6 Step R forward, pivot 1/2 turn left
7&8 Kick ball change R

Section 4: Jazz box quarter
1-2 Cross R over L, step L back
3-4 Turn 1/4 right stepping R to side, step L together
5-8 Wiggle it like you mean it
Restart on wall 3 after 16 counts (facing 6:00)
Tag: at the end of wall 2
1-4 Sway R, L, R, L
"""


def rows(text: str) -> list[tuple[str, ...]]:
    return [(x.kind, x.count, x.foot, x.move, x.turn) for x in read_prose(text).lines if x.kind not in ("heading", "note")]


def test_a_whole_dance_as_people_write_it() -> None:
    pasted = read_prose(WHOLE)
    assert {k: pasted.header[k] for k in ("title", "counts", "walls", "level", "intro")} == {
        "title": "Pebble Road", "counts": "32", "walls": "4", "level": "beginner", "intro": "16 counts",
    }  # fmt: skip
    assert pasted.waiting == 1
    said = [(x.kind, x.count, x.foot, x.move, x.turn) for x in pasted.lines]
    for wanted in (
        ("step", "1 to 4", "R", "vine", ""), ("step", "5 to 8", "L", "vine", ""), ("step", "9 to 10", "R", "rock forward", ""),
        ("step", "14", "L", "touch", ""), ("step", "19 to 20", "L", "shuffle forward", ""), ("step", "21 to 22", "R", "pivot", "1/2 L"),
        ("step", "25", "R", "cross", ""), ("step", "27", "R", "side", "1/4 R"), ("tag", "1 to 4", "R", "sways", ""),
    ):  # fmt: skip
        alike = [x for x in said if x[:3] == wanted[:3] and x[4] == wanted[4]]
        assert any(x[3].startswith(wanted[3].removesuffix("s")) for x in alike), (wanted, alike)
    assert [x.words for x in pasted.lines if x.kind == "waits"] == ["5-8 Wiggle it like you mean it"]
    assert [x.words for x in pasted.lines if x.kind == "restart"] == ["wall 3 after 16 (facing 6:00)"]
    assert [x.words for x in pasted.lines if x.kind == "tag" and not x.count] == ["wall 2 after 32"]
    assert [x.words for x in pasted.lines if x.kind == "note"] == ["(keep it small)"]


def test_what_waits_is_found_and_what_is_prose_comes_back() -> None:
    pasted = read_prose(WHOLE.replace("5-8 Wiggle it like you mean it", "5-8 Rocking chair R\n5-8 then wiggle"))
    looked = look(pasted.header, pasted.lines)
    assert looked.sheet is not None
    assert [f.words for f in looked.findings if "wait" in f.words] == ["These words wait to be written as steps: 5-8 then wiggle"]
    assert not [f for f in looked.findings if f.grade == "error"]
    row = next(f.row for f in looked.findings if "wait" in f.words)
    assert pasted.lines[row - 1].kind == "waits"
    text = sheet_text(looked.sheet)
    kept = lines_of(parse_sheet(text, "t"))
    assert [x.words for x in kept if x.kind == "note"] == ["(keep it small)"]
    assert [x.words for x in kept if x.kind == "waits"] == ["5-8 then wiggle"]
    assert [f.words for f in check_sheet(looked.sheet) if "wait" in f.words] == [
        "These words wait to be written as steps: 5-8 then wiggle"
    ]
    assert "# Written by: somebody" in text
    assert not any("stands at count" in f.words for f in looked.findings)  # prose within a section is no heading


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("1-2 Walk forward R, L", [("step", "1 to 2", "R", "walk", "")]),
        ("1&2 Coaster step R", [("step", "1 to 2", "R", "coaster", "")]),
        ("1&2 Left coaster step", [("step", "1 to 2", "L", "coaster", "")]),
        ("1-4 Weave right", [("step", "1 to 4", "L", "weave", "")]),
        ("1-4 Jazz box R turning 1/4 right", [("step", "1 to 4", "R", "jazz box", "1/4 R")]),
        ("1 Step right foot forward", [("step", "1", "R", "forward", "")]),
        ("1 Touch L to left side", [("step", "1", "L", "toe", "")]),
        ("1-2 Step R back, hold", [("step", "1", "R", "back", ""), ("step", "2", "", "hold", "")]),
        ("1-2 Stomp R, stomp up L", [("step", "1", "R", "stomp", ""), ("step", "2", "L", "stomp up", "")]),
        ("Counts 1-2: Step R side, close L", [("step", "1", "R", "side", ""), ("step", "2", "L", "together", "")]),
        ("1-4 Do something nice", [("waits", "", "", "", "")]),
        ("1-4 Vine right with a somersault", [("waits", "", "", "", "")]),
        ("1-2 Step forward", [("waits", "", "", "", "")]),  # one step for two counts, and no foot
        ("1 Step forward", [("waits", "", "", "", "")]),  # which foot?
        ("1-2 Step R forward, pivot 1/2", [("step", "1 to 2", "R", "pivot 1/2", "")]),  # which can go one way only
        ("1 Step R forward turning 1/4", [("waits", "", "", "", "")]),  # which way?
        ("1-3 Step R side, step L behind", [("waits", "", "", "", "")]),
    ],
)
def test_lines_by_hand(line: str, wanted: list[tuple[str, ...]]) -> None:
    assert [(k, c, f, m.removesuffix(" forward") if m.startswith("walk") else m, t) for k, c, f, m, t in rows(line)] == wanted


def test_the_free_foot_is_known_only_from_the_rows_before() -> None:
    assert rows("1-4 Vine right\n5&6 Coaster step\n")[1] == ("step", "5 to 6", "L", "coaster", "")
    assert rows("1-4 Vine right\n5 Wobble about\n6 Step forward\n")[2][0] == "waits"  # after a line that waits it is not known


def test_counts_that_begin_again_in_every_section_run_on_by_its_length() -> None:
    assert [r[1] for r in rows("1-4 Vine right\n5-8 Vine left\n1-4 Vine right\n")] == ["1 to 4", "5 to 8", "9 to 12"]
    waltz = "Time: 3/4\n1-3 Twinkle L\n4-6 Twinkle R\n1-3 Twinkle L\n"
    assert [r[1] for r in rows(waltz)] == ["1 to 3", "4 to 6", "7 to 9"]


def test_any_text_is_read_without_complaint() -> None:
    for text in ("", "\n\n", "=1+1", "1-", "1-2", "&", "a" * 10_000, "1&2&3&4& \x00 \ufeff", "9-1 Vine right", "Restart", "Tag: sometime",
                 "1-999999999 Vine right", "1 to 4 vine right", "٣ side", "½ turn", "Ending: big pose\n1 Stomp R"):  # fmt: skip
        pasted = read_prose(text)
        table_text(pasted.header, pasted.lines)
        look(pasted.header, pasted.lines)
    with pytest.raises(SheetError, match="longer than any dance"):
        read_prose("a" * 2_000_001)
