"""Which landing was meant for which count: the cheapest way through all landings and all counts of the dance.

Dynamic programming over counts in order and landings in order (an alignment as in Needleman & Wunsch 1970), with four ways of
dancing beside "as written": in mirror image, a whole count behind, a whole count ahead. A landing may serve a count, be extra, or a
count may go without. Costs and gains are logarithms of odds, so that what the network, the sheet and the clock say add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.base.types import Candidates, Due, Floats, Ints, Sealed
from motion.timing.foot_placement import beyond, speaks, turning
from motion.timing.settings import TimingSettings

#: Ways of dancing: (mirror image, counts behind).
WAYS: tuple[tuple[bool, int], ...] = ((False, 0), (True, 0), (False, 1), (False, -1))


@dataclass(frozen=True, eq=False)
class Match(Sealed):
    """step (N,): index of the candidate that serves each due event, -1 none; way (N,): index into WAYS; offset_ms (N,): landing
    against where the count lies in that way, NaN without one; score: total gain, nats; lag_ms: the dancer's median offset; due_s (N,):
    when each event was due, as it was asked for."""

    step: Ints
    way: Ints
    offset_ms: Floats
    score: float
    lag_ms: float
    due_s: Floats | None = None


def to_match(due: Sequence[Due]) -> list[int]:
    """Indexes of the due events that feet can be seen doing: landings, and weight that moves."""
    return [i for i, d in enumerate(due) if d.foot is not None and (d.lands or d.takes_weight)]


def match_dance(found: Candidates, due: Sequence[Due], at_s: Floats, gap_s: Floats, settings: TimingSettings) -> Match:
    """Align one dancer's candidates with the due events (all of them to be matched, see to_match).

    at_s (N,): when each event is due; gap_s (N,): length of one count there, s. A steady lead or lag of the dancer is found on the
    way and does not count against a match.
    """
    lag, worth = 0.0, _worth_of(found, due, settings)
    for _ in range(3):
        match = _cheapest(found, due, at_s + lag / 1000, gap_s, worth, settings)
        held = match.step >= 0
        if held.sum() < 6:
            break
        normal = held & (match.way == 0)
        late = 1000 * (found.times_s[match.step[normal]] - at_s[normal])
        new = float(np.median(late)) if len(late) >= 6 else lag
        if abs(new - lag) < 5:
            lag = new
            break
        lag = new
    offset = np.full(len(due), np.nan)
    held = match.step >= 0
    behind = np.array([WAYS[w][1] for w in match.way], dtype=np.float64)
    offset[held] = 1000 * (found.times_s[match.step[held]] - at_s[held] - behind[held] * gap_s[held])
    return Match(match.step, match.way, offset, match.score, lag, at_s)


def match_gain(found: Candidates, due: Sequence[Due], at_s: Floats, gap_s: Floats, settings: TimingSettings) -> Match:
    """The best alignment when the dancer's own lead or lag is already in at_s; offsets are left open (NaN)."""
    return _cheapest(found, due, at_s, gap_s, _worth_of(found, due, settings), settings)


@dataclass(frozen=True, eq=False)
class _Worth:
    """What it is worth, nats, that candidate m serves event n whenever it is due: odds (M,) of a landing at all; scale_ms (M,) of what
    lies off in time; foot (2, N, M), danced as written and in mirror image, weight, lands and place (N, M), for each of these."""

    odds: Floats
    scale_ms: Floats
    foot: Floats
    weight: Floats
    lands: Floats
    place: Floats


def _worth_of(found: Candidates, due: Sequence[Due], settings: TimingSettings) -> _Worth:
    strength = np.clip(found.strength, 1e-3, 1 - 1e-3)
    odds = np.clip(np.log(strength) - np.log1p(-strength), -settings.most_odds, settings.most_odds)
    # a guess through somebody in front is only taken where it fits: nobody is called late by it
    seen = np.array([any(a <= t <= b for a, b in found.seen) for t in found.times_s.tolist()], dtype=np.bool_)
    right = np.array([d.foot == "right" for d in due])
    other = np.stack([found.right[None, :] != (right ^ mirror)[:, None] for mirror in (False, True)])
    bears = np.array([d.takes_weight for d in due])
    weight = np.clip(found.weight, 0.02, 0.98)
    said = np.where(bears[:, None], np.log(weight)[None, :], np.log1p(-weight)[None, :])
    lands = np.array([d.lands for d in due])
    # a landing where weight should only move is a small matter; weight that moves where a foot should land is not the same thing
    apart = np.where(lands[:, None], 3.0 * found.shift[None, :], 0.3 * ~found.shift[None, :])
    return _Worth(
        odds, np.where(seen, settings.match_scale_ms, settings.guess_scale_ms), settings.foot_cost * other,
        np.maximum(said, -settings.kind_cost), apart, _placed(found, due, settings),
    )  # fmt: skip


def _cheapest(found: Candidates, due: Sequence[Due], at_s: Floats, gap_s: Floats, worth: _Worth, settings: TimingSettings) -> Match:
    n, m, ways = len(due), len(found.times_s), len(WAYS)
    gain = np.stack([_gains(found, at_s, gap_s, way, worth, settings) for way in WAYS])  # (W, N, M)
    odds = np.log(np.clip(found.strength, 1e-3, 1 - 1e-3)) - np.log1p(-np.clip(found.strength, 1e-3, 1 - 1e-3))
    skip = np.logaddexp(0, np.minimum(odds, settings.skip_odds)) * np.where(found.shift, 0.3, 1.0)
    passed = np.concatenate([[0.0], np.cumsum(skip)])  # cost of passing over the first c candidates
    miss = np.array([settings.miss_cost if d.lands else settings.shift_miss_cost for d in due])
    change = settings.mode_cost * (1 - np.eye(ways))
    # best[w, c]: the events so far are done, of the candidates the first c are used or passed over, and way w is danced now
    best = -passed - np.array([0.0] + [settings.mode_cost] * (ways - 1))[:, None]
    used, came, origin = (np.zeros((n, ways, m + 1), dtype=np.int64) for _ in range(3))
    each = np.arange(m + 1)
    for i in range(n):
        entering = best[None] - change[:, :, None]
        from_way = entering.argmax(axis=1)
        entered = entering.max(axis=1)
        unserved = entered - miss[i]
        value = unserved.copy()
        np.maximum(entered[:, :-1] + gain[:, i], unserved[:, 1:], out=value[:, 1:])
        use = value > unserved
        used[i] = use
        came[i] = from_way
        came[i, :, 1:] = np.where(use[:, 1:], from_way[:, :-1], from_way[:, 1:])
        value += passed
        run = np.maximum.accumulate(value, axis=1)  # passing over candidates after event i
        origin[i] = np.maximum.accumulate(np.where(value >= run, each, 0), axis=1)
        best = run - passed
    way, c, score = int(np.argmax(best[:, -1])), m, float(best[:, -1].max())
    step, ways_used = np.full(n, -1), np.zeros(n, dtype=np.int64)
    for i in range(n - 1, -1, -1):
        c = int(origin[i, way, c])
        ways_used[i] = way
        before = int(came[i, way, c])
        if used[i, way, c]:
            c -= 1
            step[i] = c
        way = before
    return Match(step, ways_used, np.full(n, np.nan), score, 0.0)


def _gains(
    found: Candidates, at_s: Floats, gap_s: Floats, way: tuple[bool, int], worth: _Worth, settings: TimingSettings
) -> Floats:
    """What it is worth (N, M) that candidate m serves event n, danced in a way; -inf out of reach."""
    mirror, behind = way
    off = 1000 * (found.times_s[None, :] - (at_s + behind * gap_s)[:, None])
    gain = worth.odds[None, :] - 1.5 * np.log1p((off / worth.scale_ms[None, :]) ** 2)
    gain = gain - worth.foot[int(mirror)] + worth.weight - worth.lands
    reach = np.minimum(settings.match_reach_ms, 900 * gap_s)[:, None]
    return np.where(np.abs(off) <= reach, gain, -np.inf) + worth.place


def _placed(found: Candidates, due: Sequence[Due], settings: TimingSettings) -> Floats:
    """What it is worth (N, M) where candidate m put its foot, for event n: the same in mirror image, as both are to the foot's side."""
    own = found.place * np.where(found.right, 1.0, -1.0)[:, None] ** np.array([[1, 0]])
    out = np.zeros((len(due), len(found.times_s)))
    worth: dict[str, Floats] = {}
    for i, d in enumerate(due):
        if not d.lands or not speaks(d) or turning(due, i):
            continue
        if d.move not in worth:
            far = beyond(d, own, settings)
            worth[d.move] = np.where(
                np.isfinite(far), np.maximum(settings.place_worth - far * settings.place_cost, -settings.place_most_cost), 0.0
            )
        out[i] = np.where(found.shift, 0.0, worth[d.move])
    return out
