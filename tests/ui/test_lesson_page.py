"""The lesson's page without a browser, and its file in a real one: timers, metronome, tapped tempo, paced breathing."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from motion.dance.sheet import read_sheet
from motion.library.classes import open_library
from motion.tell.lesson_page import write_lesson
from motion.tell.lesson_plan import Wish, make_lesson

UI = Path(__file__).resolve().parents[2] / "ui"
SAMPLES = UI.parent / "sample_clips"
CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
QUIET = (
    "--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --autoplay-policy=no-user-gesture-required --window-size=1280,1000"
)


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> AppTest:
    return open_page("page_lesson.py")


def said(app: AppTest) -> str:
    return " ".join(str(one.value) for one in [*app.markdown, *app.caption, *app.error, *app.success])


def test_it_opens_without_a_clip(page: AppTest) -> None:
    assert not page.exception
    assert not page.error
    assert page.title[0].value == "Lesson"
    assert [tab.label for tab in page.tabs] == ["Before", "Plan", "Warm-up", "Count-in", "Pulse and breath", "Cool-down"]
    assert "no medical advice" in said(page)


def test_a_dance_and_other_people(page: AppTest) -> None:
    page.selectbox(key="lesson-dance").set_value("Wet paint").run()
    page.radio(key="lesson-for").set_value("seniors").run()
    page.number_input(key="lesson-minutes").set_value(60.0).run()
    page.checkbox(key="lesson-seated").check().run()
    assert not page.exception
    assert not page.error
    # the plan has other parts in a short lesson, and what was chosen before does not disturb it
    page.number_input(key="lesson-minutes").set_value(10.0).run()
    assert not page.exception
    assert not page.error


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [("lesson-minutes", 0.0, "lesson's length is 0"), ("lesson-dancers", 5000, "number of dancers is 5000"),
     ("lesson-tempo", -5.0, "tempo is -5")],
)  # fmt: skip
def test_what_cannot_be_is_one_plain_sentence(page: AppTest, key: str, value: float, words: str) -> None:
    page.number_input(key=key).set_value(value).run()
    assert not page.exception
    assert len(page.error) == 1
    assert words in page.error[0].value
    assert not page.tabs


def test_a_room_that_is_too_small(page: AppTest) -> None:
    page.number_input(key="lesson-dancers").set_value(200).run()
    page.number_input(key="lesson-wide").set_value(5.0).run()
    page.number_input(key="lesson-deep").set_value(4.0).run()
    assert "200 dancers" in page.error[0].value


def test_children_count_as_a_class(page: AppTest) -> None:
    page.number_input(key="pulse-rest").set_value(20).run()
    page.number_input(key="pulse-after").set_value(30).run()
    words = said(page)
    assert "30 in 15 s are 120 a minute" in words
    assert "Hands up" in words
    assert "highest pulse" not in words
    assert "kcal" not in words
    assert "pulse-kg" not in [one.key for one in page.number_input]


def test_a_grown_ups_counts(page: AppTest) -> None:
    page.radio(key="lesson-for").set_value("adults").run()
    page.number_input(key="lesson-age").set_value(50).run()
    page.number_input(key="pulse-after").set_value(30).run()
    page.radio(key="pulse-source").set_value("CDC").run()
    page.number_input(key="pulse-kg").set_value(60.0).run()
    words = said(page)
    assert "moderate 109 to 129" in words
    assert "American Heart" not in words  # one source at a time
    assert "120 to 240 kcal" in words
    page.number_input(key="pulse-breaths").set_value(14).run()
    folded = {e.label: " ".join(m.value for m in e.markdown) for e in page.expander if e.label.startswith("Show the figures")}
    assert "Tanaka" in folded["Show the figures: the highest pulse and the target"]
    assert "MET" in folded["Show the figures: what dancing takes"]
    hidden = {id(m) for e in page.expander for m in e.markdown}
    openly = " ".join(m.value for m in page.markdown if id(m) not in hidden)
    assert "kcal" in openly
    assert "14 in 30 s are 28 a minute" in openly
    assert not re.search(r"Tanaka|MET|× age|220", openly)
    page.radio(key="pulse-source").set_value("reserve").run()
    assert "Count the pulse at rest first" in page.error[0].value
    page.number_input(key="pulse-after").set_value(100).run()
    assert "The pulse comes to 400" in said(page)


@pytest.mark.parametrize("age", [0, 130])
def test_ages_that_cannot_be(page: AppTest, age: int) -> None:
    page.radio(key="lesson-for").set_value("adults").run()
    page.number_input(key="lesson-age").set_value(age).run()
    assert f"The age is {age}" in page.error[0].value


def press(page: AppTest, words: str) -> AppTest:
    return next(one for one in page.button if one.label == words).click().run()


def test_practice_music(page: AppTest) -> None:
    page.number_input(key="tune-counts").set_value(8)
    page.checkbox(key="tune-band").uncheck()
    press(page, "Make it")
    assert not page.exception
    assert not page.error
    assert {"get-tune", "get-beats"} <= {one.key for one in page.get("download_button")}
    page.number_input(key="tune-tempo-100").set_value(-5.0)
    press(page, "Make it")
    assert "tempo is -5" in page.error[0].value


def test_the_record_is_kept_beside_the_lesson(page: AppTest) -> None:
    with open_library() as library:
        which = library.add_lesson(library.add_class("Tuesday"), "2025-03-14", "Hedgerow")
    page.number_input(key="record-ok").set_value(12)
    page.number_input(key="record-counted").set_value(10)
    page.number_input(key="record-faster").set_value(11)
    press(page, "Write it down")
    assert "pulse was faster is 11" in page.error[0].value
    with open_library() as library:
        assert library.lesson_records(which) == []
    page.number_input(key="record-faster").set_value(9)
    press(page, "Write it down")
    assert not page.error
    page.button(key="keep-record").click().run()
    with open_library() as library:
        (record,) = library.lesson_records(which)
    assert record["health"] == {"ok": 12, "adapted": 0, "rest": 0}
    assert record["pulse"] == {"counted": 10, "faster_than_rest": 9}


def test_a_grown_ups_pulse_is_kept_only_if_they_say_so(page: AppTest) -> None:
    with open_library() as library:
        which = library.add_lesson(library.add_class("Thursday"), "2025-03-14", "Hedgerow")
    page.radio(key="lesson-for").set_value("adults").run()
    page.number_input(key="pulse-rest").set_value(18).run()
    page.text_input(key="pulse-label").set_value("Blue").run()
    assert page.button(key="pulse-add").disabled
    press(page, "Write it down").button(key="keep-record").click().run()
    with open_library() as library:
        assert library.lesson_records(which)[0]["pulses"] == []
    page.checkbox(key="pulse-wanted").check().run()
    page.button(key="pulse-add").click().run()
    press(page, "Write it down").button(key="keep-record").click().run()
    with open_library() as library:
        (kept,) = library.lesson_records(which)[0]["pulses"]
    assert kept["label"] == "Blue"
    assert kept["rest"] == {"a_minute": 72, "step": 4, "counted_s": 15}
    # in a children's lesson nobody's is
    page.radio(key="lesson-for").set_value("children").run()
    press(page, "Write it down").button(key="keep-record").click().run()
    with open_library() as library:
        assert library.lesson_records(which)[0]["pulses"] == []


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Any]:
    selenium = pytest.importorskip("selenium", reason="selenium is not installed")
    from selenium import webdriver

    assert selenium
    options = webdriver.ChromeOptions()
    options.binary_location = str(CHROMIUM)
    for flag in [*QUIET.split(), f"--user-data-dir={tmp_path / 'browser'}"]:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(str(DRIVER)))
    try:
        yield driver
    finally:
        driver.quit()


def wait_for(holds: Callable[[], Any], seconds: float = 30.0) -> Any:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := holds():
            return found
        time.sleep(0.1)
    raise AssertionError("waited in vain")


@pytest.mark.slow
@pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="Chromium and its driver are not installed")
def test_the_file_lives_on_a_tablet(browser: Any, tmp_path: Path) -> None:
    from selenium.webdriver.common.by import By

    file = tmp_path / "lesson.html"
    write_lesson(file, make_lesson(Wish(dancers=12), read_sheet(SAMPLES / "hedgerow.csv")))
    browser.set_window_size(820, 1180)
    browser.get(file.as_uri())
    js = browser.execute_script
    assert js("return document.documentElement.scrollWidth <= innerWidth"), "wider than the screen"

    def click(css: str) -> None:
        js("arguments[0].click()", browser.find_element(By.CSS_SELECTOR, css))

    def text(css: str) -> str:
        return str(js(f"return document.querySelector({css!r}).textContent"))

    # a timer runs, is held, gets more, ends; two pieces follow each other
    click("[data-timer*='Count now=15']")
    wait_for(lambda: text(".timerbar .said").startswith("Find the beat"))
    wait_for(lambda: text(".timerbar .said") == "Count now")
    click(".timerbar [data-do=hold]")
    held = text(".timerbar .left")
    time.sleep(1.3)
    assert text(".timerbar .left") == held
    click(".timerbar [data-do=hold]")
    click(".timerbar [data-do=more]")
    assert wait_for(lambda: text(".timerbar .left") >= "0:30")
    click(".timerbar [data-do=end]")
    assert js("return document.querySelector('.timerbar').hidden")

    # the metronome calls 5-6-7-8 and goes on from 1
    js(
        "const face = document.querySelector('.face'); window.seen = [];"
        "new MutationObserver(() => window.seen.push(face.textContent)).observe(face, {childList: true, subtree: true});"
    )
    js("document.querySelector('.metronome input[type=number]').value = '140'")
    click(".metronome [data-do=start]")
    wait_for(lambda: len([w for w in js("return window.seen") if w != "–"]) >= 7)
    click(".metronome [data-do=start]")
    assert [w for w in js("return window.seen") if w != "–"][:7] == ["5", "6", "7", "8", "1", "2", "3"]

    # taps half a second apart are 120
    js(
        "const b = document.querySelector('[data-do=tap]'); const tap = (t) => { const e = new PointerEvent('pointerdown'); "
        "Object.defineProperty(e, 'timeStamp', {value: t}); b.dispatchEvent(e); };"
        "[9000, 9500, 10000, 10500, 11000].forEach(tap);"
    )
    assert js("return document.querySelector('.metronome input[type=number]').value") == "120"

    click(".breath button")
    assert wait_for(lambda: text(".breath .words") == "Smell the soup")
    wait_for(lambda: text(".breath .words") == "Blow the boat across the pond")
    assert [line for line in browser.get_log("browser") if line["level"] == "SEVERE"] == []
