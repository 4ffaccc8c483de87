"""The house: who may import whom, and how light the door is."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MOTION = ROOT / "motion"
FILES = sorted(MOTION.rglob("*.py"))

GROUND = {
    "errors",
    "checks",
    "sealed",
    "data",
    "settings_desk",
    "progress",
    "options",
    "home",
    "atomic",
    "child",
}
TOOLS = {"signals", "geometry", "statistics", "agreement"}
ROOMS = {"clip", "body", "music", "dance", "lesson"}
DOORS = {"cli", "cli_films", "cli_given", "__main__"}
#: Loaded only when something needs them: each takes from half a second to many seconds.
HEAVY = {"mediapipe", "cv2", "av", "scipy", "ai_edge_litert", "flatbuffers", "streamlit"}
#: Files that also put off the house's own rooms, so that `countfall --help` and a refusal answer at once.
LIGHT = {"cli.py", "cli_films.py", "cli_given.py", "desk.py"}
#: What the house may lean on besides the standard library and itself.
ALLOWED = (HEAVY - {"streamlit"}) | {"numpy", "platformdirs"}


def place(path: Path) -> str:
    """ "motion.body.steps" for motion/body/steps.py; a package by its own name."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def floor(module: str) -> int:
    name = module.split(".")[1] if "." in module else ""
    if not name:
        return 0  # motion itself holds the version and nothing else
    for height, names in enumerate((GROUND, TOOLS, ROOMS, {"timing", "settings", "forecast", "unfinished"}, {"review", "sight"})):
        if name in names:
            return height
    return 6 if name in DOORS else 5


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """(module, inside a function) for every import of a file that is run; names imported from a package count as modules if they are."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    typing_only = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) in {"TYPE_CHECKING", "typing.TYPE_CHECKING"}
        for inner in ast.walk(node)
    }
    inside = {
        id(inner) for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in typing_only:
            continue
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, id(node) in inside
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                known = (ROOT / whole.replace(".", "/")).with_suffix(".py").exists() or (ROOT / whole.replace(".", "/")).is_dir()
                yield whole if known else str(node.module), id(node) in inside


EDGES = {place(path): {m for m, _ in imports(path) if m.split(".")[0] == "motion"} for path in FILES}


def test_the_house_was_found() -> None:
    assert {"motion.review", "motion.timing.match", "motion.body.steps", "motion.cli"} <= set(EDGES)
    assert "motion.timing.match" in EDGES["motion.timing.flags"]
    assert any("motion.review" in into for into in EDGES.values())


@pytest.mark.parametrize("module", sorted(EDGES))
def test_nobody_imports_from_a_floor_above(module: str) -> None:
    for other in EDGES[module]:
        assert floor(other) <= floor(module), f"{module} (floor {floor(module)}) imports {other} (floor {floor(other)})"


@pytest.mark.parametrize("module", sorted(m for m in EDGES if floor(m) == 2))
def test_no_room_imports_another_room(module: str) -> None:
    mine = module.split(".")[1]
    for other in EDGES[module]:
        assert floor(other) < 2 or other.split(".")[1] == mine, f"{module} imports {other}"


def test_only_the_corridor_knows_several_rooms_that_see_and_hear() -> None:
    """timing meets music and dance through their counts; pictures and bodies meet the rest in review.py alone."""
    for module, others in EDGES.items():
        rooms = {o.split(".")[1] for o in others if floor(o) == 2}
        if floor(module) == 3 and module not in {"motion.settings", "motion.unfinished"}:  # the bundle of every package's own
            assert not rooms & {"clip", "body"}, f"{module} imports {rooms}"
        elif floor(module) >= 5:
            assert "body" not in rooms, f"{module} imports body: ask review.py"


def test_only_the_doors_and_the_desk_know_the_corridor() -> None:
    for module, others in EDGES.items():
        if "motion.review" in others:
            assert floor(module) >= 5, module


def test_no_imports_in_a_circle() -> None:
    done: set[str] = set()

    def walk(module: str, way: tuple[str, ...]) -> None:
        assert module not in way, " -> ".join((*way[way.index(module) :], module))
        if module in done:
            return
        for other in EDGES.get(module, ()):
            if other != module:
                walk(other, (*way, module))
        done.add(module)

    for module in EDGES:
        walk(module, ())


@pytest.mark.parametrize("path", FILES, ids=place)
def test_heavy_libraries_are_imported_inside_functions_and_only_those(path: Path) -> None:
    for module, inside in imports(path):
        first = module.split(".")[0]
        standard = first in sys.stdlib_module_names
        assert standard or first == "motion" or first in ALLOWED, f"{place(path)} leans on {first}"
        if first in HEAVY:
            assert inside, f"{place(path)} imports {module} at once"
        elif inside and not standard and first != "platformdirs":
            assert path.name in LIGHT, f"{place(path)} puts off {module} without need"


def test_only_one_file_knows_the_pose_models_runtime() -> None:
    knowing = {place(p) for p in FILES for m, _ in imports(p) if m.split(".")[0] in {"mediapipe", "ai_edge_litert"}}
    # bundle.py writes the file that the runtime reads, by its published schema
    assert knowing == {"motion.body.landmarks", "motion.clip.bundle"}


def test_motion_does_not_know_the_page() -> None:
    for path in FILES:
        assert not {m.split(".")[0] for m, _ in imports(path)} & {"streamlit", "ui"}, place(path)
        if "streamlit" in path.read_text(encoding="utf-8").lower():
            assert path.name == "page.py", f"{place(path)} names the page's library"


@pytest.mark.parametrize(
    "module", ["motion", "motion.cli", "motion.review", "motion.desk", "motion.store", "motion.report", "motion.jobs"]
)
def test_importing_is_light(module: str) -> None:
    script = f"import sys, {module}; print(' '.join({{m.partition('.')[0] for m in sys.modules}}))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT, timeout=60)
    loaded = set(done.stdout.split())
    assert not loaded & HEAVY
    if module in {"motion", "motion.cli"}:
        assert "numpy" not in loaded
