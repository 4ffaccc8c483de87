"""Every page in a real browser before axe-core, the usual checker of accessibility: no serious and no critical fault."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from real_browser import CHROMIUM, DRIVER, running_browser, running_page, wait_for

from motion.jobs.queue import Job

selenium = pytest.importorskip("selenium", reason="selenium is not installed")
axe = pytest.importorskip("axe_core_python", reason="axe-core-python is not installed")
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not (CHROMIUM and DRIVER), reason="Chromium and its driver are not installed"),
]
PAGES = (
    "",
    "review?review=class&view=teacher&dancers=shown",
    "review?review=class&view=student",
    "review?review=class&view=choreographer",
    "review?review=class&view=everything",
    "filming",
    "lesson",
    "sheet",
    "range-check",
    "library",
    "numbers",
)
IDLE = """
const app = document.querySelector("[data-testid=stApp]");
return app && app.dataset.testScriptState === "notRunning" && document.querySelector("h1") !== null;
"""
#: What only the class's table, a student's card and the page before release show: the page asked for is the one that is open.
SPECIAL = "return document.querySelectorAll('.count-table, .student-card, .release').length"
#: What axe-core looks at: the rules of WCAG 2, levels A and AA.
RUN = """
const done = arguments[arguments.length - 1];
axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"] }).then((found) => done(found.violations));
"""


def faults(browser: Any) -> list[str]:
    """The serious and critical faults of the page that is open."""
    browser.execute_script((resources.files("axe_core_python") / "axe.min.js").read_text(encoding="utf-8"))
    found = browser.execute_async_script(RUN)
    return [
        f"{one['id']}: {node['html'][:160]} ({'; '.join(m['message'] for m in [*node['any'], *node['all'], *node['none']])[:160]})"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def test_no_page_has_a_serious_fault(
    work_folder: Path, shelve: Callable[..., Job], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SE_OFFLINE", "true")
    shelve("class", 3, 32)
    told = {}
    with running_page(work_folder) as address, running_browser(tmp_path / "browser") as browser:
        for page in PAGES:
            browser.get(f"{address}/{page}")
            wait_for(lambda: browser.execute_script(IDLE))
            special = page.endswith(("shown", "student", "choreographer"))
            wait_for(lambda wanted=special: bool(browser.execute_script(SPECIAL)) == wanted)
            wait_for(lambda: browser.execute_script(IDLE))
            told[page] = faults(browser)
        browser.execute_script("document.body.insertAdjacentHTML('beforeend', '<img src=\"data:,\"><button></button>')")
        assert {one.partition(":")[0] for one in faults(browser)} >= {"image-alt", "button-name"}, "the check itself is blind"
    assert {page: found for page, found in told.items() if found} == {}
