"""What a teacher sees of one clip: the class without names, counts across and dancers down, a minute with somebody."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from made import made_review
from made_class import RANKING, flag, review
from made_dances import T, dance, danced

from motion.library.class_table import Take, gathered
from motion.store.serialize import plain, review_json
from motion.tell.count_table import MARKS, mark_svg, table_html, table_legend
from motion.tell.reteach import HELP, teach_again
from motion.tell.teacher import CUES, MEANS, TOO_FEW, class_mode, count_table, minutes, nameless, quick_look
from motion.timing.class_summary import class_of
from motion.timing.flags import flags_of


def states(made: dict[str, Any], row: int) -> dict[str, str]:
    table = count_table(made)
    return {column.name: cell.state for column, cell in zip(table.columns, table.rows[row].cells, strict=True)}


def with_class(made: dict[str, Any], *lost: dict[str, Any], alone: tuple[dict[str, Any], ...] = ()) -> dict[str, Any]:
    counts = [
        {"count": float(c), "wall": 1, "count_in_wall": float(c), "said": f"count {c} of wall 1", "judged": 3, "trouble": [],
         "hidden": [], "spread_ms": 20.0 + c, "spread_interval_ms": [10.0, 90.0], "landings": 3}
        for c in range(1, 33)
    ]  # fmt: skip
    made["class"] = {"dancers": 3, "together_ms": 30.0, "counts": counts, "lost": list(lost), "alone": list(alone), "watch": []}
    return made


def test_cells_say_how_each_count_went() -> None:
    cells = states(review(), 0)
    assert cells["7"] == "missed"
    assert cells["13"] == "late"
    assert {cells[str(n)] for n in range(1, 33) if n not in (7, 13)} == {"on"}
    assert set(states(review(), 1).values()) == {"on"}


def test_rows_stand_as_the_dancers_stand_and_not_by_lateness() -> None:
    made = review()
    made["dancers"][2]["timing"]["bias_ms"] = -300.0
    assert [row.number for row in count_table(made).rows] == [1, 2, 3]
    made["dancers"].reverse()  # a stored order is kept, whatever it is
    assert [row.number for row in count_table(made).rows] == [3, 2, 1]


def test_words_of_a_cell_say_count_wall_and_how_much() -> None:
    table = count_table(review())
    # 190 ms at 108 beats a minute is 0.34 of a count.
    assert table.rows[0].cells[12].words == "count 13 of wall 1: late, by about a third of a count"
    assert table.rows[0].cells[6].words == "count 7 of wall 1: no landing seen where one was due"
    assert table.rows[0].cells[6].time_s is None


@pytest.mark.parametrize("kind", ["other foot", "other step", "danced in mirror", "count behind", "count ahead"])
def test_what_was_danced_otherwise_is_otherwise_over_its_whole_stretch(kind: str) -> None:
    made = review()
    made["dancers"][1]["flags"] = [flag(kind, 9.0, 12.0)]
    cells = states(made, 1)
    assert [cells[str(n)] for n in (8, 9, 12, 13)] == ["on", "otherwise", "otherwise", "on"]


def test_what_is_not_sure_enough_for_the_class_is_not_told() -> None:
    made = review()
    made["dancers"][1]["flags"] = [flag("late", 9.0, size=100.0, unit="ms", sure=T.class_sure - 0.01)]
    assert states(made, 1)["9"] == "on"
    made["dancers"][1]["flags"][0]["sure"] = T.class_sure
    assert states(made, 1)["9"] == "late"


def test_what_was_not_seen_is_not_guessed() -> None:
    made = with_class(review())
    made["class"]["counts"][4]["hidden"] = [2]  # the landing there was guessed through somebody in front
    step = next(s for s in made["dancers"][2]["steps"] if s["count"] == 9.0)
    made["dancers"][2]["track"]["unsure"] = [[step["time_s"] - 0.2, step["time_s"] + 0.2]]
    made["dancers"][2]["steps"] = [s for s in made["dancers"][2]["steps"] if s["count"] != 20.0]  # no landing, no finding
    assert states(made, 1)["5"] == "unseen"
    assert (states(made, 2)["9"], states(made, 2)["20"]) == ("unseen", "unseen")


def test_without_a_beat_nobody_is_early_or_late() -> None:
    made = review(sound=False)
    assert set(states(made, 1).values()) == {"danced"}
    assert count_table({**made, "dancers": []}).rows == ()


def test_a_dancer_beside_the_beat_as_a_rule_is_late_but_has_lost_no_count() -> None:
    made = review(lag_ms=150.0)
    table = count_table(made)
    assert table.rows[1].beside
    # offsets are spread by 22 ms about 150, the band at 108 beats a minute is 80: two or three may lie within it
    assert list(states(made, 1).values()).count("late") >= 28
    assert table.lost(20) == (0, 3)
    assert table.lost(6) == (1, 3)  # the missed count 7 is lost all the same
    assert not any(row.beside for row in count_table(review()).rows)


def test_without_a_sheet_counts_run_on_in_no_wall() -> None:
    table = count_table(review(sheet=False))
    assert {column.wall for column in table.columns} == {None}
    assert "count 9: " in table.rows[1].cells[8].words


def test_counts_nobody_was_seen_on_at_the_end_are_left_out() -> None:
    made = with_class(review())
    made["class"]["counts"].append({**made["class"]["counts"][-1], "count": 33.0, "wall": 2, "count_in_wall": 1.0})
    assert count_table(made).columns[-1].count == 32.0


def test_the_class_first_names_nobody_and_ranks_nobody() -> None:
    run = {"count": 5.0, "until_count": 7.0, "said": "count 5 of wall 1", "of": 3, "dancers": [1, 3]}
    made = with_class(review(labels=("Red", "Blue", "Sun")), run, alone=({"dancer": 1, "count": 13.0, "until_count": None,
        "kind": "late", "time_s": 9.0},))  # fmt: skip
    made["class"]["watch"] = [{"time_s": 9.0, "count": 13.0, "until_count": None, "dancers": [1], "said": "Dancer 1: late."}]
    made["class"]["counts"][2]["hidden"] = [2]
    told = class_mode(made)
    words = " ".join([*told.lost, told.together.words, *told.teach_again, *(m.words for m in told.watch)])
    assert told.lost[0] == "Counts 5 to 7 of wall 1: 2 of the 3 dancers in sight lost them."
    for name in ("Red", "Blue", "Sun", "Dancer 1", "Dancer 2", "Dancer 3", *RANKING):
        assert name.casefold() not in words.casefold(), name
    assert " ms" not in words
    assert "32" not in told.together.words
    assert "96 landings on 32 counts" in told.together.figures[0]


def test_three_moments_at_most_what_was_lost_among_them_far_enough_apart() -> None:
    run = {"count": 5.0, "until_count": 5.0, "said": "count 5 of wall 1", "of": 3, "dancers": [1, 3]}
    watch = class_mode(with_class(review(), run)).watch
    assert len(watch) == 3
    assert [m.time_s for m in watch] == sorted(m.time_s for m in watch)
    assert any("2 of the 3 lost it" in m.words for m in watch)
    assert all(b.time_s - a.time_s > T.watch_apart_s for a, b in pairwise(watch))
    assert any("farthest apart" in m.words and m.words.startswith("Count 32") for m in watch)  # spreads grow with the count


def test_what_to_teach_again_says_the_sheets_steps_and_what_may_help() -> None:
    run = {"count": 5.0, "until_count": 6.0, "said": "count 5 of wall 1", "of": 3, "dancers": [1, 2, 3]}
    made = with_class(review(), run)
    for one in made["dancers"][:2]:
        one["flags"] = [flag("late", 5.0, size=120.0, unit="ms")]
    assert teach_again(made) == (
        "Counts 5 to 6 of wall 1 (on the sheet: right in place and left in place). "
        "Most came late: set off a little sooner, to land with the drum.",
    )
    made["dancers"][1]["flags"] = [flag("early", 5.0)]  # no kind is that of most
    assert teach_again(made)[0].endswith("left in place).")


def test_help_is_about_the_music_and_the_words_and_not_about_the_body() -> None:
    from motion.timing.class_summary import TROUBLE

    assert set(HELP) == TROUBLE
    assert CUES["late"] in HELP["late"]
    for words in HELP.values():
        assert not {"knee", "hip", "ankle", "leg", "weight"} & set(words.casefold().replace(",", " ").split()), words


def test_why_there_is_no_class() -> None:
    assert "needs two or more" in str(class_mode(review(1)).why)
    assert "dance sheet" in str(class_mode(review(3, sheet=False)).why)
    made = review(2)  # one of two dances a version of her own: with the sheet there is still no class
    made["dancers"][1]["own_version"] = True
    assert class_mode(made).why == TOO_FEW


def test_together_needs_so_many_dancers_or_a_beat() -> None:
    made = with_class(review(2))
    made["class"] |= {"dancers": 2, "together_ms": None}
    assert class_mode(made).together.words == "Not measured: it needs at least three dancers, and two could be judged."
    made["beats"] = {"not_measured": "the clip has no sound"}
    assert class_mode(made).together.words == "Not measured: the beat is not known."


def test_a_version_of_ones_own_is_no_problem_of_the_class() -> None:
    """Beside the beat alone, a landing is called late or early by the nearest half count: that loses no count of the dance."""
    run = {"count": 5.0, "until_count": 5.0, "said": "count 5 of wall 1", "of": 2, "dancers": [1, 2]}
    made = with_class(review(), run)
    own = made["dancers"][2]
    own["flags"] = [flag("late", float(c), size=120.0, unit="ms", sure=0.7, named=False) for c in range(1, 33)]
    assert count_table(made).lost(8) == (1, 3)
    assert states(made, 2)["9"] == "late"
    own["own_version"] = True
    table = count_table(made)
    assert (table.lost(8), table.lost(6)) == ((0, 2), (1, 2))
    assert set(states(made, 2).values()) == {"own"}
    assert table.rows[2].cells[8].words == "count 9 of wall 1: danced in a version of their own"
    assert table.rows[2].usual.startswith("Dances a version of their own")
    own["steps"] = [s for s in own["steps"] if s["count"] != 9.0]
    assert count_table(made).rows[2].cells[8].words == "count 9 of wall 1: no landing seen, in a version of their own"
    assert "1 dancer dances a version of their own, and is not counted here." in class_mode(made).lost
    assert minutes(made) == ()
    made["dancers"][0]["flags"] = [flag("early", 5.0)]
    made["dancers"][1]["flags"] = [flag("early", 5.0)]
    assert "Most came early" in teach_again(made)[0]
    made["dancers"][0]["flags"] = []
    own["flags"].append(flag("early", 5.0))  # not one of those who lost the count
    assert "Most came" not in teach_again(made)[0]
    assert gathered([Take("one", Path("a"), made)]).lost == ()


def test_counts_of_a_version_of_ones_own_are_no_columns_of_the_dance() -> None:
    made = review(2)
    made["dancers"][1]["own_version"] = True
    made["dancers"][1]["steps"][4]["count"] = 5.5
    assert "5&" not in [column.name for column in count_table(made).columns]
    made["dancers"][1]["own_version"] = False
    assert "5&" in [column.name for column in count_table(made).columns]


def test_no_moment_is_shown_within_a_longer_one() -> None:
    """Twenty counts were lost: that the class was farthest apart on one of them, long after the first, is the same moment."""
    run = {"count": 5.0, "until_count": 24.0, "said": "count 5 of wall 1", "of": 3, "dancers": [1, 3]}
    made = with_class(review(), run)
    made["class"]["counts"][19]["spread_ms"] = 200.0
    assert not any(m.words.startswith("Count 20") for m in class_mode(made).watch)
    run["until_count"] = 5.0
    assert any(m.words.startswith("Count 20") for m in class_mode(made).watch)


def test_a_class_as_judged_fits() -> None:
    """From made dancers to the table: two of three are late on count 5 of the first wall, one leaves out a count alone."""
    due = dance(2)
    ones = [danced(due, {4: 200.0}, seed=3), danced(due, {4: 200.0}, seed=4), danced(due, left_out=frozenset({11}), seed=5)]
    block = plain(class_of([(n, one, flags_of(one, T)) for n, one in enumerate(ones, 1)], T))
    assert [(run["count"], run["dancers"]) for run in block["lost"]] == [(5.0, [1, 2])]
    assert [one["dancer"] for one in block["alone"]] == [3]
    assert all(count["hidden"] == [] for count in block["counts"])


def test_a_minute_with_whoever_is_alone_as_they_stand() -> None:
    alone = tuple(
        {"dancer": n, "count": float(c), "until_count": None, "kind": k, "time_s": 9.0}
        for n, c, k in ((3, 9, "missed"), (1, 13, "late"))
    )
    made = with_class(review(labels=("Red", None, "Sun")), alone=alone)
    made["dancers"][2]["flags"] = [flag("missed", 9.0)]
    found = minutes(made)
    assert [one.name for one in found] == ["Dancer 1 · Red", "Dancer 3 · Sun"]
    late = found[0].moments[0]
    assert late.words == "Count 13 of wall 1: late, by about a third of a count; set off a little sooner, to land with the drum."
    assert " ms" not in late.words
    assert late.figures == ("190 ± 38 ms after this dancer's usual time, about a third of a count.",)
    assert found[1].moments[0].words == "missed at 9."
    made["dancers"][2]["flags"] = [flag("missed", 9.0, size=4.0, unit="steps")]  # a number that the sentence has itself
    assert minutes(made)[1].moments[0].figures == ()
    assert minutes(review()) == ()


def test_early_here_and_late_there_is_told_without_two_cues_against_each_other() -> None:
    alone = tuple(
        {"dancer": 1, "count": c, "until_count": None, "kind": k, "time_s": c} for c, k in ((9.0, "early"), (13.0, "late"))
    )
    made = with_class(review(), alone=alone)
    made["dancers"][0]["flags"] += [flag("early", 9.0, size=-190.0)]
    words = [m.words for m in minutes(made)[0].moments]
    assert words == [
        "Count 9 of wall 1: early, by about a third of a count.",
        "Count 13 of wall 1: late, by about a third of a count.",
    ]
    one = with_class(review(), alone=alone[:1])
    one["dancers"][0]["flags"] += [flag("early", 9.0, size=-190.0)]
    assert minutes(one)[0].moments[0].words.endswith("; let the beat come to the foot.")


def test_moments_of_a_dancer_come_in_order_of_time() -> None:
    alone = tuple({"dancer": 1, "count": c, "until_count": None, "kind": "missed", "time_s": c / 2} for c in (5.0, 9.0, 20.0))
    assert [m.time_s for m in minutes(with_class(review(), alone=alone[::-1]))[0].moments] == [2.5, 4.5, 10.0]


@pytest.mark.parametrize(
    ("model", "quick"), [("fast", True), ("fine", False), ({"quality": "fast"}, True), ({}, False), (None, False)]
)
def test_a_quick_look_is_known(model: object, quick: bool) -> None:
    made = review(1)
    made["made_by"]["model"] = model
    assert quick_look(made) is quick


def test_names_off_leaves_no_label_anywhere() -> None:
    made = nameless(review(labels=("Red", "Blue", "Sun")))
    assert "Red" not in json.dumps(made)
    assert [row.name for row in count_table(made).rows] == ["Dancer 1", "Dancer 2", "Dancer 3"]


def test_marks_differ_by_shape_and_say_themselves() -> None:
    assert set(MARKS) == set(MEANS)
    bare = {state: "".join(c for c in drawing if c.isalpha() or c.isdigit()) for state, drawing in MARKS.items()}
    assert len(set(bare.values())) == len(MARKS)
    assert 'aria-label="late &lt;b&gt;"' in mark_svg("late", "late <b>")


def test_the_table_in_html_is_escaped_labelled_and_cut_by_walls() -> None:
    made = review_json(made_review(2, 64, labels=("<b>", None)))
    html = table_html(count_table(made))
    assert html.count("<caption>") == 2
    assert "Wall 2, counts 1 to 32" in html
    assert "<b>" not in html
    assert html.count('role="img"') == 2 * 64
    assert html.count('scope="row"') == 2 * 3  # two dancers and how many lost it, on each wall
    assert 'tabindex="-1" title="count 13 of wall 1: late, by about a third of a count"' in html  # a tap reaches it
    legend = table_legend(count_table(made))
    assert "not seen" not in legend  # only marks that are there
    assert all(words in legend for words in ("on the beat", "late", "no landing seen"))
