"""Joint angles that gait laboratories stored beside their walks, and what is read of the same walks by a camera put there by sums."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from real_walks import WALKS, seen_by_phone

from motion.base.types import JOINTS, Floats, NotMeasured
from motion.body.joint_readings import read_joints
from motion.body.yaw import View
from motion.review.settings import SETTINGS

FILES = {"joints": "walk_plug-in-gait.c3d", "solution": "subject01_walk1.trc"}
OFF_DEG = (0, 15, 30, 45, 60)


def stored_angles(folder: Path, name: str) -> tuple[Floats, Floats]:
    """Times (N,) and flexion (N, 6) in the order of JOINTS, as the laboratory stored them, flexion positive everywhere."""
    if name == "joints":
        import ezc3d

        c3d: Any = ezc3d.c3d(str(folder / FILES[name]))
        labels, points = c3d["parameters"]["POINT"]["LABELS"]["value"], c3d["data"]["points"]
        rate = float(c3d["parameters"]["POINT"]["RATE"]["value"][0])
        times = (c3d["header"]["points"]["first_frame"] + np.arange(points.shape[2])) / rate
        columns = [points[0, labels.index(f"{side[0].upper()}{joint.capitalize()}Angles")] for side, joint in JOINTS]
        return times, np.stack(columns, axis=1)
    lines = (folder / "subject01_walk1_ik.mot").read_text().splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("endheader")) + 1
    names = lines[start].split("\t")
    table = np.array([[float(v) for v in line.split("\t")] for line in lines[start + 1 :] if line.strip()])
    column = {"hip": ("hip_flexion", 1.0), "knee": ("knee_angle", -1.0), "ankle": ("ankle_angle", 1.0)}
    values = [column[joint][1] * table[:, names.index(f"{column[joint][0]}_{side[0]}")] for side, joint in JOINTS]
    kept = table[:, 0] <= 2.5  # the solution goes on beyond the markers
    return table[kept, 0], np.stack(values, axis=1)[kept]


def view_errors(folder: Path, name: str, *, noise_px: float = 2.0) -> dict[int, tuple[Floats, Floats]]:
    """For every way off the side view, on either side: mean absolute error (6,) about the joint's own median, as no one stands quietly
    in these walks, and the share of pictures (6,) in which it was within twice the stated standard deviation."""
    times, points, _ = WALKS[name](folder)
    at, stored = stored_angles(folder, name)
    first, last = max(times[0], at[0]), min(times[-1], at[-1])
    pictures = np.arange(first + 0.01, last, 1 / 30)
    truth = np.stack([np.interp(pictures, at, stored[:, j]) for j in range(6)], axis=1)
    out = {}
    for off in OFF_DEG:
        errors, within = [], []
        for view_deg in (90.0 - off, 90.0 + off, -90.0 - off, -90.0 + off):
            marks = seen_by_phone(times, points, pictures, view_deg=view_deg, noise_px=noise_px)
            view = View(pictures, np.full(len(pictures), view_deg), np.full(len(pictures), 5.0))
            read = read_joints(marks, 0, view, settings=SETTINGS.angles)
            if isinstance(read, NotMeasured):
                raise AssertionError(read.why)
            apart = read.reading_deg - truth
            apart = apart - np.nanmedian(apart, axis=0)
            errors.append(np.abs(apart))
            within.append(np.abs(apart) <= 2 * read.sigma_deg)
        out[off] = (np.concatenate(errors).mean(0), np.concatenate(within).mean(0))
    return out
