"""What most walls or most of a class do questions the sheet; one dancer alone is told it."""

from __future__ import annotations

import numpy as np
from made_steps import candidates, events, grid_of, landings, sheet_named

from motion.base.types import Flag
from motion.music.counts import time_of
from motion.review.settings import SETTINGS
from motion.timing.flags import Danced
from motion.timing.questions import mirror_question, settled
from motion.timing.verdict import against_dance

TIMING = SETTINGS.timing
Entry = tuple[int, Danced, tuple[Flag, ...]]


def dancer(number: int, other_foot_at: float | None, walls: tuple[int, ...] = (1, 2, 3), mirror: bool = False) -> Entry:
    due = events(sheet_named("lantern"), 96.0)
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = [
        (t, right ^ mirror ^ (d.count_in_wall == other_foot_at and d.wall in walls), *rest)
        for d, (t, right, *rest) in zip(due, landings(due, at_s, seed=number), strict=True)
    ]
    said = against_dance(candidates(rows), due, grid, (float(at_s[0]), float(at_s[-1])), TIMING, untimed=None)  # type: ignore[arg-type]
    assert said.danced is not None
    assert isinstance(said.flags, tuple)
    return number, said.danced, said.flags


def kinds(flags: tuple[Flag, ...]) -> list[tuple[str, float | None]]:
    return [(f.kind, f.count) for f in flags]


def test_one_wall_is_the_dancers_and_every_wall_is_the_sheets() -> None:
    once = dancer(1, 20.0, (2,))
    kept, asked = settled([once], TIMING)
    assert asked == ()
    assert kinds(kept[1]) == kinds(once[2]) == [("other foot", 52.0)]
    kept, asked = settled([dancer(1, 20.0)], TIMING)
    assert kept[1] == ()
    assert [(q.count, q.kind, q.walls, q.of) for q in asked] == [(20.0, "other foot", 3, 3)]
    assert asked[0].words == "The sheet may differ from what is danced at count 20: the other foot steps there on 3 of 3 walls."


def test_alone_in_a_class_that_dances_it_as_written_it_is_the_dancers() -> None:
    kept, asked = settled([dancer(1, 20.0), dancer(2, None), dancer(3, None)], TIMING)
    assert asked == ()
    assert len(kept[1]) == 3


def test_most_of_a_class_questions_the_sheet_and_names_nobody() -> None:
    kept, asked = settled([dancer(1, 20.0), dancer(2, 20.0), dancer(3, 20.0), dancer(4, None)], TIMING)
    assert [(q.count, q.dancers) for q in asked] == [(20.0, (1, 2, 3))]
    assert not any(f.named for flags in kept.values() for f in flags)


def test_everybody_in_mirror_image_is_asked_once_and_one_alone_is_told() -> None:
    everyone = [dancer(n, None, mirror=True) for n in (1, 2)]
    kept = {n: flags for n, _, flags in everyone}
    asked, left = mirror_question(everyone, kept, TIMING)
    assert asked is not None
    assert "--mirror" in asked
    assert left == {1: (), 2: ()}
    some = [dancer(1, None, mirror=True), dancer(2, None)]
    asked, left = mirror_question(some, {n: flags for n, _, flags in some}, TIMING)
    assert asked is None
    assert [k for k, _ in kinds(left[1])] == ["danced in mirror"]
