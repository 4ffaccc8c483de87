"""What was danced, written down: a draft of a dance sheet from landings on counts.

A draft is a beginning for a person who knows the dance. It holds what landings tell: counts, feet, weight, where the foot went and
what the body turned. A hitch or a hold looks the same (nothing lands), and heel, toe and touch differ only by where they are.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from motion.base.errors import BadInput
from motion.base.types import DanceSheet, Foot, Kind, SheetRow
from motion.dance.figures import other_foot
from motion.dance.settings import DANCE, DRAFT, DraftSettings

Place = tuple[float, float]
#: The header line that marks a sheet as a draft.
DRAFT_KEY = "draft"


@dataclass(frozen=True)
class Landed:
    """One landing or weight change of the demonstration.

    count: the nearest count or half count, running on from 1; off: how far from it, in counts, late is positive, the dancer's usual
    lead or lag taken out; kind as in Steps; strength 0..1; place: against the other foot, to the dancer's right and forward in leg
    lengths, NaN where not seen; facing_deg: clockwise, running on past 360, from any zero, NaN where not seen.
    """

    count: float
    off: float
    foot: Foot
    kind: Kind
    strength: float
    place: Place
    facing_deg: float


def draft_sheet(
    landed: Sequence[Landed], counts: int, *, title: str, made_from: str, beats_per_bar: int = 4, bpm: float | None = None,
    settings: DraftSettings = DRAFT,
) -> DanceSheet:  # fmt: skip
    """A draft sheet of a dance of `counts` counts from landings over one wall or more; where walls differ, most of them win.

    made_from: what it was written down from, for the header. Raises BadInput if `counts` cannot be, or nothing was danced.
    """
    if not 1 <= counts <= DANCE.most_counts:
        raise BadInput(f"The dance has {counts} counts", "Give how many counts one wall has")
    walls = _by_wall(landed, counts, settings)
    if not walls:
        raise BadInput("No landing lies after count 1", "Give the time of count 1, or another dancer")
    steps = _weighed(_voted(walls, counts), settings)
    rows = [row for one in steps for row in _rows(one)]
    moved = _named(rows, steps, settings)
    taken = {int(row.count) for row in moved if row.count == int(row.count)}
    holds = [SheetRow(float(n), None, "hold") for n in range(1, counts + 1) if n not in taken]
    written = tuple(sorted([*moved, *holds], key=lambda row: row.count))
    net = sum(row.turn_deg for row in written) % 360
    return DanceSheet(
        title=title, counts=counts, walls={0.0: 1, 180.0: 2}.get(net, 4), rows=written, beats_per_bar=beats_per_bar,
        bpm=None if bpm is None else round(bpm, 1), extra=((DRAFT_KEY, f"written down from {made_from}; look at every row"),),
    )  # fmt: skip


def is_draft(sheet: DanceSheet) -> bool:
    """Whether its header marks it as a draft."""
    return any(key == DRAFT_KEY for key, _ in sheet.extra)


@dataclass(frozen=True)
class _Seen:
    """What one wall shows at one count of the wall: the landing, and the turn since the landing before it, snapped."""

    landed: Landed
    turn_deg: float


def _by_wall(landed: Sequence[Landed], counts: int, settings: DraftSettings) -> list[dict[float, _Seen]]:
    """Every wall's landings by their count in the wall, half counts that are no half counts moved, one landing a count."""
    turned = dict(zip(map(id, landed), _turns(landed, settings), strict=True))
    walls: list[dict[float, _Seen]] = []
    for wall in range(int(max((one.count for one in landed), default=0.0) - 0.01) // counts + 1):
        mine = [one for one in landed if wall * counts + 1 <= one.count < (wall + 1) * counts + 1]
        here: dict[float, _Seen] = {}
        for count, one in _settled(mine, settings):
            at = count - wall * counts
            earlier = here.get(at)
            turn_deg = turned[id(one)]
            if earlier is None:
                here[at] = _Seen(one, turn_deg)
            else:
                stronger = one if one.strength > earlier.landed.strength else earlier.landed
                here[at] = _Seen(stronger, turn_deg + earlier.turn_deg)
        if here:
            walls.append(here)
    return walls


def _turns(landed: Sequence[Landed], settings: DraftSettings) -> list[float]:
    """The turn with every landing, in quarters: the facing is held until another quarter is plainly reached."""
    out: list[float] = []
    held = next((one.facing_deg for one in landed if math.isfinite(one.facing_deg)), 0.0)
    for one in landed:
        turn_deg = 0.0
        if math.isfinite(one.facing_deg) and abs(one.facing_deg - held) > settings.turn_from_deg:
            turn_deg = round((one.facing_deg - held) / 90) * 90.0
            held += turn_deg
        if math.isfinite(one.facing_deg):
            held += settings.turn_follow * (one.facing_deg - held)
        out.append(turn_deg)
    return out


def _settled(mine: Sequence[Landed], settings: DraftSettings) -> Iterable[tuple[float, Landed]]:
    """Each landing with its count: a late or early whole count that lies on a half one, while its own is empty, goes back there."""
    taken = {one.count for one in mine}
    for one in mine:
        count = one.count
        whole = count + math.copysign(0.5, one.off)
        if count % 1 and abs(one.off) > settings.half_off and whole not in taken:
            taken.add(whole)
            count = whole
        yield count, one


def _voted(walls: Sequence[dict[float, _Seen]], counts: int) -> list[tuple[float, list[_Seen]]]:
    """The counts at which enough walls show a landing, each with the sightings of the foot that most of them show.

    A whole count needs half of the walls that were danced that far, a half count more than half: a landing read twice lies on one.
    """
    ends = [max(wall) for wall in walls]
    out: list[tuple[float, list[_Seen]]] = []
    for at in sorted({at for wall in walls for at in wall}):
        seen = [wall[at] for wall in walls if at in wall]
        danced = max(1, sum(end >= at for end in ends))
        if 2 * len(seen) < danced or (at % 1 and len(walls) > 1 and 2 * len(seen) <= danced):
            continue
        feet = Counter[Foot]()
        for one in seen:
            feet[one.landed.foot] += 1
        best = max(feet, key=lambda foot: (feet[foot], max(s.landed.strength for s in seen if s.landed.foot == foot)))
        out.append((at, [s for s in seen if s.landed.foot == best]))
    return [one for one in out if one[0] < counts + 1]


@dataclass(frozen=True)
class _Step:
    """One agreed event of the wall. before: a recover on the other foot that nobody saw, at this count, or None."""

    at: float
    foot: Foot
    weight: bool
    shift: bool
    place: Place
    turn_deg: float
    before: float | None = None


def _weighed(voted: Sequence[tuple[float, list[_Seen]]], settings: DraftSettings) -> list[_Step]:
    """Which landings take weight: the likeliest course in which the foot that moves is the free one.

    Weight that came back onto the other foot without a landing is put on an empty count between, where there is one.
    """
    steps: list[_Step] = []
    for at, seen in voted:
        places = np.array([s.landed.place for s in seen])
        known = places[np.isfinite(places).all(axis=1)]
        place: Place = (float(np.median(known[:, 0])), float(np.median(known[:, 1]))) if len(known) else (math.nan, math.nan)
        turns = sorted(s.turn_deg for s in seen)
        kinds = [s.landed.kind for s in seen]
        weight = 2 * sum(kind != "touch" for kind in kinds) > len(kinds) - 1e-9
        shift = 2 * sum(kind == "shift" for kind in kinds) > len(kinds)
        steps.append(_Step(at, seen[0].landed.foot, weight, shift, place, turns[len(turns) // 2]))
    for k in range(len(steps) - 1):
        one, following = steps[k], steps[k + 1]
        if not (one.weight and one.foot == following.foot):
            continue
        empty = following.at - one.at >= 2 and one.at == int(one.at)
        if empty and one.at + 1 not in (s.at for s in steps):
            steps[k + 1] = replace(following, before=one.at + 1)
        else:
            steps[k] = replace(one, weight=False)
    for k, one in enumerate(steps[1:]):
        if not steps[k].weight and steps[k].foot != one.foot and not one.shift:
            steps[k] = replace(steps[k], weight=True)  # the other foot moves next, so this one bears the body
    return steps


def _rows(step: _Step) -> list[SheetRow]:
    """The rows of one step, its move not yet named; a recover before it if one was worked out."""
    row = SheetRow(step.at, step.foot, "side" if step.weight else "touch", step.turn_deg)
    return [row] if step.before is None else [SheetRow(step.before, other_foot(step.foot), "recover"), row]


def _named(rows: Sequence[SheetRow], steps: Sequence[_Step], settings: DraftSettings) -> list[SheetRow]:
    """The rows with the moves' names, from where the feet went."""
    by_count = {step.at: step for step in steps}
    out: list[SheetRow] = []
    apart: Place | None = None  # right foot against left, in the frame after the last step
    last: Foot | None = None
    for row in rows:
        step = by_count.get(row.count)
        if step is None or row.move == "recover":
            out.append(row)
            continue
        now = step.place if step.foot == "right" else (-step.place[0], -step.place[1])
        stays = apart is not None and last != step.foot and math.dist(_turned(apart, step.turn_deg), now) < settings.stays
        own = (step.place[0] if step.foot == "right" else -step.place[0], step.place[1])
        out.append(replace(row, move=_move(step, own, stays, settings)))
        apart, last = now if all(map(math.isfinite, now)) else None, step.foot
    return out


def _turned(apart: Place, turn_deg: float) -> Place:
    """Right foot against left in the dancer's frame after the body has turned."""
    turn = math.radians(turn_deg)
    right, ahead = apart
    return right * math.cos(turn) - ahead * math.sin(turn), right * math.sin(turn) + ahead * math.cos(turn)


def _move(step: _Step, own: Place, stays: bool, settings: DraftSettings) -> str:
    """The move's word: `own` is where the foot went, to its own side and forward in leg lengths."""
    side, ahead = own
    if step.shift:
        return "recover"
    if not (math.isfinite(side) and math.isfinite(ahead)):
        return "in place" if step.weight else "touch"
    if not step.weight:
        return "heel" if ahead > settings.heel_ahead else "toe" if side > settings.side else "touch"
    least = settings.ahead + (settings.turning_slack if step.turn_deg else 0.0)
    if abs(ahead) < least and settings.crossed <= side <= settings.side:
        return "together"
    if stays:
        return "in place"
    if side < settings.crossed and abs(ahead) > settings.close:
        return "cross" if ahead > 0 else "behind"
    if side > settings.side and side > abs(ahead):
        return "side"
    return "forward" if ahead > 0 else "back"
