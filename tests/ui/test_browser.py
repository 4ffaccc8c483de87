"""The page in a real browser: it opens, shows a review, plays a moment from its exact start, and speaks to nobody else."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from real_browser import CHROMIUM, DRIVER, running_browser, running_page, wait_for

from motion.jobs.queue import Job
from motion.store.folder import read_review

selenium = pytest.importorskip("selenium", reason="selenium is not installed")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="Chromium and its driver are not installed"),
]
ALERTS = """
const told = [...document.querySelectorAll("[data-testid=stAlert]")].map((one) => one.innerText);
return told.filter((one) => one.includes("notes"));
"""
#: Chooses one of several ways in one go, so that no drawing of the page anew comes between finding and clicking.
CHOOSE = """
const wanted = [...document.querySelectorAll("label")].find((one) => one.textContent === arguments[0]);
if (wanted) wanted.click();
return Boolean(wanted);
"""
#: What the page's style says beneath a field for files.
BENEATH = "return getComputedStyle(document.querySelector('[data-testid=stFileUploader]'), '::after').content"
#: The player lies in a part of the page of its own, where ordinary look-ups do not see it.
PLAYER = """
function within(root, wanted) {
  const found = root.querySelector(wanted);
  if (found) return found;
  for (const one of root.querySelectorAll("*")) {
    const inside = one.shadowRoot && within(one.shadowRoot, wanted);
    if (inside) return inside;
  }
  return null;
}
"""


@pytest.fixture
def address(work_folder: Path) -> Iterator[str]:
    with running_page(work_folder) as where:
        yield where


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Any]:
    with running_browser(tmp_path / "browser") as driver:
        yield driver


def button(browser: Any, words: str) -> Any:
    from selenium.webdriver.common.by import By

    found = wait_for(lambda: [b for b in browser.find_elements(By.TAG_NAME, "button") if words in b.text])[0]
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
    return found


def heading(browser: Any) -> str:
    from selenium.webdriver.common.by import By

    return " ".join(h.text for h in browser.find_elements(By.TAG_NAME, "h1"))


def test_a_review_is_shown_and_a_moment_plays_from_two_counts_before(
    address: str, browser: Any, shelve: Callable[..., Job], make_film: Callable[..., None], tmp_path: Path
) -> None:
    clip = tmp_path / "lesson.mp4"
    make_film(clip, np.arange(24 * 30) / 30, click_s=11.5)
    shelve("solo", 1, 32, clip=clip)
    browser.get(f"{address}/review?review=solo&view=everything")
    wait_for(lambda: heading(browser) == "lesson.mp4")
    drawn = wait_for(
        lambda: browser.execute_script("return document.querySelector('.count-line svg')?.getBoundingClientRect().width")
    )
    assert drawn > 500
    button(browser, "Play 0:11.5").click()
    state = wait_for(
        lambda: browser.execute_script(
            PLAYER + "const film = within(document, 'video');"
            "return film && film.readyState >= 2 ? {long: film.duration, error: film.error, started: film.played.length,"
            " counts: within(document, '.counts').textContent} : null"
        )
    )
    # 108 beats a minute: two counts before and two after last 4 * 60 / 108 s, with a breath of 0.05 s at either end.
    assert state["long"] == pytest.approx(4 * 60 / 108 + 0.1, abs=0.06)
    assert state["error"] is None
    assert state["counts"] == "34567"
    wait_for(lambda: browser.execute_script(PLAYER + "return within(document, 'video').ended"))
    browser.execute_script(PLAYER + "within(document, '[data-do=back]').click()")
    wait_for(lambda: not browser.execute_script(PLAYER + "return within(document, 'video').seeking"))
    # The film ends a breath after its fifth count; a count back from there is the fourth.
    shown_s = browser.execute_script(PLAYER + "return within(document, 'video').currentTime")
    assert (shown_s - 0.05) * 108 / 60 == pytest.approx(3.0, abs=0.02)
    picture = tmp_path / "review.png"
    assert browser.save_screenshot(str(picture))
    assert picture.stat().st_size > 20_000
    hosts = browser.execute_script(
        "return [...new Set(performance.getEntriesByType('resource').map(one => new URL(one.name, location).origin))]"
    )
    assert set(hosts) <= {address, "null"}
    assert [line for line in browser.get_log("browser") if "Refused" in line["message"] or "Uncaught" in line["message"]] == []


def test_an_upload_that_is_no_film_is_refused_on_the_page(address: str, browser: Any, tmp_path: Path) -> None:
    from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
    from selenium.webdriver.common.by import By

    (tmp_path / "notes.mp4").write_text("This is a letter.")
    browser.get(address)
    wait_for(lambda: heading(browser) == "New review")
    wait_for(lambda: browser.execute_script(CHOOSE, "A clip of mine"))

    # the page has other uploads too, of a song: it has to be the one for clips
    def handed_over() -> bool:
        try:
            browser.find_element(By.CSS_SELECTOR, "input[type=file][accept*='.mp4']").send_keys(str(tmp_path / "notes.mp4"))
        except (NoSuchElementException, StaleElementReferenceException):  # the page is being drawn anew
            return False
        return True

    wait_for(handed_over)
    alerts = wait_for(lambda: browser.execute_script(ALERTS))
    assert "The file 'notes.mp4' cannot be read as a video." in alerts[0]
    assert browser.find_elements(By.CSS_SELECTOR, "[data-testid=stException]") == []


@pytest.mark.parametrize(
    ("page", "choose", "file", "words"),
    [
        ("", "A clip of mine", "notes.pdf", "This file is no clip"),
        ("filming", None, "notes.pdf", "This file is neither a clip nor a picture"),
        ("sheet", "A file of mine (CSV)", "dance.pdf", "paste them on the page Dance sheet, “Words that I paste”"),
        ("range-check", "A clip of mine", "notes.pdf", "This file is no clip"),
    ],
)
def test_a_file_of_the_wrong_kind_is_told_in_a_sentence(
    page: str, choose: str | None, file: str, words: str, address: str, browser: Any, tmp_path: Path
) -> None:
    from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException

    (tmp_path / file).write_text("This is a letter.")
    browser.get(f"{address}/{page}")
    wait_for(lambda: heading(browser))
    if choose is not None:
        wait_for(lambda: browser.execute_script(CHOOSE, choose))

    def told() -> str:
        return str(browser.execute_script(BENEATH) or "none")

    def handed_over() -> bool:
        try:
            browser.find_element("css selector", "[data-testid=stFileUploader] input[type=file]").send_keys(str(tmp_path / file))
        except (NoSuchElementException, StaleElementReferenceException):  # the page is being drawn anew
            return False
        return True

    wait_for(lambda: browser.execute_script("return document.querySelector('[data-testid=stFileUploader]')"))
    assert told() == "none", "nothing is said of a file before there is one"
    wait_for(handed_over)
    wait_for(lambda: words in told())


def test_taps_on_the_players_own_clock_become_the_beat(
    address: str, browser: Any, shelve: Callable[..., Job], make_film: Callable[..., None], tmp_path: Path
) -> None:
    clip = tmp_path / "lesson.mp4"
    make_film(clip, np.arange(24 * 30) / 30, click_s=11.5)
    job = shelve("solo", 1, 32, clip=clip)
    browser.get(f"{address}/review?review=solo&view=everything")
    wait_for(lambda: heading(browser) == "lesson.mp4")
    summary = wait_for(lambda: [e for e in browser.find_elements("tag name", "summary") if "Give the beat yourself" in e.text])[0]
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'}); arguments[0].click()", summary)
    browser.execute_script("arguments[0].click()", button(browser, "Get it ready"))
    wait_for(
        lambda: browser.execute_script(
            PLAYER + "return within(document, '[data-do=tap]') && within(document, 'video').readyState >= 2"
        )
    )
    # Every half second of the film, by keys, one of them left out and one count 1 among them.
    browser.execute_script(
        PLAYER
        + """
        const film = within(document, "video"), stage = within(document, ".stage");
        const key = (name) => stage.dispatchEvent(new KeyboardEvent("keydown", { key: name, bubbles: true }));
        film.muted = true;
        let next = 1;
        const watch = () => {
          while (film.currentTime >= next * 0.5) {
            if (next !== 5) key(next === 4 ? "1" : "t");
            next += 1;
          }
          if (next < 15) requestAnimationFrame(watch);
        };
        film.play().then(watch);
        """
    )
    wait_for(
        lambda: browser.execute_script(PLAYER + "return within(document, '.told').textContent").startswith("13 taps, count 1 at 2.")
    )
    browser.execute_script(PLAYER + "within(document, '[data-do=done]').click()")
    beats = wait_for(lambda: (found := read_review(job.review)["beats"]).get("source") == "taps" and found)
    assert beats["tempo_bpm"] == pytest.approx(120.0, abs=2.0)
    # the watch comes round once a picture, so that a tap lies up to a few hundredths after its half second
    assert beats["first_count_s"] == pytest.approx(2.02, abs=0.05)
