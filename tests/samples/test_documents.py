"""README.md and DEVELOPERS.md are true: their commands, their example, their numbers, their map and their dictionary."""

from __future__ import annotations

import argparse
import re
import shlex
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import pytest
from made import made_review

from motion.cli.main import _parser
from motion.dance.check import check_sheet
from motion.dance.sheet import parse_sheet
from motion.music.onset_strength import OnsetCurve
from motion.review.settings import SETTINGS
from motion.store.folder import OWN_ARRAYS
from motion.store.serialize import review_json
from motion.store.tables import ANGLE_COLUMNS, BEAT_COLUMNS, STEP_COLUMNS

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
DICTIONARY = (ROOT / "motion" / "store" / "data_dictionary.md").read_text(encoding="utf-8")
CHECK = ROOT / ".ci" / "run"


def marked(name: str) -> str:
    """The command below its mark in README.md."""
    found = re.findall(rf"^<!-- command: {name} -->\n```sh\n(.+)\n```$", README, re.MULTILINE)
    assert len(found) == 1, f"README.md has no single line of command below the mark '{name}'"
    return str(found[0])


def commands() -> dict[str, argparse.ArgumentParser]:
    sub = next(action for action in _parser()._actions if isinstance(action, argparse._SubParsersAction))
    return dict(sub.choices)


def test_the_readme_has_two_commands_and_they_hold_together() -> None:
    assert re.findall(r"^<!-- command: (\w+) -->$", README, re.MULTILINE) == ["review", "tests"]
    setup, install, review = marked("review").split(" && ")
    assert (setup, install) == ("python3.11 -m venv .venv", ".venv/bin/pip install .")
    words = shlex.split(review)
    assert words[0] == ".venv/bin/countfall"
    asked = _parser().parse_args(words[1:])
    assert (ROOT / asked.clip).is_file()
    assert (ROOT / asked.dance).is_file()
    run = ".venv/bin/python -m pytest -n auto --dist loadfile --no-loadscope-reorder"
    assert marked("tests") == f"{setup} && .venv/bin/pip install -e '.[test]' -c tests/constraints.txt && {run}"


def test_the_one_check_runs_what_the_readme_says() -> None:
    """.ci/run reads the commands out of README.md; its own reading is run here."""
    text = CHECK.read_text(encoding="utf-8")
    assert CHECK.stat().st_mode & 0o111
    reading = text[text.index("command_of() {") : text.index("# A copy beside")]
    for name in ("review", "tests"):
        script = f"set -euo pipefail\nroot={shlex.quote(str(ROOT))}\n{reading}\ncommand_of {name}"
        said = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True, stdin=subprocess.DEVNULL).stdout
        assert said.strip() == marked(name)
    assert "for name in review tests" in text
    for needed in ("ruff check .", "ruff format --check .", "lint-imports", "mypy"):
        assert f".venv/bin/{needed}" in text


def test_the_readme_names_every_command_and_option() -> None:
    for name, parser in commands().items():
        assert f"`countfall {name}" in README, name
        for action in parser._actions:
            for option in action.option_strings:
                if name in ("review", "recount", "batch", "prepare") and option not in ("-h", "--help"):
                    assert f"{option}" in README, f"{name} {option}"


def test_the_sheet_in_the_readme_can_be_danced() -> None:
    found = re.search(r"^```\n(# title:.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert found is not None
    assert check_sheet(parse_sheet(found[1], "the example")) == ()


def test_numbers_that_the_readme_quotes_are_the_settings() -> None:
    clip, timing, desk, page = SETTINGS.clip, SETTINGS.timing, SETTINGS.desk, SETTINGS.page
    assert f"from {clip.shortest_s:g} seconds up to {clip.longest_s / 60:g} minutes and {clip.largest_bytes / 1e9:g} GB" in README
    assert f"off by {timing.band_ms:g} ms or more" in README
    assert f"{desk.kept_days} days ahead" in README
    assert f"({desk.kept_days} days)" in DEVELOPERS
    assert f"about {page.phone_ms:g} ms can be the phone" in README.replace("\n", " ")


def test_the_map_shows_every_package() -> None:
    drawn = DEVELOPERS.partition("## The map")[2].partition("\n## ")[0]
    packages = {path.parent.name for path in (ROOT / "motion").glob("*/__init__.py")}
    assert set(re.findall(r"^\| \d+ \| `(\w+)` \|", drawn, re.MULTILINE)) == packages
    for folder in (ROOT / "tests").iterdir():
        if folder.is_dir() and not folder.name.startswith(("_", ".")):
            assert re.search(rf"`(tests/)?{folder.name}`", DEVELOPERS), folder


def test_every_file_that_the_documents_name_is_there() -> None:
    documents = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "motion").rglob("*.md")]
    for path in documents:
        text = path.read_text(encoding="utf-8").partition("## Where names went")[0]
        for name in re.findall(r"`((?:[\w.]+/)*\w+\.(?:py|js|css|md))`", text):
            if "NAME" in name:
                continue
            folders = (ROOT, *(ROOT / one for one in ("motion", "ui", "tests", "sample_clips")))
            places = [path for folder in folders for path in (folder.glob(name) if folder is ROOT else folder.rglob(name))]
            assert places, f"{path.name} names {name}, which is not there"


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for asked in (*project["dependencies"], *project["optional-dependencies"]["test"], "hatchling"):
        name = re.split(r"[<>=\[;]", asked)[0]
        assert f"`{name}`" in DEVELOPERS, name


def names_in(value: Any) -> set[str]:
    """Every field name in a review, without those of settings and options, which speak for themselves."""
    if isinstance(value, dict):
        return set(value) | {n for k, v in value.items() if k not in ("settings", "asked", "judged", "zero") for n in names_in(v)}
    return {name for item in value for name in names_in(item)} if isinstance(value, list) else set()


def test_the_dictionary_explains_every_field() -> None:
    fields = names_in({k: v for k, v in review_json(made_review(2, 32)).items() if k != "made_by"})
    assert '`{"not_measured": ' in DICTIONARY
    assert {"bias_interval_ms", "wall_starts", "first_picture_s", "until_count"} <= fields
    columns = {*STEP_COLUMNS, *BEAT_COLUMNS, *(c for c in ANGLE_COLUMNS if not c.startswith("sigma_"))}
    for name in sorted((fields | columns | OWN_ARRAYS) - {"not_measured"}):
        assert re.search(rf"[`.]{name}[`.\[]", DICTIONARY), name


@pytest.mark.parametrize(
    "name", ["review.json", "steps.csv", "beats.csv", "angles.csv", "landmarks.npz", "report.html", "overlay.mp4"]
)
def test_the_readme_names_every_file_of_a_review(name: str) -> None:
    assert f"`{name}`" in README


def test_the_dictionary_explains_every_stored_array() -> None:
    for name in OnsetCurve.__dataclass_fields__:
        assert f"`onset_{name}`" in DICTIONARY, name
