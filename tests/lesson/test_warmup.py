"""Games, joints and muscles by the sheet; times that add up."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from motion.base.errors import BadInput
from motion.dance.figures import MOVES
from motion.dance.sheet import parse_sheet, read_sheet
from motion.lesson.cooldown import PACES, cool_down
from motion.lesson.games import GAMES, JOINTS, WORK
from motion.lesson.plan import plan, seconds_of
from motion.lesson.safety import AUDIENCES, CAUTIONS, STOP_SIGNS, checks, extra_words, stop_words
from motion.lesson.warmup import demands, slow_steps, warm_up
from motion.review.settings import SETTINGS
from motion.tell.lesson_plan import every_row, step_calls

S = SETTINGS.lesson
SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
HEELS = "# title: Heels\n# counts: 4\n# walls: 1\ncount,foot,move,turn\n1,R,heel,\n2,R,together,\n3,L,heel,\n4,L,together,\n"
TURNS = HEELS.replace("heel,", "forward,1/2 R")


def rows(text):
    return parse_sheet(text, "a sheet").rows


def shares(text):
    return {demand.joint: demand for demand in demands(rows(text))}


def test_every_move_of_a_sheet_asks_something_of_the_body():
    assert set(WORK) == set(MOVES)
    assert all(WORK[name] for name in MOVES if name != "hold")
    assert {joint for work in WORK.values() for joint, _ in work} < set(JOINTS)


def test_demand_by_hand():
    # two heels (shin, front of the thigh) and two closings (inside of the thigh): 2 of 6, 2 of 6, 2 of 6
    found = shares(HEELS)
    assert {joint: demand.share for joint, demand in found.items() if demand.share} == pytest.approx(
        {"ankles": 1 / 3, "knees": 1 / 3, "hips": 1 / 3}
    )
    assert found["ankles"].muscles == ("front of the shins (tibialis anterior)",)
    assert sum(demand.share for demand in found.values()) == pytest.approx(1)


def test_turns_ask_for_the_trunk_and_heels_do_not():
    assert shares(TURNS)["spine"].share > 0
    assert shares(HEELS)["spine"].share == 0


def test_the_sheet_decides_what_is_named_and_how_long():
    heels = {item.joint: item for item in warm_up(rows(HEELS), 240, audience="adults", settings=S)}
    sways = HEELS.replace("heel", "sway").replace("together", "sway")
    swaying = {item.joint: item for item in warm_up(rows(sways), 240, audience="adults", settings=S)}
    assert any("tibialis" in muscle for muscle in heels["ankles"].muscles)
    assert any("gluteus medius" in muscle for muscle in swaying["hips"].muscles)
    assert not any("gluteus medius" in muscle for muscle in heels["knees"].muscles)
    assert swaying["spine"].seconds > heels["spine"].seconds
    assert heels["ankles"].seconds > swaying["ankles"].seconds


@pytest.mark.parametrize("seconds", [30, 61, 180, 300, 480, 601])
@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("seated", [False, True])
def test_a_warm_up_fills_its_time(seconds, audience, seated):
    items = warm_up(None, seconds, audience=audience, seated=seated, settings=S)
    assert sum(item.seconds for item in items) == seconds
    assert min(item.seconds for item in items) >= S.warm_game_s
    assert items[0].joint == "whole body"
    order = [JOINTS.index(item.joint) for item in items]
    assert order == sorted(order)
    assert len({item.name for item in items}) == len(items)
    for item in items:
        if item.sides:
            (first, right), (second, left) = item.sides
            assert right + left == item.seconds
            assert 0 <= left - right <= 1
            assert "right side (you face them: your left)" in first
            assert "left side (you face them: your right)" in second


def test_short_time_leaves_out_what_the_dance_asks_least():
    joints = [item.joint for item in warm_up(rows(HEELS), 120, audience="adults", settings=S)]
    assert joints == ["whole body", "ankles", "knees"]


def test_games_have_a_chair_and_a_standing_form_of_their_own():
    for game in GAMES:
        assert len({game.story, game.plain, game.seated}) == 3
        assert "same" not in game.seated.lower()
    seated = warm_up(None, 300, audience="seniors", seated=True, settings=S)
    assert [item.words for item in seated] != [item.words for item in warm_up(None, 300, audience="seniors", settings=S)]
    standing = warm_up(None, 300, audience="seniors", settings=S)
    assert all("chair" in item.care.lower() or "hold on" in item.care.lower() for item in standing)


def test_no_time_for_one_game():
    with pytest.raises(BadInput, match="warm-up is 10"):
        warm_up(None, 10, audience="adults", settings=S)


def test_own_steps_are_the_sheets_figures_once():
    sheet = read_sheet(SAMPLES / "hedgerow.csv")
    calls = list(step_calls(sheet))
    assert calls == ["vine right", "vine left", "rocking chair", "counts 13 to 16: forward, touch, back"]
    items = slow_steps(calls, 180, 73, seated=False, settings=S)
    assert [item.name for item in items] == ["vine", "rocking chair", "counts 13 to 16: forward, touch, back"]
    assert sum(item.seconds for item in items) == 180
    assert all("73 beats" in item.words for item in items)
    assert len(slow_steps(calls, 60, None, seated=True, settings=S)) == 2


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.csv")), ids=lambda p: p.stem)
def test_every_sample_dance_makes_a_warm_up(path):
    sheet = read_sheet(path)
    assert sum(item.seconds for item in warm_up(every_row(sheet), 420, audience="children", settings=S)) == 420
    assert list(step_calls(sheet))


@pytest.mark.parametrize("seconds", [120, 150, 270, 300, 600])
@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_cool_down_fills_its_time(seconds, audience):
    items = cool_down(seconds, audience=audience, settings=S)
    assert sum(item.seconds for item in items) == seconds
    assert min(item.seconds for item in items) > 0
    names = [item.name for item in items]
    assert names[:2] == ["Walk it out", "Breathing with the screen"]
    for item in items[2:]:
        assert "no bouncing" in item.care
        assert all(10 <= part <= 30 for _, part in item.sides)
    if audience == "children":
        assert len(items) <= 4


def test_paced_breathing_is_longer_out_than_in():
    assert PACES["adults"].a_minute == 6.0
    for pace in PACES.values():
        assert pace.out_s > pace.in_s
    assert PACES["children"].a_minute > PACES["adults"].a_minute


@pytest.mark.parametrize("minutes", [10, 12.5, 15, 20, 30, 45, 60, 90, 180])
@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_plan_adds_up(minutes, audience):
    parts = plan(minutes, audience=audience, settings=S)
    assert sum(part.seconds for part in parts) == minutes * 60
    assert parts[0].begins_s == 0
    assert all(a.ends_s == b.begins_s for a, b in pairwise(parts))
    assert all(part.seconds > 0 for part in parts)
    keys = [part.key for part in parts]
    assert {"arrive", "joints", "dance", "cool down"} <= set(keys)
    assert ("rest pulse" in keys) == ("after pulse" in keys)
    warm = seconds_of(parts, "joints") + seconds_of(parts, "own steps")
    assert warm <= 12 * 60
    if minutes >= 30:
        assert warm >= 5 * 60
        assert len(parts) == 10
    if audience == "children":
        assert seconds_of(parts, "cool down") <= 300


@pytest.mark.parametrize("minutes", [0, -5, 9, 500, float("nan")])
def test_lessons_that_cannot_be(minutes):
    with pytest.raises(BadInput, match="lesson's length"):
        plan(minutes, audience="adults", settings=S)


def test_before_and_stop():
    keys = {check.key for check in checks("children")}
    assert keys == {"space", "obstacles", "floor", "footwear", "clothing", "heat", "water", "health", "filming"}
    assert {check.key for check in checks("seniors")} - keys == {"hold"}
    said = " ".join(stop_words("adults"))
    for sign in ("chest", "dizziness", "breath", "races", "joint", "limp", "headache", "unwell"):
        assert sign in said, sign
    assert len(STOP_SIGNS) == 6
    assert "emergency number" in said
    assert "grown-up" in stop_words("children")[0]
    assert "spins" in extra_words("seniors")
    assert any("no medical advice" in words for words in CAUTIONS)
    assert any("school or club" in words for words in CAUTIONS)
