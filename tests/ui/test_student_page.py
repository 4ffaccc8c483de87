"""The student's view and the look before filming, without a browser and without video."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from motion.base.home import home
from motion.film.framing_check import Looked, Told
from motion.jobs.queue import Job

UI = Path(__file__).resolve().parents[2] / "ui"
JARGON = re.compile(r"\b(bias|sigma|landmarks?|tracks?|overlay|confidence|localhost|vector|fps|frames?|percentiles?|bpm)\b", re.I)
Shelve = Callable[..., Job]
SCRIPT = """
import sys
sys.path.insert(0, {ui!r})
from motion.jobs.queue import finished
from motion.store.folder import read_review
from part_student import student_view
one = next(each for each in finished() if each.key == {key!r})
student_view(one, read_review(one.folder))
"""
FILM = """
import sys
sys.path.insert(0, {ui!r})
from motion.jobs.queue import finished
from motion.store.folder import read_review
from part_film import counted_clip
one = finished()[0]
counted_clip(one, read_review(one.folder))
"""


def view(key: str) -> AppTest:
    return AppTest.from_string(SCRIPT.format(ui=str(UI), key=key), default_timeout=20).run()


def said(app: AppTest) -> str:
    return " ".join(str(getattr(one, "value", "") or getattr(one, "body", "")) for one in [*app.main]) + " ".join(
        one.proto.body for one in app.get("html")
    )


def test_two_sentences_in_large_type_and_no_figures_in_them(shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = view("solo")
    assert not app.exception
    large = " ".join(re.findall(r'<p class="student">(.*?)</p>', said(app)))
    assert "Every step was with the beat" in large
    assert "let that beat be heard on the floor" in large
    assert not re.search(r"\bms\b|±", large)
    assert not JARGON.search(said(app))
    assert any(one.label == "Show the figures: this clip" for one in app.expander)
    assert [b.label for b in app.button][:2] == ["Watch what went well", "Watch what to try"]


def test_nothing_is_invented_where_nothing_was_measured(shelve: Shelve) -> None:
    shelve("mute", 1, 32, sound=False)
    large = said(view("mute"))
    assert "Went well" not in large
    assert "could not be told: the clip has no sound" in large


def test_one_of_several_and_an_earlier_clip(shelve: Shelve) -> None:
    shelve("then", 2, 32, labels=("Blue", "Red"), spread_ms=45.0, seed=4)
    shelve("now", 2, 32, labels=("Blue", "Red"), spread_ms=10.0, seed=3)
    app = view("now")
    assert app.selectbox[0].label == "Who are you?"
    assert app.selectbox[0].options == ["Dancer 1 · Blue", "Dancer 2 · Red"]
    assert "more evenly" not in " ".join(m.value for m in app.markdown)
    app = app.selectbox[1].select_index(1).run()
    assert "Your steps came more evenly than last time." in " ".join(m.value for m in app.markdown)
    assert "Up to which tempo it held" not in [h.value for h in app.subheader]  # too few landings to tell, which is no news


def test_the_tempo_ladder_is_shown_once_something_can_be_told(shelve: Shelve) -> None:
    shelve("then", 1, 32, labels=("Blue",), seed=4)
    shelve("now", 1, 64, labels=("Blue",), seed=3)
    app = view("now")
    assert "Up to which tempo it held" in [h.value for h in app.subheader]
    assert any(m.value.startswith("It held up to 108 beats a minute") for m in app.markdown)


def test_whoever_does_not_know_their_number_is_shown_where_everybody_stands(shelve: Shelve) -> None:
    shelve("two", 2, 32)
    app = view("two")
    assert "A plan from where the dancers were found" not in " ".join(c.value for c in app.caption)
    app.toggle[0].set_value(True).run()
    assert not app.exception
    assert app.toggle[0].label == "Show me where everybody stands"
    assert "A plan from where the dancers were found" in " ".join(c.value for c in app.caption)
    shelve("alone", 1, 32)
    assert not view("alone").toggle


def test_a_report_of_ones_own_where_there_are_others(shelve: Shelve) -> None:
    shelve("two", 2, 32)
    assert "A report to take along" in [one.label for one in view("two").expander]
    shelve("alone", 1, 32)
    assert "A report to take along" not in [one.label for one in view("alone").expander]


def test_no_film_without_the_clip(shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = view("solo")
    assert next(b for b in app.button if b.label == "Make the film").disabled
    assert any("is not at hand" in c.value for c in app.caption)


def test_the_counted_clip_says_what_can_be_heard_and_whether_it_still_holds(
    shelve: Shelve, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = shelve("solo", 2, 16, labels=("Blue", None))
    job.clip.write_bytes(b"a clip")
    made: list[dict[str, object]] = []

    def stand_in(folder: Path, clip: Path, **asked: object) -> None:
        made.append({"clip": clip, **asked})
        (folder / "overlay.mp4").write_bytes(b"a film of earlier counts")

    monkeypatch.setattr("motion.film.overlay.draw_apart", stand_in)
    app = AppTest.from_string(FILM.format(ui=str(UI)), default_timeout=20).run()
    assert not app.exception
    assert not app.warning
    assert not app.get("download_button")
    app = app.radio[0].set_value("The room's own sound").run()
    assert "voices, and names that are called, can be heard" in app.warning[0].value
    app = app.multiselect[0].select(1).run()
    app = app.button[0].click().run()
    assert made == [{"clip": job.clip, "room_sound": True, "show_heads": False, "mask": [1]}]
    assert "as they were before" in app.info[0].value
    assert any("watch the film through" in c.value for c in app.caption)


@pytest.fixture
def filming(monkeypatch: pytest.MonkeyPatch) -> AppTest:
    monkeypatch.syspath_prepend(str(UI))
    return AppTest.from_file(str(UI / "app.py"), default_timeout=20).run().switch_page("page_filming.py").run()


def test_without_a_test_clip_the_look_before_filming_asks_for_one(filming: AppTest) -> None:
    assert filming.number_input(key="try-dancers").value is None  # a class is no mistake because nobody wrote down how many
    app = next(b for b in filming.button if b.label == "Look at it").click().run()
    assert not app.exception
    assert app.info[0].value == "Choose a test clip or a picture first."


def test_a_test_clip_is_looked_at_and_deleted(filming: AppTest, monkeypatch: pytest.MonkeyPatch, work_folder: Path) -> None:
    import motion.film.framing_check

    asked: list[tuple[str, int | None, str]] = []

    def stand_in(path: Path, *, dancers: int | None, purpose: str) -> Looked:
        assert path.read_bytes() == b"film"
        asked.append((path.name, dancers, purpose))
        feet = Told("feet", False, "Feet are cut off.", "Tilt the phone down")
        return Looked(1, (feet, Told("steady", None, "Not known."), Told("light", True, "Light enough.")))

    monkeypatch.setattr(motion.film.framing_check, "look_apart", stand_in)
    if not filming.get("file_uploader"):
        pytest.skip("this test library cannot fill in a file")
    upload = io.BytesIO(b"film")
    upload.name = "try.mp4"
    import streamlit as st

    monkeypatch.setattr(st, "file_uploader", lambda *_, **__: upload)
    filming.number_input(key="try-dancers").set_value(3)
    app = next(b for b in filming.button if b.label == "Look at it").click().run()
    assert not app.exception
    assert asked == [("try.mp4", 3, "timing")]
    words = " ".join(one.proto.body for one in app.get("html"))
    assert "Change one thing first." in words
    assert "Tilt the phone down.</td>" in words
    assert words.index("Feet are cut off") < words.index("Light enough")
    assert not JARGON.search(words)
    uploads = home() / "uploads"
    assert not [p for p in uploads.rglob("*") if p.is_file()]
