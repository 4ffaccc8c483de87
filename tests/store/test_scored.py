"""A review made from a clip's truth is read by the scorer as a perfect review: folder and scorer mean the same by every field."""

from __future__ import annotations

import gzip
import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from motion.base.types import (
    Angles,
    BeatGrid,
    Clip,
    JointRange,
    Landmarks,
    Measurement,
    NotMeasured,
    Pairing,
    Review,
    Steps,
    Timing,
    Track,
)
from motion.store.folder import write_review

SHARED = Path(__file__).resolve().parents[2].parent / "shared"
SCORER, CLIPS = SHARED / "score" / "score.py", SHARED / "clips"
KINDS = {"weight": "step", "shift": "shift"}
JOINT_KEYS = ("left_hip", "right_hip", "left_knee", "right_knee", "left_ankle", "right_ankle")


def scorer() -> Any:
    spec = importlib.util.spec_from_file_location("truth_scorer", SCORER)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def perfect_review(score: Any, path: Path) -> Review:
    """What a review without any error would hold, from the truth file."""
    with gzip.open(path, "rt") as file:
        told = json.load(file)
    truth = score.Truth(path)
    dancers = len(truth.dancers)
    # Right is right on the dancer's body, and dancers are numbered from the picture's left.
    order = np.argsort(truth.pelvis[:, 0, 0])
    people = []
    for number, j in enumerate(order, start=1):
        # Kicks and hitches come down nowhere, so a review does not list them.
        events = [e for e in truth.dancers[j]["events"] if e["kind"] in (*score.LANDS, "shift")]
        events.sort(key=lambda e: e["t"])
        steps = Steps(
            times_s=np.array([e["t"] for e in events]),
            sigma_ms=np.full(len(events), 1.0),
            right=np.array([e["foot"] == "R" for e in events]),
            kinds=tuple(KINDS.get(e["kind"], "touch") for e in events),
            strength=np.ones(len(events)),
            place=np.zeros((len(events), 2)),
        )
        offset_ms = np.array([float(e["offset_ms"]) for e in events])
        lands = np.array([e["kind"] in score.LANDS and e["fault"] in ("", "late", "early") for e in events])
        middle = float(np.median(offset_ms[lands]))
        angles = score.truth_angles(truth, j)
        flexion = np.column_stack([angles[key] for key in JOINT_KEYS])
        low, high = np.percentile(flexion[truth.inside[j]], [1, 99], axis=0)
        ranges = tuple(
            JointRange(key.split("_")[1], key.split("_")[0], low[k], high[k], 1.0, len(truth.t), 0.0)  # type: ignore[arg-type]
            for k, key in enumerate(JOINT_KEYS)
        )
        people.append(
            Measurement(
                track=Track(number, None, truth.t, truth.pelvis[j], truth.tall[j]),
                steps=steps,
                pairing=Pairing(np.array([float(e["count"]) for e in events]), offset_ms, np.arange(len(events)), ()),
                timing=Timing(int(lands.sum()), middle, (middle - 1, middle + 1), 10.0, 0.99, 0.0),
                flags=NotMeasured("flags", "not part of this check"),
                angles=Angles(truth.t, flexion, np.full(flexion.shape, 1.0), np.zeros(len(truth.t)), ("standing",) * 6),
                ranges=ranges,
            )
        )
    section = 8
    counts = (np.arange(len(truth.beats)) - truth.one) % section + 1
    clip = Clip(told["name"], "0" * 64, truth.t, told["size"][0], told["size"][1], float(truth.t[-1]), has_sound=True)
    landmarks = Landmarks(
        truth.t,
        np.arange(1, dancers + 1),
        np.full((len(truth.t), dancers, 33, 2), np.nan),
        np.zeros((len(truth.t), dancers, 33)),
    )
    grid = BeatGrid("sound", truth.beats, counts, told["bpm"], 0.5, 1.0, float(truth.beats[truth.one]))
    return Review(clip, ((0.0, float(truth.t[-1])),), landmarks, grid, None, tuple(people), {"made_by": "truth"})


@pytest.mark.skipif(not SCORER.exists(), reason="the clips with truth and their scorer are not beside this checkout")
@pytest.mark.parametrize("name", ["solo-front", "recovers"])
def test_a_perfect_review_scores_perfectly(tmp_path: Path, name: str) -> None:
    score = scorer()
    truth_path = CLIPS / f"{name}.json.gz"
    write_review(tmp_path / name, perfect_review(score, truth_path), extra_arrays={}, report_html=None)
    ran = subprocess.run([sys.executable, SCORER, tmp_path / name, truth_path, "--json"], capture_output=True, check=True)
    got = json.loads(ran.stdout)
    exact = {
        "dancers.coverage_min": 1.0, "dancers.ghosts": 0, "dancers.identity_switches": 0, "steps.f1": 1.0, "steps.count_right": 1.0,
        "steps.weight_or_touch_right": 1.0, "steps.within_2_sigma": 1.0, "beats.f": 1.0, "angles.knee_shown_share": 1.0,
    }  # fmt: skip
    assert {key: got[key] for key in exact} == exact
    assert got["dancers.found"] == got["dancers.true"]
    assert got["steps.shifts_recall"] in (1.0, None)
    # What is left is rounding: 0.1 ms of a landing or a beat, 0.05 of a millisecond or a degree elsewhere.
    timing = ("timing.step_offset_error_median_ms", "timing.stated_bias_error_max_ms")
    for key in ("steps.bias_ms", "steps.p90_ms", "beats.bias_ms", *timing):
        assert abs(got[key]) <= 0.11, key
    assert abs(got["beats.first_count_off_beats"]) < 1e-3
    for joint in ("hip", "knee", "ankle"):
        assert got[f"angles.{joint}_mae_deg"] <= 0.06
        assert got[f"angles.{joint}_range_error_deg"] <= 0.11
        assert got[f"angles.{joint}_within_2_sigma"] == 1.0
