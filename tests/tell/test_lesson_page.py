"""The lesson as one file, and its commands: what is in it, what is not, and refusals that leave nothing behind."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from motion.base.errors import BadInput, SheetError
from motion.cli.main import main
from motion.dance.sheet import parse_sheet, read_sheet
from motion.review.settings import SETTINGS
from motion.tell.lesson_page import SECTIONS, lesson_html, lesson_script, lesson_style, section_html, write_lesson
from motion.tell.lesson_plan import Wish, make_lesson, room_of, sheet_travel

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
HEDGEROW = read_sheet(SAMPLES / "hedgerow.csv")
WALTZ = read_sheet(SAMPLES / "wet-paint.csv")


class Reader(HTMLParser):
    """Tags that do not close, and everything that a browser would fetch."""

    def __init__(self):
        super().__init__()
        self.open, self.fetched, self.words, self.timers = [], [], [], []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag not in ("meta", "br", "input", "path", "rect", "circle"):
            self.open.append(tag)
        self.fetched += [value for name, value in attrs if name in ("src", "href", "action") and not str(value).startswith("#")]
        if "data-timer" in given:
            self.timers.append([piece.rpartition("=") for piece in given["data-timer"].split("|")])

    def handle_startendtag(self, tag, attrs):
        pass

    def handle_endtag(self, tag):
        if tag not in ("br", "input", "path", "rect", "circle"):
            assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("script", "style"):
            self.words.append(data)


def read(html):
    reader = Reader()
    reader.feed(html)
    assert reader.open == []
    return reader


def test_one_file_with_everything_and_nothing_from_outside():
    page = lesson_html(make_lesson(Wish(dancers=16), HEDGEROW))
    seen = read(page)
    assert seen.fetched == []
    assert "default-src 'none'" in page
    assert not re.search(r"url\(|@import|fetch\(|XMLHttp|localStorage|WebSocket", page)
    said = " ".join(seen.words)
    for words in ("Hedgerow Sixteen", "When to stop", "Health notes", "Floor and lines", "Warm-up", "5-6-7-8", "Talk test", "reads low",
                  "Cool-down", "no medical advice", "school or club", "vine", "rocking chair"):  # fmt: skip
        assert words in said, words
    assert set(SECTIONS) == set(re.findall(r"<section id='([\w-]+)'>", page))


def test_timers_hold_whole_parts():
    lesson = make_lesson(Wish(30), HEDGEROW)
    timers = read(lesson_html(lesson)).timers
    assert all(int(seconds) > 0 for pieces in timers for _, _, seconds in pieces)
    sums = [sum(int(seconds) for _, _, seconds in pieces) for pieces in timers]
    for part in lesson.parts:
        assert part.seconds in sums
    assert sum(item.seconds for item in lesson.warm) in sums
    assert sum(item.seconds for item in lesson.cool) in sums
    assert 5 + 15 in sums  # find the beat, then count


def test_children_are_told_no_energy_and_no_target():
    said = " ".join(read(lesson_html(make_lesson(Wish(audience="children", age=9), HEDGEROW))).words)
    for words in ("kcal", "MET", "moderate", "vigorous", "highest pulse", "overweight", "fat"):
        assert not re.search(rf"\b{words}\b", said), words
    assert "Whose" in said or "whose" in said
    grown = " ".join(read(lesson_html(make_lesson(Wish(audience="adults", age=45), HEDGEROW))).words)
    for words in ("MET", "vigorous", "Tanaka", "American Heart Association", "Centers for Disease Control", "choose one"):
        assert words in grown, words
    assert "is 176.5 by" in grown  # 208 - 0.7 * 45
    assert "comparison 175 by" in grown  # 220 - 45
    old = " ".join(read(lesson_html(make_lesson(Wish(audience="seniors", age=70), HEDGEROW))).words)
    assert not re.search(r"\b(MET|kcal)\b", old)  # the adult table ends at 59
    assert "American Heart Association" in old


@pytest.mark.parametrize(("audience", "age"), [("children", 9), ("adults", 34), ("adults", 16), ("seniors", 71)])
def test_formulas_and_who_published_them_are_folded_away(audience, age):
    page = section_html(make_lesson(Wish(audience=audience, age=age), HEDGEROW), "pulse")
    openly = " ".join(read(re.sub(r"<details>.*?</details>", "", page)).words)
    assert not re.search(r"\d\.\d|220 −|×|\bMETs?\b|Tanaka|Lancet|Compendium|et al|code", openly), openly
    assert "reads low" in openly
    folded = " ".join(read("".join(re.findall(r"<details>.*?</details>", page))).words)
    if audience == "children" or age < 18:
        assert "Lancet 2011;377" in folded
    if audience == "adults":
        assert "about 120 to 240 kcal in 30 minutes" in openly
        assert "4 to 8 MET × kg × hours. The Compendium gives 7.8 MET" in folded
    if age >= 18:
        assert f"the highest pulse is usually about {184 if age == 34 else 158} a minute" in openly  # 184.2, 158.3
        assert "208 − 0.7 × age (Tanaka" in folded
        assert "50 to 70 and 70 to 85 % of 220 − age" in folded


def test_a_waltz_counts_in_threes():
    lesson = make_lesson(Wish(60, "seniors", seated=True), WALTZ)
    assert lesson.says == (4, 5, 6)
    assert lesson.bpm == 92
    page = lesson_html(lesson)
    assert "data-section='6'" in page
    assert "4-5-6" in page
    assert "5-6-7-8" not in " ".join(read(page).words)


def test_the_sheets_path_by_hand():
    # four steps forward of 0.8 paces from feet together, then back to where they began: one wall
    walk = "# title: Walk\n# counts: 8\n# walls: 1\ncount,foot,move,turn\n" + "".join(
        f"{n},{'RL'[(n - 1) % 2]},{'forward' if n < 5 else 'back'},\n" for n in range(1, 9)
    )
    pace = SETTINGS.lesson.pace_share * SETTINGS.lesson.height_children_m
    travel = sheet_travel(parse_sheet(walk, "walk"), "children")
    assert travel.ahead_m == pytest.approx(4 * 0.8 * pace)
    assert travel.behind_m == 0
    assert travel.left_m == travel.right_m == pytest.approx(0.15 * pace)
    assert sheet_travel(parse_sheet(walk, "walk"), "adults").ahead_m == pytest.approx(travel.ahead_m * 1.75 / 1.40)


def test_the_sheets_path_reaches_the_floor_plan():
    still, far = (make_lesson(Wish(dancers=12, rows=2), sheet).floor for sheet in (None, HEDGEROW))
    assert still.travel.left_m == SETTINGS.lesson.plain_travel_m
    assert far.travel == sheet_travel(HEDGEROW, "children")
    assert make_lesson(Wish()).floor is None


def test_a_title_cannot_break_out():
    page = lesson_html(make_lesson(Wish(), replace_title(HEDGEROW, "<script>alert('x')</script>|=5")))
    assert "<script>alert" not in page
    read(page)


def replace_title(sheet, title):
    return replace(sheet, title=title)


def test_a_part_by_itself_is_whole():
    for name in SECTIONS:
        html = section_html(make_lesson(Wish(dancers=8), HEDGEROW), name)
        read(html)
        assert html.count("class='timerbar'") == 1
    assert "function lessonWidgets(root)" in lesson_script()
    assert ".lesson" in lesson_style()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (Wish(0), "lesson's length is 0"),
        (Wish(age=0), "The age is 0"),
        (Wish(audience="adults", age=130), "The age is 130"),
        (Wish(dancers=200, room_m=(5, 4)), "200 dancers"),
        (Wish(bpm=-100), "tempo is -100"),
        (Wish(bpm=0), "tempo is 0"),
        (Wish(audience="cats"), "no audience"),
    ],
)
def test_wishes_that_cannot_be(asked, said):
    with pytest.raises(BadInput, match=said):
        make_lesson(asked, HEDGEROW)


def test_a_sheet_that_does_not_add_up_is_refused():
    broken = "# title: Odd\n# counts: 8\n# walls: 1\ncount,foot,move,turn\n1,R,side,\n2,R,side,\n"
    with pytest.raises(SheetError):
        make_lesson(Wish(), parse_sheet(broken, "odd"))


def test_sizes_of_rooms():
    assert room_of("10x8") == room_of(" 10 m x 8 m ") == room_of("10 by 8") == (10, 8)
    assert room_of("9,5 × 7") == (9.5, 7)
    with pytest.raises(BadInput, match="no size of a room"):
        room_of("large")


def test_the_lesson_command(tmp_path, capsys):
    out = tmp_path / "lesson.html"
    words = ["lesson", "--dance", str(SAMPLES / "hedgerow.csv"), "--dancers", "20", "--room", "16x12", "--minutes", "40"]
    assert main([*words, "--out", str(out)]) == 0
    assert "Written to" in capsys.readouterr().out
    assert "20 dancers" in out.read_text(encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["lesson.html"]


@pytest.mark.parametrize(
    "words",
    ["lesson --minutes 0", "lesson --for adults --age 0", "lesson --for adults --age 130", "lesson --dancers 200 --room 5x4",
     "lesson --bpm -90", "lesson --room big", "lesson --dance missing.csv", "tune --bpm -90", "tune --bpm 100 --counts 0",
     "tune --bpm 100 --wait -1", "tune --bpm 100 --ladder 99"],
)  # fmt: skip
def test_bad_input_is_one_plain_sentence_and_saves_nothing(words, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    out = ["--out", "x.wav" if words.startswith("tune") else "x.html"]
    assert main([*words.split(), *out]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert 1 <= said.err.strip().count(".") <= 5
    assert "Traceback" not in said.err
    assert list(tmp_path.iterdir()) == []


def test_the_tune_command(tmp_path, capsys):
    out = tmp_path / "slow.wav"
    assert main(["tune", "--bpm", "110", "--counts", "16", "--ladder", "2", "--clicks-only", "--out", str(out)]) == 0
    assert "--song" in capsys.readouterr().out
    assert sorted(p.name for p in tmp_path.iterdir()) == ["slow.beats.csv", "slow.wav"]
    assert main(["tune", "--bpm", "110", "--out", str(tmp_path / "x.mp3")]) == 1
    assert not (tmp_path / "x.mp3").exists()


def test_the_file_is_written_whole_or_not_at_all(tmp_path):
    lesson = make_lesson(Wish())
    write_lesson(tmp_path / "a.html", lesson)
    assert (tmp_path / "a.html").read_text(encoding="utf-8") == lesson_html(lesson)
    with pytest.raises(BadInput, match=r"does not end in \.html"):
        write_lesson(tmp_path / "a.pdf", lesson)
    assert [p.name for p in tmp_path.iterdir()] == ["a.html"]
