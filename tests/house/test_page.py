"""The page computes nothing: what its files may import, and which words it may use."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

UI = Path(__file__).resolve().parents[2] / "ui"
FILES = sorted(UI.glob("*.py"))
MOTION = UI.parent / "motion"


def imported(tree: ast.Module) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_imports_of_the_page(path: Path) -> None:
    beside = {file.stem for file in FILES}
    for name in imported(ast.parse(path.read_text(encoding="utf-8"))):
        first = name.partition(".")[0]
        assert first in {"streamlit", "motion"} | beside | set(sys.stdlib_module_names), f"{path.name} imports {name}"
        assert first not in {"math", "statistics", "cmath", "decimal", "fractions"}, f"{path.name} computes with {name}"
        assert not any(part.startswith("_") and part != "__future__" for part in name.split(".")), f"{name} is not a public name"


def test_motion_knows_nothing_of_the_page() -> None:
    for path in MOTION.rglob("*.py"):
        names = {name.partition(".")[0] for name in imported(ast.parse(path.read_text(encoding="utf-8")))}
        assert not names & {"streamlit", "ui", *(file.stem for file in FILES)}, path.name
