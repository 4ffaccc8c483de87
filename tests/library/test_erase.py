"""Every trace of a dancer."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made_library import BLUE, RED, TODAY, bytes_under, call, holding, lit, shelve, store

import motion.desk.open_review as opened_module
import motion.review.judge as review_module
from motion.base.errors import BadStore, MotionError
from motion.base.home import home
from motion.base.options import JudgeOptions
from motion.desk.review_clip import judge_folder
from motion.jobs.queue import find
from motion.library.access import held_about, held_archive
from motion.library.classes import Library, library_file, open_library
from motion.library.consent import add_no, add_yes, refusals
from motion.library.erase import HANDED_OUT, forget_dancer, forget_in_review, scrubbed
from motion.library.retention import forget_class, forget_lesson, sweep
from motion.review import checkpoint
from motion.store.folder import read_review, read_stored

pytestmark = pytest.mark.usefixtures("cache_apart")


def test_deleting_a_dancer_leaves_no_trace_in_file_or_database(library: Library, tuesday: int) -> None:
    job = shelve("a")
    lesson = library.add_lesson(tuesday, "2031-03-01", f"{RED} leads")
    library.add_review(job.review, job="a", lesson_id=lesson)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    kept = json.loads((job.review / "corrections.json").read_text())
    kept["clips"]["another clip's"] = next(iter(kept["clips"].values()))
    (job.review / "corrections.json").write_text(json.dumps(kept))
    sweep(library, today=TODAY)
    red, blue, _ = library.dancers(tuesday)
    library.judge(lesson, red.id, "On the beat", "often", "better")
    library.judge(lesson, blue.id, "On the beat", "often", f"watch {RED}")
    library.store_lesson_record({"rows": [{"label": RED, "late": 2}, {"label": BLUE}], RED: 1, "note": f"{RED}, well"}, lesson)
    add_yes(library, [red.id], ("guardian", "child"), "2031-07-18", said_by=f"mother of {RED}", today=TODAY)
    add_no(library, [red.id], ("child",), said_by="Verneinung", today=TODAY)
    add_no(library, [blue.id], ("child",), said_by=f"like {RED}", today=TODAY)
    assert holding("Verneinung", library_file().parent)
    library.log_export("hand-out", "handout.mp4", dancer_id=red.id)
    library.log_export("report", "report.html", folder=job.review)
    (checkpoint.folder()).mkdir(parents=True)
    (checkpoint.folder() / "note.npz").write_bytes(b"where people stood")
    lm = read_stored(job.review).landmarks
    k = len(lm.times_s) // 2
    hip = lm.image_px[k, 1, 24]
    assert holding(RED, home())

    done = forget_dancer(library, red.id)

    assert holding(RED, home()) == holding("Verneinung", home()) == []
    assert holding(BLUE, home()) != []
    assert [(one.dancer_id, one.said_by) for one in refusals(library)] == [(blue.id, "like …")]
    stored = read_stored(job.review)
    assert stored.landmarks.image_px.shape[1] == 2
    everything = np.concatenate([a.ravel() for a in stored.arrays.values()] + [stored.landmarks.image_px.ravel()])
    assert np.isin(lm.image_px[k, 0, :, 0], everything).all()
    assert not np.isin(lm.image_px[k, 1, :, 0], everything).any()  # not one of their points is left
    assert [one["label"] for one in stored.review["dancers"]] == [None, BLUE]
    for table in ("steps.csv", "angles.csv"):
        assert {line.split(",")[0] for line in (job.review / table).read_text().splitlines()[1:]} <= {"1", "2"}
    assert lit((find("a") or job).clip, float(lm.times_s[k]))[round(hip[1]), round(hip[0])]
    assert list(checkpoint.folder().iterdir()) == []
    assert library.labels_in_standing_order(tuesday) == [BLUE, "K"]
    assert library.lesson_records(lesson) == [{"rows": [{"label": BLUE}], "note": "…, well"}]
    assert [one.words for one in library.judgements(lesson_id=lesson)] == ["watch …"]
    assert library.lessons(tuesday)[0].title == "… leads"
    said = "\n".join(done.left)
    assert "hand-out, handout.mp4, handed out on" in said
    assert "report, report.html, handed out on" in said
    assert "shows dancers without a label" in said
    assert done.left[-1] == HANDED_OUT
    assert [e.name for e in library.exports()] == ["report.html"]


def test_nothing_of_a_label_is_left_in_the_librarys_own_files(library: Library, tuesday: int) -> None:
    """Looked at while the library is open, so that its log and the log's index lie beside it; long words fill pages of their own."""

    def files() -> dict[str, bytes]:
        return {end: Path(f"{library_file()}{end}").read_bytes() for end in ("", "-wal", "-shm")}

    red, *_, k = library.dancers(tuesday)
    for n in range(30):
        lesson = library.add_lesson(tuesday, "2031-03-01", f"Evening {n} with {RED}")
        library.judge(lesson, red.id, "On the beat", "often", f"{RED} " * 300)
        library.judge(lesson, k.id, "On the beat", "often", f"beside {RED}")
        library.store_lesson_record({"rows": [{"label": RED, "said": f"{RED} " * 300}]}, lesson)
        if n == 20:
            library.rows("PRAGMA wal_checkpoint(TRUNCATE)")  # the label lies in the file itself, and then in its log too
    before = files()
    assert RED.encode() in before[""]
    assert RED.encode() in before["-wal"]
    forget_dancer(library, red.id)
    after = files()
    assert after.keys() == before.keys()
    for coded in (RED.encode(), RED.lower().encode(), RED.upper().encode(), RED.encode("utf-16-le")):
        assert [end for end, content in after.items() if coded in content] == []
    assert BLUE.encode() in after[""]


def test_a_judgement_taken_back_is_in_no_file_and_no_later_export(library: Library, tuesday: int) -> None:
    red, blue, _ = library.dancers(tuesday)
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.judge(lesson, blue.id, "On the beat", "often", "stays")
    library.judge(lesson, red.id, "On the beat", "often", "verschwindet")
    library.rows("PRAGMA wal_checkpoint(TRUNCATE)")
    library.judge(lesson, red.id, "Steps", "often", "verschwindet")
    assert len(holding("verschwindet", home())) >= 2  # in the file and in its log
    assert len(held_about(library, red.id)["judgements"]) == 2
    library.take_back(lesson, red.id)
    assert holding("verschwindet", home()) == []
    assert held_about(library, red.id)["judgements"] == []
    with zipfile.ZipFile(io.BytesIO(held_archive(library, red.id))) as box:
        assert not [name for name in box.namelist() if b"verschwindet" in box.read(name) or b"often" in box.read(name)]
    assert [one.words for one in library.judgements()] == ["stays"]


def test_a_review_that_shows_nobody_else_goes_whole(library: Library, tuesday: int) -> None:
    job = shelve("a", 1)
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 1, RED)
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    assert find("a") is None
    assert not job.folder.exists()
    assert done.done[0] == "The review of lesson.mp4 is deleted"
    assert holding(RED, home()) == []


def test_a_label_given_to_somebody_who_is_found_no_longer_goes_too(library: Library, tuesday: int, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review")
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    kept = json.loads((folder / "corrections.json").read_text())
    (rows,) = kept["clips"].values()
    rows[0]["at"]["x_px"] += 5000  # nobody stands there
    kept["clips"]["another clip's"] = rows
    (folder / "corrections.json").write_text(json.dumps(kept))
    judge_folder(folder, JudgeOptions())
    assert holding(RED, folder)
    forget_dancer(library, library.dancers(tuesday)[0].id)
    assert holding(RED, folder, library_file().parent) == []
    assert len(read_review(folder)["dancers"]) == 3


def test_a_review_of_another_class_with_the_same_label_is_named_and_not_touched(
    library: Library, tuesday: int, tmp_path: Path
) -> None:
    other = library.add_class("Friday")
    folder = store(tmp_path / "friday.review")
    library.add_review(folder, class_id=other)
    call(folder, 2, RED)
    before = bytes_under(folder)
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    assert bytes_under(folder) == before
    assert any("also has a dancer called" in line for line in done.left)


def test_what_still_says_the_label_is_named(library: Library, tuesday: int, tmp_path: Path) -> None:
    clip = tmp_path / f"{RED}.mp4"
    clip.write_bytes(b"film")
    folder = store(tmp_path / "lesson.review", clip=clip)
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    assert any(f"still says {RED}, perhaps as the clip's name" in line for line in done.left)
    assert any(line.startswith(f"The clip {RED}.mp4 itself is yours") for line in done.left)


def test_when_a_review_cannot_be_changed_the_dancer_stays_to_be_deleted_again(
    library: Library, tuesday: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = store(tmp_path / "lesson.review")
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    red = library.dancers(tuesday)[0].id

    def fails(*_: Any, **__: Any) -> None:
        raise MotionError("Judging again took too long and was stopped")

    with monkeypatch.context() as patched:
        patched.setattr("motion.desk.correct.recount", fails)
        with pytest.raises(MotionError, match="took too long"):
            forget_dancer(library, red)
    assert library.dancer(red).label == RED
    forget_dancer(library, red)
    assert holding(RED, folder, library_file().parent) == []


def test_somebody_without_a_label_can_be_taken_out_of_one_review(library: Library) -> None:
    job = shelve("a")
    library.add_review(job.review, job="a")
    judge_folder(job.review, JudgeOptions())
    assert (opened_module._laid_open.cache_info().currsize, review_module._bodies.cache_info().currsize) == (1, 1)
    forget_in_review(library, library.reviews()[0], [1, 2])
    assert (opened_module._laid_open.cache_info().currsize, review_module._bodies.cache_info().currsize) == (0, 0)
    assert len(read_review(job.review)["dancers"]) == 1
    judge_folder(job.review, JudgeOptions())
    forget_in_review(library, library.reviews()[0], [1])
    assert find("a") is None
    assert (opened_module._laid_open.cache_info().currsize, review_module._bodies.cache_info().currsize) == (0, 0)


def test_lessons_and_classes_go_with_all_that_belongs_to_them(library: Library, tuesday: int, tmp_path: Path) -> None:
    job, folder = shelve("a"), store(tmp_path / "b.review")
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.add_review(job.review, job="a", lesson_id=lesson)
    library.add_review(folder, class_id=tuesday)
    forget_lesson(library, lesson)
    assert (find("a"), folder.exists(), library.lessons()) == (None, True, [])
    forget_class(library, tuesday)
    assert (folder.exists(), library.classes()) == (False, [])
    assert holding("Tuesday", library_file().parent) == holding(BLUE, library_file().parent) == []


def test_the_library_says_so_if_old_pages_cannot_be_cleared_away(library: Library, tuesday: int) -> None:
    library.rows("PRAGMA busy_timeout = 0")
    with open_library() as other:
        other.rows("BEGIN")
        other.dancers(tuesday)
        with pytest.raises(BadStore, match="in use by another window"):
            forget_dancer(library, library.dancers(tuesday)[0].id)


def test_scrubbing_takes_the_label_and_nothing_that_only_contains_it() -> None:
    before = {"rows": [["Red", "Blue"], {"who": "red", "n": 1}], "words": "Redo what Red did", "n": 3, "none": None}
    assert scrubbed(before, "Red") == {"rows": [["Blue"]], "words": "Redo what … did", "n": 3, "none": None}
