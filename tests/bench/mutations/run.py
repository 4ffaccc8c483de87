"""Puts small faults into the program, one at a time, and says which of them the tests notice; run by hand:

    python tests/bench/mutations/run.py [--only WORD] [--jobs N]

The faults stand in faults.toml beside this file. Each is put into a copy of the project, and the tests of its package are run there
(without those marked slow) until one fails. Ends with 1 when fewer than nine in ten are noticed.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).resolve().parents[3]
FAULTS = Path(__file__).with_name("faults.toml")
LEAST_NOTICED = 0.9


def faults() -> list[dict[str, str]]:
    """Every fault: file (below motion/), old, new, what."""
    return tomllib.loads(FAULTS.read_text(encoding="utf-8"))["fault"]


def copied(into: Path) -> Path:
    """The project as git knows it, beside the shared data if there is any."""
    target = into / "copy"
    names = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=True)
    for name in names.stdout.splitlines():
        if (ROOT / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, target / name)
    shared = ROOT.parent / "shared"
    if shared.is_dir():
        (into / "shared").symlink_to(shared)
    return target


def passed(package: str, copy: Path) -> bool:
    """Whether the tests of a package pass in a copy, without those marked slow."""
    words = [sys.executable, "-m", "pytest", "-x", "-q", "-m", "not slow", "-p", "no:cacheprovider", f"tests/{package}"]
    environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(words, cwd=copy, env=environment, capture_output=True, text=True)
    if done.returncode not in (0, 1):
        raise SystemExit(f"pytest ended with {done.returncode}: {done.stdout[-2000:]}{done.stderr[-2000:]}")
    return done.returncode == 0


def noticed(fault: dict[str, str], copy: Path) -> bool:
    """Whether a test of the fault's package fails once the fault is in."""
    path = copy / "motion" / fault["file"]
    whole = path.read_text(encoding="utf-8")
    assert whole.count(fault["old"]) == 1, f"{fault['file']} holds this {whole.count(fault['old'])} times: {fault['old']!r}"
    path.write_text(whole.replace(fault["old"], fault["new"]), encoding="utf-8")
    try:
        return not passed(fault["file"].split("/")[0], copy)
    finally:
        path.write_text(whole, encoding="utf-8")


def main() -> int:
    """Run every fault and print which lived."""
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("--only", default="", help="faults whose file or words hold this")
    parse.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="how many at a time")
    ask = parse.parse_args()
    chosen = [f for f in faults() if ask.only in f["file"] or ask.only in f["what"]]
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        free: SimpleQueue[Path] = SimpleQueue()
        for k in range(ask.jobs):
            (Path(folder) / str(k)).mkdir()
            free.put(copied(Path(folder) / str(k)))

        def one(fault: dict[str, str]) -> bool:
            copy = free.get()
            try:
                return noticed(fault, copy)
            finally:
                free.put(copy)

        copy = free.get()
        failing = [package for package in sorted({f["file"].split("/")[0] for f in chosen}) if not passed(package, copy)]
        free.put(copy)
        if failing:
            print(f"Without any fault, tests fail already: {', '.join(failing)}")
            return 2
        found = []
        with ThreadPoolExecutor(ask.jobs) as pool:
            for fault, seen in zip(chosen, pool.map(one, chosen), strict=True):
                print(f"{'noticed' if seen else 'LIVED  '}  {fault['file']:28} {fault['what']}", flush=True)
                found.append(seen)
    share = sum(found) / len(found)
    print(f"{sum(found)} of {len(found)} noticed ({share:.0%}), in {time.monotonic() - began:.0f} s")
    return 0 if share >= LEAST_NOTICED else 1


if __name__ == "__main__":
    sys.exit(main())
