"""Two windows at one time: no correction is lost, nothing that was to be let go stays, no film shows who was covered meanwhile."""

from __future__ import annotations

import hashlib
import shutil
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from made_library import film, shelve, store

import motion.desk.open_review as opened_module
import motion.desk.recount as anew_module
import motion.film.overlay as overlay_module
import motion.jobs.covered_copy as viewing_module
import motion.review.judge as review_module
import motion.store.tables as tables_module
from motion.base.errors import BadInput
from motion.base.options import JudgeOptions
from motion.base.types import Review
from motion.desk.correct import add, give_label, made_by_hand, not_this_one
from motion.desk.open_review import let_go
from motion.desk.recount import look_ahead, recount
from motion.film.covered_record import stands_for
from motion.film.overlay import draw_again, overlay_state
from motion.store.folder import OVERLAY, read_review

pytestmark = pytest.mark.usefixtures("cache_apart")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    clip = tmp_path / "lesson.mp4"
    clip.write_bytes(film())
    return store(tmp_path / "lesson.review", clip=clip)


@pytest.fixture
def nothing_frozen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(anew_module, "_settle", lambda: None)


def in_memory() -> list[int]:
    kept = (opened_module._laid_open, review_module._bodies, tables_module._angles_csv)
    return [one.cache_info().currsize for one in kept]


def test_corrections_from_several_windows_are_all_kept(folder: Path) -> None:
    review = read_review(folder)

    def window(number: int) -> None:
        add(folder, give_label(review, number, f"L{number}"), JudgeOptions())

    with ThreadPoolExecutor() as windows:
        assert list(windows.map(window, (1, 2, 3))) == [None] * 3
    assert sorted(one.label or "" for one, _, _ in made_by_hand(folder)) == ["L1", "L2", "L3"]
    assert [one["label"] for one in read_review(folder)["dancers"]] == ["L1", "L2", "L3"]


@pytest.mark.usefixtures("nothing_frozen")
@pytest.mark.parametrize("read", [look_ahead, recount])
def test_a_review_that_is_deleted_while_it_is_read_does_not_stay_in_memory(
    folder: Path, monkeypatch: pytest.MonkeyPatch, read: Callable[[Path, JudgeOptions], threading.Thread | None]
) -> None:
    plain = review_module.judge

    def deleted_meanwhile(*args: object, **options: object) -> Review:
        shutil.rmtree(folder)
        let_go()
        judged = plain(*args, **options)  # type: ignore[arg-type]
        assert sum(in_memory())
        return judged

    recount(folder, JudgeOptions())
    assert in_memory() == [1, 1, 1]
    monkeypatch.setattr(review_module, "judge", deleted_meanwhile)
    thread = read(folder, JudgeOptions())
    if thread is not None:
        thread.join()
    assert in_memory() == [0, 0, 0]


@pytest.mark.usefixtures("nothing_frozen")
def test_what_was_let_go_before_is_read_again_and_stays(folder: Path) -> None:
    let_go()
    look_ahead(folder, JudgeOptions()).join()
    assert in_memory() == [1, 1, 1]


def meanwhile(monkeypatch: pytest.MonkeyPatch, do: Callable[[], object]) -> None:
    """Have something done while a counted clip is being drawn."""
    plain = overlay_module._told

    def told(shown: Iterator[object], *rest: object) -> Iterator[object]:
        for n, picture in enumerate(plain(shown, *rest)):  # type: ignore[arg-type]
            yield picture
            if n == 20:
                do()

    monkeypatch.setattr(overlay_module, "_told", told)


def test_a_review_can_be_judged_again_while_its_counted_clip_is_drawn(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = JudgeOptions(bpm=110.0, first_count_s=0.5)
    meanwhile(monkeypatch, lambda: recount(folder, asked))
    draw_again(folder, folder.with_name("lesson.mp4"))
    assert read_review(folder)["beats"]["first_count_s"] == 0.5
    assert overlay_state(folder) == "outdated"
    assert sorted(path.name for path in folder.parent.iterdir() if path.name.startswith(".")) == []


def test_no_counted_clip_shows_somebody_who_was_covered_while_it_was_drawn(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patched:
        meanwhile(patched, lambda: add(folder, not_this_one(read_review(folder), 2), JudgeOptions()))
        with pytest.raises(BadInput, match="Somebody was covered while the counted clip was drawn"):
            draw_again(folder, folder.with_name("lesson.mp4"))
    assert not (folder / OVERLAY).exists()
    draw_again(folder, folder.with_name("lesson.mp4"))
    assert overlay_state(folder) == "as judged"


def test_two_windows_that_make_the_kept_copy_at_one_time_both_succeed(monkeypatch: pytest.MonkeyPatch) -> None:
    job = shelve("a")
    begun, plain = threading.Event(), viewing_module.write_viewing

    def slowly(*args: Any, **options: Any) -> None:
        begun.set()
        plain(*args, **options)

    monkeypatch.setattr(viewing_module, "write_viewing", slowly)
    with ThreadPoolExecutor() as windows:
        first = windows.submit(viewing_module.keep_viewing_copy, job)
        assert begun.wait(10)
        second = windows.submit(viewing_module.keep_viewing_copy, job)
        assert (first.result(), second.result()) == (True, True)
    (kept,) = (job.folder / "clip").glob("*.mp4")
    assert stands_for(kept, hashlib.sha256(kept.read_bytes()).hexdigest(), read_review(job.review)["clip"]["sha256"])
