"""The dance sheet's page: begin from anything, hear what cannot be danced, see it, keep it, choose it for a review."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from dance.test_draft import demonstration
from streamlit.testing.v1 import AppTest
from ui.test_app import GRADES, JARGON, shown

from motion.base.errors import BadInput
from motion.base.types import DanceSheet
from motion.dance.draft import draft_sheet
from motion.dance.sheet import parse_sheet, read_sheet
from motion.dance.table import as_rows, header_of, lines_of
from motion.desk.page_server import dances
from motion.jobs.queue import Job
from motion.store.sheets import forget_sheet, keep_sheet, own_sheets

UI = Path(__file__).resolve().parents[2] / "ui"
SAMPLES = UI.parent / "sample_clips"
Shelve = Callable[..., Job]
PASTED = (
    "Pebble Road\n16 count, 4 wall dance\n1-4 Vine right\n5-8 Vine left turning 1/4 left\n1-4 Rocking chair R\n5-8 Wiggle about\n"
)


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> AppTest:
    return open_page("page_sheet.py")


def begin(app: AppTest, name: str) -> AppTest:
    """Put an example into the table."""
    app.selectbox(key="sheet_example").set_value(name).run()
    return app.button(key="take_example").click().run()


def written(app: AppTest) -> str:
    """The sheet as the page would hand it over."""
    from motion.dance.table import from_rows, table_text

    header, rows = app.session_state["sheet_now"]
    return table_text(header, from_rows(rows))[0]


def test_it_opens_on_nothing_and_still_lets_a_figure_be_looked_up(page: AppTest) -> None:
    assert not page.exception
    assert "vine right" in shown(page)
    assert [head.value for head in page.header] == ["Look up a figure"]
    page.selectbox(key="figure").set_value("jazz box, 4 counts").run()
    page.radio(key="figure_lead").set_value("Left").run()
    assert "Cross in front, back, side, close" in shown(page)
    assert not page.exception


@pytest.mark.parametrize("name", [name for name, _ in dances()])
def test_every_dance_that_comes_along_can_be_taken_up_and_adds_up(page: AppTest, name: str) -> None:
    app = begin(page, name)
    assert not app.exception
    assert app.expander[0].label == "Begin with another dance"
    assert "What is in the table now goes" in shown(app)
    assert any("Nothing found to mend" in one.value for one in app.success)
    assert parse_sheet(written(app), "t").title == read_sheet(dict(dances())[name]).title


def test_the_page_speaks_plainly(page: AppTest) -> None:
    app = begin(page, "Late ferry")
    for pattern in (JARGON, GRADES):
        said = pattern.search(shown(app))
        assert said is None, said
    assert "Before count 1" in shown(app)
    assert "4 counts into phrase 3" in app.dataframe[-1].value.to_string()


def test_the_floor_plan_goes_step_by_step(page: AppTest) -> None:
    app = begin(page, "Hedgerow")
    app.slider(key="plan_at").set_value(7).run()
    assert "Wall 1. Count 7, left side, 1/4 to the left. Facing 9:00" in shown(app)


def test_the_song_can_be_given_and_what_cannot_be_is_told(page: AppTest) -> None:
    app = begin(page, "Hedgerow")
    app.text_input(key="song_minutes").set_value("2:30").run()
    assert len(app.dataframe[-1].value) > 12
    app.text_input(key="song_minutes").set_value("soon").run()
    assert any("not a length of music" in one.value for one in app.error)
    assert not app.exception


def test_pasted_words_become_rows_and_the_rest_waits(page: AppTest) -> None:
    page.radio(key="sheet_way").set_value("Words that I paste").run()
    page.text_area(key="sheet_pasted").set_value(PASTED).run()
    app = page.button(key="take_pasted").click().run()
    assert not app.exception
    assert any("1 line waits, marked “Waits”" in one.value for one in app.info)
    said = shown(app)
    assert "To mend" in said
    assert "rows end on count 12" in said
    assert "These words wait to be written as steps: 5-8 Wiggle about" in said
    assert "5-8,,,wiggle" not in written(app)
    assert "# section: waits: 5-8 Wiggle about" in written(app)
    assert not any(button.key == "keep" for button in app.button)


def test_pasted_words_that_are_no_step_are_not_called_understood(page: AppTest) -> None:
    page.radio(key="sheet_way").set_value("Words that I paste").run()
    page.text_area(key="sheet_pasted").set_value("1-4 Vine right, touch L\n5-8 Vine left, touch R").run()
    assert any("in the table. Every line was understood." in one.value for one in page.button(key="take_pasted").click().run().info)
    page.text_area(key="sheet_pasted").set_value("1-4 Vine right, touch L\nfooo baar 9-12 wobble 3000 left").run()
    app = page.button(key="take_pasted").click().run()
    assert any("in the table. 1 line stays as words, and nothing is danced in it." in one.value for one in app.info)


def test_an_empty_sheet_is_no_list_of_faults(page: AppTest) -> None:
    page.radio(key="sheet_way").set_value("An empty sheet").run()
    page.button(key="take_empty").click().run()
    assert not page.exception
    assert any("No move is written yet" in one.value for one in page.info)
    assert "says nothing" not in shown(page)
    assert "To mend" not in [head.value for head in page.subheader]
    header, rows = page.session_state["sheet"]
    page.session_state["sheet_now"] = (
        header,
        [{**row, "foot": "R", "move": "side"} if n == 0 else row for n, row in enumerate(rows)],
    )
    page.session_state["sheet_version"] += 1
    page.run()
    assert "To mend" in [head.value for head in page.subheader]  # once one move is there, the rows that wait are named
    assert "Row 2, count 2" in shown(page)
    assert "No move is written yet" not in shown(page)


def test_a_table_that_cannot_be_read_names_row_and_word(page: AppTest) -> None:
    sheet = read_sheet(SAMPLES / "hedgerow.csv")
    rows = as_rows(lines_of(sheet))
    rows[1]["move"] = "vien"
    page.session_state["sheet"], page.session_state["sheet_version"] = (header_of(sheet), rows), 5
    app = page.run()
    assert not app.exception
    assert "Row 2, count 1 to 4: 'vien' is not a move or figure known here. Did you mean 'vine'?" in shown(app)
    assert "As soon as nothing is left to mend" in shown(app)


def test_what_a_finding_quotes_is_shown_as_it_stands_and_fetches_no_picture(page: AppTest) -> None:
    sheet = read_sheet(SAMPLES / "hedgerow.csv")
    rows = as_rows(lines_of(sheet))
    rows[1]["move"] = "![a](http://somewhere/a.png)"
    page.session_state["sheet"], page.session_state["sheet_version"] = (header_of(sheet), rows), 5
    page.session_state["sheet_said"] = "![b](http://somewhere/b.csv) is in the table."
    app = page.run()
    assert r"'!\[a\](http://somewhere/a.png)' is not a move" in shown(app)
    assert r"!\[b\](http://somewhere/b.csv) is in the table." in shown(app)
    assert "![" not in " ".join(one.value for one in [*app.markdown, *app.info])


def test_the_times_in_the_music_say_which_tempo_they_hold_for(page: AppTest) -> None:
    app = begin(page, "Hedgerow")
    assert "if the music goes at" not in shown(app)
    assert app.number_input(key="song_tempo-104.0").proto.format == "%g"
    app.text_input(key=f"bpm-{app.session_state['sheet_version']}").set_value("").run()
    assert "The sheet names no tempo: the times hold if the music goes at 110 beats a minute." in shown(app)
    app.number_input(key="song_tempo-None").set_value(112.5).run()
    assert "the times hold if the music goes at 112.5 beats a minute." in shown(app)
    assert "Part of the dance" in app.dataframe[-1].proto.columns


def test_what_was_written_is_still_there_after_a_look_at_another_page(page: AppTest) -> None:
    app = begin(page, "Hedgerow")
    app.text_input(key=f"title-{app.session_state['sheet_version']}").set_value("Hedge").run()
    app = app.switch_page("page_filming.py").run().switch_page("page_sheet.py").run()
    assert "# title: Hedge\n" in written(app)


def test_a_dance_in_parts_keeps_its_order(page: AppTest) -> None:
    app = begin(page, "Paper lighthouse")
    version = app.session_state["sheet_version"]
    assert app.text_input(key=f"parts-{version}").value == "A B A A B"
    app.text_input(key=f"parts-{version}").set_value("A B C").run()
    assert "dances part C, but has no such part" in shown(app)
    app.text_input(key=f"parts-{version}").set_value("A B").run()
    app.text_input(key=f"half-{version}").set_value("0.6").run()
    sheet = parse_sheet(written(app), "t")
    assert (sheet.order, sheet.half_at) == (("A", "B"), 0.6)


def test_a_kept_sheet_can_be_chosen_for_a_review(page: AppTest) -> None:
    app = begin(page, "Hedgerow")
    app.text_input(key=f"title-{app.session_state['sheet_version']}").set_value("Hedge & Row").run()
    app = app.button(key="keep").click().run()
    assert any("Hedge & Row is kept" in one.value for one in app.success)
    ((name, path),) = own_sheets()
    assert name == "Hedge & Row (mine)"
    assert read_sheet(path).counts == 16
    new = app.switch_page("page_new.py").run()
    assert any("Hedge & Row (mine)" in box.options for box in new.selectbox)
    forget_sheet(path)
    assert own_sheets() == []


def test_sheets_are_kept_under_safe_names_and_others_are_left_alone(tmp_path: Path) -> None:
    text = "# title: ../../x\n# counts: 2\n# walls: 1\n1,R,side,\n2,L,touch,\n"
    path = keep_sheet("../../x", text)
    assert path.parent.name == "sheets"
    keep_sheet("../../x", text.replace("touch", "toe"))
    assert [name for name, _ in own_sheets()] == ["../../x (mine)"]
    with pytest.raises(BadInput, match="has no title"):
        keep_sheet("  ", text)
    other = tmp_path / "other.csv"
    other.write_text(text)
    forget_sheet(other)
    assert other.exists()


def test_a_review_is_written_down_as_a_draft(page: AppTest, shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    page.radio(key="sheet_way").set_value("A review of a clip").run()
    assert any("no review here yet" in one.value for one in page.info)
    job = shelve("20260101-100000-demo", 2, 16)
    app = page.run()
    app.number_input(key="sheet_counts").set_value(16).run()
    app = app.button(key="take_review").click().run()  # no sound is stored with it, so no beat can be found again
    assert any("cannot be written down: no beat could be heard" in one.value for one in app.error)
    asked: list[object] = []

    def drafted(folder: Path, counts: int, *, dancer: int, first_count_s: float | None) -> DanceSheet:
        asked.extend((folder, counts, dancer, first_count_s))
        return draft_sheet(
            demonstration(read_sheet(SAMPLES / "gravel.csv"), 1), counts, title="Draft of demo", made_from="the clip demo"
        )

    monkeypatch.setattr("motion.desk.draft_sheet.written_down", drafted)
    app.selectbox(key="sheet_dancer").set_value(2).run()
    app = app.button(key="take_review").click().run()
    assert not app.exception
    assert asked[:3] == [job.review, 16, 2]
    assert asked[3] == pytest.approx(0.4 + 8 * 60 / 108, abs=1e-3)  # count 1 as the review has it
    assert any("A draft is in the table" in one.value for one in app.info)
    assert re.search(r"^# draft: written down from the clip demo", written(app), re.MULTILINE)
    app.checkbox[0].uncheck().run()
    assert "# draft" not in written(app)
