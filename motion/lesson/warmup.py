"""The warm-up: games joint by joint, chosen and timed by what the sheet's moves ask of the body, then its own steps slowly."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from motion.base.checks import number_between
from motion.base.types import SheetRow
from motion.lesson.games import GAMES, JOINTS, PLAIN_MOVES, TURNING, WORK, Game, Joint
from motion.lesson.safety import Audience
from motion.lesson.settings import LessonSettings

#: Never more muscles to one joint than a class can listen to.
MOST_MUSCLES = 3


@dataclass(frozen=True)
class Demand:
    """What a dance asks of one joint: share 0..1 of all that its moves ask for, and the muscles by how often they work."""

    joint: Joint
    share: float
    muscles: tuple[str, ...]


@dataclass(frozen=True)
class Item:
    """One timed piece of the lesson that is led from the front.

    words: what to do; muscles: what it prepares or stretches; sides: pieces of seconds with what each is led with, as the class sees it;
    care: what not to do. seconds is the sum over sides where there are any.
    """

    name: str
    joint: str
    muscles: tuple[str, ...]
    words: str
    seconds: int
    sides: tuple[tuple[str, int], ...] = ()
    care: str = ""


def demands(rows: Sequence[SheetRow] | None) -> tuple[Demand, ...]:
    """What the dance's rows (or a plain dance for None) ask of each joint, in the order in which joints are prepared.

    Example: a dance of nothing but heels asks for ankles (front of the shins) and knees (front of the thighs), half each.
    """
    moves = [(row.move, row.turn_deg) for row in rows] if rows else list(PLAIN_MOVES)
    work: Counter[tuple[Joint, str]] = Counter()
    for move, turn_deg in moves:
        work.update(WORK[move])
        if turn_deg:
            work.update(TURNING)
    total = sum(work.values()) or 1
    out = []
    for joint in JOINTS:
        muscles = sorted(
            ((n, muscle) for (where, muscle), n in work.items() if where == joint), key=lambda pair: (-pair[0], pair[1])
        )
        out.append(Demand(joint, sum(n for n, _ in muscles) / total, tuple(muscle for _, muscle in muscles)))
    return tuple(out)


def warm_up(
    rows: Sequence[SheetRow] | None, seconds: int, *, audience: Audience, seated: bool = False, settings: LessonSettings
) -> tuple[Item, ...]:
    """Games that fill exactly `seconds`, one joint after the other: the whole body first, then from the ankles up.

    Joints that the dance asks more of get more time, and a second game when there is time for it. When time is short, joints that it
    asks least of are left out. Games with sides give right and left the same time; the leader, facing the class, leads in mirror.
    BadInput when there is no time for one game.
    """
    game_s = settings.warm_game_s
    number_between(seconds, game_s, settings.longest_min * 60, "The warm-up", "seconds")
    wanted = {demand.joint: demand for demand in demands(rows)}
    chosen = _chosen(max(1, seconds // settings.warm_usual_s), wanted)
    spare = seconds - game_s * len(chosen)
    weights = [0.15 + wanted[game.joint].share for game in chosen]
    times = [game_s + 2 * int(spare * weight / sum(weights) / 2) for weight in weights]
    times[0] += seconds - sum(times)
    return tuple(_item(game, time, wanted[game.joint], audience, seated) for game, time in zip(chosen, times, strict=True))


def _chosen(most: int, wanted: dict[Joint, Demand]) -> list[Game]:
    """The games there is time for, in order: one for the whole body, then one for each joint by demand, then second ones."""
    firsts: dict[Joint, list[Game]] = {joint: [game for game in GAMES if game.joint == joint] for joint in JOINTS}
    by_demand = sorted(JOINTS[1:], key=lambda joint: -wanted[joint].share)
    order = [firsts["whole body"][0]]
    for turn in range(max(map(len, firsts.values()))):
        order += [firsts[joint][turn] for joint in by_demand if turn < len(firsts[joint])]
    kept = order[:most]
    return [game for game in GAMES if game in kept]


def _item(game: Game, seconds: int, demand: Demand, audience: Audience, seated: bool) -> Item:
    words = game.seated if seated else game.story if audience == "children" else game.plain
    muscles = tuple(dict.fromkeys([*demand.muscles[:2], *game.muscles]))[:MOST_MUSCLES] if demand.muscles else game.muscles
    care = game.stop
    if audience == "seniors" and not seated and "hold" not in care.lower() and "hand on" not in care.lower():
        care = f"A chair is within reach. {care}"
    return Item(game.name, game.joint, muscles, words, seconds, _sides(seconds) if game.sides else (), care)


def _sides(seconds: int) -> tuple[tuple[str, int], ...]:
    """Right, then left, equally long; an odd second goes to the change of sides."""
    half = seconds // 2
    return (
        ("the class's right side (you face them: your left)", half),
        ("the class's left side (you face them: your right)", seconds - half),
    )


def slow_steps(
    calls: Sequence[str], seconds: int, bpm: float | None, *, seated: bool, settings: LessonSettings
) -> tuple[Item, ...]:
    """The dance's own steps, slowly, in exactly `seconds`: as many of its figures as there is time for, each to both sides.

    calls: what each figure is called, in the order of the dance; bpm: the slow tempo, None if not known.
    """
    # A figure to the right and to the left is one figure here: both sides are danced anyway.
    names = list(dict.fromkeys(re.sub(r" (left|right)$", "", call) for call in calls)) or [
        "step to the side and touch",
        "walk forward and back",
        "turn a quarter in small steps",
    ]
    names = names[: max(1, seconds // settings.warm_game_s)]
    tempo = "" if bpm is None else f" About {bpm:g} beats a minute."
    how = "Sitting: show it with the feet, small. " if seated else ""
    each = 2 * int(seconds / len(names) / 2)
    times = [each] * len(names)
    times[0] += seconds - sum(times)
    words = f"{how}As it is written, slowly, in small steps with soft knees; then begun with the other foot.{tempo}"
    return tuple(Item(name, "the dance's own steps", (), words, time) for name, time in zip(names, times, strict=True))
