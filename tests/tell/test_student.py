"""What one dancer reads: a measured fact or nothing, then one thing to try; nothing that phone, room or chance may have made."""

from __future__ import annotations

import copy
import json
import re
from typing import Any

import pytest
from made import made_review

from motion.base.errors import BadInput
from motion.store.serialize import review_json
from motion.tell.student import card_lines, student_view
from motion.tell.takes import beside_last_time, tempo_ladder, wilson


def reviewed(dancers: int = 1, counts: int = 32, **options: Any) -> dict[str, Any]:
    """review.json of a made review, after a round through JSON, so that nothing else is leaned on."""
    return dict(json.loads(json.dumps(review_json(made_review(dancers, counts, **options)))))


def even(review: dict[str, Any], number: int = 1, off_ms: float = 0.0) -> dict[str, Any]:
    """The same with every landing of a dancer exactly off_ms from the beat and nothing found."""
    review = copy.deepcopy(review)
    dancer = review["dancers"][number - 1]
    for step in dancer["steps"]:
        step["offset_ms"] = off_ms if step["offset_ms"] is not None else None
    dancer["flags"] = []
    dancer["timing"] |= {"bias_ms": off_ms, "bias_interval_ms": [off_ms - 5, off_ms + 5], "steadiness_ms": 5.0}
    return review


def flag(kind: str, count: float, time_s: float, **more: Any) -> dict[str, Any]:
    base = {"until_count": None, "size": None, "unit": None, "sure": 0.95, "named": True, "words": f"It was {kind}."}
    return {"kind": kind, "count": count, "time_s": time_s, **base, **more}


def test_first_what_went_well_then_one_thing_to_try() -> None:
    """Made dancer 1 of 32 counts misses count 7 and is late on 13: the longest stretch between is told, and the missed count."""
    seen = student_view(reviewed(), 1)
    assert seen.well is not None
    assert seen.well.words == "Every step was with the beat on wall 1, counts 14 to 32."
    assert seen.to_try.words == "No step was seen on wall 1, count 7: let that beat be heard on the floor."
    assert " ms" not in seen.well.words + seen.to_try.words
    assert any("± " in words for words in seen.figures)
    assert card_lines(reviewed(), 1) == (seen.well.words, seen.to_try.words)


def test_a_dance_without_a_slip_is_told_whole() -> None:
    seen = student_view(even(reviewed()), 1)
    assert seen.well is not None
    assert seen.well.words.endswith("on wall 1, counts 1 to 32.") or seen.well.words.endswith("from beginning to end.")
    assert seen.to_try.words == "Nothing stood out for sure: choose for yourself which count you would like to try again."


@pytest.mark.parametrize(
    ("kind", "until", "said"),
    [
        ("count behind", 8.0, "hear the count before it, and set off with the music."),
        ("count ahead", 8.0, "let each count be heard before you land on it."),
        ("count behind", 24.0, "listen for the next 1 and start again with it."),
        ("count ahead", 24.0, "let the next 1 come to you, and start again with it."),
    ],
)
def test_starting_again_on_the_next_1_is_for_whoever_was_off_for_most_of_the_dance(kind: str, until: float, said: str) -> None:
    review = even(reviewed())
    review["dancers"][0]["flags"] = [flag(kind, 6.0, 8.0, until_count=until, size=3.0, unit="steps")]
    assert student_view(review, 1).to_try.words.endswith(said)


def test_a_version_of_ones_own_is_told_kindly_and_held_against_no_count() -> None:
    review = even(reviewed())
    review["dancers"][0] |= {"own_version": True, "flags": [flag("late", 9.0, 6.0, size=90.0, unit="ms", named=False)]}
    seen = student_view(review, 1)
    assert seen.to_try.words.startswith("You dance a version of your own")
    assert seen.well is not None
    assert seen.well.words == "Your steps came evenly from beginning to end."  # which counts were due is not known


@pytest.mark.parametrize("spoilt", ["flag", "offset", "short", "unsure"])
def test_what_went_well_is_never_invented(spoilt: str) -> None:
    """One landing in six off, a doubtful finding in six, six counts only, or nobody certain: no stretch of eight is left."""
    review = even(reviewed())
    dancer = review["dancers"][0]
    dancer["timing"]["steadiness_ms"] = 60.0
    if spoilt == "flag":
        dancer["flags"] = [flag("late", float(c), 0.0, size=90.0, unit="ms", named=False, sure=0.4) for c in range(4, 33, 6)]
    elif spoilt == "offset":
        for step in dancer["steps"][3::6]:
            step["offset_ms"] = 75.0
    elif spoilt == "short":
        dancer["steps"] = dancer["steps"][:6]
    else:
        dancer["track"]["unsure"] = [[0.0, 1000.0]]
    assert student_view(review, 1).well is None


def test_a_missed_count_splits_a_stretch_though_no_landing_is_there_to_be_off() -> None:
    review = even(reviewed())
    dancer = review["dancers"][0]
    dancer["steps"] = [s for s in dancer["steps"] if s["count"] != 20]
    dancer["flags"] = [flag("missed", 20.0, 10.0)]
    well = student_view(review, 1).well
    assert well is not None
    assert "counts 1 to 19" in well.words


def test_without_a_sheet_only_evenness_is_told_and_without_a_beat_nothing() -> None:
    review = even(reviewed(sheet=False))
    well = student_view(review, 1).well
    assert well is not None
    assert well.words == "Your steps came evenly from beginning to end."
    silent = student_view(reviewed(sound=False), 1)
    assert silent.well is None
    assert silent.to_try.words == "Whether you were with the beat could not be told: the clip has no sound."
    assert not silent.to_try.asks


def test_too_few_landings_are_no_fault_of_the_dancers_and_no_figure_stands_in_the_sentence() -> None:
    review = reviewed()
    few = {"not_measured": "only 3 landings could be set against the beat, and 6 are needed"}
    review["dancers"][0] |= {"timing": few, "flags": few}
    seen = student_view(review, 1)
    assert seen.well is None
    assert (
        seen.to_try.words
        == "From this clip it cannot be told whether you were with the beat. That says nothing about your dancing."
    )
    assert seen.to_try.figures == ("Why it cannot be told: only 3 landings could be set against the beat, and 6 are needed.",)
    assert not seen.to_try.asks


def test_counts_beyond_the_first_eight_are_also_told_as_they_are_called_and_shown() -> None:
    """Counts 9 to 12 are 1 to 4 of the second eight, which the film and the player show; kind, though four steps were missing."""
    review = even(reviewed())
    review["dancers"][0]["flags"] = [flag("stood still", 9.0, 6.0, until_count=12.0, size=4.0, unit="steps")]
    words = student_view(review, 1).to_try.words
    assert words.startswith("No steps were seen on wall 1, counts 9 to 12 (1 to 4 in the 2nd eight): pick out the next 1 ")
    review["dancers"][0]["flags"] = [flag("danced in mirror", 5.0, 6.0, until_count=12.0, size=8.0, unit="steps")]
    assert student_view(review, 1).to_try.words.startswith("On wall 1, counts 5 to 12 you and the dance went opposite ways")


def test_what_went_well_over_two_walls_runs_from_one_to_the_other() -> None:
    review = even(reviewed(counts=64))
    review["dancers"][0]["flags"] = [flag("late", 3.0, 2.0, size=90.0, unit="ms")]
    well = student_view(review, 1).well
    assert well is not None
    assert re.fullmatch(r"Every step was with the beat from wall 1, count [45].* to wall 2, count 32\.", well.words)


@pytest.mark.parametrize(
    ("off_ms", "claps", "told"),
    [
        (40.0, 0, None),  # the phone may stand 14 m away
        (-44.0, 0, None),
        (-70.0, 0, "clearly before"),
        (80.0, 0, "clearly after"),
        (40.0, 2, "a little after"),  # a clap has taken the phone's share out
        (20.0, 2, None),  # nobody hears less than 25 ms
    ],
)
def test_a_lag_that_the_phone_may_explain_is_never_told_as_theirs(off_ms: float, claps: int, told: str | None) -> None:
    review = even(reviewed(), off_ms=off_ms)
    if claps:
        review["beats"]["sound_offset_ms"] = {"value": 30.0, "sigma_ms": 4.0, "claps": claps, "distance_m": None}
    seen = student_view(review, 1)
    if told is None:
        assert seen.to_try.words.startswith("Nothing stood out")
        assert "with the beat" in seen.well.words if seen.well else False
    else:
        assert f"you land {told} the beat" in seen.to_try.words
        assert seen.well is not None
        assert seen.well.words == "Your steps came evenly from beginning to end."
    assert (told is None and abs(off_ms) >= 25) == any("no more than phone and room" in words for words in seen.figures)


def test_what_all_have_in_common_is_the_phones_and_the_rest_is_ones_own() -> None:
    """Four dancers; the phone gives all of them 40 ms. A dancer 75 ms late is 35 ms behind the others: theirs. With the others at
    70 ms no more than 45 ms can be the phone's."""
    review = reviewed(4)
    for number in (1, 2, 3):
        review = even(review, number, 40.0)
    assert "after the beat" in student_view(even(review, 4, 75.0), 4).to_try.words
    assert student_view(even(review, 4, 55.0), 4).to_try.words.startswith("Nothing stood out")
    assert student_view(review, 1).to_try.words.startswith("Nothing stood out")


def test_early_against_a_late_habit_is_not_called_before_the_beat() -> None:
    """120 ms late as a rule, one landing 90 ms sooner than that: still after the beat, so the habit is told."""
    review = even(reviewed(), off_ms=120.0)
    review["dancers"][0]["flags"] = [flag("early", 9.0, 6.0, size=-90.0, unit="ms")]
    assert student_view(review, 1).to_try.words.startswith("As a rule you land clearly after the beat")
    review["dancers"][0]["flags"] = [flag("early", 9.0, 6.0, size=-220.0, unit="ms")]
    assert "before the beat: let the beat come to your foot" in student_view(review, 1).to_try.words


def test_what_comes_back_on_every_wall_is_tried_first() -> None:
    review = even(reviewed(counts=96))
    review["dancers"][0]["flags"] = [
        flag("missed", 3.0, 2.0),
        *(flag("late", c, 5.0 + c, size=90.0, unit="ms") for c in (5.0, 37.0)),
        flag("late", 80.0, 40.0, size=150.0, unit="ms", named=False),
    ]
    words = student_view(review, 1).to_try.words
    assert words.startswith("On wall 1, count 5 you landed clearly after the beat")
    assert words.endswith("It was so on 2 walls.")


def test_last_time_only_where_the_change_exceeds_the_noise() -> None:
    now, then = reviewed(spread_ms=10.0, seed=3), reviewed(spread_ms=45.0, seed=4)
    lines, why = beside_last_time(now, 1, then, 1)
    assert lines[0].words == "Your steps came more evenly than last time."
    assert why is None
    back, _ = beside_last_time(then, 1, now, 1)
    assert back[0].words == "Your steps came less evenly than last time."
    same, why = beside_last_time(reviewed(seed=5), 1, reviewed(seed=6), 1)
    assert same == ()
    assert why == "Since last time nothing changed by more than chance could make it."


def test_chance_alone_seldom_makes_a_change() -> None:
    """Of 60 pairs that differ by chance alone, about three may exceed two standard deviations."""
    told = sum(
        any("even" in line.words for line in beside_last_time(reviewed(seed=s), 1, reviewed(seed=100 + s), 1)[0]) for s in range(60)
    )
    assert told <= 8


def test_a_count_that_was_late_and_is_not_now() -> None:
    now, then = even(reviewed()), even(reviewed())
    late = next(s for s in then["dancers"][0]["steps"] if s["count"] == 13)
    late["offset_ms"] = 140.0
    then["dancers"][0]["flags"] = [flag("late", 13, late["time_s"], size=140.0, unit="ms")]
    lines, _ = beside_last_time(now, 1, then, 1)
    assert [line.words for line in lines] == [
        "On wall 1, count 13 (5 in the 2nd eight) you were clearly late last time; this time you landed with the beat."
    ]


@pytest.mark.parametrize(
    ("change", "why"),
    [({"bpm": 120.0}, "at 120 beats a minute"), ({"sheet": False}, "sheet of one and the same"), ({"sound": False}, "no sound")],
)
def test_only_like_is_set_beside_like(change: dict[str, Any], why: str) -> None:
    lines, told = beside_last_time(reviewed(), 1, reviewed(**change), 1)
    assert lines == ()
    assert told is not None
    assert why in told


def test_wilson_interval_by_the_published_example() -> None:
    """R. G. Newcombe, Stat. Med. 17 (1998) 857, table I, method 3: 81 of 263 gives 0.2553 to 0.3662; 0 of 20 gives 0 to 0.1611."""
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert wilson(0, 20) == pytest.approx((0.0, 0.1611), abs=5e-5)
    assert wilson(0, 0) == (0.0, 1.0)


def test_tempo_ladder() -> None:
    def take(bpm: float, off: int) -> tuple[dict[str, Any], int]:
        review = even(reviewed(bpm=bpm))
        for step in review["dancers"][0]["steps"][:off]:
            step["offset_ms"] = 150.0
        return review, 1

    ladder = tempo_ladder([take(120, 16), take(96, 0), take(108, 0), take(112, 7), (reviewed(sound=False), 1)])
    assert [(round(rung.bpm), rung.held) for rung in ladder.rungs] == [(96, True), (108, True), (112, None), (120, False)]
    assert ladder.words == "It held up to 108 beats a minute; at 120 it came apart. Try the tempi between."
    assert tempo_ladder([take(96, 0), take(97, 20)]).rungs[0].held is True  # of two takes at one tempo the better counts
    assert "no slower take held yet" in tempo_ladder([take(100, 20)]).words
    assert "the tempo was not the reason" in tempo_ladder([take(90, 20), take(110, 0)]).words
    assert tempo_ladder([]).words == "No take has a beat to hold to."


def test_a_dancer_who_is_not_there() -> None:
    with pytest.raises(BadInput, match=r"no dancer 3 in this review.*\(1, 2\)"):
        student_view(reviewed(2), 3)
