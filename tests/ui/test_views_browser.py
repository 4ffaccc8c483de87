"""The views in a real browser: names off and a blank screen on one key, films that go together, nothing wider than a tablet."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from real_browser import CHROMIUM, DRIVER, running_browser, running_page, wait_for

from motion.jobs.queue import Job

selenium = pytest.importorskip("selenium", reason="selenium is not installed")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="Chromium and its driver are not installed"),
]
IDLE = """
const app = document.querySelector("[data-testid=stApp]");
return app && app.dataset.testScriptState === "notRunning" && document.querySelector("h1") !== null;
"""
#: The small scripts' parts lie in places of their own, where ordinary look-ups do not see them.
WITHIN = """
const all = (root, wanted) => [...root.querySelectorAll(wanted),
  ...[...root.querySelectorAll("*")].flatMap((one) => (one.shadowRoot ? all(one.shadowRoot, wanted) : []))];
"""


def ready(browser: Any) -> None:
    wait_for(lambda: browser.execute_script(IDLE))


def press(browser: Any, key: str) -> None:
    from selenium.webdriver.common.action_chains import ActionChains

    ActionChains(browser).send_keys(key).perform()


def blank(browser: Any) -> bool:
    return bool(browser.execute_script("return document.querySelector('#countfall-blank')?.open === true"))


def test_names_off_and_a_blank_screen_on_one_key(
    work_folder: Path, shelve: Callable[..., Job], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SE_OFFLINE", "true")
    shelve("class", 2, 16, labels=("Red", "Blue"))
    with running_page(work_folder) as address, running_browser(tmp_path / "browser") as browser:
        browser.get(f"{address}/review?review=class&dancers=shown")
        wait_for(lambda: "Red" in browser.find_element("tag name", "body").text)
        ready(browser)
        press(browser, "n")
        wait_for(lambda: "names=off" in browser.current_url)
        ready(browser)
        assert "Red" not in browser.find_element("tag name", "body").text
        assert "Dancer 1" in browser.find_element("tag name", "body").text
        press(browser, "b")
        assert blank(browser)
        covered = browser.execute_script(
            "const one = document.elementFromPoint(innerWidth / 2, innerHeight / 3); return one.id || one.tagName"
        )
        assert covered == "countfall-blank"
        press(browser, "b")
        assert not blank(browser)
        press(browser, "n")
        wait_for(lambda: "names=off" not in browser.current_url)
        ready(browser)
        wait_for(lambda: browser.execute_script(WITHIN + "return all(document, '[data-do=keys]').length"))
        browser.execute_script(WITHIN + "all(document, '[data-do=keys]')[0].click()")
        press(browser, "b")
        assert not blank(browser)


def test_films_side_by_side_go_together_and_step_by_a_count(
    work_folder: Path, shelve: Callable[..., Job], make_film: Callable[..., None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import json

    monkeypatch.setenv("SE_OFFLINE", "true")
    clip = tmp_path / "lesson.mp4"
    make_film(clip, np.arange(24 * 30) / 30, click_s=11.5)
    job = shelve("solo", 1, 24, wall_counts=8, clip=clip)
    path = job.review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    row = {"count": 5.0, "foot": "right", "move": "in place", "walls": [1], "of": 3, "what": ["other step"], "always": False}
    each = [{"wall": wall, "time_ms": 0.0, "facing_deg": 0.0, "place": None, "view_deg": 0.0, "bends_deg": None} for wall in (2, 3)]
    review["dancers"][0]["sheet"] = {"judged": 24, "as_written": 23, "differs": [row], "restarts": []}
    review["dancers"][0]["walls"] = [
        {"count": 5.0, "foot": "right", "walls": 2, "time_spread_ms": 5.0, "time_sigma_ms": 9.0, "place_spread": None,
         "facing_spread_deg": None, "bends": [], "differs": [], "each": each}
    ]  # fmt: skip
    path.write_text(json.dumps(review), encoding="utf-8")
    with running_page(work_folder) as address, running_browser(tmp_path / "browser") as browser:
        browser.get(f"{address}/review?review=solo&view=choreographer")
        ready(browser)
        both = wait_for(lambda: [b for b in browser.find_elements("tag name", "button") if "Play side by side" in b.text])[0]
        browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", both)
        both.click()  # as a person does: a browser plays nothing with sound unasked
        films = WITHIN + "const films = all(document, 'video');"
        wait_for(lambda: browser.execute_script(films + "return films.length === 2 && films.every((film) => film.readyState >= 2)"))
        wait_for(lambda: browser.execute_script(films + "return films.every((film) => film.ended)"))
        assert browser.execute_script(films + "return films.map((film) => film.muted)") == [False, True]
        send = (
            "all(document, '.stage')[1].dispatchEvent(new KeyboardEvent('keydown', "
            "{ key: arguments[0], bubbles: true, cancelable: true }));"
        )
        browser.execute_script(WITHIN + send, "Home")
        wait_for(lambda: browser.execute_script(films + "return films.every((film) => film.ended)"))
        browser.execute_script(WITHIN + send, "ArrowLeft")
        wait_for(lambda: browser.execute_script(films + "return films.every((film) => !film.seeking && !film.ended)"))
        at = browser.execute_script(films + "return films.map((film) => film.currentTime)")
        # Two counts before and two after at 108 beats a minute: a count back from the end is the fourth of five.
        assert at == pytest.approx([0.05 + 3 * 60 / 108] * 2, abs=0.02)
        browser.execute_script(WITHIN + send, "s")
        assert browser.execute_script(films + "return films.map((film) => film.playbackRate)") == [0.5, 0.5]


@pytest.mark.parametrize(("wide", "high"), [(820, 1180), (1180, 820)])
def test_the_player_fits_into_the_window_and_the_film_keeps_its_shape(
    work_folder: Path, shelve: Callable[..., Job], make_film: Callable[..., None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    wide: int, high: int,
) -> None:  # fmt: skip
    monkeypatch.setenv("SE_OFFLINE", "true")
    clip = tmp_path / "lesson.mp4"
    make_film(clip, np.arange(24 * 30) / 30, click_s=11.5)
    shelve("solo", 1, 24, wall_counts=8, clip=clip)
    with running_page(work_folder) as address, running_browser(tmp_path / "browser") as browser:
        size = {"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": False}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        browser.get(f"{address}/review?review=solo&view=student")
        ready(browser)
        wait_for(lambda: [b for b in browser.find_elements("tag name", "button") if "Watch what" in b.text])[0].click()
        film = WITHIN + "const film = all(document, 'video')[0];"
        wait_for(lambda: browser.execute_script(film + "return film && film.readyState >= 2"))
        stage = browser.execute_script(WITHIN + "return all(document, '.stage')[0].getBoundingClientRect().height")
        assert stage <= 0.8 * high
        assert browser.execute_script(film + "return getComputedStyle(film).objectFit") == "contain"
        assert browser.execute_script(film + "return film.getBoundingClientRect().height") >= 0.35 * high


@pytest.mark.parametrize("wide", [820, 1280])
def test_no_view_is_wider_than_the_window(
    work_folder: Path, shelve: Callable[..., Job], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wide: int
) -> None:
    monkeypatch.setenv("SE_OFFLINE", "true")
    shelve("class", 8, 64, labels=tuple(f"Label {n}" for n in range(8)))
    with running_page(work_folder) as address, running_browser(tmp_path / "browser") as browser:
        browser.set_window_size(wide, 1000)
        for view in ("teacher", "student", "choreographer", "everything"):
            browser.get(f"{address}/review?review=class&dancers=shown&view={view}")
            ready(browser)
            over = browser.execute_script(
                "const main = document.querySelector('[data-testid=stMain]') ?? document.documentElement;"
                "return main.scrollWidth - main.clientWidth"
            )
            assert over <= 1, (view, over)
