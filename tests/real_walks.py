"""Walks measured in gait laboratories, as a phone beside the walkway would see them.

Markers in space become the 33 landmarks (what has no marker is put where the body has it, from its neighbours), seen by a pinhole
camera at hip height. Truth: when each foot's force plate takes load, or the laboratory's own marked foot strikes.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from motion.base.types import Floats, Landmarks

SIZE_PX = (1920, 1080)
FOCAL_PX = 1600.0
#: Markers: name -> (F, 3) metres, x and z along the floor, y up.
Markers = dict[str, Floats]


def read_trc(path: Path) -> tuple[Floats, Markers]:
    """Times (F,) and markers of a tab-separated marker file in millimetres, y up."""
    lines = path.read_text(encoding="latin-1").splitlines()
    names = [n for n in lines[3].split("\t")[2:] if n.strip()]
    rows = [[float(v) if v.strip() else np.nan for v in line.split("\t")] for line in lines[5:] if line.strip()]
    table = np.array([row[: 2 + 3 * len(names)] for row in rows])
    return table[:, 1], {n.strip(): table[:, 2 + 3 * k : 5 + 3 * k] / 1000 for k, n in enumerate(names)}


def mean(marks: Markers, *names: str) -> Floats:
    return np.asarray(np.mean([marks[n] for n in names], axis=0))


def body(joints: dict[str, Floats]) -> Floats:
    """The 33 landmarks (F, 33, 3) in metres from hips, knees, ankles, heels and toes, and shoulders and head if there are any."""
    left, right = joints["hip_l"], joints["hip_r"]
    hips = (left + right) / 2
    across = (left - right) / np.linalg.norm(left - right, axis=1)[:, None]  # to the walker's left
    up = np.array([0.0, 1.0, 0.0])
    ahead = np.cross(across, up)
    points = np.repeat(hips[:, None], 33, 1)
    for k, side in ((0, "l"), (1, "r")):
        sign = 1.0 if side == "l" else -1.0
        shoulder = joints.get(f"shoulder_{side}", hips + 0.50 * up + sign * 0.18 * across)
        points[:, 11 + k] = shoulder
        points[:, 13 + k] = shoulder - 0.28 * up + sign * 0.03 * across
        for n in (15, 17, 19, 21):
            points[:, n + k] = shoulder - 0.52 * up + 0.05 * ahead
        points[:, 23 + k] = joints[f"hip_{side}"]
        points[:, 25 + k] = joints[f"knee_{side}"]
        points[:, 27 + k] = joints[f"ankle_{side}"]
        points[:, 29 + k] = joints[f"heel_{side}"]
        points[:, 31 + k] = joints[f"toe_{side}"]
    head = joints.get("head", (points[:, 11] + points[:, 12]) / 2 + 0.22 * up)
    points[:, :11] = (head + 0.09 * ahead)[:, None]
    points[:, 7:9] = head[:, None] + np.stack([0.07 * across, -0.07 * across], 1)
    return points


def seen_by_phone(
    times_s: Floats,
    points_m: Floats,
    pictures_s: Floats,
    *,
    view_deg: float,
    away_m: float = 6.0,
    noise_px: float = 0.0,
    seed: int = 1,
) -> Landmarks:
    """The walk as a fixed camera sees it: view_deg 90 looks square across the way, 0 along it from ahead."""
    hips = points_m[:, [23, 24]].mean(1)
    way = hips[-1] - hips[0]
    way[1] = 0.0
    way /= np.linalg.norm(way)
    aside = np.cross(way, np.array([0.0, 1.0, 0.0]))  # to the walker's right
    a = np.radians(view_deg)
    look = -(np.cos(a) * way + np.sin(a) * aside)  # from the camera towards the walkway's middle
    right = np.cross(look, np.array([0.0, 1.0, 0.0]))
    middle = (hips[0] + hips[-1]) / 2
    from_camera = points_m - (middle - away_m * look)
    depth = from_camera @ look
    image = np.stack([from_camera @ right, -from_camera[..., 1]], -1) / depth[..., None] * FOCAL_PX
    flat = image.reshape(len(times_s), -1)
    image = np.stack([np.interp(pictures_s, times_s, flat[:, k]) for k in range(flat.shape[1])], 1).reshape(-1, 33, 2)
    image += np.array(SIZE_PX) / 2
    image += np.random.default_rng(seed).normal(0.0, noise_px, image.shape) if noise_px else 0.0
    return Landmarks(pictures_s, np.array([1]), image[:, None], np.full((len(pictures_s), 1, 33), 0.95))


def contacts(times_s: Floats, force_n: Floats, least_n: float = 20.0) -> list[float]:
    """Times at which a plate takes load, between samples; only those that come from an unloaded plate and stay for 0.2 s."""
    loaded = force_n > least_n
    starts = np.flatnonzero(loaded[1:] & ~loaded[:-1]) + 1
    rate = 1 / float(np.median(np.diff(times_s)))
    return [
        float(times_s[k])
        for k in starts
        if loaded[k : k + int(0.2 * rate)].all() and not loaded[max(0, k - int(0.1 * rate)) : k].any()
    ]


def walk_on_plates(folder: Path) -> tuple[Floats, Floats, list[tuple[float, str]]]:
    """walk1: 150 Hz, seven plates. (times, points in metres, contacts)."""
    times, m = read_trc(folder / "walk1.trc")
    inward = (m["L.GTR"] - m["R.GTR"]) / np.linalg.norm(m["L.GTR"] - m["R.GTR"], axis=1)[:, None]
    j = {"hip_r": m["R.GTR"] + 0.08 * inward, "hip_l": m["L.GTR"] - 0.08 * inward}
    for s, n in (("r", "R"), ("l", "L")):
        j[f"knee_{s}"] = mean(m, f"{n}.Knee", f"{n}.Knee.Medial")
        j[f"ankle_{s}"] = mean(m, f"{n}.Ankle", f"{n}.Ankle.Medial")
        j[f"heel_{s}"] = m[f"{n}.Heel"]
        ball = mean(m, f"{n}.MT1", f"{n}.MT2", f"{n}.MT5")
        j[f"toe_{s}"] = ball + 0.3 * (ball - m[f"{n}.Heel"])
    lines = (folder / "walk1.forces").read_text().splitlines()
    table = np.array([[float(v) for v in line.split("\t")] for line in lines[5:] if line.strip()])
    t = (table[:, 0] - 1) / 450.0
    points = body(j)
    found: list[tuple[float, str]] = []
    for plate in range(7):
        force, at = table[:, 2 + 7 * plate], table[:, [4 + 7 * plate, 6 + 7 * plate]] / 1000  # FY up; X, Z of the pressure
        for start in contacts(t, np.abs(force)):
            k, f = np.searchsorted(t, start + 0.15), np.searchsorted(times, start + 0.15)
            gap = {s: float(np.hypot(*(points[f, n][[0, 2]] - at[k]))) for s, n in (("left", 29), ("right", 30))}
            found.append((start, min(gap, key=lambda s: gap[s])))
    return times, points, sorted(found)


def walk_with_solution(folder: Path) -> tuple[Floats, Floats, list[tuple[float, str]]]:
    """subject01: 60 Hz, 41 markers, one plate a foot. Knee and ankle have no marker and lie between their neighbours.

    He walks on a moving belt: its speed, that of a foot at rest on it, is put back into all markers.
    """
    times, m = read_trc(folder / "subject01_walk1.trc")
    low = np.concatenate(
        [np.gradient(m[n][:, 0], times)[m[n][:, 1] < np.quantile(m[n][:, 1], 0.3)] for n in ("R.Toe.Lat", "L.Toe.Lat")]
    )
    m = {n: v - np.median(low) * np.outer(times, [1.0, 0.0, 0.0]) for n, v in m.items()}
    back = m["V.Sacral"]
    j: dict[str, Floats] = {}
    up = np.array([0.0, 1.0, 0.0])
    for s, n in (("r", "R"), ("l", "L")):
        j[f"hip_{s}"] = 0.75 * m[f"{n}.ASIS"] + 0.25 * back - 0.08 * up
        thigh = mean(m, f"{n}.Thigh.Front", f"{n}.Thigh.Rear")
        shank = mean(m, f"{n}.Shank.Upper", f"{n}.Shank.Front", f"{n}.Shank.Rear")
        j[f"knee_{s}"] = 0.5 * thigh + 0.5 * shank
        j[f"ankle_{s}"] = 0.55 * m[f"{n}.Heel"] + 0.45 * m[f"{n}.Midfoot.Sup"] + 0.03 * up
        j[f"heel_{s}"], j[f"toe_{s}"] = m[f"{n}.Heel"], m[f"{n}.Toe.Tip"]
        j[f"shoulder_{s}"] = m[f"{n}.Acromium"]
    j["head"] = 0.6 * mean(m, "R.Temple", "L.Temple") + 0.4 * m["Top.Head"] - 0.08 * up
    lines = (folder / "subject01_walk1_grf.mot").read_text().splitlines()
    start = next(k for k, line in enumerate(lines) if line.startswith("endheader")) + 2
    table = np.array([[float(v) for v in line.split("\t")] for line in lines[start:] if line.strip()])
    found = [(t, "right") for t in contacts(table[:, 0], table[:, 2])] + [(t, "left") for t in contacts(table[:, 0], table[:, 8])]
    return times, body(j), sorted(found)


def walk_with_joints(folder: Path) -> tuple[Floats, Floats, list[tuple[float, str]]]:
    """walk_plug-in-gait: 100 Hz, joint centres; foot strikes as the laboratory marked them, to the hundredth of a second."""
    import ezc3d

    c3d: Any = ezc3d.c3d(str(folder / "walk_plug-in-gait.c3d"))
    names = c3d["parameters"]["POINT"]["LABELS"]["value"]
    data = c3d["data"]["points"][:3].transpose(1, 2, 0) / 1000  # (points, F, 3), z up
    first = c3d["header"]["points"]["first_frame"]
    times = (first + np.arange(data.shape[1])) / float(c3d["parameters"]["POINT"]["RATE"]["value"][0])
    turned = np.stack([data[..., 0], data[..., 2], -data[..., 1]], -1)  # y up
    m = {n: turned[k] for k, n in enumerate(names)}
    j: dict[str, Floats] = {}
    for s, n in (("r", "R"), ("l", "L")):
        j[f"hip_{s}"], j[f"knee_{s}"], j[f"ankle_{s}"] = m[f"{n}FEP"], m[f"{n}FEO"], m[f"{n}TIO"]
        j[f"heel_{s}"] = m[f"{n}HEE"]
        j[f"toe_{s}"] = m[f"{n}TOE"] + 0.25 * (m[f"{n}TOE"] - m[f"{n}HEE"])
        if f"{n}SHO" in m:
            j[f"shoulder_{s}"] = m[f"{n}SHO"]
    if "LFHD" in m:
        j["head"] = mean(m, "LFHD", "RFHD", "LBHD", "RBHD")
    points = body(j)
    good = np.isfinite(points).all((1, 2)) & (np.abs(points).sum((1, 2)) > 0)
    strikes = [(t, "right") for t in (1.53, 2.54, 3.57, 4.59)] + [(t, "left") for t in (2.02, 3.05, 4.05)]
    return times[good], points[good], sorted(strikes)


WALKS = {"plates": walk_on_plates, "solution": walk_with_solution, "joints": walk_with_joints}
