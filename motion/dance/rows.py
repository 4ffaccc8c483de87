"""Rows of a sheet: a figure's row becomes the rows of its steps, and rows tell how far they reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from motion.base.types import SheetRow
from motion.dance.cells import count_text, turn_text
from motion.dance.figures import MOVES, expand, figure_steps, figures_by_name, lead_of, plain_name

FOOT_LETTERS = {"right": "R", "left": "L", None: ""}


def written_rows(base: SheetRow, last: int | None, offset: int = 0) -> list[SheetRow]:
    """The rows for one written row: its one move, or the steps of its figure over the counts to `last`.

    Rows of a figure carry the row as it was written in `written`; note, option and heading stay with the first. A figure that
    does not fit its span, or whose leading foot is not said, stays one row with the figure's name as its move. offset is added to
    the counts.
    """
    count = base.count + offset
    if last is None and base.move in MOVES:
        return [replace(base, count=count)]
    span = count_text(count) + ("" if last is None else f" to {last + offset}")
    written = ",".join((span, FOOT_LETTERS[base.foot], base.move, turn_text(base.turn_deg)))
    name, side = plain_name(base.move)
    figure = figures_by_name()[name][0]
    lead = base.foot or (lead_of(figure, side) if side else None)
    if all(step.foot is None for step in figure_steps(figure)):
        lead = "right"
    counts = 1 if last is None else last - int(base.count) + 1
    steps = expand(name, lead, counts, base.turn_deg) if lead and count == int(count) else None
    if steps is None:  # the move "sway" names a figure too: the figure's own name tells that it could not be expanded
        return [replace(base, count=count, move=figure.name if base.move in MOVES else base.move, written=written)]
    rows = [SheetRow(count + s.after, s.foot, s.move, s.turn_deg, row=base.row, written=written, place=s.place) for s in steps]
    return [replace(rows[0], note=base.note, option=base.option, heading=base.heading), *rows[1:]]


def fits(row: SheetRow) -> bool:
    """False for a figure's row that could not be expanded."""
    return row.move in MOVES


def row_end(row: SheetRow) -> int:
    """The last whole count that the row reaches into; of a figure that does not fit, the end of its span."""
    if not fits(row) and " to " in row.written:
        return int(row.written.split(",")[0].split(" to ")[1])
    return int(row.count)


def rows_end(rows: Sequence[SheetRow]) -> int:
    """The last whole count of some rows, 0 for none."""
    return max((row_end(row) for row in rows), default=0)
