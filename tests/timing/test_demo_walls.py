"""A clip whose third wall has one changed step and whose fourth has one late count: that stands out wall against wall, and nothing else.

The landmarks are the clip's true joints as the camera sees them, shaken as a pose model's are, so that no video is read.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from motion.base.options import JudgeOptions
from motion.base.types import Clip, Landmarks, NotMeasured
from motion.review.judge import judge
from motion.review.watch import Watched
from motion.store.serialize import review_json
from motion.tell.class_words import walls_told
from motion.tell.sheet_words import sheet_told

SHARED = Path(__file__).resolve().parents[2].parent / "shared"
TRUTH = SHARED / "clips" / "demo-walls.json.gz"
PARTS = {
    0: "head", 11: "shoulderL", 12: "shoulderR", 13: "elbowL", 14: "elbowR", 15: "wristL", 16: "wristR", 23: "hipL", 24: "hipR",
    25: "kneeL", 26: "kneeR", 27: "ankleL", 28: "ankleR", 29: "heelL", 30: "heelR", 31: "toeL", 32: "toeR",
}  # fmt: skip
SHAKE_SHARE = 0.004  # of the dancer's height: between neighbouring pictures, as a pose model shakes


def seen_truth(truth: dict[str, Any]) -> Watched:
    """The true joints as landmarks: ears and nose lie about the head, ahead of and beside it as the shoulders do."""
    times_s = np.array(truth["frame_times"])
    joints = {name: np.array([frame[0][name] for frame in truth["frames"]]) for name in (*PARTS.values(), "pelvis")}
    points = np.repeat(joints["head"][:, None, 3:], 33, axis=1)
    for k, name in PARTS.items():
        points[:, k] = joints[name][:, 3:]
    across = (joints["shoulderR"] - joints["shoulderL"])[:, 3:]
    points[:, 7], points[:, 8] = joints["head"][:, 3:] - 0.2 * across, joints["head"][:, 3:] + 0.2 * across
    feet = [joints[f"toe{s}"][:, 3:] - joints[f"heel{s}"][:, 3:] for s in "LR"]
    points[:, 0] = joints["head"][:, 3:] + 0.4 * np.mean(feet, axis=0) * np.array([1.0, 0.0])
    for k, side in ((17, "L"), (19, "L"), (21, "L"), (18, "R"), (20, "R"), (22, "R")):
        points[:, k] = joints[f"wrist{side}"][:, 3:]
    height_px = float(np.median(np.abs(joints["head"][:, 4] - joints["heelL"][:, 4])))
    points += np.random.default_rng(4).normal(0.0, SHAKE_SHARE * height_px, points.shape)
    clip = Clip("demo-walls.mp4", "00" * 32, times_s, *truth["size"], float(times_s[-1]) + 1 / truth["fps"], has_sound=True)
    marks = Landmarks(times_s, np.array([1]), points[:, None], np.full((len(times_s), 1, 33), 0.95), ((),))
    return Watched(clip, marks, NotMeasured("beats", "the beats are given"), {})


@pytest.mark.skipif(not TRUTH.is_file(), reason="the clip demo-walls of ../shared is not there")
def test_the_changed_step_and_the_late_count_stand_out_and_nothing_else_does(tmp_path: Path) -> None:
    with gzip.open(TRUTH, "rt", encoding="utf-8") as file:
        truth = json.load(file)
    planted = [(e["count"], e["fault"]) for e in truth["dancers"][0]["intended"] if e["fault"]]
    assert planted == [(87, "instead"), (101, "late")]  # count 23 of wall 3, count 5 of wall 4
    beats = tmp_path / "beats.csv"
    first = truth["first_count_beat"]
    rows = [f"{t},{(n - first) % 8 + 1}" for n, t in enumerate(truth["beats"])]
    beats.write_text("time_s,count\n" + "\n".join(rows) + "\n", encoding="utf-8")
    asked = JudgeOptions(dance=SHARED / "dances" / "lantern.csv", beats=beats, first_count_s=truth["beats"][first])
    one = review_json(judge(seen_truth(truth), asked))["dancers"][0]
    apart = [(row["count"], d["wall"], d["what"]) for row in one["walls"] for d in row["differs"]]
    assert apart == [(5.0, 4, "time"), (23.0, 3, "place")]
    said = walls_told(one, {"tempo_bpm": truth["bpm"]})
    assert said[0] == "Count 5, wall 4: the landing came later than on the other walls, by about a third of a count."
    assert said[1] == "Count 23, wall 3: the foot came down elsewhere than on the other walls, as much as a leg's length away."
    assert said[2].startswith("Compared:")
    assert [row["count"] for row in one["sheet"]["differs"]] == [23.0]
    assert not any(row["always"] for row in one["sheet"]["differs"])
    told = sheet_told(one)
    assert told is not None
    assert "does the sheet say" not in told.words
    assert one["timing"]["hardest"] == []  # once late is no habit
