"""Can the dance be danced as it is written? Findings in a teacher's words.

Counts that are missing, weight on the wrong foot and walls that do not close are errors; everything arguable is a doubt. One slip
is one finding: what only follows from it is not told again.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence

from motion.base.errors import SheetError
from motion.base.types import DanceSheet, Finding, Foot, Part, Restart, SheetRow, Tag
from motion.dance.cells import NOTE, WAITS, count_text
from motion.dance.counting import Counting, check_counting
from motion.dance.header import HEADER_KEYS, OTHER_KEYS
from motion.dance.joins import check_facings, check_phrased_cuts
from motion.dance.rows import fits, rows_end
from motion.dance.unroll import clock, turn_deg_until
from motion.dance.weight import Course, best_course, course, first_foot, joins, takes_weight_at

#: Moves that both feet can do at once, in a jump.
_BOTH_FEET = ("side", "together", "forward", "back", "in place", "stomp", "stomp up")
#: Net turns, in degrees clockwise, that lead through so many walls.
_CLOSING_DEG = {1: (0.0,), 2: (180.0,), 4: (90.0, 270.0)}
#: What a level's dances hold at most, by the level definitions of the trade's guide of 2014 (revised 2017): counts of a wall, rows
#: that turn, half counts, tags and restarts. None: no limit there.
_LEVELS: dict[str, tuple[int, int | None, bool, bool]] = {
    "absolute beginner": (32, 1, False, False),
    "beginner": (48, 2, True, False),
    "improver": (64, None, True, True),
}
#: How the doubt about a line of prose begins.
WAITING = "These words wait to be written as steps: "
_LEVELS_SOURCE = "the level definitions that instructors commonly use (2014, revised 2017)"


def check_sheet(sheet: DanceSheet) -> tuple[Finding, ...]:
    """Everything found on the sheet, in the order of its rows; empty when it can be danced and nothing is in doubt."""
    found: list[Finding] = []
    if sheet.parts:
        found += _check_parts(sheet)
        found += check_phrased_cuts(sheet) if not found else []
    else:
        counting = check_counting(sheet.rows, sheet.counts, "the wall")
        found += _told_with_turns(sheet, counting)
        wall = best_course(counting.rows, closes=True)
        found += _weight_findings(counting, wall)
        if not _begins_in_doubt(counting):
            found += _wall_end(counting, wall)
            found += _check_restarts(sheet, counting, wall)
            found += _check_tags(sheet, counting, wall)
    ending = check_counting(sheet.ending, None, "the ending")
    found += [*ending.findings, *_weight_findings(ending, best_course(ending.rows, closes=False))]
    blocks: list[Sequence[SheetRow]] = [sheet.rows] if not sheet.parts else [part.rows for part in sheet.parts]
    blocks += [sheet.ending, *(tag.rows for tag in sheet.tags), *(restart.rows for restart in sheet.restarts)]
    found += [finding for rows in blocks for finding in _check_feet(rows)]
    if not any(finding.grade == "error" for finding in found):
        found += check_facings(sheet)
    found += [*_check_bars(sheet, found), *_check_level(sheet), *_check_header(sheet), *_check_waiting(sheet, blocks)]
    distinct = {(finding.row, finding.words): finding for finding in found}
    return tuple(sorted(distinct.values(), key=lambda finding: finding.row))


def require_danceable(sheet: DanceSheet) -> None:
    """Raise SheetError with the first errors of check_sheet, if there are any; doubts do not matter."""
    errors = [finding for finding in check_sheet(sheet) if finding.grade == "error"]
    if errors:
        told = "; ".join(f"row {e.row}: {e.words}" if e.row else e.words for e in errors[:2])
        more = f"; and {len(errors) - 2} more" if len(errors) > 2 else ""
        raise SheetError(
            f"{sheet.title} cannot be danced as its sheet is written: {told}{more}", "Mend the sheet and check it again"
        )


def _begins_in_doubt(counting: Counting) -> bool:
    """Whether a slip in the counts lies at the very beginning, where the weight of the whole wall starts."""
    return not counting.rows or counting.explains(0.0, counting.rows[0].count)


def _told_with_turns(sheet: DanceSheet, counting: Counting) -> list[Finding]:
    """The findings about counts, and that the walls do not close; a wall's missing row may have carried the turn."""
    net_deg = sum(row.turn_deg for row in sheet.rows) % 360
    findings = list(counting.findings)
    if net_deg in _CLOSING_DEG[sheet.walls] or not all(map(fits, sheet.rows)):
        return findings
    errors = [k for k, finding in enumerate(findings) if finding.grade == "error"]
    if errors:
        first = findings[errors[0]]
        words = f"{first.words.rstrip('.')}. The turns of the wall do not close either, which may be the same slip"
        findings[errors[0]] = Finding("error", first.row, words)
        return findings
    turning = [row.row for row in sheet.rows if row.turn_deg]
    needed = " or ".join(clock(deg) for deg in _CLOSING_DEG[sheet.walls])
    words = (
        f"The turns do not close: a wall that begins at 12:00 ends at {clock(net_deg)}, "
        f"but with {sheet.walls} wall{'s' if sheet.walls > 1 else ''} it must end at {needed}"
    )
    return [*findings, Finding("error", turning[-1] if turning else 0, words)]


def _weight_findings(counting: Counting, weight: Course) -> list[Finding]:
    """Rows whose foot already bears the body, unless a slip in the counts just there explains it."""
    found = []
    for slip in weight.slips:
        row = counting.rows[slip.at]
        since = counting.rows[slip.since] if slip.since is not None else None
        if counting.explains(since.count if since else 0.0, row.count):
            continue
        when = f"since count {count_text(since.count)}" if since else "from the end of the wall before"
        remedy = "other foot, or a touch before it" if takes_weight_at(row) else "other foot, or a step before it"
        step = f"Count {count_text(row.count)}, {row.foot} {row.move}"
        words = f"{step}: the {row.foot} foot already bears the weight, {when} ({remedy}?)"
        found.append(Finding("error", row.row, words))
    return found


def _wall_end(counting: Counting, wall: Course) -> list[Finding]:
    """The wall must end with the foot free that count 1 uses."""
    last = max((row.count for row in counting.rows if takes_weight_at(row)), default=0.0)
    if joins(wall.ends, wall.begins) or counting.explains(last, float("inf")):
        return []
    words = (
        f"The wall ends with the weight on the {wall.ends} foot, but count 1 begins with it: end with a touch, or step once more"
    )
    return [Finding("error", counting.rows[-1].row, words)]


def _state_after(counting: Counting, wall: Course, count: float) -> Foot | None:
    """The foot that bears the body when the wall has been danced up to and with the count; None if a slip just there hides it."""
    danced = [(row, state) for row, state in zip(counting.rows, wall.after, strict=True) if row.count < count + 1]
    last = max((row.count for row, _ in danced if takes_weight_at(row)), default=0.0)
    if counting.explains(last, count + 1):
        return None
    return danced[-1][1] if danced else wall.begins


def _check_restarts(sheet: DanceSheet, counting: Counting, wall: Course) -> Iterator[Finding]:
    seen: set[int] = set()
    for restart in sheet.restarts:
        problem = _restart_error(sheet, restart, counting, wall) if restart.wall not in seen else "comes twice in the sheet"
        seen.add(restart.wall)
        name = f"The restart in wall {restart.wall} after {restart.after}"
        if problem:
            yield Finding("error", 0, f"{name} {problem}")
        elif restart.after == sheet.counts and not restart.rows:
            yield Finding("doubt", 0, f"{name} changes nothing: the wall ends there anyway")
        elif restart.after % _bar(sheet):
            yield Finding("doubt", 0, f"{name} cuts a bar of {_bar(sheet)} counts")
        else:
            yield from _check_facing(sheet, restart, name)


def _restart_error(sheet: DanceSheet, restart: Restart, counting: Counting, wall: Course) -> str:
    """What makes the restart impossible, or ""."""
    if restart.after > max(sheet.counts, rows_end(sheet.rows)):
        return f"cannot be: the wall has {sheet.counts} counts"
    ends = _state_after(counting, wall, restart.after)
    if restart.rows:
        first = restart.rows[0].count
        replaced = check_counting([*(row for row in sheet.rows if row.count < first), *restart.rows], restart.after, "the cut wall")
        weight = course(replaced.rows, wall.begins)
        if replaced.findings and not counting.findings:
            return f"does not add up: {replaced.findings[0].words}"
        if len(weight.slips) > len(wall.slips):
            row = replaced.rows[weight.slips[-1].at]
            return f"puts the {row.foot} foot on count {count_text(row.count)} while it bears the weight"
        ends = weight.ends
    if not joins(ends, wall.begins):
        return f"leaves the weight on the {ends} foot, but count 1 begins with it"
    return ""


def _check_facing(sheet: DanceSheet, restart: Restart, name: str) -> Iterator[Finding]:
    """A facing that the sheet states beside a restart should be the one that its turns lead to."""
    stated = re.search(r"\b(1[0-2]|[1-9]):([03]0)\b", restart.note)
    facing = clock(turn_deg_until(sheet, restart.wall, restart.after))
    if stated and stated[0] != facing:
        yield Finding("doubt", 0, f"{name} is said to face {stated[0]}, but the turns lead to {facing}")


def _check_tags(sheet: DanceSheet, counting: Counting, wall: Course) -> Iterator[Finding]:
    cuts = {restart.wall: restart.after for restart in sheet.restarts}
    for tag in sheet.tags:
        name = f"the tag in wall {tag.wall} after {tag.after}"
        cut = cuts.get(tag.wall, max(sheet.counts, rows_end(sheet.rows)))
        if tag.after > cut:
            yield Finding("error", tag.rows[0].row, f"{name.capitalize()} is never reached: the wall ends after {cut}")
            continue
        yield from _check_tag(tag, name, _state_after(counting, wall, tag.after), wall.begins if tag.after == cut else None)


def _check_tag(tag: Tag, name: str, begins: Foot | None, follows: Foot | None) -> Iterator[Finding]:
    """follows: the foot that must bear the body after the tag; None, if the wall goes on, as before it."""
    counting = check_counting(tag.rows, tag.counts if tag.counts != rows_end(tag.rows) else None, name)
    needed = begins if follows is None else follows
    weight = course(counting.rows, begins, needed)
    yield from counting.findings
    yield from _weight_findings(counting, weight)
    last = max((row.count for row in counting.rows if takes_weight_at(row)), default=0.0)
    if not weight.slips and not joins(weight.ends, needed) and not counting.explains(last, float("inf")):
        words = f"{name.capitalize()} ends with the weight on the {weight.ends} foot, which is needed for the next step"
        yield Finding("error", counting.rows[-1].row, words)


def _check_parts(sheet: DanceSheet) -> Iterator[Finding]:
    """Each part by itself, and the weight from each to the one that follows."""
    weights: dict[str, Course] = {}
    told: set[str] = set()  # parts that have a finding already, which may be why their end does not fit
    for part in sheet.parts:
        counting = check_counting(part.rows, part.counts if part.counts != rows_end(part.rows) else None, f"part {part.name}")
        weights[part.name] = best_course(counting.rows, closes=False)
        findings = [*counting.findings, *_weight_findings(counting, weights[part.name])]
        yield from findings
        told |= {part.name} if findings else set()
    by_name: dict[str, Part] = {part.name: part for part in sheet.parts}
    for before, after in dict.fromkeys(zip(sheet.order, sheet.order[1:], strict=False)):
        clash = weights[before].ends == first_foot(by_name[after].rows) is not None
        if clash and not told & {before, after}:
            told.add(before)
            words = f"Part {before} ends with the weight on the {weights[before].ends} foot, but part {after} begins with it"
            yield Finding("error", by_name[after].rows[0].row, words)


def _check_feet(rows: Sequence[SheetRow]) -> Iterator[Finding]:
    """Steps without a foot."""
    for row in rows:
        if row.foot is None and fits(row) and row.move not in ("hold", "swivel", "unwind"):
            if row.move in _BOTH_FEET:
                yield Finding(
                    "doubt", row.row, f"Count {count_text(row.count)}, {row.move}: no foot is given, read as both feet at once"
                )
            else:
                yield Finding("error", row.row, f"Count {count_text(row.count)}, {row.move}: which foot? Write R or L")


def _bar(sheet: DanceSheet) -> int:
    """Counts in a bar: 6/8 is counted in two."""
    return 2 if sheet.beats_per_bar == 6 else sheet.beats_per_bar


def _check_bars(sheet: DanceSheet, found: list[Finding]) -> Iterator[Finding]:
    """A wall of whole bars, headings at the beginning of sections; not asked while the counts themselves are wrong."""
    if any(finding.grade == "error" for finding in found):
        return
    if sheet.counts % _bar(sheet):
        yield Finding("doubt", 0, f"{sheet.counts} counts are not a whole number of bars of {_bar(sheet)}")
    for row in sheet.rows:
        heading = next((line for line in row.heading.splitlines() if not line.startswith((NOTE, WAITS))), "")
        if heading and (row.count - 1) % sheet.section:
            words = f"The heading '{heading}' stands at count {count_text(row.count)}, within a section of {sheet.section}"
            yield Finding("doubt", row.row, words)


def _check_waiting(sheet: DanceSheet, blocks: Sequence[Sequence[SheetRow]]) -> Iterator[Finding]:
    """Lines of prose that nobody has written as steps yet."""
    headings = [(row.row, row.heading) for rows in blocks for row in rows if row.heading]
    headings += [(0, value) for key, value in sheet.extra if key == "section"]
    for row, heading in headings:
        for line in heading.splitlines():
            if line.startswith(WAITS):
                yield waiting(row, line.removeprefix(WAITS))


def waiting(row: int, words: str) -> Finding:
    """The doubt about a line of prose that nobody has written as steps yet."""
    return Finding("doubt", row, f"{WAITING}{words}")


def _check_level(sheet: DanceSheet) -> Iterator[Finding]:
    """Content beyond the stated level."""
    level = " ".join((sheet.level or "").casefold().replace("-", " ").split())
    if level not in _LEVELS:
        return
    most_counts, most_turns, halves, cuts = _LEVELS[level]
    turning = {row.row or k for k, row in enumerate(sheet.rows) if row.turn_deg}
    half = next((row for row in sheet.rows if row.count % 1), None)
    beyond = []
    if sheet.counts > most_counts:
        beyond.append(f"more than {most_counts} counts")
    if most_turns is not None and len(turning) > most_turns:
        beyond.append(f"more than {most_turns} turn{'s' if most_turns > 1 else ''}")
    if half and not halves:
        beyond.append(f"half counts ({count_text(half.count)})")
    if (sheet.tags or sheet.restarts) and not cuts:
        beyond.append("tags or restarts")
    if sheet.parts:
        beyond.append("parts")
    if beyond:
        words = f"The sheet says {level}, but has {', '.join(beyond)}: by {_LEVELS_SOURCE} that is beyond it"
        yield Finding("doubt", 0, words)


def _check_header(sheet: DanceSheet) -> Iterator[Finding]:
    """Header lines that look like a known one misspelt: they are kept, but change nothing."""
    for key, _ in sheet.extra:
        near = difflib.get_close_matches(key.casefold(), [*HEADER_KEYS, *OTHER_KEYS], n=1, cutoff=0.75)
        if key and near and key != near[0]:
            yield Finding("doubt", 0, f"The line '# {key}:' is not known and changes nothing. Was '# {near[0]}:' meant?")
