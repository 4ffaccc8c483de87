"""The whole dance in a row: counts that run on through walls, restarts and tags, and where the dancer faces."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count as numbers

from motion.base.checks import number_between
from motion.base.errors import BadInput, SheetError
from motion.base.types import DanceSheet, Due, SheetRow
from motion.dance.figures import MOVES, takes_weight
from motion.dance.rows import fits
from motion.dance.settings import DANCE

#: Counts after a whole one up to which its half counts reach.
ALMOST = 0.99


@dataclass(frozen=True)
class WallStart:
    """Where a wall begins: count runs on from 1 at the first wall's first count, time_s from the music's first beat, facing_deg
    clockwise from the front."""

    wall: int
    count: int
    time_s: float
    facing_deg: float

    @property
    def clock(self) -> str:
        """The facing as dancers say it, 12:00 the front."""
        return clock(self.facing_deg)


@dataclass(frozen=True)
class Stretch:
    """Rows danced in one go, `counts` long, after `skipped` counts of their own; starts_wall: a wall begins with it; tag: it is one;
    part: of a phrased dance, "" otherwise."""

    wall: int
    rows: tuple[SheetRow, ...]
    skipped: int
    counts: int
    starts_wall: bool
    tag: bool = False
    part: str = ""


def clock(facing_deg: float) -> str:
    """A facing as a clock's time: 0 is 12:00, 90 (a quarter to the right) is 3:00, 45 is 1:30."""
    half_hours = round(facing_deg / 15) % 24
    return f"{half_hours // 2 or 12}:{'30' if half_hours % 2 else '00'}"


def unroll(
    sheet: DanceSheet, *, until_count: float | None = None, walls: int | None = None, starting_wall: int = 1,
    ending_after: int | None = None,
) -> tuple[Due, ...]:  # fmt: skip
    """Every event that the dance asks for, in order, from the first count of wall `starting_wall`.

    Counts run on from 1 there, & is + 0.5 and a + 2/3 whatever the music makes of them. Facings are clockwise from the front that
    wall 1 faces. Ends after `walls` walls or with `until_count` (a running count), whichever comes first; with neither, after as
    many walls as lead once through all the walls, tags and restarts of the sheet. ending_after: the running count after which the
    dance breaks off and the sheet's ending is danced instead, told as part of the wall under way. A hold is an event that neither
    lands nor takes weight.
    Raises SheetError for a row that names a figure that does not fit its span, BadInput for a count of walls that cannot be.
    """
    if ending_after is not None:
        danced = unroll(sheet, until_count=ending_after + ALMOST, starting_wall=starting_wall)
        return (*danced, *_ending(sheet, danced, ending_after, starting_wall))
    last_wall = _last_wall(sheet, until_count, walls, starting_wall)
    events: list[Due] = []
    facing_deg = 0.0
    base = 0  # running counts before the stretch
    for stretch in stretches(sheet):
        if stretch.wall > last_wall or (until_count is not None and base >= until_count):
            break
        counted = stretch.wall >= starting_wall
        for row in stretch.rows:
            facing_deg = (facing_deg + row.turn_deg) % 360
            if counted:
                events.append(due_of(row, base + row.count - stretch.skipped, stretch.wall, facing_deg))
        base += stretch.counts if counted else 0
    return tuple(due for due in events if until_count is None or due.count <= until_count)


def wall_starts(sheet: DanceSheet, bpm: float, *, walls: int, intro_counts: int = 0) -> tuple[WallStart, ...]:
    """When each of the first `walls` walls begins and where it faces, at a steady tempo after an intro of so many counts.

    Example: 32 counts with a quarter to the left at their end, 120 BPM, intro 16, restart in wall 3 after 16: walls begin at 8, 24,
    40 and 48 s and face 12:00, 9:00, 6:00 and 6:00.
    """
    number_between(bpm, DANCE.slowest_bpm, DANCE.fastest_bpm, "The tempo", "BPM")
    last_wall = _last_wall(sheet, None, walls, 1)
    starts: list[WallStart] = []
    facing_deg, base = 0.0, 0
    for stretch in stretches(sheet):
        if stretch.wall > last_wall:
            break
        if stretch.starts_wall:
            starts.append(WallStart(stretch.wall, base + 1, (intro_counts + base) * 60 / bpm, facing_deg))
        facing_deg = (facing_deg + sum(row.turn_deg for row in stretch.rows)) % 360
        base += stretch.counts
    return tuple(starts)


def intro_counts(sheet: DanceSheet) -> int | None:
    """How many counts the sheet says to wait before count 1, or None where it names a word of the song, or nothing."""
    found = re.fullmatch(r"(\d{1,4})(?:\s*(?:counts?|beats?))?", (sheet.intro or "").strip(), re.IGNORECASE)
    return int(found[1]) if found else None


def turn_deg_until(sheet: DanceSheet, wall: int, after: int) -> float:
    """The facing in wall `wall` after its count `after`, clockwise from the front."""
    facing_deg = 0.0
    for stretch in stretches(sheet):
        if stretch.wall > wall:
            break
        within = stretch.wall < wall or not stretch.starts_wall
        facing_deg += sum(row.turn_deg for row in stretch.rows if within or row.count < after + 1)
    return facing_deg % 360


def _last_wall(sheet: DanceSheet, until_count: float | None, walls: int | None, starting_wall: int) -> int:
    most = DANCE.most_walls_ahead
    for value, what in ((walls, "The number of walls"), (starting_wall, "The starting wall")):
        if value is not None and not 1 <= value <= most:
            raise BadInput(f"{what} is {value}, but must lie in 1 to {most}", f"Give a whole number from 1 to {most}")
    if walls is not None:
        return starting_wall + walls - 1
    if until_count is not None:
        return starting_wall + most
    return max(starting_wall + (len(sheet.order) or sheet.walls) - 1, last_named_wall(sheet))


def last_named_wall(sheet: DanceSheet) -> int:
    """The wall with which the dance has been once through all its walls or parts, tags and restarts."""
    named = [*(tag.wall for tag in sheet.tags), *(restart.wall for restart in sheet.restarts)]
    return max(len(sheet.order) or sheet.walls, *named) if named else len(sheet.order) or sheet.walls


def stretches(sheet: DanceSheet) -> Iterator[Stretch]:
    """The dance without end, cut where a wall begins, is cut short, or gives way to a tag."""
    by_name = {part.name: part for part in sheet.parts}
    for wall in numbers(1):
        part = by_name[sheet.order[(wall - 1) % len(sheet.order)]] if sheet.order else None
        rows: Sequence[SheetRow] = part.rows if part else sheet.rows
        end, name = (part.counts, part.name) if part else (sheet.counts, "")
        restart = next((r for r in sheet.restarts if r.wall == wall), None)
        if restart:
            end = min(end, restart.after)
            if restart.rows:
                rows = [*(row for row in rows if row.count < restart.rows[0].count), *restart.rows]
        done = 0
        tags = sorted((tag for tag in sheet.tags if tag.wall == wall and tag.after <= end), key=lambda tag: tag.after)
        for tag in tags:
            if tag.after > done:
                yield Stretch(wall, _between(rows, done, tag.after), done, tag.after - done, done == 0, part=name)
            done = tag.after
            yield Stretch(wall, tag.rows, 0, tag.counts, False, tag=True, part=name)
        if end > done:
            yield Stretch(wall, _between(rows, done, end), done, end - done, done == 0, part=name)


def _ending(sheet: DanceSheet, danced: Sequence[Due], after: int, wall: int) -> Iterator[Due]:
    """The events of the ending when it begins after the running count `after`."""
    facing_deg = danced[-1].facing_deg if danced else 0.0
    for row in sheet.ending:
        facing_deg = (facing_deg + row.turn_deg) % 360
        yield due_of(row, after + row.count, danced[-1].wall if danced else wall, facing_deg)


def _between(rows: Sequence[SheetRow], after: int, until: int) -> tuple[SheetRow, ...]:
    """The rows after count `after`, up to and with count `until` and its halves."""
    return tuple(row for row in rows if after + 1 <= row.count < until + 1)


def due_of(row: SheetRow, count: float, wall: int, facing_deg: float) -> Due:
    """What a row asks for at the running count `count`. Raises SheetError for a row that names a figure that does not fit its span."""
    if not fits(row):
        raise SheetError(f"Row {row.row}: the figure {row.move} does not fit its counts", "Check the sheet first")
    lands = MOVES[row.move].lands
    weight = takes_weight(row)
    return Due(count, wall, row.count, row.foot, row.move, lands, weight, facing_deg, row.turn_deg, row.place)
