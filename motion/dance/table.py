"""A sheet as the lines of a table, for an editor: every line of the body one row, headings, tags, restarts and parts among them.

The table and the sheet's CSV say the same: a table is written as CSV and read by the one reader, so that there is one meaning.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from motion.base.errors import SheetError
from motion.base.types import DanceSheet, Finding
from motion.dance.cells import NOTE, WAITS, Place, plain_text, read_count, read_foot, read_move, read_turn, safe_text
from motion.dance.check import WAITING, check_sheet, waiting
from motion.dance.draft import DRAFT_KEY
from motion.dance.figures import MOVES, figures_by_name
from motion.dance.header import HEADER_KEYS, split_header
from motion.dance.sheet import parse_sheet, sheet_text
from motion.dance.song_plan import Paper

Kind = Literal["step", "heading", "note", "waits", "part", "restart", "tag", "ending"]
KINDS: tuple[Kind, ...] = ("step", "heading", "note", "waits", "part", "restart", "tag", "ending")
COLUMNS = ("count", "foot", "move", "turn", "note", "option")
#: What stands in a chosen cell that says nothing.
NOTHING = "–"
FEET = (NOTHING, "R", "L")
TURNS = (NOTHING, *(f"{amount} {side}" for amount in ("1/8", "1/4", "1/2", "3/4", "full") for side in ("R", "L")))
#: How the table's first column calls each kind.
KIND_WORDS: dict[Kind, str] = {
    "step": "Step", "heading": "Heading", "note": "Words", "waits": "Waits", "part": "Part", "restart": "Restart", "tag": "Tag",
    "ending": "Ending",
}  # fmt: skip
_MARK = re.compile(r"(tag|restart|ending)\s+(.*)", re.IGNORECASE)


@dataclass(frozen=True)
class TableLine:
    """One line of the table. kind: "step" in the wall or part, "tag", "restart" or "ending" with a count for a step of theirs and
    without one for the line that announces them; words: the note of a step, or all that a line without steps says."""

    kind: Kind = "step"
    count: str = ""
    foot: str = ""
    move: str = ""
    turn: str = ""
    words: str = ""
    option: str = ""


@dataclass(frozen=True)
class Looked:
    """What a table holds: the sheet, or None while it cannot be read, and findings with the table's rows (0 for the whole)."""

    sheet: DanceSheet | None
    findings: tuple[Finding, ...]


def vocabulary() -> tuple[str, ...]:
    """Every word for the move column: nothing, single moves, then figures, each once."""
    names = {figure.name: None for forms in figures_by_name().values() for figure in forms}
    return (NOTHING, *MOVES, *sorted((name for name in names if name not in MOVES), key=str.casefold))


def as_rows(lines: Sequence[TableLine]) -> list[dict[str, str]]:
    """The lines as the rows of an editor: what, count, foot, move, turn, words, easier."""
    return [
        {"what": KIND_WORDS[one.kind], "count": one.count, "foot": one.foot or NOTHING, "move": one.move or NOTHING,
         "turn": one.turn or NOTHING, "words": one.words, "easier": one.option}
        for one in lines
    ]  # fmt: skip


def from_rows(rows: Iterable[Mapping[str, object]]) -> list[TableLine]:
    """The lines from an editor's rows; a new row that says nothing of its kind is a step."""
    kinds = {words: kind for kind, words in KIND_WORDS.items()}

    def cell(row: Mapping[str, object], name: str) -> str:
        value = row.get(name)
        if value is None or value != value or (value == NOTHING and name not in ("words", "easier")):
            return ""  # an empty cell may come as not a number
        return str(value).strip()

    return [
        TableLine(
            kinds.get(cell(row, "what"), "step"), cell(row, "count"), cell(row, "foot"), cell(row, "move"), cell(row, "turn"),
            cell(row, "words"), cell(row, "easier"),
        )
        for row in rows
    ]  # fmt: skip


def row_words(lines: Sequence[TableLine], row: int) -> str:
    """Where a finding lies, for the table's reader: "Row 12, count 9 to 12: "; "" for the whole sheet."""
    if not 1 <= row <= len(lines):
        return ""
    count = lines[row - 1].count
    return f"Row {row}{f', count {count}' if count else ''}: "


def paper_rows(paper: Paper) -> list[dict[str, str]]:
    """The dance in its song as rows to read: what, at, faces, counts, in the music, and what is special."""
    out = []
    for line in paper.lines:
        whole = round(line.time_s)
        phrase = f"begins phrase {line.phrase}" if not line.into else f"{line.into} counts into phrase {line.phrase}"
        out.append({"": line.name, "At": f"{whole // 60}:{whole % 60:02d}", "Faces": line.clock, "Counts": str(line.counts),
                    "In the music": phrase, "Note": line.note})  # fmt: skip
    return out


def header_of(sheet: DanceSheet) -> dict[str, str]:
    """The header's values as text, by key; lines that are not known among them as written, under "other"."""
    values: dict[str, str] = {}
    others = []
    for line in sheet_text(sheet).splitlines():
        cells = next(csv.reader([line]))
        if not cells or not cells[0].startswith("#"):
            break
        key, value = split_header(cells[0])
        if key in (*HEADER_KEYS, "parts"):
            values[key] = value
        else:
            others.append(cells[0])
    if others:
        values["other"] = "\n".join(others)
    return values


def is_draft_header(header: Mapping[str, str]) -> bool:
    """Whether a header marks its sheet as a draft."""
    return any(split_header(line)[0] == DRAFT_KEY for line in header.get("other", "").splitlines())


def without_draft(header: Mapping[str, str]) -> dict[str, str]:
    """The header without the mark of a draft: somebody has gone through every row."""
    others = [line for line in header.get("other", "").splitlines() if split_header(line)[0] != DRAFT_KEY]
    return {**header, "other": "\n".join(others)}


def lines_of(sheet: DanceSheet) -> list[TableLine]:
    """The body of the sheet as lines of the table."""
    out: list[TableLine] = []
    body = False
    for cells in csv.reader(io.StringIO(sheet_text(sheet))):
        if not body:
            body = cells[:2] == ["count", "foot"]
            continue
        if cells[0].startswith("#"):
            out.append(_header_line(cells[0]))
            continue
        cells += [""] * (6 - len(cells))
        marked = _MARK.fullmatch(cells[0])
        kind: Kind = "step"
        if marked:
            kind = "tag" if marked[1] == "tag" else "restart" if marked[1] == "restart" else "ending"
            cells[0] = marked[2]
        count, foot, move, turn, note, option = cells[:6]
        out.append(TableLine(kind, count, foot, move, turn, plain_text(note), plain_text(option)))
    return out


def _header_line(line: str) -> TableLine:
    key, value = split_header(line)
    if key == "section" and value.startswith(NOTE):
        return TableLine("note", words=value.removeprefix(NOTE))
    if key == "section" and value.startswith(WAITS):
        return TableLine("waits", words=value.removeprefix(WAITS))
    kinds: dict[str, Kind] = {"part": "part", "restart": "restart", "tag": "tag", "ending": "ending"}
    return TableLine(kinds.get(key, "heading"), words=value)


def table_text(header: Mapping[str, str], lines: Sequence[TableLine]) -> tuple[str, dict[int, int]]:
    """The CSV that the header and the table stand for, and the table's row (from 1) of each of its lines. Empty lines are left out."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    rows: dict[int, int] = {}
    for key in (*HEADER_KEYS, "parts"):
        if value := " ".join(header.get(key, "").split()):
            table.writerow([f"# {key}: {value}"])
    for other in header.get("other", "").splitlines():
        table.writerow([other if other.startswith("#") else f"# {other}"])
    table.writerow(COLUMNS)
    for row, line in enumerate(lines, 1):
        cells = _cells(line)
        if cells:
            rows[out.getvalue().count("\n") + 1] = row
            table.writerow(cells)
    return out.getvalue(), rows


def _cells(line: TableLine) -> list[str]:
    """One line as cells of the CSV."""
    words = " ".join(line.words.split())
    if line.kind in ("heading", "note", "waits"):
        before = {"heading": "", "note": NOTE, "waits": WAITS}[line.kind]
        return [f"# section: {before}{words}"] if words else []
    step = any((line.count, line.foot, line.move, line.turn))
    if line.kind == "part" or (line.kind != "step" and not step):
        return [f"# {line.kind}: {words}"] if words or line.kind == "ending" else []
    if not step:
        return []
    mark = "" if line.kind == "step" else f"{line.kind} "
    return [f"{mark}{line.count}", line.foot, line.move, line.turn, safe_text(words), safe_text(line.option)]


def look(header: Mapping[str, str], lines: Sequence[TableLine]) -> Looked:
    """Read and check the table: cells that cannot be understood first, all of them; then what the whole dance shows."""
    waits = [waiting(row, line.words) for row, line in enumerate(lines, 1) if line.kind == "waits" and line.words]
    unread = [finding for row, line in enumerate(lines, 1) for finding in _unread(line, row)]
    if unread:
        return Looked(None, (*unread, *waits))
    text, rows = table_text(header, lines)
    try:
        sheet = parse_sheet(text, "the sheet")
    except SheetError as error:
        where = re.match(r"Row (\d+) of the sheet, ", str(error))
        row = rows.get(int(where[1]), 0) if where else 0
        words = str(error)[len(where[0]) :] if where else str(error)
        return Looked(None, (Finding("error", row, words[:1].upper() + words[1:]), *waits))
    found = [replace(one, row=rows.get(one.row, 0)) for one in check_sheet(sheet) if not one.words.startswith(WAITING)]
    return Looked(sheet, tuple(sorted([*found, *waits], key=lambda one: one.row)))


def _unread(line: TableLine, row: int) -> list[Finding]:
    """The cells of a step that cannot be understood."""
    if line.kind in ("heading", "note", "waits", "part") or not any((line.count, line.foot, line.move, line.turn)):
        return []
    place, found = Place("the table", row), []
    last = None
    try:
        last = read_count(line.count.strip(), 1, place)[1]
    except SheetError as error:
        found.append(error)
    for read in (
        lambda: read_foot(line.foot.strip(), place),
        lambda: read_move(line.move.strip(), place, span=last is not None),
        lambda: read_turn(line.turn.strip(), place),
    ):
        try:
            read()
        except SheetError as error:
            found.append(error)
    return [Finding("error", row, str(error).partition(", column ")[2].partition(": ")[2]) for error in found]
