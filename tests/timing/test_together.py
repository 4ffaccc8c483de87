"""The class as a whole and wall against wall, on made dances with planted differences."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from motion.data import Candidates, Due, Flag
from motion.report_class import class_told, moments_told, walls_told
from motion.settings import SETTINGS
from motion.timing.consistency import wall_by_wall
from motion.timing.flags import Danced, flags_of
from motion.timing.match import match_dance
from motion.timing.places import elsewhere
from motion.timing.together import class_of

T = SETTINGS.timing
GAP_S, WALLS, COUNTS = 0.5, 3, 8
MOVES = ("side", "together", "side", "together", "forward", "together", "back", "together")
#: Where each move puts the foot against the other one: own side, forward, in leg lengths.
PLACES = {"side": (0.5, 0.0), "together": (0.22, 0.0), "forward": (0.22, 0.5), "back": (0.22, -0.5)}


def dance() -> list[Due]:
    out = []
    for n in range(WALLS * COUNTS):
        foot = "right" if n % 2 == 0 else "left"
        out.append(Due(n + 1.0, n // COUNTS + 1, n % COUNTS + 1.0, foot, MOVES[n % COUNTS], True, True, 0.0))
    return out


def danced(late_ms: dict[int, float], moved: dict[int, tuple[float, float]], left_out: frozenset[int] = frozenset()) -> Danced:
    due = dance()
    at_s = 1.0 + GAP_S * np.arange(len(due))
    kept = [i for i in range(len(due)) if i not in left_out]
    times = np.array([at_s[i] + late_ms.get(i, 0.0) / 1000 for i in kept])
    right = np.array([due[i].foot == "right" for i in kept])
    places = np.array([moved.get(i, PLACES[due[i].move]) for i in kept], dtype=float)
    places[~right, 0] *= -1
    n = len(kept)
    found = Candidates(
        times, np.full(n, 12.0), right, np.zeros(n, bool), np.full(n, 0.98), np.full(n, 0.99), places, ((0.0, at_s[-1] + 2),)
    )
    gaps = np.full(len(due), GAP_S)
    return Danced(found, due, at_s, gaps, match_dance(found, due, at_s, gaps, T), True, (at_s[0], at_s[-1]))


def people(*each: Danced) -> list[tuple[int, Danced, tuple[Flag, ...]]]:
    return [(n + 1, one, flags_of(one, T)) for n, one in enumerate(each)]


def test_a_count_that_most_lost_is_the_classes_and_nobody_is_alone() -> None:
    late = danced({12: 200.0}, {})
    said = class_of(people(late, late, late, danced({}, {})), T)
    assert said is not None
    assert [(run["count"], run["dancers"], run["of"]) for run in said["lost"]] == [(13.0, [1, 2, 3], 4)]
    assert said["alone"] == []
    assert "3 of 4" in said["watch"][0]["said"]
    assert "count 5 of wall 2" in class_told({"class": said})[0]


def test_neighbouring_lost_counts_are_one_stretch() -> None:
    late = danced({8: 190.0, 9: 190.0}, {})
    said = class_of(people(late, late), T)
    assert said is not None
    assert [(run["count"], run["until_count"]) for run in said["lost"]] == [(9.0, 10.0)]


def test_what_one_dancer_has_is_theirs_alone() -> None:
    said = class_of(people(danced({}, {}), danced({12: 200.0}, {}), danced({}, {})), T)
    assert said is not None
    assert said["lost"] == []
    assert [(one["dancer"], one["count"], one["kind"]) for one in said["alone"]] == [(2, 13.0, "late")]
    assert "dancer 2" in " ".join(class_told({"class": said}))
    assert moments_told({"class": said})


def test_one_of_two_is_not_the_class() -> None:
    said = class_of(people(danced({}, {}), danced({12: 200.0}, {})), T)
    assert said is not None
    assert said["lost"] == []


def test_how_close_together_is_the_spread_of_the_landings() -> None:
    """Three dancers 0, +30 and -30 ms off on every count, from their own usual time nothing: usual places do not count as spread."""
    steady = [danced(dict.fromkeys(range(WALLS * COUNTS), lag), {}) for lag in (0.0, 30.0, -30.0)]
    said = class_of(people(*steady), T)
    assert said is not None
    assert said["together_ms"] < 1
    odd = danced({i: 40.0 * (-1) ** (i // 2) for i in range(WALLS * COUNTS)}, {})
    loose = class_of(people(*steady, odd), T)
    assert loose is not None
    assert loose["together_ms"] > 10


def test_somebody_out_of_sight_is_not_judged() -> None:
    unseen = danced({}, {})
    unseen = replace(unseen, found=replace(unseen.found, seen=((0.0, 3.0),)), match=unseen.match)
    gone = replace(danced({}, {}, frozenset(range(10, 24))), dance_s=unseen.dance_s)
    gone = replace(gone, found=replace(gone.found, seen=((0.0, 5.0),)))
    said = class_of(people(danced({}, {}), gone), T)
    assert said is not None
    assert {c["count"]: c["judged"] for c in said["counts"]}[20.0] == 1


def test_one_dancer_is_no_class() -> None:
    assert class_of(people(danced({}, {})), T) is None
    assert class_told({}) == []


def test_the_wall_that_differs_stands_out_and_nothing_else_does() -> None:
    rows = wall_by_wall(danced({20: 160.0}, {7: (0.22, 0.6)}), T)
    apart = [(row["count"], one["wall"], one["what"]) for row in rows for one in row["differs"]]
    assert apart == [(5.0, 3, "time"), (8.0, 1, "place")]
    told = walls_told({"walls": rows})
    assert len(told) == 3
    assert "wall 3" in told[0]


def test_alike_walls_are_alike() -> None:
    rows = wall_by_wall(danced({}, {}), T)
    assert len(rows) == COUNTS
    assert not any(row["differs"] for row in rows)
    assert walls_told({"walls": rows})[0] == "Every wall that could be compared is like the others."


def test_a_foot_elsewhere_than_the_word_is_told_once() -> None:
    due = dance()
    place = np.array([PLACES[d.move] for d in due], dtype=float)
    place[[d.foot == "left" for d in due], 0] *= -1
    assert elsewhere(due, place, T) == []
    place[12] = (0.22, -0.2)  # count 5 of wall 2 goes back instead of forward
    (one,) = elsewhere(due, place, T)
    assert (one.i, one.by_sheet, one.always) == (12, True, False)
    assert 0.3 < one.far < 0.5


def test_what_every_wall_has_otherwise_questions_the_sheet() -> None:
    due = dance()
    place = np.array([PLACES[d.move] for d in due], dtype=float)
    place[[d.foot == "left" for d in due], 0] *= -1
    place[[4, 12, 20]] = (0.22, -0.2)
    assert all(one.always for one in elsewhere(due, place, T))


def test_while_the_body_turns_places_are_not_judged() -> None:
    due = [replace(d, turn_deg=90.0) if d.count == 13 else d for d in dance()]
    place = np.array([PLACES[d.move] for d in due], dtype=float)
    place[[d.foot == "left" for d in due], 0] *= -1
    place[12] = (0.22, -0.5)
    assert elsewhere(due, place, T) == []
