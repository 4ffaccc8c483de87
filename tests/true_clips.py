"""Two drawn clips without their video: every joint as it truly was, in space and in the picture, and what was danced and planted.

tests/truth/NAME.npz (no pickle): times_s (F,); xyz_mm (J, 3, F) and image_tenth_px (J, 2, F), differences from frame to frame in
whole millimetres and tenths of a pixel; told, JSON: joints, beats, events, intended steps with the faults that were planted.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.options import JudgeOptions
from motion.base.types import BeatGrid, Clip, Floats, Landmarks, NotMeasured, Review
from motion.dance.sheet import read_sheet
from motion.music.counts import steady_grid
from motion.review.judge import judge
from motion.review.watch import Watched

FOLDER = Path(__file__).resolve().parent / "truth"
SHEETS = Path(__file__).resolve().parents[1] / "sample_clips"
#: Which of the 33 landmarks is which true joint; what is not named here lies about the head or the hands.
PARTS = {
    0: "head", 11: "shoulderL", 12: "shoulderR", 13: "elbowL", 14: "elbowR", 15: "wristL", 16: "wristR", 23: "hipL", 24: "hipR",
    25: "kneeL", 26: "kneeR", 27: "ankleL", 28: "ankleR", 29: "heelL", 30: "heelR", 31: "toeL", 32: "toeR",
}  # fmt: skip
HANDS = {17: "wristL", 19: "wristL", 21: "wristL", 18: "wristR", 20: "wristR", 22: "wristR"}
SHAKE_SHARE = 0.004  # of the dancer's height: between neighbouring frames, as a pose model shakes


@dataclass(frozen=True, eq=False)
class TrueClip:
    """times_s (F,); space_m (F, 3) and image_px (F, 2) of each joint by name; told: what is known of the clip, as it was drawn."""

    times_s: Floats
    space_m: dict[str, Floats]
    image_px: dict[str, Floats]
    told: dict[str, Any]

    @property
    def landings(self) -> list[dict[str, Any]]:
        """Events in which a foot came to the floor: t, foot, kind, count, fault, offset_ms."""
        return [e for e in self.told["events"] if e["kind"] in ("weight", "touch", "heel", "toe")]

    def beats(self) -> BeatGrid:
        """The music's beats, counted."""
        first_s = self.told["beats"][self.told["first_count_beat"]]
        return steady_grid(self.told["bpm"], first_s, 0.0, float(self.times_s[-1]), 4)


@cache
def true_clip(name: str) -> TrueClip:
    """ "quarter-rock" (porchlight: a late count, a stretch in mirror image, a changed step) or "recovers" (shingle: two late counts,
    weight that moves without a landing)."""
    with np.load(FOLDER / f"{name}.npz", allow_pickle=False) as kept:
        told = json.loads(kept["told"].tobytes())
        space = np.cumsum(kept["xyz_mm"].astype(np.int64), axis=2).transpose(0, 2, 1) / 1000.0
        image = np.cumsum(kept["image_tenth_px"].astype(np.int64), axis=2).transpose(0, 2, 1) / 10.0
        joints = told["joints"]
        return TrueClip(
            kept["times_s"], dict(zip(joints, space, strict=True)), dict(zip(joints, image, strict=True)), told
        )  # fmt: skip


def true_landmarks(clip: TrueClip, *, shake: float = SHAKE_SHARE) -> Landmarks:
    """The true joints as 33 landmarks, shaken as a pose model's are: ears and nose lie about the head, as the shoulders and feet do."""
    at = clip.image_px
    points = np.repeat(at["head"][:, None], 33, axis=1)
    for k, name in {**PARTS, **HANDS}.items():
        points[:, k] = at[name]
    across = at["shoulderR"] - at["shoulderL"]
    points[:, 7], points[:, 8] = at["head"] - 0.2 * across, at["head"] + 0.2 * across
    feet = [at[f"toe{side}"] - at[f"heel{side}"] for side in "LR"]
    points[:, 0] = at["head"] + 0.4 * np.mean(feet, axis=0) * np.array([1.0, 0.0])
    tall_px = float(np.median(np.abs(at["head"][:, 1] - at["heelL"][:, 1])))
    points = points + np.random.default_rng(4).normal(0.0, shake * tall_px, points.shape)
    frames = len(clip.times_s)
    return Landmarks(clip.times_s, np.array([1]), points[:, None], np.full((frames, 1, 33), 0.95), ((),))


def true_watched(clip: TrueClip, landmarks: Landmarks | None = None) -> Watched:
    """The clip as if it had been watched, without its sound."""
    times_s, (wide, high) = clip.times_s, clip.told["size"]
    film = Clip(
        f"{clip.told['name']}.mp4", "00" * 32, times_s, wide, high, float(times_s[-1]) + 1 / clip.told["fps"], has_sound=True
    )
    marks = true_landmarks(clip) if landmarks is None else landmarks
    return Watched(film, marks, NotMeasured("beats", "the beats are given"), {})


def true_review(clip: TrueClip, landmarks: Landmarks | None = None) -> Review:
    """The clip judged by its sheet and its true beats."""
    beats = clip.told["beats"]
    first_s = beats[clip.told["first_count_beat"]]
    asked = JudgeOptions(dance=SHEETS / f"{clip.told['dance']}.csv", bpm=float(clip.told["bpm"]), first_count_s=first_s)
    assert read_sheet(asked.dance).title  # type: ignore[arg-type]
    return judge(true_watched(clip, landmarks), asked)


def true_flexion_deg(clip: TrueClip) -> dict[tuple[str, str], Floats]:
    """Flexion (F,) by side and joint against standing still (median of the first second): hip signed in the dancer's own sagittal plane,
    knee and ankle from the included angle."""
    at = clip.space_m
    across = at["hipL"] - at["hipR"]
    across = across / np.linalg.norm(across, axis=1, keepdims=True)

    def flat(v: Floats) -> Floats:
        return np.asarray(v - (v * across).sum(1, keepdims=True) * across)

    def included(a: Floats, b: Floats, c: Floats) -> Floats:
        u, v = a - b, c - b
        cosine = (u * v).sum(1) / np.linalg.norm(u, axis=1) / np.linalg.norm(v, axis=1)
        return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1, 1))))

    down = -flat((at["shoulderL"] + at["shoulderR"] - at["hipL"] - at["hipR"]) / 2)
    still, out = clip.times_s < 1.0, {}
    for s, side in (("L", "left"), ("R", "right")):
        thigh = flat(at["knee" + s] - at["hip" + s])
        sign = np.sign((thigh * np.cross(down, across)).sum(1))
        cosine = (thigh * down).sum(1) / np.linalg.norm(thigh, axis=1) / np.linalg.norm(down, axis=1)
        raw = {
            "hip": sign * np.degrees(np.arccos(np.clip(cosine, -1, 1))),
            "knee": 180.0 - included(at["hip" + s], at["knee" + s], at["ankle" + s]),
            "ankle": -included(at["knee" + s], at["ankle" + s], at["toe" + s]),
        }
        for joint, value in raw.items():
            out[side, joint] = value - np.median(value[still])
    return out
