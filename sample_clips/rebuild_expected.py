"""Rebuild NAME.expected.json beside each sample clip from what is known of it.

    python sample_clips/rebuild_expected.py TRUTH_FOLDER

TRUTH_FOLDER holds NAME.json.gz for every clip: where each joint centre, landing and beat of the drawn dancers really was. It is not
needed for using the clips, only for making these files again. Needs numpy. The tolerances below are how far a careful review may lie
from the truth; each says why.
"""

from __future__ import annotations

import gzip
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).resolve().parent
#: Clip, dance sheet, options of the command beside the sheet.
CLIPS: tuple[tuple[str, str | None, tuple[str, ...]], ...] = (
    ("practice-solo", "lantern.csv", ()),
    ("demo-two-walls", "lantern.csv", ()),
    ("class-of-four", "porchlight.csv", ()),
    ("warm-up-range", None, ("--range-check",)),
)
TEMPO_BPM = 0.5  # the drawn music is steady, and forty beats settle its tempo far better
FIRST_COUNT_S = 0.03  # a beat is found to a few ms; the next beat would be half a second off
USUAL_MS = 15.0  # the accuracy that is promised for a dancer's usual place against the beat
LANDINGS_SHARE = 0.1  # of the landings may be passed over or counted twice
RANGE_DEG = {"hip": 10.0, "knee": 10.0, "ankle": 12.0}  # twice the mean error of one reading, since a range is a difference of two
LANDING_KINDS = ("weight", "touch", "heel", "toe")
#: What a review may call each planted fault.
CALLED = {
    "late": ["late"],
    "early": ["early"],
    "miss": ["missed"],
    "freeze": ["stood still", "missed"],
    "extra": ["extra"],
    "mirror": ["danced in mirror", "other foot", "other step"],
    "instead": ["other step", "other foot"],
}
SIDES = {"L": "left", "R": "right"}


def expected(truth: dict[str, Any], sheet: str | None, options: tuple[str, ...]) -> dict[str, Any]:
    """What a review of the clip should say, each value with its tolerance."""
    times = truth["frame_times"]
    out: dict[str, Any] = {
        "clip": f"{truth['name']}.mp4",
        "sheet": sheet,
        "options": list(options),
        "pictures": len(times),
        "last_picture_s": round(times[-1] - times[0], 4),
        "width_px": truth["size"][0],
        "height_px": truth["size"][1],
        "has_sound": not truth["mute"],
    }
    if not truth["mute"]:
        gaps = np.diff(truth["beats"])
        out["counts"] = truth["n_counts"]
        out["tempo_bpm"] = near(60 / float(np.median(gaps)), TEMPO_BPM, 2)
        out["first_count_s"] = near(truth["beats"][truth["first_count_beat"]], FIRST_COUNT_S, 4)
    from_left = sorted(range(len(truth["dancers"])), key=lambda d: truth["frames"][0][d]["pelvis"][3])
    out["dancers"] = [dancer(truth, d, number) for number, d in enumerate(from_left, 1)]
    return out


def dancer(truth: dict[str, Any], d: int, number: int) -> dict[str, Any]:
    """One dancer, numbered from the picture's left edge as a review numbers them."""
    out: dict[str, Any] = {"id": number}
    events = truth["dancers"][d]["events"]
    landings = [e for e in events if e["kind"] in LANDING_KINDS]
    if landings:
        out["landings"] = near(len(landings), max(2, round(LANDINGS_SHARE * len(landings))), 0)
        out["usual_ms"] = near(float(np.median([e["offset_ms"] for e in landings])), USUAL_MS, 1)
        out["faults"] = faults(truth["dancers"][d])
    if truth["range"]:
        out["ranges"] = ranges(truth, d)
    return out


def faults(one: dict[str, Any]) -> list[dict[str, Any]]:
    """The planted faults in order of count; neighbouring ones of a kind are one."""
    marks = {(e["count"], e["fault"]) for e in (*one["events"], *one["intended"]) if e["fault"]}
    out: list[dict[str, Any]] = []
    for count, kind in sorted(marks):
        if out and out[-1]["planted"] == kind and count - out[-1]["until_count"] <= 1:
            out[-1]["until_count"] = count
        else:
            out.append({"count": count, "until_count": count, "planted": kind, "called": CALLED[kind]})
    return out


def ranges(truth: dict[str, Any], d: int) -> list[dict[str, Any]]:
    """Low and high (1st and 99th percentile) of every joint, degrees from quiet standing (the first second)."""
    times = np.array(truth["frame_times"])
    out = []
    for side, letter in (("left", "L"), ("right", "R")):
        for joint, values in flexion_deg(truth, d, letter).items():
            low, high = np.percentile(values - np.median(values[times - times[0] < 1.0]), (1, 99))
            tolerance = RANGE_DEG[joint]
            out.append({"joint": joint, "side": side, "low_deg": near(low, tolerance, 1), "high_deg": near(high, tolerance, 1)})
    return out


def flexion_deg(truth: dict[str, Any], d: int, letter: str) -> dict[str, np.ndarray]:
    """Flexion (F,) of one leg's joints from the joint centres, degrees, not yet from standing.

    Hip: thigh against trunk in the dancer's own sagittal plane, extension negative. Knee and ankle: from the angle between their two
    segments; more is bent (ankle: toes towards the shin).
    """

    def at(name: str) -> np.ndarray:
        return np.array([row[d][name][:3] for row in truth["frames"]], dtype=float)

    across = unit(at("hipL") - at("hipR"))
    trunk_down = sagittal((at("hipL") + at("hipR") - at("shoulderL") - at("shoulderR")) / 2, across)
    hip, knee, ankle, toe = (at(name + letter) for name in ("hip", "knee", "ankle", "toe"))
    thigh = sagittal(knee - hip, across)
    forward = np.sign((thigh * np.cross(trunk_down, across)).sum(1))
    return {
        "hip": forward * between_deg(thigh, trunk_down),
        "knee": 180.0 - between_deg(hip - knee, ankle - knee),
        "ankle": -between_deg(knee - ankle, toe - ankle),
    }


def unit(v: np.ndarray) -> np.ndarray:
    return np.asarray(v / np.linalg.norm(v, axis=1, keepdims=True))


def sagittal(v: np.ndarray, across: np.ndarray) -> np.ndarray:
    """What is left of v (F, 3) without its part from side to side."""
    return np.asarray(v - (v * across).sum(1, keepdims=True) * across)


def between_deg(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return np.asarray(np.degrees(np.arccos(np.clip((unit(a) * unit(b)).sum(1), -1.0, 1.0))))


def near(value: float, tolerance: float, digits: int) -> dict[str, float]:
    return {"value": round(float(value), digits) + 0.0, "tolerance": tolerance}


def main(folder: Path) -> None:
    for name, sheet, options in CLIPS:
        with gzip.open(folder / f"{name}.json.gz", "rt", encoding="utf-8") as file:
            truth = json.load(file)
        text = json.dumps(expected(truth, sheet, options), indent=1, ensure_ascii=False) + "\n"
        (HERE / f"{name}.expected.json").write_text(text, encoding="utf-8")
        print(f"{name}.expected.json")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]))
