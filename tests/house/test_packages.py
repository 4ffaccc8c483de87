"""Which package may import which, and how light the door is."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MOTION = ROOT / "motion"
#: Loaded only when something needs them: each takes from half a second to many seconds.
HEAVY = {"mediapipe", "cv2", "av", "scipy", "ai_edge_litert", "flatbuffers", "streamlit"}
#: What the program may lean on besides the standard library and itself.
ALLOWED = (HEAVY - {"streamlit"}) | {"numpy", "platformdirs"}
#: Packages that know each other, at most: one arrow for each that imports from each other one.
MOST_ARROWS = 90


def imported(path: Path) -> set[str]:
    """Every module that a file imports anywhere, as it is written."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(str(node.module))
    return names


FILES = {path.relative_to(ROOT).as_posix(): imported(path) for path in sorted(MOTION.rglob("*.py"))}


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """The contracts of pyproject.toml, held against the program in a folder."""
    script = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    words = [sys.executable, "-P", "-c", f"import sys; sys.path.insert(0, {str(folder)!r}); {script}", "--no-cache"]
    return subprocess.run(words, capture_output=True, text=True, cwd=folder, timeout=120)


def test_packages_import_only_from_below() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "4 kept, 0 broken" in done.stdout


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("base/checks.py", "import motion.body.tracks"),
        ("music/counts.py", "import motion.dance.sheet"),
        ("store/tables.py", "import motion.tell.report"),
        ("film/covers.py", "import motion.body.pose"),
        ("newroom/__init__.py", ""),
    ],
)
def test_an_import_the_other_way_is_noticed(file: str, line: str, tmp_path: Path) -> None:
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(MOTION, tmp_path / "motion", ignore=shutil.ignore_patterns("__pycache__", "_page", "_samples"))
    (tmp_path / "motion" / file).parent.mkdir(exist_ok=True)
    with (tmp_path / "motion" / file).open("a", encoding="utf-8") as out:
        out.write(f'"""Planted."""\n\n{line}\n')
    assert lint(tmp_path).returncode == 1


def test_packages_are_few_and_know_few() -> None:
    """Nothing lies outside a package, and the arrows between packages (and from the pages) can be drawn on one sheet."""
    loose = {file for file in FILES if file.count("/") == 1}
    assert loose == {"motion/__init__.py", "motion/__main__.py"}
    pages = {path.name: imported(path) for path in (ROOT / "ui").glob("*.py")}
    arrows = {
        (mine, name.split(".")[1])
        for mine, names in [*((f.split("/")[1], n) for f, n in FILES.items()), *(("ui", n) for n in pages.values())]
        for name in names
        if name.startswith("motion.") and name.split(".")[1] != mine
    }
    assert ("timing", "music") in arrows
    assert ("ui", "jobs") in arrows
    assert len(arrows) <= MOST_ARROWS, len(arrows)


@pytest.mark.parametrize("package", sorted({f.split("/")[1] for f in FILES if f.count("/") > 1}))
def test_every_package_says_what_comes_in_and_goes_out(package: str) -> None:
    said = ast.get_docstring(ast.parse((MOTION / package / "__init__.py").read_text(encoding="utf-8"))) or ""
    for word in ("Comes in: ", "Goes out: ", "mports "):
        assert word in said, f"{package} does not say '{word.strip()}'"


def test_the_program_leans_on_few_libraries() -> None:
    for file, names in FILES.items():
        outside = {name.split(".")[0] for name in names} - set(sys.stdlib_module_names) - {"motion"}
        assert outside <= ALLOWED, f"{file} leans on {outside - ALLOWED}"


def test_only_one_file_knows_the_pose_models_runtime() -> None:
    knowing = {f for f, names in FILES.items() if {n.split(".")[0] for n in names} & {"mediapipe", "ai_edge_litert"}}
    # model_bundle.py writes the file that the runtime reads, by its published schema
    assert knowing == {"motion/body/pose.py", "motion/clip/model_bundle.py"}


def test_the_pages_library_is_named_in_one_file() -> None:
    naming = {f for f in FILES if "streamlit" in (ROOT / f).read_text(encoding="utf-8").lower()}
    assert naming == {"motion/desk/page_server.py"}


@pytest.mark.parametrize(
    "module",
    ["motion", "motion.cli.main", "motion.review.judge", "motion.desk.review_clip", "motion.tell.report", "motion.jobs.queue"],
)
def test_importing_is_light(module: str) -> None:
    script = f"import sys, {module}; print(' '.join({{m.partition('.')[0] for m in sys.modules}}))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT, timeout=60)
    loaded = set(done.stdout.split())
    assert not loaded & HEAVY
    if module in {"motion", "motion.cli.main"}:
        assert "numpy" not in loaded
