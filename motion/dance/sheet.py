"""Reading a dance sheet: a CSV as a spreadsheet writes it, in the words that teachers use.

Lines that begin with # carry the header; rows carry count, foot, move, turn, note and option. `parse_sheet` is tolerant of how a
spreadsheet saves (semicolons, tabs, marks at the start, UTF-16, empty trailing cells) and strict about what the words mean.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from motion.base.errors import SheetError
from motion.base.types import DanceSheet, Part, Restart, SheetRow, Tag
from motion.dance.cells import Place, count_text, plain_text, read_count, read_foot, read_move, read_turn
from motion.dance.figures import figures_by_name, plain_name
from motion.dance.header import HEADER_KEYS, OTHER_KEYS, Danced, header_values, read_danced, read_order, read_part, split_header
from motion.dance.rows import rows_end, written_rows
from motion.dance.settings import DANCE
from motion.dance.writing import sheet_text

__all__ = ["parse_sheet", "read_sheet", "sheet_text"]

COLUMNS = ("count", "foot", "move", "turn", "note", "option", "mark")
_COLUMN_NAMES = {
    "counts": "count", "beat": "count", "beats": "count", "feet": "foot", "step": "move", "steps": "move", "moves": "move",
    "figure": "move", "turns": "turn", "notes": "note", "comment": "note", "options": "option", "easier": "option", "tag": "mark",
}  # fmt: skip
_MARKED = re.compile(r"(tag|restart|ending)\b[\s:.-]*(.*)", re.IGNORECASE)
#: Where header lines meet that a spreadsheet has merged into one: a cell's end, and the next known key.
_MERGED = re.compile(rf"""\s*[,;\t]+\s*"?(?=\#\s*(?:{"|".join((*HEADER_KEYS, *OTHER_KEYS))})\s*:)""", re.IGNORECASE)
_MARKS = ("tag", "restart", "ending")


@dataclass
class _RawRow:
    """A row whose cells have been read, before figures are expanded. last: the last whole count of a span."""

    base: SheetRow
    last: int | None


@dataclass
class _Block:
    """Rows that belong together: the wall, a part, a tag, a replaced end before a restart, the ending."""

    rows: list[_RawRow] = field(default_factory=list)
    name: str = ""
    counts: int | None = None
    danced: list[Danced] = field(default_factory=list)


@dataclass
class _Draft:
    """What has been read so far."""

    sheet: str
    values: dict[str, tuple[int, str]] = field(default_factory=dict)
    extra: list[tuple[str, str]] = field(default_factory=list)
    order: tuple[str, ...] = ()
    wall: _Block = field(default_factory=_Block)
    parts: list[_Block] = field(default_factory=list)
    tags: list[_Block] = field(default_factory=list)
    restarts: list[_Block] = field(default_factory=list)
    ending: _Block = field(default_factory=_Block)
    heading: list[str] = field(default_factory=list)
    columns: tuple[str, ...] = ()


def read_sheet(path: str | Path) -> DanceSheet:
    """Read the dance sheet in a file. Raises SheetError when it is missing, no text table, or a row cannot be understood."""
    path = Path(path)
    try:
        if path.is_dir():
            raise SheetError(f"{path.name} is a folder, not a dance sheet", "Name the CSV file itself")
        if path.stat().st_size > DANCE.largest_bytes:
            limit_mb = DANCE.largest_bytes / 1e6
            raise SheetError(f"{path.name} is larger than {limit_mb:g} MB, which no dance sheet is", "Name the sheet's CSV file")
        data = path.read_bytes()
    except FileNotFoundError:
        raise SheetError(f"There is no dance sheet {path}", "Check the name and the folder") from None
    except OSError as problem:
        raise SheetError(f"{path.name} cannot be read ({problem.strerror})", "Check that the file is open to you") from None
    return parse_sheet(_decoded(data, path.name), path.name)


def _decoded(data: bytes, name: str) -> str:
    """The text of a file that a spreadsheet saved: UTF-8 or UTF-16 with or without a mark, or the older Western code page."""
    if data.startswith(b"PK"):
        raise SheetError(f"{name} is a spreadsheet's own file, not a CSV", "Save it as CSV (UTF-8) in the spreadsheet")
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encodings: tuple[str, ...] = ("utf-16",)
    elif data[1:2] == b"\0":
        encodings = ("utf-16-le",)
    elif data[:1] == b"\0":
        encodings = ("utf-16-be",)
    else:
        encodings = ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise SheetError(f"{name} is not a text table", "Save the sheet as CSV (UTF-8) in the spreadsheet")


def parse_sheet(text: str, name: str) -> DanceSheet:
    """Read a dance sheet from its text; `name` is what the sentences call it.

    Raises SheetError with row, column, what was found, what is allowed and the nearest known word. At most
    DANCE.most_rows rows. What can be read but not danced is for check_sheet.
    """
    draft = _Draft(name)
    lines = 0
    for line, record in _records(text.removeprefix("\ufeff"), name):
        if isinstance(record, str):
            for part in _MERGED.split(record):
                _header_line(draft, part, Place(name, line))
            continue
        lines += 1
        if lines > DANCE.most_rows:
            raise SheetError(f"{name} has more than {DANCE.most_rows} rows, which no dance has", "Name the sheet's CSV file")
        _table_line(draft, record, Place(name, line))
    return _finished(draft)


def _records(text: str, name: str) -> Iterator[tuple[int, str | list[str]]]:
    """Line number and either a header line's text or a row's cells, empty lines left out."""
    delimiter = _delimiter(text)
    line = 0

    def counted() -> Iterator[str]:
        nonlocal line
        for raw in io.StringIO(text, newline=None):
            line += 1
            yield raw

    lines = counted()
    pushed: list[str] = []

    def feed() -> Iterator[str]:
        while True:
            if pushed:
                yield pushed.pop()
            else:
                following = next(lines, None)
                if following is None:
                    return
                yield following

    table = csv.reader(feed(), delimiter=delimiter)
    for raw in lines:
        start = line
        if raw.lstrip().startswith("#"):
            yield start, raw.strip().rstrip(delimiter + " \t")
            continue
        pushed.append(raw)
        try:
            cells = [cell.strip() for cell in next(table)]
        except csv.Error:
            raise SheetError(
                f"Row {start} of {name} is not a table row", "Save the sheet as CSV (UTF-8) in the spreadsheet"
            ) from None
        if cells and cells[0].startswith("#"):
            yield start, delimiter.join(cells).rstrip(delimiter + " \t")
        elif any(cells):
            yield start, cells


def _delimiter(text: str) -> str:
    """Comma, semicolon or tab: the commonest in the first line that is not a header line."""
    for raw in io.StringIO(text, newline=None):
        if raw.strip() and not raw.lstrip(' \t"').startswith("#"):
            return max(",;\t", key=raw.count)
    return ","


def _header_line(draft: _Draft, line: str, place: Place) -> None:
    """Take in one line that begins with #."""
    key, value = split_header(line)
    if key == "section":
        draft.heading.append(value)
    elif key == "tag":
        if not draft.tags or draft.tags[-1].rows:
            draft.tags.append(_Block())
        draft.tags[-1].danced.append(read_danced(value, key, place))
    elif key == "restart":
        draft.restarts.append(_Block(danced=[read_danced(value, key, place)]))
    elif key == "part":
        part_name, counts = read_part(value, place)
        draft.parts.append(_Block(name=part_name, counts=counts))
    elif key in ("parts", "order"):
        draft.order = read_order(value)
    elif key == "ending" and not value:
        return  # only announces the rows marked ending
    elif key in HEADER_KEYS:
        if key in draft.values:
            raise place.error(
                f"line '# {key}'", value, f"comes a second time, after row {draft.values[key][0]}", f"Keep one line '# {key}: ...'"
            )
        draft.values[key] = (place.row, value)
    else:
        draft.extra.append((key, value))


def _table_line(draft: _Draft, cells: list[str], place: Place) -> None:
    """Take in one row of the table: column names, a section's heading, or a step."""
    named = [_COLUMN_NAMES.get(cell.casefold(), cell.casefold()) for cell in cells]
    if sum(name in COLUMNS for name in named) >= 2 and ("count" in named or "move" in named):
        draft.columns = _columns(named, place)
        return
    if not draft.columns:
        draft.columns = COLUMNS[:6]
    filled = [cell for cell in cells if cell]
    if len(filled) == 1 and cells[0] and re.match(r"(?!(and|a)$)[^\W\d]", cells[0], re.IGNORECASE) and not _MARKED.match(cells[0]):
        draft.heading.append(cells[0])
        return
    block = draft.parts[-1] if draft.parts else draft.wall
    if (
        draft.columns[0] == "count" and cells[0].casefold() in _MARKS and len(filled) > 2
    ):  # "tag" in a cell of its own, the row behind it
        cells = [f"{cells[0]} {cells[1]}", *cells[2:]]
    row = _by_column(draft.columns, cells)
    mark = row["mark"]
    marked = _MARKED.fullmatch(row["count"])
    if marked:
        mark, row["count"] = marked[1], marked[2].strip()
    for column in ("note", "option"):
        if not mark and row[column].casefold() in _MARKS:
            mark, row[column] = row[column], ""
    if mark:
        block = _marked_block(draft, mark, place)
    block.rows.append(_raw_row(row, block.rows, "\n".join(draft.heading), place))
    draft.heading.clear()


def _columns(named: list[str], place: Place) -> tuple[str, ...]:
    """What each column holds; unnamed cells (merged or blank) take the names that are still free, in their usual order."""
    free = [name for name in COLUMNS[:6] if name not in named]
    columns = tuple(name or (free.pop(0) if free else "") for name in named)
    for needed in ("count", "move"):
        if needed not in columns:
            found = ", ".join(name for name in named if name)
            raise place.error(
                "names", found, f"lacks a column '{needed}'", "The first row names the columns: count, foot, move, turn"
            )
    return columns


def _by_column(columns: tuple[str, ...], cells: list[str]) -> dict[str, str]:
    """The cells by their column's name; cells under other names, or under none, are added to the note."""
    row = dict.fromkeys(COLUMNS, "")
    added = []
    for k, cell in enumerate(cells):
        column = columns[k] if k < len(columns) else ""
        if column in row:
            row[column] = row[column] or cell
        elif cell:
            added.append(f"{column}: {cell}" if column else cell)
    if added:
        row["note"] = "; ".join(filter(None, [row["note"], *added]))
    return row


def _marked_block(draft: _Draft, mark: str, place: Place) -> _Block:
    """The tag, restart or ending that a marked row belongs to: the last one announced."""
    kind = mark.casefold()
    if kind == "ending":
        return draft.ending
    blocks = {"tag": draft.tags, "restart": draft.restarts}.get(kind)
    if blocks is None:
        raise place.error("mark", mark, "is not a mark", "Allowed are tag, restart, ending or nothing")
    if not blocks:
        raise place.error(
            "count",
            mark,
            "belongs to nothing said before",
            f"Put a line such as '# {kind}: wall 3 after 32' above the rows marked {kind}",
        )
    return blocks[-1]


def _raw_row(row: dict[str, str], before: list[_RawRow], heading: str, place: Place) -> _RawRow:
    """Read the cells of one step."""
    previous = before[-1].last or int(before[-1].base.count) if before else None
    first, last = read_count(row["count"], previous, place)
    foot = read_foot(row["foot"], place)
    move = read_move(row["move"], place, span=last is not None)
    turn_deg = read_turn(row["turn"], place)
    if last is not None and plain_name(move)[0] not in figures_by_name():
        raise place.error("count", row["count"], f"spans several counts, but {move} is one step", "Give every step its own row")
    note, option = plain_text(row["note"]), plain_text(row["option"])
    return _RawRow(SheetRow(first, foot, move, turn_deg, note, option, place.row, heading=heading), last)


def _rows(block: _Block, section: int = 0) -> tuple[SheetRow, ...]:
    """The block's rows, figures expanded. section > 0: its counts begin again at 1 in every section of so many, and are run on."""
    rows: list[SheetRow] = []
    offset = 0
    for k, raw in enumerate(block.rows):
        if section and k and raw.base.count == 1:
            offset += section
        rows += written_rows(raw.base, raw.last, offset)
    return tuple(rows)


def _counted_by_section(block: _Block, counts: int, section: int) -> bool:
    """Whether the rows count 1 to 8 again and again instead of running on."""
    ends = [raw.last or int(raw.base.count) for raw in block.rows]
    begins = sum(raw.base.count == 1 for raw in block.rows)
    return counts > section and max(ends) <= section and begins == -(-counts // section)


def _finished(draft: _Draft) -> DanceSheet:
    """Put the draft together, or say what is still wanting."""
    name = draft.sheet
    blocks = [*draft.parts] or [draft.wall]
    if draft.parts and draft.wall.rows:
        stray = draft.wall.rows[0].base
        raise Place(name, stray.row).error(
            "count", count_text(stray.count), "stands before the first part", "Put '# part: A' above it"
        )
    empty = next((part.name for part in draft.parts if not part.rows), None)
    if empty or not blocks[0].rows:
        whose = f"Part {empty} of {name}" if empty else name
        raise SheetError(f"{whose} holds no steps", "Write rows of count, foot, move and turn, such as 1,R,side,")
    values = header_values(draft.values, name, rows_end(_rows(blocks[0])), phrased=bool(draft.parts))
    section = 6 if values.beats_per_bar == 3 else 8
    by_section = not draft.parts and _counted_by_section(draft.wall, values.counts, section)
    rows = _rows(draft.wall, section if by_section else 0)
    parts = tuple(Part(b.name, b.counts or rows_end(_rows(b)), _rows(b)) for b in draft.parts)
    order = draft.order or tuple(part.name for part in parts)
    by_name = {part.name.casefold(): part for part in parts}
    unknown = next((part for part in order if part.casefold() not in by_name), None)
    if unknown:
        raise SheetError(f"{name} dances part {unknown}, but has no such part", f"Put '# part: {unknown}' above its rows")
    order = tuple(by_name[part.casefold()].name for part in order)
    first = by_name[order[0].casefold()] if order else None
    extra = list(draft.extra) + [("section", heading) for heading in draft.heading]
    if parts and "counts" in draft.values:
        extra.insert(0, ("counts", draft.values["counts"][1]))
    return DanceSheet(
        title=values.title, counts=first.counts if first else values.counts, walls=values.walls, rows=first.rows if first else rows,
        beats_per_bar=values.beats_per_bar, bpm=values.bpm, intro=values.intro, level=values.level, version=values.version,
        half_at=values.half_at, restarts=_restarts(draft), tags=_tags(draft), extra=tuple(extra), parts=parts, order=order,
        ending=_rows(draft.ending),
    )  # fmt: skip


def _restarts(draft: _Draft) -> tuple[Restart, ...]:
    return tuple(Restart(wall, d.after, _rows(b), d.note) for b in draft.restarts for d in b.danced for wall in d.walls)


def _tags(draft: _Draft) -> tuple[Tag, ...]:
    tags = []
    for block in draft.tags:
        for danced in block.danced:
            if not block.rows:
                remedy = "Write its steps as rows marked tag, such as tag 1,R,side,"
                raise SheetError(f"{draft.sheet} has a tag in wall {danced.walls[0]}, but no steps for it", remedy)
            rows = _rows(block)
            tags += [Tag(wall, danced.after, danced.counts or rows_end(rows), rows, danced.note) for wall in danced.walls]
    return tuple(tags)
