"""Small pieces of the report's HTML: lists, tables, folded figures. Every word is escaped here."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from motion.tell.words import Told


def cell(value: float | None) -> str:
    """A number as short as it is, with a true minus sign; a dash for None."""
    return "–" if value is None else f"{value:g}".replace("-", "−")


def table(caption: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    """A table of escaped cells; no caption where it is empty."""
    top = "".join(f'<th scope="col">{escape(word)}</th>' for word in head)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    said = f"<caption>{escape(caption)}</caption>" if caption else ""
    return f"<table>{said}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def details(summary: str, inside: str) -> str:
    """Folded away under a summary; nothing for nothing."""
    return f"<details><summary>{escape(summary)}</summary>{inside}</details>" if inside else ""


def bullets(items: list[str] | tuple[str, ...]) -> str:
    """A list of escaped sentences; nothing for none."""
    return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}</ul>" if items else ""


def told_html(told: Told | None, of: str) -> str:
    """Words with their figures folded away under what they are `of`; nothing for None."""
    return f"<p>{escape(told.words)}</p>{details(f'Show the figures: {of}', bullets(told.figures))}" if told else ""


def rows_table(caption: str, rows: list[dict[str, str]]) -> str:
    """A table from rows of words by heading; nothing for none."""
    return table(caption, tuple(rows[0]), [tuple(row.values()) for row in rows]) if rows else ""
