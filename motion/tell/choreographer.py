"""A review as a choreographer looks at it: wherever two walls, two takes or clip and sheet differ, the two moments that show it.

Pure functions on the blocks of review.json.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from motion.base.errors import SheetError
from motion.base.types import DanceSheet
from motion.dance.sheet import parse_sheet
from motion.dance.unroll import clock as facing_clock
from motion.dance.unroll import turn_deg_until, wall_starts
from motion.review.settings import SETTINGS, Settings
from motion.tell.class_words import told_difference
from motion.tell.compare import Apart, counts_apart
from motion.tell.moments import time_of_count
from motion.tell.review_words import dancer_name
from motion.tell.sheet_words import WHAT
from motion.tell.words import clock, count_name, listed, share_words, why_not

#: Walls are named in a dance's order and turn at one steady tempo here; facings do not depend on it.
ANY_BPM = 120.0


@dataclass(frozen=True)
class Shown:
    """One moment to play: when it begins, in which take (0 this one, 1 the other), what is to be seen, on to which running count."""

    time_s: float
    about: str
    take: int = 0
    until_count: float | None = None


@dataclass(frozen=True)
class Difference:
    """Something that differs, in words, with its figures; left and right: the two moments that show it side by side (None: not in the
    clip)."""

    words: str
    figures: tuple[str, ...]
    left: Shown | None
    right: Shown | None


@dataclass(frozen=True)
class WallRow:
    """One wall as it came in the clip: its number, when it begins, the clock facing that the sheet has for it ("" where it cannot be
    read), and what it begins after ("", "restart", "tag")."""

    wall: int
    time_s: float | None
    facing: str
    after: str
    caught: bool | None


def told_apart(dancer: dict[str, Any]) -> str:
    """What is said where no wall was found to stand apart: that none does, or that there was nothing to compare."""
    many = len(dancer["timing"].get("walls") or []) if why_not(dancer["timing"]) is None else 0
    if many < 2:
        return "Fewer than two walls of this dancer could be timed in this clip: there is nothing to set a wall against."
    if any(len(row["walls"]) < row["of"] for row in (dancer.get("sheet") or {}).get("differs", [])):
        return "Beyond what differs from the sheet, no wall stands apart from the others, as far as could be seen."
    return "No wall stands apart from the others, as far as could be seen."


def sheet_told(review: dict[str, Any]) -> str:
    """The sheet that a clip was set against: title, counts, walls and version; "" without one."""
    dance = review.get("dance")
    if not dance:
        return ""
    sheet = _sheet(dance)
    counts = f"parts {' '.join(sheet.order)}" if sheet and sheet.parts else f"{dance['counts']} counts"
    version = f", version {sheet.version}" if sheet and sheet.version else ""
    return f"{dance['title']}: {counts}, {dance['walls']} wall{'s' if dance['walls'] != 1 else ''}{version}"


def sheet_doubted(dancer: dict[str, Any], *, settings: Settings = SETTINGS) -> str:
    """The question whether it is this dance's sheet at all, where fewer landings are as written than that takes; else ""."""
    block = dancer.get("sheet") or {}
    judged, turned = int(block.get("judged") or 0), ("danced in mirror", "other foot")
    exchanged = sum(len(row["walls"]) for row in block.get("differs", ()) if any(what in row["what"] for what in turned))
    if not judged or block["as_written"] >= settings.release.as_written_share * judged or exchanged > judged / 2:
        return ""
    return (
        f"Only {block['as_written']} of {judged} landings are as the sheet has them: is it the sheet of this dance, in its metre, and "
        "is count 1 where the dance begins?"
    )


def not_judged(review: dict[str, Any], dancer: dict[str, Any]) -> str:
    """Why nothing of this dancer could be set against a sheet, and what to do; "" where something could."""
    if (dancer.get("sheet") or {}).get("judged"):
        return ""
    if not review.get("dance"):
        return "The clip was reviewed without a dance sheet: judge it again with one."
    if why := why_not(review["beats"]):
        return f"The beat was not measured ({why}), so no landing can be set against the sheet: tap the beat, or give it."
    return "No landing could be judged against the sheet: too little of the feet was seen, or count 1 is taken elsewhere."


def sheets_doubted(review: dict[str, Any]) -> tuple[str, ...]:
    """The same for a whole clip, once: only where it is to be asked of everyone who could be judged."""
    asked = {sheet_doubted(one): one for one in review["dancers"] if (one.get("sheet") or {}).get("judged")}
    return () if not asked or "" in asked else (f"{dancer_name(next(iter(asked.values())))}: {next(iter(asked))}",)


def walls_danced(review: dict[str, Any], dancer: dict[str, Any]) -> tuple[WallRow, ...]:
    """Every wall of the clip with its clock facing; () without a sheet or a beat."""
    dance = review.get("dance")
    if not dance or why_not(review["beats"]):
        return ()
    first = _starting_wall(review)
    cut = {one["wall"]: one for one in (dancer.get("sheet") or {}).get("restarts", [])}
    faces = _facings(dance)
    return tuple(
        WallRow(
            wall, time_of_count(review["beats"], start), faces.get(wall, ""), cut.get(wall, {}).get("after", ""),
            cut.get(wall, {}).get("caught"),
        )
        for wall, start in enumerate(dance["wall_starts"], 1) if wall >= first
    )  # fmt: skip


def moment_of(review: dict[str, Any], wall: int, count: float) -> float | None:
    """When a count of a wall fell in the clip; None where it was not filmed or a restart cut it off."""
    starts = review["dance"]["wall_starts"]
    if not _starting_wall(review) <= wall <= len(starts):
        return None
    running = starts[wall - 1] + count - 1
    cut_off = wall < len(starts) and running >= starts[wall]  # a restart came first
    return None if cut_off else time_of_count(review["beats"], running)


def against_sheet(review: dict[str, Any], dancer: dict[str, Any]) -> tuple[Difference, ...]:
    """Counts at which this dancer's clip differs from the sheet, neighbours that differ alike told as one: the wall that differs, beside
    one that was danced as written."""
    runs: list[list[dict[str, Any]]] = []
    for row in (dancer.get("sheet") or {}).get("differs", []):
        last = runs[-1][-1] if runs else None
        alike = last is not None and all(last[name] == row[name] for name in ("what", "walls", "of", "always"))
        if last is not None and alike and row["count"] - last["count"] <= 1.01:
            runs[-1].append(row)
        else:
            runs.append([row])
    return tuple(_from_sheet(review, dancer, run) for run in runs)


def _from_sheet(review: dict[str, Any], dancer: dict[str, Any], run: list[dict[str, Any]]) -> Difference:
    row, count, until, walls = run[0], float(run[0]["count"]), float(run[-1]["count"]), [int(w) for w in run[0]["walls"]]
    steps = listed([f"{one['foot']} {one['move']}" for one in run])
    name = f"Count {count_name(count)}" if len(run) == 1 else f"Counts {count_name(count)} to {count_name(until)}"
    every, on = len(walls) == row["of"], f"wall{'s' if len(walls) > 1 else ''} {listed([str(w) for w in walls])}"
    many = f"on every wall that was seen ({len(walls)})" if every else f"on {on} ({len(walls)} of {row['of']})"
    asks = " Does the sheet say what is meant?" if row["always"] else ""
    seen = {int(e["wall"]) for r in dancer.get("walls") or [] if abs(r["count"] - count) < 0.05 for e in r.get("each", [])}
    as_written = sorted(seen - set(walls))
    return Difference(
        f"{name}, {steps}: {listed([WHAT.get(kind, kind) for kind in row['what']])}, {many}.{asks}",
        (f"{on.capitalize()}.",) if every else (),
        _shown(review, walls[0], count, "not as the sheet has it", until=until),
        _shown(review, as_written[0], count, "as the sheet has it", until=until) if as_written else None,
    )


def between_walls(review: dict[str, Any], dancer: dict[str, Any]) -> tuple[Difference, ...]:
    """Counts at which one wall stands apart from the others, each beside the nearest wall that does not."""
    out = []
    for row in dancer.get("walls") or []:
        count, odd = float(row["count"]), {int(one["wall"]) for one in row["differs"]}
        for one in row["differs"]:
            wall = int(one["wall"])
            usual = sorted({int(e["wall"]) for e in row.get("each", [])} - odd, key=lambda w: (abs(w - wall), w))
            said, figure = told_difference(one, row, review["beats"])
            out.append(
                Difference(
                    f"Count {count_name(count)}, wall {wall}: {said}.",
                    (f"{figure}; against {len(usual)} other wall{'s' if len(usual) != 1 else ''}.",),
                    _shown(review, wall, count, "stands apart"),
                    _shown(review, usual[0], count, "as on the others") if usual else None,
                )
            )
    return tuple(out)


def between_takes(
    review: dict[str, Any], dancer: dict[str, Any], other: dict[str, Any], partner: dict[str, Any]
) -> tuple[Difference, ...]:
    """Counts that were danced otherwise in the other take, beyond chance; both takes must be of the same dance."""
    out = []
    for one in counts_apart(dancer, partner):
        name = count_name(one.count)
        walls = [_wall_seen(d, one) for d in (dancer, partner)]
        out.append(
            Difference(
                f"Count {name}, {one.foot} foot: in the other take {_apart_words(one, review)}.",
                (f"{one.size:+g} ± {one.give:g} {one.unit}, from {one.walls[0]} and {one.walls[1]} walls.".replace("-", "−"),),
                _shown(review, walls[0], one.count, "this take") if walls[0] else None,
                _shown(other, walls[1], one.count, "the other take", 1) if walls[1] else None,
            )
        )
    return tuple(out)


def takes_told(review: dict[str, Any], dancer: dict[str, Any], other: dict[str, Any], partner: dict[str, Any]) -> str:
    """What two takes were compared by, and the tempo of either."""
    tempi = [None if why_not(r["beats"]) else f"{float(r['beats']['tempo_bpm']):.0f}" for r in (review, other)]
    shared = {(r["count"], r["foot"]) for r in dancer.get("walls") or []} & {
        (r["count"], r["foot"]) for r in partner.get("walls") or []
    }
    said = f"{dancer_name(dancer)} here beside {dancer_name(partner)} there. {len(shared)} steps of the dance were seen in both."
    if None in tempi:
        return f"{said} The tempo of one of them was not measured."
    same = "The tempo is the same" if tempi[0] == tempi[1] else "The tempo differs"
    return f"{said} {same}: {tempi[0]} and {tempi[1]} beats a minute."


def _apart_words(one: Apart, review: dict[str, Any]) -> str:
    more = one.size > 0
    if one.what == "time":
        share = "" if why_not(review["beats"]) else f", by {share_words(one.size, float(review['beats']['tempo_bpm']))}"
        return f"the landing came {'later' if more else 'earlier'}{share}"
    if one.what == "place":
        return "the foot came down elsewhere"
    if one.what == "facing":
        return f"the dancer faced further to the {'right' if more else 'left'}"
    return f"the {one.what} was {'more' if more else 'less'} bent"


def _wall_seen(dancer: dict[str, Any], one: Apart) -> int | None:
    rows = (r for r in dancer.get("walls") or [] if r["count"] == one.count and r["foot"] == one.foot)
    return next((int(e["wall"]) for r in rows for e in r.get("each", [])), None)


def _shown(review: dict[str, Any], wall: int, count: float, about: str, take: int = 0, until: float | None = None) -> Shown | None:
    time_s = moment_of(review, wall, count)
    if time_s is None:
        return None
    face = _facings(review["dance"]).get(wall)
    where = f"Wall {wall}{f' ({face})' if face else ''}, count {count_name(count)}"
    to = None if until is None or until <= count else review["dance"]["wall_starts"][wall - 1] + until - 1
    return Shown(time_s, f"{where}: {about}", take, to)


def _starting_wall(review: dict[str, Any]) -> int:
    return int(review["made_by"].get("judged", {}).get("starting_wall", 1))


def _facings(dance: dict[str, Any]) -> dict[int, str]:
    """Clock facing of every wall that the clip reaches; {} for a sheet that cannot be read again."""
    sheet = _sheet(dance)
    if sheet is None:
        return {}
    try:
        walls = wall_starts(sheet, ANY_BPM, walls=min(len(dance["wall_starts"]), SETTINGS.dance.most_walls_ahead))
    except SheetError:
        return {}
    return {one.wall: one.clock for one in walls}


def _sheet(dance: dict[str, Any]) -> DanceSheet | None:
    """The sheet as it is stored in a review; None where it cannot be read again."""
    try:
        return parse_sheet(dance["written"], dance["title"])
    except SheetError:
        return None


def closing_facing(review: dict[str, Any]) -> str | None:
    """The clock facing after one whole wall by the sheet; None without a sheet that can be read."""
    sheet = _sheet(review["dance"]) if review.get("dance") else None
    return None if sheet is None or sheet.parts else facing_clock(turn_deg_until(sheet, 1, sheet.counts))


def when(one: Shown) -> str:
    """A moment's time and what it shows, for a page without a player."""
    return f"{clock(one.time_s)}, {one.about}"
