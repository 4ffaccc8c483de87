"""The figure table: weight, feet, mirrors and spans.

The outside check is the table of weight changes and ending feet on which public glossaries of line dance clubs agree, written down here
by hand and apart from the figures. Facts only, second-hand, from the glossaries of sound-a-motion.tripod.com, bootsnspurs.com,
underthesunlinedance.com and lizzaninline.com; where those are silent, common practice, from memory.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from motion.base.types import Foot
from motion.dance.figures import (
    FIGURES,
    MOVES,
    OTHER_WORDS,
    Figure,
    call_of,
    expand,
    figure_steps,
    figures_by_name,
    lead_of,
    other_foot,
    plain_name,
    spans,
)

#: name, counts: lead, weight changes, ending foot ("=": it stays on the foot that did not lead). Common practice, club glossaries.
GLOSSARY: dict[tuple[str, int], tuple[Foot, int, str]] = {
    ("vine", 4): ("right", 3, "right"),
    ("vine", 3): ("right", 3, "right"),
    ("vine scuff", 4): ("right", 3, "right"),
    ("rolling vine", 4): ("right", 3, "right"),
    ("weave", 4): ("left", 4, "right"),
    ("behind side cross", 2): ("right", 3, "right"),
    ("step touch", 2): ("right", 1, "right"),
    ("side together side touch", 4): ("right", 3, "right"),
    ("scissor", 2): ("right", 3, "right"),
    ("nightclub basic", 2): ("right", 3, "right"),
    ("shuffle forward", 2): ("right", 3, "right"),
    ("shuffle back", 2): ("right", 3, "right"),
    ("chasse", 2): ("right", 3, "right"),
    ("triple", 2): ("right", 3, "right"),
    ("lock step", 2): ("right", 3, "right"),
    ("lock step back", 2): ("right", 3, "right"),
    ("coaster", 2): ("right", 3, "right"),
    ("forward coaster", 2): ("right", 3, "right"),
    ("sailor", 2): ("right", 3, "right"),
    ("kick ball change", 2): ("right", 2, "left"),
    ("rock forward", 2): ("right", 2, "left"),
    ("rock back", 2): ("right", 2, "left"),
    ("rock side", 2): ("right", 2, "left"),
    ("rock cross", 2): ("right", 2, "left"),
    ("rocking chair", 4): ("right", 4, "left"),
    ("mambo forward", 2): ("right", 3, "right"),
    ("mambo back", 2): ("right", 3, "right"),
    ("mambo side", 2): ("right", 3, "right"),
    ("pivot 1/2", 2): ("right", 2, "left"),
    ("pivot 1/4", 2): ("right", 2, "left"),
    ("paddle 1/4", 2): ("right", 0, "="),
    ("monterey 1/2", 4): ("right", 2, "left"),
    ("monterey 1/4", 4): ("right", 2, "left"),
    ("cross unwind", 2): ("right", 2, "left"),
    ("jazz box", 4): ("right", 4, "left"),
    ("rumba box", 8): ("right", 6, "left"),
    ("k step", 8): ("right", 4, "left"),
    ("v step", 4): ("right", 4, "left"),
    ("heel switches", 2): ("right", 2, "left"),
    ("slow heel switches", 4): ("right", 2, "left"),
    ("toe switches", 2): ("right", 2, "left"),
    ("charleston kick", 4): ("right", 2, "left"),
    ("charleston touch", 4): ("right", 2, "left"),
    ("sways", 1): ("right", 1, "right"),
    ("hip bump", 1): ("right", 1, "right"),
    ("toe strut", 2): ("right", 1, "right"),
    ("heel strut", 2): ("right", 1, "right"),
    ("swivels", 2): ("right", 0, "="),
    ("hold", 1): ("right", 0, "="),
    ("walk", 1): ("right", 1, "right"),
    ("walk back", 1): ("right", 1, "right"),
    ("waltz basic", 3): ("left", 3, "left"),
    ("waltz basic", 6): ("left", 6, "right"),
    ("waltz basic back", 3): ("right", 3, "right"),
    ("twinkle", 3): ("left", 3, "left"),
}

#: What turns by itself, right foot in the lead, degrees clockwise (common practice, club glossaries).
OWN_TURNS_DEG = {
    "rolling vine": 360, "pivot 1/2": -180, "pivot 1/4": -90, "paddle 1/4": -90, "Monterey 1/2": 180, "Monterey 1/4": 90,
    "cross unwind": -180,
}  # fmt: skip


def key(figure: Figure) -> tuple[str, int]:
    return plain_name(figure.name)[0], figure.counts


def weights(figure: Figure, lead: Foot) -> list[Foot]:
    """The feet that take weight, in order."""
    return [s.foot for s in figure_steps(figure, lead) if s.foot and (MOVES[s.move].takes_weight or s.move == "unwind")]


def test_every_figure_is_in_the_glossary_and_the_other_way_round() -> None:
    assert sorted(map(key, FIGURES)) == sorted(GLOSSARY)


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f"{f.name}-{f.counts}")
def test_weight_changes_and_ending_foot_as_in_the_glossaries(figure: Figure) -> None:
    lead, changes, ends = GLOSSARY[key(figure)]
    taken = weights(figure, lead)
    assert len(taken) == changes
    assert (taken[-1] if taken else "=") == ends
    assert {"R": lead, "L": other_foot(lead), "=": "="}[figure.ends] == ends


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f"{f.name}-{f.counts}")
def test_feet_alternate_whenever_they_take_weight(figure: Figure) -> None:
    for lead in ("right", "left"):
        taken = weights(figure, lead)
        assert all(a != b for a, b in pairwise(taken))
        free: Foot = lead
        for step in figure_steps(figure, lead):
            if step.foot and step.move not in ("swivel", "unwind"):
                assert step.foot == free, f"{figure.name}: {step}"
                free = other_foot(free) if MOVES[step.move].takes_weight else free


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f"{f.name}-{f.counts}")
def test_the_left_lead_is_the_mirror(figure: Figure) -> None:
    right, left = figure_steps(figure, "right"), figure_steps(figure, "left")
    assert [(s.after, s.move) for s in right] == [(s.after, s.move) for s in left]
    assert [s.foot and other_foot(s.foot) for s in left] == [s.foot for s in right]
    assert [-s.turn_deg for s in left] == [s.turn_deg for s in right]
    assert sum(s.turn_deg for s in right) == OWN_TURNS_DEG.get(figure.name, 0)


@pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f"{f.name}-{f.counts}")
def test_every_figure_fills_its_counts_in_order_and_can_be_called(figure: Figure) -> None:
    steps = figure_steps(figure)
    after = [s.after for s in steps]
    assert after == sorted(set(after))
    assert {int(a) for a in after} == set(range(figure.counts))
    assert all(s.move in MOVES for s in steps)
    assert figure.words.endswith(".")
    assert "{" not in call_of(figure, "left")
    assert expand(plain_name(figure.name)[0], "right", figure.counts) == steps


def test_the_moves_are_the_sheets_words_with_their_weight() -> None:
    step = ["side", "behind", "cross", "together", "forward", "back", "in place", "stomp"]
    touch = ["touch", "heel", "toe", "stomp up"]
    shift = ["recover", "sway", "strut drop"]
    neither = ["kick", "hitch", "scuff", "brush", "hook", "flick", "swivel", "unwind", "hold"]
    assert sorted(MOVES) == sorted(step + touch + shift + neither)
    for names, lands, weight in ((step, True, True), (touch, True, False), (shift, False, True), (neither, False, False)):
        for name in names:
            assert (MOVES[name].lands, MOVES[name].takes_weight, MOVES[name].shift) == (lands, weight, weight and not lands)
    assert MOVES["side"].place == (1, 0)
    assert MOVES["behind"].place == (-1, -1)
    assert MOVES["forward"].place == (0, 1)
    assert MOVES["recover"].place == "stays"
    assert all(move.words.endswith(".") for move in MOVES.values())
    assert set(OTHER_WORDS.values()) <= set(MOVES)


def test_no_name_means_two_figures_of_one_length() -> None:
    for name, forms in figures_by_name().items():
        assert len({form.counts for form in forms}) == len(forms), name
        if name in MOVES:  # the move over several counts
            assert {step.move for form in forms for step in figure_steps(form)} == {name}


def test_a_left_vine_by_hand() -> None:
    steps = expand("vine", "left", 4)
    assert steps is not None
    assert [(s.after, s.foot, s.move) for s in steps] == [
        (0.0, "left", "side"), (1.0, "right", "behind"), (2.0, "left", "side"), (3.0, "right", "touch"),
    ]  # fmt: skip


def test_a_coaster_goes_quick_in_three_counts_or_held_on_the_fourth() -> None:
    assert [s.after for s in expand("coaster", "right", 2) or ()] == [0.0, 0.5, 1.0]
    assert [s.after for s in expand("coaster", "right", 3) or ()] == [0.0, 1.0, 2.0]
    held = expand("coaster", "right", 4) or ()
    assert [(s.after, s.move) for s in held] == [(0.0, "back"), (1.0, "together"), (2.0, "forward"), (3.0, "hold")]
    assert expand("coaster", "right", 5) is None


def test_repeats_begin_with_the_free_foot() -> None:
    twinkles = expand("twinkle", "left", 6) or ()
    assert [s.foot for s in twinkles] == ["left", "right", "left", "right", "left", "right"]
    chairs = expand("rocking chair", "right", 8) or ()
    assert [s.foot for s in chairs] == ["right", "left"] * 4
    assert expand("vine", "right", 8) is None


@pytest.mark.parametrize(
    ("name", "counts", "asked_deg", "turns_deg"),
    [
        ("pivot 1/2", 2, 0.0, [0.0, -180.0]),
        ("pivot 1/2", 2, -90.0, [0.0, -90.0]),
        ("vine", 4, 90.0, [0.0, 0.0, 90.0, 0.0]),
        ("jazz box", 4, 90.0, [0.0, 0.0, 90.0, 0.0]),
        ("paddle", 4, -180.0, [0.0, -90.0, 0.0, -90.0]),
        ("rolling vine", 4, 360.0, [90.0, 180.0, 90.0, 0.0]),
        ("rolling vine", 4, 450.0, [90.0, 180.0, 180.0, 0.0]),
        ("sailor", 2, 90.0, [0.0, 90.0, 0.0]),
        ("swivels", 2, 90.0, [0.0, 90.0]),
    ],
)
def test_turns_of_a_row_are_what_the_whole_row_turns(name: str, counts: int, asked_deg: float, turns_deg: list[float]) -> None:
    steps = expand(name, "right", counts, asked_deg) or ()
    assert [s.turn_deg for s in steps] == turns_deg


def test_names_are_found_however_they_are_written() -> None:
    assert plain_name("Vine Right") == ("vine", "right")
    assert plain_name("left grapevine") == ("grapevine", "left")
    assert plain_name("Kick-Ball-Change") == ("kick ball change", None)
    assert plain_name("chassé") == ("chasse", None)
    assert plain_name("Rock forward, recover".replace(",", "")) == ("rock forward", None)
    assert plain_name("recover") == ("recover", None)


def test_calls_say_where_it_goes() -> None:
    vine, weave = figures_by_name()["vine"][0], figures_by_name()["weave"][0]
    assert call_of(vine, "left") == "vine left"
    assert call_of(weave, "left") == "weave right"
    assert lead_of(weave, "right") == "left"
    assert lead_of(vine, "right") == "right"
    assert spans(figures_by_name()["coaster"][0]) == "2 or 3 or 4"
    assert spans(weave) == "4, or a multiple of 4"
