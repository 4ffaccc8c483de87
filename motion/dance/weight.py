"""Which foot bears the body: steps that take weight come from the foot that is free, right and left in turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from motion.base.types import Foot, SheetRow
from motion.dance.figures import MOVES, other_foot, takes_weight
from motion.dance.rows import fits

#: Rows looked ahead to tell a wrong foot from a forgotten step: an eight with every half count, twice.
_AHEAD = 32


@dataclass(frozen=True)
class Slip:
    """Row `at` of the list cannot be danced: its foot already bears the body, since row `since` (None: from the beginning)."""

    at: int
    since: int | None


@dataclass(frozen=True)
class Course:
    """The weight through some rows. begins, ends: the foot that bears the body before and after, None where both or either may;
    after: the same after every row; slips: rows that cannot be danced, one for every mistake, not for what follows from it."""

    begins: Foot | None
    after: tuple[Foot | None, ...]
    slips: tuple[Slip, ...]

    @property
    def ends(self) -> Foot | None:
        """The foot that bears the body after the last row."""
        return self.after[-1] if self.after else self.begins


def first_foot(rows: Sequence[SheetRow]) -> Foot | None:
    """The foot that the rows begin with: it has to be free before them."""
    return next((row.foot for row in rows if row.foot and fits(row) and row.move not in ("unwind", "swivel", "hold")), None)


def course(rows: Sequence[SheetRow], begins: Foot | None, ends: Foot | None = None) -> Course:
    """Follow the weight from the foot that bears it at the beginning; `ends` is the foot that should bear it at the end, if any.

    After a slip the dance goes on with whichever foot lets it go on longest, so that one wrong foot is one slip.
    """
    after: list[Foot | None] = []
    slips: list[Slip] = []
    state, since = begins, None
    k = 0
    while k < len(rows):
        fine, following = _step(state, rows[k])
        if fine:
            since = k if following != state or takes_weight_at(rows[k]) else since
            state = following
            after.append(state)
            k += 1
            continue
        slips.append(Slip(k, since))
        end, mirrored = _mirrored_figure(rows, k, state)
        written_run = _run(rows, k + 1, following, ends)
        turned = other_foot(following) if following else None
        turned_run = _run(rows, k + 1, turned, ends)
        if end is not None and end - k - 1 + _run(rows, end, mirrored, ends) > max(written_run, turned_run):
            after += [mirrored] * (end - k)
            state, since, k = mirrored, end - 1, end
            continue
        state = following if written_run >= turned_run else turned
        since = k
        after.append(state)
        k += 1
    return Course(begins, tuple(after), tuple(slips))


def best_course(rows: Sequence[SheetRow], *, closes: bool) -> Course:
    """The course from the beginning that leaves the fewest slips. closes: it must end as it begins, so that it can be repeated."""
    first = first_foot(rows)
    if first is None:
        return course(rows, None)
    usual, unusual = (course(rows, begins, begins if closes else None) for begins in (other_foot(first), first))
    return min((usual, unusual), key=lambda c: len(c.slips) + (closes and not joins(c.ends, c.begins)))


def joins(ends: Foot | None, begins: Foot | None) -> bool:
    """Whether what begins with the weight on one foot can follow what ends with it on another."""
    return ends is None or begins is None or ends == begins


def takes_weight_at(row: SheetRow) -> bool:
    """Whether the row leaves the body on its foot; False for a figure that could not be expanded."""
    return fits(row) and row.foot is not None and takes_weight(row)


def _step(state: Foot | None, row: SheetRow) -> tuple[bool, Foot | None]:
    """Whether the row can be danced with the weight there, and where the weight is then."""
    if not fits(row):
        return True, None
    move = MOVES[row.move]
    if row.foot is None:
        return True, None if move.takes_weight else state
    if move.name in ("unwind", "strut drop"):
        return True, row.foot
    if move.takes_weight:
        return state != row.foot, row.foot
    if move.name in ("swivel", "hold"):
        return True, state
    return state != row.foot, state or other_foot(row.foot)


def _run(rows: Sequence[SheetRow], start: int, state: Foot | None, ends: Foot | None) -> int:
    """How many rows from `start` can be danced before the next slip or the wrong end, looking _AHEAD rows at most."""
    for k in range(start, min(start + _AHEAD, len(rows))):
        fine, state = _step(state, rows[k])
        if not fine:
            return k - start
    seen_end = start + _AHEAD >= len(rows)
    return len(rows) - start if seen_end and not joins(state, ends) else _AHEAD


def _mirrored_figure(rows: Sequence[SheetRow], start: int, state: Foot | None) -> tuple[int | None, Foot | None]:
    """If a figure that begins at `start` can be danced from the other foot: the row after it, and the weight then."""
    line = (rows[start].row, rows[start].written)
    if not rows[start].written or (start and (rows[start - 1].row, rows[start - 1].written) == line):
        return None, None
    end = start
    while end < len(rows) and (rows[end].row, rows[end].written) == line:
        row = rows[end]
        mirrored = SheetRow(row.count, other_foot(row.foot) if row.foot else None, row.move)
        fine, state = _step(state, mirrored)
        if not fine:
            return None, None
        end += 1
    return (end, state) if end - start > 1 else (None, None)
