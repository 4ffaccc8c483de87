"""The count table as HTML: counts across, dancers down, a mark in every cell that says by its shape and place how the count went.

A cell says its words when it is pointed at. On a tablet, which knows no pointing, a tap reaches it (and the tab key does not, for there are
hundreds), and the page's look writes its title below.
Marks follow the count line: a bead hangs from the beat's own line, above it when early, below it when late.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from motion.tell.count_line import FOOT, INK, PAPER, QUIET
from motion.tell.teacher import MEANS, Column, CountTable, State

#: Columns of one piece of the table: a wall, or half a long one, as wide as a page.
MOST_COLUMNS = 36
RAIL = f'<path d="M1 11H19" stroke="{QUIET}" stroke-width="1.2"/>'
STEM = f'stroke="{INK}" stroke-width="1.6" fill="{INK}"'
#: Each mark in a square of 20 by 22: the line is the beat, and shape and place say the rest.
MARKS: dict[State, str] = {
    "on": f'{RAIL}<circle cx="10" cy="11" r="3.4" fill="{FOOT["left"]}"/>',
    "early": f'{RAIL}<path d="M10 11V6M4.5 6A5.5 5 0 0 1 15.5 6Z" {STEM}/>',
    "late": f'{RAIL}<path d="M10 11V16M4.5 16A5.5 5 0 0 0 15.5 16Z" {STEM}/>',
    "missed": f'{RAIL}<circle cx="10" cy="11" r="5" fill="{PAPER}" stroke="{INK}" stroke-width="1.6" stroke-dasharray="2.4 2.4"/>',
    "otherwise": f'{RAIL}<rect x="5.5" y="6.5" width="9" height="9" fill="{PAPER}" stroke="{FOOT["right"]}" stroke-width="2.2"/>',
    "danced": f'<circle cx="10" cy="11" r="3.4" fill="{PAPER}" stroke="{FOOT["left"]}" stroke-width="1.6"/>',
    "own": f'<path d="M10 6L15 11L10 16L5 11Z" fill="{PAPER}" stroke="{QUIET}" stroke-width="1.6"/>',
    "unseen": f'<path d="M4 11H16" stroke="{QUIET}" stroke-width="1.4" stroke-dasharray="1.4 3"/>',
}


def mark_svg(state: State, words: str) -> str:
    """One mark with its words for whoever cannot see it."""
    return f'<svg class="cell" viewBox="0 0 20 22" role="img" aria-label="{escape(words)}">{MARKS[state]}</svg>'


def table_legend(table: CountTable) -> str:
    """What the marks mean that this table uses."""
    used = {cell.state for row in table.rows for cell in row.cells}
    items = (
        f'<li><svg class="cell" viewBox="0 0 20 22" aria-hidden="true">{MARKS[state]}</svg> {escape(words)}</li>'
        for state, words in MEANS.items()
        if state in used
    )
    return f'<ul class="legend">{"".join(items)}</ul>'


def table_html(table: CountTable) -> str:
    """The whole table, a piece a wall; "" without a count. Every word inside is escaped."""
    return "".join(_piece(table, title, part) for title, part in _pieces(table.columns)) if table.rows else ""


def _pieces(columns: tuple[Column, ...]) -> Iterator[tuple[str, list[int]]]:
    """(title, indexes of columns): a piece a wall, cut where it is too wide."""
    walls: dict[int | None, list[int]] = {}
    for k, column in enumerate(columns):
        walls.setdefault(column.wall, []).append(k)
    for wall, ks in walls.items():
        for start in range(0, len(ks), MOST_COLUMNS):
            part = ks[start : start + MOST_COLUMNS]
            span = (
                f"counts {columns[part[0]].name} to {columns[part[-1]].name}" if len(part) > 1 else f"count {columns[part[0]].name}"
            )
            yield (f"Wall {wall}, {span}" if wall else span.capitalize()), part


def _piece(table: CountTable, title: str, part: list[int]) -> str:
    head = "".join(
        f'<th scope="col"{_opens(table.columns[k])}><abbr title="count {escape(table.columns[k].name)}">'
        f"{escape(table.columns[k].called)}</abbr></th>"
        for k in part
    )
    body = "".join(
        f'<tr><th scope="row" tabindex="-1" title="{escape(row.usual)}">{escape(row.name)}</th>'
        + "".join(
            f'<td{_opens(table.columns[k])} tabindex="-1" title="{escape(row.cells[k].words)}">'
            f"{mark_svg(row.cells[k].state, row.cells[k].words)}</td>"
            for k in part
        )
        + "</tr>"
        for row in table.rows
    )
    lost = [table.lost(k) for k in part]
    foot = "".join(f"<td{_opens(table.columns[k])}>{many or '–'}</td>" for k, (many, _) in zip(part, lost, strict=True))
    last = f'<tfoot><tr><th scope="row">Lost it</th>{foot}</tr></tfoot>' if len(table.rows) > 1 else ""
    return (
        f'<div class="count-table" role="region" tabindex="0" aria-label="{escape(title)}"><table><caption>{escape(title)}</caption>'
        f'<thead><tr><th scope="col">Dancer</th>{head}</tr></thead><tbody>{body}</tbody>{last}</table></div>'
    )


def _opens(column: Column) -> str:
    """A line before the first count of every section."""
    return ' class="opens"' if column.called == "1" else ""
