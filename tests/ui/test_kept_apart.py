"""What the page keeps from one run to the next holds for one review as it is judged; and what it cannot open harms nothing else."""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from real_browser import wait_for
from streamlit.testing.v1 import AppTest

import motion.jobs.queue as jobs_module
from motion.base.errors import BadInput, BadStore
from motion.base.home import home
from motion.base.options import JudgeOptions, WatchOptions
from motion.desk.correct import add, exchange, not_this_one
from motion.desk.review_clip import judge_folder
from motion.jobs.queue import Job, delete, find, finished, start, status, sweep_uploads
from motion.library.classes import open_library
from motion.review.settings import SETTINGS
from motion.store.folder import read_review
from motion.store.sheets import keep_sheet, own_sheets
from motion.tell.moments import Window

Shelve = Callable[..., Job]
Open = Callable[..., AppTest]


def buttons(app: AppTest) -> list[str]:
    return [str(one.label) for one in app.get("download_button")]  # type: ignore[attr-defined]


@pytest.mark.parametrize("forgotten", [True, False], ids=["in this window", "in another window"])
def test_the_film_of_somebody_who_was_covered_is_not_offered_to_whoever_has_their_number_now(
    open_page: Open, shelve: Shelve, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, forgotten: bool
) -> None:
    (tmp_path / "class.mp4").write_bytes(b"film")
    folder = shelve("class", 3, 32).review
    monkeypatch.setattr("motion.film.take_home.handout_apart", lambda *_, **__: b"dancer 1 as they were")
    app = open_page("page_review.py", view="student", review="class")
    app.button(key="handout-class-1").click().run()
    assert "Take the film" in buttons(app)
    if forgotten:
        add(folder, not_this_one(read_review(folder), 1), JudgeOptions())
    else:
        add(folder, exchange(read_review(folder), 1, 2, 1.0), JudgeOptions())
    app.run()
    assert not app.exception
    assert "Take the film" not in buttons(app)
    assert "handout" not in app.session_state


def test_forgetting_drops_the_film_and_the_moments_of_this_window(monkeypatch: pytest.MonkeyPatch) -> None:
    import parts

    state: dict[str, Any] = dict.fromkeys((*parts.KEPT, "upload"), "kept")
    monkeypatch.setattr(parts.st, "session_state", state)
    parts.forget()
    assert list(state) == ["upload"]


def test_a_moment_is_not_played_once_the_counts_have_moved(open_page: Open, shelve: Shelve) -> None:
    folder = shelve("solo", 1, 32).review
    app = open_page("page_review.py", view="student", review="solo")
    app.button(key="student-1-Watch what to try").click().run()
    assert len(app.error) == 1  # there is no clip, which is said where the moment would be played
    assert "no longer where it was" in app.error[0].value
    judge_folder(folder, JudgeOptions(bpm=110.0, first_count_s=3.0))
    app.run()
    assert not app.exception
    assert len(app.error) == 0


def test_a_moment_of_one_review_is_not_played_in_another(open_page: Open, shelve: Shelve) -> None:
    shelve("first", 1, 32, started_at=2e9)
    shelve("second", 1, 32)
    app = open_page("page_review.py", review="first")
    app.button(key="play-1-a").click().run()
    assert "no longer where it was" in app.error[0].value  # there is no clip, which is said where the moment would be played
    app.selectbox(key="review").select("second").run()
    assert not app.exception
    assert len(app.error) == 0


@pytest.mark.parametrize("view", ["student", "choreographer"])
@pytest.mark.parametrize("broken", ["{", None], ids=["damaged", "gone"])
def test_another_review_that_cannot_be_opened_keeps_none_from_being_shown(
    open_page: Open, shelve: Shelve, view: str, broken: str | None
) -> None:
    shelve("good", 1, 32, started_at=2e9)
    shelve("same", 1, 32)
    path = shelve("bad", 1, 32).review / "review.json"
    if broken is None:
        path.unlink()
    else:
        path.write_text(broken, encoding="utf-8")
    app = open_page("page_review.py", view=view, review="good")
    assert not app.exception
    assert not app.error
    beside = next(s for s in app.selectbox if s.label in ("Set beside an earlier clip of yours", "Beside which take?"))
    assert len(beside.options) == 2  # none, and the one that can be opened
    app = open_page("page_review.py", view=view, review="bad")
    assert not app.exception
    assert "review.json is damaged" in app.error[0].value if broken else "holds no review" in app.error[0].value


def test_nor_the_page_of_range_checks_and_a_lesson_names_how_many_of_its_clips_cannot_be_opened(
    open_page: Open, shelve: Shelve
) -> None:
    good, bad = shelve("good", 2, 16, started_at=2e9), shelve("bad", 2, 16)
    with open_library() as library:
        lesson = library.add_lesson(library.add_class("Tuesday"), "2031-03-04", "Second evening")
        for job in (good, bad):
            library.add_review(job.review, lesson_id=lesson)
    (bad.review / "review.json").write_text("{", encoding="utf-8")
    app = open_page("page_range.py")
    assert (list(app.error), list(app.exception)) == ([], [])
    app = open_page("page_review.py", view="teacher", review="good", dancers="shown")
    assert (list(app.error), list(app.exception)) == ([], [])
    assert any(said.value.endswith("cannot be opened, and so are not in what follows: 1.") for said in app.caption)
    assert "Your own judgement" in [head.value for head in app.subheader]


def test_a_first_count_before_the_clip_can_be_put_right(open_page: Open, shelve: Shelve) -> None:
    judge_folder(shelve("solo", 1, 32).review, JudgeOptions(bpm=110.0, first_count_s=-1.0))
    app = open_page("page_review.py")
    assert not app.exception
    assert [field.value for field in app.number_input if field.label == "Count 1 falls at second"] == [-1.0]


def test_a_press_on_the_counts_of_a_review_that_is_gone_is_told(shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    import part_counts

    folder = shelve("solo", 1, 32).folder
    (one,) = finished()
    shutil.rmtree(folder)
    state: dict[str, Any] = {}
    monkeypatch.setattr(part_counts.st, "session_state", state)
    part_counts._moved(one, 1)
    key, why = state[part_counts.NOT_JUDGED]
    assert key == "solo"
    assert why.startswith("There is no review folder")


def test_two_moments_in_one_stretch_of_film_are_told_apart(shelve: Shelve, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    import parts

    class Clip:
        sha256 = "of the clip"

    folder, shown = shelve("solo", 1, 32).review, list[dict[str, Any]]()
    monkeypatch.setattr(parts, "_film", lambda *_: "film")
    monkeypatch.setattr(parts, "_player", lambda key, data: shown.append(data))
    for at_s, about in ((3.0, "Count 5: late"), (3.0, "Count 5: late"), (3.1, "Count 5: other foot")):
        parts.play(tmp_path / "solo.mp4", Clip(), Window(1.0, 5.0, at_s, ()), about, folder)
    assert shown[0]["id"] == shown[1]["id"] != shown[2]["id"]  # the browser draws anew what has another id, and only that


# --- the shelf


def test_a_folder_that_was_opened_and_deleted_since_is_left_out(open_page: Open, shelve: Shelve, tmp_path: Path) -> None:
    shelve("other", 1, 16)
    folder = tmp_path / "opened.review"
    shutil.copytree(shelve("mine", 1, 16).review, folder)
    assert finished(folder)[0].key == "opened"
    (folder / "review.json").unlink()
    (folder / "mine.txt").write_text("somebody's own", encoding="utf-8")
    assert {one.key for one in finished(folder)} == {"other", "mine"}


def test_a_job_that_could_not_be_deleted_is_known_as_it_ended_until_it_is(shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    job = shelve("solo", 1, 16)
    (job.folder / "clip").mkdir()
    (job.folder / "clip" / "lesson.mp4").write_bytes(b"film")
    plain = shutil.rmtree

    def in_use(path: Path, *args: object, **options: object) -> None:
        if Path(path) == job.folder:  # as on a disk that lists the folder in this order
            for name in ("ended.json", "job.json"):
                (job.folder / name).unlink()
        if (Path(path) / "lesson.mp4").exists() or (Path(path) / "clip").exists():
            raise PermissionError(13, "in use")
        plain(path, *args, **options)  # type: ignore[arg-type]

    with monkeypatch.context() as patched:
        patched.setattr(jobs_module.shutil, "rmtree", in_use)
        with pytest.raises(BadStore, match="cannot be deleted"):
            delete(job)
    known = find("solo")
    assert known is not None
    assert jobs_module.status(known).state in ("done", "failed")  # and not one that waits for its turn, which would be begun anew
    delete(known)
    assert not job.folder.exists()


def test_a_review_that_was_lined_up_as_the_one_before_it_ended_begins(
    shelve: Shelve, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    before, plain = shelve("before", 1, 16), shutil.copyfile
    ended = before.folder / "ended.json"
    told = ended.read_text(encoding="utf-8")
    ended.unlink()
    (before.folder / "alive").touch()
    assert jobs_module.status(before).state == "running"

    def ends_meanwhile(source: Path, target: Path) -> None:
        ended.write_text(told, encoding="utf-8")
        assert jobs_module.start_next() is None
        plain(source, target)

    for name in ("lesson.mp4", "sheet.csv"):
        (tmp_path / name).write_bytes(b"x")
    monkeypatch.setattr(jobs_module.shutil, "copyfile", ends_meanwhile)
    command = [sys.executable, "-c", "pass"]
    judge = JudgeOptions(dance=tmp_path / "sheet.csv")
    job = start(tmp_path / "lesson.mp4", WatchOptions(), judge, title="lesson", command=command, queue=True)
    assert jobs_module.status(job).state != "waiting"
    wait_for(lambda: (job.folder / "ended.json").is_file(), 30)


def test_what_was_being_made_when_the_computer_was_switched_off_goes_after_a_day() -> None:
    long_ago = time.time() - SETTINGS.page.upload_kept_s - 60
    for name in ("handout-old", "handout-new", "given-old", "given-new", "drop"):
        folder = home() / name
        folder.mkdir()
        (folder / "hand-out.mp4").write_bytes(b"film")
        if not name.endswith("-new"):
            os.utime(folder, (long_ago, long_ago))
    sweep_uploads()
    assert sorted(path.name for path in home().iterdir()) == ["drop", "given-new", "handout-new"]


def test_sheets_whose_titles_make_one_file_name_do_not_take_each_others_place() -> None:
    titles = ("Night/Day", "Every/Day", "Who?", "Who*")
    for title in titles:
        keep_sheet(title, f"# title: {title}\nfirst")
    assert {name for name, _ in own_sheets()} == {f"{title} (mine)" for title in titles}
    path = keep_sheet("who?", "# title: Who?\nsecond")
    assert path.read_text(encoding="utf-8").endswith("second")
    assert {name for name, _ in own_sheets()} == {f"{title} (mine)" for title in titles}


# --- somebody else's words


def test_words_out_of_a_sheet_are_shown_as_they_stand_and_fetch_no_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    import parts

    shown: list[str] = []
    monkeypatch.setattr(parts.st, "error", lambda words, icon: shown.append(words))
    parts.say(BadInput(r"Row 2: '![a](http://somewhere/a.png) \[b] C:\d' is no move"))
    assert shown == [r"Row 2: '!\[a\](http://somewhere/a.png) \\\[b\] C:\\d' is no move."]


def test_a_failed_review_quotes_a_sheet_as_it_stands_and_fetches_no_picture(open_page: Open, tmp_path: Path) -> None:
    refuse = "import sys; sys.exit('countfall: Row 2: ![a](http://somewhere/a.png) is no move. Mend it.')"
    clip = tmp_path / "[b].mp4"
    clip.write_bytes(b"film")
    job = start(clip, WatchOptions(), JudgeOptions(), title=clip.name, command=(sys.executable, "-c", refuse))
    wait_for(lambda: status(job).state == "failed")
    assert open_page("page_new.py").error[0].value == r"Row 2: !\[a\](http://somewhere/a.png) is no move. Mend it."
