"""What report and page say of the class as a whole, and of one dancer wall against wall; plain sentences from review.json's blocks."""

from __future__ import annotations

from typing import Any

from motion.report_words import clock
from motion.settings import SETTINGS


def class_told(review: dict[str, Any]) -> list[str]:
    """Sentences on the class: counts that most lost, how close together it danced, moments to watch; [] for fewer than two dancers.

    "Give or take" is two standard deviations over the landings that the figure rests on.
    """
    block = review.get("class")
    if not block:
        return []
    out = []
    for run in block["lost"]:
        upto = f" for {run['until_count'] - run['count'] + 1:.0f} counts" if run["until_count"] > run["count"] else ""
        out.append(f"Worth teaching again: {run['said']}{upto}; {len(run['dancers'])} of the {run['of']} dancers in sight lost it.")
    if not out:
        out.append("No count was lost by most of the class.")
    alone = sorted({one["dancer"] for one in block["alone"]})
    if alone:
        who = ", ".join(str(n) for n in alone)
        out.append(
            f"Would like a minute with you, for something that nobody else had: dancer{'s' if len(alone) > 1 else ''} {who}."
        )
    if block["together_ms"] is not None:
        spreads = [c for c in block["counts"] if c["spread_ms"] is not None]
        landings = sum(c["landings"] for c in spreads)
        out.append(
            f"How close together: on a usual count, two landings in three lie within {block['together_ms']:.0f} ms of the class's own "
            f"middle ({landings} landings on {len(spreads)} counts)."
        )
    else:
        out.append("How close together: not measured, because too few dancers were in sight on the same counts.")
    return out


def moments_told(review: dict[str, Any]) -> list[str]:
    """The moments most worth watching, each with its time."""
    return [f"{clock(m['time_s'])}: {m['said']}" for m in (review.get("class") or {}).get("watch", [])]


def walls_told(dancer: dict[str, Any]) -> list[str]:
    """Where one wall differs from this dancer's other walls; a sentence on what was compared comes last; [] without a dance sheet."""
    rows = dancer.get("walls")
    if not rows:
        return []
    out = []
    for row in rows:
        part = row["count"] - int(row["count"])
        mark = "" if part < 0.01 else "&" if abs(part - 0.5) < 0.1 else "a"
        for one in row["differs"]:
            size = f"{one['size']:.0f} ms" if one["unit"] == "ms" else f"{one['size']:.1f} of a leg's length"
            give = f"{2 * row['time_sigma_ms']:.0f} ms" if one["unit"] == "ms" else "0.2"
            what = "the landing came at another time" if one["what"] == "time" else "the foot went to another place"
            out.append(f"Count {int(row['count'])}{mark}, wall {one['wall']}: {what}, {size} (± {give}) from the other walls.")
    most = max(row["walls"] for row in rows)
    if most < 3:
        out = [_two_walls(rows)]
    elif not out:
        out.append("Every wall that could be compared is like the others.")
    return [*out, f"Compared: {len(rows)} steps of the dance, on up to {most} walls each."]


def _two_walls(rows: list[dict[str, Any]]) -> str:
    """Of two walls that differ nobody can say which is the odd one."""
    apart = SETTINGS.timing.wall_time_ms / 2**0.5  # a standard deviation of two landings that lie wall_time_ms apart
    late = sorted({int(row["count"]) for row in rows if (row["time_spread_ms"] or 0.0) > apart})
    if not late:
        return "The two walls are alike in time; with two walls, places of the feet are not compared."
    counts = ", ".join(str(c) for c in late)
    where = f"on count{'s' if len(late) > 1 else ''} {counts}"
    return f"The two walls differ in time {where}; with two walls it cannot be said which is the odd one."
