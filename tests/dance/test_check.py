"""Does the sheet add up: one planted slip is one finding, and clean sheets have none."""

from __future__ import annotations

from pathlib import Path

import pytest

from motion.base.errors import SheetError
from motion.base.types import Finding
from motion.dance.check import check_sheet, require_danceable
from motion.dance.sheet import parse_sheet, read_sheet

REPO = Path(__file__).resolve().parents[2]
SAMPLES = REPO / "sample_clips"
SHARED = REPO.parent / "shared" / "dances"
HEADER = "# title: Test\n# counts: 8\n# walls: 1\ncount,foot,move,turn\n"


def found(text: str) -> tuple[Finding, ...]:
    return check_sheet(parse_sheet(text, "t"))


def planted(sheet: str, before: str, after: str) -> tuple[Finding, ...]:
    """Findings on a clean sample with the lines `before` changed to `after`."""
    text = (SAMPLES / f"{sheet}.csv").read_text()
    assert text.count(before) == 1, "the place of the slip is not unique"
    return found(text.replace(before, after))


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.csv")), ids=lambda p: p.stem)
def test_clean_sheets_have_no_finding(path: Path) -> None:
    sheet = read_sheet(path)
    assert [f.words for f in check_sheet(sheet)] == []
    require_danceable(sheet)


def test_the_clips_own_sheets_have_no_finding() -> None:
    if not SHARED.is_dir():
        pytest.skip("the clips' dance sheets are not beside this checkout")
    paths = sorted(SHARED.glob("*.csv"))
    assert len(paths) >= 5
    assert [f.words for path in paths for f in check_sheet(read_sheet(path))] == []


#: sheet, the line as it should be, the line with the slip, grade, words of the finding.
SLIPS = [
    ("lantern", "14,L,touch,\n", "", "error", "Count 14 is missing"),
    ("lantern", "13,R,side,\n", "", "error", "Count 13 is missing"),
    ("lantern", "3&,L,together,\n", "", "error", "Count 4, right forward: the right foot already bears the weight, since count 3"),
    ("lantern", "32,L,together,1/4 L\n", "", "error", "The header says 32 counts, but the rows end on count 31"),
    ("lantern", "10,L,back,\n", "10,R,back,\n", "error", "Count 10, right back: the right foot already bears the weight"),
    ("lantern", "1,R,forward,\n", "1,L,forward,\n", "error", "the left foot already bears the weight, from the end"),
    ("lantern", "32,L,together,1/4 L", "32,R,together,1/4 L", "error", "Count 32, right together"),
    ("lantern", "16,R,touch,\n", "16,R,together,\n", "error", "Count 17, right side: the right foot already bears the weight"),
    ("lantern", "20,R,side,\n", "20,R,touch,\n", "error", "Count 21, left behind: the left foot already bears the weight"),
    ("lantern", "27,R,hitch,\n", "27,L,hitch,\n", "error", "Count 27, left hitch: the left foot already bears the weight"),
    ("lantern", "12,L,cross,\n", "11,L,cross,\n", "error", "here and in row 17: two steps at one count. Was 12 meant?"),
    ("lantern", "7&,R,together,\n", "8&,R,together,\n", "error", "Count 8& is out of order"),
    ("lantern", "18&,R,side,\n", "18,R,side,\n", "error", "two steps at one count. Was 18& meant?"),
    ("lantern", "21,L,behind,\n21&,R,side,\n", "21&,R,side,\n21,L,behind,\n", "error", "Count 21& is out of order"),
    ("lantern", "32,L,together,1/4 L", "32,L,together,", "error", "a wall that begins at 12:00 ends at 6:00, but with 4 walls"),
    ("lantern", "# walls: 4", "# walls: 2", "error", "The turns do not close"),
    ("lantern", "# counts: 32", "# counts: 40", "error", "The header says 40 counts, but the rows end on count 32"),
    ("lantern", "# counts: 32", "# counts: 28", "error", "The header says 28 counts, but the rows run to 32"),
    ("shingle", "27,R,together,\n", "", "error", "Count 27 is missing"),
    ("shingle", "27,R,together,\n", "37,R,together,\n", "error", "Was 27 meant?"),
    ("shingle", "26,L,recover,\n", "27,L,recover,\n", "error", "Was 26 meant?"),
    ("shingle", "30,R,recover,\n", "29,R,recover,\n", "error", "Was 30 meant?"),
    ("porchlight", "22,L,in place,\n", "22&,L,in place,\n", "error", "Count 22 is missing"),
    ("shingle", "18,L,recover,1/2 L", "18,,recover,1/2 L", "error", "Count 18, recover: which foot?"),
    ("shingle", "22,R,recover,\n", "22,R,recover,\n22,R,recover,\n", "error", "two steps at one count"),
    ("gravel", "14,L,forward,1/4 L\n15,R,cross,\n", "15,R,cross,\n14,L,forward,1/4 L\n", "error", "out of order"),
    ("gravel", "14,L,forward,1/4 L", "14,L,forward,1/2 L", "error", "The turns do not close"),
    ("gravel", "16,L,side,\n", "16,L,touch,\n", "error", "The wall ends with the weight on the right foot, but count 1"),
    ("millpond", "12,R,back,\n13,L,cross,\n", "21,R,back,\n13,L,cross,\n", "error", "Count 21 is out of order"),
    ("millpond", "24,R,in place,\n", "24,R,in place,\n25,L,side,\n", "error", "The header says 24 counts, but the rows run to 25"),
    ("tin-umbrella", "13 to 16,L,vine", "13 to 17,L,vine", "error", "vine does not fit count 13 to 17: it takes 4 or 3 counts"),
    ("tin-umbrella", "23 to 24,L,coaster", "23 to 24,R,coaster", "error", "Count 23, right back"),
    ("tin-umbrella", "25 to 28,R,jazz box", "24 to 27,R,jazz box", "error", "within row 22, which fills 23 to 24. Was 25 meant?"),
    ("late-ferry", "after 16 (", "after 15 (", "error", "The restart in wall 4 after 15 leaves the weight on the right foot"),
    ("late-ferry", "after 16 (", "after 40 (", "error", "cannot be: the wall has 32 counts"),
    ("late-ferry", "tag 1 to 4,R,sway", "tag 1 to 4,L,sway", "error", "Count 1, left sway: the left foot already bears the weight"),
    ("late-ferry", "wall 2 after 32", "wall 2 after 36", "error", "is never reached: the wall ends after 32"),
    ("late-ferry", "(facing 12:00)", "(facing 3:00)", "doubt", "is said to face 3:00, but the turns lead to 12:00"),
    ("late-ferry", "# level: improver", "# level: beginner", "doubt", "definitions that instructors commonly use"),
    ("late-ferry", "# restart:", "# restrat:", "doubt", "Was '# restart:' meant?"),
    ("wet-paint", "13 to 15,L,waltz forward,1/4 L", "13 to 15,L,waltz forward,", "error", "The turns do not close"),
    ("wet-paint", "10 to 12,R,twinkle", "10 to 12,L,twinkle", "error", "Count 10, left cross: the left foot"),
    ("paper-lighthouse", "5 to 6,R,sway", "5 to 6,,sway", "error", "does not say which foot begins"),
    ("paper-lighthouse", "ending 1,R,stomp", "ending 2,R,stomp", "error", "Count 1 is missing"),
]  # fmt: skip


@pytest.mark.parametrize(("sheet", "before", "after", "grade", "words"), SLIPS)
def test_one_planted_slip_is_one_finding(sheet: str, before: str, after: str, grade: str, words: str) -> None:
    findings = planted(sheet, before, after)
    assert [(f.grade, words in f.words) for f in findings] == [(grade, True)], [f.words for f in findings]
    if grade == "error":
        with pytest.raises(SheetError, match="cannot be danced as its sheet is written"):
            require_danceable(parse_sheet((SAMPLES / f"{sheet}.csv").read_text().replace(before, after), "t"))


def test_every_deleted_doubled_or_mirrored_row_is_one_finding() -> None:
    tried = 0
    for name in ("gravel", "lantern", "millpond", "porchlight", "shingle"):
        lines = (SAMPLES / f"{name}.csv").read_text().splitlines()
        for k, line in enumerate(lines):
            if not line[0].isdigit():
                continue
            count, foot, move, turn = line.split(",")
            other = ",".join((count, "L" if foot == "R" else "R", move, turn))
            for slip in ([], [line, line], [other], [f"{count},{foot},{move}x,{turn}"]):
                text = "\n".join([*lines[:k], *slip, *lines[k + 1 :]])
                tried += 1
                if slip and slip[0].split(",")[2].endswith("x"):
                    with pytest.raises(SheetError, match=f"Did you mean '{move}'"):
                        found(text)
                else:
                    assert len(found(text)) == 1, (name, slip, [f.words for f in found(text)])
    assert tried == 4 * 144


def test_the_row_named_is_the_row_of_the_slip() -> None:
    assert planted("lantern", "10,L,back,\n", "10,R,back,\n")[0].row == 16
    assert planted("lantern", "14,L,touch,\n", "")[0].row == 20  # the row behind the gap


def test_a_missing_turn_in_a_missing_row_is_told_with_it() -> None:
    findings = planted("gravel", "14,L,forward,1/4 L\n", "")
    assert len(findings) == 1
    assert "Count 14 is missing" in findings[0].words
    assert "turns of the wall do not close either" in findings[0].words


def test_holds_left_out_after_a_figure_of_three_are_holds() -> None:
    rumba = "1,R,side,\n2,L,together,\n3,R,forward,\n5,L,side,\n6,R,together,\n7,L,back,\n"
    assert found(HEADER + rumba) == ()
    vine = "1,R,side,\n2,L,behind,\n3,R,side,\n5 to 8,L,vine,\n"
    assert [f.words for f in found(HEADER + vine)] == ["Count 4 is missing before this row. Write the step, or hold"]


def test_a_sheet_that_always_leaves_its_holds_out_is_a_doubt() -> None:
    rows = "1,R,forward,\n3,L,forward,\n5,R,back,\n7,L,back,\n"
    findings = found(HEADER + rows)
    assert [f.grade for f in findings] == ["doubt"]
    assert "Counts 2, 4, 6, 8 have no row and are read as holds" in findings[0].words
    assert found(HEADER + rows.replace("\n", "\n2,,hold,\n", 1))[0].grade == "error"  # it writes a hold where it means one


def test_both_feet_at_once_are_a_doubt_and_weight_is_open_after_it() -> None:
    rows = "1,,forward,\n2,R,touch,\n3 to 4,R,walk,\n5 to 8,R,rocking chair,\n"
    assert [(f.grade, f.row) for f in found(HEADER + rows)] == [("doubt", 5)]
    assert [f.grade for f in found(HEADER + rows.replace("1,,forward", "1,,kick"))] == ["error"]


def test_struts_unwinds_and_swivels_by_weight() -> None:
    rows = "1 to 2,R,toe strut,\n3 to 4,L,heel strut,\n5,R,cross,\n6,L,unwind,full L\n7 to 8,,swivels,\n"
    assert found(HEADER + rows) == ()
    assert "ends with the weight on the right foot" in found(HEADER + rows.replace("6,L,unwind", "6,,unwind"))[0].words


def test_restarts_may_replace_their_last_counts() -> None:
    text = (SAMPLES / "late-ferry.csv").read_text()
    mended = text.replace("after 16 (facing 12:00)\n", "after 15\nrestart 15,L,strut drop,\n")
    assert [f.grade for f in found(mended)] == ["doubt"]  # it cuts a bar, but it can be danced
    wrong = text.replace("after 16 (facing 12:00)\n", "after 16\nrestart 16,L,touch,\n")
    assert "leaves the weight on the right foot" in found(wrong)[0].words
    gap = text.replace("after 16 (facing 12:00)\n", "after 16\nrestart 13,L,side,\n")
    assert len(found(gap)) == 1


def test_restarts_that_change_nothing_or_come_twice() -> None:
    assert [f.grade for f in planted("late-ferry", "wall 4 after 16 (facing 12:00)", "wall 4 after 32")] == ["doubt"]
    twice = planted("late-ferry", "# tag", "# restart: wall 4 after 8\n# tag")
    assert [(f.grade, "comes twice" in f.words) for f in twice] == [("error", True)]


def test_a_tag_within_a_wall_must_leave_the_weight_as_it_was() -> None:
    text = HEADER + "1 to 8,R,walk,\n# tag: wall 2 after 3\ntag 1,L,side,\ntag 2,R,side,\n"
    assert found(text) == ()
    assert "which is needed for the next step" in found(text.replace("tag 2,R,side", "tag 2,R,touch"))[0].words


def test_a_slip_at_the_end_of_the_wall_is_not_told_again_by_the_tag() -> None:
    text = HEADER + "1 to 7,R,walk,\n8,L,forward,\n# tag: wall 2 after 8\ntag 1 to 4,R,sway,\n"
    assert found(text) == ()
    assert [f.words for f in found(text.replace("8,L,forward,\n", ""))] == ["The header says 8 counts, but the rows end on count 7"]


def test_the_end_of_each_part_leads_into_the_next() -> None:
    findings = planted("paper-lighthouse", "8,L,mambo back", "8,L,rock back")
    assert len(findings) == 1
    clash = found("# walls: 1\n# parts: A B B B A\n# part: A\n1 to 2,R,walk\n# part: B\n1 to 3,R,walk\n")
    assert ["Part B ends" in f.words for f in clash] == [True]


def test_levels_name_whose_definition_they_use() -> None:
    text = (SAMPLES / "tin-umbrella.csv").read_text().replace("level: beginner", "level: Absolute Beginner")
    (finding,) = found(text)
    assert finding.grade == "doubt"
    assert "half counts (1&)" in finding.words
    assert "instructors commonly use" in finding.words
    assert found(text.replace("Absolute Beginner", "some level of our own")) == ()


def test_headings_and_bars_are_doubts() -> None:
    (finding,) = planted(
        "tin-umbrella", "# section: Jazz box, heels\n25 to 28,R,jazz box,,\n", "25 to 28,R,jazz box,,\n# section: Heels\n"
    )
    assert (finding.grade, "within a section of 8" in finding.words) == ("doubt", True)
    odd = found(HEADER.replace("8", "6") + "1 to 4,R,vine,\n5,L,side,\n6,R,touch,\n".replace("R,touch", "R,side") + "")
    assert all(f.grade == "error" for f in odd)
    six = HEADER.replace("8", "6") + "1 to 6,R,walk,\n"
    assert [(f.grade, "whole number of bars of 4" in f.words) for f in found(six)] == [("doubt", True)]


def test_the_refusal_tells_the_first_errors_and_how_many_more() -> None:
    rows = "".join(f"{n},R,side,\n" for n in range(1, 9))
    with pytest.raises(SheetError) as caught:
        require_danceable(parse_sheet(HEADER + rows, "t"))
    assert "Test cannot be danced as its sheet is written: row 6: Count 2, right side" in str(caught.value)
    assert "more. Mend the sheet and check it again." in str(caught.value)


def test_ten_thousand_wrong_rows_are_still_checked_in_time() -> None:
    rows = "".join(f"{n},R,side,\n" for n in range(1, 5001))
    assert len(found(HEADER.replace("counts: 8", "counts: 5000") + rows)) > 1000
