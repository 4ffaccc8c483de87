"""The look before filming: what would spoil a review is told, with what to do; pictures made or changed on the spot."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from made import FIGURE
from pose_model import pose_model

from motion.base.errors import BadInput, ClipMissing, ClipUnreadable, MotionError
from motion.film.framing_check import (
    Looked,
    Moment,
    Told,
    look,
    look_apart,
    looked_from,
    looked_json,
    moment_of,
    read_picture,
    told_of,
)
from motion.review.settings import SETTINGS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
SIZE_PX = (640, 360)


def person(x: float = 320.0, y: float = 180.0, tall: float = 200.0, *, aside: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """A standing figure about (x, y); from the side its shoulders and hips lie over each other."""
    shape = FIGURE * np.array([0.1 if aside else 1.0, 1.0])
    return np.array([x, y]) + tall * shape, np.full(33, 0.9)


def room(grey: float = 150.0, seed: int = 1) -> np.ndarray:
    """A wall with some pattern, (H, W, 3)."""
    rng = np.random.default_rng(seed)
    coarse = rng.normal(grey, 12, (SIZE_PX[1] // 8, SIZE_PX[0] // 8))
    return np.clip(np.kron(coarse, np.ones((8, 8)))[:, :, None].repeat(3, axis=2), 0, 255).astype(np.uint8)


def about(looked: Looked, what: str) -> Told:
    return next(one for one in looked.told if one.what == what)


def told(
    people: list[tuple[np.ndarray, np.ndarray]],
    *,
    burst: list[np.ndarray] | None = None,
    dancers: int | None = None,
    purpose: str = "timing",
) -> Looked:
    return told_of([moment_of(burst or [room()], people)], dancers, purpose)  # type: ignore[arg-type]


def test_a_good_picture() -> None:
    looked = told([person()], burst=[room(), room()], dancers=1)
    assert looked.seen == 1
    assert all(one.good for one in looked.told), looked
    assert {one.what for one in looked.told} == {"dancers", "feet", "heads", "distance", "light", "steady", "side"}
    assert not any(one.remedy for one in looked.told)


@pytest.mark.parametrize(
    ("people", "what", "words"),
    [
        ([person(y=270)], "feet", "Feet are cut off"),  # feet at 270 + 100 of 360
        ([person(y=256)], "feet", "too little floor"),  # toes at 356: in the picture, with 4 of 360 left below
        ([person(y=60)], "heads", "Heads are cut off"),
        ([person(x=10)], "feet", "Feet are cut off"),
        ([person(tall=100)], "distance", "Too far"),
        ([person(tall=330)], "distance", "Too near"),
        ([person(aside=True)], "side", "one foot hides the other"),
        ([], "dancers", "Nobody is seen"),
    ],
)
def test_what_is_to_be_changed(people: list[tuple[np.ndarray, np.ndarray]], what: str, words: str) -> None:
    looked = told(people)
    one = about(looked, what)
    assert one.good is False
    assert words in one.words
    assert one.remedy
    assert looked.told[0].good is False  # what is to be changed comes first


def test_timing_and_bending_ask_for_other_sides() -> None:
    assert about(told([person()], purpose="timing"), "side").good
    assert about(told([person(tall=300)], purpose="bending"), "side").good is False
    assert about(told([person(aside=True)], purpose="bending"), "side").good
    assert about(told([person()], purpose="bending"), "distance").good is False  # 200 points do for timing only


def test_rows_that_hide_each_other() -> None:
    """Behind somebody nearer (lower in the picture) feet are hidden; beside them they are not; alone nobody asks."""
    assert moment_of([room()], [person(y=180), person(y=184)]).hidden == 1  # the one in front hides, and is not hidden
    looked = told([person(x=318, y=150, tall=170), person(x=322, y=190, tall=230)], dancers=2)
    assert about(looked, "rows").good is False
    assert "Stagger" in about(looked, "rows").remedy
    assert about(told([person(x=200, y=170), person(x=420, y=190)], dancers=2), "rows").good
    assert not any(one.what == "rows" for one in told([person()]).told)


@pytest.mark.parametrize(
    ("said", "good", "words"),
    [(2, True, "2 people are seen."), (3, False, "2 people are seen of 3."), (1, False, "you say that 1 is dancing")],
)
def test_how_many_are_dancing(said: int, good: bool, words: str) -> None:
    one = about(told([person(x=200), person(x=420)], dancers=said), "dancers")
    assert one.good is good
    assert words in one.words
    assert about(told([person(x=200), person(x=420)], dancers=None), "dancers").good  # not said: whoever is seen will do


def test_light() -> None:
    def lit(picture: np.ndarray, on: float) -> Told:
        """The figure painted over in one grey."""
        from motion.film.covers import body_shape

        px, seen = person()
        picture = picture.copy()
        picture[body_shape(SIZE_PX, px, 3.0) > 0] = round(on)
        return about(told([(px, seen)], burst=[picture]), "light")

    assert lit(room(150), 110).good
    assert lit(room(150), 30).good  # dark clothes or skin in a lit room are no fault of the light
    assert lit(room(60), 50).words.startswith("Too dark")
    assert lit(np.full((*SIZE_PX[::-1], 3), 252, np.uint8), 40).words.startswith("The light comes from behind")
    assert lit(np.full((*SIZE_PX[::-1], 3), 252, np.uint8), 140).good  # a white wall behind somebody who is lit
    assert lit(room(60), 120).good  # a dark wall behind somebody who is lit


def test_steady() -> None:
    still = room()
    moved = [np.roll(still, (3 * (k % 2), 4 * (k % 2)), axis=(0, 1)) for k in range(6)]
    assert moment_of(moved, [person()]).shake_heights == pytest.approx(5 / (0.86 * 1.12 * 200), rel=0.1)  # 3 and 4 px make 5
    assert about(told([person()], burst=moved), "steady").good is False
    assert about(told([person()], burst=[still] * 6), "steady").good
    assert about(told([person()], burst=[still]), "steady").good is None
    dancing = []
    for k in range(6):
        picture = still.copy()
        picture[60:300, 260 + 12 * k : 380 + 12 * k] = room(100, seed=9)[60:300, :120]
        dancing.append(picture)
    assert about(told([person()], burst=dancing), "steady").good  # somebody moves, the phone does not


def test_one_odd_moment_in_four_is_not_told() -> None:
    good, bad = moment_of([room()], [person()]), moment_of([room()], [person(y=270)])
    assert about(told_of([good, good, good, bad], None, "timing"), "feet").good
    assert about(told_of([good, good, bad, bad], None, "timing"), "feet").good is False
    empty = Moment(0, 0, 0, 0, 0, 0, (), None, None, None)
    assert about(told_of([empty, empty, good], None, "timing"), "feet").good


def test_pictures_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(ClipMissing):
        read_picture(tmp_path / "no.jpg")
    (tmp_path / "b.jpg").write_bytes(b"no picture at all")
    with pytest.raises(ClipUnreadable, match="JPEG or PNG"):
        read_picture(tmp_path / "b.jpg")
    with pytest.raises(BadInput, match="0 dancers"):
        look(tmp_path / "b.jpg", dancers=0)


def test_a_picture_keeps_its_colours(tmp_path: Path) -> None:
    import cv2

    cv2.imwrite(str(tmp_path / "red.png"), np.full((8, 8, 3), (0, 0, 200), np.uint8))
    assert read_picture(tmp_path / "red.png")[0, 0].tolist() == [200, 0, 0]


def test_the_outcome_survives_as_plain_values() -> None:
    looked = told([person(y=270)], dancers=2)
    assert looked_from(looked_json(looked)) == looked


def test_in_a_process_of_its_own(tmp_path: Path) -> None:
    script = tmp_path / "say.py"
    script.write_text('import sys; print(\'{"seen": 2, "told": [{"what": "feet", "good": false, "words": "w", "remedy": "r"}]}\')')
    import sys

    looked = look_apart(tmp_path / "x.mp4", dancers=2, purpose="timing", command=[sys.executable, str(script)])
    assert looked == Looked(2, (Told("feet", False, "w", "r"),))
    script.write_text("import sys; print('The clip is gone. Bring it back.', file=sys.stderr); sys.exit(1)")
    with pytest.raises(MotionError, match="The clip is gone"):
        look_apart(tmp_path / "x.mp4", dancers=None, purpose="timing", command=[sys.executable, str(script)])


@pytest.fixture(scope="module")
def still() -> np.ndarray:
    """A picture of the sample clip, 10 s in."""
    from motion.clip.video import open_clip, pictures

    path = SAMPLES / "practice-solo.mp4"
    clip = open_clip(path, settings=SETTINGS.clip)
    with pictures(path, clip, settings=SETTINGS.clip, from_s=10.0, to_s=10.5) as shown:
        return next(iter(shown)).rgb.copy()


@pytest.mark.slow
@pytest.mark.parametrize("spoilt", ["not", "feet", "dark", "far"])
def test_a_sample_changed_on_the_spot(still: np.ndarray, tmp_path: Path, spoilt: str) -> None:
    import cv2

    pose_model("fast")
    picture = still
    if spoilt == "feet":
        rows = np.flatnonzero(np.ones(len(still)))
        picture = still[: round(0.62 * len(rows))]
    elif spoilt == "dark":
        picture = (still * 0.25).astype(np.uint8)
    elif spoilt == "far":
        small = cv2.resize(still, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        picture = np.full_like(still, int(still.mean()))
        y, x = (picture.shape[0] - small.shape[0]) // 2, (picture.shape[1] - small.shape[1]) // 2
        picture[y : y + small.shape[0], x : x + small.shape[1]] = small
    path = tmp_path / "p.png"
    cv2.imwrite(str(path), picture[:, :, ::-1])
    looked = look(path, dancers=1)
    changes = {one.what for one in looked.told if one.good is False}
    assert changes == {"not": set(), "feet": {"feet"}, "dark": {"light"}, "far": {"distance"}}[spoilt]
