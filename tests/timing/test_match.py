"""Which landing was meant for which count, on landings made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_steps import FIRST_S, candidates, events, grid_of, landings, marking_time, sheet_named

from motion.base.types import Candidates, Due, Floats
from motion.music.counts import time_of
from motion.review.settings import SETTINGS
from motion.timing.match import WAYS, Match, match_dance, to_match

DANCES = ["porchlight", "lantern", "gravel", "shingle", "millpond", "hedgerow", "tin-umbrella"]


def laid(name: str, until: float = 64.0) -> tuple[tuple[Due, ...], Floats, Floats]:
    sheet = sheet_named(name)
    due = events(sheet, until)
    counts = np.array([d.count for d in due])
    return due, time_of(grid_of(due, per_bar=sheet.beats_per_bar), counts), np.full(len(due), 0.5)


def matched(found: Candidates, laid_out: tuple[tuple[Due, ...], Floats, Floats]) -> Match:
    return match_dance(found, *laid_out, SETTINGS.timing)


@pytest.mark.parametrize("name", DANCES)
def test_a_clean_dance_is_matched_one_to_one(name: str) -> None:
    due, at_s, gap_s = laid(name)
    match = matched(candidates(landings(due, at_s)), (due, at_s, gap_s))
    assert match.step.tolist() == list(range(len(due)))
    assert not match.way.any()
    assert abs(match.lag_ms) < 10
    assert np.nanmax(np.abs(match.offset_ms)) < 60


def test_holds_and_kicks_are_not_looked_for() -> None:
    due = events(sheet_named("tin-umbrella"))
    assert to_match(due) == list(range(len(due)))
    assert all(d.lands or d.takes_weight for d in due)


@pytest.mark.parametrize("lag_ms", [-90.0, -40.0, 60.0, 110.0])
def test_a_steady_lead_or_lag_changes_no_match(lag_ms: float) -> None:
    due, at_s, gap_s = laid("lantern")
    match = matched(candidates(landings(due, at_s + lag_ms / 1000)), (due, at_s, gap_s))
    assert match.step.tolist() == list(range(len(due)))
    assert match.lag_ms == pytest.approx(lag_ms, abs=8)
    assert not match.way.any()


def test_shifting_all_times_changes_nothing() -> None:
    due, at_s, gap_s = laid("porchlight")
    rows = landings(due, at_s)
    del rows[11], rows[20]
    rows[30] = (rows[30][0] + 0.2, *rows[30][1:])
    plain = matched(candidates(rows), (due, at_s, gap_s))
    later = matched(candidates([(t + 17.0, *rest) for t, *rest in rows]), (due, at_s + 17.0, gap_s))  # type: ignore[misc]
    assert plain.step.tolist() == later.step.tolist()
    assert plain.way.tolist() == later.way.tolist()
    np.testing.assert_allclose(plain.offset_ms, later.offset_ms, atol=1e-6)
    assert plain.score == pytest.approx(later.score)


def test_a_mirror_of_dance_and_dancer_is_the_same_match() -> None:
    due, at_s, gap_s = laid("porchlight")
    rows = landings(due, at_s)
    rows[9] = (rows[9][0], not rows[9][1], *rows[9][2:])
    del rows[20]
    turned = tuple(
        Due(
            d.count,
            d.wall,
            d.count_in_wall,
            "left" if d.foot == "right" else "right",
            d.move,
            d.lands,
            d.takes_weight,
            d.facing_deg,
        )
        for d in due
    )
    plain = matched(candidates(rows), (due, at_s, gap_s))
    mirrored = matched(candidates([(t, not right, *rest) for t, right, *rest in rows]), (turned, at_s, gap_s))  # type: ignore[misc]
    assert plain.step.tolist() == mirrored.step.tolist()
    assert plain.score == pytest.approx(mirrored.score)


def test_a_landing_that_is_not_there_is_not_matched() -> None:
    due, at_s, gap_s = laid("porchlight")
    rows = landings(due, at_s)
    del rows[17]
    match = matched(candidates(rows), (due, at_s, gap_s))
    assert match.step[17] == -1
    assert np.isnan(match.offset_ms[17])
    assert (np.delete(match.step, 17) >= 0).all()


def test_an_extra_landing_takes_nobodys_place() -> None:
    due, at_s, gap_s = laid("porchlight")
    rows = landings(due, at_s)
    extra = (float(at_s[20]) + 0.25, rows[20][1], False, 0.95, 0.9)
    match = matched(candidates([*rows, extra]), (due, at_s, gap_s))
    at = sorted([*rows, extra]).index(extra)
    assert at not in match.step.tolist()
    assert (match.step >= 0).all()


def test_faint_ghosts_between_the_counts_are_passed_over() -> None:
    due, at_s, gap_s = laid("lantern")
    rows = landings(due, at_s)
    chance = np.random.default_rng(8)
    ghosts = [(float(t), bool(chance.random() < 0.5), False, float(chance.uniform(0.08, 0.3)), 0.5)
              for t in chance.uniform(at_s[0], at_s[-1], len(rows) // 2)]  # fmt: skip
    found = candidates([*rows, *ghosts])
    match = matched(found, (due, at_s, gap_s))
    kept = found.strength[match.step[match.step >= 0]]
    assert (kept >= 0.8).mean() > 0.97
    assert (match.step >= 0).mean() > 0.97


def test_a_stretch_in_mirror_image_is_one_stretch() -> None:
    due, at_s, gap_s = laid("porchlight")
    rows = [(t, right ^ (20 <= i < 40), *rest) for i, (t, right, *rest) in enumerate(landings(due, at_s))]
    match = matched(candidates(rows), (due, at_s, gap_s))  # type: ignore[arg-type]
    mirror = np.array([WAYS[w][0] for w in match.way])
    assert mirror[23:37].all()
    assert not mirror[:17].any()
    assert not mirror[43:].any()


@pytest.mark.parametrize("behind", [1, -1])
def test_a_whole_count_off_is_told_from_late_steps(behind: int) -> None:
    due, at_s, gap_s = laid("lantern")
    rows = landings(due, at_s)
    a, b = 24, 46
    moved = [(t + behind * 0.5 * (a <= i < b), *rest) for i, (t, *rest) in enumerate(rows)]
    kept = [r for i, r in enumerate(moved) if not (behind > 0 and i in (b, b + 1)) and not (behind < 0 and i in (a - 1, a - 2))]
    match = matched(candidates(kept), (due, at_s, gap_s))  # type: ignore[arg-type]
    ways = np.array([WAYS[w][1] for w in match.way])
    assert (ways[a + 4 : b - 4] == behind).all()
    assert not ways[:18].any()
    held = (match.step >= 0) & (ways == behind)
    assert np.nanmedian(np.abs(match.offset_ms[held])) < 30


def test_marking_time_a_count_late_is_not_taken_for_anything_else() -> None:
    """A dance of equal steps a count late lands on the other foot's counts: the feet tell."""
    due = events(marking_time())
    at_s = time_of(grid_of(due), np.array([d.count for d in due]))
    match = match_dance(candidates(landings(due, at_s + 0.5)), due, at_s, np.full(len(due), 0.5), SETTINGS.timing)
    assert {WAYS[w] for w in match.way[4:-4]} == {(False, 1)}


def test_no_landings_at_all() -> None:
    due, at_s, gap_s = laid("porchlight")
    nobody = Candidates(*(np.zeros(0) for _ in range(2)), *(np.zeros(0, bool) for _ in range(2)), np.zeros(0), np.zeros(0),
                        np.zeros((0, 2)), ((0.0, 40.0),))  # fmt: skip
    match = matched(nobody, (due, at_s, gap_s))
    assert (match.step == -1).all()
    assert match.lag_ms == 0.0


def test_landings_beyond_reach_serve_no_count() -> None:
    due, at_s, gap_s = laid("porchlight", until=8.0)
    rows = [(t - FIRST_S - 20.0, *rest) for t, *rest in landings(due, at_s)]
    match = matched(candidates(rows), (due, at_s, gap_s))  # type: ignore[arg-type]
    assert (match.step == -1).all()


@pytest.mark.parametrize("placed", [True, False])
def test_where_the_feet_go_tells_mirror_image_from_a_count_behind(placed: bool) -> None:
    """Vine right in mirror image, after a step of the left foot: by feet alone, left, right, left might also be one count late.

    The step before is faint, so only the places decide: the left foot goes to its side, the right one behind, the left to its side.
    """
    due, at_s, gap_s = laid("porchlight")
    first = next(i for i, d in enumerate(due) if d.count == 33.0)
    rows = landings(due, at_s, spread_ms=2.0)
    for i in range(first, first + 4):
        rows[i] = (rows[i][0], not rows[i][1], *rows[i][2:])
    rows[first - 1] = (*rows[first - 1][:3], 0.05, rows[first - 1][4])
    rows[first + 3] = (*rows[first + 3][:3], 0.05, rows[first + 3][4])
    found = candidates(rows)
    words = {"side": (0.5, 0.0), "behind": (-0.1, -0.3), "together": (0.2, 0.0), "forward": (0.2, 0.4), "back": (0.2, -0.4)}
    own = np.array([words.get(d.move, (np.nan, np.nan)) for d in due])
    place = own * np.where(found.right, 1.0, -1.0)[:, None] ** np.array([[1, 0]])
    match = matched(replace(found, place=place) if placed else found, (due, at_s, gap_s))
    assert all(WAYS[w] == (True, 0) for w in match.way[first : first + 3]) == placed
