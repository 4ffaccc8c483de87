"""Who is who on the page: the map of the class, and each thing that can be put right there."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made import made_review
from streamlit.testing.v1 import AppTest

from motion.base.errors import BadStore
from motion.base.options import JudgeOptions
from motion.base.types import Clip, Landmarks
from motion.clip.video import open_clip
from motion.desk.correct import add, not_this_one
from motion.desk.review_clip import judge_folder
from motion.film.class_map import INK, NUMBER, PAPER, class_map, clearest_s, floor_plan, folder_map
from motion.film.covers import COVER
from motion.jobs.queue import Job
from motion.review.corrections import Correction, Masks, Point, apply, hide
from motion.review.settings import SETTINGS
from motion.store.corrections import read_corrections
from motion.store.folder import read_review, read_stored, write_review
from motion.store.serialize import review_json
from motion.tell.report import report_html

Shelve = Callable[..., Job]
#: The small films here are 96 x 64.
SIZE_PX = (96, 64)
SMALL = made_review(3, 8, size_px=SIZE_PX).landmarks


@pytest.fixture
def film(tmp_path: Path, make_film: Callable[..., None]) -> tuple[Path, Clip]:
    path = tmp_path / "class.mp4"
    make_film(path, np.arange(150) / 30, click_s=1.0)
    return path, open_clip(path, settings=SETTINGS.clip)


def pixels(png: bytes) -> np.ndarray:
    import cv2

    read = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_COLOR)
    assert read is not None
    return np.asarray(read[:, :, ::-1]).astype(int)


def is_near(image: np.ndarray, colour: tuple[int, int, int], off: int = 12) -> np.ndarray:
    return np.asarray(np.abs(image - np.array(colour)).max(axis=2) < off)


def face(lm: Landmarks, p: int, time_s: float) -> tuple[int, int]:
    x, y = lm.image_px[int(np.argmin(np.abs(lm.times_s - time_s))), p, :11].mean(0)
    return round(x), round(y)


def test_the_map_numbers_who_is_shown_and_covers_everybody_else(film: tuple[Path, Clip]) -> None:
    """Of three, the first is shown, the second covered whole, the third left out: head covered, no number."""
    path, clip = film
    x, y = SMALL.image_px[60, 1, [23, 24]].mean(0)
    hidden = hide(SMALL, (Correction("hide", Point(2.0, x, y)),), Masks(), SIZE_PX, SETTINGS.desk)
    shown = apply(hidden.landmarks, (Correction("leave out", Point(2.0, *SMALL.image_px[60, 2, [23, 24]].mean(0))),), SETTINGS.desk)
    image = pixels(class_map(path, clip, shown.landmarks, hidden.landmarks, hidden.masks, 2.0))
    assert image.shape == (64, 96, 3)
    numbered, plain = is_near(image, NUMBER, 40), is_near(image, PAPER)
    (ax, ay), (bx, by), (cx, cy) = (face(SMALL, p, 2.0) for p in range(3))
    assert numbered[ay - 2 : ay + 3, ax - 3 : ax + 4].any()
    assert not numbered[:, bx - 6 :].any()
    assert plain[cy - 1 : cy + 1, cx - 1 : cx + 1].all()
    left, top, right, bottom = hidden.masks.at(2.0)[0].astype(int)
    block = image[top + 1 : bottom - 1, max(left + 1, ax + 14) : min(right - 1, cx - 8)]
    assert block.size > 3000
    assert np.ptp(block.reshape(-1, 3), axis=0).max() <= 6  # one plain colour
    assert top <= by <= bottom


def test_the_map_is_ink_on_paper_and_of_the_asked_moment(film: tuple[Path, Clip]) -> None:
    """Picture n is grey 40 + n; nobody is in it."""
    path, clip = film
    nobody = Landmarks(SMALL.times_s, SMALL.ids[:0], SMALL.image_px[:, :0], SMALL.visibility[:, :0])
    shades = [pixels(class_map(path, clip, nobody, nobody, Masks(), t)).mean(axis=(0, 1)) for t in (0.0, 3.0, 999.0)]
    for n, shade in zip((0, 90, 149), shades, strict=True):
        tone = 0.4 + 0.6 * (40 + n) / 255
        assert shade == pytest.approx(np.array(INK) * (1 - tone) + np.array(PAPER) * tone, abs=3)


def test_a_large_picture_makes_a_small_map(film: tuple[Path, Clip]) -> None:
    path, clip = film
    small = replace(SETTINGS, page=replace(SETTINGS.page, map_width_px=48))
    assert pixels(class_map(path, clip, SMALL, SMALL, Masks(), 1.0, settings=small)).shape == (32, 48, 3)


def test_a_stored_reviews_map_knows_what_was_put_right(film: tuple[Path, Clip], tmp_path: Path) -> None:
    path, clip = film
    review = made_review(3, 8, size_px=SIZE_PX, name=path.name)
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    write_review(tmp_path / "r", replace(review, clip=replace(review.clip, sha256=sha256)), extra_arrays={}, report_html=None)
    before = pixels(folder_map(tmp_path / "r", path, clip, 2.0))
    add(tmp_path / "r", not_this_one(read_review(tmp_path / "r"), 2), JudgeOptions(bpm=108.0, first_count_s=4.84))
    after = pixels(folder_map(tmp_path / "r", path, clip, 2.0))
    (bx, by) = face(SMALL, 1, 2.0)
    assert is_near(before, NUMBER, 40)[by - 2 : by + 3, bx - 3 : bx + 4].any()
    assert not is_near(after, NUMBER, 40)[by - 2 : by + 3, bx - 3 : bx + 4].any()
    tone = 0.4 + 0.6 * (np.array(COVER) @ np.array([0.299, 0.587, 0.114])) / 255
    assert after[by, bx] == pytest.approx(np.array(INK) * (1 - tone) + np.array(PAPER) * tone, abs=2)


def test_the_clearest_moment_has_most_dancers_far_apart() -> None:
    def one(unsure: list[list[float]], xs: list[float]) -> dict[str, Any]:
        track = {"times_s": [0.0, 4.0, 8.0], "pelvis_px": [[x, 100.0] for x in xs], "height_px": [100.0] * 3, "unsure": unsure}
        return {"id": 1, "label": None, "track": track}

    still = one([], [0.0, 0.0, 0.0])
    away = one([], [10.0, 200.0, 10.0])
    assert clearest_s({"dancers": [still, away]}) == 4.0
    assert clearest_s({"dancers": [still, one([[3.0, 5.0]], [10.0, 200.0, 10.0])]}) in (2.9, 5.1)
    assert clearest_s({"dancers": [still, one([[0.0, 7.5]], [10.0, 200.0, 10.0])]}) == 7.6
    assert clearest_s({"clip": {"duration_s": 7.57}, "dancers": [still, one([[0.0, 7.5]], [10.0, 200.0, 10.0])]}) == 7.57
    assert clearest_s({"dancers": []}) == 0.0


def test_the_clearest_moment_has_everybody_wholly_in_the_picture() -> None:
    """The picture is 400 by 300, who dances 200 tall: hips from 44 to 356 across, and from 90 to 200 down, are wholly in it."""

    def at(xs: list[float], ys: list[float], heights: list[float | None]) -> dict[str, Any]:
        track = {"times_s": [0.0, 4.0, 8.0], "pelvis_px": list(zip(xs, ys, strict=True)), "height_px": heights, "unsure": []}
        return {"id": 1, "label": None, "track": track}

    def found(*ahead: Any, clip: dict[str, int] | None = None) -> float:
        still = at([100.0] * 3, [150.0] * 3, [200.0] * 3)
        return clearest_s({"clip": clip or {"width_px": 400, "height_px": 300}, "dancers": [still, at(*ahead)]})

    tall: list[float | None] = [200.0] * 3
    aside, down = ([200.0, 400.0, 200.0], [150.0] * 3, tall), ([200.0, 300.0, 200.0], [150.0, 250.0, 150.0], tall)
    assert found(*aside) in (3.1, 4.9)  # 50 px a second: at 355, before it is cut off
    assert found(*down) in (2.0, 6.0)  # feet at the picture's lower edge
    assert found(*aside, clip={"width_px": 500, "height_px": 300}) == 4.0
    assert found([100.0] * 3, [20.0, 250.0, 20.0], tall) in (1.3, 6.7)  # head at its upper edge: 57.5 px a second, at 95
    assert found([390.0, 410.0, 390.0], [150.0] * 3, [None] * 3) in (2.0, 6.0)  # of unknown height: hips in the picture


def test_the_plan_shows_where_everyone_stands() -> None:
    review = review_json(made_review(3, 8, labels=("<K>", None, None)))
    svg = floor_plan(review, 1.0)
    assert [int(n) for n in re.findall(r">(\d+)</text>", svg)] == [1, 2, 3]
    at = [float(x) for x in re.findall(r'<text x="([\d.]+)"', svg)]
    assert at == pytest.approx([240, 480, 720], abs=15)
    assert "<K>" not in svg
    assert "&lt;K&gt;" in svg


# --- the page


@pytest.fixture
def page(open_page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch) -> Callable[[], AppTest]:
    """The review page; judging again happens in this process and writes the review as made, but for who is who."""

    def recount(folder: Path, judge: JudgeOptions, command: Any = None) -> None:
        monkeypatch.setattr("motion.review.judge.judge", as_made)
        judge_folder(folder, judge)

    def as_made(watched: Any, options: JudgeOptions, *, labels: tuple[str | None, ...], **_: Any) -> Any:
        made = made_review(len(labels), 12, labels=labels, name=watched.clip.name)
        tracks = [replace(d, track=replace(d.track, pelvis_px=watched.landmarks.image_px[:, p, [23, 24]].mean(1)))
                  for p, d in enumerate(made.dancers)]  # fmt: skip
        return replace(made, clip=watched.clip, landmarks=watched.landmarks, dancers=tuple(tracks))

    monkeypatch.setattr("motion.desk.correct.recount", recount)

    return lambda: open_page("page_review.py")


def press(app: AppTest, words: str) -> AppTest:
    return next(b for b in app.button if b.label.startswith(words)).click().run()


def choose(app: AppTest, way: str) -> AppTest:
    return app.radio(key="way-class").set_value(next(o for o in app.radio(key="way-class").options if o.startswith(way))).run()


def names(app: AppTest) -> list[str]:
    return list(app.segmented_control(key="dancer").options)


def first_x(job: Job) -> list[int]:
    return [round(d["track"]["pelvis_px"][0][0]) for d in read_review(job.review)["dancers"]]


def words_of(app: AppTest) -> str:
    return "\n".join(m.value for m in [*app.markdown, *app.caption, *app.warning, *app.info])


def test_a_label_is_given_shown_and_taken_back(page: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("class", 3, 12)
    app = page()
    assert not app.exception
    assert "A plan from where the dancers were found: the clip itself is not at hand." in words_of(app)
    who = next(s for s in app.selectbox if s.label == "Who?")
    who.select_index(1)
    app.text_input(key="label").set_value("Red")
    app = press(app, "Give this label")
    assert not app.exception
    assert names(app) == ["Dancer 1", "Dancer 2 · Red", "Dancer 3"]
    assert "Dancer 2 is called Red." in words_of(app)
    app = press(app, "Take back")
    assert names(app) == ["Dancer 1", "Dancer 2", "Dancer 3"]
    assert "Put right by hand" not in [s.value for s in app.subheader]


def test_a_label_that_is_refused_says_why(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 3, 12)
    app = page()
    app.text_input(key="label").set_value("<b>")
    app = press(app, "Give this label")
    assert app.error[0].value == "The label holds '<'. Use letters, digits and spaces."
    assert not (job.review / "corrections.json").exists()


def test_two_are_exchanged_from_the_moment_shown(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 3, 12)
    app = page()
    app.slider[0].set_value(6.0).run()
    app = choose(app, "Exchange")
    app = press(app, "Exchange them from 0:06.0 on")
    assert not app.exception
    assert "Dancers 1 and 2 exchanged from 6.0 s on." in words_of(app)
    assert first_x(job) == pytest.approx([240, 480, 720], abs=15)
    ends = [d["track"]["pelvis_px"][-1][0] for d in read_review(job.review)["dancers"]]
    assert ends == pytest.approx([480, 240, 720], abs=15)


def test_somebody_is_left_out_and_comes_back(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 3, 12)
    app = choose(page(), "Leave somebody out")
    next(s for s in app.selectbox if s.label == "Who?").select_index(1)
    app = press(app, "Leave out")
    assert names(app) == ["Dancer 1", "Dancer 2"]
    assert first_x(job) == [240, 720]
    assert any("Left out by hand: 1." in i.value for i in app.info)
    app = press(app, "Take back")
    assert len(names(app)) == 3


def test_two_numbers_become_one_dancer(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 3, 12)
    app = press(choose(page(), "Two numbers"), "They are one")
    assert first_x(job) == [240, 720]
    app = choose(app, "Two numbers")
    next(s for s in app.selectbox if s.label == "Who is the same?").select_index(0)
    app = press(app, "They are one")
    assert app.error[0].value == "Dancer 1 is named twice. Choose two different dancers."


def test_covering_somebody_asks_twice_and_stays(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 3, 12)
    app = choose(page(), "Not this one")
    assert "It cannot be taken back." in app.warning[0].value
    app = press(app, "Cover for good")
    assert "Tick the box first." in [i.value for i in app.info]
    assert len(read_stored(job.review).landmarks.ids) == 3
    app.checkbox(key="sure-hide").check()
    app = press(app, "Cover for good")
    assert not app.exception
    assert first_x(job) == [480, 720]
    assert len(read_stored(job.review).landmarks.ids) == 2
    assert "Dancer 1 covered for good. _Stays._" in words_of(app)
    assert not [b for b in app.button if b.label == "Take back"]


def test_one_dancer_alone_cannot_be_mixed_up_or_left_out(page: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("class", 1, 12)
    options = ["Give a dancer a short label", "Somebody dances a version of their own"]
    assert list(page().radio(key="way-class").options) == options


@pytest.mark.parametrize("dancers", [1, 3])
def test_a_version_of_their_own_is_marked_and_taken_back(page: Callable[[], AppTest], shelve: Shelve, dancers: int) -> None:
    job = shelve("class", dancers, 12)
    app = choose(page(), "Somebody dances a version")
    next(s for s in app.selectbox if s.label == "Who?").select_index(dancers - 1)
    app = press(app, "It is their own version")
    assert not app.exception
    assert f"Dancer {dancers} dances a version of their own." in words_of(app)
    (kept,) = next(iter(read_corrections(job.review).values()))
    assert (kept.kind, kept.numbers) == ("own version", (dancers,))
    app = press(app, "Take back")
    assert not any(read_corrections(job.review).values())


@pytest.mark.parametrize("why", [None, "The disk is full"])
def test_covering_somebody_reaches_the_kept_copy_at_once_or_says_that_it_could_not(
    page: Callable[[], AppTest], shelve: Shelve, monkeypatch: pytest.MonkeyPatch, why: str | None
) -> None:
    """The copy of a clip of the page's own is made anew right after somebody is covered; after a label it is not."""
    made: list[str] = []

    def stand_in(job: Job) -> bool:
        made.append(job.id)
        if why is not None:
            raise BadStore(why, "Make room")
        return True

    monkeypatch.setattr("motion.jobs.covered_copy.is_current", lambda job: False)
    monkeypatch.setattr("motion.jobs.covered_copy.keep_viewing_copy", stand_in)
    shelve("class", 3, 12)
    app = page()
    app.text_input(key="label").set_value("Red")
    app = press(app, "Give this label")
    assert made == []
    app = choose(app, "Not this one")
    assert "that too, at once" in app.warning[0].value
    app.checkbox(key="sure-hide").check()
    app = press(app, "Cover for good")
    assert not app.exception
    assert made == ["class"]
    told = [w.value for w in app.warning if "not covered yet" in w.value]
    assert len(told) == (why is not None)
    assert all("The disk is full. Make room." in words for words in told)


def test_a_damaged_file_of_corrections_is_said(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 2, 12)
    (job.review / "corrections.json").write_text("{")
    app = page()
    assert not app.exception
    assert "corrections.json is damaged or was not written by this program." in app.error[0].value
    assert (job.review / "corrections.json").read_text() == "{"


def test_the_report_carries_the_label(page: Callable[[], AppTest], shelve: Shelve) -> None:
    job = shelve("class", 2, 12)
    app = page()
    app.text_input(key="label").set_value("Red")
    press(app, "Give this label")
    assert "Dancer 1 · Red" in (job.review / "report.html").read_text(encoding="utf-8")
    assert report_html(read_review(job.review)).count("Red") > 0
    assert next(iter(read_corrections(job.review).values()))[0].numbers == (1,)
