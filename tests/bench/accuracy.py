"""How well reviews agree with clips whose truth is known, as a table. Run by hand:

    python tests/bench/accuracy.py REVIEWS CLIPS [--quality fine|fast] [--folds FOLDER] [--judge] [--score score.py] [--sheets FOLDER]

CLIPS holds NAME.mp4 and NAME.json.gz. A clip without REVIEWS/NAME/review.json is reviewed first, through the command, with the sheet
that its truth names (SHEETS, else ../dances beside CLIPS, else sample_clips) or as a range check. --judge judges stored reviews again
(in a copy) with the code as it is now. --folds does the same, each dance with contact weights that never saw it (FOLDER/DANCE.npz, as
train_contact.py writes them): the figures for dances that the network was not made on. The scorer is ../score/score.py beside CLIPS.
"""

from __future__ import annotations

import argparse
import gzip
import importlib.util
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from types import ModuleType
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from motion.base.child import child_environment  # noqa: E402
from motion.base.options import JudgeOptions  # noqa: E402
from motion.body.contact_network import weights_in  # noqa: E402
from motion.desk.review_clip import judge_folder  # noqa: E402

#: Heading, figure of the scorer, how it is written.
COLUMNS = (
    ("dancers", "dancers.found", "{:.0f}"),
    ("seen", "dancers.coverage_min", "{:.2f}"),
    ("mixed up", "dancers.identity_switches", "{:.0f}"),
    ("landings F", "steps.f1", "{:.2f}"),
    ("bias ms", "steps.bias_ms", "{:+.0f}"),
    ("typical ms", "steps.mad_ms", "{:.0f}"),
    ("9 in 10 ms", "steps.p90_ms", "{:.0f}"),
    ("in 2 sigma", "steps.within_2_sigma", "{:.2f}"),
    ("weight right", "steps.weight_or_touch_right", "{:.2f}"),
    ("count right", "steps.count_right", "{:.2f}"),
    ("shifts", "steps.shifts_recall", "{:.2f}"),
    ("beats F", "beats.f", "{:.2f}"),
    ("beat bias ms", "beats.bias_ms", "{:+.0f}"),
    ("count 1 off beats", "beats.first_count_off_beats", "{:+.2f}"),
    ("offset ms", "timing.step_offset_error_median_ms", "{:.0f}"),
    ("usual ms", "timing.stated_bias_error_max_ms", "{:.0f}"),
    ("faults", "flags.wanted", "{:.0f}"),
    ("told", "flags.recall", "{:.2f}"),
    ("false", "flags.false", "{:.0f}"),
    ("named", "named.given", "{:.0f}"),
    ("named false", "named.false", "{:.0f}"),
    ("knee deg", "angles.knee_mae_deg", "{:.1f}"),
    ("hip deg", "angles.hip_mae_deg", "{:.1f}"),
    ("ankle deg", "angles.ankle_mae_deg", "{:.1f}"),
    ("knee shown", "angles.knee_shown_share", "{:.2f}"),
)  # fmt: skip


def scorer(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location("score", path)
    if spec is None or spec.loader is None or not path.is_file():
        sys.exit(f"There is no scorer {path}; name it with --score")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def truth_of(path: Path) -> dict[str, Any]:
    with gzip.open(path, "rt", encoding="utf-8") as file:
        return dict(json.load(file))


def review(clip: Path, out: Path, truth: dict[str, Any], sheets: list[Path], quality: str) -> None:
    """Review one clip through the command; what it says goes to standard error."""
    words = [sys.executable, "-P", "-m", "motion", "review", str(clip), "--out", str(out), "--quality", quality]
    if truth["range"]:
        words.append("--range-check")
    else:
        named = [folder / f"{truth['dance']}.csv" for folder in sheets]
        words += ["--dance", str(next(sheet for sheet in named if sheet.is_file()))]
    out.parent.mkdir(parents=True, exist_ok=True)
    subprocess.run(words, env=child_environment(), stdin=subprocess.DEVNULL, stdout=sys.stderr, check=True)


def judged_again(folder: Path, truth: dict[str, Any], folds: Path | None, work: Path) -> Path:
    """A copy of a stored review, judged by the code as it is now; with contact weights that never saw its dance where folds are given."""
    copy = work / folder.name
    shutil.copytree(folder, copy)
    weights = None
    if folds and not truth["range"]:
        with (folds / f"{truth['dance']}.npz").open("rb") as file:
            weights = weights_in(file)
    judge_folder(copy, JudgeOptions(range_check=truth["range"]), weights=weights)
    return copy


def named_only(score: ModuleType, folder: Path, truth: Path, work: Path) -> dict[str, Any]:
    """How many findings were put to a person, and how many of those are none, by the same scorer."""
    copy = work / f"{folder.name}-named"
    shutil.copytree(folder, copy)
    stored = copy / "review.json"
    review = json.loads(stored.read_text(encoding="utf-8"))
    for dancer in review["dancers"]:
        if isinstance(dancer["flags"], list):
            dancer["flags"] = [flag for flag in dancer["flags"] if flag["named"]]
    stored.write_text(json.dumps(review), encoding="utf-8")
    result = score.score(copy, truth)
    shutil.rmtree(copy)
    return {"named.given": result.get("flags.given"), "named.false": result.get("flags.false")}


def cell(value: Any, form: str) -> str:
    return "–" if value is None else form.format(value)


def row(name: str, result: dict[str, Any]) -> str:
    return f"| {name} | " + " | ".join(cell(result.get(key), form) for _, key, form in COLUMNS) + " |"


def pooled(results: list[dict[str, Any]]) -> list[str]:
    """Faults over all clips: those told, those told by a fitting name, false ones a dancer and minute; of the findings put to a person,
    those that are true."""

    def total(key: str) -> float:
        return float(sum(r.get(key) or 0 for r in results))

    wanted, minutes = total("flags.wanted"), total("flags.minutes")
    if not wanted or not minutes:
        return []
    missed = sum(len(r.get("flags.missed") or []) for r in results)
    named = sum((r.get("flags.kind_right") or 0) * r["flags.wanted"] for r in results if r.get("flags.wanted"))
    return [
        "",
        f"{wanted:.0f} planted faults: {(wanted - missed) / wanted:.0%} told, {named / wanted:.0%} by a fitting name; "
        f"{total('flags.false') / minutes:.2f} false findings a dancer and minute.",
        f"{total('named.given'):.0f} findings put to a person, {total('named.given') - total('named.false'):.0f} of them true.",
    ]


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parse.add_argument("reviews", type=Path)
    parse.add_argument("clips", type=Path)
    parse.add_argument("--quality", choices=("fine", "fast"), default="fine")
    parse.add_argument("--folds", type=Path)
    parse.add_argument("--judge", action="store_true")
    parse.add_argument("--score", type=Path)
    parse.add_argument("--sheets", type=Path)
    ask = parse.parse_args()
    score = scorer(ask.score or ask.clips.resolve().parent / "score" / "score.py")
    sheets = [*([ask.sheets] if ask.sheets else []), ask.clips.resolve().parent / "dances", ROOT / "sample_clips"]
    print("| clip | " + " | ".join(heading for heading, _, _ in COLUMNS) + " |")
    print("| --- |" + " ---: |" * len(COLUMNS))
    results = []
    with tempfile.TemporaryDirectory() as work:
        for path in sorted(ask.clips.glob("*.json.gz")):
            name, truth = path.name.removesuffix(".json.gz"), truth_of(path)
            folder = ask.reviews / name
            if not (folder / "review.json").is_file():
                review(ask.clips / f"{name}.mp4", folder, truth, sheets, ask.quality)
            if ask.judge or ask.folds:
                folder = judged_again(folder, truth, ask.folds, Path(work))
            result = score.score(folder, path) | ({} if truth["range"] else named_only(score, folder, path, Path(work)))
            results.append(result)
            print(row(name, result), flush=True)
    print("\n".join(pooled(results)))


if __name__ == "__main__":
    main()
