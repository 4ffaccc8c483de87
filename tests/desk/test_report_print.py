"""The report on paper: a browser prints it on A4, and each dancer begins a page."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from made import made_review

from motion.report import report_html
from motion.store_json import review_json

CHROMIUM = shutil.which("chromium")
A4_POINTS = (595, 842)  # 210 by 297 mm in seventy-seconds of an inch (ISO 216)


@pytest.mark.slow
@pytest.mark.skipif(not CHROMIUM, reason="Chromium is not installed")
@pytest.mark.parametrize("dancers", [1, 4])
def test_it_prints_on_a4(dancers: int, tmp_path: Path) -> None:
    """The outside check is a browser's own printing: the size of its pages, and at least one for every dancer."""
    report = tmp_path / "report.html"
    report.write_text(report_html(review_json(made_review(dancers=dancers))), encoding="utf-8")
    words = ["--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", f"--user-data-dir={tmp_path / 'profile'}"]
    words += ["--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'report.pdf'}", report.as_uri()]
    subprocess.run([str(CHROMIUM), *words], check=True, capture_output=True, timeout=120)
    made = (tmp_path / "report.pdf").read_bytes()
    sizes = {(round(float(w)), round(float(h))) for w, h in re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", made)}
    assert sizes == {A4_POINTS}
    assert dancers <= len(re.findall(rb"/Type\s*/Page[^s]", made)) <= 3 * dancers + 2
