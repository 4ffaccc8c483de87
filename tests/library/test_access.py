"""What is held about one dancer."""

from __future__ import annotations

import io
import json
import zipfile

import numpy as np
import pytest
from made_library import BLUE, RED, TODAY, call, shelve

from motion.base.errors import BadInput
from motion.base.options import JudgeOptions
from motion.desk.correct import add, leave_out, not_this_one
from motion.library.access import held_about, held_archive
from motion.library.classes import Library, note_handed_out
from motion.library.consent import PURPOSE, add_no, add_yes
from motion.library.erase import forget_dancer
from motion.library.retention import sweep
from motion.store.folder import read_review, read_stored

pytestmark = pytest.mark.usefixtures("cache_apart")


def test_what_is_held_is_all_of_one_dancer_and_nothing_of_another(library: Library, tuesday: int) -> None:
    job = shelve("a", own=False, expires="2031-06-30")
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.add_review(job.review, job="a", lesson_id=lesson)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    sweep(library, today=TODAY)
    red, blue, k = library.dancers(tuesday)
    library.judge(lesson, red.id, "On the beat", None)
    library.judge(lesson, blue.id, "On the beat", "often")
    library.store_lesson_record({"rows": [{"label": RED, "late": 2}, {"label": BLUE, "late": 5}]}, lesson)
    add_yes(library, [red.id, blue.id], ("adult",), "2031-07-18", today=TODAY)
    for what, label in (("The film of dancer 2", RED.upper()), ("The film of dancer 3", BLUE), ("The counted clip", None)):
        note_handed_out(job.review, what, "file.mp4", label)
    add_no(library, [red.id], ("guardian",), said_by="mother", said_on="2031-02-20", today=TODAY)
    add_no(library, [blue.id], ("child",), said_on="2031-02-21", today=TODAY)
    add_yes(library, [red.id], ("guardian",), "2031-07-18", given_on="2031-02-22", today=TODAY)
    held = held_about(library, red.id)
    told = {"who": "guardian", "said_by": "mother", "purpose": PURPOSE, "said_on": "2031-02-20", "replaced_on": "2031-02-22"}
    assert held["said_no"] == [told]
    assert [one["what"] for one in held["handed_out"]] == ["The film of dancer 2", "The counted clip"]  # dancer 3 is Blue's
    assert (held["label"], held["class"], held["place_in_line"]) == (RED, "Tuesday beginners", 1)
    assert [one["until"] for one in held["agreed"]] == ["2031-07-18"] * 2
    assert [one["level"] for one in held["judgements"]] == [None]
    assert held["lesson_records"] == [[[{"label": RED, "late": 2}]]]
    assert [one["data"][0]["id"] for one in held["reviews"]] == [2]
    with zipfile.ZipFile(io.BytesIO(held_archive(library, red.id))) as box:
        names = sorted(box.namelist())
        assert names == ["held.html", "held.json", "review-1/angles.csv", "review-1/points.npz", "review-1/steps.csv"]
        assert json.loads(box.read("held.json")) == json.loads(json.dumps(held))
        assert box.read("review-1/steps.csv").startswith(b"dancer,time_s")
        rows = box.read("review-1/angles.csv").decode().splitlines()
        assert {row.split(",")[0] for row in rows[1:]} == {"2"}
        with np.load(io.BytesIO(box.read("review-1/points.npz"))) as points:
            assert points["ids"].tolist() == [2]
            assert np.array_equal(points["image_px"][:, 0], read_stored(job.review).landmarks.image_px[:, 1], equal_nan=True)
        assert BLUE.encode() not in b"".join(box.read(name) for name in names)
        page = box.read("held.html").decode()
        for words in (
            "not assessable",
            f"guardian: no to {PURPOSE}, on 20 Feb 2031, until a yes on 22 Feb 2031",
            "The film of dancer 2, file.mp4",
            "data protection authority",
            "points.npz, where the points",
        ):
            assert words in page
    assert [(e.what, e.dancer_id) for e in library.exports()][3:] == [("What is held about a dancer", red.id)]
    assert held_about(library, k.id)["reviews"] == []


def test_a_film_stays_the_one_of_whom_it_shows_when_numbers_move(library: Library, tuesday: int) -> None:
    job = shelve("a")
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    for number, label in ((2, RED), (3, BLUE), (1, None)):
        note_handed_out(job.review, f"The film of dancer {number}", "film.mp4", label)
    note_handed_out(job.review, "The report of dancer 4", "report.html", "Somebody else")
    add(job.review, not_this_one(read_review(job.review), 1), JudgeOptions())
    assert [(one["id"], one["label"]) for one in read_review(job.review)["dancers"]] == [(1, RED), (2, BLUE)]
    red, blue, k = library.dancers(tuesday)
    for one, own, other in ((red, 2, 3), (blue, 3, 2)):
        told = {each["what"]: each["sure_whose"] for each in held_about(library, one.id)["handed_out"]}
        # Of whom the number alone is known it may be anybody's film: it is told, and not claimed.
        assert told == {f"The film of dancer {own}": True, "The film of dancer 1": False, "The report of dancer 4": False}
        with zipfile.ZipFile(io.BytesIO(held_archive(library, one.id))) as box:
            page = box.read("held.html").decode()
        (line,) = [part for part in page.split("<li>") if part.startswith("The film of dancer 1")]
        assert "it is not sure whose it is: only a number was written down" in line
        assert page.count("not sure") == 2
        assert f"The film of dancer {other}" not in page
    assert held_about(library, k.id)["handed_out"] == []
    forget_dancer(library, red.id)
    assert [(one.what, one.dancer_id) for one in library.exports() if "film" in one.what] == [
        ("The film of dancer 3", blue.id),
        ("The film of dancer 1", None),
    ]


def test_a_file_of_a_review_of_no_class_is_written_down_all_the_same(library: Library, tuesday: int) -> None:
    """The same label in a class is then no sign that it is the same person."""
    job = shelve("a")
    library.add_review(job.review, job="a")
    note_handed_out(job.review, "The film of dancer 2", "film.mp4", RED)
    note_handed_out(None, "A lesson as one file", "lesson.html", RED)
    assert [(one.what, one.dancer_id) for one in library.exports()] == [
        ("The film of dancer 2", None),
        ("A lesson as one file", None),
    ]


def test_what_is_held_of_somebody_who_was_left_out_is_told_and_given(library: Library, tuesday: int) -> None:
    job = shelve("a")
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    note_handed_out(job.review, "The counted clip", "counted-clip.mp4")
    for number in (2, 1):
        add(job.review, leave_out(read_review(job.review), number), JudgeOptions())
    red, blue, k = library.dancers(tuesday)
    held = held_about(library, red.id)
    ((review),) = held["reviews"]
    assert (review["data"], review["left_out"]) == ([], True)
    assert review["in_words"].startswith("Left out of this review: nothing is told of them in it, but where the points")
    assert [one["what"] for one in held["handed_out"]] == ["The counted clip"]
    with zipfile.ZipFile(io.BytesIO(held_archive(library, red.id))) as box:
        assert sorted(box.namelist()) == ["held.html", "held.json", "review-1/left-out.npz"]
        with np.load(io.BytesIO(box.read("review-1/left-out.npz"))) as points:
            assert np.array_equal(points["image_px"][:, 0], read_stored(job.review).landmarks.image_px[:, 1], equal_nan=True)
            assert points["image_px"].shape[1] == 1
        page = box.read("held.html").decode()
    assert "Left out of this review" in page
    assert BLUE not in page
    ((review),) = held_about(library, blue.id)["reviews"]
    assert ([one["label"] for one in review["data"]], review["left_out"]) == ([BLUE], False)
    assert held_about(library, k.id)["reviews"] == []  # who was left out without a label is nobody's


def test_one_label_twice_and_one_of_them_left_out(library: Library, tuesday: int) -> None:
    """Such as where the same person was followed as two."""
    job = shelve("a")
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 2, RED)
    call(job.review, 3, RED)
    add(job.review, leave_out(read_review(job.review), 2), JudgeOptions())
    stored = read_stored(job.review).landmarks
    with zipfile.ZipFile(io.BytesIO(held_archive(library, library.dancers(tuesday)[0].id))) as box:
        for name, whose in (("points", 2), ("left-out", 1)):
            with np.load(io.BytesIO(box.read(f"review-1/{name}.npz"))) as points:
                assert np.array_equal(points["image_px"], stored.image_px[:, [whose]], equal_nan=True)
        rows = box.read("review-1/angles.csv").decode().splitlines()
    assert {row.split(",")[0] for row in rows[1:]} == {"2"}


def test_a_label_that_nobody_has_any_more_is_told_as_written_down(library: Library, tuesday: int) -> None:
    job = shelve("a")
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 2, RED)
    call(job.review, 2, BLUE)
    note_handed_out(job.review, "The counted clip", "counted-clip.mp4")
    held = held_about(library, library.dancers(tuesday)[0].id)
    assert [(one["data"], one["left_out"], one["in_words"]) for one in held["reviews"]] == [
        ([], False, "The label is still written down in what was put right by hand; nobody has it in this review now.")
    ]
    assert held["handed_out"] == []


def test_nothing_can_be_held_about_somebody_who_is_not_there(library: Library) -> None:
    with pytest.raises(BadInput, match="not in the library"):
        held_about(library, 5)
