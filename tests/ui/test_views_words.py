"""Plain words: no page, hand-out or report speaks as engineers do. What is scanned is every sentence in the files that make them."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]
#: Files whose sentences people read: the pages, and what they are handed in words.
PAGES = sorted((HOUSE / "ui").glob("*.py"))
TOLD = [
    path
    for package in ("tell", "film", "jobs", "desk", "library")
    for path in sorted((HOUSE / "motion" / package).glob("*.py"))
    if path.name != "__init__.py"
]
SCRIPTS = sorted((HOUSE / "ui").glob("*.html"))
TERMS = re.compile(
    r"\b(bias|sigma|landmarks?|tracks?|tracked|tracking|overlays?|confidence|localhost|percentiles?|vectors?|offsets?|onsets?|"
    r"(?<!violet )frames?|"
    r"pixels?|codec|fps|null|NaN|boolean|metadata|payload|render(ed)?|timestamps?|outliers?|residuals?|algorithm|inference|"
    r"F-measure|standard deviations?|kernel|bounding box|key ?points?)\b",
    re.IGNORECASE,
)
#: Words that rank or grade people, or borrow from games.
GAMES = re.compile(
    r"\b(score[ds]?|high ?score|combo|streak|level up|perfect!|medal|trophy|badge|rank(ed|ing)?|leaderboard)\b", re.IGNORECASE
)


def sentences(path: Path) -> Iterator[str]:
    """Every piece of text with a space in it that is no docstring: what may be read by a person."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)) and node.body and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told and " " in node.value.strip():
            if re.match(r"\s*(SELECT|INSERT|UPDATE|DELETE|PRAGMA|CREATE|ALTER)\b", node.value):
                continue  # asked of the library, not of a person
            yield re.sub(
                r"countfall overlay|<[^>]*>?|\b[\w-]+\s*:[^;{}]*;|[{}]", " ", node.value
            )  # tags and style rules are not read


@pytest.mark.parametrize("path", [*PAGES, *TOLD], ids=lambda p: p.stem)
def test_no_terms_of_engineers(path: Path) -> None:
    assert path.is_file(), "a file that was renamed is named anew here"
    found = [(m[0], text) for text in sentences(path) for m in [TERMS.search(text) or GAMES.search(text)] if m]
    assert found == []


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: p.stem)
def test_no_terms_in_what_the_small_scripts_show(path: Path) -> None:
    words = re.sub(r"<[^>]*>", " ", path.read_text(encoding="utf-8"))
    assert TERMS.search(words) is None
    assert GAMES.search(words) is None


def test_the_scan_sees_what_it_should(tmp_path: Path) -> None:
    page = tmp_path / "page.py"
    page.write_text(
        '"""The sigma of it."""\nname = f"Your bias is {1}"\nkey = "sigma"\nst.write("<b class=track>on the beat</b>")\n'
    )
    assert [m[0] for text in sentences(page) for m in [TERMS.search(text)] if m] == ["bias"]
