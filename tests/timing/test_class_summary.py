"""The class as a whole and wall against wall, on made dances with planted differences."""

from __future__ import annotations

from dataclasses import replace

import made_dances
import numpy as np
import pytest
from made_dances import COUNTS, PLACES, T, dance

from motion.base.types import Flag, NotMeasured
from motion.tell.class_words import class_told, moments_told, together_rows, walls_told
from motion.timing.class_summary import class_of
from motion.timing.consistency import wall_by_wall
from motion.timing.flags import Danced, flags_of
from motion.timing.foot_placement import elsewhere

UNSEEN = NotMeasured("angles", "the made dancers have no joints")
WALLS = 3


def danced(late_ms: dict[int, float], moved: dict[int, tuple[float, float]], left_out: frozenset[int] = frozenset()) -> Danced:
    return made_dances.danced(dance(WALLS), late_ms, moved=moved, left_out=left_out)


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
    rows = wall_by_wall(danced({20: 160.0}, {7: (0.22, 0.6)}), UNSEEN, T)
    apart = [(row["count"], one["wall"], one["what"]) for row in rows for one in row["differs"]]
    assert apart == [(5.0, 3, "time"), (8.0, 1, "place")]
    told = walls_told({"walls": rows})
    assert len(told) == 3
    assert "wall 3" in told[0]


def test_alike_walls_are_alike() -> None:
    rows = wall_by_wall(danced({}, {}), UNSEEN, T)
    assert len(rows) == COUNTS
    assert not any(row["differs"] for row in rows)
    assert walls_told({"walls": rows})[0] == "Every wall that could be compared is like the others."


def test_a_foot_elsewhere_than_the_word_is_told_once() -> None:
    due = dance(WALLS)
    place = np.array([PLACES[d.move] for d in due], dtype=float)
    place[[d.foot == "left" for d in due], 0] *= -1
    assert elsewhere(due, place, T) == []
    place[12] = (0.22, -0.2)  # count 5 of wall 2 goes back instead of forward
    (one,) = elsewhere(due, place, T)
    assert (one.i, one.by_sheet, one.always) == (12, True, False)
    assert 0.3 < one.far < 0.5


def test_what_every_wall_has_otherwise_questions_the_sheet() -> None:
    due = dance(WALLS)
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


def test_the_spread_of_a_count_is_told_with_its_interval() -> None:
    steady = [danced(dict.fromkeys(range(4, 24), 0.0) | {3: late}, {}) for late in (-20.0, 0.0, 20.0)]
    said = class_of(people(*steady), T)
    assert said is not None
    row = said["counts"][3]
    assert (row["count_in_wall"], row["landings"]) == (4.0, 3)
    assert row["spread_ms"] == pytest.approx(20.0, abs=0.5)
    # chi squared with 2 degrees of freedom (Zar's table): 7.378 and 0.0506
    assert row["spread_interval_ms"] == pytest.approx([20 * (2 / 7.378) ** 0.5, 20 * (2 / 0.0506) ** 0.5], rel=0.03)
    rows = together_rows({"class": said})
    assert rows[3]["Count"] == "count 4 of wall 1"
    assert rows[3]["Apart"] == f"{row['spread_ms']:.0f} ms"
    assert together_rows({}) == []


def test_no_more_dancers_lose_a_stretch_than_were_judged() -> None:
    early, later = danced({8: 190.0}, {}), danced({9: 190.0}, {})
    unseen = danced({}, {}, frozenset({8}))
    unseen = replace(unseen, found=replace(unseen.found, seen=((0.0, 4.9), (5.2, 14.0))))
    said = class_of(people(early, early, later, later, unseen), T)
    assert said is not None
    assert [(run["dancers"], run["of"]) for run in said["lost"]] == [([1, 2, 3, 4], 5)]


def test_moments_to_watch_are_the_classes_or_sure_and_can_be_played() -> None:
    lost, alone = danced({12: 200.0}, {}), danced({2: 200.0, 12: 200.0}, {})
    doubtful = [replace(f, named=False) for f in flags_of(danced({20: 200.0}, {}), T)]
    said = class_of([*people(lost, alone), (3, danced({20: 200.0}, {}), tuple(doubtful))], T)
    assert said is not None
    assert [(m["count"], m["until_count"], m["dancers"]) for m in said["watch"]] == [(3.0, None, [2]), (13.0, 13.0, [1, 2])]
    assert len(said["watch"]) <= T.watch_moments


def test_what_lies_within_a_larger_finding_of_the_same_dancer_is_not_told_beside_it() -> None:
    behind = Flag("count behind", 9.0, 24.0, 5.0, 12.0, "steps", 0.9, True, "From count 1 of wall 2 ... a whole count later.")
    within = Flag("missed", 22.0, None, 11.5, None, None, 0.99, True, "No landing.")  # far enough from its start to be a moment too
    before = Flag("missed", 3.0, None, 2.0, None, None, 0.85, True, "No landing.")
    other = people(danced({}, {}))[0]
    said = class_of([other, (2, danced({}, {}), (before, behind, within))], T)
    assert said is not None
    assert [(one["count"], one["until_count"]) for one in said["alone"]] == [(3.0, None), (9.0, 24.0)]
    wide = replace(behind, sure=1.0)
    said = class_of([other, (2, danced({}, {}), (before, wide, within))], T)
    assert said is not None
    assert [m["count"] for m in said["watch"]] == [9.0]  # count 3 lies less than watch_apart_s before it, count 22 within it


@pytest.mark.parametrize(
    ("dancers", "together_ms", "beats", "said"),
    [
        (2, None, {}, "because it needs at least three dancers, and two could be judged."),
        (4, None, {}, "because it needs at least three dancers in sight on the same count."),
        (2, None, {"not_measured": "the clip has no sound"}, "because the beat is not known."),
        (4, 30.0, {"tempo_bpm": 120.0}, "within about a twentieth of a count"),
    ],
)
def test_how_close_together_says_how_many_it_takes_or_that_there_is_no_beat(
    dancers: int, together_ms: float | None, beats: dict[str, object], said: str
) -> None:
    assert T.spread_dancers == 3
    block = {"dancers": dancers, "together_ms": together_ms, "counts": [], "lost": [], "alone": [], "watch": []}
    (told,) = (line for line in class_told({"class": block, "beats": beats}) if line.startswith("How close together"))
    assert said in told


def test_a_version_of_ones_own_is_named_as_not_counted_among_the_class() -> None:
    said = class_of(people(danced({}, {}), danced({}, {})), T)
    dancers = [{"id": n, "label": label, "own_version": n > 2} for n, label in ((1, None), (2, None), (3, "Sun"), (4, None))]
    assert "Dancers 3 · Sun and 4 dance versions of their own, and are not counted here." in class_told(
        {"class": said, "dancers": dancers}
    )
    told = class_told({"class": said, "dancers": dancers[:3]})
    assert "Dancer 3 · Sun dances a version of their own, and is not counted here." in told
    assert not any("own" in line.replace("class's own", "") for line in class_told({"class": said, "dancers": dancers[:2]}))
