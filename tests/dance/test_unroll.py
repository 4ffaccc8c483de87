"""The whole dance in a row: running counts, walls, restarts, tags and facings."""

from __future__ import annotations

from pathlib import Path

import pytest

from motion.base.errors import BadInput, SheetError
from motion.base.types import DanceSheet
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.unroll import clock, intro_counts, turn_deg_until, unroll, wall_starts

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"


def walks(counts: int, *, turn: str, on: int, header: str = "", walls: int = 4, rows: str = "") -> DanceSheet:
    """A dance of walks with one turn on one count."""
    steps = "".join(f"{n},{'RL'[(n + 1) % 2]},forward,{turn if n == on else ''}\n" for n in range(1, counts + 1))
    return parse_sheet(
        f"# title: Walks\n# counts: {counts}\n# walls: {walls}\n{header}count,foot,move,turn\n{steps}{rows}", "walks"
    )


def test_the_worked_restart_example() -> None:
    """Worked by hand: 120 BPM, 16 counts of intro, 32 counts with a quarter left in the last eight, restart in wall 3 after 16."""
    sheet = walks(32, turn="1/4 L", on=29, header="# intro: 16 counts\n# restart: wall 3 after 16\n")
    starts = wall_starts(sheet, 120.0, walls=4, intro_counts=intro_counts(sheet) or 0)
    assert [start.count for start in starts] == [1, 33, 65, 81]
    assert [start.time_s for start in starts] == [8.0, 24.0, 40.0, 48.0]
    assert [start.clock for start in starts] == ["12:00", "9:00", "6:00", "6:00"]
    events = unroll(sheet, walls=4)
    assert [next(e.count for e in events if e.wall == wall) for wall in (1, 2, 3, 4)] == [1, 33, 65, 81]
    assert sum(e.wall == 3 for e in events) == 16
    assert events[-1].count == 112
    assert events[-1].facing_deg == 90.0  # 3:00: three quarters to the left were reached


@pytest.mark.parametrize(
    ("turn", "walls", "facings"),
    [
        ("1/4 L", 4, ["12:00", "9:00", "6:00", "3:00", "12:00"]),
        ("1/4 R", 4, ["12:00", "3:00", "6:00", "9:00", "12:00"]),
        ("1/2 R", 2, ["12:00", "6:00", "12:00", "6:00", "12:00"]),
        ("", 1, ["12:00"] * 5),
    ],
)
def test_facings_of_the_walls(turn: str, walls: int, facings: list[str]) -> None:
    """12:00 plus three hours a quarter to the right, for every wall."""
    starts = wall_starts(walks(8, turn=turn, on=8, walls=walls), 100.0, walls=5)
    assert [start.clock for start in starts] == facings
    assert [start.time_s for start in starts] == pytest.approx([0.0, 4.8, 9.6, 14.4, 19.2])


def test_clock() -> None:
    assert [clock(deg) for deg in (0, 45, 90, -90, 180, 360, 315)] == ["12:00", "1:30", "3:00", "9:00", "6:00", "12:00", "10:30"]


def test_half_counts_run_on_as_they_are_written() -> None:
    sheet = parse_sheet(
        "# counts: 4\n# walls: 1\n1,R,side,\n1&,L,together,\n2,R,side,\n3,L,side,\n3a,R,together,\n4,L,side,\n", "t"
    )
    counts = [due.count for due in unroll(sheet, walls=2)]
    assert counts == pytest.approx([1, 1.5, 2, 3, 3 + 2 / 3, 4, 5, 5.5, 6, 7, 7 + 2 / 3, 8])


def test_a_half_count_belongs_to_the_count_before_it_where_a_wall_is_cut() -> None:
    rows = "1,R,side,\n2,L,side,\n2&,R,together,\n3,L,side,\n4,R,touch,\n"
    sheet = parse_sheet("# counts: 4\n# walls: 1\n# restart: wall 1 after 2\n" + rows, "t")
    assert [due.count for due in unroll(sheet, walls=2)] == [1, 2, 2.5, 3, 4, 4.5, 5, 6]


def test_events_carry_what_the_moves_do() -> None:
    events = unroll(read_sheet(SAMPLES / "shingle.csv"), walls=1)
    by_count = {due.count: due for due in events}
    assert (by_count[2.0].lands, by_count[2.0].takes_weight) == (False, True)  # recover
    assert (by_count[20.0].lands, by_count[20.0].takes_weight) == (True, False)  # touch
    assert (by_count[3.5].lands, by_count[3.5].takes_weight, by_count[3.5].foot) == (True, True, "left")
    assert (by_count[18.0].turn_deg, by_count[18.0].facing_deg, by_count[17.0].facing_deg) == (-180.0, 180.0, 0.0)


def test_tags_come_after_their_count_and_the_dance_goes_on() -> None:
    end = walks(8, turn="1/4 R", on=8, rows="# tag: wall 2 after 8\ntag 1,R,sway,\ntag 2,L,sway,1/2 R\n")
    events = unroll(end, walls=3)
    assert [e.count for e in events] == list(range(1, 27))
    assert [(e.wall, e.count_in_wall, e.move) for e in events[16:18]] == [(2, 1, "sway"), (2, 2, "sway")]
    assert [start.clock for start in wall_starts(end, 120.0, walls=3)] == ["12:00", "3:00", "12:00"]
    assert [start.count for start in wall_starts(end, 120.0, walls=3)] == [1, 9, 19]
    middle = walks(8, turn="1/4 R", on=8, rows="# tag: wall 1 after 4\ntag 1,R,sway,\ntag 2,L,sway,\n")
    events = unroll(middle, walls=1)
    assert [(e.count, e.count_in_wall, e.move) for e in events[3:8]] == [
        (4, 4, "forward"), (5, 1, "sway"), (6, 2, "sway"), (7, 5, "forward"), (8, 6, "forward"),
    ]  # fmt: skip


def test_a_tag_where_the_wall_is_cut_comes_before_the_restart() -> None:
    sheet = walks(
        8, turn="1/4 R", on=8, header="# restart: wall 1 after 4\n", rows="# tag: wall 1 after 4, 4 counts\ntag 1,R,sway,\n"
    )
    assert [(e.count, e.wall) for e in unroll(sheet, walls=2)][3:6] == [(4, 1), (5, 1), (9, 2)]


def test_a_restart_may_replace_its_last_counts() -> None:
    sheet = walks(8, turn="1/4 R", on=8, rows="# restart: wall 1 after 4\nrestart 4,L,touch,1/2 L\n")
    events = unroll(sheet, walls=2)
    assert [(e.move, e.turn_deg) for e in events[2:5]] == [("forward", 0.0), ("touch", -180.0), ("forward", 0.0)]
    assert turn_deg_until(sheet, 1, 4) == 180.0


def test_parts_follow_their_order() -> None:
    sheet = read_sheet(SAMPLES / "paper-lighthouse.csv")
    starts = wall_starts(sheet, 122.0, walls=5)
    assert [start.count for start in starts] == [1, 17, 25, 41, 57]  # A 16, B 8, A 16, A 16, B 8
    assert unroll(sheet)[-1].count == 64


def test_where_it_ends() -> None:
    sheet = walks(8, turn="1/4 R", on=8)
    assert unroll(sheet)[-1].count == 32  # once through all four walls
    assert unroll(sheet, until_count=20.0)[-1].count == 20
    assert unroll(sheet, until_count=20.0, walls=1)[-1].count == 8
    assert unroll(walks(8, turn="1/4 R", on=8, header="# restart: wall 6 after 4\n"))[-1].count == 44
    assert unroll(sheet, until_count=0.0) == ()


def test_a_clip_that_begins_with_a_later_wall() -> None:
    sheet = walks(8, turn="1/4 R", on=8, header="# restart: wall 3 after 4\n")
    events = unroll(sheet, walls=2, starting_wall=3)
    assert (events[0].count, events[0].wall, events[0].facing_deg) == (1, 3, 180.0)
    assert [(e.count, e.wall) for e in events[3:6]] == [(4, 3), (5, 4), (6, 4)]
    assert events[-1].count == 12


def test_what_cannot_be_unrolled() -> None:
    sheet = walks(8, turn="", on=8, walls=1)
    for walls, starting_wall in ((0, 1), (1, 0), (10**9, 1)):
        with pytest.raises(BadInput, match="must lie in 1 to 2000"):
            unroll(sheet, walls=walls, starting_wall=starting_wall)
    with pytest.raises(BadInput, match="BPM"):
        wall_starts(sheet, 0.0, walls=1)
    with pytest.raises(SheetError, match="Row 3: the figure vine does not fit"):
        unroll(parse_sheet("# counts: 8\n# walls: 1\n1 to 8,R,vine,\n", "t"))


def test_counts_of_the_intro() -> None:
    for written, counts in (("16 counts", 16), ("32", 32), ("on the vocals", None), ("", None)):
        assert intro_counts(walks(8, turn="", on=8, walls=1, header=f"# intro: {written}\n")) == counts
