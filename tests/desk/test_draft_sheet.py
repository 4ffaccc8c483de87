"""A draft from a stored review: judged without its sheet, the landings of `solo-front` come back as the dance that was danced."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import numpy as np
import pytest
from dance.test_draft import agreement
from made import made_review
from timing.test_demo_walls import seen_truth

from motion.base.errors import BadInput, BadStore
from motion.base.options import JudgeOptions
from motion.base.types import NotMeasured
from motion.dance.draft import is_draft
from motion.dance.sheet import read_sheet
from motion.desk.draft_sheet import landed, written_down
from motion.review.judge import judge
from motion.store.folder import write_review

SHARED = Path(__file__).resolve().parents[2].parent / "shared"
SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"


@pytest.mark.parametrize("name", ["solo-front", "demo-walls"])
def test_landings_of_a_drawn_dancer_agree_with_the_sheet(name: str, tmp_path: Path) -> None:
    """The true joints as the camera sees them, shaken as a pose model shakes them: no video is read, and no sheet has a say.

    Required: 85 % of counts and feet. Read from the clip itself with the careful model, all 35 of 35 agree.
    """
    path = SHARED / "clips" / f"{name}.json.gz"
    if not path.is_file():
        pytest.skip(f"the clip {name} of ../shared is not there")
    with gzip.open(path, "rt", encoding="utf-8") as file:
        truth = json.load(file)
    first = truth["first_count_beat"]
    beats = tmp_path / "beats.csv"
    beats.write_text("time_s,count\n" + "\n".join(f"{t},{(n - first) % 8 + 1}" for n, t in enumerate(truth["beats"])) + "\n")
    watched = seen_truth(truth)
    review = judge(watched, JudgeOptions(beats=beats, first_count_s=truth["beats"][first]))
    write_review(tmp_path / "review", review, extra_arrays=watched.arrays(), report_html=None)
    sheet = read_sheet(SAMPLES / f"{truth['dance']}.csv")
    draft = written_down(tmp_path / "review", sheet.counts)
    share, false = agreement(draft, sheet)
    assert share >= 0.85
    assert false <= 2
    assert is_draft(draft)
    assert sum(row.turn_deg for row in draft.rows) == sum(row.turn_deg for row in sheet.rows)
    true = {row.count: row.move for row in sheet.rows}
    both = [row for row in draft.rows if row.count in true and row.move != "hold"]
    assert sum(row.move == true[row.count] for row in both) >= 0.7 * len(both)


def test_a_made_review_gives_counts_feet_and_offsets() -> None:
    review = made_review(counts=16, lag_ms=40.0, spread_ms=5.0, sheet=False)
    assert not isinstance(review.beats, NotMeasured)
    seen = landed(review.dancers[0], review.beats)
    assert [one.count for one in seen if one.count < 6] == [1, 2, 3, 4, 5]
    assert [one.foot for one in seen if one.count < 5] == ["right", "left", "right", "left"]
    assert abs(float(np.median([one.off for one in seen]))) < 0.02  # the dancer's own lag is taken out


def test_what_cannot_be_written_down_is_told(tmp_path: Path) -> None:
    write_review(tmp_path / "silent", made_review(sound=False, sheet=False), extra_arrays={}, report_html=None)
    with pytest.raises(BadInput, match="cannot be written down: the clip has no sound"):
        written_down(tmp_path / "silent", 32)
    with pytest.raises(BadInput, match="no dancer 7"):
        written_down(tmp_path / "silent", 32, dancer=7)
    with pytest.raises(BadStore):
        written_down(tmp_path / "nothing", 32)
