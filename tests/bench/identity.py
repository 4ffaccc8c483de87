"""How well dancers are told apart, by a reference library's definitions. Run by hand; needs the package trackeval:

    python tests/bench/identity.py REVIEWS CLIPS [NAME ...]

REVIEWS holds NAME/review.json, CLIPS their truth NAME.json.gz. Prints HOTA with its two parts (Luiten et al. 2021, International
Journal of Computer Vision 129:548) and IDF1 (Ristani et al. 2016). Bodies are points here, so two are alike by how near their hips lie:
1 on the spot, 0 half a body height away. Only pictures in which a dancer is wholly inside count for that dancer.
"""

from __future__ import annotations

import argparse
import gzip
import json
from pathlib import Path
from typing import Any

import numpy as np
from trackeval.metrics import HOTA, Identity

REACH_BODIES = 0.5


def sequence(review: dict[str, Any], truth: dict[str, Any]) -> dict[str, Any]:
    """The two sets of tracks as trackeval wants them: ids and likeness, picture by picture."""
    times = np.array(truth["frame_times"])
    frames, size = truth["frames"], np.array(truth["size"])
    found = []
    for dancer in review["dancers"]:
        track = dancer["track"]
        at, place = np.array(track["times_s"]), np.array(track["pelvis_px"])
        inside = (times >= at[0] - 0.02) & (times <= at[-1] + 0.02)
        x = np.stack([np.interp(times, at, place[:, k]) for k in (0, 1)], 1)
        found.append(np.where(inside[:, None], x, np.nan))
    true_ids, found_ids, alike = [], [], []
    for k, row in enumerate(frames):
        ends = np.array([[d[n][3:5] for n in ("head", "ankleL", "ankleR")] for d in row])
        whole = ((ends > 0) & (ends < size)).all((1, 2))
        tall = (ends[:, 1:, 1].max(1) - ends[:, 0, 1]) * 1.12
        hips = np.array([d["pelvis"][3:5] for d in row])
        here = np.array([f[k] for f in found]).reshape(-1, 2)
        shown = np.flatnonzero(np.isfinite(here[:, 0]))
        away = np.hypot(*(hips[:, None] - here[None, shown]).transpose(2, 0, 1)) / (REACH_BODIES * tall[:, None])
        # somebody partly outside counts neither for nor against: their nearest track is taken out as well
        aside = {int(np.argmin(away[j])) for j in np.flatnonzero(~whole) if len(shown) and away[j].min() < 1}
        keep = [i for i in range(len(shown)) if i not in aside]
        true_ids.append(np.flatnonzero(whole))
        found_ids.append(shown[keep])
        alike.append(np.clip(1 - away[whole][:, keep], 0, 1))
    return {
        "num_timesteps": len(frames),
        "num_gt_ids": len(frames[0]),
        "num_tracker_ids": len(found),
        "num_gt_dets": sum(map(len, true_ids)),
        "num_tracker_dets": sum(map(len, found_ids)),
        "gt_ids": true_ids,
        "tracker_ids": found_ids,
        "similarity_scores": alike,
    }


def main() -> None:
    parse = argparse.ArgumentParser()
    parse.add_argument("reviews", type=Path)
    parse.add_argument("clips", type=Path)
    parse.add_argument("names", nargs="*")
    ask = parse.parse_args()
    print("| clip | dancers | HOTA | detection | association | IDF1 |\n| --- | --- | --- | --- | --- | --- |")
    for name in ask.names or sorted(p.name for p in ask.reviews.iterdir() if (p / "review.json").exists()):
        path = ask.clips / f"{name}.json.gz"
        if not path.exists():
            continue
        with gzip.open(path, "rt") as file:
            truth = json.load(file)
        data = sequence(json.loads((ask.reviews / name / "review.json").read_text(encoding="utf-8")), truth)
        hota, identity = HOTA().eval_sequence(data), Identity({"THRESHOLD": 0.5, "PRINT_CONFIG": False}).eval_sequence(data)
        parts = " | ".join(f"{np.mean(hota[k]):.3f}" for k in ("HOTA", "DetA", "AssA"))
        print(f"| {name} | {data['num_gt_ids']} | {parts} | {identity['IDF1']:.3f} |")


if __name__ == "__main__":
    main()
