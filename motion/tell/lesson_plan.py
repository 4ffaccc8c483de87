"""A whole lesson put together: the sheet's path and moves, the floor, the games, the tempos, the times."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from motion.base.errors import BadInput
from motion.base.types import DanceSheet, SheetRow
from motion.dance.cells import Place, count_text, read_count
from motion.dance.check import require_danceable
from motion.dance.figures import call_of, figures_by_name, plain_name
from motion.dance.floorplan import stands
from motion.dance.unroll import unroll
from motion.lesson.cooldown import PACES, Pace, cool_down
from motion.lesson.countin import Section, called, check_bpm, ladder
from motion.lesson.plan import Part, plan, seconds_of
from motion.lesson.pulse import checked_age
from motion.lesson.safety import AUDIENCES, Audience
from motion.lesson.space import Layout, Travel, height_m, layout, plain_travel, travel_of
from motion.lesson.warmup import Item, slow_steps, warm_up
from motion.review.settings import SETTINGS, Settings


@dataclass(frozen=True)
class Wish:
    """What a person asks of a lesson. dancers None: no floor plan; rows None: as many as suit; room_m: width across the front and
    depth; bpm None: the sheet's, else a plain one; age: of grown-ups, for the pulse tables, None to leave those out."""

    minutes: float = 45.0
    audience: Audience = "children"
    dancers: int | None = None
    rows: int | None = None
    room_m: tuple[float, float] | None = None
    seated: bool = False
    bpm: float | None = None
    age: int | None = None


@dataclass(frozen=True)
class Lesson:
    """Everything that the lesson's page shows. title: of the dance, "" without a sheet; floor: None without a number of dancers;
    says: the count-in."""

    wish: Wish
    title: str
    section: Section
    bpm: float
    tempos: tuple[float, ...]
    says: tuple[int | None, ...]
    parts: tuple[Part, ...]
    floor: Layout | None
    warm: tuple[Item, ...]
    steps: tuple[Item, ...]
    cool: tuple[Item, ...]
    pace: Pace


def make_lesson(wish: Wish, sheet: DanceSheet | None = None, *, settings: Settings = SETTINGS) -> Lesson:
    """The lesson for a wish and, if there is one, a dance sheet.

    Raises BadInput for numbers that cannot be, SheetError for a sheet that cannot be danced.
    """
    if wish.audience not in AUDIENCES:
        raise BadInput(f"'{wish.audience}' is no audience of this tool", f"Choose {', '.join(AUDIENCES)}")
    own = settings.lesson
    if wish.age is not None:
        checked_age(wish.age, settings=own)
    parts = plan(wish.minutes, audience=wish.audience, settings=own)
    if sheet is not None:
        require_danceable(sheet)
    written = sheet.bpm if sheet is not None else None
    bpm = check_bpm(wish.bpm if wish.bpm is not None else written if written is not None else own.plain_bpm, settings.dance)
    tempos = ladder(bpm, rungs=own.ladder_rungs, from_share=own.ladder_from, limits=settings.dance, settings=own)
    section: Section = 6 if sheet is not None and sheet.section == 6 else 8
    travel = plain_travel(own) if sheet is None else sheet_travel(sheet, wish.audience, settings=settings)
    floor = None
    if wish.dancers is not None:
        floor = layout(wish.dancers, rows=wish.rows, audience=wish.audience, travel=travel, room_m=wish.room_m, settings=own)
    rows = None if sheet is None else every_row(sheet)
    seconds = seconds_of(parts, "own steps")
    return Lesson(
        wish,
        sheet.title if sheet is not None else "",
        section,
        bpm,
        tempos,
        called(section, bpm, settings=own),
        parts,
        floor,
        warm_up(rows, seconds_of(parts, "joints"), audience=wish.audience, seated=wish.seated, settings=own),
        slow_steps(list(step_calls(sheet)) if sheet else [], seconds, tempos[0], seated=wish.seated, settings=own)
        if seconds
        else (),
        cool_down(seconds_of(parts, "cool down"), audience=wish.audience, settings=own),
        PACES[wish.audience],
    )


def every_row(sheet: DanceSheet) -> tuple[SheetRow, ...]:
    """All rows of a sheet: of the wall or of all parts, of tags, restarts and the ending."""
    blocks = [part.rows for part in sheet.parts] or [sheet.rows]
    blocks += [*(tag.rows for tag in sheet.tags), *(restart.rows for restart in sheet.restarts), sheet.ending]
    return tuple(row for rows in blocks for row in rows)


def sheet_travel(sheet: DanceSheet, audience: Audience, *, settings: Settings = SETTINGS) -> Travel:
    """How far the dance takes the feet from their place, over settings.lesson.walls_walked walls, in paces of that audience's
    height."""
    course = stands(unroll(sheet, walls=settings.lesson.walls_walked))
    pace_m = settings.lesson.pace_share * height_m(audience, settings.lesson)
    spots = [spot for stand in course for spot in (stand.left, stand.right, *([stand.air] if stand.air else []))]
    return travel_of([x * pace_m for x, _ in spots], [y * pace_m for _, y in spots])


def step_calls(sheet: DanceSheet) -> Iterator[str]:
    """What the dance's figures are called, in order; rows without a figure together, section by section."""
    for block in [part.rows for part in sheet.parts] or [sheet.rows]:
        for (named, _), group in groupby(
            block, key=lambda row: (bool(row.written), row.written or int(row.count - 1) // sheet.section)
        ):
            rows = list(group)
            yield _figure_call(rows[0]) if named else _plain_call(rows)


def _figure_call(row: SheetRow) -> str:
    span, _, move, _ = row.written.split(",")
    start, last = read_count(span, None, Place("", 0))
    forms = figures_by_name()[plain_name(move)[0]]
    counts = int((last or start) - start) + 1
    form = next((one for one in forms if one.counts == counts), forms[0])
    return call_of(form, row.foot or "right")


def _plain_call(rows: Sequence[SheetRow]) -> str:
    moves = list(dict.fromkeys(row.move for row in rows))
    first, last = count_text(rows[0].count), count_text(rows[-1].count)
    counts = f"count {first}" if first == last else f"counts {first} to {last}"
    return f"{counts}: {', '.join(moves)}"


def room_of(text: str) -> tuple[float, float]:
    """A room written as width by depth in metres: "10x8", "10 x 8", "9.5 by 7" or "9,5 x 7". BadInput otherwise."""
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*m?\s*(?:x|×|by)\s*(\d+(?:[.,]\d+)?)\s*m?\s*", text, re.IGNORECASE)
    if found is None:
        raise BadInput(f"'{text}' is no size of a room", "Write its width and depth in metres, such as 10x8")
    return float(found[1].replace(",", ".")), float(found[2].replace(",", "."))
