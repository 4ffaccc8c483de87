"""The sample clips reviewed by the command, as a person would, and the numbers that stand beside them."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from motion.base.child import child_environment

SAMPLES = Path(__file__).resolve().parents[1] / "sample_clips"


def expected(name: str) -> dict[str, Any]:
    return dict(json.loads((SAMPLES / f"{name}.expected.json").read_text(encoding="utf-8")))


def command(*words: object) -> list[str]:
    return [sys.executable, "-P", "-m", "motion", *map(str, words)]


def review_words(name: str, out: Path, *more: str) -> list[str]:
    known = expected(name)
    sheet = ["--dance", str(SAMPLES / known["sheet"])] if known["sheet"] else []
    return command("review", SAMPLES / known["clip"], *sheet, *known["options"], *more, "--out", out)


def run(words: list[str]) -> str:
    done = subprocess.run(words, capture_output=True, stdin=subprocess.DEVNULL, env=child_environment(), timeout=900, check=False)
    assert done.returncode == 0, done.stderr.decode("utf-8", "replace")[-2000:]
    return done.stdout.decode("utf-8")
