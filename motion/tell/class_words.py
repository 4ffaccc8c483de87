"""What report and page say of the class as a whole, and of one dancer wall against wall; plain sentences from review.json's blocks."""

from __future__ import annotations

from typing import Any

from motion.review.settings import SETTINGS
from motion.tell.reteach import doubted, how_many, its, span
from motion.tell.words import PLACE_GIVE, clock, count_name, listed, share_words, why_not

#: Two standard deviations of a difference between walls, as read on drawn dancers: degrees.
FACING_GIVE = 30
NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five"}


def class_told(review: dict[str, Any]) -> list[str]:
    """Sentences on the class: counts that most lost, who is alone with something, how close together it danced; [] for fewer than two
    dancers. `class_figures` and `together_rows` have the numbers."""
    block = review.get("class")
    if not block:
        return []
    if doubt := doubted(review):
        out = [f"{doubt} Put the counts right before anything is taught again."]
    else:
        out = [
            f"Worth teaching again: {span(run, block)}; {how_many(run)} dancers in sight lost {its(run)}." for run in block["lost"]
        ]
    if not out:
        out.append("No count was lost by most of the class.")
    alone = sorted({one["dancer"] for one in block["alone"]})
    if alone:
        who = listed([_called(n, review) for n in alone])
        out.append(
            f"Would like a minute with you, for something that nobody else had: dancer{'s' if len(alone) > 1 else ''} {who}."
        )
    reason = not_together(review)
    if reason:
        out.append(f"How close together: not measured, because {reason}.")
    else:
        beats = review.get("beats", {})
        within = share_words(block["together_ms"], float(beats["tempo_bpm"])) if "tempo_bpm" in beats else "reach"
        out.append(f"How close together: on a usual count, two landings in three lie within {within} of the class's own middle.")
    own = [int(one["id"]) for one in review.get("dancers", ()) if one.get("own_version")]
    if own:
        who = listed([_called(n, review) for n in own])
        does = "s {} dance versions" if len(own) > 1 else " {} dances a version"
        out.append(f"Dancer{does.format(who)} of their own, and {'are' if len(own) > 1 else 'is'} not counted here.")
    return out


def not_counted(review: dict[str, Any]) -> list[str]:
    """How many were seen on too few counts to be counted among the class, or dance a version of their own; nobody is named."""
    counts, out = review["class"]["counts"], []
    if many := sum(sum(d["id"] in c.get("hidden", ()) for c in counts) > len(counts) / 2 for d in review["dancers"]):
        was = "1 dancer was" if many == 1 else f"{many} dancers were"
        out.append(f"{was} hidden on most counts, and nothing is said of them: see whether somebody stands in front.")
    if many := sum(bool(d.get("own_version")) for d in review["dancers"]):
        does = "1 dancer dances a version" if many == 1 else f"{many} dancers dance versions"
        out.append(f"{does} of their own, and {'is' if many == 1 else 'are'} not counted here.")
    return out


def not_together(review: dict[str, Any]) -> str | None:
    """Why nothing is said of how close together the class of a review was: no beat, or too few dancers, and how many it takes."""
    block = review["class"]
    if why_not(review.get("beats")):
        return "the beat is not known"
    if block["together_ms"] is not None:
        return None
    least = SETTINGS.timing.spread_dancers
    named = NUMBERS.get(least, str(least))
    if block["dancers"] < least:
        return f"it needs at least {named} dancers, and {NUMBERS.get(block['dancers'], block['dancers'])} could be judged"
    return f"it needs at least {named} dancers in sight on the same count"


def class_figures(review: dict[str, Any]) -> list[str]:
    """The numbers to `class_told`: how close together the class was, and what that rests on."""
    block = review.get("class")
    if not block or block["together_ms"] is None:
        return []
    spreads = [c for c in block["counts"] if c["spread_ms"] is not None]
    landings = sum(c["landings"] for c in spreads)
    return [
        f"Two landings in three lie within {block['together_ms']:.0f} ms of the class's own middle on a usual count ({landings} landings "
        f"on {len(spreads)} counts), each dancer's own steady lead or lag taken off."
    ]


def moments_told(review: dict[str, Any]) -> list[str]:
    """The moments most worth watching, each with its time; [] while the counts are in doubt."""
    if doubted(review):
        return []
    out = []
    for m in (review.get("class") or {}).get("watch", []):
        said = str(m["said"])
        if len(m["dancers"]) == 1:
            number = m["dancers"][0]
            said = said.replace(f"Dancer {number}:", f"Dancer {_called(number, review)}:", 1)
        out.append(f"{clock(m['time_s'])}: {said}")
    return out


def _called(number: int, review: dict[str, Any]) -> str:
    """A dancer's number with the label that a person chose."""
    labels = {one["id"]: one["label"] for one in review.get("dancers", [])}
    return f"{number} · {labels[number]}" if labels.get(number) else str(number)


def walls_told(dancer: dict[str, Any], beats: dict[str, Any] | None = None) -> list[str]:
    """Where one wall differs from this dancer's other walls; a sentence on what was compared comes last; [] without a dance sheet or
    with one wall. How much is told as a share of a count where beats are given (`walls_figures` has the numbers)."""
    rows = dancer.get("walls") or []
    most = max((row["walls"] for row in rows), default=0)
    if most < 2:
        return []
    out = [
        f"Count {count_name(row['count'])}, wall {one['wall']}: {_difference(one, beats)}."
        for row in rows for one in row["differs"]
    ]  # fmt: skip
    if most < 3:
        out = [_two_walls(rows)]
    elif not out:
        out.append("Every wall that could be compared is like the others.")
    compared = sum(row["walls"] >= 2 for row in rows)
    return [*out, f"Compared: {compared} steps of the dance, on up to {most} walls each."]


def walls_figures(dancer: dict[str, Any]) -> list[str]:
    """The numbers to `walls_told`: how much one wall differs from the others, and how exactly that can be read."""
    rows = dancer.get("walls") or []
    return [
        f"Count {count_name(row['count'])}, wall {one['wall']}, against the other walls: {_size(one, row)}."
        for row in rows for one in row["differs"]
    ]  # fmt: skip


def told_difference(one: dict[str, Any], row: dict[str, Any], beats: dict[str, Any]) -> tuple[str, str]:
    """One difference of a row of `walls`, in words and in figures."""
    return _difference(one, beats), _size(one, row)


def _difference(one: dict[str, Any], beats: dict[str, Any] | None) -> str:
    """What is otherwise on one wall than on the others, and about how much."""
    more = (one.get("by") or 0.0) > 0
    if one["what"] == "time":
        timed = beats is not None and not why_not(beats)
        share = f", by {share_words(one['size'], float(beats['tempo_bpm']))}" if timed and beats else ""
        return f"the landing came {'later' if more else 'earlier'} than on the other walls{share}"
    if one["what"] == "place":
        about = "half" if one["size"] < 0.63 else "three quarters of" if one["size"] < 0.88 else "as much as"
        return f"the foot came down elsewhere than on the other walls, {about} a leg's length away"
    if one["what"] == "facing":
        turn = "an eighth" if one["size"] < 68 else "a quarter" if one["size"] < 135 else "half"
        return f"the dancer faced further to the {'right' if more else 'left'} than on the other walls, by about {turn} of a turn"
    return f"the {one['what']} was {'more' if more else 'less'} bent than on the other walls"


def _size(one: dict[str, Any], row: dict[str, Any]) -> str:
    by = one["size"] if one.get("by") is None else one["by"]
    give = {"time": f" ± {2 * row['time_sigma_ms']:.0f}", "place": f" ± {PLACE_GIVE}", "facing": f" ± {FACING_GIVE}"}
    known = next((2 * b["sigma_deg"] for b in row.get("bends", []) if f"{b['side']} {b['joint']}" == one["what"]), None)
    told = give.get(one["what"], "" if known is None else f" ± {known:.0f}")
    return (
        f"{one['what']} {by:+g}{told} {one['unit']}".replace("-", "−")
        if one["what"] != "place"
        else f"place {by:g}{told} {one['unit']}"
    )


def together_rows(review: dict[str, Any]) -> list[dict[str, str]]:
    """Every count with how close together the class danced it and how many lost it; empty for fewer than two dancers."""
    return [
        {
            "Count": str(c["said"]),
            "Could be judged": str(c["judged"]),
            "Lost it": str(len(c["trouble"])),
            "Apart": "–" if c["spread_ms"] is None else f"{c['spread_ms']:.0f} ms",
            "Surely between": (
                "–"
                if c.get("spread_interval_ms") is None
                else f"{c['spread_interval_ms'][0]:.0f} and {c['spread_interval_ms'][1]:.0f} ms"
            ),
            "Landings": str(c["landings"]),
        }
        for c in (review.get("class") or {}).get("counts", [])
    ]


def _two_walls(rows: list[dict[str, Any]]) -> str:
    """Of two walls that differ nobody can say which is the odd one."""
    apart = SETTINGS.timing.wall_time_ms / 2**0.5  # a standard deviation of two landings that lie wall_time_ms apart
    late = sorted({int(row["count"]) for row in rows if (row["time_spread_ms"] or 0.0) > apart})
    if not late:
        return "The two walls are alike in time; with two walls, places of the feet are not compared."
    counts = listed([str(c) for c in late])
    where = f"on count{'s' if len(late) > 1 else ''} {counts}"
    return f"The two walls differ in time {where}; with two walls it cannot be said which is the odd one."
