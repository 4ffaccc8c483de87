"""The count line: one row a wall, every landing hung from the beat that it belongs to. Plain inline SVG, for report and page.

A landing is half a disc, round towards its foot's side; whole in colour when it takes weight, hollow when it only touches, a bar
when weight moves without a landing. Later hangs lower. Shape and place say everything; colour only repeats it.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Any

from motion.tell.words import clock, count_name, named_flags, place_words, section_of, signed_ms, why_not

PAPER, INK, QUIET, RAIL, BAND = "#ffffff", "#20242e", "#5a6070", "#3d4352", "#e9e6f3"
#: Left and right: violet and dark amber, which every kind of colour sight tells apart; both have more than 5:1 on white.
FOOT = {"left": "#5638a3", "right": "#8f5200"}
FONT_STACK = "'Segoe UI', system-ui, 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"

WIDE, LEFT, RIGHT = 1000.0, 112.0, 992.0
TOP, HALF, FOOT_ROOM = 30.0, 58.0, 30.0
HIGH = TOP + 2 * HALF + FOOT_ROOM
COUNTS_IN_ROW = 32
LEAST_REACH_MS, MOST_REACH_MS = 100.0, 300.0
BEAD = 6.5


@dataclass(frozen=True)
class _Row:
    """Counts first..last (running), shown as first - shift and so on; a title, and how they are spaced."""

    title: str
    first: int
    last: int
    shift: int
    section: int
    gap: float

    def x(self, count: float) -> float:
        return LEFT + self.gap * (count - self.first + 0.5)


def count_chart(dancer: dict[str, Any], beats: dict[str, Any], dance: dict[str, Any] | None) -> str:
    """The count line of one dancer, from the blocks of review.json: one `<svg>` a wall (or part of a long wall) inside a `<div>`.

    Without a beat or without landings: a `<p>` that says why there is nothing to draw.
    """
    reason = why_not(beats) or why_not(dancer["steps"]) or why_not(dancer["timing"])
    steps = [] if reason else [s for s in dancer["steps"] if s["count"] is not None and s["offset_ms"] is not None]
    if not steps:
        return f"<p>No count line can be drawn: {escape(reason or 'no landing fits a count')}.</p>"
    section = section_of(dance, beats)
    counts = [float(s["count"]) for s in steps] + [float(f["count"]) for _, f in named_flags(dancer) if f["count"] is not None]
    reach_ms = _reach_ms(steps)
    drawn = [_svg(row, i, dancer, steps, reach_ms) for i, row in enumerate(_rows(min(counts), max(counts), section, dance))]
    return '<div class="count-line">' + "".join(drawn) + "</div>"


def chart_legend() -> str:
    """What the marks of the count line mean: a list with each mark drawn beside its words."""
    marks = (
        (_bead(12, 10, "left", "step"), "left foot lands and takes weight"),
        (_bead(12, 10, "right", "step"), "right foot lands and takes weight"),
        (_bead(8, 10, "left", "touch") + _bead(16, 10, "right", "touch"), "hollow: touches without weight"),
        (_bead(12, 10, "left", "shift") + _bead(12, 10, "right", "shift"), "bar: weight moves, no landing"),
        (_missed(12, 10), "no landing seen on this count"),
        (f'<path d="M12 2V18" stroke="{QUIET}" stroke-width="1.4"/>', "how exactly the landing could be read (19 times in 20)"),
        (
            f'<rect x="0" y="5" width="24" height="10" fill="{BAND}"/>'
            f'<path d="M0 10H24" stroke="{INK}" stroke-width="1.6" stroke-dasharray="5 4"/>',
            "this dancer's usual place, and how surely it is known",
        ),
        (f'<path d="M0 10H24" stroke="{RAIL}" stroke-width="3"/>', "the beat: above is earlier, below is later"),
    )
    items = (
        f'<li><svg width="24" height="20" viewBox="0 0 24 20" aria-hidden="true">{mark}</svg> {escape(words)}</li>'
        for mark, words in marks
    )
    return f'<ul class="legend">{"".join(items)}</ul>'


def _reach_ms(steps: list[dict[str, Any]]) -> float:
    """Half height of the rows in ms: room for all but the farthest few landings, which are drawn at the edge with their number."""
    sizes = sorted(abs(float(s["offset_ms"])) + 2 * float(s["sigma_ms"] or 0) for s in steps)
    usual = sizes[int(0.95 * (len(sizes) - 1))]
    return float(min(MOST_REACH_MS, max(LEAST_REACH_MS, 50.0 * -(-usual // 50.0))))


def _rows(first: float, last: float, section: int, dance: dict[str, Any] | None) -> list[_Row]:
    piece = COUNTS_IN_ROW - COUNTS_IN_ROW % section
    gap = (RIGHT - LEFT) / piece
    if dance is None:
        start = 1 + int((first - 1) // piece) * piece
        close = int(-(-int(last) // section) * section)
        return [_Row("Counts", c, min(c + piece - 1, close), 0, section, gap) for c in range(start, close + 1, piece)]
    rows: list[_Row] = []
    starts = [*dance["wall_starts"]]
    ends = [*(start - 1 for start in starts[1:]), max(starts[-1] + int(dance["counts"]) - 1, int(last))]
    for wall, (begin, end) in enumerate(zip(starts, ends, strict=True), start=1):
        rows += [_Row(f"Wall {wall}", c, min(c + piece - 1, end), begin - 1, section, gap) for c in range(begin, end + 1, piece)]
    return [row for row in rows if row.first <= last]  # others may have danced on


def _svg(row: _Row, index: int, dancer: dict[str, Any], steps: list[dict[str, Any]], reach_ms: float) -> str:
    inside = [s for s in steps if row.first - 0.5 < s["count"] < row.last + 1]
    name = f"count-line-{dancer['id']}-{index + 1}"
    title = f"Dancer {dancer['id']}, {row.title.lower()}, counts {row.first - row.shift} to {row.last - row.shift}"
    parts = [
        f'<svg viewBox="0 0 {WIDE:g} {HIGH:g}" role="img" aria-labelledby="{name}-t {name}-d" ',
        f'font-family="{FONT_STACK}" font-size="18">',
        f'<title id="{name}-t">{escape(title)}</title><desc id="{name}-d">{escape(_described(inside, row))}</desc>',
        f'<rect width="{WIDE:g}" height="{HIGH:g}" fill="{PAPER}"/>',
        _usual_place(dancer["timing"], row, reach_ms),
        _rail(row, reach_ms),
        *(_landing(s, row, reach_ms) for s in inside),
        *(_far(s, row, reach_ms) for s in inside),
        *(_finding(mark, flag, row) for mark, flag in named_flags(dancer)),
        "</svg>",
    ]
    return "".join(parts)


def _described(steps: list[dict[str, Any]], row: _Row) -> str:
    if not steps:
        return "No landing was read here."
    low, high = (pick(steps, key=lambda s: float(s["offset_ms"])) for pick in (min, max))

    def told(step: dict[str, Any]) -> str:
        return f"count {count_name(step['count'] - row.shift)}, {signed_ms(step['offset_ms'])}"

    return f"{len(steps)} landings. Earliest against its beat: {told(low)}. Latest: {told(high)}. All are in the table of figures."


def _y(offset_ms: float, reach_ms: float) -> float:
    return TOP + HALF * (1 + max(-1.0, min(1.0, offset_ms / reach_ms)))


def _usual_place(timing: dict[str, Any], row: _Row, reach_ms: float) -> str:
    low, high = (_y(edge, reach_ms) for edge in timing["bias_interval_ms"])
    middle = _y(timing["bias_ms"], reach_ms)
    start, end = row.x(row.first - 0.5), row.x(row.last + 0.5)
    return (
        f'<rect x="{start:.1f}" y="{low:.1f}" width="{end - start:.1f}" height="{max(1.0, high - low):.1f}" fill="{BAND}"/>'
        f'<path d="M{start:.1f} {middle:.1f}H{end:.1f}" stroke="{INK}" stroke-width="1.2" stroke-dasharray="5 4"/>'
    )


def _rail(row: _Row, reach_ms: float) -> str:
    middle, bottom = TOP + HALF, TOP + 2 * HALF
    start, end = row.x(row.first - 0.5), row.x(row.last + 0.5)
    parts = [
        f'<text x="4" y="{TOP + 10:g}" font-size="15" fill="{QUIET}">{reach_ms:g} ms early</text>',
        f'<text x="4" y="{middle - 1:g}" font-size="17" font-weight="700" fill="{INK}">{escape(row.title)}</text>',
        f'<text x="4" y="{middle + 18:g}" fill="{QUIET}">{row.first - row.shift}–{row.last - row.shift}</text>',
        f'<text x="4" y="{bottom:g}" font-size="15" fill="{QUIET}">{reach_ms:g} ms late</text>',
        f'<path d="M{start:.1f} {TOP:g}V{bottom:g}" stroke="{QUIET}" stroke-width="1"/>',
        f'<path d="M{start:.1f} {middle:g}H{end:.1f}" stroke="{RAIL}" stroke-width="2.5"/>',
    ]
    for count in range(row.first, row.last + 1):
        called = (count - row.shift - 1) % row.section + 1
        opens = called == 1
        x = row.x(count)
        if opens and count > row.first:
            parts.append(f'<path d="M{x - row.gap / 2:.1f} {TOP:g}V{bottom + 20:g}" stroke="#c9cbd3" stroke-width="1"/>')
        parts.append(f'<path d="M{x:.1f} {middle - 4:g}V{middle + 4:g}" stroke="{RAIL}" stroke-width="1.5"/>')
        weight, colour = ("700", INK) if opens else ("400", QUIET)
        parts.append(
            f'<text x="{x:.1f}" y="{bottom + 20:g}" text-anchor="middle" font-weight="{weight}" fill="{colour}">{called}</text>'
        )
    return "".join(parts)


def _landing(step: dict[str, Any], row: _Row, reach_ms: float) -> str:
    offset_ms, spread_ms, foot = float(step["offset_ms"]), 2 * float(step["sigma_ms"] or 0), str(step["foot"])
    x, y = row.x(step["count"]), _y(offset_ms, reach_ms)
    lean = x + (-3.0 if foot == "left" else 3.0)
    told = (
        f"count {count_name(step['count'] - row.shift)}, {foot} foot, {signed_ms(offset_ms)}, "
        f"give or take {round(spread_ms)} ms, at {clock(step['time_s'])}"
    )
    parts = [f"<g><title>{escape(told)}</title>"]
    parts.append(f'<path d="M{x:.1f} {TOP + HALF:g}V{y:.1f}" stroke="{FOOT[foot]}" stroke-width="1"/>')
    high, low = _y(offset_ms - spread_ms, reach_ms), _y(offset_ms + spread_ms, reach_ms)
    parts.append(f'<path d="M{lean:.1f} {high:.1f}V{low:.1f}" stroke="{QUIET}" stroke-width="1.4"/>')
    parts.append(_bead(x, y, foot, str(step["kind"])))
    return "".join([*parts, "</g>"])


def _far(step: dict[str, Any], row: _Row, reach_ms: float) -> str:
    """The number beside a landing past the edge of the row, since its place no longer says how far it was."""
    offset_ms = float(step["offset_ms"])
    if abs(offset_ms) <= reach_ms:
        return ""
    near_end = row.last - step["count"] < 4  # no room for the number to the right of it: three counts are too narrow
    x, y = row.x(step["count"]) + (-9 if near_end else 9), _y(offset_ms, reach_ms) + (17 if offset_ms < 0 else -11)
    style = f'text-anchor="{"end" if near_end else "start"}" paint-order="stroke" stroke="{PAPER}" stroke-width="5"'
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="16" fill="{INK}" {style}>{signed_ms(offset_ms)}</text>'


def _bead(x: float, y: float, foot: str, kind: str) -> str:
    """Half a disc towards the foot's side, its straight edge on the count; a bar for weight that moves without a landing."""
    sweep, side = (0, -1) if foot == "left" else (1, 1)
    if kind == "shift":
        return f'<path d="M{x:.1f} {y:.1f}h{side * (BEAD + 3):g}" stroke="{FOOT[foot]}" stroke-width="4.5"/>'
    shape = f"M{x:.1f} {y - BEAD:.1f}A{BEAD:g} {BEAD:g} 0 0 {sweep} {x:.1f} {y + BEAD:.1f}Z"
    fill = FOOT[foot] if kind == "step" else PAPER
    return f'<path d="{shape}" fill="{fill}" stroke="{FOOT[foot]}" stroke-width="1.8" stroke-linejoin="round"/>'


def _missed(x: float, y: float) -> str:
    line = f'fill="{PAPER}" stroke="{INK}" stroke-width="1.6" stroke-dasharray="2.5 2.5"'
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{BEAD:g}" {line}/>'


def _finding(mark: str, flag: dict[str, Any], row: _Row) -> str:
    """The finding's letter above its count, with a line under it where it runs over several."""
    if flag["count"] is None:
        return ""
    first = float(flag["count"])
    last = max(first, float(flag["until_count"] if flag["until_count"] is not None else first))
    if last < row.first or first >= row.last + 1:
        return ""
    start, end = row.x(max(first, row.first)), row.x(min(last, row.last))
    told = f"finding {mark}: {flag['kind']}, {place_words(first - row.shift, last - row.shift, [], row.section)}"
    parts = [f"<g><title>{escape(told)}</title>"]
    parts.append(f'<text x="{start:.1f}" y="18" text-anchor="middle" font-weight="700" fill="{INK}">{mark}</text>')
    if end > start:
        parts.append(f'<path d="M{start:.1f} 24H{end:.1f}" stroke="{INK}" stroke-width="2"/>')
    if flag["kind"] == "missed":
        parts.append(_missed(start, TOP + HALF))
    return "".join([*parts, "</g>"])
