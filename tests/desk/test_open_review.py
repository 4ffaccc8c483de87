"""A stored review laid open again: what was read of it is used again exactly as long as nothing of it has changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made import made_review

import motion.review.judge as review_module
import motion.store.tables as tables_module
from motion.base.errors import BadStore
from motion.base.options import JudgeOptions
from motion.desk.correct import add, give_label, leave_out, not_this_one, own_version
from motion.desk.open_review import let_go, opened
from motion.desk.review_clip import judge_folder, judged_again
from motion.review.settings import SETTINGS
from motion.store.folder import LANDMARKS, read_review, write_review
from motion.store.serialize import review_json
from motion.tell.report import report_html


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    review = made_review(3, 16)
    write_review(tmp_path / "class", review, extra_arrays={}, report_html=report_html(review_json(review)))
    judge_folder(tmp_path / "class", JudgeOptions())
    return tmp_path / "class"


def bodies_read() -> int:
    return review_module._bodies.cache_info().misses


def test_a_changed_first_count_reads_no_body_again_and_leaves_the_landmarks_file_as_it_is(folder: Path) -> None:
    one, packed, read = opened(folder), (folder / LANDMARKS).read_bytes(), bodies_read()
    judge_folder(folder, JudgeOptions(bpm=110.0, first_count_s=0.5))
    assert read_review(folder)["beats"]["first_count_s"] == 0.5
    judge_folder(folder, JudgeOptions(bpm=110.0, first_count_s=1.5))
    assert read_review(folder)["beats"]["first_count_s"] == 1.5
    assert bodies_read() == read
    assert opened(folder).watched.landmarks is one.watched.landmarks
    assert (folder / LANDMARKS).read_bytes() == packed


def test_what_was_kept_in_memory_gives_what_reading_anew_gives(folder: Path) -> None:
    asked = JudgeOptions(bpm=110.0, first_count_s=0.5)
    judged_again(folder, JudgeOptions(bpm=90.0, first_count_s=1.0))
    kept = review_json(judged_again(folder, asked)[1])
    let_go()
    assert review_json(judged_again(folder, asked)[1]) == kept


def test_a_label_and_a_version_of_ones_own_read_no_body_again(folder: Path) -> None:
    add(folder, leave_out(read_review(folder), 3), JudgeOptions())
    read = bodies_read()
    add(folder, give_label(read_review(folder), 2, "Red"), JudgeOptions())
    add(folder, own_version(read_review(folder), 1), JudgeOptions())
    assert bodies_read() == read
    dancers = read_review(folder)["dancers"]
    assert [(one["id"], one["label"], one.get("own_version")) for one in dancers] == [(1, None, True), (2, "Red", None)]
    let_go()
    kept = (folder / "review.json").read_bytes()
    judge_folder(folder, JudgeOptions())
    assert (folder / "review.json").read_bytes() == kept


def test_another_correction_another_file_and_other_settings_are_read_anew(folder: Path) -> None:
    read = bodies_read()
    add(folder, leave_out(read_review(folder), 2), JudgeOptions())
    assert bodies_read() == read + 1
    assert len(read_review(folder)["dancers"]) == 2
    add(folder, not_this_one(read_review(folder), 1), JudgeOptions())
    assert bodies_read() == read + 2
    assert len(opened(folder).watched.landmarks.ids) == 2  # whoever is covered has left the file, whoever is left out has not
    with np.load(folder / LANDMARKS) as stored:
        assert stored["image_px"].shape[1] == 2
    one = opened(folder)
    other = replace(SETTINGS, body=replace(SETTINGS.body, least_run_s=SETTINGS.body.least_run_s + 0.1))
    judged = bodies_read()
    review_module.judge(one.watched, JudgeOptions(), settings=other)
    assert bodies_read() == judged + 1


def test_a_damaged_landmarks_file_is_told(folder: Path) -> None:
    opened(folder)
    (folder / LANDMARKS).write_bytes((folder / LANDMARKS).read_bytes()[:-200])
    with pytest.raises(BadStore, match="damaged"):
        opened(folder)
    (folder / LANDMARKS).unlink()
    with pytest.raises(BadStore, match="has lost"):
        opened(folder)


def test_the_table_of_angles_is_put_together_once_and_let_go_with_the_rest(folder: Path) -> None:
    table, made = (folder / "angles.csv").read_bytes(), tables_module._angles_csv.cache_info().misses
    judge_folder(folder, JudgeOptions(bpm=110.0, first_count_s=0.5))
    assert tables_module._angles_csv.cache_info().misses == made
    assert (folder / "angles.csv").read_bytes() == table
    add(folder, leave_out(read_review(folder), 2), JudgeOptions())
    left = [f"{one['id']}".encode() for one in read_review(folder)["dancers"]]
    assert sorted({line.split(b",")[0] for line in (folder / "angles.csv").read_bytes().splitlines()[1:]}) == left
    assert len(left) == 2
    let_go()
    assert tables_module._angles_csv.cache_info().currsize == 0
