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
from motion.base.types import Candidates, Landmarks  # noqa: E402
from motion.body.contact_network import load_weights  # noqa: E402
from motion.body.foot_contacts import find_candidates  # noqa: E402
from motion.body.leg_swaps import fix_leg_swaps  # noqa: E402
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


def reliable(labels: Path, names: tuple[str, ...], score: Any) -> None:
    """Of everything that may be a landing, by its strength: the share that is one of the sure labels, within 70 ms on its foot. What lies
    near an unsure label, or outside the frames that were labelled, counts neither way."""
    clips = json.loads((labels / "clips.json").read_text(encoding="utf-8"))
    rows: list[tuple[float, bool]] = []
    for name in names:
        folder = labels / "reviews" / Path(clips[name]["clip"]).stem
        told = json.loads((folder / "review.json").read_text(encoding="utf-8"))["clip"]
        with np.load(folder / "landmarks.npz") as z:
            marks = Landmarks(z["times_s"], z["ids"], z["image_px"].astype(np.float64), z["visibility"].astype(np.float64))
        size_px = (told["width_px"], told["height_px"])
        mended = fix_leg_swaps(marks, SETTINGS.body)
        found = find_candidates(mended, clips[name]["column"], size_px, load_weights(), SETTINGS.body)
        if not isinstance(found, Candidates):
            continue
        times_s, events = score.labels(labels, name)
        spans = [(times_s[a], times_s[min(b, len(times_s) - 1)]) for a, b in clips[name]["windows"]]
        inside = [any(a <= t <= b for a, b in spans) for t in found.times_s]
        own = [
            {"t": float(t), "foot": "R" if r else "L", "strength": float(s)}
            for t, r, s, i, w in zip(found.times_s, found.right, found.strength, inside, found.shift, strict=True)
            if i and not w
        ]
        sure = [e for e in events if e["sure"] and any(a <= e["t"] <= b for a, b in spans)]
        hit = {j for _, j in score.match(sure, own, 0.07)}
        for j, one in enumerate(own):
            near = any(abs(one["t"] - e["t"]) < score.NEAR_UNSURE_S and one["foot"] == e["foot"] for e in events if e not in sure)
            if j in hit or not near:
                rows.append((one["strength"], j in hit))
    strength, there = np.array([s for s, _ in rows]), np.array([t for _, t in rows])
    print("\n| strength | landings | told on average | are there |\n| --- | ---: | ---: | ---: |")
    for low, high in ((0.0, 0.1), (0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.9), (0.9, 1.01)):
        part = (strength >= low) & (strength < high)
        if part.any():
            print(f"| {low:.1f} to {min(high, 1.0):.1f} | {part.sum()} | {strength[part].mean():.2f} | {there[part].mean():.2f} |")


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
        reliable(ask.labels, {"look": LOOK, "check": CHECK, "both": LOOK + CHECK}[ask.half], score)
    if ask.walks:
        walks(ask.walks)


if __name__ == "__main__":
    main()
