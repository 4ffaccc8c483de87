"""Clip against sheet: which counts one dancer danced as written, where the sheet itself is in question, and whether restarts held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from motion.base.types import DanceSheet, Due, Flag
from motion.timing.consistency import repeats
from motion.timing.flags import Danced, in_sight, plain_sight
from motion.timing.foot_placement import elsewhere
from motion.timing.habits import LOST, spans
from motion.timing.settings import TimingSettings


def against_sheet(danced: Danced, flags: Sequence[Flag], sheet: DanceSheet, settings: TimingSettings) -> dict[str, Any]:
    """What review.json says of one dancer's clip against the sheet.

    judged, as_written: landings due and in sight, and those of them without a finding; differs: counts of the wall at which something
    differed: walls on which, of walls seen, what (kinds of findings, or "place" where the foot always goes elsewhere than the word puts
    it), and always: it does on most of at least two walls, which questions the sheet rather than the dancer. restarts: every wall that
    begins after a restart or a tag: caught true, false, or None where too little was seen.
    """
    sure = [f for f in flags if f.kind in LOST and f.sure >= settings.class_sure]
    usual = {e.i for e in elsewhere(danced.due, _places(danced), settings) if e.always}
    judged = as_written = 0
    differs = []
    for (count, foot, move), events in sorted(repeats(danced.due).items()):
        seen = [i for i in events if _judged(danced, i, settings)]
        what: dict[int, set[str]] = {}
        for i in seen:
            found = {f.kind for f in sure if spans(f, danced.due[i].count)} | ({"place"} if i in usual else set())
            if found:
                what[danced.due[i].wall] = found
        judged += len(seen)
        as_written += len(seen) - len(what)
        if what:
            always = len(what) >= 2 and len(what) > len(seen) / 2
            kinds = sorted(set().union(*what.values()))
            differs.append(
                {
                    "count": count,
                    "foot": foot,
                    "move": move,
                    "walls": sorted(what),
                    "of": len(seen),
                    "what": kinds,
                    "always": always,
                }
            )
    return {"judged": judged, "as_written": as_written, "differs": differs, "restarts": _restarts(danced, sure, sheet, settings)}


def _judged(danced: Danced, i: int, settings: TimingSettings) -> bool:
    """Was event i danced in plain sight, or could it have been seen? Where an easier option is allowed, neither says anything."""
    if i in danced.excused:
        return False
    return plain_sight(danced.found, int(danced.match.step[i])) or in_sight(danced, i, settings)


def _places(danced: Danced) -> Any:
    """Where each event's own foot came to rest (N, 2), NaN where it is not known or the dance was in mirror image."""
    place = np.full((len(danced.due), 2), np.nan)
    for i, (d, s) in enumerate(zip(danced.due, danced.match.step, strict=True)):
        own = plain_sight(danced.found, int(s)) and danced.match.way[i] != 1 and d.lands
        if own and danced.found.right[s] == (d.foot == "right"):
            place[i] = danced.found.place[s]
    return place


def _restarts(danced: Danced, sure: Sequence[Flag], sheet: DanceSheet, settings: TimingSettings) -> list[dict[str, Any]]:
    cut = {r.wall: "restart" for r in sheet.restarts} | {t.wall: "tag" for t in sheet.tags}
    out = []
    for wall, kind in sorted(cut.items()):
        after = [i for i, d in enumerate(danced.due) if d.wall == wall + 1]
        if not after:
            continue
        first: Due = danced.due[after[0]]
        near = [i for i in after if danced.due[i].count < first.count + settings.restart_counts and danced.due[i].lands]
        seen = [i for i in near if _judged(danced, i, settings)]
        held = [i for i in seen if danced.match.step[i] >= 0 and not any(spans(f, danced.due[i].count) for f in sure)]
        caught = len(held) >= settings.restart_share * len(seen) if len(seen) >= settings.restart_least else None
        time_s = float(danced.at_s[after[0]])
        out.append(
            {"wall": wall + 1, "after": kind, "time_s": round(time_s, 4), "seen": len(seen), "held": len(held), "caught": caught}
        )
    return out
