"""The wall-by-wall plan: a whole dance in its song on one printed A4 page. One HTML file, nothing loaded from outside."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby
from pathlib import Path

from motion.base.atomic import write_whole
from motion.base.errors import BadInput, BadStore
from motion.base.types import DanceSheet, Foot, SheetRow, Tag
from motion.dance.cells import NOTE, WAITS, Place, count_text, read_count, turn_text
from motion.dance.drawing import figure_svg
from motion.dance.figures import Figure, call_of, figures_by_name, plain_name
from motion.dance.header import METRES
from motion.dance.rows import FOOT_LETTERS
from motion.dance.song_plan import Line, Paper
from motion.dance.unroll import clock
from motion.tell.count_line import FONT_STACK, INK, QUIET

#: Millimetres of an A4 page inside its margins, what the head and the foot take, and the gap between columns.
WIDE_MM, HIGH_MM, HEAD_MM, GAP_MM = 186.0, 273.0, 44.0, 6.0
#: Largest and smallest type, in points: readable from two metres, and still readable in the hand.
MOST_PT, LEAST_PT = 13.0, 5.5
#: Height of one drawing of a figure with its name, in millimetres, and how many stand in a row.
DRAWING_MM, DRAWINGS_A_ROW = 36.0, 5
#: Millimetres a point, lines' distance in type sizes, and the mean breadth of a letter in type sizes.
MM_PT, LEADING, LETTER = 0.3528, 1.36, 0.50


PAGE = f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>TITLE: wall by wall</title><style>
@page {{ size: A4; margin: 12mm }} * {{ box-sizing: border-box; margin: 0; padding: 0 }}
body {{ font: SIZE/{LEADING} {FONT_STACK}; color: {INK}; background: #fff; max-width: {WIDE_MM}mm; margin: 0 auto }}
h1 {{ font: 600 20pt/1.2 Georgia, 'Liberation Serif', serif }} h2 {{ font-size: 1em; margin-top: .5em; break-after: avoid }}
h2:first-child {{ margin-top: 0 }} .quiet {{ color: {QUIET} }}
.head {{ font-size: 10pt; line-height: 1.4; border-bottom: .6mm solid {INK}; padding-bottom: 1.5mm; margin-bottom: 3mm }}
.sides {{ display: grid; grid-template-columns: SHARE; gap: {GAP_MM}mm; align-items: start }}
.steps {{ columns: COLUMNS; column-gap: {GAP_MM}mm }} .steps p {{ break-inside: avoid; padding-left: 4em; text-indent: -4em }}
.steps p.said {{ padding-left: 0; text-indent: 0 }} .steps b {{ display: inline-block; min-width: 4em; text-indent: 0 }}
.walls p {{ display: grid; grid-template-columns: 4.6em 2.8em 1.3em 3.6em 1fr; break-inside: avoid }}
.walls p i {{ grid-column: 2 / -1; font-style: normal }} .walls svg {{ width: 1em; height: 1em; align-self: center }}
.figures {{ display: grid; grid-template-columns: repeat({DRAWINGS_A_ROW}, 1fr); gap: 1mm 4mm; margin-top: 4mm }}
.figures div {{ font-size: 8pt; text-align: center; height: {DRAWING_MM - 1}mm; overflow: hidden }}
.figures svg {{ display: block; height: {DRAWING_MM - 7}mm; width: 100% }}
.foot {{ font-size: 8pt; margin-top: 3mm; border-top: .2mm solid {QUIET}; padding-top: 1mm }}
@media screen {{ body {{ padding: 6mm }} }}
</style></head><body>HEAD<div class="sides"><div class="steps">STEPS</div>
<div class="walls"><h2>In the music</h2>WALLS</div></div><div class="figures">FIGURES</div>FOOT</body></html>
"""


@dataclass(frozen=True)
class _Item:
    """One entry of the plan: its HTML, how many letters it fills (of a wall: how many lines), and whether it is a heading."""

    html: str
    letters: int
    heading: bool = False


def song_seconds(text: str) -> float:
    """Seconds of a length written as M:SS, or as whole minutes: "3:05" is 185. BadInput otherwise."""
    found = re.fullmatch(r"(\d{1,3})(?::([0-5]?\d))?", text.strip())
    if found is None:
        raise BadInput(f"'{text}' is not a length of music", "Write it as minutes and seconds, such as 3:05")
    return int(found[1]) * 60.0 + int(found[2] or 0)


def write_wall_plan(path: Path, html: str) -> None:
    """Write the plan, whole or not at all. BadInput for another ending, so that no sheet is lost to it; BadStore if it cannot be
    written there."""
    if path.suffix.lower() not in (".html", ".htm"):
        raise BadInput(f"'{path.name}' does not end in .html", "Give the page a name such as lantern.wallplan.html")
    try:
        write_whole(path, html)
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The wall-by-wall plan cannot be written to {path}: {why}", "Choose another place") from error


def wall_plan_html(sheet: DanceSheet, paper: Paper) -> str:
    """The plan as one HTML page that prints on one side of A4: the steps by section, and where every wall begins and faces."""
    steps, walls = _steps(sheet), [_wall_item(line, paper) for line in paper.lines]
    size_pt, columns = _size(steps, walls)
    figures = _figures(sheet, HIGH_MM - HEAD_MM - _height_mm(steps, walls, size_pt, columns))
    parts = {
        "STEPS": "".join(item.html for item in steps),
        "WALLS": "".join(item.html for item in walls),
        "FIGURES": figures,
        "TITLE": escape(sheet.title),
        "HEAD": _head(sheet, paper),
        "FOOT": _foot(paper),
        "SIZE": f"{size_pt:.2f}pt",
        "COLUMNS": str(columns),
        "SHARE": f"{_share(columns)}fr {_share(0)}fr",
    }
    return re.sub("|".join(parts), lambda found: parts[found[0]], PAGE)


def _share(columns: int) -> float:
    """Parts of the page's breadth: each column of steps against the column of walls (columns 0)."""
    return {0: 1.0, 1: 1.35, 2: 2.0}[columns]


def _head(sheet: DanceSheet, paper: Paper) -> str:
    metre = next(name for name, beats in METRES.items() if beats == sheet.beats_per_bar)
    counts = f"parts {' '.join(sheet.order)}" if sheet.parts else f"{sheet.counts} counts"
    said = [counts, f"{sheet.walls} wall{'s' if sheet.walls > 1 else ''}", metre, sheet.level, f"{paper.bpm:g} beats a minute"]
    said += [
        f"intro {paper.intro_counts} counts" if paper.intro_counts is not None else f"intro: {sheet.intro}" if sheet.intro else None
    ]
    said += [
        f"music {_time(paper.song_s)}" if paper.song_s is not None else None,
        f"version {sheet.version}" if sheet.version else None,
    ]
    return f"<div class='head'><h1>{escape(sheet.title)}</h1><p>{escape(' · '.join(filter(None, said)))}</p></div>"


def _foot(paper: Paper) -> str:
    since = "the music's first beat" if paper.intro_counts is not None else "count 1"
    ends = "" if paper.ending_after is None else f" The ending finishes facing {clock(paper.ends_facing_deg)}."
    left = f" Music left over: {_counted(paper.spare_counts)}." if paper.spare_counts else ""
    told = (
        f"Times count from {since}. ● begins with a phrase of the music ({paper.phrase_counts} counts, the first from count 1); "
        f"+8 begins 8 counts into one. R, L: the foot that begins.{ends}{left} {' '.join(paper.notes)}"
    )
    return f"<p class='foot quiet'>{escape(told.strip())}</p>"


def _counted(counts: int) -> str:
    return f"{counts} count{'s' if counts != 1 else ''}"


def _time(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def _wall_item(line: Line, paper: Paper) -> _Item:
    arrow = (
        f'<svg viewBox="-10 -10 20 20" role="img" aria-label="facing {line.clock}"><g transform="rotate({line.facing_deg:g})">'
        f'<path d="M0 8V-4M-5 -1L0 -8L5 -1" fill="none" stroke="{INK}" stroke-width="2.4"/></g></svg>'
    )
    phrase = "●" if not line.into else f"+{line.into}"
    note = _counted(line.counts) if line.what in ("tag", "ending") else line.note
    told = f"<i class='quiet'>{escape(note)}</i>" if note else ""
    place = f"<span>{_time(line.time_s)}</span>{arrow}<span>{line.clock}</span><span>{phrase}</span>"
    return _Item(f"<p><b>{escape(line.name)}</b>{place}{told}</p>", 2 if note else 1)


def _figures(sheet: DanceSheet, room_mm: float) -> str:
    """Drawings of the feet of the dance's figures, as many as there is room for below the steps; "" without room."""
    fit = int(room_mm // DRAWING_MM) * DRAWINGS_A_ROW
    blocks = [part.rows for part in sheet.parts] or [sheet.rows]
    wanted: dict[str, tuple[Figure, Foot]] = {}
    for row in (row for rows in blocks for row in rows):
        if row.written:
            span, letter, move, _ = row.written.split(",")
            start, last = read_count(span, None, Place("", 0))
            lead: Foot = "left" if letter == "L" else "right"
            forms = figures_by_name()[plain_name(move)[0]]
            counts = (last or start) - start + 1
            wanted.setdefault(forms[0].name, (next((form for form in forms if form.counts == counts), forms[0]), lead))
    drawn = [(call_of(figure, lead), figure_svg(figure, lead)) for figure, lead in list(wanted.values())[:fit]]
    return "".join(f"<div>{svg}{escape(call)}</div>" for call, svg in drawn)


def _steps(sheet: DanceSheet) -> list[_Item]:
    """The dance's rows under their headings, then what tags, restarts and the ending change."""
    items: list[_Item] = []
    if not sheet.parts:
        items += _rows(sheet.rows, sheet.section)
    for part in sheet.parts:
        items.append(_heading(f"Part {part.name}, {part.counts} counts"))
        items += _rows(part.rows, 0)
    for restart in sheet.restarts:
        note = f" ({restart.note})" if restart.note else ""
        items.append(_heading(f"Restart: wall {restart.wall} after {restart.after}{note}"))
        items += _rows(restart.rows, 0)
    tags: dict[tuple[str, ...], list[Tag]] = {}
    for tag in sheet.tags:
        tags.setdefault((str(tag.counts), *(f"{r.count} {r.foot} {r.move} {r.turn_deg}" for r in tag.rows)), []).append(tag)
    for alike in tags.values():
        where = ", ".join(f"wall {tag.wall} after {tag.after}" for tag in alike)
        items += [_heading(f"Tag, {alike[0].counts} counts: {where}"), *_rows(alike[0].rows, 0)]
    if sheet.ending:
        items += [_heading("Ending"), *_rows(sheet.ending, 0)]
    return items


def _rows(rows: Sequence[SheetRow], section: int) -> Iterator[_Item]:
    """Lines for rows: those of one figure together, a heading where the sheet has one or (section > 0) a section begins."""
    for _, group in groupby(rows, key=lambda row: (row.row, row.written) if row.written else id(row)):
        together = list(group)
        first = together[0]
        headings = [line for line in first.heading.split("\n") if line]
        named = [line for line in headings if not line.startswith((NOTE, WAITS))]
        begins = section and first.count == int(first.count) and (int(first.count) - 1) % section == 0
        if named:
            yield _heading("; ".join(named))
        elif begins:
            yield _heading(f"{int(first.count)} to {int(first.count) + section - 1}")
        for line in headings:
            if line.startswith((NOTE, WAITS)):
                words = line.partition(": ")[2]
                yield _Item(f"<p class='said quiet'>{escape(words)}</p>", len(words))
        yield _row(together)


def _row(together: Sequence[SheetRow]) -> _Item:
    first = together[0]
    counts, foot, move, turn = count_text(first.count), FOOT_LETTERS[first.foot], first.move, turn_text(first.turn_deg)
    call = ""
    if first.written:
        counts, foot, move, turn = first.written.split(",")
        start, last = read_count(counts, None, Place("", 0))
        counts = f"{count_text(start)}–{last}" if last else counts
        figure = figures_by_name()[plain_name(move)[0]][0]
        move = figure.name if plain_name(figure.name)[0] == plain_name(move)[0] else move
        said = call_of(figure, first.foot or "right")
        call = "" if said == move else f"“{said}”"
    easier = f"easier: {first.option}" if first.option else ""
    behind = ", ".join(filter(None, [turn, first.note, call, easier]))
    words = f"{foot} {move}{', ' if behind else ''}{behind}".strip()
    return _Item(f"<p><b>{escape(counts)}</b>{escape(words)}</p>", 7 + len(words))


def _heading(words: str) -> _Item:
    return _Item(f"<h2>{escape(words)}</h2>", len(words), heading=True)


def _size(steps: Sequence[_Item], walls: Sequence[_Item]) -> tuple[float, int]:
    """Type size in points, and one or two columns of steps: the largest that fits one page."""
    best = (LEAST_PT, 2)
    for columns in (1, 2):
        size_pt = MOST_PT
        while size_pt > LEAST_PT and _height_mm(steps, walls, size_pt, columns) > HIGH_MM - HEAD_MM:
            size_pt -= 0.1
        best = max(best, (size_pt, columns), key=lambda choice: (choice[0], -choice[1]))
    return best


def _height_mm(steps: Sequence[_Item], walls: Sequence[_Item], size_pt: float, columns: int) -> float:
    """How high the steps and the walls beside them will be, in millimetres: lines are counted with a mean letter's breadth."""
    share = _share(columns) / (_share(columns) + _share(0))
    steps_mm = (WIDE_MM - GAP_MM) * share
    letters = ((steps_mm - GAP_MM * (columns - 1)) / columns) / (size_pt * MM_PT * LETTER)
    lines = sum(math.ceil(item.letters / letters) + (0.5 if item.heading else 0.0) for item in steps) / columns + columns
    return max(lines, 1.5 + sum(item.letters for item in walls)) * size_pt * MM_PT * LEADING
