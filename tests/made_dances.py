"""Made dancers who dance a made dance, count by count: what was late, went elsewhere or was left out follows from the arguments."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from motion.base.types import JOINTS, Angles, Candidates, Due
from motion.review.settings import SETTINGS
from motion.timing.flags import Danced
from motion.timing.match import match_dance

T = SETTINGS.timing
GAP_S, COUNTS = 0.5, 8
MOVES = ("side", "together", "side", "together", "forward", "together", "back", "together")
#: Where each move puts the foot against the other one: own side, forward, in leg lengths.
PLACES = {"side": (0.5, 0.0), "together": (0.22, 0.0), "forward": (0.22, 0.5), "back": (0.22, -0.5)}


def dance(walls: int = 3, quarter_deg: float = 0.0) -> list[Due]:
    """Eight landings a wall, right foot first; every wall faces quarter_deg further to the right."""
    out = []
    for n in range(walls * COUNTS):
        foot = "right" if n % 2 == 0 else "left"
        wall = n // COUNTS
        out.append(Due(n + 1.0, wall + 1, n % COUNTS + 1.0, foot, MOVES[n % COUNTS], True, True, quarter_deg * wall))  # type: ignore[arg-type]
    return out


def danced(
    due: list[Due], late_ms: Mapping[int, float] | None = None, *, moved: Mapping[int, tuple[float, float]] | None = None,
    left_out: frozenset[int] = frozenset(), other_foot: frozenset[int] = frozenset(), lag_ms: float = 0.0, shake_ms: float = 0.0,
    seed: int = 3, timed: bool = True,
) -> Danced:  # fmt: skip
    """One dancer of the due events: late_ms and moved by index of the event; shake_ms, the spread of every landing."""
    at_s = 1.0 + GAP_S * (np.array([d.count for d in due]) - 1)
    kept = [i for i in range(len(due)) if i not in left_out]
    shake = np.random.default_rng(seed).normal(0.0, shake_ms, len(due)) if shake_ms else np.zeros(len(due))
    times = np.array([at_s[i] + (lag_ms + (late_ms or {}).get(i, 0.0) + shake[i]) / 1000 for i in kept])
    right = np.array([(due[i].foot == "right") != (i in other_foot) for i in kept])
    places = np.array([(moved or {}).get(i, PLACES[due[i].move]) for i in kept], dtype=float)
    places[~right, 0] *= -1
    n = len(kept)
    found = Candidates(
        times, np.full(n, 12.0), right, np.zeros(n, bool), np.full(n, 0.98), np.full(n, 0.99), places, ((0.0, at_s[-1] + 2),)
    )
    gaps = np.full(len(due), GAP_S)
    return Danced(found, due, at_s, gaps, match_dance(found, due, at_s, gaps, T), timed, (at_s[0], at_s[-1]))


def angles(
    one: Danced, *, camera_deg: float = 0.0, turned: Mapping[int, float] | None = None, bent: Mapping[int, float] | None = None
) -> Angles:
    """Angles that go with what was danced: every joint 10 degrees bent but for `bent` (the right knee about that event), facing as the
    dance has it but for `turned` (degrees to the right about that event), seen by a camera camera_deg round to the dancer's right."""
    times_s = np.arange(0.0, float(one.at_s[-1]) + 2, 1 / 30)
    near = np.clip(np.round((times_s - one.at_s[0]) / GAP_S), 0, len(one.due) - 1).astype(int)
    facing = np.array([one.due[i].facing_deg + (turned or {}).get(int(i), 0.0) for i in near])
    flexion = np.full((len(times_s), 6), 10.0)
    knee = JOINTS.index(("right", "knee"))
    flexion[:, knee] = [10.0 + (bent or {}).get(int(i), 0.0) for i in near]
    view = (camera_deg - facing + 180) % 360 - 180
    return Angles(times_s, flexion, np.full_like(flexion, 3.0), view, ("standing",) * 6)
