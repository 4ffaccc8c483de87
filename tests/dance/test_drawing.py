"""Calls, and the feet on paper: where the words put them, by hand."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from motion.dance.cells import count_text
from motion.dance.drawing import figure_svg, plan_svg, stand_words
from motion.dance.figures import FIGURES, Figure, call_of, figures_by_name
from motion.dance.floorplan import AHEAD, TO_SIDE, TOGETHER, Stand, figure_stands, stands
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.unroll import unroll

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
EVERY = pytest.mark.parametrize("figure", FIGURES, ids=lambda f: f"{f.name}-{f.counts}")
SVG = "{http://www.w3.org/2000/svg}"


def named(name: str, counts: int) -> Figure:
    return next(form for form in figures_by_name()[name] if form.counts == counts)


@EVERY
def test_every_figure_has_a_call_that_can_be_spoken_before_it_and_one_plain_sentence(figure: Figure) -> None:
    for lead in ("right", "left"):
        call = call_of(figure, lead)
        assert 1 <= len(call.split()) <= 5
        assert len(call) <= 26  # two counts at 120 beats a minute, at five syllables a second, are five syllables or so
        assert not set(call) & set("{}0123456789/.")
    assert figure.words.endswith(".")
    assert figure.words[0].isupper()


@EVERY
def test_every_drawing_shows_every_count_and_both_feet(figure: Figure) -> None:
    for lead in ("right", "left"):
        root = ET.fromstring(figure_svg(figure, lead))
        words = " ".join(text.text or "" for text in root.iter(f"{SVG}text")).split()
        course = figure_stands(figure, lead)
        assert {count_text(s.due.count) for s in course[1:] if s.due} <= set(words)
        assert {"L", "R"} <= set(words)
        assert root.attrib["aria-label"].endswith(figure.words)
        left, top, wide, high = map(float, root.attrib["viewBox"].split())
        for stand in course:
            for x, y in (stand.left, stand.right):
                assert left < 90 * x < left + wide
                assert top < -90 * y < top + high


@EVERY
def test_the_left_lead_is_the_mirror_on_the_floor_too(figure: Figure) -> None:
    for one, other in zip(figure_stands(figure, "right"), figure_stands(figure, "left"), strict=True):
        assert (-one.right[0], one.right[1]) == pytest.approx(other.left)
        assert (-one.left[0], one.left[1]) == pytest.approx(other.right)
        assert (one.facing_deg + other.facing_deg) % 360 == 0
        assert one.moved != other.moved or one.moved is None


@EVERY
def test_the_weight_ends_where_the_table_says(figure: Figure) -> None:
    ends = figure_stands(figure, "right")[-1].bears
    assert ends == {"R": "right", "L": "left", "=": "left"}[figure.ends] or (figure.name in ("swivels", "hold") and ends is None)


def last(name: str, counts: int) -> Stand:
    return figure_stands(named(name, counts))[-1]


def test_places_by_hand() -> None:
    step = figure_stands(named("step touch", 2))
    assert step[1].right == pytest.approx((-TOGETHER / 2 + TOGETHER + TO_SIDE, 0))
    assert step[2].left == pytest.approx((step[1].right[0] - TOGETHER, 0))  # touched beside
    assert last("walk", 1).right == pytest.approx((TOGETHER / 2, AHEAD))
    assert last("rock forward", 2).left == pytest.approx((-TOGETHER / 2, 0))  # it never left
    assert last("rocking chair", 4).right == pytest.approx((TOGETHER / 2, -AHEAD))
    assert figure_stands(named("vine", 3))[2].left[0] > figure_stands(named("vine", 3))[1].right[0]  # crossed behind, past it
    assert figure_stands(named("vine", 3))[2].left[1] < 0


@pytest.mark.parametrize("name", ["charleston kick", "charleston touch", "k step", "v step", "mambo forward"])
def test_figures_on_the_spot_come_home(name: str) -> None:
    figure = figures_by_name()[name][0]
    stand = figure_stands(figure)[-1]
    for foot, home in (("left", -TOGETHER / 2), ("right", TOGETHER / 2)):
        if name.startswith("charleston") and foot == "right":
            continue  # its touch behind, or its step home, is told by the other foot
        assert stand.spot(foot) == pytest.approx((home, 0), abs=1e-9)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "counts", "facing_deg"),
    [("pivot 1/2", 2, 180), ("pivot 1/4", 2, 270), ("rolling vine", 4, 0), ("monterey 1/2", 4, 180), ("paddle 1/4", 2, 270)],
)
def test_turns_are_seen_by_the_feet(name: str, counts: int, facing_deg: float) -> None:
    stand = last(name, counts)
    assert stand.facing_deg == facing_deg
    if facing_deg:
        assert f"rotate({facing_deg:g})" in figure_svg(named(name, counts))


def test_a_rolling_vine_travels_in_one_line_and_a_vine_with_a_quarter_goes_on_forward() -> None:
    roll = figure_stands(named("rolling vine", 4))
    xs = [roll[1].right[0], roll[2].left[0], roll[3].right[0]]
    assert xs == sorted(xs)
    sheet = parse_sheet("# counts: 4\n# walls: 4\n1 to 4,L,vine,1/4 L\n", "t")
    course = stands(unroll(sheet, walls=1))
    assert course[3].left[0] < course[2].right[0] - 0.5  # still to the left, which after the turn is in front
    assert course[3].facing_deg == 270


def test_a_step_goes_where_the_turned_body_has_it() -> None:
    course = stands(unroll(parse_sheet("# counts: 2\n# walls: 4\n1,R,side,1/4 R\n2,L,forward,\n", "t"), walls=1))
    start = -TOGETHER / 2  # the left foot, which stays
    assert course[1].right == pytest.approx((start, -TOGETHER - TO_SIDE))  # facing 3:00, the right side is towards 6:00
    assert course[2].left == pytest.approx((start + AHEAD, -TO_SIDE))  # forward is towards 3:00, beside the right foot's line
    course = stands(unroll(parse_sheet("# counts: 1\n# walls: 4\n1,R,forward,1/4 L\n", "t"), walls=1))
    assert course[1].right == pytest.approx((start - AHEAD, TOGETHER))


def test_an_unwind_uncrosses_and_a_pivot_turns_on_the_spot() -> None:
    course = figure_stands(named("cross unwind", 2))
    assert course[1].right[0] < course[1].left[0]  # crossed: the right foot is on the left
    assert course[2].right == course[1].right
    assert course[2].facing_deg == 180  # so that, from behind, the right foot is on the right again
    pivot = figure_stands(named("pivot 1/2", 2))
    assert (pivot[2].left, pivot[2].right) == (pivot[1].left, pivot[1].right)


def test_the_plan_keeps_its_view_through_a_section_and_names_the_walls() -> None:
    course = stands(unroll(read_sheet(SAMPLES / "hedgerow.csv"), walls=4))
    boxes = [ET.fromstring(plan_svg(course, k)).attrib["viewBox"] for k in range(len(course))]
    assert len(set(boxes[:9])) == 1  # before count 1 and through the first eight counts
    assert len(set(boxes)) == 8  # two sections a wall
    for k, stand in enumerate(course):
        left, top, wide, high = map(float, boxes[k].split())
        for x, y in (stand.left, stand.right):
            assert left < 90 * x < left + wide
            assert top < -90 * y < top + high
    assert plan_svg(stands(()), 0)  # a dance of nothing: two feet
    words = [t.text for t in ET.fromstring(plan_svg(course, 3)).iter(f"{SVG}text")]
    assert {"12:00", "3:00", "6:00", "9:00"} <= set(words)
    assert math.isclose(course[-1].facing_deg, 0)  # four quarters to the left
    assert stand_words(course[0]) == "Before count 1. Facing 12:00, weight on the left foot."
    assert stand_words(course[7]) == "Count 7, left side, 1/4 to the left. Facing 9:00, weight on the left foot."


def test_both_feet_at_once_jump_and_air_is_not_the_floor() -> None:
    rows = "1,,forward,\n2,R,kick,\n3,R,together,\n4,L,touch,\n"
    course = stands(unroll(parse_sheet("# counts: 4\n# walls: 1\n" + rows, "t"), walls=1))
    assert course[1].left == pytest.approx((-TOGETHER / 2, AHEAD))
    assert course[1].bears is None
    assert course[2].air is not None
    assert course[2].right == course[1].right


def test_names_in_a_drawing_are_escaped() -> None:
    odd = Figure("<b>", 1, "1 R side", "R", "side", 'Says "<i>".')
    assert "<b>" not in figure_svg(odd)
    ET.fromstring(figure_svg(odd))
