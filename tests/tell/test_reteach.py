"""What to teach a class again, and when it is rather the counts or the sheet that are to be doubted."""

from __future__ import annotations

from typing import Any

import pytest
from made import made_review

from motion.review.settings import SETTINGS
from motion.store.serialize import review_json
from motion.tell.class_words import class_told, moments_told
from motion.tell.reteach import DOUBT, DOUBTS, HABITS, HELP, doubted, how_many, its, span, teach_again
from motion.tell.teacher import class_mode

STEPS = SETTINGS.desk.taught_steps


def review(first: int, last: int, kind: str | None, *, counts: int = 32) -> dict[str, Any]:
    """Three dancers, all of whom lost a stretch of the dance; kind: by what, None for each by something else."""
    made = review_json(made_review(3, counts))
    kinds = [kind] * 3 if kind else ["missed", "other foot", "count ahead"]
    for dancer, one in zip(made["dancers"], kinds, strict=True):
        dancer["flags"] = [
            {"kind": one, "count": float(first), "until_count": float(last), "time_s": 6.0, "size": None, "unit": None, "sure": 0.9,
             "named": True, "words": f"{one}."}
        ]  # fmt: skip
    told = [
        {"count": float(c), "wall": (c - 1) // 32 + 1, "count_in_wall": float((c - 1) % 32 + 1), "judged": 3, "trouble": [],
         "said": f"count {(c - 1) % 32 + 1} of wall {(c - 1) // 32 + 1}", "hidden": [], "spread_ms": 20.0,
         "spread_interval_ms": [10.0, 90.0], "landings": 3}
        for c in range(1, counts + 1)
    ]  # fmt: skip
    run = {"count": float(first), "until_count": float(last), "said": told[first - 1]["said"], "of": 3, "dancers": [1, 2, 3]}
    made["class"] = {"dancers": 3, "together_ms": 20.0, "counts": told, "lost": [run], "alone": [], "watch": []}
    return made


@pytest.mark.parametrize(("kind", "why"), [*DOUBTS.items(), ("missed", DOUBT), ("other step", DOUBT), (None, DOUBT)])
def test_a_class_that_lost_most_of_the_dance_puts_the_counts_in_doubt_and_not_the_class(kind: str | None, why: str) -> None:
    made = review(1, 17, kind)  # 17 counts of 32 are more than half
    assert doubted(made) == why
    told = class_mode(made)
    assert (told.doubt, told.lost, told.teach_again) == (why, (), ())
    assert told.watch[0].words == "Count 1 of wall 1: is this where you would call it?"
    assert not any(word in " ".join([why, *(m.words for m in told.watch)]) for word in ("clap", "lost it", "lost them"))


def test_a_count_ahead_says_to_which_side_count_one_is_wrong() -> None:
    """Count 1 taken a count too late: on what is called 1 the class already dances 2, and so it is a count ahead."""
    assert "taken a count too late" in DOUBTS["count ahead"]
    assert "taken a count too early" in DOUBTS["count behind"]


def test_the_report_doubts_the_counts_too() -> None:
    made = review(1, 17, "count ahead")
    made["class"]["watch"] = [
        {"time_s": 5.0, "count": 1.0, "until_count": 17.0, "dancers": [1, 2, 3], "said": "3 of 3 dancers lost it."}
    ]
    assert class_told(made)[0].startswith(DOUBTS["count ahead"])
    assert "Worth teaching again" not in " ".join(class_told(made))
    assert moments_told(made) == []
    made = review(1, 16, "count ahead")
    assert class_told(made)[0] == "Worth teaching again: counts 1 to 16 of wall 1; all 3 dancers in sight lost them."


@pytest.mark.parametrize("kind", ["count ahead", "missed", None])
def test_half_of_the_dance_may_well_be_lost(kind: str | None) -> None:
    made = review(1, 16, kind)
    assert doubted(made) is None
    assert class_mode(made).lost == ("Counts 1 to 16 of wall 1: all 3 dancers in sight lost them.",)
    assert teach_again(made)[0].startswith("Counts 1 to 16 of wall 1.")


@pytest.mark.parametrize("kind", HABITS)
def test_a_habit_of_the_whole_class_is_no_doubt(kind: str) -> None:
    made = review(1, 32, kind)
    assert doubted(made) is None
    assert teach_again(made)[0].endswith(HELP[kind])


def test_without_a_class_there_is_nothing_to_doubt() -> None:
    made = review_json(made_review(1, 32))
    assert (doubted(made), teach_again(made)) == (None, ())


def test_the_sheets_steps_are_told_for_a_section_and_not_for_half_a_dance() -> None:
    assert "(on the sheet: " in teach_again(review(1, STEPS, "missed"))[0]
    assert "on the sheet" not in teach_again(review(1, STEPS + 1, "missed"))[0]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (5, 5, "count 5 of wall 1"),
        (5, 8, "counts 5 to 8 of wall 1"),
        (33, 34, "counts 1 to 2 of wall 2"),
        (31, 34, "count 31 of wall 1 to count 2 of wall 2"),
    ],
)
def test_a_stretch_is_told_by_its_counts(first: int, last: int, said: str) -> None:
    made = review(first, last, "missed", counts=64)
    (run,) = made["class"]["lost"]
    assert span(run, made["class"]) == said
    assert its(run) == ("it" if first == last else "them")
    assert how_many(run) == "all 3"
    assert how_many({**run, "dancers": [1, 3]}) == "2 of the 3"


def test_only_one_count_is_the_farthest_and_only_one_the_closest() -> None:
    made = review(5, 5, "late", counts=64)
    made["class"]["lost"] = []
    for n, count in enumerate(made["class"]["counts"]):
        count["spread_ms"] = 20.0 + n
    words = [moment.words for moment in class_mode(made).watch]
    assert sorted(w.partition(": ")[2] for w in words) == [
        "the class was closest together here.",
        "the class was farther apart here than on most counts.",
        "the class was farthest apart here.",
    ]


def test_how_close_together_comes_with_how_sure_that_is() -> None:
    made = review(5, 5, "late")
    for n, count in enumerate(made["class"]["counts"]):
        count["spread_ms"] = 10.0 + n
    # The median of 32 values lies, 19 times in 20, between the 10th and the 23rd of them (binomial table, n = 32).
    assert "surely between 19 and 32 ms" in class_mode(made).together.figures[0]
