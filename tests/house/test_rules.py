"""Rules that no linter holds: files are short and local, time is the time stamp, settings say why, the project file is true."""

from __future__ import annotations

import ast
import hashlib
import re
import subprocess
import sys
import tomllib
import zipfile
from dataclasses import FrozenInstanceError
from importlib.metadata import version
from pathlib import Path

import pytest

from motion.review.settings import SETTINGS

ROOT = Path(__file__).resolve().parents[2]
MOTION = sorted((ROOT / "motion").rglob("*.py"))
PAGES = sorted((ROOT / "ui").glob("*.py"))
TEXTS = sorted(
    p for folder in ("motion", "ui") for p in (ROOT / folder).rglob("*") if p.suffix in {".py", ".css", ".js", ".html", ".svg"}
)
MOST_LINES = 420
#: One file of types is easier to keep true than two.
LONGER = {"types.py": 460}
#: Names of XML, not places that anyone visits.
NAMESPACES = ("http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink", "http://www.w3.org/1999/xhtml")
#: The Apache License 2.0 as its makers publish it.
LICENCE_SHA256 = "cfc7749b96f63bd31c3c42b5c471bf756814053e847c10f3eb003417bc523d30"


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_there_is_something_to_look_at() -> None:
    assert len(MOTION) > 40
    assert len(PAGES) > 3


def test_files_are_short() -> None:
    long = {named(p): n for p in MOTION + PAGES if (n := len(p.read_text(encoding="utf-8").splitlines())) > MOST_LINES}
    assert {name: n for name, n in long.items() if n > LONGER.get(name.split("/")[-1], 0)} == {}


def test_nothing_calls_out() -> None:
    for path in TEXTS:
        text = path.read_text(encoding="utf-8")
        for name in NAMESPACES:
            text = text.replace(name, "")
        # the page's own address on this computer is put together from its parts
        addresses = [a for a in re.findall(r"(?:https?|ftp|wss?)://[^\s\"'<>)]*", text) if not a.startswith("http://{ADDRESS}")]
        assert not addresses, path
        assert not re.search(r"\b[\w-]+\.(?:com|org|net|dev|googleapis)\b", text), f"{path}: a host's name"


def test_time_is_never_a_picture_number_over_a_rate() -> None:
    for path in MOTION:
        if path.name == "decoder.py":
            continue
        text = re.sub(r'""".*?"""|#.*', "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        assert not re.search(r"/\s*\(?(?:\w+\.)?(?:fps|frame_rate|average_rate|base_rate|guessed_rate)\b", text), path


def test_every_setting_says_why() -> None:
    assert sum(settings_with_reasons(path) for path in (ROOT / "motion").glob("*/settings.py")) > 200


def settings_with_reasons(path: Path) -> int:
    lines = path.read_text(encoding="utf-8").splitlines()
    tree = ast.parse("\n".join(lines))
    seen = 0
    for group in (n for n in tree.body if isinstance(n, ast.ClassDef) and n.name != "Settings"):
        for node in group.body:
            if not isinstance(node, ast.AnnAssign):
                continue
            seen += 1
            above = node.lineno - 2 if lines[node.lineno - 2].lstrip().startswith("#") else node.lineno - 1
            comments = [line.split("#", 1)[1].strip() for line in lines[above : node.end_lineno] if "#" in line]
            assert comments, f"{group.name}.{ast.unparse(node.target)} has no comment"
            assert len(" ".join(comments)) > 7, f"{group.name}.{ast.unparse(node.target)}: {comments}"
    return seen


def test_groups_of_settings_are_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        SETTINGS.timing.miss_cost = 1.0  # type: ignore[misc]


def test_the_licence_is_there_and_in_the_wheel(tmp_path: Path) -> None:
    text = (ROOT / "motion" / "LICENSE").read_bytes()
    assert b"Apache License" in text
    assert hashlib.sha256(text).hexdigest() == LICENCE_SHA256
    words = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(words, cwd=ROOT, check=True, capture_output=True, timeout=120)
    (wheel,) = tmp_path.glob("countfall-*.whl")
    with zipfile.ZipFile(wheel) as box:
        kept = [name for name in box.namelist() if name.endswith("LICENSE")]
        assert any(".dist-info/licenses/" in name for name in kept)
        assert all(box.read(name) == text for name in kept)
        assert {"motion/_page/app.py", "motion/_samples/lantern.csv", "motion/body/contact.npz"} <= set(box.namelist())


def test_the_project_file() -> None:
    with (ROOT / "pyproject.toml").open("rb") as file:
        project = tomllib.load(file)["project"]
    assert project["name"] == "countfall"
    assert project["requires-python"] == ">=3.11"
    assert project["scripts"] == {"countfall": "motion.cli.main:main"}
    needs = {re.split(r"[<>=]", line)[0]: line for line in project["dependencies"]}
    # later releases report usage to their maker, with no switch
    assert needs["mediapipe"] == "mediapipe>=0.10.30,<0.10.35"
    assert needs["av"] == "av>=18.1,<19"
    # the very distribution that mediapipe brings; another one would write over the same folder
    assert [name for name in needs if name.startswith("opencv")] == ["opencv-contrib-python"]
    assert needs["opencv-contrib-python"] == "opencv-contrib-python>=5,<6"


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("mediapipe", (0, 10, 30), (0, 10, 35)), ("av", (18, 1), (19,)), ("opencv-contrib-python", (5,), (6,))],
)
def test_what_is_installed_is_what_was_asked_for(name: str, low: tuple[int, ...], high: tuple[int, ...]) -> None:
    parts = tuple(int(p) for p in version(name).split(".")[:3])
    assert low <= parts < high


def test_the_constraints_name_every_dependency_at_a_version_that_it_allows() -> None:
    lines = (ROOT / "tests" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pinned = dict(line.split("==") for line in lines if line and not line.startswith("#"))
    with (ROOT / "pyproject.toml").open("rb") as file:
        project = tomllib.load(file)["project"]
    for asked in (*project["dependencies"], *project["optional-dependencies"]["test"]):
        name, low = re.match(r"([\w-]+)>=([\d.]+)", asked).groups()  # type: ignore[union-attr]
        assert name in pinned, f"{name} has no line in tests/constraints.txt"
        assert tuple(map(int, pinned[name].split(".")[:3])) >= tuple(map(int, low.split("."))), asked


def test_every_fault_of_the_list_can_still_be_put_in() -> None:
    """tests/bench/mutations: faults that the tests are to notice. Their code may move; then they move along."""
    faults = tomllib.loads((ROOT / "tests" / "bench" / "mutations" / "faults.toml").read_text(encoding="utf-8"))["fault"]
    assert len(faults) >= 60
    for fault in faults:
        text = (ROOT / "motion" / fault["file"]).read_text(encoding="utf-8")
        assert text.count(fault["old"]) == 1, f"{fault['file']}: {fault['old']!r}"
        ast.parse(text.replace(fault["old"], fault["new"]))
