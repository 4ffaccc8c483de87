"""Writing a dance sheet: the CSV that parse_sheet reads back without loss, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from motion.base.types import DanceSheet, SheetRow
from motion.dance.cells import Place, count_text, read_count, read_foot, read_turn, safe_text, turn_text
from motion.dance.header import METRES
from motion.dance.rows import FOOT_LETTERS, rows_end, written_rows


def sheet_text(sheet: DanceSheet) -> str:
    """The sheet as CSV text, one line a row: figures stay figures, counts run on, notes that look like formulas are marked as text.

    Reading it again gives the same sheet; only the rows' line numbers are those of the new text.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerows([line] for line in _header(sheet))
    blocks = [sheet.rows, sheet.ending, *(part.rows for part in sheet.parts)]
    blocks += [*(tag.rows for tag in sheet.tags), *(restart.rows for restart in sheet.restarts)]
    every_row = [row for rows in blocks for row in rows]
    width = 6 if any(row.option for row in every_row) else 5 if any(row.note for row in every_row) else 4
    table.writerow(("count", "foot", "move", "turn", "note", "option")[:width])
    table.writerows(_body(sheet, width))
    return out.getvalue()


def _header(sheet: DanceSheet) -> Iterator[str]:
    """The header's lines."""
    metre = next(name for name, beats in METRES.items() if beats == sheet.beats_per_bar)
    values = (
        ("title", sheet.title),
        ("version", sheet.version),
        ("counts", None if sheet.parts else sheet.counts),
        ("walls", sheet.walls),
        ("metre", None if metre == "4/4" else metre),
        ("level", sheet.level),
        ("bpm", None if sheet.bpm is None else repr(sheet.bpm).removesuffix(".0")),
        ("intro", sheet.intro),
        ("half", None if sheet.half_at is None else repr(sheet.half_at)),
        ("parts", " ".join(sheet.order) or None),
    )
    for key, value in (*values, *((key, value) for key, value in sheet.extra if key != "section")):
        if value is not None:
            yield f"# {key}: {value}".rstrip() if key else f"# {value}"


def _body(sheet: DanceSheet, width: int) -> Iterator[list[str]]:
    """The table's lines: the wall or the parts, then restarts with their rows, tags with theirs, the ending."""
    if not sheet.parts:
        yield from _lines(sheet.rows, "", width)
    for part in sheet.parts:
        yield [f"# part: {part.name}, {part.counts} counts"]
        yield from _lines(part.rows, "", width)
    for restart in sheet.restarts:
        yield [f"# restart: wall {restart.wall} after {restart.after}" + _behind(restart.note)]
        yield from _lines(restart.rows, "restart ", width)
    for k, tag in enumerate(sheet.tags):
        size = "" if tag.counts == rows_end(tag.rows) else f", {tag.counts} counts"
        yield [f"# tag: wall {tag.wall} after {tag.after}{size}{_behind(tag.note)}"]
        following = sheet.tags[k + 1] if k + 1 < len(sheet.tags) else None
        lines = list(_lines(tag.rows, "tag ", width))
        if following is None or lines != list(_lines(following.rows, "tag ", width)):
            yield from lines
    if sheet.ending:
        yield ["# ending:"]
        yield from _lines(sheet.ending, "ending ", width)
    for key, value in sheet.extra:
        if key == "section":  # a heading with nothing under it
            yield [f"# section: {value}"]


def _behind(note: str) -> str:
    return f" ({note})" if note else ""


def _lines(rows: Sequence[SheetRow], mark: str, width: int) -> Iterator[list[str]]:
    """One line for every row, or for all the rows of a figure together, each under its heading."""
    for _, group in groupby(rows, key=lambda row: (row.row, row.written) if row.written else id(row)):
        together = list(group)
        first = together[0]
        cells = first.written.split(",") if first.written and _is_whole(together, first.written) else None
        for row, line in [(first, cells)] if cells else [(row, _cells(row)) for row in together]:
            for heading in filter(None, row.heading.split("\n")):
                yield [f"# section: {heading}"]
            yield [f"{mark}{line[0]}", *line[1:], safe_text(row.note), safe_text(row.option)][:width]


def _cells(row: SheetRow) -> list[str]:
    return [count_text(row.count), FOOT_LETTERS[row.foot], row.move, turn_text(row.turn_deg)]


def _is_whole(together: list[SheetRow], written: str) -> bool:
    """Whether the rows still are what the written figure expands to: a row that was edited goes out by itself."""
    span, foot, move, turn = written.split(",")
    place = Place("", 0)
    first, last = read_count(span, None, place)
    base = replace(together[0], count=first, foot=read_foot(foot, place), move=move, turn_deg=read_turn(turn, place), written="")
    again = written_rows(base, last)
    return [_key(row) for row in again] == [_key(row) for row in together]


def _key(row: SheetRow) -> tuple[object, ...]:
    return (row.count, row.foot, row.move, row.turn_deg, row.note, row.option, row.heading)
