"""Floor and lines: by hand, by what must hold for any class, and rooms that are too small."""

from __future__ import annotations

import math
import re

import pytest

from motion.base.errors import BadInput
from motion.lesson.floor_drawing import floor_svg
from motion.lesson.space import Travel, fits, layout, layout_words, plain_travel, travel_of
from motion.review.settings import SETTINGS

S = SETTINGS.lesson
STILL = Travel(0, 0, 0, 0)


def lay(dancers, travel=STILL, **asked):
    return layout(dancers, **{"audience": "children", "travel": travel, "settings": S, **asked})


def test_one_child_on_the_spot_by_hand():
    # both arms 1.4 m, half a metre to each wall: 2.4 m square
    one = lay(1)
    assert one.width_m == pytest.approx(2.4)
    assert one.depth_m == pytest.approx(2.4)
    assert one.area_m2 == pytest.approx(5.76)


def test_two_rows_that_travel_by_hand():
    # three columns 1.4 m apart: 2.8 m between the outermost; 1 + 2 m of travel; arms 1.4 m; walls 1 m
    one = lay(6, Travel(1, 2, 0.5, 0.5), rows=2, room_m=(8.3, 5.0))
    straight = 2.8 + 3 + 1.4 + 1.0
    assert straight <= one.width_m <= straight + 0.8
    assert one.depth_m == pytest.approx(1.4 + 1 + 1.4 + 1.0)
    assert fits(one)


@pytest.mark.parametrize("dancers", [2, 7, 12, 24, 31, 60])
def test_whoever_stands_in_lines_has_room(dancers):
    one = lay(dancers, plain_travel(S))
    assert len(one.spots) == dancers == sum(one.rows)
    assert max(one.rows) - min(one.rows) <= 1
    gaps = [math.dist(a, b) for k, a in enumerate(one.spots) for b in one.spots[:k]]
    assert min(gaps) >= 2 * one.reach_m - 1e-9
    # everybody is in the phone's picture
    front = max(y for _, y in one.spots)
    for x, y in one.spots:
        seen = math.degrees(math.atan2(abs(x), one.phone_m + front - y))
        assert seen < S.camera_view_deg / 2


def covered(spots, phone_y):
    """How many have a body half a metre wide before them, as the phone sees them, by angles."""
    seen = [(math.atan2(x, phone_y - y), math.hypot(x, phone_y - y), y) for x, y in spots]
    return sum(any(far_y < y and abs(a - b) < 0.95 * math.atan2(0.25, d) for a, d, y in seen) for b, _, far_y in seen)


@pytest.mark.parametrize(("dancers", "rows"), [(12, 2), (24, 3), (24, 4), (28, 4)])
def test_up_to_four_rows_nobody_is_hidden(dancers, rows):
    one = lay(dancers, Travel(0.6, 1.2, 0.6, 1.2), rows=rows)
    across = dancers // rows
    phone_y = max(y for _, y in one.spots) + one.phone_m
    straight = [
        ((n - (across - 1) / 2) * one.gap_m, (rows - 1) / 2 * one.gap_m - k * one.gap_m) for k in range(rows) for n in range(across)
    ]
    assert covered(straight, phone_y) > 0
    assert covered(one.spots, phone_y) == 0 == one.hidden


def test_travel_is_how_far_the_feet_go():
    assert travel_of([0, -1.5, 2], [0.2, 3, -0.4]) == Travel(1.5, 2, 3, 0.4)
    assert travel_of([0.1], [0.2]) == Travel(0, 0.1, 0.2, 0)


def test_more_travel_needs_more_floor_and_only_there():
    near, far = lay(12, STILL, rows=1), lay(12, Travel(1, 0, 0, 0), rows=1)
    assert far.width_m == pytest.approx(near.width_m + 1)
    assert far.depth_m == near.depth_m


def test_grown_ups_need_more_than_children():
    assert lay(12, audience="adults").area_m2 > lay(12).area_m2


def test_two_hundred_in_twenty_square_metres():
    with pytest.raises(BadInput) as refused:
        lay(200, plain_travel(S), room_m=(5, 4))
    assert "200 dancers" in str(refused.value)
    assert "5 by 4 m" in str(refused.value)
    assert "Dance in turns" in str(refused.value)


def test_a_refusal_says_how_many_could_and_they_can():
    with pytest.raises(BadInput, match="has room for 15 at once"):
        lay(24, Travel(0.6, 1.2, 0.6, 1.2), room_m=(10, 8))
    assert fits(lay(15, Travel(0.6, 1.2, 0.6, 1.2), room_m=(10, 8)))


@pytest.mark.parametrize("behind_m", [0.0, 0.11, 0.27, 0.33, 0.49])
def test_a_refusal_never_says_that_the_very_room_would_do(behind_m):
    travel = Travel(0.6, 1.2, 0.6, behind_m)
    needs = lay(12, travel, rows=3)
    room = (math.ceil(needs.width_m), needs.depth_m - 0.04)
    with pytest.raises(BadInput) as refused:
        lay(12, travel, rows=3, room_m=room)
    wide, deep = re.search(r"need about ([\d.]+) by ([\d.]+) m", str(refused.value)).groups()
    assert fits(lay(12, travel, rows=3, room_m=(float(wide), float(deep))))


@pytest.mark.parametrize(
    ("asked", "said"),
    [({"dancers": 0}, "The number of dancers is 0"), ({"dancers": 6, "rows": 7}, "The number of rows is 7"),
     ({"dancers": 6, "room_m": (0.0, 5.0)}, "A side of the room is 0"), ({"dancers": 5000}, "The number of dancers is 5000")],
)  # fmt: skip
def test_numbers_that_cannot_be(asked, said):
    with pytest.raises(BadInput, match=said):
        lay(**asked)


@pytest.mark.parametrize("asked", [{}, {"rows": 6}, {"room_m": (40, 30)}, {"room_m": (60, 12)}])
@pytest.mark.parametrize("dancers", [1, 16, 60])
def test_words_in_the_drawing_can_be_read_on_a_tablet(dancers, asked):
    """Where 480 pixels are left for the drawing, letters are shown at 14 or more, and every word lies within it."""
    if dancers == 1 and "rows" in asked:
        return
    drawn = floor_svg(lay(dancers, Travel(0.6, 1.2, 0.6, 1.2), **asked))
    left, top, wide, high = (float(part) for part in re.search(r'viewBox="([^"]+)"', drawn)[1].split())
    said = re.findall(r'<text x="([\d.-]+)" y="([\d.-]+)" font-size="(\d+)" text-anchor="(\w+)".*?>(.*?)</text>', drawn)
    assert len(said) == drawn.count("<text") >= 3
    for x, y, size, anchor, words in said:
        assert float(size) * min(1.0, 480 / wide) >= 14
        # Letters are about half as wide as high.
        long = 0.5 * float(size) * len(words)
        begins = float(x) - {"start": 0.0, "middle": long / 2, "end": long}[anchor]
        assert left <= begins
        assert begins + long <= left + wide
        assert top + float(size) <= float(y) <= top + high - 5


def test_the_drawing_shows_everybody_and_says_what_it_shows():
    one = lay(12, Travel(0.6, 1.2, 0.6, 1.2), rows=2, room_m=(16, 9))
    drawn = floor_svg(one)
    assert drawn.count('fill="#5638a3"/>') >= 24  # a dot and its nose each
    assert 'aria-label="Floor plan: 12 dancers in 2 rows' in drawn
    assert "the room is 16 by 9 m" in drawn
    assert "nan" not in drawn
    assert any("film these" in words for words in layout_words(lay(60, rows=10)))
