"""What is said of true joints danced to true beats: the planted faults, each once, and nothing else."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from true_clips import true_clip, true_landmarks, true_review

from motion.base.types import Flag, Landmarks, Measurement, Pairing, Steps, Timing


@cache
def dancer(name: str) -> Measurement:
    (one,) = true_review(true_clip(name)).dancers
    return one


def flags(one: Measurement) -> list[tuple[str, float | None, float | None]]:
    assert isinstance(one.flags, tuple)
    return [(f.kind, f.count, f.until_count) for f in one.flags]


def test_every_planted_fault_is_told_once_and_nothing_else() -> None:
    planted = [(e["count"], e["fault"]) for e in true_clip("quarter-rock").told["intended"] if e["fault"]]
    assert planted == [(30, "late"), *((c, "mirror") for c in (33, 34, 35, 36)), (48, "instead")]
    one = dancer("quarter-rock")
    assert flags(one) == [("late", 30.0, None), ("danced in mirror", 33.0, 36.0), ("other step", 48.0, None)]
    assert [f.named for f in one.flags] == [True, True, False]  # type: ignore[union-attr]
    planted = [(e["count"], e["fault"]) for e in true_clip("recovers").told["intended"] if e["fault"]]
    assert planted == [(18, "late"), (35, "late")]
    assert flags(dancer("recovers")) == [("late", 18.0, None), ("late", 35.0, None)]


@pytest.mark.parametrize("name", ["quarter-rock", "recovers"])
def test_every_landing_has_its_count_its_foot_and_its_offset(name: str) -> None:
    clip, one = true_clip(name), dancer(name)
    assert isinstance(one.steps, Steps)
    assert isinstance(one.pairing, Pairing)
    landed = [k for k, kind in enumerate(one.steps.kinds) if kind != "shift"]
    assert len(landed) == len(clip.landings)
    off = []
    for k, event in zip(landed, clip.landings, strict=True):
        assert one.pairing.counts[k] == event["count"]
        assert one.steps.right[k] == (event["foot"] == "R")
        off.append(one.pairing.offset_ms[k] - event["offset_ms"])
    assert abs(float(np.median(off))) < 6.0
    assert float(np.percentile(np.abs(off), 90)) < 25.0
    assert all(i >= len(clip.landings) for i in one.pairing.missed)  # beyond the last count that was danced


def test_steps_and_touches_are_called_what_they_were() -> None:
    clip, one = true_clip("quarter-rock"), dancer("quarter-rock")
    assert isinstance(one.steps, Steps)
    right = [
        kind == ("step" if event["kind"] == "weight" else "touch")
        for kind, event in zip(one.steps.kinds, clip.landings, strict=True)
        if event["fault"] == ""
    ]
    assert np.mean(right) >= 0.97


def test_recovers_are_shifts_on_their_counts() -> None:
    clip, one = true_clip("recovers"), dancer("recovers")
    assert isinstance(one.steps, Steps)
    assert isinstance(one.pairing, Pairing)
    shifts = [(one.pairing.counts[k], bool(one.steps.right[k])) for k, kind in enumerate(one.steps.kinds) if kind == "shift"]
    assert shifts == [(e["count"], e["foot"] == "R") for e in clip.told["events"] if e["kind"] == "shift"]


@pytest.mark.parametrize("name", ["quarter-rock", "recovers"])
def test_the_usual_timing_is_the_true_one(name: str) -> None:
    clip, timing = true_clip(name), dancer(name).timing
    assert isinstance(timing, Timing)
    true_ms = np.array([e["offset_ms"] for e in clip.landings])
    assert timing.n == len(clip.landings)
    assert timing.bias_ms == pytest.approx(float(np.median(true_ms)), abs=6.0)
    assert timing.steadiness_ms == pytest.approx(float(np.std(true_ms, ddof=1)), abs=6.0)


def test_a_shifted_clock_shifts_no_finding() -> None:
    """All times moved by a quarter of a second with the beats: the same findings, a quarter of a second later."""
    clip = true_clip("recovers")
    marks = true_landmarks(clip)
    later = type(clip)(
        clip.times_s + 0.25, clip.space_m, clip.image_px, {**clip.told, "beats": [t + 0.25 for t in clip.told["beats"]]}
    )
    moved = true_review(later, Landmarks(marks.times_s + 0.25, marks.ids, marks.image_px, marks.visibility, marks.unsure)).dancers[
        0
    ]
    assert flags(moved) == flags(dancer("recovers"))
    for a, b in zip(moved.flags, dancer("recovers").flags, strict=True):  # type: ignore[arg-type]
        assert isinstance(a, Flag)
        assert a.time_s - b.time_s == pytest.approx(0.25, abs=0.02)
