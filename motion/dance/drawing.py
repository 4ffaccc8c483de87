"""Drawings of the feet: a figure on paper, and the floor plan of a dance count by count. Plain inline SVG, 12:00 up.

A foot is an oval with a wedge where the toes are: filled when it bears the body, hollow with a broken line when it only touches, a
small ring where it passes in the air. Its letter says which foot it is, the colour only repeats it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from motion.base.types import Due, Foot
from motion.dance.cells import count_text
from motion.dance.figures import Figure, other_foot
from motion.dance.floorplan import Spot, Stand, figure_stands
from motion.dance.unroll import clock

INK, QUIET, PAPER = "#20242e", "#5a6070", "#ffffff"
#: Left and right as everywhere in this project.
COLOUR: dict[Foot, str] = {"left": "#5638a3", "right": "#8f5200"}
FEET: tuple[Foot, Foot] = ("left", "right")
LETTER: dict[Foot, str] = {"left": "L", "right": "R"}
#: Drawn pixels a pace, half a foot's length and breadth in paces, and the margin around all feet.
PIXELS, HALF_LONG, HALF_WIDE, MARGIN = 90.0, 0.20, 0.095, 0.42
#: Spots nearer than this, in paces, share one mark.
SAME_SPOT = 0.05
_HALO = f'stroke="{PAPER}" stroke-width="3" paint-order="stroke"'
_FONT = "font-family=\"'Segoe UI', system-ui, Arial, 'Liberation Sans', sans-serif\""


def figure_svg(figure: Figure, lead: Foot = "right") -> str:
    """The figure's feet as one `<svg>`: pale where they begin, then every landing with its counts beside it.

    What comes to the same spot is one mark with all its counts; a turn is seen by the feet that point another way.
    """
    course = figure_stands(figure, lead)
    marks: list[tuple[Spot, Foot, float, str, list[str]]] = []
    for stand in course[1:]:
        foot, due = stand.moved, stand.due
        assert due is not None
        if foot is None:
            foot = stand.bears or other_foot(lead)
        style = "air" if stand.air else "weight" if due.takes_weight else "touch" if due.lands else "held"
        spot = stand.air or stand.spot(foot)
        _mark(marks, spot, foot, stand.facing_deg, style, count_text(due.count))
    shapes = [_foot(course[0].spot(foot), 0.0, foot, "start") for foot in FEET]
    labels = []
    for spot, foot, facing_deg, style, counts in marks:
        shapes.append(_foot(spot, facing_deg, foot, style))
        labels.append(_counts(spot, facing_deg, " ".join(counts)))
    spots = [course[0].left, course[0].right, *(mark[0] for mark in marks)]
    about = f"{figure.name}, {'right' if lead == 'right' else 'left'} foot first: {figure.words}"
    return _svg(spots, [*shapes, *labels], about)


def plan_svg(course: Sequence[Stand], at: int, *, trail: int = 4, section: int = 8) -> str:
    """The floor plan after event `at` of the course (0: before count 1): the feet as they stand then, the last `trail` landings pale,
    an arrow where the dancer faces, and the walls' names around. The view stays the same through a section of so many counts."""
    now = course[at]
    begins, ends = _section_of(course, at, section)
    pale: list[tuple[Spot, Foot, float, str, list[str]]] = []
    for earlier in course[max(begins, at - trail) : at]:
        for foot in FEET:
            if _apart(earlier.spot(foot), now.spot(foot)) or earlier.facing_deg != now.facing_deg:
                _mark(pale, earlier.spot(foot), foot, earlier.facing_deg, "start", "")
    shapes = [_foot(spot, facing_deg, foot, "start") for spot, foot, facing_deg, _, _ in pale]
    for foot in FEET:
        style = "weight" if now.bears in (foot, None) else "touch" if now.moved == foot and not now.air else "free"
        shapes.append(_foot(now.spot(foot), now.facing_deg, foot, style))
    if now.air and now.moved:
        shapes.append(_foot(now.air, now.facing_deg, now.moved, "air"))
    middle = ((now.left[0] + now.right[0]) / 2, (now.left[1] + now.right[1]) / 2)
    shapes.append(_arrow(middle, now.facing_deg))
    near = course[begins:ends]
    every = [spot for stand in near for spot in (stand.left, stand.right, *([stand.air] if stand.air else []))]
    return _svg(every, shapes, stand_words(now), walls=True)


def _section_key(stand: Stand, section: int) -> tuple[int, int] | None:
    return None if stand.due is None else (stand.due.wall, int(stand.due.count_in_wall - 1) // section)


def _section_of(course: Sequence[Stand], at: int, section: int) -> tuple[int, int]:
    """The events of the section that `at` lies in, with the one before it: first and behind the last. Before count 1 the first
    section is meant."""
    here = min(max(at, 1), len(course) - 1)
    first = last = here
    while first > 1 and _section_key(course[first - 1], section) == _section_key(course[here], section):
        first -= 1
    while last < len(course) and _section_key(course[last], section) == _section_key(course[here], section):
        last += 1
    return max(0, first - 1), max(last, 1)


def stand_words(stand: Stand) -> str:
    """What one picture of the plan shows: "Count 4, left touch. Facing 12:00, weight on the right foot."."""
    if stand.due is None:
        begun = "Before count 1"
    else:
        foot = f"{stand.due.foot} " if stand.due.foot else ""
        begun = f"Count {count_text(stand.due.count_in_wall)}, {foot}{stand.due.move}{turn_words(stand.due)}"
    weight = f"weight on the {stand.bears} foot" if stand.bears else "weight on both feet or either"
    return f"{begun}. Facing {clock(stand.facing_deg)}, {weight}."


def turn_words(due: Due) -> str:
    """ ", 1/4 to the left", or nothing."""
    if not due.turn_deg:
        return ""
    names = {45.0: "1/8", 90.0: "1/4", 180.0: "1/2", 270.0: "3/4", 360.0: "a full turn"}
    size = names.get(abs(due.turn_deg), f"{abs(due.turn_deg):g} degrees")
    return f", {size} to the {'right' if due.turn_deg > 0 else 'left'}"


def _mark(
    marks: list[tuple[Spot, Foot, float, str, list[str]]], spot: Spot, foot: Foot, facing_deg: float, style: str, count: str
) -> None:
    """Add a mark, or its count to the one that is there already."""
    for k, (there, whose, facing, how, counts) in enumerate(marks):
        if whose == foot and not _apart(there, spot) and (how == "air") == (style == "air") and facing == facing_deg:
            plainer = "weight" if "weight" in (how, style) else style if how == "held" else how
            marks[k] = (there, whose, facing, plainer, [*counts, count])
            return
    marks.append((spot, foot, facing_deg, style, [count]))


def _apart(a: Spot, b: Spot) -> bool:
    return math.dist(a, b) > SAME_SPOT


def _foot(spot: Spot, facing_deg: float, foot: Foot, style: str) -> str:
    """One foot: `start` pale, `weight` filled, `held` filled without a landing, `touch` hollow and broken, `free` hollow, `air` a ring."""
    x, y = spot[0] * PIXELS, -spot[1] * PIXELS
    colour = COLOUR[foot]
    if style == "air":
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{HALF_WIDE * PIXELS:.1f}" fill="none" stroke="{colour}" stroke-dasharray="2 3" '
            f'stroke-width="1.5"/>{_letter(x, y, foot, colour)}'
        )
    rx, ry = HALF_WIDE * PIXELS, HALF_LONG * PIXELS
    filled = style in ("weight", "held")
    fill = colour if filled else PAPER
    line = f'stroke="{colour}" stroke-width="1.5"' + (' stroke-dasharray="3 3"' if style == "touch" else "")
    pale = ' opacity="0.3"' if style == "start" else ""
    wedge = f"M {-rx * 0.5:.1f} {-ry * 0.82:.1f} L 0 {-ry * 1.4:.1f} L {rx * 0.5:.1f} {-ry * 0.82:.1f} Z"
    body = f'<ellipse rx="{rx:.1f}" ry="{ry:.1f}" fill="{fill}" {line}/><path d="{wedge}" fill="{colour}"/>'
    return (
        f'<g{pale}><g transform="translate({x:.1f} {y:.1f}) rotate({facing_deg:g})">{body}</g>'
        f"{_letter(x, y, foot, PAPER if filled else colour)}</g>"
    )


def _letter(x: float, y: float, foot: Foot, colour: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y + 4:.1f}" font-size="11" font-weight="700" text-anchor="middle" fill="{colour}" {_FONT}>'
        f"{LETTER[foot]}</text>"
    )


#: Cosine of the facing from which a foot points down the page: within 60 degrees of it.
HALF_TURNED = 0.5


def _counts(spot: Spot, facing_deg: float, words: str) -> str:
    """The counts of a mark, below it."""
    sideways = abs(math.sin(math.radians(facing_deg)))
    turned = math.cos(math.radians(facing_deg)) < -HALF_TURNED
    reach = HALF_LONG + (HALF_WIDE - HALF_LONG) * sideways + (0.1 if turned else 0.0)
    x, y = spot[0] * PIXELS, (reach - spot[1]) * PIXELS + 12
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="12" text-anchor="middle" fill="{INK}" {_HALO} {_FONT}>{escape(words)}</text>'


def _arrow(spot: Spot, facing_deg: float) -> str:
    """Where the body faces: a thin arrow from between the feet."""
    x, y, long = spot[0] * PIXELS, -spot[1] * PIXELS, 0.42 * PIXELS
    head = f"M -4 {-long:.1f} L 0 {-long - 8:.1f} L 4 {-long:.1f} Z"
    return (
        f'<g transform="translate({x:.1f} {y:.1f}) rotate({facing_deg:g})" stroke="{INK}" stroke-width="1.5" fill="{INK}">'
        f'<path d="M 0 {-0.24 * PIXELS:.1f} V {-long:.1f}" fill="none"/><path d="{head}"/></g>'
    )


def _svg(spots: Sequence[Spot], shapes: Sequence[str], about: str, *, walls: bool = False) -> str:
    """Shapes in a frame that holds all spots; walls: with the names of the four walls at its edges."""
    xs, ys = [x * PIXELS for x, _ in spots], [-y * PIXELS for _, y in spots]
    edge = MARGIN * PIXELS * (1.5 if walls else 1.0)
    left, top = min(xs) - edge, min(ys) - edge
    wide, high = max(xs) + edge - left, max(ys) + edge + (0 if walls else 8) - top
    names = ""
    if walls:
        for deg, x, y in ((0, left + wide / 2, top + 14), (90, left + wide - 18, top + high / 2), (180, left + wide / 2, top + high - 6),
                          (270, left + 18, top + high / 2)):  # fmt: skip
            names += f'<text x="{x:.1f}" y="{y:.1f}" font-size="12" text-anchor="middle" fill="{QUIET}" {_FONT}>{clock(deg)}</text>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:.1f} {top:.1f} {wide:.1f} {high:.1f}" width="{wide:.0f}" '
        f'height="{high:.0f}" role="img" aria-label="{escape(about, quote=True)}">{"".join(shapes)}{names}</svg>'
    )
