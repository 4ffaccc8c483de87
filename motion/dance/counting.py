"""Do the counts of some rows add up: every count there once, in order, as many as the header says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import zip_longest

from motion.base.types import Finding, SheetRow
from motion.dance.cells import count_text
from motion.dance.figures import FIGURES, figure_steps, figures_by_name, plain_name, spans, takes_weight
from motion.dance.rows import fits, row_end


@dataclass(frozen=True)
class Counting:
    """What was found about the counts. rows: in order of count, slips that are plain to see mended; suspects: counts at which
    something is wrong, so that what follows from it is not told a second time."""

    findings: tuple[Finding, ...]
    rows: tuple[SheetRow, ...]
    suspects: tuple[float, ...]

    def explains(self, low: float, high: float) -> bool:
        """Whether a slip in the counts lies from count low to count high."""
        return any(low <= count <= high for count in self.suspects)


@dataclass
class _Unit:
    """One written row: a step, or a figure with all its steps."""

    rows: list[SheetRow]
    first: float
    last: float

    @property
    def whole(self) -> range:
        """The whole counts that it fills."""
        return range(-int(-self.first // 1), int(self.last) + 1)

    @property
    def line(self) -> int:
        return self.rows[0].row

    def label(self) -> str:
        one = len(self.whole) <= 1
        return count_text(self.first) if one else f"{count_text(self.first)} to {self.whole[-1]}"


def check_counting(rows: Sequence[SheetRow], counts: int | None, whose: str) -> Counting:
    """Check the counts of a wall, part, tag or ending; `whose` names it in sentences ("the wall").

    counts: how many there should be, None if only the rows say so. A slip is told once: a count that stands in the place of a
    missing one is one finding. Where two rows share a count and either may be the wrong one, the reading with fewer findings holds.
    """
    readings = (_counted(rows, counts, whose, earlier_first=earlier) for earlier in (False, True))
    return min(readings, key=lambda reading: len(reading.findings))


def _counted(rows: Sequence[SheetRow], counts: int | None, whose: str, *, earlier_first: bool) -> Counting:
    """One reading: of two rows that collide, the later is taken to be wrong where both may be, or the earlier."""
    units = _units(rows, counts)
    findings = [_unfit(unit.rows[0]) for unit in units if not fits(unit.rows[0])]
    accepted, outliers = _in_order(units, counts, earlier_first=earlier_first)
    last = max((int(unit.last) for unit in accepted), default=0)
    counts = last if counts is None else counts
    missing = sorted(set(range(1, counts + 1)).difference(*(unit.whole for unit in accepted)))
    suspects: list[float] = []
    kept = list(accepted)
    for unit, at in outliers:
        before, after = accepted[at - 1] if at else None, accepted[at] if at < len(accepted) else None
        swapped = _swapped(unit, at, accepted)
        meant = None if swapped else _meant(unit, before, after, missing)
        findings.append(_misplaced(unit, before, after, meant))
        suspects += [row.count for row in unit.rows]
        if meant is not None:
            _move(unit, meant - unit.first)
            suspects += [row.count for row in unit.rows]
        if swapped or meant is not None:
            kept.append(unit)
            missing = [m for m in missing if m not in unit.whole]
    ordered = sorted((row for unit in kept for row in unit.rows), key=lambda row: row.count)
    gaps, unwritten = _unless_holds(missing, ordered)
    findings += unwritten
    if last > counts:
        findings.append(_too_long(last, counts, gaps, accepted[-1].line, whose))
        suspects += [float(g) for g in gaps] or [float(counts + 1)]
        gaps = []
    findings += [_gap(run, accepted) for run in _runs([m for m in gaps if m <= last])]
    if gaps and gaps[-1] > last:
        findings.append(Finding("error", accepted[-1].line if accepted else 0, f"{_said(whose, counts)} end on count {last}"))
    suspects += [float(m) for m in gaps]
    return Counting(tuple(findings), tuple(ordered), tuple(suspects))


def _units(rows: Sequence[SheetRow], counts: int | None) -> list[_Unit]:
    """Rows by the line they were written in. A figure that does not fit reaches to the next line, so that it is told only once."""
    units: list[_Unit] = []
    for row in rows:
        if units and row.written and row.written == units[-1].rows[0].written and row.row == units[-1].line:
            units[-1].rows.append(row)
            units[-1].last = max(row.count, units[-1].last)
        else:
            units.append(_Unit([row], row.count, row.count))
    for unit, following in zip_longest(units, units[1:]):
        if not fits(unit.rows[0]):
            reach = following.first - 1 if following else counts or row_end(unit.rows[0])
            unit.last = max(float(-int(-reach // 1)), unit.first)
    return units


def _in_order(units: list[_Unit], counts: int | None, *, earlier_first: bool) -> tuple[list[_Unit], list[tuple[_Unit, int]]]:
    """The units whose counts rise; and those that break the order, each with how many of the former stand before it."""
    accepted: list[_Unit] = []
    odd: list[tuple[_Unit, int]] = []
    for unit, following in zip_longest(units, units[1:]):
        if accepted and unit.first <= accepted[-1].last:
            before = accepted[-2].last if len(accepted) > 1 else 0.0
            end = following.first if following else (counts or 0) + 1
            leapt = int(before) + 1 < accepted[-1].first  # the one before left a count out, so it may be the one misplaced
            room_behind = end - int(accepted[-1].last) - 1 >= max(len(unit.whole), 1)
            if not leapt or unit.first <= before or (room_behind and not earlier_first):
                odd.append((unit, len(accepted)))
                continue
            odd.append((accepted.pop(), len(accepted)))
        accepted.append(unit)
    return accepted, odd


def _swapped(unit: _Unit, at: int, accepted: list[_Unit]) -> bool:
    """Whether the unit only stands on the wrong side of its neighbour."""
    if at < len(accepted) and accepted[at].last < unit.first == int(unit.first):
        return unit.last < accepted[at + 1].first if at + 1 < len(accepted) else unit.first <= accepted[at].last + 1
    if at and unit.last < accepted[at - 1].first:
        return at == 1 or accepted[at - 2].last < unit.first
    return False


def _meant(unit: _Unit, before: _Unit | None, after: _Unit | None, missing: list[int]) -> float | None:
    """The count that a misplaced unit was plainly meant for: one missing just there, or the half count between its neighbours."""
    low = before.last if before else 0.0
    high = after.first if after else float("inf")
    room = [m for m in missing if low < m < high]
    length = max(len(unit.whole), 1)
    starts = [m for m in room if all(m + k in room for k in range(length))]
    if starts:  # the likeliest slip of the pen: another ten, or the nearest number
        return float(min(starts, key=lambda m: (m % 10 != unit.first % 10, abs(m - unit.first))))
    if not room and length == 1 and low == int(low) and high == low + 1:
        return low + (unit.first % 1 or 0.5)
    return None


def _move(unit: _Unit, by: float) -> None:
    unit.rows = [replace(row, count=row.count + by) for row in unit.rows]
    unit.first, unit.last = unit.first + by, unit.last + by


def _misplaced(unit: _Unit, before: _Unit | None, after: _Unit | None, meant: float | None) -> Finding:
    same = next((other for other in (before, after) if other and other.first == unit.first), None)
    if same:
        words = f"Count {unit.label()} stands here and in row {same.line}: two steps at one count"
    elif before and before.first < unit.first <= before.last:
        words = f"Count {unit.label()} lies within row {before.line}, which fills {before.label()}"
    else:
        near = [f"count {other.label()} (row {other.line})" for other in (before, after) if other]
        words = f"Count {unit.label()} is out of order: it stands {'between' if len(near) == 2 else 'beside'} {' and '.join(near)}"
    if meant is not None:
        behind = (
            f", or does it belong behind count {after.label()}"
            if after and meant % 1 and int(unit.first) == after.first != unit.first
            else ""
        )
        words += f". Was {count_text(meant)} meant{behind}?"
    return Finding("error", unit.line, words)


def _unfit(row: SheetRow) -> Finding:
    """Why a figure's row could not be expanded."""
    forms = figures_by_name()[plain_name(row.move)[0]]
    span = row.written.split(",")[0]
    allowed = " or ".join(dict.fromkeys(spans(form) for form in forms))
    if row.count != int(row.count):
        words = f"The figure {row.move} begins on a half count; write its steps one by one"
    elif row.foot is None and plain_name(row.move)[1] is None:
        words = f"The figure {row.move} does not say which foot begins: write R or L"
    else:
        words = f"The figure {row.move} does not fit count {span}: it takes {allowed} counts"
    return Finding("error", row.row, words)


def _runs(counts: Sequence[int]) -> list[list[int]]:
    """Consecutive counts together."""
    runs: list[list[int]] = []
    for count in counts:
        if runs and count == runs[-1][-1] + 1:
            runs[-1].append(count)
        else:
            runs.append([count])
    return runs


def _gap(run: list[int], accepted: list[_Unit]) -> Finding:
    after = next(unit for unit in accepted if unit.last > run[-1])
    subject = f"Count {run[0]} is" if len(run) == 1 else f"Counts {run[0]} to {run[-1]} are"
    return Finding("error", after.line, f"{subject} missing before this row. Write the step, or hold")


def _said(whose: str, counts: int) -> str:
    return (
        f"The header says {counts} counts, but the rows"
        if whose == "the wall"
        else f"{whose.capitalize()} has {counts} counts, but its rows"
    )


def _too_long(last: int, counts: int, gaps: list[int], line: int, whose: str) -> Finding:
    words = f"{_said(whose, counts)} run to {last}"
    if gaps and len(gaps) == last - counts:
        words += f", and count {gaps[0]} is missing: are the counts after it too high?"
    return Finding("error", line, words)


Three = tuple[str, ...]


@cache
def _held_threes() -> frozenset[Three]:
    """The three steps of every figure that, over four counts, ends in a hold."""
    threes = set()
    for figure in FIGURES:
        moves = [_as_shift(step.move) for step in figure_steps(figure)]
        if figure.slow:
            threes.add(tuple(moves))
        threes.update(tuple(moves[k - 3 : k]) for k, move in enumerate(moves) if move == "hold" and k >= 3)
    return frozenset(threes - {("hold",) * 3})


def _as_shift(move: str) -> str:
    """Sheets write the second step of a rock as recover or in place."""
    return "recover" if move == "in place" else move


def _unless_holds(missing: list[int], ordered: list[SheetRow]) -> tuple[list[int], list[Finding]]:
    """The missing counts that cannot be read as holds, and a doubt if some can only be guessed to be.

    A count without a row is a hold when it ends a figure of three steps that the table holds on the fourth count, or one that is
    such a figure but for one step where the same figure is held elsewhere. Where a sheet leaves out two or more counts, writes no
    hold, and each lies between a step and a step of the other foot, it plainly leaves its holds out; that is told as a doubt.
    """
    quiet = [m for m in missing if not any(m < row.count < m + 1 for row in ordered)]
    threes = {m: _three_before(m, ordered) for m in quiet}
    held = {three for three in threes.values() if three in _held_threes()}
    known = {m for m in quiet if any(sum(a == b for a, b in zip(threes[m], three, strict=True)) >= 2 for three in held)}
    guessed = [m for m in quiet if m not in known]
    alternate = all(_foot_changes(m, ordered) for m in guessed)
    together = len(_runs(missing)) < len(missing)
    if len(guessed) < 2 or not alternate or together or len(quiet) < len(missing) or any(row.move == "hold" for row in ordered):
        return [m for m in missing if m not in known], []
    words = f"Counts {', '.join(map(str, guessed))} have no row and are read as holds. Write them as hold to be sure"
    line = next((row.row for row in ordered if row.count > guessed[0]), ordered[-1].row)
    return [], [Finding("doubt", line, words)]


def _three_before(count: int, ordered: list[SheetRow]) -> Three:
    """The moves on the three whole counts before the count, "" for none."""
    moves = {row.count: _as_shift(row.move) for row in ordered if count - 3 <= row.count < count}
    return tuple(moves.get(float(c), "") for c in range(count - 3, count))


def _foot_changes(count: int, ordered: list[SheetRow]) -> bool:
    """Whether the row before the count steps on one foot on a whole count, and the next row that moves a foot moves the other."""
    at = next((k for k, row in enumerate(ordered) if row.count > count), len(ordered))
    before = ordered[at - 1] if at else None
    if before is None or before.count != count - 1 or not fits(before) or not takes_weight(before) or before.foot is None:
        return False
    following = next((row for row in [*ordered[at:], *ordered] if row.foot is not None), None)
    return following is not None and following.foot != before.foot
