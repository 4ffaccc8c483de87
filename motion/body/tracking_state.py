"""The follower's memory as plain arrays and back, so that a review that was broken off goes on where it stopped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion.base.types import LANDMARKS, Floats
from motion.body.pose import Pose, Region
from motion.body.tracking import Tracker, Tracklet

Arrays = dict[str, NDArray[Any]]
_NOWHERE = Region(0.0, 0.0, 0.0)  # where a pose would have looked next is never used again


def packed(follower: Tracker) -> Arrays:
    """Everything that the follower knows, in arrays: trails one after another, each look a row."""
    state = follower.memory
    trails = [*state.active, *state.gone]
    looks = [pose for t in trails for pose in t.poses]
    return {
        "times_s": np.array(state.times),
        "drift": np.array(state.drift, dtype=np.float64).reshape(-1, 2),
        "dense_s": np.array(state.dense),
        "next_s": np.array([state.next_find_s, state.next_dense_s]),
        "doubts": np.array(state.doubts, dtype=np.float64).reshape(-1, 3),
        "active": np.array([k < len(state.active) for k in range(len(trails))], dtype=np.bool_),
        "looks": np.array([len(t.poses) for t in trails], dtype=np.int64),
        "pictures": _row([t.pictures for t in trails]),
        "doubtful": _row([t.doubtful for t in trails]),
        "doubtful_each": np.array([len(t.doubtful) for t in trails], dtype=np.int64),
        "expected": np.array([t.expected for t in trails]).reshape(-1, 2),
        "seen_s": np.array([t.seen_s for t in trails]),
        "points_px": np.array([p.points_px for p in looks]).reshape(-1, LANDMARKS, 2),
        "visibility": np.array([p.visibility for p in looks]).reshape(-1, LANDMARKS),
        "presence": np.array([p.presence for p in looks]),
        "colours": np.array([c for t in trails for c in t.colours]).reshape(-1, 6),
    }


def unpacked(arrays: Mapping[str, NDArray[Any]], follower: Tracker) -> None:
    """Put what `packed` gave back into a new follower. Raises KeyError or ValueError where the arrays are not such."""
    ends = np.cumsum(arrays["looks"])
    doubt_ends = np.cumsum(arrays["doubtful_each"])
    trails = []
    for k, end in enumerate(ends):
        trail = Tracklet()
        for row in range(int(end - arrays["looks"][k]), int(end)):
            pose = Pose(arrays["points_px"][row], arrays["visibility"][row], float(arrays["presence"][row]), _NOWHERE)
            trail.add(int(arrays["pictures"][row]), float(arrays["seen_s"][k]), pose, arrays["colours"][row])
        trail.expected = arrays["expected"][k].copy()
        trail.doubtful = arrays["doubtful"][int(doubt_ends[k] - arrays["doubtful_each"][k]) : int(doubt_ends[k])].tolist()
        trails.append(trail)
    state = follower.memory
    state.active = [t for t, on in zip(trails, arrays["active"], strict=True) if on]
    state.gone = [t for t, on in zip(trails, arrays["active"], strict=True) if not on]
    state.times = arrays["times_s"].tolist()
    state.drift = list(arrays["drift"])
    state.dense = arrays["dense_s"].tolist()
    state.next_find_s, state.next_dense_s = (float(v) for v in arrays["next_s"])
    state.doubts = [(float(x), float(y), float(size)) for x, y, size in arrays["doubts"]]


def _row(parts: Sequence[Sequence[int]]) -> NDArray[np.int64]:
    return np.array([v for part in parts for v in part], dtype=np.int64)


def last_time_s(arrays: Mapping[str, Floats]) -> float:
    """Time of the last picture that was looked at."""
    return float(arrays["times_s"][-1])
