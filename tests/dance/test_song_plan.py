"""The whole dance in its song: times, facings, phrases, restarts, tags and the ending.

Outside checks: the worked restart example of the trade (120 BPM, intro 16, restart in wall 3 after 16: walls at 8, 24, 40 and 48 s,
facing 12:00, 9:00, 6:00, 6:00), and the arithmetic of the metre (60 / BPM seconds a count; 16 and 32 counts by tempo).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from motion.base.errors import BadInput
from motion.base.types import DanceSheet
from motion.dance.check import check_sheet
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.song_plan import on_paper, phrase_of
from motion.dance.unroll import unroll

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
PHRASED = "# walls: 2\n# bpm: 120\n# intro: 16\n# parts: A B A\n{more}# part: A\n1 to 8,R,walk,\n9 to 12,R,rocking chair,\n" \
    "13 to 14,R,pivot 1/2,\n15 to 16,R,walk,\n# part: B\n1 to 4,R,jazz box,\n5 to 8,R,rocking chair,\n{tags}"  # fmt: skip


def walks(header: str = "", rows: str = "", on: int = 29) -> DanceSheet:
    steps = "".join(f"{n},{'RL'[(n + 1) % 2]},forward,{'1/4 L' if n == on else ''}\n" for n in range(1, 33))
    return parse_sheet(f"# title: Walks\n# counts: 32\n# walls: 4\n# bpm: 120\n# intro: 16 counts\n{header}{steps}{rows}", "walks")


def phrased(more: str = "", tags: str = "") -> DanceSheet:
    return parse_sheet(PHRASED.format(more=more, tags=tags), "phrased")


def test_the_worked_restart_example() -> None:
    paper = on_paper(walks("# restart: wall 3 after 16\n"), song_s=66.0)
    assert [(line.count, line.time_s, line.clock) for line in paper.lines[:4]] == [
        (1, 8.0, "12:00"), (33, 24.0, "9:00"), (65, 40.0, "6:00"), (81, 48.0, "6:00"),
    ]  # fmt: skip
    assert paper.lines[2].note == "restart after 16 of 32"
    assert [line.counts for line in paper.lines] == [32, 32, 16, 32, 4]
    assert paper.lines[-1].note == "left after its count 4"
    assert paper.spare_counts == 0


@pytest.mark.parametrize(
    ("bpm", "sixteen_s", "thirty_two_s"),
    [(84, 11.429, 22.857), (100, 9.6, 19.2), (120, 8.0, 16.0), (128, 7.5, 15.0), (150, 6.4, 12.8)],
)
def test_a_count_lasts_sixty_seconds_by_the_tempo(bpm: float, sixteen_s: float, thirty_two_s: float) -> None:
    lines = on_paper(walks(), bpm=bpm).lines
    assert lines[0].time_s == pytest.approx(sixteen_s, abs=5e-4)
    assert lines[1].time_s - lines[0].time_s == pytest.approx(thirty_two_s, abs=5e-4)


def test_phrases_are_of_eight_bars() -> None:
    assert phrase_of(walks()) == 32
    waltz = read_sheet(SAMPLES / "wet-paint.csv")
    assert phrase_of(waltz) == 24  # eight bars of three
    paper = on_paper(waltz)
    assert [(line.phrase, line.into) for line in paper.lines] == [(1, 0), (2, 0)]
    assert paper.lines[0].time_s == pytest.approx(12 * 60 / 92)


def test_a_tag_and_a_restart_move_the_dance_against_the_phrases() -> None:
    paper = on_paper(read_sheet(SAMPLES / "late-ferry.csv"), song_s=90.0)
    told = [(line.name, line.count, line.clock, line.phrase, line.into) for line in paper.lines]
    assert told[:6] == [
        ("Wall 1", 1, "12:00", 1, 0), ("Wall 2", 33, "3:00", 2, 0), ("Tag", 65, "6:00", 3, 0), ("Wall 3", 69, "6:00", 3, 4),
        ("Wall 4", 101, "9:00", 4, 4), ("Wall 5", 117, "12:00", 4, 20),
    ]  # fmt: skip
    assert paper.notes == ("The sheet says “on the vocals”: times begin with count 1.",)
    assert on_paper(read_sheet(SAMPLES / "late-ferry.csv"), intro=32).lines[0].time_s == pytest.approx(32 * 60 / 108)


def test_every_line_begins_where_the_dance_in_a_row_has_it() -> None:
    for name in ("late-ferry", "paper-lighthouse", "hedgerow", "millpond"):
        sheet = read_sheet(SAMPLES / f"{name}.csv")
        paper = on_paper(sheet, bpm=100.0, song_s=120.0)
        end = paper.lines[-1].count + paper.lines[-1].counts
        events = unroll(sheet, until_count=end - 0.01, ending_after=paper.ending_after)
        for line in paper.lines:
            before = [e.facing_deg for e in events if e.count < line.count]
            assert line.facing_deg == pytest.approx((before[-1] if before else 0.0) % 360), (name, line)
            if line.what in ("wall", "tag"):
                assert next(e for e in events if e.count >= line.count).wall == line.wall
        assert events[-1].facing_deg % 360 == paper.ends_facing_deg


def test_the_ending_is_the_last_that_fits_and_is_unrolled() -> None:
    sheet = read_sheet(SAMPLES / "paper-lighthouse.csv")
    paper = on_paper(sheet, song_s=60.0, bpm=120.0)  # 120 counts, 16 of them intro: 104 are danced
    assert paper.lines[-1].name == "Ending"
    assert (paper.ending_after, paper.spare_counts) == (96, 7)  # sections end on 96 and 104; the ending needs a count of its own
    events = unroll(sheet, ending_after=paper.ending_after)
    assert (events[-1].count, events[-1].move) == (97, "stomp")
    assert events[-2].count <= 96.99
    assert unroll(sheet, ending_after=8)[-1].count == 9


def test_an_ending_waits_for_the_free_foot() -> None:
    rows = "1,R,side,\n2,L,together,\n3 to 8,R,walk,\n9 to 11,R,vine,\n12 to 15,L,walk,\n16,L,touch,\n".replace(
        "12 to 15,L,walk", "12 to 15,L,walk"
    )
    sheet = parse_sheet(f"# counts: 16\n# walls: 1\n# bpm: 60\n{rows}ending 1,L,stomp,\n", "t")
    paper = on_paper(sheet, song_s=31.0)
    assert paper.ending_after is not None
    before = [e for e in unroll(sheet, until_count=paper.ending_after + 0.99) if e.takes_weight][-1]
    assert before.foot == "right"  # so that the left one is free for the stomp


def test_phrased_dances_name_their_parts_and_repeat_their_order() -> None:
    paper = on_paper(phrased(), song_s=48.0)
    assert [line.name for line in paper.lines] == ["Part A", "Part B", "Part A", "Part A", "Part B", "Part A"]
    assert [line.time_s for line in paper.lines] == [8.0, 16.0, 20.0, 28.0, 36.0, 40.0]
    assert [line.clock for line in paper.lines] == ["12:00", "6:00", "6:00", "12:00", "6:00", "6:00"]


@pytest.mark.parametrize(
    ("more", "tags", "grade", "words"),
    [
        ("# restart: wall 2 after 4\n", "", "", ""),
        ("# restart: wall 2 after 12\n", "", "error", "cannot be: that is part B, which has 8 counts"),
        ("# restart: wall 1 after 13\n", "", "error", "after the restart, count 1 uses the right foot"),
        ("", "# tag: wall 2 after 8\ntag 1 to 4,R,sway\n", "", ""),
        ("", "# tag: wall 2 after 8\ntag 1 to 3,R,sway\n", "error", "after a tag, count 1 uses the right foot"),
        ("", "# tag: wall 2 after 8\ntag 1 to 4,L,sway\n", "error", "In the tag in wall 2, count 1 uses the left foot"),
        ("", "# tag: wall 2 after 9\ntag 1 to 4,R,sway\n", "error", "is never reached: that is part B, which ends after 8"),
        ("", "# tag: wall 2 after 8\ntag 1 to 2,R,sway\ntag 4,L,sway\n", "error", "Count 3 is missing"),
        ("", "# tag: wall 2 after 8\ntag 1 to 2,R,pivot 1/4\n", "doubt", "begins facing 3:00"),
        ("# restart: wall 1 after 8\n", "", "", ""),
    ],
)
def test_cuts_and_tags_of_a_phrased_dance_are_checked(more: str, tags: str, grade: str, words: str) -> None:
    found = check_sheet(phrased(more, tags))
    assert [f.grade for f in found] == ([grade] if grade else []), [f.words for f in found]
    assert not grade or words in found[0].words


def test_a_restart_that_faces_no_wall_of_the_dance_is_a_doubt() -> None:
    rows = "1 to 4,R,vine,1/4 R\n5 to 8,L,vine,\n9 to 12,R,vine,1/4 R\n13 to 16,L,vine,\n"
    text = "# counts: 16\n# walls: 2\n" + rows
    assert check_sheet(parse_sheet(text, "t")) == ()
    (finding,) = check_sheet(parse_sheet(text + "# restart: wall 2 after 8\n", "t"))
    assert finding.grade == "doubt"
    assert "wall 3 begins facing 9:00, but a dance of 2 walls begins facing 12:00 or 6:00" in finding.words


def test_a_phrased_dance_that_states_no_walls_may_face_anywhere() -> None:
    text = PHRASED.format(more="", tags="").replace("# walls: 2\n", "")
    assert check_sheet(parse_sheet(text, "t")) == ()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"bpm": 5.0}, "tempo"),
        ({"song_s": 2.0}, "length"),
        ({"song_s": 1e6}, "length"),
        ({"song_s": 10.0, "intro": 40}, "before the dance begins"),
        ({"intro": -1}, "intro"),
        ({"intro": 100000}, "intro"),
    ],
)
def test_numbers_that_cannot_be(given: dict[str, float], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        on_paper(walks(), **given)  # type: ignore[arg-type]


def test_without_a_tempo_there_is_no_paper() -> None:
    with pytest.raises(BadInput, match="does not say how fast"):
        on_paper(read_sheet(SAMPLES / "lantern.csv"))
