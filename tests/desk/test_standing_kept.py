"""Quiet standing kept from a range check, used for a clip that shows none, and kept again when that is judged anew."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_body import bends, made_landmarks

from motion.base.options import JudgeOptions
from motion.base.types import Angles, Clip, Floats, Landmarks, NotMeasured
from motion.desk.review_clip import judge_folder
from motion.review.judge import judge
from motion.review.watch import Watched
from motion.store.folder import read_review, write_review

TIMES = np.arange(300) / 30.0
SOFT = np.array([6.0, 6.0, 12.0, 12.0, 6.0, 6.0])
NO_SOUND = NotMeasured("the beat", "the clip has no sound")


def watched(flexion_deg: Floats, dancers: int = 1) -> Watched:
    marks = made_landmarks(TIMES, 90.0, flexion_deg, noise_px=0.3)
    image = np.concatenate([marks.image_px + np.array([300.0 * k, 0.0]) for k in range(dancers)], axis=1)
    many = Landmarks(TIMES, np.arange(1, dancers + 1), image, np.repeat(marks.visibility, dancers, axis=1))
    clip = Clip("made.mp4", "0" * 64, TIMES, 1280, 720, 10.0)
    return Watched(clip, many, NO_SOUND, {"countfall": "0"})


def lunge() -> Floats:
    """Never upright, feet apart: no standing and no stance to read."""
    true = np.zeros((300, 6)) + SOFT
    true[:, 0] += 25.0
    true[:, 1] -= 25.0
    return true


def put(folder: Path, flexion_deg: Floats, options: JudgeOptions) -> None:
    seen = watched(flexion_deg)
    write_review(folder, judge(seen, options), extra_arrays=seen.arrays(), report_html=None)


def test_kept_used_and_kept_again(tmp_path: Path) -> None:
    put(tmp_path / "check", bends(TIMES) + SOFT, JudgeOptions(range_check=True))
    kept = read_review(tmp_path / "check")["dancers"][0]["standing"]
    assert kept["reading_deg"][:4] == pytest.approx(SOFT[:4], abs=2.0)
    put(tmp_path / "dance", lunge(), JudgeOptions())
    plain = read_review(tmp_path / "dance")["dancers"][0]
    assert set(plain["angles"]["zero"].values()) == {"anatomical"}
    assert "not_measured" in plain["ranges"]
    assert "standing" not in plain
    with_it = judge_folder(tmp_path / "dance", JudgeOptions(standing=tmp_path / "check"))["dancers"][0]
    assert set(with_it["angles"]["zero"].values()) == {"stored"}
    assert with_it["standing"] == kept
    assert isinstance(with_it["ranges"], list)
    # the range check may be gone by now: the review itself remembers
    (tmp_path / "check" / "review.json").unlink()
    again = judge_folder(tmp_path / "dance", JudgeOptions())["dancers"][0]
    assert set(again["angles"]["zero"].values()) == {"stored"}
    assert json.dumps(again["standing"]) == json.dumps(kept)


def test_among_several_it_is_the_one_who_bears_the_label() -> None:
    review = judge(watched(bends(TIMES) + SOFT), JudgeOptions(range_check=True))
    kept = review.dancers[0].standing
    assert kept is not None
    seen = watched(lunge(), dancers=2)
    done = judge(seen, JudgeOptions(), labels=("Red", "K"), stored_standing=("K", kept))
    zeros = [one.angles.zero[2] if isinstance(one.angles, Angles) else None for one in done.dancers]
    assert zeros == ["anatomical", "stored"]
    nobody = judge(replace(seen), JudgeOptions(), labels=("Red", "L"), stored_standing=("K", kept))
    assert all(isinstance(one.angles, Angles) and one.angles.zero[2] == "anatomical" for one in nobody.dancers)


def test_body_facts_only_when_asked_for() -> None:
    seen = watched(bends(TIMES))
    assert judge(seen, JudgeOptions()).dancers[0].facts is None
    asked = judge(seen, JudgeOptions(body_facts=True)).dancers[0].facts
    assert isinstance(asked, tuple)
    assert [row["fact"] for row in asked] == ["forward lean"]
