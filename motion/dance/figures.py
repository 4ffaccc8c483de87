"""The trade's vocabulary as two tables: the single moves of a sheet, and the figures that are made of them.

There is no official vocabulary: clubs use one word for two things and two words for one. What a word means here is written out
below, in one place, so that a sheet and its reader can agree. Every figure is written for the right foot in the lead; the left
lead is its mirror. Adding a figure is one row here and one row in the test that states its weight changes and its ending foot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from motion.base.types import Foot, SheetRow

Vector = tuple[float, float]


@dataclass(frozen=True)
class Move:
    """One word of a sheet's `move` column.

    lands: the foot comes to the floor. takes_weight: it bears the body afterwards. place: where the right foot goes, seen by the
    dancer, as (to the right, forward) without a unit; "stays" if it does not travel, "open" if the word does not say where.
    """

    name: str
    lands: bool
    takes_weight: bool
    place: Vector | Literal["stays", "open"]
    words: str

    @property
    def shift(self) -> bool:
        """Weight moves without a landing."""
        return self.takes_weight and not self.lands


#: lands, takes weight, place of the right foot.
MOVES: dict[str, Move] = {
    move.name: move
    for move in (
        Move("side", True, True, (1, 0), "Step out to the foot's own side."),
        Move("behind", True, True, (-1, -1), "Step across behind the other foot."),
        Move("cross", True, True, (-1, 1), "Step across in front of the other foot."),
        Move("together", True, True, (0, 0), "Step beside the other foot."),
        Move("forward", True, True, (0, 1), "Step forward."),
        Move("back", True, True, (0, -1), "Step back."),
        Move("in place", True, True, "stays", "Lift the foot and step on the spot where it was."),
        Move("stomp", True, True, "open", "Step down hard with the whole foot and stand on it."),
        Move("touch", True, False, "open", "Touch the floor with the foot, weight stays on the other."),
        Move("heel", True, False, (0, 1), "Set the heel on the floor in front, weight stays on the other foot."),
        Move("toe", True, False, "open", "Set the toe on the floor, weight stays on the other foot."),
        Move("stomp up", True, False, "open", "Hit the floor with the whole foot and lift it again."),
        Move("recover", False, True, "stays", "Shift the weight back onto this foot, which never left the floor."),
        Move("sway", False, True, "stays", "Shift the weight over this foot, both feet stay where they are."),
        Move("kick", False, False, "open", "Kick the foot out in the air."),
        Move("hitch", False, False, "open", "Lift the knee."),
        Move("scuff", False, False, "open", "Swing the foot forward, its heel brushing the floor on the way."),
        Move("brush", False, False, "open", "Swing the foot, its ball brushing the floor on the way."),
        Move("hook", False, False, "open", "Lift the foot across the other shin."),
        Move("flick", False, False, "open", "Flick the foot up behind."),
        Move("strut drop", False, True, "stays", "Lower the heel or toe that is still up, and stand on the foot."),
        Move("swivel", False, False, "stays", "Turn heels or toes on the floor, weight stays as it is."),
        Move(
            "unwind",
            False,
            False,
            "stays",
            "Turn until the feet are uncrossed; a foot in the sheet says where the weight ends.",
        ),
        Move("hold", False, False, "stays", "Wait."),
    )
}

#: Everyday words that mean exactly one move here.
OTHER_WORDS: dict[str, str] = {
    "backward": "back",
    "backwards": "back",
    "close": "together",
    "dig": "heel",
    "forwards": "forward",
    "heel dig": "heel",
    "heel drop": "strut drop",
    "pause": "hold",
    "point": "toe",
    "rest": "hold",
    "stamp": "stomp up",
    "step back": "back",
    "step forward": "forward",
    "step side": "side",
    "step together": "together",
    "tap": "touch",
    "walk": "forward",
    "walk back": "back",
    "walk forward": "forward",
}


def takes_weight(row: SheetRow) -> bool:
    """Whether the row leaves the body on its foot. An unwind does when the sheet names a foot."""
    move = MOVES[row.move]
    return move.takes_weight or (move.name == "unwind" and row.foot is not None)


@dataclass(frozen=True)
class FigureStep:
    """One step of a figure: `after` counts after the figure begins, turn_deg clockwise positive; place: where it puts the foot, to
    the foot's own side and forward, None if the move's word says it."""

    after: float
    foot: Foot | None
    move: str
    turn_deg: float = 0.0
    place: Vector | None = None


@dataclass(frozen=True)
class Figure:
    """A named figure, right foot first.

    counts: how many counts it fills. steps: "count foot move [turn]", comma between steps, "-" for no foot. ends: the foot that
    bears the body after it, "=" if weight never moved. call: what a teacher says just before it; {side} is the leading foot's side,
    {away} the other. turn_on: the step that takes a turn added by the sheet ("" = the last that moves the weight). slow: its three
    steps also go on whole counts, over three counts or over four with a hold. repeats: a longer span repeats it, each time from the
    free foot. places: "count side forward" of the steps whose word leaves open where the foot goes. onward: a turn added by the sheet
    does not bend the way it travels, so that a vine with a quarter ends in a step forward.
    """

    name: str
    counts: int
    steps: str
    ends: Literal["R", "L", "="]
    call: str
    words: str
    turn_on: str = ""
    slow: bool = False
    repeats: bool = False
    other_names: tuple[str, ...] = ()
    places: str = ""
    onward: bool = False


FIGURES: tuple[Figure, ...] = (
    # Travelling to the side
    Figure("vine", 4, "1 R side, 2 L behind, 3 R side, 4 L touch", "R", "vine {side}",
           "Side, behind, side, and touch the other foot beside.", turn_on="3", other_names=("grapevine",), onward=True),
    Figure("vine", 3, "1 R side, 2 L behind, 3 R side", "R", "vine {side}",
           "Side, behind, side; the sheet says what comes on the fourth count.", turn_on="3", other_names=("grapevine",), onward=True),
    Figure("vine scuff", 4, "1 R side, 2 L behind, 3 R side, 4 L scuff", "R", "vine {side} and scuff",
           "Side, behind, side, and scuff the other foot.", turn_on="3", onward=True),
    Figure("rolling vine", 4, "1 R forward 1/4 R, 2 L back 1/2 R, 3 R side 1/4 R, 4 L touch", "R", "rolling vine {side}",
           "Three steps to the side in one full turn, and touch.", other_names=("rolling grapevine",)),
    Figure("weave", 4, "1 R cross, 2 L side, 3 R behind, 4 L side", "L", "weave {away}",
           "Cross, side, behind, side, travelling away from the first foot.", repeats=True),
    Figure("behind side cross", 2, "1 R behind, 1& L side, 2 R cross", "R", "behind, side, cross",
           "Three quick steps that pass behind and cross in front.", turn_on="1&", slow=True, other_names=("quick weave",)),
    Figure("step touch", 2, "1 R side, 2 L touch", "R", "step, touch",
           "Side, and touch the other foot beside.", repeats=True),
    Figure("side together side touch", 4, "1 R side, 2 L together, 3 R side, 4 L touch", "R", "side, together",
           "Side, close, side, and touch.", repeats=True, onward=True),
    Figure("scissor", 2, "1 R side, 1& L together, 2 R cross", "R", "scissor",
           "Side, close, and cross in front.", slow=True, other_names=("scissor step",)),
    Figure("nightclub basic", 2, "1 R side, 2 L behind, 2& R recover", "R", "long side",
           "A long step to the side, rock behind on 2, back onto the first foot on the half count.",
           repeats=True, other_names=("basic nightclub", "nightclub two step")),
    # Three quick steps
    Figure("shuffle forward", 2, "1 R forward, 1& L together, 2 R forward", "R", "shuffle",
           "Forward, close, forward: the second foot comes up to the first and does not pass it.", repeats=True,
           other_names=("shuffle", "forward shuffle", "triple forward", "chasse forward", "cha cha forward")),
    Figure("shuffle back", 2, "1 R back, 1& L together, 2 R back", "R", "shuffle back",
           "Back, close, back.", repeats=True,
           other_names=("back shuffle", "triple back", "chasse back", "cha cha back")),
    Figure("chasse", 2, "1 R side, 1& L together, 2 R side", "R", "chasse {side}",
           "Side, close, side.", other_names=("shuffle side", "side shuffle", "triple side", "chasse side", "cha cha side"), onward=True),
    Figure("triple", 2, "1 R in place, 1& L in place, 2 R in place", "R", "triple step",
           "Three steps on the spot.", repeats=True,
           other_names=("triple step", "triple in place", "shuffle in place", "cha cha", "cha cha in place")),
    Figure("lock step", 2, "1 R forward, 1& L behind, 2 R forward", "R", "lock step",
           "Forward, the other foot locks in behind, forward.", slow=True, other_names=("lock step forward", "lock forward"),
           places="2 -1 2.2"),
    Figure("lock step back", 2, "1 R back, 1& L cross, 2 R back", "R", "lock back",
           "Back, the other foot locks across in front, back.", slow=True, other_names=("back lock step", "lock back"),
           places="2 -1 -2.2"),
    Figure("coaster", 2, "1 R back, 1& L together, 2 R forward", "R", "coaster",
           "Back, close, forward, on the spot.", slow=True, other_names=("coaster step", "back coaster", "coaster back")),
    Figure("forward coaster", 2, "1 R forward, 1& L together, 2 R back", "R", "forward coaster",
           "Forward, close, back, on the spot.", slow=True, other_names=("coaster forward",)),
    Figure("sailor", 2, "1 R behind, 1& L side, 2 R side", "R", "sailor",
           "Behind, side, and out to the own side.", turn_on="1&", slow=True, other_names=("sailor step",), places="1& .5 .55, 2 .6 0"),
    Figure("kick ball change", 2, "1 R kick, 1& R together, 2 L in place", "L", "kick ball change",
           "Kick, step on the ball beside, step the other foot on the spot.", repeats=True, other_names=("kick ball step",)),
    # Rocks
    Figure("rock forward", 2, "1 R forward, 2 L recover", "L", "rock forward",
           "Step forward and shift back onto the foot that stayed.", other_names=("forward rock",)),
    Figure("rock back", 2, "1 R back, 2 L recover", "L", "rock back",
           "Step back and shift forward onto the foot that stayed.", other_names=("back rock",)),
    Figure("rock side", 2, "1 R side, 2 L recover", "L", "rock {side}",
           "Step to the side and shift back onto the foot that stayed.", other_names=("side rock",)),
    Figure("rock cross", 2, "1 R cross, 2 L recover", "L", "cross rock",
           "Step across in front and shift back onto the foot that stayed.", other_names=("cross rock",)),
    Figure("rocking chair", 4, "1 R forward, 2 L recover, 3 R back, 4 L recover", "L", "rocking chair",
           "Rock forward and recover, rock back and recover.", repeats=True),
    Figure("mambo forward", 2, "1 R forward, 1& L recover, 2 R together", "R", "mambo forward",
           "Rock forward, recover, close.", slow=True, other_names=("mambo", "forward mambo")),
    Figure("mambo back", 2, "1 R back, 1& L recover, 2 R together", "R", "mambo back",
           "Rock back, recover, close.", slow=True, other_names=("back mambo",)),
    Figure("mambo side", 2, "1 R side, 1& L recover, 2 R together", "R", "side mambo",
           "Rock to the side, recover, close.", slow=True, other_names=("side mambo",)),
    # Turns
    Figure("pivot 1/2", 2, "1 R forward, 2 L recover 1/2 L", "L", "step, half turn",
           "Step forward, turn half on both feet away from it, weight ends on the other foot.",
           turn_on="2", repeats=True, other_names=("pivot", "pivot turn", "step pivot", "half pivot", "1/2 pivot")),
    Figure("pivot 1/4", 2, "1 R forward, 2 L recover 1/4 L", "L", "step, quarter turn",
           "Step forward, turn a quarter on both feet away from it, weight ends on the other foot.",
           turn_on="2", repeats=True, other_names=("quarter pivot", "1/4 pivot")),
    Figure("paddle 1/4", 2, "1 R toe, 2 L swivel 1/4 L", "=", "paddle",
           "Press the toe out to the side and turn a quarter on the standing foot.",
           turn_on="2", repeats=True, other_names=("paddle", "paddle turn")),
    Figure("Monterey 1/2", 4, "1 R toe, 2 R together 1/2 R, 3 L toe, 4 L together", "L", "Monterey half",
           "Point out, turn half while closing, point the other foot out, close it.",
           turn_on="2", repeats=True, other_names=("Monterey", "Monterey turn")),
    Figure("Monterey 1/4", 4, "1 R toe, 2 R together 1/4 R, 3 L toe, 4 L together", "L", "Monterey quarter",
           "Point out, turn a quarter while closing, point the other foot out, close it.", turn_on="2", repeats=True),
    Figure("cross unwind", 2, "1 R cross, 2 L unwind 1/2 L", "L", "cross and unwind",
           "Cross in front and turn half until the feet are uncrossed; the back foot bears the body.",
           turn_on="2", other_names=("unwind 1/2",)),
    # Boxes and letters
    Figure("jazz box", 4, "1 R cross, 2 L back, 3 R side, 4 L together", "L", "jazz box",
           "Cross in front, back, side, close: a square.", turn_on="3", repeats=True, other_names=("jazz square",)),
    Figure("rumba box", 8, "1 R side, 2 L together, 3 R forward, 4 - hold, 5 L side, 6 R together, 7 L back, 8 - hold", "L",
           "rumba box", "Side, close, forward, hold, then side, close, back, hold with the other foot.", turn_on="7"),
    Figure("K-step", 8, "1 R forward, 2 L touch, 3 L back, 4 R touch, 5 R back, 6 L touch, 7 L forward, 8 R touch", "L", "K-step",
           "Diagonals forward, home, back and home, each with a touch: the feet draw a K.",
           places="1 1 1, 3 1 -1, 5 1 -1, 7 1 1"),
    Figure("V-step", 4, "1 R forward, 2 L forward, 3 R back, 4 L together", "L", "V-step",
           "Out, out in front, in, in: the feet draw a V.", repeats=True, places="1 .6 1, 2 1.2 0, 3 .6 -1"),
    # In place
    Figure("heel switches", 2, "1 R heel, 1& R together, 2 L heel, 2& L together", "L", "heel switches",
           "Heel, home, other heel, home, in quick steps.", repeats=True, other_names=("heel switch",)),
    Figure("slow heel switches", 4, "1 R heel, 2 R together, 3 L heel, 4 L together", "L", "heel switches",
           "Heel, home, other heel, home, a count each.", repeats=True),
    Figure("toe switches", 2, "1 R toe, 1& R together, 2 L toe, 2& L together", "L", "toe switches",
           "Toe, home, other toe, home, in quick steps.", repeats=True, other_names=("toe switch",)),
    Figure("Charleston kick", 4, "1 R forward, 2 L kick, 3 L back, 4 R touch", "L", "Charleston with a kick",
           "The Charleston with a kick: forward, kick, back, touch back.", repeats=True,
           places="4 0 -1"),
    Figure("Charleston touch", 4, "1 R touch, 2 R back, 3 L touch, 4 L forward", "L", "Charleston with a touch",
           "The Charleston with touches: touch in front, step back, touch behind, step forward.", repeats=True,
           places="1 0 1, 3 0 -1"),
    Figure("sways", 1, "1 R sway", "R", "sway {side}",
           "Shift the weight over to the side, and back if it goes on.", repeats=True, other_names=("sway", "hip sways")),
    Figure("hip bump", 1, "1 R sway", "R", "bump {side}",
           "Push the hip out over the foot, the weight goes with it.", repeats=True, other_names=("hip bumps", "bump", "bumps")),
    Figure("toe strut", 2, "1 R toe, 2 R strut drop", "R", "toe strut",
           "Toe first, then lower the heel and stand on it.", repeats=True, other_names=("toe struts",), places="1 0 1"),
    Figure("heel strut", 2, "1 R heel, 2 R strut drop", "R", "heel strut",
           "Heel first, then lower the toe and stand on it.", repeats=True, other_names=("heel struts",)),
    Figure("swivels", 2, "1 - swivel, 2 - swivel", "=", "swivel",
           "Both heels (or toes) turn out and back, weight stays between the feet.",
           repeats=True, other_names=("swivel", "heel swivels", "heel split", "heel splits", "toe fan", "applejack", "applejacks")),
    Figure("hold", 1, "1 - hold", "=", "hold", "Wait, a count at a time.", repeats=True, other_names=("pause", "rest")),
    # Walking
    Figure("walk", 1, "1 R forward", "R", "walk",
           "A step forward on every count.", repeats=True, other_names=("walks", "walk forward", "walks forward")),
    Figure("walk back", 1, "1 R back", "R", "walk back",
           "A step back on every count.", repeats=True, other_names=("walks back",)),
    # In 3/4
    Figure("waltz basic", 3, "1 R forward, 2 L together, 3 R in place", "R", "waltz forward",
           "Forward, close, step on the spot.", turn_on="1", other_names=("waltz basic forward", "waltz forward")),
    Figure("waltz basic", 6, "1 R forward, 2 L together, 3 R in place, 4 L back, 5 R together, 6 L in place", "L",
           "waltz forward and back", "Forward, close, on the spot; back, close, on the spot.",
           turn_on="4", repeats=True, other_names=("waltz basic forward and back",)),
    Figure("waltz basic back", 3, "1 R back, 2 L together, 3 R in place", "R", "waltz back",
           "Back, close, step on the spot.", turn_on="1", other_names=("waltz back",)),
    Figure("twinkle", 3, "1 R cross, 2 L side, 3 R in place", "R", "twinkle",
           "Cross in front, side, step on the spot.", turn_on="2", repeats=True),
)  # fmt: skip

_TURNS = {"1/8": 45.0, "1/4": 90.0, "1/2": 180.0, "3/4": 270.0, "full": 360.0}
_FEET: dict[str, Foot | None] = {"R": "right", "L": "left", "-": None}


def other_foot(foot: Foot) -> Foot:
    """The other one."""
    return "left" if foot == "right" else "right"


@cache
def figure_steps(figure: Figure, lead: Foot = "right") -> tuple[FigureStep, ...]:
    """The figure's steps with the given foot in the lead: the left lead mirrors feet and turns."""
    steps = []
    places = {count: (float(side), float(ahead)) for count, side, ahead in map(str.split, filter(None, figure.places.split(", ")))}
    for written in figure.steps.split(", "):
        count, foot_letter, *words = written.split()
        turn_deg = 0.0
        if len(words) > 2 and words[-2] in _TURNS:
            turn_deg = _TURNS[words[-2]] * (1 if words[-1] == "R" else -1)
            words = words[:-2]
        foot = _FEET[foot_letter]
        if lead == "left":
            foot, turn_deg = (other_foot(foot) if foot else None), 0.0 - turn_deg
        steps.append(FigureStep(count_after(count), foot, " ".join(words), turn_deg, places.get(count)))
    return tuple(steps)


def count_after(label: str) -> float:
    """Counts after the figure's first: "1" is 0, "2&" is 1.5."""
    return int(label.rstrip("&")) - 1 + (0.5 if label.endswith("&") else 0.0)


def plain_name(name: str) -> tuple[str, Foot | None]:
    """A figure's or move's name as it is looked up, and the side that it names at its beginning or end, if any.

    Capitals, hyphens, accents and the word "recover" make no difference: "Vine Right" is ("vine", "right").
    """
    words = name.casefold().replace("é", "e").replace("-", " ").split()
    side: Foot | None = None
    for at in (-1, 0):
        if len(words) > 1 and words[at] in ("right", "left", "r", "l"):
            side = "right" if words[at].startswith("r") else "left"
            words.pop(at)
    if words[:1] == ["rock"] or words[-1:] == ["recover"]:
        words = [word for word in words if word != "recover"] or words
    return " ".join(words), side


@cache
def figures_by_name() -> dict[str, tuple[Figure, ...]]:
    """Every name, plain, to the forms that go by it."""
    names: dict[str, tuple[Figure, ...]] = {}
    for figure in FIGURES:
        for name in (figure.name, *figure.other_names):
            plain = plain_name(name)[0]
            names[plain] = (*names.get(plain, ()), figure)
    return names


def spans(figure: Figure) -> str:
    """How many counts it may fill, in words: "2, 3 or 4"."""
    allowed = [figure.counts, *((3, 4) if figure.slow else ())]
    words = " or ".join(str(n) for n in allowed)
    return f"{words}, or a multiple of {figure.counts}" if figure.repeats and figure.counts > 1 else words


def lead_of(figure: Figure, side: Foot) -> Foot:
    """The first foot of a figure that goes to `side`: a weave to the right begins with the left foot."""
    return other_foot(side) if "{away}" in figure.call else side


def call_of(figure: Figure, lead: Foot) -> str:
    """What a teacher says just before it."""
    return figure.call.format(side=lead, away=other_foot(lead))


def expand(name: str, lead: Foot, counts: int, turn_deg: float = 0.0) -> tuple[FigureStep, ...] | None:
    """The steps of the figure `name` over `counts` counts, or None if no form of it fits.

    turn_deg is what the whole row turns, clockwise positive; 0 leaves the figure its own turn.
    Example: expand("vine", "left", 4) is left side, right behind, left side, right touch, at 0, 1, 2 and 3 counts.
    """
    forms = figures_by_name().get(name, ())
    for form in forms:
        if form.counts == counts:
            return _turned(form, figure_steps(form, lead), turn_deg)
    for form in forms:
        if form.slow and counts in (3, 4):
            quick = _turned(form, figure_steps(form, lead), turn_deg)
            steps = tuple(replace(step, after=step.after * 2) for step in quick)
            return steps if counts == 3 else (*steps, FigureStep(3.0, None, "hold"))
    for form in forms:
        if form.repeats and counts > 0 and counts % form.counts == 0:
            times = counts // form.counts
            steps = ()
            for k in range(times):
                once = _turned(form, figure_steps(form, lead), turn_deg / times)
                steps += tuple(replace(s, after=s.after + k * form.counts) for s in once)
                if form.ends == "R":
                    lead = other_foot(lead)
            return steps
    return None


def _turned(figure: Figure, steps: tuple[FigureStep, ...], turn_deg: float) -> tuple[FigureStep, ...]:
    """The steps with their turns brought to turn_deg in all: what is wanting goes to the step that takes an added turn."""
    if not turn_deg:
        return steps
    wanting_deg = turn_deg - sum(step.turn_deg for step in steps)
    weighted = [k for k, step in enumerate(steps) if MOVES[step.move].takes_weight]
    at = weighted[-1] if weighted else len(steps) - 1
    if figure.turn_on:
        at = next(k for k, step in enumerate(steps) if step.after == count_after(figure.turn_on))
    step = steps[at]
    place = _onward(step, wanting_deg) if figure.onward else step.place
    turned = replace(step, turn_deg=step.turn_deg + wanting_deg, place=place)
    return (*steps[:at], turned, *steps[at + 1 :])


def _onward(step: FigureStep, turn_deg: float) -> Vector | None:
    """Where a step goes that keeps its way while the body turns: what was its own side is in front of it after a quarter there."""
    place = step.place or MOVES[step.move].place
    if isinstance(place, str):
        return None
    turn = math.radians(turn_deg if step.foot == "right" else -turn_deg)
    side, ahead = place
    return side * math.cos(turn) - ahead * math.sin(turn), side * math.sin(turn) + ahead * math.cos(turn)
