"""Easier ways of a sheet: dancing one is right, dancing neither is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from made_steps import candidates, grid_of, landings, told

from motion.dance.easier import easier_ways, mirrored
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.unroll import unroll
from motion.music.counts import time_of
from motion.review.settings import SETTINGS
from motion.timing.match import to_match
from motion.timing.verdict import Verdict, against_dance

SHEETS = Path(__file__).resolve().parents[2] / "sample_clips"
#: A triple to each side, for which two plain steps may stand: the easier way has fewer landings.
TRIPLES = parse_sheet(
    """# title: Triples
# counts: 8
# walls: 1
count,foot,move,turn,note,option
1,R,forward
2,L,forward
3,R,side
3&,L,together,,,hold
4,R,side,,,touch or hold
5,L,forward
6,R,forward
7,L,side
7&,R,together
8,L,side
""",
    "triples.csv",
)


def danced(leave_out: set[float]) -> Verdict:
    due = tuple(unroll(TRIPLES, until_count=32.9)[i] for i in to_match(unroll(TRIPLES, until_count=32.9)))
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = [r for d, r in zip(due, landings(due, at_s), strict=True) if d.count not in leave_out]
    ways = easier_ways(TRIPLES, until_count=due[-1].count)
    return against_dance(candidates(rows), due, grid, (float(at_s[0]), float(at_s[-1])), SETTINGS.timing, untimed=None, easier=ways)


def test_as_written_stays_as_written() -> None:
    verdict = danced(set())
    assert told(verdict) == []
    assert verdict.easier == ()


def test_the_easier_way_is_right_and_where_there_is_none_it_is_missed() -> None:
    verdict = danced({11.5, 12.0})
    assert told(verdict) == []
    assert verdict.easier == ((11.5, 11.5), (12.0, 12.0))
    assert verdict.pairing
    assert verdict.pairing.missed == ()  # type: ignore[union-attr]
    assert told(danced({15.5})) == [("missed", 15.5)]


def test_a_cell_that_names_no_move_is_a_note() -> None:
    text = "# counts: 2\n# walls: 1\ncount,foot,move,turn,note,option\n1,R,forward,,,take it easy\n2,L,together\n"
    assert easier_ways(parse_sheet(text, "x.csv"), until_count=8.0) == ()


def test_a_figure_may_stand_for_a_figure() -> None:
    text = "# counts: 4\n# walls: 1\ncount,foot,move,turn,note,option\n1 to 4,R,rolling vine,,,vine\n"
    (way, *_) = easier_ways(parse_sheet(text, "x.csv"), until_count=4.0)
    assert (way.from_count, way.until_count) == (1.0, 4.0)
    assert [d.move for d in way.due][:3] == ["side", "behind", "side"]


def test_a_mirror_exchanges_feet_and_turns_and_twice_is_none() -> None:
    sheet = read_sheet(SHEETS / "lantern.csv")
    once, twice = unroll(mirrored(sheet)), unroll(mirrored(mirrored(sheet)))
    assert [d.foot for d in twice] == [d.foot for d in unroll(sheet)]
    assert all(a.foot != b.foot for a, b in zip(once, unroll(sheet), strict=True) if a.foot)
    assert all((a.facing_deg + b.facing_deg) % 360 == 0 for a, b in zip(once, unroll(sheet), strict=True))
