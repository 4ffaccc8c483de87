"""The whole way of a lesson in a real browser: consent, upload, review, every view, a correction, files, deleting a dancer."""

from __future__ import annotations

import json
import time
import zipfile
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from pose_model import pose_model
from real_browser import CHROMIUM, DRIVER, running_browser, running_page, wait_for

from motion.base.home import home
from motion.jobs.queue import finished
from motion.store.folder import read_review

selenium = pytest.importorskip("selenium", reason="selenium is not installed")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="Chromium and its driver are not installed"),
]
SAMPLES = Path(__file__).resolve().parents[2] / "sample_clips"
#: Short labels that stand nowhere else in the program, in standing order. The first is deleted in the end.
LABELS = ("Zinnober", "Ockergelb")
#: The part of the sample that is filmed: its class begins to dance 5 s into it, and the third dancer never comes further left.
FROM_S, CLIP_S, WIDTH_PX = 3.0, 9.5, 560
#: Hold Control, press a, let go: what is written next takes the place of what stands there.
SELECT_ALL = "\ue009a\ue000"
#: The page stands still: nothing is being worked out, and a heading is there.
IDLE = """
const app = document.querySelector("[data-testid=stApp]");
return app && app.dataset.testScriptState === "notRunning" && document.querySelector("h1") !== null;
"""
#: The first element that is open to a click and says these words, in the middle of the window.
FIND = """
const [wanted, words] = arguments;
const found = [...document.querySelectorAll(wanted)].find((one) => one.innerText.includes(words) && !one.disabled);
if (found) found.scrollIntoView({ block: "center" });
return found || null;
"""


class Visitor:
    """Somebody who reads the page and uses it: finds things by their words, and waits till the page stands still."""

    def __init__(self, browser: Any, address: str, downloads: Path) -> None:
        self.browser, self.address, self.downloads = browser, address, downloads
        downloads.mkdir()
        browser.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(downloads)})

    def open(self, page: str) -> None:
        """Go to a page by its address."""
        self.browser.get(f"{self.address}/{page}")
        self.calm()

    def calm(self) -> None:
        """Wait till the page stands still; nothing that it says is a fault of the program's."""
        wait_for(lambda: self.browser.execute_script(IDLE), 120)
        if self.browser.find_elements("css selector", "[data-testid=stException]"):
            said = self.downloads.with_name("work.log").read_text(encoding="utf-8", errors="replace")
            raise AssertionError(f"the page met a fault of the program's:\n{said[-3000:]}")

    def click(self, words: str, wanted: str = "button, a") -> None:
        """Click what says these words."""
        self.calm()
        try:
            wait_for(lambda: self.clicked(words, wanted), 60)
        except AssertionError:
            raise AssertionError(f"nothing to click says “{words}” on:\n{self.text()[:3000]}") from None
        self.calm()

    def clicked(self, words: str, wanted: str) -> bool:
        """Click once, with the mouse; whether it was there, and not just being drawn anew or behind something."""
        from selenium.common.exceptions import (
            ElementClickInterceptedException,
            ElementNotInteractableException,
            StaleElementReferenceException,
        )

        found = self.browser.execute_script(FIND, wanted, words)
        try:
            if found is not None:
                found.click()
                time.sleep(0.2)  # until the page has heard of it
        except (ElementClickInterceptedException, ElementNotInteractableException, StaleElementReferenceException):
            return False
        return found is not None

    def fold_out(self, words: str) -> None:
        """Open a part that is folded away."""
        self.click(words, "summary")

    def write(self, label: str, words: str) -> None:
        """Fill in the field with this label."""
        self.field(f'input[aria-label="{label}"], textarea[aria-label="{label}"]').send_keys(words + "\t")

    def field(self, wanted: str) -> Any:
        """The first field of a kind, moved to where it is seen."""
        self.calm()
        found = wait_for(lambda: self.browser.find_elements("css selector", wanted), 60)[0]
        self.browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", found)
        return found

    def pick(self, label: str, words: str) -> None:
        """Choose from a list; once more where the list closed because the page was just drawn anew."""
        for tries_left in (2, 1, 0):
            field = self.field(f'input[role=combobox][aria-label*="{label}"]')
            field.send_keys(SELECT_ALL, words)
            try:
                wait_for(lambda: self.clicked(words, "[role=option]"), 10 if tries_left else 60)
            except AssertionError:
                if not tries_left:
                    raise AssertionError(f"no “{words}” to pick under “{label}” on:\n{self.text()[:3000]}") from None
            else:
                break
        self.calm()

    def text(self) -> str:
        """All that can be read."""
        return str(self.browser.execute_script("return document.body.innerText"))

    def reads(self, words: str, seconds: float = 120.0) -> None:
        """Wait till these words stand there."""
        try:
            wait_for(lambda: words in self.text(), seconds)
        except AssertionError:
            raise AssertionError(f"“{words}” does not stand on:\n{self.text()[:3000]}") from None
        self.calm()

    def value(self, label: str) -> float:
        """The number in the field with this label."""
        return float(self.field(f'input[aria-label="{label}"]').get_attribute("value"))

    def download(self, words: str, name: str, seconds: float = 300.0) -> Path:
        """Take a file away; where it is when all of it has come."""
        self.click(words)
        wait_for(lambda: (self.downloads / name).is_file() and not list(self.downloads.glob("*.crdownload")), seconds)
        return self.downloads / name


def short_clip(to: Path) -> None:
    """The two dancers on the left of the sample class, over a count-in of 2 s and a dozen counts, with the sound as it is."""
    import av

    whole = SAMPLES / "class-of-four.mp4"
    with av.open(str(whole)) as seen, av.open(str(whole)) as heard, av.open(str(to), "w") as box:
        video = box.add_stream("libx264", rate=30, options={"crf": "20", "preset": "veryfast"})
        video.width, video.height, video.pix_fmt = WIDTH_PX, seen.streams.video[0].height, "yuv420p"
        video.codec_context.time_base = Fraction(1, 90_000)
        sound = box.add_stream_from_template(heard.streams.audio[0])
        for picture in seen.decode(video=0):
            if FROM_S <= picture.time < FROM_S + CLIP_S:
                cropped = av.VideoFrame.from_ndarray(picture.to_ndarray(format="rgb24")[:, :WIDTH_PX].copy(), format="rgb24")
                cropped.pts, cropped.time_base = round((picture.time - FROM_S) * 90_000), Fraction(1, 90_000)
                box.mux(video.encode(cropped))
        box.mux(video.encode(None))
        for packet in heard.demux(audio=0):
            if packet.pts is not None and FROM_S <= packet.pts * packet.time_base < FROM_S + CLIP_S:
                packet.pts = packet.dts = packet.pts - round(FROM_S / packet.time_base)
                packet.stream = sound
                box.mux(packet)


def holding(folder: Path, word: str) -> list[str]:
    """Files that hold a word: in their name, as text, as wide text in arrays, in packed parts, in free pages of a database."""
    forms = [form.encode(code) for form in (word, word.lower(), word.upper()) for code in ("utf-8", "utf-16-le", "utf-32-le")]
    found = []
    for path in folder.rglob("*"):
        if not path.is_file():
            continue
        parts = [str(path.relative_to(folder)).encode(), path.read_bytes()]
        if zipfile.is_zipfile(path):
            with zipfile.ZipFile(path) as packed:
                parts += [packed.read(name) for name in packed.namelist()]
        if any(form in part for form in forms for part in parts):
            found.append(str(path.relative_to(folder)))
    return sorted(found)


def length_s(film: Path) -> float:
    """How long a film lasts."""
    import av

    with av.open(str(film)) as box:
        assert box.streams.video, "no pictures"
        return float(box.duration or 0) / 1e6


def test_a_lesson_from_the_line_up_to_a_dancer_forgotten(
    work_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pose_model("fine")
    monkeypatch.setenv("SE_OFFLINE", "true")
    clip = tmp_path / "lesson.mp4"
    short_clip(clip)
    with running_page(work_folder) as address, running_browser(tmp_path / "browser") as browser:
        visitor = Visitor(browser, address, tmp_path / "taken")
        class_in_the_library(visitor)
        upload_and_watch(visitor, clip)
        every_view(visitor)
        first_count_one_later(visitor)
        taken_along(visitor)
        forgotten(visitor, work_folder)


def class_in_the_library(visitor: Visitor) -> None:
    """A class, its line-up, a yes for each, and a lesson."""
    visitor.open("library")
    visitor.write("Name of the class", "Tuesday beginners")
    visitor.click("Add the class")
    visitor.reads("Tuesday beginners is in the library")
    visitor.write("Labels in standing order, one a line", "\n".join(LABELS))
    visitor.click("Keep this order")
    visitor.reads("The line is kept")
    visitor.fold_out("Write down a yes")
    for label in LABELS:
        visitor.pick("Whose?", label)
    visitor.click("A parent or guardian, and the child too", "label")
    visitor.click("Write it down")
    visitor.reads(f"A yes is written down for {', '.join(LABELS)}")
    visitor.write("What it is about", "First eight")
    visitor.click("Add the lesson")
    visitor.reads("The lesson is in the library")


def upload_and_watch(visitor: Visitor, clip: Path) -> None:
    """A clip of the class, uploaded, agreed to and reviewed."""
    visitor.open("")
    visitor.click("A clip of mine", "label")
    visitor.field("input[type=file]").send_keys(str(clip))
    visitor.reads("lesson.mp4 is here")
    visitor.pick("Which dance?", "Porchlight")
    visitor.write("How many are dancing?", "2")
    visitor.click("A class from my library", "label")
    visitor.reads(f"A yes holds for {', '.join(LABELS)}")
    visitor.pick("Which lesson?", "First eight")
    visitor.click("Start the review")
    visitor.reads("The review of lesson.mp4 is ready", 900)
    visitor.click("Open the review")
    visitor.reads("Whose view?")


def every_view(visitor: Visitor) -> None:
    """Each view opens with what is its own; the labels are confirmed with one tap, and stay away while names are off."""
    visitor.reads("Counts that the class lost")
    assert not any(label in visitor.text() for label in LABELS)
    visitor.click("Show the dancers", "label")
    visitor.reads("Would like a minute with you")
    visitor.click("Yes, these are they")
    visitor.reads(f"Dancer 1 · {LABELS[0]}")
    [one] = finished(None)
    assert [dancer["label"] for dancer in read_review(one.folder)["dancers"]] == list(LABELS)
    for view, words in (("Student", "Who are you?"), ("Choreographer", "Before release"), ("Everything", "Put the counts right")):
        visitor.click(view)
        visitor.reads(words)
        assert f"view={view.lower()}" in visitor.browser.current_url


def first_count_one_later(visitor: Visitor) -> None:
    """The first count moves on by one beat, on the page as in the review."""
    [one] = finished(None)
    beats = read_review(one.folder)["beats"]
    visitor.fold_out("Put the counts right")
    before_s = visitor.value("Count 1 falls at second")
    assert before_s == pytest.approx(beats["first_count_s"], abs=0.006)
    visitor.click("One count later")
    wait_for(lambda: visitor.value("Count 1 falls at second") != before_s)
    after_s = visitor.value("Count 1 falls at second")
    assert after_s - before_s == pytest.approx(60 / 104, abs=0.05), "the sample class dances to 104 beats a minute"
    assert read_review(one.folder)["beats"]["first_count_s"] == pytest.approx(after_s, abs=0.006)


def taken_along(visitor: Visitor) -> None:
    """The report says what the page says; the hand-out is a film of one dancer, small enough to send."""
    report = visitor.download("The report, to print", "report.html").read_text(encoding="utf-8")
    assert all(label in report for label in LABELS)
    visitor.click("Student")
    visitor.fold_out("A film to take along")
    visitor.click("Make the film")
    visitor.reads("watch the film through before you hand it on", 600)
    film = visitor.download("Take the film", "hand-out-dancer-1.mp4")
    assert film.stat().st_size < 15_000_000
    assert length_s(film) > CLIP_S / 2


def forgotten(visitor: Visitor, work_folder: Path) -> None:
    """One dancer is deleted: their label stands on no page, in no file and in no free page of the database; the others stay."""
    gone, *others = LABELS
    assert any(name.endswith("review.json") for name in holding(work_folder, gone))
    assert any("library" in name for name in holding(work_folder, gone)), "the search itself is blind"
    visitor.open("library")
    visitor.pick("Who?", gone)
    visitor.fold_out(f"Delete {gone}")
    visitor.click(f"Yes, delete {gone}", "label")
    visitor.click("Delete now", "details button")
    visitor.reads(f"{gone} is no longer in the library", 240)
    assert "Whatever was downloaded" in visitor.text()
    assert holding(work_folder, gone) == []
    [one] = finished(None)
    assert [dancer["label"] for dancer in read_review(one.folder)["dancers"]] == others
    visitor.open("library")
    assert gone not in visitor.text()
    assert others[0] in visitor.text()
    visitor.open("review?view=everything")
    assert gone not in visitor.text()
    assert json.loads((home() / "jobs" / one.key / "ended.json").read_text())["code"] == 0
