"""Who is who over the whole clip: trails that broke off are joined where place in the line, size and colours agree best.

Everyone in a line dance moves alike, so a dancer's place in the line (where they are, less how the whole line has moved) stays
nearly the same; that is what tells them apart after they were hidden. Least cost assignment: Kuhn 1955, Munkres 1957.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np

from motion.base.signals import usual_step_s
from motion.base.types import LANDMARKS, Floats, Interval, Landmarks, NotMeasured
from motion.body.detection import ANKLES, wholly_inside
from motion.body.pose import Pose
from motion.body.settings import BodySettings

#: More often than not.
MOSTLY = 0.5


class Seen(Protocol):
    """What joining needs of a trail."""

    pictures: list[int]
    poses: list[Pose]
    centres: list[Floats]
    heights: list[float]
    colours: list[Floats]
    doubtful: list[int]


def joined(
    trails: Sequence[Seen], times_s: Floats, drift: Floats, size_px: tuple[int, int], settings: BodySettings
) -> Landmarks | NotMeasured:
    """Landmarks of everyone who was there long enough and wholly seen, or why there is nobody: see `joined_with_clothes`."""
    return joined_with_clothes(trails, times_s, drift, size_px, settings)[0]


def joined_with_clothes(
    trails: Sequence[Seen], times_s: Floats, drift: Floats, size_px: tuple[int, int], settings: BodySettings
) -> tuple[Landmarks | NotMeasured, Floats]:
    """Landmarks of everyone who was there long enough and wholly seen, or why there is nobody; and their usual colours (P, 6), 0..1.

    trails in any order; times_s (F,); drift (F, 2): how the whole line has moved since the first picture, in body heights.
    """
    step_s = usual_step_s(times_s)
    chains = _chained(
        [t for t in trails if len(t.pictures) * step_s >= settings.least_trail_s and not _is_part(t, trails, settings)],
        times_s,
        drift,
        size_px,
        settings,
    )
    kept = [c for c in chains if _is_dancer(c, len(times_s), size_px, settings)]
    if not kept:
        return NotMeasured("dancers", "nobody was wholly in the picture, head to feet, for long enough"), np.zeros((0, 6))
    kept.sort(key=lambda c: float(c[0].centres[0][0]))
    image = np.full((len(times_s), len(kept), LANDMARKS, 2), np.nan)
    visibility = np.zeros((len(times_s), len(kept), LANDMARKS))
    unsure = []
    for p, chain in enumerate(kept):
        for t in chain:
            image[t.pictures, p] = [pose.points_px for pose in t.poses]
            visibility[t.pictures, p] = [pose.visibility for pose in t.poses]
        unsure.append(_unsure(times_s, image[:, p], [k for t in chain for k in t.doubtful]))
    clothes = np.array([np.nanmedian([c for t in chain for c in t.colours], axis=0) for chain in kept])
    return Landmarks(times_s, np.arange(1, len(kept) + 1), image, visibility, tuple(unsure)), clothes


def part_of(small: Floats, whole: Floats, settings: BodySettings) -> bool:
    """Is a much smaller body (33, 2) that stands on another one's feet only a part of that other, its legs read as a person?"""
    tall = float(np.ptp(whole[:, 1]))
    feet = float(np.hypot(*(small[ANKLES].mean(0) - whole[ANKLES].mean(0))))
    return float(np.ptp(small[:, 1])) < settings.part_height * tall and feet < settings.part_feet_bodies * tall


def _is_part(trail: Seen, trails: Sequence[Seen], settings: BodySettings) -> bool:
    """Is a trail, for most of its pictures, the legs of somebody larger who was followed at the same time?"""
    for other in trails:
        if other is trail or np.median(other.heights) <= np.median(trail.heights):
            continue
        theirs = dict(zip(other.pictures, other.poses, strict=True))
        both = [(pose, theirs[k]) for k, pose in zip(trail.pictures, trail.poses, strict=True) if k in theirs]
        if (
            len(both) > MOSTLY * len(trail.pictures)
            and np.mean([part_of(a.points_px, b.points_px, settings) for a, b in both]) > MOSTLY
        ):
            return True
    return False


def _chained(
    trails: list[Seen], times_s: Floats, drift: Floats, size_px: tuple[int, int], settings: BodySettings
) -> list[list[Seen]]:
    """Trails joined end to start, by least total cost; each chain in order of time."""
    from scipy.optimize import linear_sum_assignment

    trails = sorted(trails, key=lambda t: t.pictures[0])
    n = len(trails)
    if n < 2:
        return [[t] for t in trails]
    cost = np.full((n, n), 1e6)
    for i, a in enumerate(trails):
        for j, b in enumerate(trails):
            if a.pictures[-1] < b.pictures[0]:
                cost[i, j] = _price(a, b, drift, size_px, settings)
    # every end may also stay free, at the limit's price: the assignment then joins only what is cheaper
    whole = np.block([[cost, np.full((n, n), settings.join_limit)], [np.full((n, n), settings.join_limit), np.zeros((n, n))]])
    rows, columns = linear_sum_assignment(whole)
    after = {int(r): int(c) for r, c in zip(rows, columns, strict=True) if r < n and c < n and cost[r, c] < settings.join_limit}
    starts = set(range(n)) - set(after.values())
    chains = []
    for k in sorted(starts):
        chain = [trails[k]]
        while k in after:
            k = after[k]
            chain.append(trails[k])
        chains.append(chain)
    return chains


def _price(a: Seen, b: Seen, drift: Floats, size_px: tuple[int, int], settings: BodySettings) -> float:
    """What it costs to say that b goes on where a broke off: place in the line, size and colours, each about 0..1."""
    # over the whole trails: at a break, and most of all at the picture's edge, a body is half guessed
    tall = float(np.median(a.heights)), float(np.median(b.heights))
    unit = max(tall)
    moved = drift[b.pictures[0]] - drift[a.pictures[-1]]
    gap = float(np.hypot(*(b.centres[0] - a.centres[-1] - moved * unit))) / unit
    size = settings.size_worth * abs(float(np.log(tall[1] / tall[0])))
    if _at_edge(a.poses[-1].points_px, size_px) or _at_edge(b.poses[0].points_px, size_px):
        gap, size = min(gap, settings.edge_gap), min(size, settings.edge_gap)  # out of sight anything may have happened
    return gap + size + settings.colour_worth * unlike_clothes(np.nanmedian(a.colours, axis=0), np.nanmedian(b.colours, axis=0))


def unlike_clothes(a: Floats, b: Floats) -> float:
    """How different two people's colours (6,) are, 0..1: mostly in tint, for light falls off across a hall; 0 where not to be told."""
    parts = []
    for one, other in ((a[:3], b[:3]), (a[3:], b[3:])):
        bright = float(one.mean()), float(other.mean())
        tint = np.abs(one / (bright[0] + 0.05) - other / (bright[1] + 0.05)).max() / 3
        parts.append(tint + 0.25 * abs(bright[0] - bright[1]))
    known = [p for p in parts if np.isfinite(p)]
    return float(np.mean(known)) if known else 0.0


def _at_edge(points_px: Floats, size_px: tuple[int, int]) -> bool:
    low, high = points_px.min(0), points_px.max(0)
    return bool((low < 0).any() or (high > np.array(size_px)).any())


def _is_dancer(chain: list[Seen], pictures: int, size_px: tuple[int, int], settings: BodySettings) -> bool:
    seen = sum(len(t.pictures) for t in chain)
    whole = wholly_inside(np.array([p.points_px for t in chain for p in t.poses]), *size_px)
    return seen >= settings.least_share_seen * pictures and float(whole.mean()) >= settings.least_whole


def _unsure(times_s: Floats, points_px: Floats, doubtful: list[int]) -> tuple[Interval, ...]:
    """Stretches in which the dancer was not seen, or was taken for another. times_s (F,), points_px (F, 33, 2)."""
    bad: Any = np.isnan(points_px[:, 0, 0])
    bad[doubtful] = True
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bad, [False]]).astype(int)))
    return tuple((float(times_s[a]), float(times_s[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True))
