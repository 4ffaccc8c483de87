"""Where a dance is cut, lengthened or goes on with another part: does the weight fit, and does it face a wall there?"""

from __future__ import annotations

from collections.abc import Iterator

from motion.base.types import DanceSheet, Finding, SheetRow
from motion.dance.cells import count_text
from motion.dance.counting import check_counting
from motion.dance.figures import other_foot
from motion.dance.rows import fits, rows_end
from motion.dance.unroll import Stretch, clock, last_named_wall, stretches
from motion.dance.weight import course, first_foot, takes_weight_at

#: The facings, in degrees clockwise, at which a dance of so many walls begins.
_FACINGS_DEG = {1: (0.0,), 2: (0.0, 180.0), 4: (0.0, 90.0, 180.0, 270.0)}


def check_facings(sheet: DanceSheet) -> Iterator[Finding]:
    """A doubt at the first wall or part that begins facing where a dance of so many walls never begins."""
    if sheet.parts and sheet.walls == 1:
        return  # a phrased dance need not state its walls, and then reads as one of 1
    facing_deg = 0.0
    for stretch in danced_once(sheet, one_more=not sheet.parts):
        if stretch.starts_wall and min(abs(facing_deg % 360 - deg) for deg in _FACINGS_DEG[sheet.walls]) > 1:
            begins = f"part {stretch.part} (number {stretch.wall} in the order)" if stretch.part else f"wall {stretch.wall}"
            allowed = " or ".join(clock(deg) for deg in _FACINGS_DEG[sheet.walls])
            words = (
                f"With its turns, tags and restarts {begins} begins facing {clock(facing_deg)}, "
                f"but a dance of {sheet.walls} wall{'s' if sheet.walls > 1 else ''} begins facing {allowed}"
            )
            yield Finding("doubt", stretch.rows[0].row if stretch.rows else 0, words)
            return
        facing_deg += sum(row.turn_deg for row in stretch.rows)


def check_phrased_cuts(sheet: DanceSheet) -> list[Finding]:
    """Restarts and tags of a phrased dance: are they reached, do they add up, and is the foot free that comes next?"""
    found = [Finding("error", 0, words) for words in _never_reached(sheet)]
    for tag in sheet.tags:
        counts = tag.counts if tag.counts != rows_end(tag.rows) else None
        found += check_counting(tag.rows, counts, f"the tag in wall {tag.wall} after {tag.after}").findings
    if found or not (sheet.tags or sheet.restarts):
        return found
    danced = list(danced_once(sheet, one_more=True))
    rows = [(stretch, row) for stretch in danced for row in stretch.rows]
    first = first_foot([row for _, row in rows])
    if first is None or not all(fits(row) for _, row in rows):
        return found
    weight = course([row for _, row in rows], other_foot(first))
    for slip in weight.slips:
        stretch, row = rows[slip.at]
        before = danced[max(0, danced.index(stretch) - 1)]
        if not stretch.tag and not _is_joint(sheet, before, stretch, row):
            continue  # within a part, or from part to part: told there
        last = next((r for _, r in reversed(rows[: slip.at]) if takes_weight_at(r)), None)
        since = f"since count {count_text(last.count)}" if last else "from the beginning"
        where = f"the tag in wall {stretch.wall}" if stretch.tag else f"part {stretch.part} (number {stretch.wall} in the order)"
        after = "" if stretch.tag else " after a tag" if before.tag else " after the restart"
        words = f"In {where}{after}, count {count_text(row.count)} uses the {row.foot} foot, which bears the weight {since}"
        found.append(Finding("error", row.row, words))
    return found


def danced_once(sheet: DanceSheet, *, one_more: bool = False) -> Iterator[Stretch]:
    """The dance's stretches once through all its walls, tags and restarts; one_more: and the wall after them."""
    last = last_named_wall(sheet) + one_more
    for stretch in stretches(sheet):
        if stretch.wall > last:
            return
        yield stretch


def _is_joint(sheet: DanceSheet, before: Stretch, stretch: Stretch, row: SheetRow) -> bool:
    """Whether the row is the first that moves a foot behind a tag or a cut."""
    cut = any(restart.wall == before.wall for restart in sheet.restarts) and before.wall != stretch.wall
    opening = next((r for r in stretch.rows if r.foot), None)
    return (before.tag or cut) and row is opening


def _never_reached(sheet: DanceSheet) -> Iterator[str]:
    counts = {part.name: part.counts for part in sheet.parts}
    cuts = {restart.wall: restart.after for restart in sheet.restarts}
    for wall, after in cuts.items():
        part = sheet.order[(wall - 1) % len(sheet.order)]
        if after > counts[part]:
            yield f"The restart in wall {wall} after {after} cannot be: that is part {part}, which has {counts[part]} counts"
    for tag in sheet.tags:
        part = sheet.order[(tag.wall - 1) % len(sheet.order)]
        end = min(counts[part], cuts.get(tag.wall, counts[part]))
        if tag.after > end:
            yield f"The tag in wall {tag.wall} after {tag.after} is never reached: that is part {part}, which ends after {end}"
