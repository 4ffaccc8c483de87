"""The class as a whole: which counts it lost, who is alone with a problem, how together it was, which moments to watch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from motion.base.statistics import spread_interval
from motion.base.types import Due, Flag
from motion.timing.flags import Danced, in_sight, plain_sight, where
from motion.timing.settings import TimingSettings

#: Findings that mean "this count was not danced as it is".
TROUBLE = frozenset({
    "late", "early", "missed", "other foot", "other step", "danced in mirror", "stood still", "count behind", "count ahead",
})  # fmt: skip


def class_of(danced: Sequence[tuple[int, Danced, Sequence[Flag]]], settings: TimingSettings) -> dict[str, Any] | None:
    """What is said of the class, as plain numbers for review.json; None for fewer than two dancers of one dance.

    danced: (dancer's number, what they danced, their findings), all of the same due events. For each count: how many dancers could
    be judged, who could not (hidden), how many had trouble there, and how far apart the landings of those who danced it lay (standard
    deviation of landings less each dancer's own usual time, with its 95 % interval and the count of them). Nobody is ranked.
    """
    if len(danced) < 2:
        return None
    due = danced[0][1].due
    counts = [_count(i, d, danced, settings) for i, d in enumerate(due) if d.lands]
    lost = [c for c in counts if c["judged"] >= 2 and len(c["trouble"]) >= max(2, settings.lost_share * c["judged"])]
    spreads = [c["spread_ms"] for c in counts if c["spread_ms"] is not None]
    return {
        "dancers": len(danced),
        "together_ms": round(float(np.median(spreads)), 1) if spreads else None,
        "counts": counts,
        "lost": _runs(lost),
        "alone": _alone(danced, counts),
        "watch": _watch(danced, lost, settings),
    }


def _count(i: int, d: Due, danced: Sequence[tuple[int, Danced, Sequence[Flag]]], settings: TimingSettings) -> dict[str, Any]:
    judged, trouble, hidden, offsets = 0, [], [], []
    for number, one, flags in danced:
        held = plain_sight(one.found, int(one.match.step[i]))
        if not held and not in_sight(one, i, settings):
            hidden.append(number)
            continue
        judged += 1
        if any(f.kind in TROUBLE and f.sure >= settings.class_sure and _spans(f, d.count) for f in flags):
            trouble.append(number)
        if held and one.timed and np.isfinite(one.match.offset_ms[i]):
            offsets.append(float(one.match.offset_ms[i] - one.match.lag_ms))
    spread = float(np.std(offsets, ddof=1)) if len(offsets) >= settings.spread_dancers else None
    between = None if spread is None else [round(edge, 1) for edge in spread_interval(spread, len(offsets))]
    return {
        "count": d.count, "wall": d.wall, "count_in_wall": d.count_in_wall, "said": where(d), "judged": judged, "trouble": trouble,
        "hidden": hidden,
        "spread_ms": None if spread is None else round(spread, 1), "spread_interval_ms": between, "landings": len(offsets),
    }  # fmt: skip


def _spans(flag: Flag, count: float) -> bool:
    return flag.count is not None and flag.count - 0.01 <= count <= (flag.until_count or flag.count) + 0.01


def _within(flag: Flag, larger: Flag) -> bool:
    """Does a longer finding contain this one, as a stretch does a count of it?"""
    if flag.count is None or larger.count is None or larger.until_count is None:
        return False
    until = flag.until_count or flag.count
    longer = larger.until_count - larger.count > until - flag.count
    return longer and larger.count - 0.01 <= flag.count and until <= larger.until_count + 0.01


def _told_in(flag: Flag, number: int, moment: dict[str, Any]) -> bool:
    """Is this dancer's finding a part of a moment to watch that is theirs as well?"""
    last = moment["until_count"] or moment["count"]
    if flag.count is None or number not in moment["dancers"]:
        return False
    return bool(moment["count"] - 0.01 <= flag.count and (flag.until_count or flag.count) <= last + 0.01)


def _runs(lost: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Counts that most of the class lost, neighbours told as one stretch."""
    out: list[dict[str, Any]] = []
    for c in lost:
        if out and c["count"] - out[-1]["until_count"] <= 1.01:
            out[-1]["until_count"] = c["count"]
            out[-1]["dancers"] = sorted({*out[-1]["dancers"], *c["trouble"]})
            out[-1]["of"] = max(out[-1]["of"], c["judged"], len(out[-1]["dancers"]))
        else:
            first = {"count": c["count"], "until_count": c["count"], "said": c["said"], "of": c["judged"]}
            out.append({**first, "dancers": list(c["trouble"])})
    return out


def _alone(danced: Sequence[tuple[int, Danced, Sequence[Flag]]], counts: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Findings sure enough to be put to a person that nobody else had at that count, but for those within a larger one of theirs."""
    by_count = {c["count"]: c for c in counts}
    out = []
    for number, _, flags in danced:
        mine = []
        for f in flags:
            at = by_count.get(f.count) if f.count is not None else None
            if f.named and f.kind in TROUBLE and at is not None and at["trouble"] == [number] and at["judged"] >= 2:
                mine.append(f)
        for f in (f for f in mine if not any(_within(f, g) for g in mine)):
            out.append({"dancer": number, "count": f.count, "until_count": f.until_count, "kind": f.kind, "time_s": f.time_s})
    return out


def _watch(
    danced: Sequence[tuple[int, Danced, Sequence[Flag]]], lost: Sequence[dict[str, Any]], settings: TimingSettings
) -> list[dict[str, Any]]:
    """The few moments most worth watching: what most lost first, then the surest of what is one dancer's."""
    at = {d.count: float(t) for d, t in zip(danced[0][1].due, danced[0][1].at_s, strict=True)}
    runs = sorted(_runs(lost), key=lambda r: -len(r["dancers"]))
    out = [
        {
            "time_s": at[r["count"]], "count": r["count"], "until_count": r["until_count"], "dancers": r["dancers"],
            "said": f"{len(r['dancers'])} of {r['of']} dancers lost {r['said']}.",
        }
        for r in runs
    ]  # fmt: skip
    single = sorted(((f, n) for n, _, flags in danced for f in flags if f.named), key=lambda pair: -pair[0].sure)
    for f, number in single:
        if len(out) >= settings.watch_moments:
            break
        if all(abs(f.time_s - o["time_s"]) > settings.watch_apart_s and not _told_in(f, number, o) for o in out):
            said = f"Dancer {number}: {f.words}"
            out.append({"time_s": f.time_s, "count": f.count, "until_count": f.until_count, "dancers": [number], "said": said})
    return sorted(out[: settings.watch_moments], key=lambda o: o["time_s"])
