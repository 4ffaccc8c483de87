"""The wall-by-wall plan: everything of the dance on one printed page."""

from __future__ import annotations

import re
import shutil
import subprocess
from html import unescape
from pathlib import Path

import pytest

from motion.base.errors import BadInput, BadStore
from motion.cli.main import main
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.song_plan import on_paper
from motion.tell.wall_plan import song_seconds, wall_plan_html, write_wall_plan

SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
CHROMIUM = shutil.which("chromium")


def words(html: str) -> str:
    """What the page says, without its style and marks."""
    bare = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", bare)).split())


def crib(name: str, song_s: float = 190.0, bpm: float | None = 112.0) -> str:
    sheet = read_sheet(SAMPLES / f"{name}.csv")
    return wall_plan_html(sheet, on_paper(sheet, song_s=song_s, bpm=bpm))


@pytest.mark.parametrize(("text", "seconds"), [("3:05", 185.0), ("3", 180.0), ("0:45", 45.0), (" 12:00 ", 720.0), ("3:5", 185.0)])
def test_lengths_of_music(text: str, seconds: float) -> None:
    assert song_seconds(text) == seconds


@pytest.mark.parametrize("text", ["", "3:75", "three", "-1", "3.5", "1:2:3", "9999", "=1+1"])
def test_lengths_that_are_none(text: str) -> None:
    with pytest.raises(BadInput, match="is not a length of music"):
        song_seconds(text)


def test_the_page_tells_the_steps_and_where_every_wall_falls() -> None:
    told = words(crib("late-ferry"))
    for said in ("Late Ferry Home", "32 counts · 4 walls · 4/4 · improver · 112 beats a minute", "Sailors, quarter Monterey",
                 "1–2 R sailor", "5–8 R Monterey 1/4, “Monterey quarter”", "Restart: wall 4 after 16 (facing 12:00)",
                 "Tag, 4 counts: wall 2 after 32", "Wall 2 0:17 3:00 ●", "Wall 3 0:36 6:00 +4",
                 "restart after 16 of 32", "left after its count 14", "In the music"):  # fmt: skip
        assert said in told, said


def test_notes_options_parts_and_the_ending_are_told() -> None:
    told = words(crib("hedgerow"))
    assert "5–8 L vine, 1/4 L, turn on 7, “vine left”, easier: no turn until the steps sit" in told
    told = words(crib("paper-lighthouse"))
    assert "parts A B A A B" in told
    assert "Part B, 8 counts" in told
    assert "Ending" in told
    assert "The ending finishes facing 12:00." in told
    prose = parse_sheet(
        "# title: P\n# counts: 4\n# walls: 1\n# section: Vine\n# section: note: keep it small\n1 to 4,R,vine,\n", "t"
    )
    told = words(wall_plan_html(prose, on_paper(prose, bpm=100.0)))
    assert "Vine keep it small 1–4 R vine" in told


def test_nothing_from_outside_and_nothing_runs() -> None:
    sheet = parse_sheet('# title: <script>alert(1)</script>\n# counts: 4\n# walls: 1\n1 to 4,R,vine,,"<img src=x>"\n', "t")
    html = wall_plan_html(sheet, on_paper(sheet, bpm=100.0))
    assert "<script" not in html
    assert "<img" not in html
    assert "http" not in html.replace("http://www.w3.org/2000/svg", "")


def test_written_whole_or_not_at_all(tmp_path: Path) -> None:
    write_wall_plan(tmp_path / "a.html", "whole")
    assert [p.name for p in tmp_path.iterdir()] == ["a.html"]
    with pytest.raises(BadStore, match="cannot be written"):
        write_wall_plan(tmp_path / "no" / "a.html", "whole")


def test_a_plan_is_never_written_over_the_sheet_itself(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "mine.csv"
    sheet.write_bytes((SAMPLES / "lantern.csv").read_bytes())
    assert main(["wallplan", str(sheet), "--bpm", "112", "--out", str(sheet)]) == 1
    assert "'mine.csv' does not end in .html" in capsys.readouterr().err
    assert sheet.read_bytes() == (SAMPLES / "lantern.csv").read_bytes()


def test_the_command_writes_it_beside_the_sheet_or_says_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "dance.csv"
    shutil.copyfile(SAMPLES / "tin-umbrella.csv", sheet)
    assert main(["wallplan", str(sheet), "--minutes", "3:05"]) == 0
    assert "Written to" in capsys.readouterr().out
    assert "Tin Umbrella" in words((tmp_path / "dance.wallplan.html").read_text(encoding="utf-8"))
    assert main(["wallplan", str(sheet), "--bpm", "96", "--intro", "8", "--out", str(tmp_path / "other.html")]) == 0
    assert "96 beats a minute · intro 8 counts" in words((tmp_path / "other.html").read_text(encoding="utf-8"))
    for more, said in ((["--minutes", "soon"], "not a length of music"), (["--bpm", "5"], "tempo"),
                       (["--out", str(tmp_path / "no" / "x.html")], "cannot be written")):  # fmt: skip
        assert main(["wallplan", str(sheet), *more]) == 1
        assert said in capsys.readouterr().err
    sheet.write_text(sheet.read_text().replace("13 to 16,L,vine", "13 to 16,R,vine"))
    assert main(["wallplan", str(sheet)]) == 1
    assert "cannot be danced" in capsys.readouterr().err
    assert main(["wallplan", str(tmp_path / "missing.csv")]) == 1


LONG = "# title: Long\n# counts: 96\n# walls: 2\n# bpm: 120\n# intro: 32\n" + "".join(
    f"{n},{'RL'[(n + 1) % 2]},{'forward' if n % 8 < 5 else 'side'},{'1/2 R' if n == 96 else ''}\n" for n in range(1, 97)
)


@pytest.mark.slow
@pytest.mark.skipif(not CHROMIUM, reason="Chromium is not installed")
@pytest.mark.parametrize("name", ["late-ferry", "paper-lighthouse", "tin-umbrella", "lantern", "hedgerow", "wet-paint", "long"])
def test_it_prints_on_exactly_one_page(name: str, tmp_path: Path) -> None:
    """The outside check is a browser's own printing: one page in the PDF that it makes."""
    if name == "long":  # ninety-six rows and twelve walls
        sheet = parse_sheet(LONG, "long")
        html = wall_plan_html(sheet, on_paper(sheet, song_s=600.0))
    else:
        html = crib(name)
    (tmp_path / "crib.html").write_text(html, encoding="utf-8")
    words = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", f"--user-data-dir={tmp_path / 'profile'}"]
    words += ["--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'crib.pdf'}", (tmp_path / "crib.html").as_uri()]
    subprocess.run([str(CHROMIUM), *words], check=True, capture_output=True, timeout=120)
    assert len(re.findall(rb"/Type\s*/Page[^s]", (tmp_path / "crib.pdf").read_bytes())) == 1
