"""Deleting a dancer who is hard to find: left out by hand, in films under a strange name, in notes that were half written."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import numpy as np
import pytest
from made_library import BLUE, RED, call, film, holding, shelve, store

from motion.base.options import JudgeOptions
from motion.desk.correct import add, leave_out, made_by_hand
from motion.film.take_home import default_handout
from motion.library.classes import Library, library_file
from motion.library.erase import forget_dancer, forget_in_review
from motion.review import checkpoint
from motion.review.settings import SETTINGS
from motion.store.corrections import masks_of
from motion.store.folder import read_review, read_stored

pytestmark = pytest.mark.usefixtures("cache_apart")


def test_whoever_was_labelled_and_then_left_out_goes_too(library: Library, tuesday: int) -> None:
    job = shelve("a")
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    for number in (2, 1):
        add(job.review, leave_out(read_review(job.review), number), JudgeOptions())
    lm = read_stored(job.review).landmarks
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    stored = read_stored(job.review)
    assert "The review of lesson.mp4 no longer holds them" in done.done
    assert stored.landmarks.image_px.shape[1] == 2
    assert len(masks_of(stored.arrays).points) == 1
    k = len(lm.times_s) // 2
    assert not np.isin(lm.image_px[k, 1, :, 0], stored.landmarks.image_px).any()
    assert [one["label"] for one in stored.review["dancers"]] == [BLUE]
    assert sorted(one.kind for one, _, _ in made_by_hand(job.review)) == ["hide", "label", "leave out"]  # the other stays left out
    assert holding(RED, job.folder, library_file().parent) == []


def test_a_label_that_was_replaced_by_another_takes_nobody_out(library: Library, tuesday: int, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review")
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    call(folder, 2, BLUE)
    add(folder, leave_out(read_review(folder), 2), JudgeOptions())
    forget_dancer(library, library.dancers(tuesday)[0].id)
    assert read_stored(folder).landmarks.image_px.shape[1] == 3
    assert sorted(one.kind for one, _, _ in made_by_hand(folder)) == ["label", "leave out"]
    assert holding(RED, folder) == []


def test_films_beside_a_review_are_named_whatever_its_name_holds(library: Library, tmp_path: Path) -> None:
    clip = tmp_path / "lesson [1].mp4"
    clip.write_bytes(film())
    folder = store(tmp_path / "lesson [1].review", clip=clip)
    default_handout(folder, 2).write_bytes(b"film")
    library.add_review(folder)
    done = forget_in_review(library, library.reviews()[0], [2])
    assert "The film lesson [1]-dancer-2.hand-out.mp4 beside the review may show them: delete it there" in done.left


def test_half_written_notes_go_with_the_others(library: Library, tuesday: int) -> None:
    checkpoint.folder().mkdir(parents=True)
    old, half, fresh = (checkpoint.folder() / name for name in ("old.npz", "old.1.part", "fresh.2.part"))
    long_ago = time.time() - 86_400 * (SETTINGS.desk.unfinished_days + 1)
    for path in (old, half, fresh):
        path.write_bytes(b"where people stood")
    for path in (old, half):
        os.utime(path, (long_ago, long_ago))
    checkpoint.sweep()
    assert list(checkpoint.folder().iterdir()) == [fresh]
    forget_dancer(library, library.dancers(tuesday)[0].id)
    assert list(checkpoint.folder().iterdir()) == []


def test_a_review_whose_dancers_were_left_out_in_vain_is_left_as_it_is(library: Library, tuesday: int, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review")
    library.add_review(folder, class_id=tuesday)
    add(folder, leave_out(read_review(folder), 2), JudgeOptions())
    before = json.loads((folder / "review.json").read_text())
    forget_dancer(library, library.dancers(tuesday)[0].id)
    assert json.loads((folder / "review.json").read_text()) == before
