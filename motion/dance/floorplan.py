"""Where the feet are on the floor after every event of a dance, worked out from the moves' own words.

The floor is seen from above with the front (12:00) up: x to the right, y forward, in steps of one ordinary pace. The plan shows what a
sheet says, not how far anybody really steps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from motion.base.types import Due, Foot, SheetRow
from motion.dance.figures import MOVES, Figure, FigureStep, Vector, figure_steps, other_foot

Spot = tuple[float, float]

#: Between the middles of two feet that stand together, in paces: about a hand's breadth of air between two shoes.
TOGETHER = 0.30
#: Beyond that to the side, and forward or back, of a step, in paces: side steps are a little shorter than walking steps.
TO_SIDE, AHEAD = 0.62, 0.80
#: Share of AHEAD that a foot goes when it crosses the other: the legs are in each other's way.
CROSSING = 0.55
#: Where a foot comes to the floor or into the air when its word leaves it open, to its own side and forward.
OPEN_PLACES: dict[str, Vector] = {
    "stomp": (0, 0), "touch": (0, 0), "stomp up": (0, 0), "toe": (1, 0), "heel": (0, 0.8), "kick": (0, 1), "hitch": (0, 0.4),
    "scuff": (0, 0.7), "brush": (0, 0.7), "hook": (-1, 0.6), "flick": (0, -0.7),
}  # fmt: skip


@dataclass(frozen=True)
class Stand:
    """The feet after one event (due; None before count 1).

    left, right: where they are on the floor or last were, facing_deg clockwise from the front for both; bears: the foot that bears
    the body, None for both or either; moved: the foot of this event; air: where it passes if it does not come to the floor;
    off_line: how far the foot that moved stands in front of or behind the line of the body, because it crossed the other.
    """

    due: Due | None
    left: Spot
    right: Spot
    facing_deg: float
    bears: Foot | None
    moved: Foot | None = None
    air: Spot | None = None
    off_line: Spot = (0.0, 0.0)

    def spot(self, foot: Foot) -> Spot:
        """Where that foot is."""
        return self.left if foot == "left" else self.right


def stands(dues: Sequence[Due]) -> tuple[Stand, ...]:
    """How the feet stand before the first event and after each: one more than there are events.

    Before the first the feet are together, the weight on the foot that does not begin. A step is placed after the body has turned,
    beside the foot that stays; a turn without a step turns both feet where they are.
    """
    first = next((due.foot for due in dues if due.foot is not None), None)
    facing_deg = (dues[0].facing_deg - dues[0].turn_deg) % 360 if dues else 0.0
    out = [Stand(None, (-TOGETHER / 2, 0.0), (TOGETHER / 2, 0.0), facing_deg, other_foot(first) if first else None)]
    for due in dues:
        out.append(_after(out[-1], due))
    return tuple(out)


def figure_stands(figure: Figure, lead: Foot = "right") -> tuple[Stand, ...]:
    """The feet through one figure with that foot in the lead, from feet together at 12:00."""
    dues: list[Due] = []
    facing_deg = 0.0
    for step in figure_steps(figure, lead):
        facing_deg += step.turn_deg
        dues.append(_figure_due(step, facing_deg % 360))
    return stands(dues)


def _figure_due(step: FigureStep, facing_deg: float) -> Due:
    move = MOVES[step.move]
    row = SheetRow(1 + step.after, step.foot, step.move)
    weight = move.takes_weight or (move.name == "unwind" and row.foot is not None)
    return Due(row.count, 1, row.count, step.foot, step.move, move.lands, weight, facing_deg, step.turn_deg, step.place)


def _after(before: Stand, due: Due) -> Stand:
    """The feet after the event."""
    move = MOVES[due.move]
    spots: dict[Foot, Spot] = {"left": before.left, "right": before.right}
    air = None
    if due.foot is None:
        if move.lands:  # both feet at once, in a jump
            by = _turned(_paces(_place(due)), due.facing_deg)
            spots = {foot: (spots[foot][0] + by[0], spots[foot][1] + by[1]) for foot in spots}
        bears = None if move.takes_weight else before.bears
        return Stand(due, spots["left"], spots["right"], due.facing_deg, bears)
    place = _place(due)
    if place is not None:
        aside, ahead = _paces(place)
        aside = (TOGETHER + aside) * (1 if due.foot == "right" else -1)
        stays = spots[other_foot(due.foot)]
        by = _turned((aside, ahead), due.facing_deg)
        # a vine goes along one line: what comes beside a foot that crossed comes back to the line that it left
        back = before.off_line if ahead == 0 and before.moved == other_foot(due.foot) else (0.0, 0.0)
        target = (stays[0] + by[0] - back[0], stays[1] + by[1] - back[1])
        if move.lands:
            spots[due.foot] = target
        else:
            air = target
    bears = due.foot if due.takes_weight else before.bears
    if bears == due.foot and not due.takes_weight and place is not None:
        bears = other_foot(due.foot)  # a foot that leaves its place bears nothing, whatever stood before
    off_line = _turned((0.0, _paces(place)[1]), due.facing_deg) if place is not None and place[0] < 0 and move.lands else (0.0, 0.0)
    return Stand(due, spots["left"], spots["right"], due.facing_deg, bears, due.foot, air, off_line)


def _place(due: Due) -> Vector | None:
    """Where the event puts its foot, to the foot's own side and forward; None if it stays where it is."""
    if due.place is not None:
        return due.place
    place = OPEN_PLACES.get(due.move, MOVES[due.move].place)
    return None if isinstance(place, str) else place


def _paces(place: Vector | None) -> Spot:
    """A place without a unit as paces beyond feet together."""
    side, ahead = place or (0.0, 0.0)
    return side * TO_SIDE, ahead * AHEAD * (CROSSING if side < 0 else 1.0)


def _turned(step: Spot, facing_deg: float) -> Spot:
    """A step to the dancer's right and forward as one on the floor."""
    turn = math.radians(facing_deg)
    right, ahead = step
    return right * math.cos(turn) + ahead * math.sin(turn), ahead * math.cos(turn) - right * math.sin(turn)
