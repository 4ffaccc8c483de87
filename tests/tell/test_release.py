"""What a choreographer sees: every difference with its two moments, and the page before release, line by line."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from made import made_review
from made_dances import COUNTS, MOVES, T, angles, dance, danced

from motion.base.errors import BadStore
from motion.base.types import DanceSheet, Restart, SheetRow
from motion.cli.main import main
from motion.store.folder import write_review
from motion.store.serialize import plain, review_json
from motion.tell.choreographer import against_sheet as differences
from motion.tell.choreographer import (
    between_takes,
    between_walls,
    moment_of,
    not_judged,
    sheet_doubted,
    sheet_told,
    sheets_doubted,
    takes_told,
    told_apart,
    walls_danced,
)
from motion.tell.release import MARKS, Line, default_release, release_html, release_lines, write_release
from motion.timing.consistency import wall_by_wall
from motion.timing.flags import flags_of
from motion.timing.sheet_agreement import against_sheet

ROWS = tuple(SheetRow(n + 1.0, "left" if n % 2 else "right", move, row=n + 1) for n, move in enumerate(MOVES))
SHEET = DanceSheet("Made", COUNTS, 1, ROWS, version="2", bpm=120.0, intro="8 counts")


def review(
    sheet: DanceSheet | None = SHEET, *, walls: int = 3, camera_deg: float = 0.0, turned: dict[int, float] | None = None,
    quarter_deg: float = 0.0, **kwargs: Any,
) -> dict[str, Any]:  # fmt: skip
    """A clip of a made dance of eight counts, 120 BPM, count 1 at 4.4 s after eight beats that begin at 0.4 s."""
    whole = replace(made_review(1, walls * COUNTS, bpm=120.0, wall_counts=COUNTS, seed=2), dance=sheet)
    made = review_json(whole)
    block = made["dancers"][0]
    block["flags"], block["steps"] = [], [s for s in block["steps"] if s["kind"] != "extra"]
    block["steps"].append({**block["steps"][0], "count": 7.0})
    if sheet is not None:
        one = danced(dance(walls, quarter_deg), **kwargs)
        block["walls"] = plain(wall_by_wall(one, angles(one, camera_deg=camera_deg, turned=turned), T))
        block["sheet"] = plain(against_sheet(one, flags_of(one, T), sheet, T))
    made["phrase"] = {"basis": "entry", "phrase_counts": 32, "heard": 1, "walls": [{"wall": 1, "time_s": 4.4, "after": 0}]}
    return made


def lines(made: dict[str, Any]) -> dict[str, Line]:
    return {line.name: line for line in release_lines(made, made["dancers"][0])}


def verdicts(made: dict[str, Any]) -> dict[str, str]:
    return {name: line.verdict for name, line in lines(made).items()}


def test_a_clip_that_equals_its_sheet_agrees_on_every_line_that_can_be_told() -> None:
    assert verdicts(review()) == {
        "The sheet adds up": "agrees", "Version": "agrees", "Tempo": "agrees", "Intro": "cannot tell", "Walls": "agrees",
        "Restarts and tags": "agrees", "Starting foot": "agrees", "Starting facing": "agrees", "Mirror": "agrees",
        "Steps": "agrees", "Phrases of the music": "agrees", "Feet in view": "agrees",
    }  # fmt: skip


def test_without_a_sheet_nothing_agrees_that_needs_one() -> None:
    told = verdicts(review(None))
    assert [name for name, verdict in told.items() if verdict == "agrees"] == ["Phrases of the music", "Feet in view"]
    assert "differs" not in told.values()


@pytest.mark.parametrize(
    ("bpm", "verdict", "words"),
    [
        (120.9, "agrees", "120.9 on"),
        (117.0, "differs", "117 on"),
        (60.0, "differs", "twice as fast"),
        (None, "cannot tell", "names none"),
    ],
)
def test_tempo(bpm: float | None, verdict: str, words: str) -> None:
    line = lines(review(replace(SHEET, bpm=bpm)))["Tempo"]
    assert (line.verdict, words in line.words) == (verdict, True)


def test_a_sheet_without_a_version_and_one_that_does_not_add_up() -> None:
    made = lines(review(replace(SHEET, version=None, counts=9)))
    assert made["Version"].verdict == "cannot tell"
    assert made["The sheet adds up"].verdict == "differs"
    assert "9" in made["The sheet adds up"].words


def test_the_intro_is_told_only_where_the_music_is_heard_to_begin() -> None:
    made = review()
    assert "8 counts are heard before count 1" in lines(made)["Intro"].words
    made["beats"]["times_s"] = [t + 2.0 for t in made["beats"]["times_s"]]
    made["beats"]["first_count_s"] += 2.0
    assert lines(made)["Intro"].verdict == "agrees"
    made["dance"]["written"] = made["dance"]["written"].replace("8 counts", "16 counts")
    assert lines(made)["Intro"].verdict == "differs"
    # It plays from the first beat heard on, not from count 1: the intro lies before that.
    assert [(one.time_s, one.until_count) for one in lines(made)["Intro"].play] == [
        (pytest.approx(2.4), 1.0),
        (pytest.approx(6.4), None),
    ]
    made["dance"]["written"] = made["dance"]["written"].replace("16 counts", "on the word go")
    assert "8 counts are heard before count 1 in the clip." in lines(made)["Intro"].words


def test_another_foot_first_and_a_mirrored_clip_differ_with_the_moment_to_play() -> None:
    made = review()
    for step in made["dancers"][0]["steps"]:
        step["foot"] = "left" if step["foot"] == "right" else "right"
    foot = lines(made)["Starting foot"]
    assert (foot.verdict, foot.words.split()[1], len(foot.play)) == ("differs", "left", 1)
    mirrored = review(other_foot=frozenset(range(24)))
    assert lines(mirrored)["Mirror"].verdict == "differs"
    assert lines(review(other_foot=frozenset({4})))["Mirror"].words.endswith("(but for 1 of 24 landings: see the steps).")


@pytest.mark.parametrize(("camera_deg", "verdict"), [(0.0, "agrees"), (180.0, "agrees"), (90.0, "differs")])
def test_starting_facing(camera_deg: float, verdict: str) -> None:
    assert lines(review(camera_deg=camera_deg))["Starting facing"].verdict == verdict


def test_walls_that_turn_elsewhere_differ_and_unseen_ones_cannot_be_told() -> None:
    four = replace(SHEET, walls=4, rows=(*ROWS[:-1], replace(ROWS[-1], turn_deg=90.0)))
    made = review(four, walls=4, quarter_deg=90.0, turned={18: 90.0})
    assert (lines(made)["Walls"].verdict, "wall 3" in lines(made)["Walls"].words) == ("differs", True)
    assert lines(made)["Walls"].play
    assert lines(review(four, walls=2, quarter_deg=90.0))["Walls"].verdict == "cannot tell"
    assert [row.facing for row in walls_danced(made, made["dancers"][0])] == ["12:00", "3:00", "6:00", "9:00"]


def test_restarts_caught_lost_and_out_of_the_clip() -> None:
    sheet = replace(SHEET, restarts=(Restart(1, 8),))
    assert lines(review(sheet))["Restarts and tags"].verdict == "agrees"
    lost = lines(review(sheet, left_out=frozenset(range(8, 14))))["Restarts and tags"]
    assert (lost.verdict, lost.play[0].time_s) == ("differs", pytest.approx(5.0))
    made = review(sheet)
    made["dancers"][0]["sheet"]["restarts"][0]["caught"] = None  # too little was seen: neither caught nor lost
    assert lines(made)["Restarts and tags"].verdict == "cannot tell"
    far = replace(SHEET, restarts=(Restart(1, 8), Restart(9, 8)))
    assert lines(review(far))["Restarts and tags"].verdict == "cannot tell"


def test_phrases_and_feet() -> None:
    made = review()
    made["phrase"]["walls"].append({"wall": 2, "time_s": 8.4, "after": 4})
    assert [shown.time_s for shown in lines(made)["Phrases of the music"].play] == [8.4]
    steps = made["dancers"][0]["steps"]
    made["dancers"][0]["track"]["unsure"] = [[steps[3]["time_s"] - 0.2, steps[9]["time_s"] + 0.2]]
    feet = lines(made)["Feet in view"]
    assert feet.verdict == "differs"
    assert feet.words.startswith("Seen for certain on 17 of 24 counts")


@pytest.mark.parametrize(
    ("after", "phrase", "verdict"), [(8, 32, "agrees"), (24, 32, "agrees"), (4, 32, "differs"), (8, 12, "differs")]
)
def test_a_short_dance_that_fills_a_phrase_evenly_agrees_with_it(after: int, phrase: int, verdict: str) -> None:
    made = review()
    made["phrase"] = {**made["phrase"], "phrase_counts": phrase, "walls": [{"wall": 2, "time_s": 8.4, "after": after}]}
    assert lines(made)["Phrases of the music"].verdict == verdict
    cut_short = review(replace(SHEET, restarts=(Restart(1, 4),)))
    cut_short["phrase"] = made["phrase"]
    assert lines(cut_short)["Phrases of the music"].verdict == "differs"  # a restart shifts walls: each is looked at by itself


def test_without_a_beat_times_are_not_told() -> None:
    told = verdicts(review_json(replace(made_review(1, 24, wall_counts=8, sound=False), dance=SHEET)))
    assert (told["Tempo"], told["Intro"], told["Walls"]) == ("cannot tell",) * 3


def test_what_differs_from_the_sheet_stands_beside_a_wall_that_does_not() -> None:
    made = review(other_foot=frozenset({12}))
    (one,) = differences(made, made["dancers"][0])
    assert one.words == "Count 5, right forward: the other foot, on wall 2 (1 of 3)."
    assert one.figures == ()  # which wall it is needs no asking
    assert one.left is not None
    assert one.right is not None
    # count 5 of wall 2 is running count 13, the beat at 4.4 + 12 * 0.5 s; wall 1 has it 4 s before.
    assert (one.left.time_s, one.right.time_s) == (pytest.approx(10.4), pytest.approx(6.4))
    assert one.left.about == "Wall 2 (12:00), count 5: not as the sheet has it"


def test_neighbours_that_differ_alike_are_one_difference_that_plays_to_its_end() -> None:
    made = review(other_foot=frozenset({12, 13, 14}))
    found = differences(made, made["dancers"][0])
    assert [one.words.partition(",")[0] for one in found] == ["Counts 5 to 7"]
    assert found[0].left is not None
    assert found[0].left.until_count == 15.0


def test_on_every_wall_there_is_nothing_to_lay_beside_and_the_sheet_is_asked() -> None:
    made = review(other_foot=frozenset({4, 12, 20}))
    (one,) = differences(made, made["dancers"][0])
    assert one.right is None
    assert "on every wall that was seen (3). Does the sheet say what is meant?" in one.words


def test_a_wall_that_stands_apart_is_beside_the_nearest_that_does_not() -> None:
    made = review(late_ms={18: 200.0}, shake_ms=8.0)
    (one,) = between_walls(made, made["dancers"][0])
    assert one.words.startswith("Count 3, wall 3: the landing came later than on the other walls")
    assert one.left is not None
    assert one.right is not None
    assert one.right.about.startswith("Wall 2")
    assert " ms" not in one.words
    assert "ms" in one.figures[0]


def test_take_beside_take_plays_one_moment_of_either() -> None:
    first, second = review(shake_ms=6.0), review(late_ms={4: 150.0, 12: 150.0, 20: 150.0}, shake_ms=6.0)
    (one,) = between_takes(first, first["dancers"][0], second, second["dancers"][0])
    assert one.words.startswith("Count 5, right foot: in the other take the landing came later")
    assert one.left is not None
    assert one.right is not None
    assert (one.left.take, one.right.take) == (0, 1)
    assert "The tempo is the same: 120 and 120" in takes_told(first, first["dancers"][0], second, second["dancers"][0])
    assert between_takes(first, first["dancers"][0], first, first["dancers"][0]) == ()


def test_a_moment_outside_the_clip_is_none() -> None:
    made = review()
    assert moment_of(made, 3, 8.0) == pytest.approx(4.4 + 23 * 0.5)
    assert moment_of(made, 4, 1.0) is None
    assert moment_of(made, 0, 1.0) is None
    made["dance"]["wall_starts"] = [1, 5, 13]
    assert moment_of(made, 1, 4.0) == pytest.approx(4.4 + 3 * 0.5)
    assert moment_of(made, 1, 5.0) is None  # wall 1 was cut after its count 4


def test_a_clip_that_begins_with_a_later_wall_names_its_walls_so() -> None:
    made = review()
    made["made_by"]["judged"] = {"starting_wall": 3}
    made["dance"]["wall_starts"] = [1, 1, 1, 9, 17]
    assert [row.wall for row in walls_danced(made, made["dancers"][0])] == [3, 4, 5]
    assert moment_of(made, 3, 1.0) == pytest.approx(4.4)
    assert moment_of(made, 2, 1.0) is None


def test_the_page_is_one_file_that_says_every_verdict_in_words() -> None:
    made = review(replace(SHEET, title="A <b> dance", bpm=90.0))
    html = release_html(made, made["dancers"][0])
    assert "A &lt;b&gt; dance" in html
    assert "<b>" not in html
    assert not re.search(r"https?://|src=|href=", html)
    assert html.count('class="verdict"') == len(release_lines(made, made["dancers"][0]))
    assert "@page { size: A4" in html
    assert "differs" in html
    assert "Play: 0:04.4, the beginning" in html
    assert len(set(MARKS.values())) == 3


def test_it_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    write_release(tmp_path / "page.html", "<html></html>")
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]
    with pytest.raises(BadStore, match="cannot be written"):
        write_release(tmp_path / "nowhere" / "page.html", "x")


def test_the_command_tells_every_line_and_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "demo.review"
    write_review(folder, made_review(1, 32), extra_arrays={}, report_html="<html></html>")
    assert main(["release", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "Starting foot: " in said
    assert (tmp_path / "demo.release.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert main(["release", str(folder), "--dancer", "4", "--out", str(tmp_path / "x.html")]) == 1
    assert not (tmp_path / "x.html").exists()


def test_a_clip_of_one_wall_has_nothing_to_set_a_wall_against() -> None:
    one = {"timing": {"walls": [{"wall": 1}]}}
    assert "Fewer than two walls" in told_apart(one)
    assert "Fewer than two walls" in told_apart({"timing": {"not_measured": "no beat"}})
    two = {"timing": {"walls": [{"wall": 1}, {"wall": 2}]}}
    assert told_apart(two).startswith("No wall stands apart")
    assert told_apart({**two, "sheet": {"differs": [{"walls": [1, 2], "of": 2}]}}).startswith("No wall stands apart")
    # A wall that differs from the sheet does stand apart: it was told above.
    assert told_apart({**two, "sheet": {"differs": [{"walls": [2], "of": 2}]}}).startswith("Beyond what differs from the sheet")


def test_with_few_landings_as_written_the_sheet_itself_is_asked_about() -> None:
    made = review()
    dancer = made["dancers"][0]
    assert (dancer["sheet"]["judged"], sheet_doubted(dancer)) == (24, "")
    dancer["sheet"]["as_written"] = 12
    assert sheet_doubted(dancer) == ""
    dancer["sheet"]["as_written"] = 11
    assert sheet_doubted(dancer).startswith("Only 11 of 24 landings are as the sheet has them: is it the sheet of this dance")
    dancer["sheet"]["differs"] = [
        {"count": 1.0, "walls": [1], "of": 3, "what": ["other step"], "foot": "left", "move": "side", "always": False}
    ]
    assert lines(made)["Steps"].words.startswith("Only 11 of 24")
    mirrored = review(other_foot=frozenset(range(24)))["dancers"][0]
    assert (mirrored["sheet"]["as_written"], sheet_doubted(mirrored)) == (0, "")  # left and right exchanged: that is told instead
    assert sheet_doubted({}) == ""
    assert sheets_doubted(made) == (f"Dancer 1: {sheet_doubted(dancer)}",)
    assert sheets_doubted({"dancers": [dancer, dancer]}) == sheets_doubted(made)
    assert sheets_doubted({"dancers": [dancer, review()["dancers"][0]]}) == ()  # somebody danced it as written: it is the sheet
    assert sheets_doubted({"dancers": []}) == ()


def test_what_could_not_be_judged_is_not_called_alike() -> None:
    made = review()
    assert not_judged(made, made["dancers"][0]) == ""
    assert "without a dance sheet" in not_judged(review(None), {})
    assert "too little of the feet" in not_judged(made, {"sheet": {"judged": 0}})
    silent = review_json(replace(made_review(1, 24, wall_counts=8, sound=False), dance=SHEET))
    assert "The beat was not measured" in lines(silent)["Steps"].words
    assert "The beat was not measured" in lines(silent)["Mirror"].words


def test_the_page_tells_a_few_differences_and_counts_the_rest() -> None:
    made = review()
    row = {"walls": [1], "of": 3, "foot": "left", "move": "side", "always": False}
    kinds = ("other step", "other foot")
    differs = [{**row, "count": n + 1.0, "what": [kinds[n % 2]]} for n in range(8)]
    made["dancers"][0]["sheet"].update(as_written=16, differs=differs)
    words = lines(made)["Steps"].words
    assert words.count("on wall 1 (1 of 3)") == 6
    assert words.endswith("And 2 more differences stand in the choreographer's view.")
    made["dancers"][0]["sheet"]["as_written"] = 2
    words = lines(made)["Steps"].words
    assert words.startswith("Only 2 of 24 landings")
    assert words.endswith("8 differences stand in the choreographer's view.")
    made["dancers"][0]["sheet"]["differs"] = []
    assert lines(made)["Steps"].verdict == "cannot tell"  # few are as written and nothing was seen to differ: nothing agrees


def test_the_sheet_of_a_clip_is_named_with_its_version() -> None:
    assert sheet_told(review()) == "Made: 8 counts, 1 wall, version 2"
    assert sheet_told(review(None)) == ""
    assert "beside Made: 8 counts, 1 wall, version 2." in release_html(review(), review()["dancers"][0])


@pytest.mark.parametrize("name", ["demo.mp4", "sheet.csv", "page"])
def test_the_page_is_never_written_over_a_clip_or_a_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    folder, other = tmp_path / "demo.review", tmp_path / name
    write_review(folder, made_review(1, 32), extra_arrays={}, report_html="<html></html>")
    other.write_text("mine")
    assert main(["release", str(folder), "--out", str(other)]) == 1
    said = capsys.readouterr()
    assert "does not end in .html" in said.err
    assert said.out == ""
    assert other.read_text() == "mine"


def test_two_takes_in_folders_with_points_in_their_names_keep_a_page_each() -> None:
    assert [default_release(Path(name)).name for name in ("demo.review", "take 1.2", "take 1.3")] == [
        "demo.release.html", "take 1.2.release.html", "take 1.3.release.html",
    ]  # fmt: skip


def test_a_review_whose_last_dancer_was_taken_out_has_no_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "demo.review"
    write_review(folder, made_review(1, 32), extra_arrays={}, report_html="<html></html>")
    kept = json.loads((folder / "review.json").read_text(encoding="utf-8"))
    (folder / "review.json").write_text(json.dumps({**kept, "dancers": []}), encoding="utf-8")
    assert main(["release", str(folder)]) == 1
    assert "holds no dancer" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["demo.review"]
