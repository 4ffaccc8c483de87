"""How much floor a class needs, and where everybody stands so that a phone in front sees all of them.

The plan is seen from above: x to the right of somebody who faces the front, y towards the front, metres, the middle of the dancers'
starting places at (0, 0). The phone stands in front, in the middle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from motion.base.checks import number_between
from motion.base.errors import BadInput
from motion.lesson.safety import Audience
from motion.lesson.settings import LessonSettings

Spot = tuple[float, float]
#: Ways of staggering: what they are called, how far rows are moved to the side in turn, in gaps between neighbours, and whether rows
#: get wider towards the back, so that they stay in the windows of the rows in front as the phone sees them.
_STAGGERS: tuple[tuple[str, tuple[float, ...], bool], ...] = (
    ("straight lines", (0.0,), False),
    ("every second row moved by half a gap", (0.0, 0.5), False),
    ("rows a little wider towards the back, everybody in a window between those in front", (0.0, 0.5, 0.25, 0.75), True),
)


#: Rounds in which the rows' breadth and the phone's distance, each of which asks for the other, come to rest.
_SETTLES = 12


@dataclass(frozen=True)
class Travel:
    """How far a dance takes its dancer from the starting place, metres: to the left, right, forward and back, 0 or more."""

    left_m: float
    right_m: float
    ahead_m: float
    behind_m: float


@dataclass(frozen=True)
class Layout:
    """Where everybody stands, and how much floor that takes.

    spots: one row after the other, the front row first; rows: dancers in each; gap_m: between neighbours and between rows; width_m,
    depth_m: floor needed with travel, reach and the gap to the walls; stagger: how rows are moved; hidden: how many stand behind
    somebody as the phone sees them at the start; phone_m: from the phone to the front row, so that all stay in the picture;
    travel: of the dance.
    """

    spots: tuple[Spot, ...]
    rows: tuple[int, ...]
    gap_m: float
    reach_m: float
    width_m: float
    depth_m: float
    stagger: str
    hidden: int
    phone_m: float
    travel: Travel
    room_m: tuple[float, float] | None

    @property
    def area_m2(self) -> float:
        """Floor needed in square metres."""
        return self.width_m * self.depth_m


def height_m(audience: Audience, settings: LessonSettings) -> float:
    """The body height that space is planned for."""
    return settings.height_children_m if audience == "children" else settings.height_adults_m


def travel_of(xs_m: Sequence[float], ys_m: Sequence[float]) -> Travel:
    """The travel of feet that were at xs_m, ys_m metres from the starting place."""
    return Travel(max(0.0, -min(xs_m)), max(0.0, *xs_m), max(0.0, *ys_m), max(0.0, -min(ys_m)))


def plain_travel(settings: LessonSettings) -> Travel:
    """The travel that is planned for when no sheet says."""
    return Travel(*(4 * (settings.plain_travel_m,)))


def layout(
    dancers: int, *, rows: int | None = None, audience: Audience, travel: Travel, room_m: tuple[float, float] | None = None,
    settings: LessonSettings,
) -> Layout:  # fmt: skip
    """Lay out lines for so many dancers, staggered so that fewest are hidden from the phone.

    Parameters: rows, how many, or None for the number that suits the room (without a room: lines twice as wide as deep); room_m, its
    width across the front and its depth. Neighbours stand a span of both arms apart, so that nobody touches with arms out; the dance's
    own path is added around all of them, because all travel together, and half a metre to the walls.
    BadInput for numbers that cannot be, or a room in which they cannot dance at once (it says how many could).
    """
    number_between(dancers, 1, settings.most_dancers, "The number of dancers", "dancers")
    if rows is not None:
        number_between(rows, 1, min(settings.most_rows, dancers), "The number of rows", "rows")
    for side in room_m or ():
        number_between(side, settings.least_room_m, settings.most_room_m, "A side of the room", "metres")
    if rows is not None:
        found = _lined(dancers, rows, audience, travel, room_m, settings)
        if room_m is None or fits(found):
            return found
    else:
        choices = [_lined(dancers, n, audience, travel, room_m, settings) for n in range(1, min(settings.most_rows, dancers) + 1)]
        fitting = choices if room_m is None else [one for one in choices if fits(one)]
        if fitting:
            return min(fitting, key=_awkward)
        found = min(choices, key=lambda one: one.area_m2)
    assert room_m is not None
    raise BadInput(_too_many(found, room_m, audience, settings), "Dance in turns, in a larger room, or a dance that travels less")


def _awkward(one: Layout) -> float:
    """How far lines are from twice as many across as deep (a teacher in front is seen and heard best), and the share that is hidden."""
    across_to_deep = len(one.spots) / len(one.rows) / len(one.rows)
    return abs(math.log2(across_to_deep / 2)) + one.hidden / len(one.spots)


def _too_many(found: Layout, room_m: tuple[float, float], audience: Audience, settings: LessonSettings) -> str:
    n, wide, deep = len(found.spots), *room_m
    inner = [
        side - settings.wall_gap_m * 2 - 2 * found.reach_m - span for side, span in zip(room_m, _spans(found.travel), strict=True)
    ]
    most = (
        (math.floor(inner[0] / found.gap_m + 1e-9) + 1) * (math.floor(inner[1] / found.gap_m + 1e-9) + 1) if min(inner) >= 0 else 0
    )
    how = f"has room for {most} at once" if most else "is too small for this dance even for one"
    lines = "one row" if len(found.rows) == 1 else f"{len(found.rows)} rows"
    wider, deeper = (
        math.ceil(10 * side - 1e-6) / 10 for side in (found.width_m, found.depth_m)
    )  # never down to the room's own size
    return (
        f"{n} dancer{'s' if n > 1 else ''} in {lines} need about {wider:g} by {deeper:g} m, "
        f"and the room of {wide:g} by {deep:g} m {how}"
    )


def fits(one: Layout) -> bool:
    """Whether the layout fits the room that was given."""
    return one.room_m is not None and one.width_m <= one.room_m[0] + 1e-9 and one.depth_m <= one.room_m[1] + 1e-9


def _spans(travel: Travel) -> tuple[float, float]:
    return travel.left_m + travel.right_m, travel.ahead_m + travel.behind_m


def _lined(
    dancers: int, rows: int, audience: Audience, travel: Travel, room_m: tuple[float, float] | None, settings: LessonSettings
) -> Layout:
    """The layout in so many rows with the stagger that hides fewest."""
    reach = height_m(audience, settings) * settings.span_share / 2
    gap = 2 * reach
    # Longer rows in front: a short last row stands in the middle, where the phone sees it.
    sizes = tuple(dancers // rows + (1 if k < dancers % rows else 0) for k in range(rows))
    wide_m, deep_m = _spans(travel)
    best: Layout | None = None
    for name, shifts, widened in _STAGGERS:
        spots = _spots(sizes, shifts, gap, None)
        for _ in range(_SETTLES if widened else 0):
            spots = _spots(sizes, shifts, gap, _phone_m(spots, travel, settings))
        xs = [x for x, _ in spots]
        across = 2 * max(max(xs), -min(xs))
        phone = _phone_m(spots, travel, settings)
        hidden = _hidden(spots, phone + max(y for _, y in spots), settings)
        width = across + wide_m + 2 * reach + 2 * settings.wall_gap_m
        depth = (rows - 1) * gap + deep_m + 2 * reach + 2 * settings.wall_gap_m
        one = Layout(spots, sizes, gap, reach, width, depth, name, hidden, phone, travel, room_m)
        better = best is None or hidden < best.hidden
        if better and (room_m is None or best is None or fits(one) or not fits(best)):
            best = one
    assert best is not None
    return best


def _spots(sizes: tuple[int, ...], shifts: tuple[float, ...], gap: float, phone_m: float | None) -> tuple[Spot, ...]:
    """Places row by row; rows are as much wider as they are farther from a phone phone_m before the front row, None for not at all."""
    middle, first_row = (len(sizes) - 1) / 2, -(max(sizes) - 1) / 2
    spots: list[Spot] = []
    for k, size in enumerate(sizes):
        # A shorter row keeps to the raster of the longest: about its own middle it would be staggered by itself.
        first = first_row + (max(sizes) - size) // 2 + shifts[k % len(shifts)]
        wider = 1.0 if phone_m is None else 1 + k * gap / phone_m
        spots += [((first + n) * gap * wider, (middle - k) * gap) for n in range(size)]
    shift = (max(x for x, _ in spots) + min(x for x, _ in spots)) / 2 if phone_m is None else 0.0
    return tuple((x - shift, y) for x, y in spots)


def _phone_m(spots: Sequence[Spot], travel: Travel, settings: LessonSettings) -> float:
    """From the phone to the front row's places, so that everybody stays in the picture also where the dance comes nearest."""
    wide = math.tan(math.radians(settings.camera_view_deg / 2))
    front = max(y for _, y in spots)
    aside = max(travel.left_m, travel.right_m) + settings.camera_extra_m
    return max((abs(x) + aside) / wide - (front - y) for x, y in spots) + travel.ahead_m


def _hidden(spots: Sequence[Spot], phone_y: float, settings: LessonSettings) -> int:
    """How many have somebody nearer to the phone so close to their line of sight that half of them is covered."""
    hidden = 0
    for x, y in spots:
        for other_x, other_y in spots:
            if other_y > y + 1e-9:
                # Where the line from the phone to the one behind crosses the row of the one in front.
                crosses = x * (phone_y - other_y) / (phone_y - y)
                if abs(crosses - other_x) < settings.body_width_m / 2:
                    hidden += 1
                    break
    return hidden


def layout_words(one: Layout) -> tuple[str, ...]:
    """The layout in plain sentences."""
    travel = one.travel
    rows = f"{len(one.rows)} row{'s' if len(one.rows) > 1 else ''} of {' and '.join(str(n) for n in sorted(set(one.rows), reverse=True))}"
    told = [
        f"{len(one.spots)} in {rows}: about {one.width_m:.1f} m wide and {one.depth_m:.1f} m deep, {one.area_m2:.0f} m².",
        f"{one.gap_m:.1f} m from neighbour to neighbour and from row to row, a span of both arms. "
        f"The dance goes up to {travel.left_m:.1f} m to the left, {travel.right_m:.1f} m to the right, {travel.ahead_m:.1f} m forward "
        f"and {travel.behind_m:.1f} m back, all together; half a metre stays free to the walls.",
        f"For the clip: {one.stagger}; the phone {one.phone_m:.0f} m in front of the first row, in the middle, higher than the heads.",
    ]
    if one.hidden:
        told.append(f"From there {one.hidden} of {len(one.spots)} still stand behind somebody: film these in a second take.")
    return tuple(told)
