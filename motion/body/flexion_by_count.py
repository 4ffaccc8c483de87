"""How far each joint bends on every count of every wall, where the view allows, and where one wall is smaller than the others."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.types import JOINTS, Angles, Due, Floats, Ints
from motion.body.settings import AngleSettings


def bends_of_dance(
    angles: Angles, due: Sequence[Due], at_s: Floats, gap_s: float, *, settings: AngleSettings
) -> tuple[dict[str, Any], ...]:
    """`bends_by_count` of whole counts, from the dance's first event in the clip to its last. at_s (N,): when each of `due` falls."""
    known = np.array([d.count for d in due])
    counts = np.arange(np.ceil(known[0]), np.floor(known[-1]) + 1)
    last = [due[i] for i in np.searchsorted(known, counts, side="right") - 1]
    inside = np.array([d.count_in_wall + c - d.count for d, c in zip(last, counts, strict=True)])
    walls = np.array([d.wall for d in last], dtype=np.int64)
    return bends_by_count(angles, inside, walls, np.interp(counts, known, at_s), gap_s, settings=settings)


def bends_by_count(
    angles: Angles, counts: Floats, walls: Ints, at_s: Floats, gap_s: float, *, settings: AngleSettings
) -> tuple[dict[str, Any], ...]:
    """One row per wall, joint and side in which the joint was seen on some count.

    counts (C,) within the wall, walls (C,) from 1, at_s (C,) when each count falls, in order of time; gap_s, one count. Rows: wall,
    joint, side, counts, bent_deg and stretched_deg (most and least flexion from half a count before to half a count after), sigma_deg
    of either, view_deg; only counts of which at least `use_share` of the pictures could be trusted.
    """
    low = np.searchsorted(angles.times_s, at_s - gap_s / 2)
    high = np.searchsorted(angles.times_s, at_s + gap_s / 2)
    towards = np.exp(1j * np.radians(angles.view_deg))
    rows = []
    for wall in np.unique(walls):
        here = np.flatnonzero(walls == wall)
        for j, (side, joint) in enumerate(JOINTS):
            cells = [(c, cell) for c in here if (cell := _cell(angles, towards, j, int(low[c]), int(high[c]), settings))]
            if not cells:
                continue
            bent, stretched, sigma, view = (list(column) for column in zip(*(cell for _, cell in cells), strict=True))
            rows.append(
                {
                    "wall": int(wall), "joint": joint, "side": side, "counts": [round(float(counts[c]), 2) for c, _ in cells],
                    "bent_deg": bent, "stretched_deg": stretched, "sigma_deg": sigma, "view_deg": view,
                }
            )  # fmt: skip
    return tuple(rows)


def _cell(
    angles: Angles, towards: NDArray[np.complex128], j: int, low: int, high: int, settings: AngleSettings
) -> tuple[float, float, float, float] | None:
    """towards (F,): the view as a direction in the plane."""
    flexion = angles.flexion_deg[low:high, j]
    seen = np.isfinite(flexion)
    if not len(seen) or np.count_nonzero(seen) / len(seen) < settings.use_share:
        return None
    view = np.degrees(np.angle(towards[low:high][seen].mean()))
    sigma = median(angles.sigma_deg[low:high, j][seen].tolist())
    return (
        round(float(flexion[seen].max()), 1), round(float(flexion[seen].min()), 1), round(sigma, 1), round(float(view), 0) + 0.0,
    )  # fmt: skip


def smaller_walls(rows: tuple[dict[str, Any], ...], *, settings: AngleSettings) -> list[dict[str, Any]]:
    """Walls on which a joint moved clearly less than on the dancer's own other walls, over the counts seen on both: information,
    not a fault.

    Each: wall, joint, side, size_deg (how much less, the median over the shared counts), sigma_deg, counts (how many were shared).
    """
    found = []
    for row in rows:
        others = [r for r in rows if (r["joint"], r["side"]) == (row["joint"], row["side"]) and r["wall"] != row["wall"]]
        told = smaller_than(row, others, settings=settings)
        if told is not None:
            found.append({"wall": row["wall"], "joint": row["joint"], "side": row["side"], **told})
    return found


def smaller_than(row: dict[str, Any], others: list[dict[str, Any]], *, settings: AngleSettings) -> dict[str, Any] | None:
    """How much less a row's joint moves than in the others (own other walls, or a teacher's demonstration), None unless clearly.

    Compared is how far it bends and stretches, count by count, over the counts seen in both; clear is more than
    `small_range_deg` and twice the uncertainty of the difference. The error of an angle is alike from count to count, so more
    counts do not make it smaller; another wall, seen from another side, has its own.
    """
    known: dict[float, list[tuple[float, float]]] = {}
    for other in others:
        for c, bent, stretched, sigma in zip(
            other["counts"], other["bent_deg"], other["stretched_deg"], other["sigma_deg"], strict=True
        ):
            known.setdefault(c, []).append((bent - stretched, sigma))
    less, sigmas = [], []
    for c, bent, stretched, sigma in zip(row["counts"], row["bent_deg"], row["stretched_deg"], row["sigma_deg"], strict=True):
        if c not in known:
            continue
        usual, theirs = (float(np.median(column)) for column in zip(*known[c], strict=True))
        less.append(usual - (bent - stretched))
        sigmas.append(np.hypot(sigma, theirs))
    if len(less) < settings.small_range_counts:
        return None
    size, sigma_deg = float(np.median(less)), float(np.median(sigmas))
    if size < max(settings.small_range_deg, 2.0 * sigma_deg):
        return None
    return {"size_deg": round(size, 1), "sigma_deg": round(sigma_deg, 1), "counts": len(less)}
