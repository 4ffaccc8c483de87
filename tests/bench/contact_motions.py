"""Motions that the contact network is made from: real people captured as points in space, and drawn dancers, in one form.

Real: files as `../shared/real-motion/README.md` describes them (CMU Graphics Lab Motion Capture Database and others, see DEVELOPERS.md);
drawn: the truth NAME.json.gz of clips. Needs numpy only.
"""

from __future__ import annotations

import gzip
import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

LANDS = ("weight", "touch", "heel", "toe", "land")
#: How near a foot is to where it comes to rest, and to the floor, once it has touched it, m.
TOUCH_M = 0.02
#: Which of the 33 landmarks is which of a drawn dancer's joints.
DRAWN = {
    11: "shoulderL", 12: "shoulderR", 13: "elbowL", 14: "elbowR", 15: "wristL", 16: "wristR", 23: "hipL", 24: "hipR",
    25: "kneeL", 26: "kneeR", 27: "ankleL", 28: "ankleR", 29: "heelL", 30: "heelR", 31: "toeL", 32: "toeR",
}  # fmt: skip
#: Hands of the left and right side, which lie about the wrists.
HANDS = {17: 15, 19: 15, 21: 15, 18: 16, 20: 16, 22: 16}


@dataclass(eq=False)
class Motion:
    """One person. times_s (T,); points_m (T, 33, 3), z up; events: (time_s, "L" or "R", kind), kind one of LANDS ("land": weight not
    known) or "shift"; unsure: (time_s, foot) of contacts that count neither way; unknown: (from_s, to_s, "L", "R" or "both"), where
    nothing is known; how: what touches first, by event, where known; made: whether contact_made.py put it together."""

    name: str
    group: str
    real: bool
    times_s: np.ndarray
    points_m: np.ndarray
    events: list[tuple[float, str, str]]
    unsure: list[tuple[float, str]] = field(default_factory=list)
    unknown: list[tuple[float, float, str]] = field(default_factory=list)
    how: list[str] = field(default_factory=list)
    made: bool = False

    @property
    def seconds(self) -> float:
        """How long it is."""
        return float(self.times_s[-1] - self.times_s[0])


def real_motion(path: Path) -> Motion:
    """One captured motion; contacts that are sure and have a beginning are its events."""
    with np.load(path) as z:
        meta = dict(line.split(": ", 1) for line in z["meta"].tolist())
        at = {str(name): z["points_m"][:, k].astype(np.float64) for k, name in enumerate(z["names"])}
        times_s = np.arange(len(z["points_m"])) / float(z["rate_hz"])
        foot = ["L" if f == "left" else "R" for f in z["contact_foot"].tolist()]
        good = (z["contact_sure"] & ~z["contact_first"]).tolist()
        start = _first_touch(z, times_s)
        kind, weight = z["contact_kind"].tolist(), z["contact_weight"].tolist()
        unknown = [
            (float(a), float(b), {"left": "L", "right": "R"}.get(str(f), "both"))
            for (a, b), f in zip(z["unknown_s"], z["unknown_foot"], strict=True)
        ]
    events = [(t, f, "weight" if w else "land") for t, f, w, g in zip(start, foot, weight, good, strict=True) if g]
    how = [k for k, g in zip(kind, good, strict=True) if g]
    unsure = [(t, f) for t, f, g in zip(start, foot, good, strict=True) if not g]
    return Motion(path.stem, meta["group"], True, times_s, all_landmarks(at), events, unsure, unknown, how)


def _first_touch(z: Any, times_s: np.ndarray) -> list[float]:
    """When each contact begins, s: from when on heel or ball stays within TOUCH_M of where it comes to rest and of the floor.

    The library's rule waits until a smoothed foot is slow, which is later than a person would say that the foot has come down: by
    16 to 30 ms, and most where it comes down fast. Labels by eye and drawn truth mean the touch. Contacts that begin with the heel stay
    as they are: against laboratories' events the rule is 5 ms early there.
    """
    names, out = [str(n) for n in z["names"]], []
    parts: dict[str, list[np.ndarray]] = {
        side: [z["points_m"][:, names.index(f"{side}_heel")].astype(np.float64), z["ball_m"][:, k].astype(np.float64)]
        for k, side in enumerate(("left", "right"))
    }
    step_s = float(times_s[1] - times_s[0])
    for start, foot, kind in zip(
        z["contact_start_s"].tolist(), z["contact_foot"].tolist(), z["contact_kind"].tolist(), strict=True
    ):
        if kind == "heel":
            out.append(start)
            continue
        at = np.arange(start - 0.12, start + 0.0001, 0.002)
        near = np.zeros(len(at), bool)
        for part in parts[foot]:
            speed = np.linalg.norm(np.gradient(part, step_s, axis=0), axis=1)
            slow = speed < 0.35
            floor = np.quantile(part[slow, 2] if slow.sum() > 20 else part[:, 2], 0.10)
            way = np.stack([np.interp(at, times_s, part[:, k]) for k in range(3)], 1)
            rest = np.array([np.interp(start + 0.03, times_s, part[:, k]) for k in range(3)])
            near |= (way[:, 2] - floor < TOUCH_M) & (np.linalg.norm(way - rest, axis=1) < TOUCH_M)
        k = len(at) - 1
        while k > 0 and near[k - 1]:
            k -= 1
        out.append(float(at[k]) if near[-1] else start)
    return out


def all_landmarks(at: dict[str, np.ndarray]) -> np.ndarray:
    """The 33 landmarks (T, 33, 3) of 17 points: what is not there is put where the body has it."""
    out = np.repeat(((at["left_hip"] + at["right_hip"]) / 2)[:, None], 33, 1)
    for k, part in (
        (11, "shoulder"),
        (13, "elbow"),
        (15, "wrist"),
        (23, "hip"),
        (25, "knee"),
        (27, "ankle"),
        (29, "heel"),
        (31, "foot_index"),
    ):
        out[:, k], out[:, k + 1] = at[f"left_{part}"], at[f"right_{part}"]
    across = at["left_shoulder"] - at["right_shoulder"]
    across = across / np.maximum(np.linalg.norm(across, axis=1), 1e-6)[:, None]
    head = at["nose"] - 0.09 * np.cross(across, [0.0, 0.0, 1.0])
    out[:, :11] = at["nose"][:, None]
    out[:, 7], out[:, 8] = head + 0.07 * across, head - 0.07 * across
    for k, wrist in HANDS.items():
        out[:, k] = out[:, wrist]
    return out


def drawn_motions(path: Path) -> list[Motion]:
    """Every dancer of a drawn clip's truth; nobody of a range check, in which no landing is counted."""
    with gzip.open(path, "rt", encoding="utf-8") as file:
        truth = json.load(file)
    if truth["range"]:
        return []
    times_s, out = np.array(truth["frame_times"]), []
    for j, dancer in enumerate(truth["dancers"]):
        at = {name: np.array([row[j][name][:3] for row in truth["frames"]]) for name in (*DRAWN.values(), "head")}
        points = np.repeat(at["head"][:, None], 33, 1)
        for k, name in DRAWN.items():
            points[:, k] = at[name]
        for k, wrist in HANDS.items():
            points[:, k] = points[:, wrist]
        across = at["shoulderL"] - at["shoulderR"]
        points[:, 7], points[:, 8] = at["head"] + 0.2 * across, at["head"] - 0.2 * across
        events = [(e["t"], e["foot"], e["kind"]) for e in dancer["events"] if e["kind"] in (*LANDS, "shift")]
        if not events:
            continue
        first, last = min(e[0] for e in events), max(e[0] for e in events)
        unknown = [(-1.0, first - 1.5, "both"), (last + 0.5, float(times_s[-1]) + 1.0, "both")]
        name = f"{path.name.removesuffix('.json.gz')}-{j + 1}"
        out.append(Motion(name, dancer["dance"], False, times_s, points, events, [], unknown, ["drawn"] * len(events)))
    return out


def read_all(real: Path | None, drawn: Path | None) -> list[Motion]:
    """Every motion of both folders, in order of their names."""
    out = [real_motion(path) for path in sorted(real.glob("*.npz"))] if real else []
    return out + ([one for path in sorted(drawn.glob("*.json.gz")) for one in drawn_motions(path)] if drawn else [])


def described(motions: list[Motion]) -> dict[str, Any]:
    """How many of which, for the record of a training."""
    return {
        "motions": len(motions),
        "seconds": round(sum(m.seconds for m in motions)),
        "landings": sum(e[2] != "shift" for m in motions for e in m.events),
        "groups": sorted({m.group for m in motions}),
    }
