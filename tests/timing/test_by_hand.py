"""Single decisions of matching, findings, timing and count 1, each on the smallest made case in which it alone decides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from made_steps import BPM, FIRST_S, Landing, candidates, events, grid_of, judged, landings, marking_time, sheet_named, told

from motion.base.types import Candidates, Due, Floats, Timing
from motion.music.counts import steady_grid, time_of
from motion.review.settings import SETTINGS
from motion.timing.anchor import Anchor, anchored
from motion.timing.flags import Danced, flags_of
from motion.timing.match import Match, match_dance, match_gain
from motion.timing.offbeat import drift
from motion.timing.summary import timing_of
from motion.timing.verdict import against_beats

TIMING = SETTINGS.timing
Spoil = Callable[[list[Landing], tuple[Due, ...], Floats], list[Landing]]


def laid(due: tuple[Due, ...], gap_s: float = 0.5) -> tuple[Floats, Floats]:
    return FIRST_S + gap_s * np.array([d.count - 1 for d in due]), np.full(len(due), gap_s)


def at_count(due: tuple[Due, ...], count: float) -> int:
    return next(i for i, d in enumerate(due) if d.count == count)


# --- matching


@pytest.mark.parametrize(("count", "kept"), [(3.0, 0.95), (4.0, 0.05)])  # a step; a touch
def test_of_two_landings_equally_near_the_one_with_the_right_weight_is_meant(count: float, kept: float) -> None:
    due = events(sheet_named("porchlight"), 16.0)
    at_s, gap_s = laid(due)
    rows = landings(due, at_s, spread_ms=0.0)
    i = at_count(due, count)
    for weights in ((0.95, 0.05), (0.05, 0.95)):
        two = [(float(at_s[i]) + by, due[i].foot == "right", False, 0.9, w) for by, w in zip((-0.05, 0.05), weights, strict=True)]
        found = candidates([*rows[:i], *two, *rows[i + 1 :]])
        match = match_dance(found, due, at_s, gap_s, TIMING)
        assert found.weight[match.step[i]] == kept


def test_a_landing_is_meant_rather_than_weight_that_only_moves() -> None:
    due = events(marking_time(), 16.0)
    at_s, gap_s = laid(due)
    rows = landings(due, at_s, spread_ms=0.0)
    moved, landed = (float(at_s[6]), True, True, 0.9, 0.9), (float(at_s[6]) + 0.08, True, False, 0.55, 0.9)
    found = candidates([*rows[:6], moved, landed, *rows[7:]])
    match = match_dance(found, due, at_s, gap_s, TIMING)
    assert not found.shift[match.step[6]]


def test_in_fast_music_a_landing_near_the_next_count_is_not_meant_for_this_one() -> None:
    """At 200 BPM a count lasts 300 ms: 285 ms late is no longer this count."""
    due = events(marking_time(), 24.0)
    at_s, gap_s = laid(due, 0.3)
    rows = landings(due, at_s, spread_ms=0.0)
    rows[8] = (float(at_s[8]) + 0.285, *rows[8][1:])
    match = match_dance(candidates(rows), due, at_s, gap_s, TIMING)
    assert match.step[8] == -1


def test_places_do_not_speak_while_the_body_turns() -> None:
    due = events(sheet_named("porchlight"), 32.0)
    at_s, gap_s = laid(due)
    found = candidates(landings(due, at_s))
    i = at_count(due, 31.0)
    assert due[i].turn_deg == 90.0
    place = np.full((len(due), 2), np.nan)
    place[i] = (-0.4, 0.0)  # a side step to the right that went to the left
    wrong, unknown = (
        match_gain(replace(found, place=p), due, at_s, gap_s, TIMING).score for p in (place, np.full_like(place, np.nan))
    )
    assert wrong == pytest.approx(unknown)
    straight = tuple(replace(d, turn_deg=0.0) for d in due)
    wrong, unknown = (
        match_gain(replace(found, place=p), straight, at_s, gap_s, TIMING).score for p in (place, np.full_like(place, np.nan))
    )
    assert wrong < unknown - 0.5


# --- findings


def danced(found: Candidates, due: tuple[Due, ...], step: list[int], way: list[int], **more: object) -> Danced:
    at_s, gap_s = laid(due)
    offset = np.array([1000 * (found.times_s[s] - t) if s >= 0 else np.nan for s, t in zip(step, at_s, strict=True)])
    match = Match(np.array(step), np.array(way), offset, 0.0, 0.0)
    return Danced(found, due, at_s, gap_s, match, True, (float(at_s[0]), float(at_s[-1])), **more)  # type: ignore[arg-type]


def kinds(one: Danced) -> list[str]:
    return [f.kind for f in flags_of(one, TIMING)]


@pytest.mark.parametrize(("many", "said"), [(1, []), (2, ["danced in mirror"])])
def test_one_step_makes_no_stretch_in_mirror_image(many: int, said: list[str]) -> None:
    due = events(marking_time(), 16.0)
    rows = landings(due, laid(due)[0], spread_ms=0.0)
    mirrored = range(6, 6 + many)
    found = candidates([(t, right ^ (k in mirrored), *r) for k, (t, right, *r) in enumerate(rows)])  # type: ignore[misc]
    assert kinds(danced(found, due, list(range(16)), [int(k in mirrored) for k in range(16)])) == said


def test_weight_that_moves_unseen_is_not_missing() -> None:
    sheet = sheet_named("shingle")
    assert any(not d.lands for d in events(sheet))
    verdict, _, _ = judged(sheet, lambda rows, due, at: [r for r in rows if not r[2]])
    assert told(verdict) == []


@pytest.mark.parametrize(("gone", "said"), [(2, ["missed", "missed"]), (3, ["stood still"])])
def test_three_steps_missing_in_a_row_are_one_standing_still(gone: int, said: list[str]) -> None:
    verdict, _, _ = judged(
        sheet_named("porchlight"), lambda rows, due, at: [r for k, r in enumerate(rows) if not 20 <= k < 20 + gone]
    )
    assert [kind for kind, _ in told(verdict)] == said


def test_the_other_foot_is_named_as_the_one_that_stepped() -> None:
    due = events(marking_time(), 16.0)
    rows = landings(due, laid(due)[0], spread_ms=0.0)
    found = candidates([(t, right ^ (k == 6), *r) for k, (t, right, *r) in enumerate(rows)])  # type: ignore[misc]
    (flag,) = flags_of(danced(found, due, list(range(16)), [0] * 16), TIMING)
    assert flag.words == "On count 7 of wall 1 the left foot stepped; the dance has the right foot there."


@pytest.mark.parametrize(("side", "said"), [(-0.5, ["other step"]), (-2.0, [])])
def test_a_place_further_off_than_any_step_is_not_believed(side: float, said: list[str]) -> None:
    due = events(sheet_named("porchlight"), 16.0)
    found = candidates(landings(due, laid(due)[0], spread_ms=0.0))
    place = np.full((len(due), 2), np.nan)
    place[at_count(due, 3.0)] = (side, 0.0)
    assert kinds(danced(replace(found, place=place), due, list(range(16)), [0] * 16)) == said


def once_more(count: float) -> Spoil:
    """The foot of a count comes down once more, half a count later."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        i = at_count(due, count)
        return [*rows, (float(at_s[i]) + 0.25, due[i].foot == "right", False, 0.97, 0.9)]

    return spoil


@pytest.mark.parametrize(("count", "said"), [(21.0, [("extra", 21.5)]), (31.0, [])])
def test_a_foot_that_turns_on_the_floor_is_no_extra_step(count: float, said: list[tuple[str, float]]) -> None:
    verdict, _, _ = judged(sheet_named("porchlight"), once_more(count))
    assert told(verdict) == said


def test_inside_a_stretch_that_is_told_no_count_is_told_again() -> None:
    """In mirror image from count 17 to 32, and there one landing late as well."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [(t + 0.2 * (k == 23), right ^ (16 <= k < 32), *r) for k, (t, right, *r) in enumerate(rows)]  # type: ignore[misc]

    verdict, _, _ = judged(sheet_named("porchlight"), spoil)
    assert [kind for kind, _ in told(verdict)] == ["danced in mirror"]


@pytest.mark.parametrize(("hidden", "said"), [(False, [("other foot", 21.0)]), (True, [])])
def test_what_is_guessed_through_somebody_in_front_is_not_told(hidden: bool, said: list[tuple[str, float]]) -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [(t, right ^ (k == 20), *r) for k, (t, right, *r) in enumerate(rows)]  # type: ignore[misc]

    at = FIRST_S + 20 * 60 / BPM
    seen = [(0.0, at - 0.2), (at + 0.2, 60.0)] if hidden else [(0.0, 60.0)]
    verdict, _, _ = judged(sheet_named("porchlight"), spoil, seen=seen)
    assert told(verdict) == said


# --- timing


def test_counts_danced_a_whole_count_off_do_not_enter_the_usual_timing() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        out = [(t + 0.5 * (20 <= k < 44), *r) for k, (t, *r) in enumerate(rows)]
        return [r for k, r in enumerate(out) if k not in (44, 45)]  # type: ignore[misc]

    verdict, due, _ = judged(sheet_named("lantern"), spoil)
    assert verdict.danced is not None
    behind = int((verdict.danced.match.way == 2).sum())
    assert behind > 15
    assert isinstance(verdict.timing, Timing)
    assert verdict.timing.n <= len(due) - behind


def test_without_a_sheet_a_steady_lag_is_told_on_no_count() -> None:
    grid = steady_grid(BPM, FIRST_S, 0.0, 40.0)
    found = candidates([(FIRST_S + 0.5 * k + 0.11, k % 2 == 0, False, 0.95, 0.9) for k in range(32)])
    verdict = against_beats(found, grid, TIMING, untimed=None)
    assert verdict.timing.bias_ms == pytest.approx(110)  # type: ignore[union-attr]
    assert verdict.flags == ()


def test_where_the_feet_do_not_tell_the_sheet_says_whether_it_was_a_step() -> None:
    """Weight read as 0.4 where a step is due, and as 0.6 where a touch is."""
    sheet = sheet_named("porchlight")
    verdict, due, _ = judged(
        sheet, lambda rows, due, at: [(*r[:4], 0.4 if d.takes_weight else 0.6) for d, r in zip(due, rows, strict=True)]
    )
    assert list(verdict.steps.kinds) == ["step" if d.takes_weight else "touch" for d in due]  # type: ignore[union-attr]


def test_a_line_that_only_its_ends_make_is_no_drift() -> None:
    """Flat for most of the dance, early in its first counts and late in its last: steep as a line, its thirds hardly apart."""
    counts = np.arange(64.0)
    along = (counts - 31.5) / 31.5
    assert drift(counts, 300.0 * along**5, TIMING) == 0.0
    assert drift(counts, 130.0 * along, TIMING) == pytest.approx(130.0 / 31.5, rel=0.02)


def test_the_summary_by_hand() -> None:
    offset = np.array([-30.0, -10, 5, -20, -45, 15, -25, -10])
    timing = timing_of(np.arange(1.0, 9.0), offset, np.full(8, 0.5), TIMING)
    assert isinstance(timing, Timing)
    assert timing.steadiness_ms == pytest.approx(19.3, abs=0.05)  # 18.1 if the eight were all there is
    assert timing.bias_ms == pytest.approx(-15.0)
    assert timing.vector_length == pytest.approx(0.975, abs=0.0005)
    assert timing.drift_ms_per_count == pytest.approx(0.8, abs=0.05)


# --- count 1


def test_weight_that_only_moves_does_not_pull_count_1() -> None:
    due = events(marking_time(), 32.0)
    at_s = 6.0 + 0.5 * np.array([d.count - 1 for d in due])
    landed = [(t, right, shift, 0.7, weight) for t, right, shift, _, weight in landings(due, at_s, spread_ms=0.0)]
    moved = [(t + 0.25, right, True, 0.99, 0.9) for t, right, *_ in landed]
    found = candidates([*landed, *moved], seen=((0.0, 40.0),))
    line = lambda first, counts: first + (counts - 1) * 0.5  # noqa: E731
    said = anchored([found], due, np.array([6.0, 6.25]), line, TIMING, lags_ms=(0.0,))
    assert said is not None
    assert said.first == 6.0


@pytest.mark.parametrize(("second", "sure"), [(10.0, 0.0), (9.0, 0.3), (5.0, 1.0), (-4.0, 1.0)])
def test_how_sure_count_1_is_by_hand(second: float, sure: float) -> None:
    assert Anchor(0.0, 10.0, second).sure == pytest.approx(sure)


def test_grids_of_made_dances_are_even() -> None:
    due = events(marking_time(), 16.0)
    np.testing.assert_allclose(time_of(grid_of(due), np.array([d.count for d in due])), laid(due)[0])
