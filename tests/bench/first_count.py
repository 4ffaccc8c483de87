"""From a changed first count to the page that shows it, against judging alone: python tests/bench/first_count.py REVIEW

REVIEW is a stored review with a dance sheet. Its dancers are taken again and again until there are twelve, so that judging has a whole
class to do. Printed are seconds, the quickest of a few rounds, and each as a ratio to `judge`, the function by itself when it has not
met the clip before: a stored folder judged and written, the first time and when the page has read it ahead; each view of the page drawn
anew; and, where Chromium is installed, from a click in it to the other first count on the page: quickest, median and slowest of several.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

from motion.base.home import HOME_VARIABLE
from motion.base.options import JudgeOptions
from motion.base.types import Landmarks
from motion.dance.sheet import parse_sheet
from motion.desk.open_review import let_go
from motion.desk.page_server import START_VARIABLE
from motion.desk.recount import recount
from motion.review.judge import judge
from motion.review.watch import stored_watch
from motion.store.folder import read_review, read_stored, write_review
from motion.store.serialize import review_json
from motion.tell.moments import other_first_count
from motion.tell.report import report_html

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from real_browser import CHROMIUM, DRIVER, running_browser, running_page, wait_for

DANCERS, ROUNDS, CLICKS = 12, 3, 9
UI = Path(__file__).resolve().parents[2] / "ui"


def twelve(landmarks: Landmarks) -> Landmarks:
    """The dancers again and again, a little further to the right each time round."""
    which = np.arange(DANCERS) % len(landmarks.ids)
    shift_px = 9.0 * (np.arange(DANCERS) // len(landmarks.ids))
    moved = landmarks.image_px[:, which] + np.stack([shift_px, 0 * shift_px], axis=1)[None, :, None, :]
    unsure = tuple(landmarks.unsure[i] if landmarks.unsure else () for i in which)
    return Landmarks(landmarks.times_s, np.arange(1, DANCERS + 1), moved, landmarks.visibility[:, which], unsure)


def seconds(do: Callable[[], Any]) -> float:
    """The quickest of a few rounds: what the machine does besides only adds."""
    taken = []
    for _ in range(ROUNDS):
        before = time.perf_counter()
        do()
        taken.append(time.perf_counter() - before)
    return min(taken)


def page(folder: Path, view: str) -> Callable[[], None]:
    """Draw a view of the review anew, as after judging again: what was kept of the old one is of no use."""
    import streamlit as st
    from streamlit.testing.v1 import AppTest

    sys.path.insert(0, str(UI))
    os.environ[START_VARIABLE] = str(folder)
    app = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    app.query_params.update({"view": view, "dancers": "shown"})
    app.run()
    app.switch_page("page_review.py").run()
    assert not app.exception, app.exception

    def again() -> None:
        st.cache_data.clear()
        app.run()

    return again


def clicked(work_folder: Path, folder: Path) -> tuple[float, list[float]]:
    """Seconds from a click on "One count later" until a browser shows the other first count: right after the page has opened, and when
    somebody has looked at it for a while (each of several clicks, in order of size)."""
    os.environ[START_VARIABLE] = str(folder)
    value = "return document.querySelector(\"input[aria-label='Count 1 falls at second']\")?.value"
    with running_page(work_folder) as address, running_browser(work_folder / "profile") as driver:

        def later() -> float:
            before = driver.execute_script(value)
            begun = time.perf_counter()
            driver.execute_script("document.querySelector('.st-key-later button').click()")
            while driver.execute_script(value) in (before, None):
                time.sleep(0.01)
            return time.perf_counter() - begun

        driver.get(f"{address}/review?review=opened&view=everything")
        wait_for(lambda: driver.execute_script(value))
        first = later()
        time.sleep(4)
        return first, sorted(later() for _ in range(CLICKS))


def main() -> None:
    stored = read_stored(Path(sys.argv[1]))
    sheet = parse_sheet(stored.review["dance"]["written"], "the stored sheet")
    arrays = {
        name: values
        for name, values in stored.arrays.items()
        if len(values.shape) == 0 or values.shape[0] != len(stored.landmarks.ids)
    }
    watched = replace(
        stored_watch(stored.clip, stored.landmarks, arrays, stored.review["made_by"]), landmarks=twelve(stored.landmarks)
    )
    review = judge(watched, JudgeOptions(), earlier_sheet=sheet)
    first_s = other_first_count(review_json(review)["beats"], 1)
    asked = JudgeOptions(first_count_s=first_s)

    def forgotten(do: Callable[[], Any]) -> Callable[[], Any]:
        def anew() -> Any:
            let_go()
            return do()

        return anew

    with tempfile.TemporaryDirectory() as place:
        os.environ[HOME_VARIABLE] = place
        folder = Path(place) / "class.review"
        write_review(folder, review, extra_arrays=watched.arrays(), report_html=report_html(review_json(review)))
        counts = len((read_review(folder).get("class") or {"counts": []})["counts"])
        took = {
            "judge": seconds(forgotten(lambda: judge(watched, asked, earlier_sheet=sheet))),
            "judge, clip met before": seconds(lambda: judge(watched, asked, earlier_sheet=sheet)),
            "folder, first time": seconds(forgotten(lambda: recount(folder, asked))),
            "folder, read ahead": seconds(lambda: recount(folder, asked)),
            **{f"page drawn, {view}": seconds(page(folder, view)) for view in ("teacher", "choreographer", "everything")},
        }
        if CHROMIUM and DRIVER:
            took["browser, at once"], clicks = clicked(Path(place) / "page", folder)
            for name, value in (("quickest", clicks[0]), ("median", median(clicks)), ("slowest", clicks[-1])):
                took[f"browser, read ahead, {name}"] = value
    print(f"{DANCERS} dancers, {counts} counts, {stored.clip.duration_s:.0f} s of clip")
    for name, value in took.items():
        print(f"{name:28} {value:7.2f} s   {value / took['judge']:6.2f} x judge")


if __name__ == "__main__":
    main()
