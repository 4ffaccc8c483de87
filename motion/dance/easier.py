"""Easier ways that a sheet allows in its column `option`, and a sheet as its mirror image."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from motion.base.types import DanceSheet, EasierWay, Foot, SheetRow
from motion.dance.figures import MOVES, OTHER_WORDS, figures_by_name, other_foot, plain_name
from motion.dance.rows import fits, written_rows
from motion.dance.unroll import due_of, stretches

_FEET: dict[str, Foot] = {"r": "right", "right": "right", "l": "left", "left": "left"}


def easier_ways(sheet: DanceSheet, *, until_count: float, starting_wall: int = 1) -> tuple[EasierWay, ...]:
    """Every easier way of the whole dance in a row, with running counts as unroll gives them, up to until_count.

    A cell of `option` may hold several, separated by "or" or ";". Each is a move or figure as the sheet's own column has it, with the
    foot before it where it is another than the row's, over the same counts as its row: "touch", "L touch", "vine". Anything else is
    a note to people and gives nothing.
    """
    ways: list[EasierWay] = []
    base = 0
    for stretch in stretches(sheet):
        if base >= until_count:
            break
        if stretch.wall < starting_wall:
            continue
        for _, unit in groupby(stretch.rows, key=lambda row: row.row):
            rows = list(unit)
            for easier in _instead(rows):
                due = tuple(due_of(row, base + row.count - stretch.skipped, stretch.wall, 0.0) for row in easier)
                first, last = (base + rows[k].count - stretch.skipped for k in (0, -1))
                if first <= until_count:
                    ways.append(EasierWay(first, last, due))
        base += stretch.counts
    return tuple(ways)


def mirrored(sheet: DanceSheet) -> DanceSheet:
    """The dance with left and right exchanged, as a mirror shows it."""
    return replace(
        sheet,
        rows=_exchanged(sheet.rows),
        restarts=tuple(replace(r, rows=_exchanged(r.rows)) for r in sheet.restarts),
        tags=tuple(replace(t, rows=_exchanged(t.rows)) for t in sheet.tags),
        parts=tuple(replace(p, rows=_exchanged(p.rows)) for p in sheet.parts),
        ending=_exchanged(sheet.ending),
    )


def _exchanged(rows: Sequence[SheetRow]) -> tuple[SheetRow, ...]:
    return tuple(replace(row, foot=other_foot(row.foot) if row.foot else None, turn_deg=0.0 - row.turn_deg) for row in rows)


def _instead(rows: Sequence[SheetRow]) -> list[list[SheetRow]]:
    """The rows of each easier way of one written row (rows: its steps)."""
    base = rows[0]
    out = []
    for text in re.split(r"\s*;\s*|\s+or\s+", base.option.strip().casefold()):
        foot, _, rest = text.partition(" ")
        lead, words = (_FEET[foot], rest) if foot in _FEET else (base.foot, text)
        move = " ".join(words.replace("-", " ").split())
        move = OTHER_WORDS.get(move, move)
        last = int(rows[-1].count) if len(rows) > 1 else None
        if move not in MOVES and plain_name(move)[0] not in figures_by_name():
            continue
        turn_deg = sum(row.turn_deg for row in rows)
        turn_deg = 0.0 if abs(turn_deg) >= 360 else turn_deg
        over = last if move not in MOVES or last is None else None
        easier = written_rows(replace(base, foot=lead, move=move, turn_deg=turn_deg, option="", place=None, written=""), over)
        if all(fits(row) for row in easier):
            out.append(easier)
    return out
