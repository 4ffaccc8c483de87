"""Reading and writing dance sheets: what spreadsheets make of them, what is refused and in which words, and the way back."""

from __future__ import annotations

import csv
import io
import random
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from work import calls

from motion.base.errors import SheetError
from motion.dance.figures import FIGURES, MOVES
from motion.dance.sheet import parse_sheet, read_sheet, sheet_text

REPO = Path(__file__).resolve().parents[2]
SAMPLES = REPO / "sample_clips"
SHARED = REPO.parent / "shared" / "dances"
HEADER = "# title: Test\n# counts: 8\n# walls: 1\n"
ROWS = "".join(f"{n},{'RL'[(n + 1) % 2]},side,\n" for n in range(1, 9))
PLAIN = HEADER + "count,foot,move,turn\n" + ROWS


def content(value: Any) -> Any:
    """A sheet as nested tuples, all but the line numbers, which a new text may change."""
    if is_dataclass(value):
        return tuple((f.name, content(getattr(value, f.name))) for f in fields(value) if f.name != "row")
    return tuple(content(part) for part in value) if isinstance(value, tuple) else value


def test_a_plain_sheet_by_hand() -> None:
    sheet = read_sheet(SAMPLES / "lantern.csv")
    assert (sheet.title, sheet.counts, sheet.walls, sheet.beats_per_bar, len(sheet.rows)) == ("Lantern", 32, 4, 4, 36)
    row = sheet.rows[6]
    assert (row.count, row.foot, row.move, row.turn_deg, row.row) == (6.0, "right", "in place", -180.0, 11)
    assert sheet.rows[3].count == 3.5
    assert sheet.section == 8
    waltz = read_sheet(SAMPLES / "millpond.csv")
    assert (waltz.beats_per_bar, waltz.section) == (3, 6)


def test_the_sample_sheets_are_those_of_the_clips() -> None:
    if not SHARED.is_dir():
        pytest.skip("the clips' dance sheets are not beside this checkout")
    both = [path for path in sorted(SHARED.glob("*.csv")) if (SAMPLES / path.name).is_file()]
    assert len(both) >= 5
    for path in both:
        assert (SAMPLES / path.name).read_text() == path.read_text()


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.csv")), ids=lambda p: p.stem)
def test_samples_come_back_as_they_were(path: Path) -> None:
    sheet = read_sheet(path)
    text = sheet_text(sheet)
    assert content(parse_sheet(text, path.name)) == content(sheet)
    assert sheet_text(parse_sheet(text, path.name)) == text


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(PLAIN.replace(",", ";"), id="semicolons"),
        pytest.param(PLAIN.replace(",", "\t"), id="tabs"),
        pytest.param("\ufeff" + PLAIN, id="mark at the start"),
        pytest.param(PLAIN.replace("\n", "\r\n"), id="line ends of another system"),
        pytest.param(PLAIN.replace("\n", "\r"), id="old line ends"),
        pytest.param(PLAIN.replace("\n", ",,,\n"), id="empty cells behind"),
        pytest.param(PLAIN.replace("\n", "\n\n"), id="blank lines"),
        pytest.param(PLAIN.replace("\n", "\n,,,\n"), id="empty rows"),
        pytest.param(PLAIN.replace("\n#", ",#", 2), id="merged header lines"),
        pytest.param(PLAIN.replace("\n#", ";;#", 1).replace("\n#", ";#").replace(",", ";"), id="merged header lines, semicolons"),
        pytest.param(PLAIN.upper(), id="capitals"),
        pytest.param(PLAIN.replace("count,foot,move,turn\n", ""), id="no column names"),
        pytest.param(PLAIN.replace("count,foot,move,turn", "Count,,Move,"), id="merged column names"),
        pytest.param(PLAIN.replace("count,foot,move,turn", "beats,feet,steps,turns"), id="other column names"),
        pytest.param("".join(f'"{line}",,\n' if line.startswith("#") else f"{line}\n" for line in PLAIN.splitlines()), id="quoted"),
        pytest.param(PLAIN.replace("# ", "#"), id="no space behind the sign"),
        pytest.param(PLAIN.replace(",R,", ",right,").replace(",L,", ",Left,"), id="feet in words"),
        pytest.param(PLAIN.replace(",side", ", step side "), id="step side"),
    ],
)
def test_what_spreadsheets_do_to_a_sheet_makes_no_difference(text: str) -> None:
    sheet, plain = parse_sheet(text, "t"), parse_sheet(PLAIN, "t")
    assert content(sheet.rows) == content(plain.rows)
    assert (sheet.counts, sheet.walls) == (8, 1)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "sheet.csv"
    path.write_bytes(PLAIN.replace("Test", "Früh").encode(encoding))
    assert read_sheet(path).title == "Früh"


@pytest.mark.parametrize(
    ("cell", "turn_deg"),
    [("1/4 L", -90), ("1/4 left", -90), ("1/4L", -90), ("¼ R", 90), ("R 1/2", 180), ("1/2 turn right", 180), ("3/4 l", -270),
     ("Full R", 360), ("1/8 R", 45), ("-", 0), ("", 0)],
)  # fmt: skip
def test_turns(cell: str, turn_deg: float) -> None:
    assert parse_sheet(PLAIN.replace("8,L,side,", f"8,L,side,{cell}"), "t").rows[-1].turn_deg == turn_deg


def test_half_counts_in_all_spellings() -> None:
    rows = "1,R,side,\n&,L,together,\n2,R,side,\n3&,L,side,\n4 and,R,side,\n5a,L,side,\n6A,R,side,\n7 &,L,side,\n"
    counts = [row.count for row in parse_sheet(HEADER + rows, "t").rows]
    assert counts == pytest.approx([1, 1.5, 2, 3.5, 4.5, 5 + 2 / 3, 6 + 2 / 3, 7.5])


def test_a_figure_over_a_span_is_its_steps() -> None:
    for span in ("1-4", "1 to 4", "1–4", "1 TO 4"):
        sheet = parse_sheet(HEADER + f"{span},R,Vine,1/4 R,first,easy\n5&6,L,shuffle\n7-8,R,rock back", "t")
        assert [(r.count, r.foot, r.move) for r in sheet.rows] == [
            (1, "right", "side"), (2, "left", "behind"), (3, "right", "side"), (4, "left", "touch"),
            (5, "left", "forward"), (5.5, "right", "together"), (6, "left", "forward"),
            (7, "right", "back"), (8, "left", "recover"),
        ]  # fmt: skip
        assert [r.turn_deg for r in sheet.rows[:4]] == [0, 0, 90, 0]
        assert (sheet.rows[0].note, sheet.rows[0].option, sheet.rows[1].note) == ("first", "easy", "")
        assert "1 to 4,R,vine,1/4 R,first,easy" in sheet_text(sheet)


def test_the_side_in_a_figures_name_stands_for_the_foot() -> None:
    sheet = parse_sheet(HEADER + "1-4,,Vine Left,\n5-8,,weave right,", "t")
    assert (sheet.rows[0].foot, sheet.rows[4].foot) == ("left", "left")  # a weave to the right crosses with the left foot


def test_counts_that_begin_again_in_every_section_run_on() -> None:
    text = (
        HEADER.replace("8", "16") + "Vines\n1-4,R,vine\n5-8,L,vine\nAgain,,,\n1,R,side\n1&,L,together\n2 to 4,R,walk\n5-8,L,vine\n"
    )
    sheet = parse_sheet(text, "t")
    assert [row.count for row in sheet.rows] == [1, 2, 3, 4, 5, 6, 7, 8, 9, 9.5, 10, 11, 12, 13, 14, 15, 16]
    assert (sheet.rows[0].heading, sheet.rows[8].heading) == ("Vines", "Again")
    assert content(parse_sheet(sheet_text(sheet), "t")) == content(sheet)


def test_header_restarts_tags_and_what_is_not_known() -> None:
    sheet = parse_sheet(
        HEADER
        + "# version: 3\n# Meter: 4/4\n# bpm: 112.5 BPM\n# intro: on the vocals\n# level: Improver\n# half: 0.6\n"
        + "# colour: blue, green\n# a remark\n# restart: wall 3 after 4 (facing 6:00)\n# tag: walls 2 and 5 after 8, 4 counts\n"
        + ROWS
        + "tag 1,R,sway,\ntag 2,L,sway,\n",
        "t",
    )
    assert (sheet.version, sheet.bpm, sheet.intro, sheet.level, sheet.half_at) == ("3", 112.5, "on the vocals", "Improver", 0.6)
    assert sheet.extra == (("colour", "blue, green"), ("", "a remark"))
    assert [(r.wall, r.after, r.note) for r in sheet.restarts] == [(3, 4, "facing 6:00")]
    assert [(t.wall, t.after, t.counts, len(t.rows)) for t in sheet.tags] == [(2, 8, 4, 2), (5, 8, 4, 2)]
    assert content(parse_sheet(sheet_text(sheet), "t")) == content(sheet)


@pytest.mark.parametrize(
    "rows",
    [
        "tag 1,R,sway,\ntag 2,L,sway,\n",
        "Tag 1,R,sway,\nTAG: 2,L,sway,\n",
        "tag,1,R,sway,\ntag,2,L,sway,\n",
        "1,R,sway,,tag\n2,L,sway,,tag\n",
        "tag 1 to 2,R,sway,\n",
    ],
)
def test_rows_are_marked_as_tag_in_several_ways(rows: str) -> None:
    sheet = parse_sheet(PLAIN.replace("turn\n", "turn,note\n") + "# tag: wall 2 after 8\n" + rows, "t")
    assert [(r.count, r.foot, r.move) for r in sheet.tags[0].rows] == [(1, "right", "sway"), (2, "left", "sway")]
    assert len(sheet.rows) == 8


def test_a_column_of_its_own_for_marks() -> None:
    text = HEADER + "# tag: wall 1 after 8\nmark,count,foot,move,turn\n" + "".join(f",{row}\n" for row in ROWS.splitlines())
    sheet = parse_sheet(text + "tag,1,R,side,\ntag,2,L,touch,\n", "t")
    assert (len(sheet.rows), len(sheet.tags[0].rows)) == (8, 2)


def test_parts_order_and_ending() -> None:
    sheet = read_sheet(SAMPLES / "paper-lighthouse.csv")
    assert [(part.name, part.counts) for part in sheet.parts] == [("A", 16), ("B", 8)]
    assert sheet.order == ("A", "B", "A", "A", "B")
    assert (sheet.counts, len(sheet.ending)) == (16, 1)


def test_cells_like_formulas_are_text_and_go_out_safe() -> None:
    for note in ("=1+1", "+1", "-1", "@now", "'=1+1", "''=1", "'plain", "=cmd|' /C calc'!A0"):
        sheet = parse_sheet(PLAIN, "t")
        table = io.StringIO()
        csv.writer(table).writerow(["1", "R", "side", "", note, note])
        text = HEADER + "count,foot,move,turn,note,option\n" + table.getvalue() + ROWS.split("\n", 1)[1]
        sheet = parse_sheet(text, "t")
        assert sheet.rows[0].note == (note[1:] if note in ("'=1+1", "''=1") else note)
        out = sheet_text(sheet)
        assert content(parse_sheet(out, "t")) == content(sheet)
        for cells in csv.reader(io.StringIO(out)):
            assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)


def test_ten_thousand_rows_are_read_each_once_and_more_than_the_limit_is_said() -> None:
    def long(rows: int) -> str:
        return f"# counts: {rows}\n# walls: 1\ncount,foot,move,turn\n" + "".join(
            f"{n},{'RL'[n % 2]},side,\n" for n in range(1, rows + 1)
        )

    assert len(parse_sheet(long(10_000), "long").rows) == 10_000
    few, many = (calls(lambda rows=rows: parse_sheet(long(rows), "long")) for rows in (500, 2_000))
    assert many < 4.4 * few  # four times the rows, four times the work
    with pytest.raises(SheetError, match="more than 20000 rows"):
        parse_sheet(long(20_000) + "1,R,side,\n", "long")


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("", ["holds no steps", "count, foot, move and turn"]),
        ("\n\n", ["holds no steps"]),
        (HEADER, ["holds no steps"]),
        ("hello\nworld\n", ["holds no steps"]),
        (PLAIN.replace("3,R,side", "3,R,tuoch"), ["Row 7 of t.csv, column move: 'tuoch'", "mean 'touch'", "side, behind"]),
        (PLAIN.replace("3,R,side", "3,R,charleston"), ["'charleston kick' or 'charleston touch'"]),
        (PLAIN.replace("3,R,side", "3,R,vien"), ["Did you mean 'vine'"]),
        (PLAIN.replace("3,R,side", "3,R,"), ["column move: '' says nothing"]),
        (PLAIN.replace("3,R,side", '3,"R,side'), ["Row 7 of t.csv, column foot: 'R,side, "]),  # a quotation mark that never ends
        (PLAIN.replace("3,R,side", "3,R,si\x1b[31mde"), ["column move: 'si [31mde'"]),  # what would colour a terminal
        (PLAIN.replace("3,R,side", "3,Q,side"), ["Row 7 of t.csv, column foot: 'Q' is not a foot", "Allowed are R, L"]),
        (PLAIN.replace("3,R,side", "3,rihgt,side"), ["Did you mean 'right'"]),
        (PLAIN.replace("3,R,side,", "3,R,side,1/3 L"), ["column turn: '1/3 L'", "1/8, 1/4, 1/2, 3/4 or full"]),
        (PLAIN.replace("3,R,side,", "3,R,side,1/4"), ["does not say which way", "L or R"]),
        (PLAIN.replace("3,R,side", "three,R,side"), ["column count: 'three' is not a count", "1& or 1a"]),
        (PLAIN.replace("3,R,side", "0,R,side"), ["'0' lies outside 1 to"]),
        (PLAIN.replace("3,R,side", "2.5,R,side"), ["'2.5' is not a count"]),
        ("1-4 Vine right, touch L\n5-6 Rock L forward\n", ["'1-4 Vine right' is not a count", "pasted into the page Dance sheet"]),
        (PLAIN.replace("3,R,side", "3-6,R,side"), ["spans several counts, but side is one step"]),
        (PLAIN.replace("3,R,side", "6-3,R,vine"), ["ends before it has begun"]),
        (PLAIN.replace("3,R,side", "04-Jan,R,vine"), ["turned into a date", "1 to 4"]),
        (PLAIN.replace("counts: 8", "counts: eight"), ["Row 2 of t.csv, line '# counts': 'eight'", "whole number"]),
        (PLAIN.replace("# counts: 8\n", ""), ["does not say how many counts", "end on count 8"]),
        (PLAIN.replace("# walls: 1\n", ""), ["does not say how many walls", "# walls: 4"]),
        (PLAIN.replace("walls: 1", "walls: 3"), ["line '# walls': '3'", "1, 2 and 4"]),
        (PLAIN.replace("# walls", "# metre: 5/4\n# walls"), ["'5/4' is not a metre", "4/4, 3/4"]),
        (PLAIN.replace("# walls", "# bpm: 12\n# walls"), ["line '# bpm': '12'", "from 30 to 300"]),
        (PLAIN.replace("# walls", "# counts: 16\n# walls"), ["a second time, after row 2"]),
        (PLAIN + "# restart: after 16\n", ["does not say where the restart falls", "wall 3 after 16"]),
        (PLAIN + "# restart: wall 0 after 16\n", ["counts walls or counts from 0"]),
        (PLAIN + "tag 1,R,side,\n", ["'tag' belongs to nothing said before", "# tag: wall 3 after 32"]),
        (PLAIN + "# tag: wall 2 after 8\n", ["a tag in wall 2, but no steps"]),
        (PLAIN.replace("count,foot,move,turn", "count,foot,turn"), ["lacks a column 'move'"]),
        ("# part: A\n" + ROWS + "# order: A B\n", ["dances part B, but has no such part"]),
        (ROWS + "# part: A\n" + ROWS, ["stands before the first part"]),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_told_in_one_sentence(text: str, parts: list[str]) -> None:
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "t.csv")
    for part in parts:
        assert part in str(caught.value)
    assert len(str(caught.value)) < 500
    assert "\n" not in str(caught.value)


def test_files_that_are_no_sheets(tmp_path: Path) -> None:
    cases = {"missing.csv": None, "book.csv": b"PK\x03\x04rest", "film.csv": b"\x00\x00\x00 ftypisom\x00\x00", "empty.csv": b""}
    words = {"missing.csv": "There is no dance sheet", "book.csv": "spreadsheet's own file", "film.csv": "not a text table",
             "empty.csv": "holds no steps"}  # fmt: skip
    for name, data in cases.items():
        if data is not None:
            (tmp_path / name).write_bytes(data)
        with pytest.raises(SheetError, match=words[name]):
            read_sheet(tmp_path / name)
    with pytest.raises(SheetError, match="is a folder"):
        read_sheet(tmp_path)
    (tmp_path / "large.csv").write_bytes(b" " * 2_000_001)
    with pytest.raises(SheetError, match="larger than 2 MB"):
        read_sheet(tmp_path / "large.csv")


def random_sheet(rng: random.Random) -> str:
    """A sheet of any words in any order: it need not be a dance, only to come back."""

    def text() -> str:
        return "".join(rng.choice("ab é,;\"'=+-@#&:/1") for _ in range(rng.randint(0, 8))).strip()

    def rows(mark: str, headings: bool) -> list[list[str]]:
        out, count = [], 1
        for _ in range(rng.randint(1, 12)):
            if headings and rng.random() < 0.2:
                out.append([f"# section: {text() or 'x'}"])
            foot, turn = rng.choice(["R", "L", ""]), rng.choice(["", "", "1/4 L", "1/2 R", "full R", "1/8 L"])
            if rng.random() < 0.4:
                length = rng.randint(2, 8)
                out.append([f"{mark}{count} to {count + length - 1}", foot, rng.choice(FIGURES).name, turn, text(), text()])
                count += length
            else:
                out.append([f"{mark}{count}{rng.choice(['', '&', 'a'])}", foot, rng.choice(list(MOVES)), turn, text(), text()])
                count += rng.randint(0, 1)
        return out

    lines = [[f"# title: {text() or 'T'}"], [f"# counts: {rng.randint(1, 64)}"], [f"# walls: {rng.choice([1, 2, 4])}"]]
    lines += [[f"# {key}: {value}"] for key, value in (("metre", "3/4"), ("bpm", "101.5"), ("half", "0.62"), ("colour", text()))
              if rng.random() < 0.4]  # fmt: skip
    lines.append(["count", "foot", "move", "turn", "note", "option"])
    if rng.random() < 0.3:
        lines += [["# part: A, 40 counts"], *rows("", True), ["# part: B"], *rows("", True), ["# parts: B A B"]]
    else:
        lines += rows("", True)
    if rng.random() < 0.5:
        lines += [[f"# restart: wall {rng.randint(1, 5)} after {rng.randint(1, 30)} ({text()})"], *rows("restart ", False)]
    for _ in range(rng.randint(0, 2)):
        lines += [[f"# tag: wall {rng.randint(1, 5)} after {rng.randint(1, 30)}"]] * rng.randint(1, 2) + rows("tag ", False)
    if rng.random() < 0.3:
        lines += rows("ending ", False)
    out = io.StringIO()
    csv.writer(out).writerows(lines)
    return out.getvalue()


def test_random_sheets_come_back_whole() -> None:
    rng = random.Random(20)
    for _ in range(300):
        sheet = parse_sheet(random_sheet(rng), "random")
        text = sheet_text(sheet)
        again = parse_sheet(text, "random")
        assert content(again) == content(sheet), text
        assert sheet_text(again) == text
