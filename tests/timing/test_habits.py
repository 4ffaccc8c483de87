"""One dancer's habits: share on the beat, right-on and hard counts, walls; made dancers whose habits are known."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from made_dances import COUNTS, T, dance, danced

from motion.base.statistics import rayleigh, share_interval, vector
from motion.base.types import Candidates, Flag, NotMeasured, Pairing, Steps
from motion.music.counts import steady_grid
from motion.tell.habit_words import habits_told, walls_timing_told
from motion.timing.chance import chance_of_gathering
from motion.timing.flags import Danced, flags_of
from motion.timing.habits import habits_with_beats, habits_with_dance, own_offsets, spans
from motion.timing.match import match_dance
from motion.timing.summary import timing_of

BEATS = {"tempo_bpm": 120.0}


def habits(one: Danced) -> dict:
    offset = own_offsets(one)
    timing = timing_of(np.array([d.count for d in one.due]), offset, one.gap_s, T)
    said = habits_with_dance(one, flags_of(one, T), timing, T)
    assert said is not None
    assert timing
    return said | {"bias_ms": timing.bias_ms, "steadiness_ms": timing.steadiness_ms}  # type: ignore[union-attr]


def told(said: dict) -> str:
    words = habits_told({"timing": said}, BEATS)
    assert words is not None
    return words.words


def test_a_steady_dancer_is_on_the_beat_and_right_on_everywhere() -> None:
    said = habits(danced(dance(4), shake_ms=15.0))
    on = said["on_beat"]
    assert (on["n"], on["of"], on["share"]) == (32, 32, 1.0)
    assert on["interval"] == [round(edge, 3) for edge in share_interval(32, 32)]
    assert said["rayleigh"]["n"] == 32
    assert said["rayleigh"]["p"] == 1 / 100
    assert said["hardest"] == []
    assert said["right_on"] >= 6
    assert len(said["best"]) == 3
    assert "32 of the 32 counts" in told(said)
    assert "Every count is right on, wall after wall." in told(said)


def test_how_many_are_right_on_is_a_figure_and_does_not_stand_beside_how_many_were_on_the_beat() -> None:
    """With two walls few of many landings on the beat are surely right on: told one after the other, that reads like a contradiction."""
    said = habits(danced(dance(2), shake_ms=25.0, seed=3))
    assert len(said["best"]) < said["right_on"] < len(said["counts"])
    words = habits_told({"timing": said}, BEATS)
    assert words is not None
    assert "landings" not in words.words
    assert re.search(r"Surest are counts \d, \d and \d: right on, wall after wall\.", words.words)
    (figure,) = [line for line in words.figures if line.startswith("Right on, wall after wall")]
    assert f"{said['right_on']} of the 8 landings of one wall" in figure
    assert "within 80 ms of the usual place each time, and surely within 40 ms" in figure
    one = habits_told({"timing": said | {"best": [3.0], "right_on": 1}}, BEATS)
    assert one is not None
    assert "Surest is count 3: right on" in one.words


def test_a_count_that_comes_early_on_every_wall_is_hard_and_a_single_lapse_is_not() -> None:
    late = {COUNTS * wall + 4: -60.0 for wall in range(3)} | {2: 150.0}
    said = habits(danced(dance(3), late, shake_ms=12.0))
    assert said["hardest"] == [5.0]
    assert 3.0 not in said["best"]
    assert 5.0 not in said["best"]
    assert "Count 5 comes early wall after wall, by about a tenth of a count. It may be meant so; if not, let the beat" in told(
        said
    )


@pytest.mark.parametrize("seed", range(12))
def test_nothing_hard_is_claimed_of_mere_unsteadiness(seed: int) -> None:
    assert habits(danced(dance(3), shake_ms=35.0, seed=seed))["hardest"] == []


def test_one_wall_proves_no_habit() -> None:
    said = habits(danced(dance(1), {4: 60.0}))
    assert (said["best"], said["hardest"], said["right_on"]) == ([], [], 0)
    assert "seen only once" in told(said)


def test_a_count_lost_on_most_walls_is_hard() -> None:
    said = habits(danced(dance(3), left_out=frozenset({6, 14})))
    assert said["hardest"] == [7.0]
    row = next(r for r in said["counts"] if r["count"] == 7.0)
    assert (row["walls"], row["lost_on"], row["landings"]) == (3, [1, 2], 1)
    assert "Count 7 was lost on 2 of 3 walls" in told(said)
    assert (said["on_beat"]["n"], said["on_beat"]["of"]) == (22, 24)


def test_a_small_steady_lag_is_on_the_beat_and_a_large_one_is_beside_it() -> None:
    small, large = habits(danced(dance(3), lag_ms=50.0)), habits(danced(dance(3), lag_ms=110.0))
    assert small["on_beat"]["n"] == 24
    assert small["on_beat"]["about_ms"] == pytest.approx(50.0, abs=0.1)
    assert (large["on_beat"]["n"], large["on_beat"]["about_ms"]) == (0, 0.0)
    assert "The others came steadily after it" in told(large)


def test_walls_are_told_apart_only_where_their_intervals_are() -> None:
    slow = dict.fromkeys(range(COUNTS, 2 * COUNTS), 60.0)
    said = habits(danced(dance(2), slow, shake_ms=8.0))
    assert [(row["wall"], row["n"]) for row in said["walls"]] == [(1, 8), (2, 8)]
    assert said["walls"][1]["bias_ms"] - said["walls"][0]["bias_ms"] == pytest.approx(60.0, abs=12)
    words = walls_timing_told({"timing": said}, BEATS)
    assert words is not None
    assert words.words.startswith("Wall 2 came later against the beat than wall 1, by about a tenth")
    assert len(words.figures) == 2
    alike = walls_timing_told({"timing": habits(danced(dance(2), shake_ms=8.0))}, BEATS)
    assert alike is not None
    assert "no wall surely differs" in alike.words


def test_a_wall_hardly_seen_has_no_figures() -> None:
    said = habits(danced(dance(2), left_out=frozenset(range(COUNTS + 3, 2 * COUNTS))))
    assert said["walls"][1] == {"wall": 2, "n": 3, "bias_ms": None, "bias_interval_ms": None, "steadiness_ms": None}


def test_without_a_beat_there_are_no_habits() -> None:
    one = danced(dance(2), timed=False)
    assert habits_with_dance(one, (), NotMeasured("timing", "no sound"), T) is None
    assert habits_told({"timing": {"not_measured": "the clip has no sound"}}, BEATS) is None
    assert habits_told({"timing": {"bias_ms": 0.0}}, BEATS) is None  # a review from before


def by_chance(seed: int, walls: int = 8) -> Danced:
    """A dancer who lands anywhere, on either foot, half as often again as the dance does: a third are no landings, but may be."""
    chance, due = np.random.default_rng(seed), dance(walls)
    one = danced(due)
    n = len(due) * 3 // 2
    times, seen = np.sort(chance.uniform(one.at_s[0] - 0.5, one.at_s[-1] + 0.5, n)), one.found.seen
    right, strength, weight = chance.uniform(size=n) < 0.5, chance.uniform(0.3, 0.98, n), chance.uniform(0.3, 0.99, n)
    found = Candidates(times, np.full(n, 12.0), right, np.zeros(n, bool), strength, weight, np.full((n, 2), np.nan), seen)
    return replace(one, found=found, match=match_dance(found, due, one.at_s, one.gap_s, T))


def test_landings_chosen_for_being_near_a_count_keep_to_it_no_more_than_chance() -> None:
    """Of 100 dancers who land anywhere one in twenty may look steady (at most 11, binomial, one in a hundred); by Rayleigh's test of
    the matched landings a quarter and more do."""
    p, old = [], []
    for seed in range(100):
        one = by_chance(seed)
        offset = own_offsets(one)
        held = np.isfinite(offset)
        p.append(chance_of_gathering(one.found, one.due, one.at_s, one.gap_s, T))
        phase = 2 * np.pi * offset[held] / (1000 * one.gap_s[held])
        old.append(rayleigh(len(phase), vector(phase)[1])[1] if len(phase) >= T.least_pairs else 1.0)
    assert np.mean(np.array(old) < 0.05) > 0.15
    assert np.sum(np.array(p) < 0.05) <= 11
    assert 0.4 < np.mean(p) < 0.6


@pytest.mark.parametrize(("lag_ms", "shake_ms"), [(0.0, 15.0), (150.0, 30.0), (-120.0, 45.0)])
def test_a_dancer_with_a_place_of_their_own_is_told_from_chance(lag_ms: float, shake_ms: float) -> None:
    one = danced(dance(3), lag_ms=lag_ms, shake_ms=shake_ms)
    assert chance_of_gathering(one.found, one.due, one.at_s, one.gap_s, T) <= 0.02


def test_landings_anywhere_are_told_from_a_steady_time_without_a_sheet() -> None:
    """Against the nearest half count whatever comes lies within a quarter of a count: the circle must be the half count."""
    chance = np.random.default_rng(2)
    grid = steady_grid(120, 0.0, 0.0, 60.0)
    counts = np.arange(1.0, 41.0)

    def said(offset_ms: np.ndarray) -> dict:
        steps = Steps(
            counts / 2 + offset_ms / 1000, np.full(40, 12.0), np.arange(40) % 2 == 0, ("step",) * 40, np.ones(40), np.zeros((40, 2))
        )
        pairing = Pairing(counts, offset_ms, np.full(40, -1), ())
        out = habits_with_beats(steps, pairing, timing_of(counts, offset_ms, np.full(40, 0.5), T), grid, T)
        assert out is not None
        return out

    anywhere, steady = said(chance.uniform(-125, 125, 40)), said(chance.normal(0, 15, 40))
    assert anywhere["rayleigh"]["p"] > 0.05
    assert steady["rayleigh"]["p"] < 1e-6
    assert anywhere["counts"] == []
    words = told(anywhere | {"bias_ms": 0.0, "steadiness_ms": 70.0})
    assert words.startswith("The landings keep to no one place")


def test_a_finding_speaks_of_its_stretch() -> None:
    flag = Flag("stood still", 5.0, 8.0, 3.0, None, None, 0.9, True, "")
    assert [spans(flag, c) for c in (4.0, 5.0, 6.5, 8.0, 8.5)] == [False, True, True, True, False]


def test_counts_in_which_an_easier_option_is_allowed_are_not_held_against_anyone() -> None:
    one = danced(dance(3), left_out=frozenset({6, 14}))
    said = habits(replace(one, excused=frozenset({6, 14, 22})))
    assert (said["on_beat"]["n"], said["on_beat"]["of"]) == (22, 22)
    assert said["hardest"] == []


def test_one_lapse_on_two_walls_is_no_habit() -> None:
    """Half a second's lapse moves the middle of two walls far beyond chance, but the other wall does not agree."""
    said = habits(danced(dance(2), {4: 170.0}, shake_ms=8.0))
    assert said["hardest"] == []
    row = next(r for r in said["counts"] if r["count"] == 5.0)
    assert row["usual_ms"] > 60
    assert abs(row["least_ms"]) < 25


@pytest.mark.parametrize(
    ("landings", "why"),
    [
        (0, "no landing could be set against the beat"),
        (1, "only 1 landing could be set against the beat, and 6 are needed"),
        (5, "only 5 landings could be set against the beat, and 6 are needed"),
    ],
)
def test_too_few_landings_are_told_as_people_count(landings: int, why: str) -> None:
    timing = timing_of(np.arange(1.0, landings + 1), np.zeros(landings), np.full(landings, 0.5), T)
    assert isinstance(timing, NotMeasured)
    assert timing.why == why


def test_a_hard_count_that_is_phrasing_or_questions_the_sheet_is_not_told_a_second_time() -> None:
    """Count 5 early on every wall, count 7 lost on two of three: both are told elsewhere on the page, and neither as a fault."""
    late = {COUNTS * wall + 4: -60.0 for wall in range(3)}
    said = habits(danced(dance(3), late, left_out=frozenset({6, 14}), shake_ms=8.0))
    assert set(said["hardest"]) == {5.0, 7.0}
    dancer = {"timing": said, "phrasing": [{"count": 5.0}], "sheet": {"differs": [{"count": 7.0, "always": False}]}}
    words = habits_told(dancer, BEATS)
    assert words is not None
    assert "Count 5" not in words.words
    assert "Count 7 was lost on 2 of 3 walls" in words.words
    assert any(line.startswith("Count 5, against the usual place") for line in words.figures)
    dancer["sheet"]["differs"][0]["always"] = True  # type: ignore[index]
    words = habits_told(dancer, BEATS)
    assert words is not None
    assert "Count 7" not in words.words
    assert "No count is surely better or worse" not in words.words
