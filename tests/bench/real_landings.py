"""Landings of real people against what is known of them, without a sheet; run by hand:

    python tests/bench/real_landings.py LABELS [WALKS]

LABELS holds stored reviews of real clips with landings labelled by eye, and their scorer (`score_real.py`); a copy of each is judged by
the code as it is now. WALKS holds laboratories' walks (see tests/real_walks.py), seen from eight sides. Nothing is fitted on either: half
of the labels may be looked at to find out what is wrong, the other half is there to be scored only.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from real_walks import SIZE_PX, WALKS, seen_by_phone  # noqa: E402

from motion.base.options import JudgeOptions  # noqa: E402
from motion.base.types import Candidates  # noqa: E402
from motion.body.contact_network import load_weights  # noqa: E402
from motion.body.foot_contacts import find_candidates  # noqa: E402
from motion.desk.review_clip import judge_folder  # noqa: E402
from motion.review.settings import SETTINGS  # noqa: E402

LOOK = ("gill-c", "gill-l", "gill-r", "wpet", "aai")
CHECK = ("vibeold-a", "vibeold-a2", "vibeold-b", "vibeold-b2", "jk-dance", "jk-walk", "lsc-run", "kunkun", "jv", "cake-d")
HEAD = (
    "labels | found | invented | recall | precision | F1 | bias ms | MAD ms | 9 in 10 ms | in 2 sigma (with ruler) | weight right | "
    "L/R mixed"
)


def judged(labels: Path, work: Path) -> None:
    """A folder a name below `work`, with the review that is scored."""
    done: dict[str, Path] = {}
    for name, known in json.loads((labels / "clips.json").read_text(encoding="utf-8")).items():
        clip = Path(known["clip"]).stem
        if clip not in done:
            done[clip] = work / f"_{clip}"
            shutil.copytree(labels / "reviews" / clip, done[clip])
            for path in (done[clip], *done[clip].iterdir()):
                path.chmod(0o755 if path.is_dir() else 0o644)
            judge_folder(done[clip], JudgeOptions(bpm=120.0, first_count_s=0.0))
        shutil.copytree(done[clip], work / name)


def told(rows: list[dict[str, Any]], score: Any) -> None:
    """Clip by clip: what was hit, missed and invented."""
    for row in rows:
        print(f"| {row['name']} | {score.figures([row])}")
        for e, f in row["hits"]:
            print(
                f"    hit {e['foot']} {e['t']:.2f} {1000 * (f['t'] - e['t']):+.0f} ms, sigma {1000 * f['sigma']:.0f}, {f['kind']}"
            )
        for e in row["missed"]:
            print(f"    missed {e['foot']} {e['t']:.2f}")
        for f in row["extra"]:
            print(f"    invented {f['foot']} {f['t']:.2f} {f['kind']} sigma {1000 * f['sigma']:.0f}")


def scorer(path: Path) -> Any:
    spec = importlib.util.spec_from_file_location("score_real", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def walks(folder: Path) -> None:
    """Contacts of laboratories' walks within 250 ms, by view: found of how many, how late."""
    print("\n| view deg | found | of | late ms (median) | from | to |\n| ---: | ---: | ---: | ---: | ---: | ---: |")
    for view in range(0, 360, 45):
        late, due = [], 0
        for read in WALKS.values():
            times_s, points, strikes = read(folder)
            pictures = np.arange(times_s[0], times_s[-1], 1 / 30)
            marks = seen_by_phone(times_s, points, pictures, view_deg=float(view), noise_px=1.5)
            found = find_candidates(marks, 0, SIZE_PX, load_weights(), SETTINGS.body)
            assert isinstance(found, Candidates)
            for at, side in strikes:
                if not pictures[0] + 0.3 < at < pictures[-1] - 0.3:
                    continue
                due += 1
                own = found.times_s[(found.right == (side == "right")) & ~found.shift & (found.strength >= 0.5)]
                gap = 1000 * (own - at)
                if len(gap) and np.abs(gap).min() < 250:
                    late.append(float(gap[np.abs(gap).argmin()]))
        print(f"| {view} | {len(late)} | {due} | {np.median(late):+.0f} | {min(late):+.0f} | {max(late):+.0f} |")


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parse.add_argument("labels", type=Path)
    parse.add_argument("walks", type=Path, nargs="?")
    parse.add_argument("--half", choices=("look", "check", "both"), default="both")
    parse.add_argument("--verbose", action="store_true", help="every clip, and every landing missed or invented")
    ask = parse.parse_args()
    score = scorer(ask.labels / "score_real.py")
    with tempfile.TemporaryDirectory() as folder:
        judged(ask.labels, Path(folder))
        print(f"| half | {HEAD} |\n| --- |" + " ---: |" * 12)
        for half, names in (("look", LOOK), ("check", CHECK), ("both", LOOK + CHECK)):
            if ask.half not in (half, "both"):
                continue
            rows = [score.score(name, ask.labels, Path(folder) / name, 0.07) for name in names]
            print(f"| {half} | {score.figures(rows)}")
            if ask.verbose and half != "both":
                told(rows, score)
    if ask.walks:
        walks(ask.walks)


if __name__ == "__main__":
    main()
