"""What the page says: words first, figures apart, nothing claimed that the numbers do not carry."""

from __future__ import annotations

from typing import Any

import pytest
from made import made_review

from motion.base.options import WatchOptions
from motion.review.forecast import seconds_needed, seconds_words
from motion.store.serialize import review_json
from motion.tell.review_words import (
    beat_told,
    clip_facts,
    clip_notes,
    findings,
    no_findings,
    step_rows,
    timing_told,
    zero_told,
)
from motion.tell.words import measured, used_words


def review(*args: int, **kwargs: Any) -> dict[str, Any]:
    return review_json(made_review(*args, **kwargs))


def with_timing(**changes: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    made = review()
    dancer = made["dancers"][0]
    dancer["timing"] = {**dancer["timing"], **changes}
    return dancer, {**made["beats"], "tempo_bpm": 120.0}


@pytest.mark.parametrize(
    ("usual", "interval", "words"),
    [
        (5.0, [-4.0, 14.0], "As a rule with the beat."),
        (20.0, [12.0, 28.0], "As a rule with the beat."),  # known to be there, but too small for anyone to notice
        (60.0, [-10.0, 130.0], "As a rule with the beat."),  # large, but it may as well be nothing
        (-50.0, [-60.0, -40.0], "As a rule a little before the beat, by about a tenth of a count."),
        (125.0, [110.0, 140.0], "As a rule clearly after the beat, by about a quarter of a count."),
    ],
)
def test_how_a_dancer_sits_with_the_beat(usual: float, interval: list[float], words: str) -> None:
    told = timing_told(*with_timing(bias_ms=usual, bias_interval_ms=interval))
    assert told.words.startswith(words)
    assert "ms" not in told.words
    assert "±" in " ".join(told.figures)


def test_a_lag_that_the_phone_may_explain_is_not_told_as_theirs() -> None:
    small = timing_told(*with_timing(bias_ms=40.0, bias_interval_ms=[35.0, 45.0])).words
    large = timing_told(*with_timing(bias_ms=90.0, bias_interval_ms=[85.0, 95.0])).words
    assert "need not be the dancer's own" in small
    assert "need not be" not in large


def test_nothing_is_said_without_a_beat() -> None:
    silent = review(sound=False)
    assert (
        beat_told(silent["beats"]).words
        == "The beat was not measured: the clip has no sound. So nothing can be said about early or late."
    )
    assert timing_told(silent["dancers"][0], silent["beats"]).figures == ()
    assert {row["Against the beat"] for row in step_rows(silent["dancers"][0], silent["beats"], silent["dance"])} == {"–"}


def test_findings_are_the_named_ones_in_order_of_time() -> None:
    made = review()
    found = findings(made["dancers"][0], made["beats"], made["dance"])
    assert [(one.mark, one.kind) for one in found] == [("a", "missed"), ("b", "late")]
    assert found[0].where == "wall 1, count 7"
    # 190 of 556 ms; sigma of the landing is 18 ms, of the beat 6: two of both together are 38
    assert found[1].figures == "190 ± 38 ms after this dancer's usual time, about a third of a count; how plain, from 0 to 1: 0.96"


def put(kind: str, count: float, until: float | None = None, **more: Any) -> dict[str, Any]:
    return {
        "kind": kind, "count": count, "until_count": until, "time_s": 6.0, "size": None, "unit": None, "sure": 0.9, "named": True,
        "words": "So it was.", **more,
    }  # fmt: skip


@pytest.mark.parametrize(("until", "asked"), [(7.0, False), (20.0, False), (21.0, True), (32.0, True)])
def test_where_count_1_lies_is_asked_only_where_most_of_the_dance_was_a_count_off(until: float, asked: bool) -> None:
    """Of 32 counts danced, 5 to 20 are half, one more is most."""
    made = review()
    made["dancers"][0]["flags"] = [put("count ahead", 5.0, until, size=6.0, unit="steps"), put("danced in mirror", 1.0, 32.0)]
    ahead, mirror = (one.words for one in sorted(findings(made["dancers"][0], made["beats"], made["dance"]), key=lambda f: f.kind))
    assert ("whether count 1 lies where it should" in ahead) is asked
    assert mirror == "So it was."


def test_sizes_that_are_no_time_say_what_they_rest_on() -> None:
    made = review()
    dancer = made["dancers"][0]
    place, drift = put("other step", 9.0, size=0.4, unit="leg lengths"), put("drifting", 1.0, 32.0, size=-120.0, unit="ms")
    assert measured(place, dancer, made["beats"]) == "0.4 ± 0.2 leg lengths"
    # 120 of 556 ms; the made dancer leaves out one of 32 counts
    assert measured(drift, dancer, made["beats"]) == "120 ms from the first of 31 landings to the last, about a fifth of a count"
    assert measured(put("missed", 7.0), dancer, made["beats"]) == ""


def test_a_version_of_ones_own_is_said_in_one_line_where_findings_would_be() -> None:
    made = review()
    dancer = {**made["dancers"][0], "flags": [put("late", 9.0, size=90.0, unit="ms", named=False)]}
    assert no_findings(dancer) == "Nothing that is sure enough to be put to a dancer."
    dancer["own_version"] = True
    assert findings(dancer, made["beats"], made["dance"]) == []
    assert no_findings(dancer).startswith("Dances a version of their own, on purpose")
    assert no_findings({**dancer, "flags": {"not_measured": "the clip has no sound"}}) == "Not measured: the clip has no sound."


def test_zero_is_told_per_joint_where_it_differs() -> None:
    assert zero_told(review()["dancers"][0]).endswith("0° is this dancer's own quiet standing.")
    mixed = {"angles": {"zero": {"left_hip": "standing", "right_hip": "anatomical"}}}
    assert "For left hip, 0° is this dancer's own quiet standing." in zero_told(mixed)
    assert "For right hip, 0° is a straight" in zero_told(mixed)


def test_facts_and_notes_of_the_clip() -> None:
    made = review(4, sheet=False, expires="2027-01-31")
    facts = dict(clip_facts(made))
    assert (facts["Dancers followed"], facts["Dance"], facts["Reading"], facts["Delete by"]) == (
        "4",
        "no dance sheet",
        "careful",
        "31 Jan 2027",
    )
    made["clip"]["damaged_pictures"] = 3
    assert any("3 of the clip's pictures were damaged" in note for note in clip_notes(made))
    assert any("missing steps cannot be told" in note for note in clip_notes(made))


def test_the_wait_is_said_beforehand() -> None:
    clip = made_review().clip
    one, four = (seconds_needed(clip, WatchOptions(dancers=n)) for n in (1, 4))
    assert one < four < 4 * one
    assert seconds_needed(clip, WatchOptions(quality="fast")) < one
    half = seconds_needed(clip, WatchOptions(from_s=0.0, to_s=clip.duration_s / 2))
    nothing = seconds_needed(clip, WatchOptions(from_s=clip.duration_s, to_s=clip.duration_s))
    assert half - nothing == pytest.approx((one - nothing) / 2)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (1.0, "about 5 seconds"),
        (42.0, "about 40 seconds"),
        (89.0, "about 90 seconds"),
        (100.0, "about 2 minutes"),
        (1500.0, "about 25 minutes"),
    ],
)
def test_waiting_times(seconds: float, words: str) -> None:
    assert seconds_words(seconds) == words


def test_a_range_says_how_many_of_the_pictures_it_rests_on() -> None:
    assert used_words({"pictures_used": 400, "seen_share": 0.4}) == "400 (40% of those with this dancer)"
    assert used_words({"pictures_used": 400}) == "400"  # reviews from before the share was kept
