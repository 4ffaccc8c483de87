"""A restart that the sheet does not have: found where the clip has one, ruled out where it has none, and else left open."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from made import made_review
from made_dances import GAP_S, T, angles, danced

from motion.base.types import DanceSheet, Restart, SheetRow
from motion.dance.unroll import unroll
from motion.store.serialize import plain, review_json
from motion.tell.release import Line, release_lines
from motion.timing.consistency import wall_by_wall
from motion.timing.flags import Danced, flags_of
from motion.timing.match import match_dance
from motion.timing.sheet_agreement import against_sheet

#: Sixteen counts, right foot first. By the feet: the second half holds on its counts 2 and 6. By the places: side steps, then forward
#: and back. By the facing: all together, with a quarter turn at the end.
FEET = [*("together",) * 8, "together", "hold", "together", "together", "together", "hold", "together", "together"]
PLACES = ["side", "together"] * 4 + ["forward", "together", "back", "together"] * 2
MIRRORED = ["together", "side"] * 4 + ["together", "forward", "together", "back"] * 2  # where the left foot goes
ALIKE = ["together"] * 16


def sheet(moves: list[str], quarter_deg: float = 0.0, **more: Any) -> DanceSheet:
    rows, right = [], True
    for n, move in enumerate(moves):
        last = n == len(moves) - 1
        rows.append(SheetRow(n + 1.0, None if move == "hold" else "right" if right else "left", move, row=n + 1,
                             turn_deg=quarter_deg if last else 0.0))  # fmt: skip
        right ^= move != "hold"
    return DanceSheet("Made", len(moves), 4 if quarter_deg else 1, tuple(rows), **more)


def filmed(written: DanceSheet, as_danced: DanceSheet, *, counts: int = 64, hidden: bool = False, **stumble: Any) -> dict[str, Any]:
    """A clip in which one dance is danced and another is written; count 1 at 4.4 s, 120 counts a minute."""
    whole = replace(made_review(1, counts, bpm=120.0, wall_counts=16, seed=2), dance=written)
    made = review_json(whole)
    true = danced([d for d in unroll(as_danced, until_count=counts) if d.foot], **stumble)
    due = [d for d in unroll(written, until_count=counts) if d.foot]
    at_s, gaps = 1.0 + GAP_S * (np.array([d.count for d in due]) - 1), np.full(len(due), GAP_S)
    one = Danced(true.found, due, at_s, gaps, match_dance(true.found, due, at_s, gaps, T), True, (at_s[0], at_s[-1]))
    block = made["dancers"][0]
    block["timing"]["bias_ms"] = stumble.get("lag_ms", 0.0)
    counts_of = {int(s): d.count for s, d in zip(one.match.step, due, strict=True) if s >= 0}
    block["steps"] = [
        {
            "time_s": float(t) + 3.4,
            "foot": "right" if right else "left",
            "kind": "step",
            "sigma_ms": 12.0,
            "count": counts_of.get(n),
            "offset_ms": 0.0,
        }
        for n, (t, right) in enumerate(zip(true.found.times_s, true.found.right, strict=True))
    ]
    block["walls"] = plain(wall_by_wall(one, angles(true), T))
    block["sheet"] = plain(against_sheet(one, flags_of(one, T), written, T))
    if hidden:
        block["steps"] = [s for s in block["steps"] if s["count"] in (1.0, 2.0, 64.0)]
        block["walls"] = []
    return made


def restarts(made: dict[str, Any]) -> Line:
    return next(line for line in release_lines(made, made["dancers"][0]) if line.name == "Restarts and tags")


@pytest.mark.parametrize(
    ("written", "until"),
    [(sheet(FEET), "count 8 of wall 4"), (sheet(PLACES), "count 12 of wall 3"), (sheet(FEET, 90.0), "count 8 of wall 4")],
    ids=["feet", "places", "feet and facing"],
)
def test_a_clip_without_a_restart_agrees_as_far_as_it_could_show(written: DanceSheet, until: str) -> None:
    """64 counts are four walls. In the last section a restart could not show; by the places, which tell on two counts of a section at
    most, not after count 4 of wall 4 either: forward and back would come twice, and four counts are asked."""
    line = restarts(filmed(written, written))
    assert (line.verdict, line.words) == ("agrees", f"The sheet has none. No other restart was danced up to {until}.")


@pytest.mark.parametrize(
    "written",
    [sheet(FEET), sheet(PLACES), sheet(MIRRORED), sheet(ALIKE, 90.0)],
    ids=["feet", "places", "left foot's places", "facing"],
)
@pytest.mark.parametrize(("wall", "after"), [(2, 8), (1, 8), (2, 12)])
def test_a_restart_that_the_sheet_does_not_have_differs_and_plays(written: DanceSheet, wall: int, after: int) -> None:
    line = restarts(filmed(written, replace(written, restarts=(Restart(wall, after),))))
    assert line.verdict == "differs"
    assert f"After count {after} of wall {wall} the dance begins anew" in line.words
    (play,) = line.play
    assert play.time_s == pytest.approx(4.4 + GAP_S * (16 * (wall - 1) + after), abs=0.01)


def test_one_restart_more_than_written_is_found_too() -> None:
    written = sheet(FEET, restarts=(Restart(1, 8),))
    assert restarts(filmed(written, written)).words.startswith("All 1 were danced as written. No other restart")
    line = restarts(filmed(written, replace(written, restarts=(Restart(1, 8), Restart(3, 8)))))
    assert (line.verdict, "count 8 of wall 3" in line.words) == ("differs", True)


def test_a_dance_that_is_the_same_throughout_tells_nothing() -> None:
    written = sheet(ALIKE)
    for as_danced in (written, replace(written, restarts=(Restart(2, 8),))):
        line = restarts(filmed(written, as_danced))
        assert line.verdict == "cannot tell"
        assert "too much like those at the beginning" in line.words
        assert line.play == ()


def test_what_was_not_seen_is_not_ruled_out() -> None:
    line = restarts(filmed(sheet(FEET), sheet(FEET), hidden=True))
    assert (line.verdict, "too little was seen" in line.words) == ("cannot tell", True)
    made = filmed(sheet(FEET), sheet(FEET))
    made["beats"]["first_count_s"] = None
    assert restarts(made).verdict == "cannot tell"


@pytest.mark.parametrize("written", [sheet(FEET, 90.0), sheet(PLACES, 90.0)])
def test_a_stumble_is_no_restart(written: DanceSheet) -> None:
    """Four landings with the other foot, or none for a section, in the middle of a wall."""
    for stumble in ({"other_foot": frozenset({20, 21, 22, 23})}, {"left_out": frozenset(range(24, 30))}):
        assert restarts(filmed(written, written, **stumble)).verdict != "differs"


@pytest.mark.parametrize("seed", range(6))
def test_feet_at_random_are_no_restart(seed: int) -> None:
    """From count 24 on either foot is as likely as the other: some place or other fits that a little better than the sheet does."""
    chance = np.random.default_rng(seed)
    other = frozenset(int(i) for i in range(20, 90) if chance.random() < 0.5)
    assert restarts(filmed(sheet(FEET), sheet(FEET), counts=96, other_foot=other)).verdict == "cannot tell"


def test_a_few_landings_with_the_other_foot_at_the_end_are_no_restart() -> None:
    """From count 59 on, the last five landings fit what would come after a restart on count 52; five are too few to say so."""
    line = restarts(filmed(sheet(FEET), sheet(FEET), other_foot=frozenset(range(51, 56))))
    assert line.verdict == "cannot tell"


def test_whoever_is_behind_the_beat_throughout_is_held_against_their_own_time() -> None:
    assert restarts(filmed(sheet(FEET), sheet(FEET), lag_ms=180.0)).verdict == "agrees"


@pytest.mark.parametrize(("off_counts", "verdict"), [(0.25, "agrees"), (0.35, "cannot tell")])
def test_a_landing_belongs_to_a_count_that_is_near(off_counts: float, verdict: str) -> None:
    made = filmed(sheet(FEET), sheet(FEET))
    for n, step in enumerate(made["dancers"][0]["steps"]):
        step["time_s"] += (-1) ** n * off_counts * GAP_S
    assert restarts(made).verdict == verdict
