"""On paper: a browser prints the report on A4, each dancer beginning a page, and the page before filming on one sheet."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from pathlib import Path

import pytest
from made import made_review

from motion.review.settings import SETTINGS
from motion.store.serialize import review_json
from motion.tell.consent_form import consent_html
from motion.tell.report import report_html

CHROMIUM = shutil.which("chromium")
A4_POINTS = (595, 842)  # 210 by 297 mm in seventy-seconds of an inch (ISO 216)


def printed(html: str, folder: Path) -> bytes:
    """What a browser prints of a page, as PDF."""
    (folder / "page.html").write_text(html, encoding="utf-8")
    words = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", f"--user-data-dir={folder / 'profile'}"]
    words += ["--no-pdf-header-footer", f"--print-to-pdf={folder / 'page.pdf'}", (folder / "page.html").as_uri()]
    subprocess.run([str(CHROMIUM), *words], check=True, capture_output=True, timeout=120)
    return (folder / "page.pdf").read_bytes()


def pages(made: bytes) -> int:
    """How many pages a PDF has."""
    return len(re.findall(rb"/Type\s*/Page[^s]", made))


@pytest.mark.slow
@pytest.mark.skipif(not CHROMIUM, reason="Chromium is not installed")
@pytest.mark.parametrize("dancers", [1, 4])
def test_it_prints_on_a4(dancers: int, tmp_path: Path) -> None:
    """The outside check is a browser's own printing: the size of its pages, and at least one for every dancer."""
    made = printed(report_html(review_json(made_review(dancers=dancers))), tmp_path)
    sizes = {(round(float(w)), round(float(h))) for w, h in re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", made)}
    assert sizes == {A4_POINTS}
    assert dancers <= pages(made) <= 3 * dancers + 2


@pytest.mark.slow
@pytest.mark.skipif(not CHROMIUM, reason="Chromium is not installed")
def test_the_page_before_filming_is_one_sheet(tmp_path: Path) -> None:
    """Also with the longest name that a class may have, in its widest letters."""
    assert pages(printed(consent_html("W" * SETTINGS.library.name_letters, date(2031, 9, 30)), tmp_path)) == 1
