"""Who was told by number to dance a version of their own stays the same person when corrections number everybody anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from made_library import store

from motion.base.options import JudgeOptions
from motion.desk.correct import add, give_label, leave_out, made_by_hand, not_this_one, undo
from motion.desk.review_clip import judge_folder
from motion.jobs.queue import judged_before
from motion.review.corrections import Correction
from motion.store.folder import read_review


def where_own(folder: Path) -> list[float]:
    """Where those with a version of their own stand at first, pixels across."""
    return [one["track"]["pelvis_px"][0][0] for one in read_review(folder)["dancers"] if one.get("own_version")]


@pytest.mark.parametrize("correction", [leave_out, not_this_one])
def test_it_is_the_same_person_after_somebody_else_has_gone(
    tmp_path: Path, correction: Callable[[dict[str, Any], int], Correction]
) -> None:
    folder = store(tmp_path / "class.review", 4)
    judge_folder(folder, JudgeOptions(own_version=(3,)))
    before = where_own(folder)
    assert len(before) == 1
    review = read_review(folder)
    add(folder, correction(review, 1), judged_before(review, None))
    assert where_own(folder) == before
    assert [one["id"] for one in read_review(folder)["dancers"] if one.get("own_version")] == [2]
    assert read_review(folder)["made_by"]["judged"]["own_version"] == []
    kinds = {one.kind: one for one, _, can in made_by_hand(folder) if can}
    review = read_review(folder)
    undo(folder, kinds["own version"], judged_before(review, None))  # it can be taken back as one that was made on the page
    assert where_own(folder) == []


def test_and_stays_so_when_a_correction_is_taken_back(tmp_path: Path) -> None:
    folder = store(tmp_path / "class.review", 3)
    review = read_review(folder)
    add(folder, leave_out(review, 1), JudgeOptions())
    add(folder, give_label(read_review(folder), 1, "Blue"), JudgeOptions())
    judge_folder(folder, JudgeOptions(own_version=(2,)))
    before, review = where_own(folder), read_review(folder)
    undo(folder, next(one for one, _, _ in made_by_hand(folder) if one.kind == "leave out"), judged_before(review, None))
    assert where_own(folder) == before
    assert [one["id"] for one in read_review(folder)["dancers"] if one.get("own_version")] == [3]
