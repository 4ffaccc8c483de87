"""The editor's table and the sheet say the same, and findings name the table's rows."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from dance.test_sheet import content, random_sheet
from work import calls

from motion.dance.check import check_sheet
from motion.dance.figures import FIGURES, MOVES
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.table import TableLine, as_rows, from_rows, header_of, lines_of, look, row_words, table_text, vocabulary

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
HEADER = {"title": "Test", "counts": "8", "walls": "1"}


def steps(*rows: str) -> list[TableLine]:
    return [TableLine("step", *row.split(",")) for row in rows]


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.csv")), ids=lambda p: p.stem)
def test_samples_go_through_the_table_without_loss(path: Path) -> None:
    sheet = read_sheet(path)
    lines = from_rows(as_rows(lines_of(sheet)))
    text, rows = table_text(header_of(sheet), lines)
    assert content(parse_sheet(text, "t")) == content(sheet)
    assert sorted(rows.values()) == list(range(1, len(lines) + 1))
    looked = look(header_of(sheet), lines)
    assert [f.words for f in looked.findings] == [f.words for f in check_sheet(sheet)]


def test_random_sheets_go_through_the_table_without_loss() -> None:
    rng = random.Random(6)
    for _ in range(150):
        sheet = parse_sheet(random_sheet(rng), "random")
        again = parse_sheet(table_text(header_of(sheet), lines_of(sheet))[0], "random")
        # spaces within a note are the one thing that a cell of the editor does not keep
        assert content(again.rows) == content(sheet.rows) or any("  " in row.note for row in sheet.rows)
        assert (again.title, again.counts, again.order) == (sheet.title, sheet.counts, sheet.order)
        assert [(t.wall, t.after, t.counts) for t in again.tags] == [(t.wall, t.after, t.counts) for t in sheet.tags]


def test_every_word_of_the_trade_can_be_chosen() -> None:
    words = vocabulary()
    assert set(MOVES) | {figure.name for figure in FIGURES} <= set(words)
    assert len(set(words)) == len(words)


def test_all_cells_that_cannot_be_read_are_told_each_with_its_row() -> None:
    lines = [TableLine("heading", words="First"), *steps("1,R,sied,", "two,L,side,", "3,Q,side,1/3 L")]
    looked = look(HEADER, lines)
    assert looked.sheet is None
    assert [(f.row, f.words.split("'")[1]) for f in looked.findings] == [(2, "sied"), (3, "two"), (4, "Q"), (4, "1/3 L")]
    assert "Did you mean 'side'" in looked.findings[0].words
    assert row_words(lines, 2) == "Row 2, count 1: "
    assert row_words(lines, 0) == ""


def test_findings_carry_the_tables_rows() -> None:
    lines = [TableLine("heading", words="First"), TableLine(), *steps("1 to 4,R,vine,", "5 to 8,R,vine,")]
    (finding,) = look(HEADER, lines).findings
    assert (finding.grade, finding.row) == ("error", 4)
    lines = [*steps("1 to 4,R,vine,", "5 to 8,L,vine,"), TableLine("restart", words="whenever you like")]
    (finding,) = look(HEADER, lines).findings
    assert finding.row == 3
    assert "does not say where the restart falls" in finding.words
    assert look({"title": "x"}, steps("1,R,side,")).findings[0].row == 0


def test_cells_like_formulas_go_out_safe_and_come_back() -> None:
    lines = [TableLine("step", "1", "R", "side", "", "=1+1", "@x"), *steps("2,L,touch,")]
    text = table_text({"title": "=cmd()", "counts": "2", "walls": "1"}, lines)[0]
    assert "1,R,side,,'=1+1,'@x" in text
    assert not any(line.startswith(("=", "+", "-", "@")) for line in text.splitlines())
    sheet = parse_sheet(text, "t")
    assert (sheet.title, sheet.rows[0].note, sheet.rows[0].option) == ("=cmd()", "=1+1", "@x")


def test_an_editors_empty_cells_say_nothing() -> None:
    rows = [{"what": None, "count": "1", "foot": "R", "move": "side", "turn": None, "words": float("nan"), "easier": None}, {}]
    assert from_rows(rows) == [TableLine("step", "1", "R", "side"), TableLine()]
    assert from_rows(as_rows([TableLine("heading", words="–")])) == [TableLine("heading", words="–")]


def test_a_hundred_rows_are_read_and_checked_with_little_work() -> None:
    text = "# counts: 100\n# walls: 1\ncount,foot,move,turn\n" + "".join(f"{n},{'RL'[(n + 1) % 2]},side,\n" for n in range(1, 101))
    assert calls(lambda: check_sheet(parse_sheet(text, "long"))) < 200 * 100  # a call takes about a tenth of a microsecond


def test_ten_thousand_rows_and_none_in_the_table() -> None:
    lines = steps(*(f"{n},{'RL'[(n + 1) % 2]},side," for n in range(1, 10_001)))
    looked = look({"counts": "10000", "walls": "1"}, lines)
    few, many = (calls(lambda rows=rows: look({"counts": str(rows), "walls": "1"}, lines[:rows])) for rows in (500, 2_000))
    assert many < 4.4 * few  # four times the rows, four times the work
    assert looked.sheet is not None
    assert "holds no steps" in look(HEADER, []).findings[0].words
