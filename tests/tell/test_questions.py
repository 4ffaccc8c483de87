"""What a review asks back, and what it found that is no fault, in plain words."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import pytest
from made import made_review

from motion.store.serialize import plain, review_json
from motion.tell.questions import asks_mirror, easier_told, mirror_answered, mirror_is_open, phrasing_told
from motion.timing.offbeat import Phrase
from motion.timing.questions import ANSWER_MIRROR

NOTE = f"The dancers fit the dance better with left and right exchanged: is the clip a mirror image? {ANSWER_MIRROR}"


def review(mirror: str | None, *notes: str) -> dict[str, Any]:
    return {"made_by": {} if mirror is None else {"judged": {"mirror": mirror}}, "notes": list(notes)}


@pytest.mark.parametrize(
    ("mirror", "notes", "open_"),
    [("ask", (NOTE,), True), (None, ("Two pictures were damaged.", NOTE), True), ("ask", ("Left out by hand: 1.",), False),
     ("yes", (NOTE,), False), ("no", (), False)],
)  # fmt: skip
def test_the_mirror_question_is_open_until_it_was_answered(mirror: str | None, notes: tuple[str, ...], open_: bool) -> None:
    assert mirror_is_open(review(mirror, *notes)) is open_
    assert (mirror_answered(review(mirror, *notes)) is None) is (mirror in (None, "ask"))


def test_each_answer_says_what_follows_and_the_notes_question_is_known() -> None:
    assert "left and right exchanged" in (mirror_answered(review("yes")) or "")
    assert "as they are seen" in (mirror_answered(review("no")) or "")
    assert asks_mirror(NOTE)
    assert not asks_mirror("The clip breaks off before its end.")


def test_phrasing_is_told_as_theirs_with_figures_apart() -> None:
    """38 ms early is below the 60 ms that a page calls a little; 85 ms late is above."""
    early, late = Phrase(3.5, "right", -38.4, 11.6, 6, 5), Phrase(7.0, "left", 85.0, 14.0, 4, 4)
    told = phrasing_told({"phrasing": plain([asdict(early), asdict(late)])})
    assert told is not None
    assert told.words == (
        "On count 3& the right foot comes a little earlier than their other steps, wall after wall. On count 7 the left foot comes "
        "clearly later than their other steps, wall after wall. That is how this dancer phrases it, and no fault."
    )
    assert told.figures == (
        "Count 3&: 38 ± 12 ms earlier than this dancer's own usual time, seen on 6 walls; "
        "on 5 of them by more than a single landing can be misread.",
        "Count 7: 85 ± 14 ms later than this dancer's own usual time, seen on 4 walls; "
        "on 4 of them by more than a single landing can be misread.",
    )


def test_easier_ways_are_named_by_wall_where_the_dance_is_known() -> None:
    made = review_json(made_review(1, 40))
    starts = made["dance"]["wall_starts"]
    dancer = {"easier": [[5.0, 6.0], [starts[1] + 4.0, starts[1] + 5.0]]}
    assert easier_told(dancer, made) == (
        "Danced in the easier way that the sheet offers, which is as good: wall 1, counts 5 to 6 and wall 2, counts 5 to 6."
    )
    assert easier_told(dancer) == (
        f"Danced in the easier way that the sheet offers, which is as good: counts 5 to 6 and counts {starts[1] + 4} to {starts[1] + 5}."
    )


def test_nothing_is_said_of_what_is_not_there() -> None:
    made = review_json(made_review(1, 8, sound=False))
    for dancer in ({}, {"phrasing": [], "easier": []}, made["dancers"][0]):
        assert phrasing_told(dancer) is None
        assert easier_told(dancer, made) is None
