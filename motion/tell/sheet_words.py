"""What report and page say for a choreographer: clip against sheet, restarts, the music's phrases, the spread of every count."""

from __future__ import annotations

from typing import Any

from motion.tell.words import Told, clock, count_name, listed, why_not

WHAT = {
    "missed": "no landing", "other foot": "the other foot", "other step": "another step", "danced in mirror": "left and right exchanged",
    "stood still": "no step", "count behind": "a count behind", "count ahead": "a count ahead",
    "place": "the foot goes elsewhere than the word puts it",
}  # fmt: skip
NOTHING = "–"
BASIS = {
    "changes": "Phrases were heard in the sound, which changes at the same place {heard} times.",
    "entry": "Phrases are counted from where the music comes in, as most dance music is built; no later change was plain enough to check.",
}


def sheet_told(dancer: dict[str, Any]) -> Told | None:
    """Does the clip equal the sheet: counts danced as written, counts that question the sheet, restarts; None without a sheet."""
    block = dancer.get("sheet")
    if not block or not block["judged"]:
        return None
    words = [f"{block['as_written']} of the {block['judged']} landings that could be judged were danced as the sheet writes them."]
    for row in (r for r in block["differs"] if r["always"]):
        words.append(
            f"Count {count_name(row['count'])} differs on {len(row['walls'])} of {row['of']} walls ({_what(row)}): "
            "does the sheet say what is meant?"
        )
    for one in block["restarts"]:
        name = f"The {one['after']} before wall {one['wall']}, at {clock(one['time_s'])},"
        words.append(
            {True: f"{name} was caught.", False: f"{name} was not caught.", None: f"{name} could not be judged."}[one["caught"]]
        )
    figures = [
        f"Count {count_name(row['count'])} ({row['foot']} {row['move']}): {_what(row)}, on {len(row['walls'])} of {row['of']} walls "
        f"({listed([str(w) for w in row['walls']])})."
        for row in block["differs"]
    ]
    figures += [
        f"Wall {one['wall']} after the {one['after']}: {one['held']} of {one['seen']} landings in sight danced as written in its first "
        "eight counts."
        for one in block["restarts"]
    ]
    return Told(" ".join(words), tuple(figures))


def phrase_told(review: dict[str, Any]) -> Told | None:
    """Do the walls begin with the music's phrases; None without a sheet or beat."""
    block = review.get("phrase")
    if block is None:
        return None
    reason = why_not(block)
    if reason:
        return Told(f"Whether the dance fits the music's phrases: cannot tell, because {reason}.")
    off = [w for w in block["walls"] if w["after"]]
    if not off:
        which = "Every wall" if len(block["walls"]) > 1 else "The only wall in this clip"
        words = f"{which} begins with a phrase of the music."
    else:
        words = " ".join(
            f"Wall {w['wall']} begins {_counts(w['after'])} into a phrase of the music." if w["after"] <= block["phrase_counts"] / 2
            else f"Wall {w['wall']} begins {_counts(block['phrase_counts'] - w['after'])} before a phrase of the music."
            for w in off
        )  # fmt: skip
        on = [str(w["wall"]) for w in block["walls"] if not w["after"]]
        words += f" With a phrase: wall{'s' if len(on) > 1 else ''} {listed(on)}." if on else ""
    figures = [
        f"Wall {w['wall']}, count 1 at {clock(w['time_s'])}: {_counts(w['after'])} after a phrase's start." for w in block["walls"]
    ]
    basis = BASIS[block["basis"]].format(heard=block["heard"])
    return Told(f"{words} {basis}", (f"A phrase is taken as {block['phrase_counts']} counts.", *figures))


def spread_rows(dancer: dict[str, Any]) -> list[dict[str, str]]:
    """Every count of the wall with how far apart the walls lie, as words and figures; empty without two walls. What was measured
    nowhere has no column."""
    rows = [
        {
            "Count": f"{count_name(row['count'])} {row['foot']}",
            "Walls": str(row["walls"]),
            "Time": _cell(row["time_spread_ms"], "ms"),
            "One landing read to": f"± {2 * row['time_sigma_ms']:.0f} ms",
            "Place": _cell(row["place_spread"], "leg", 2),
            "Facing": _cell(row.get("facing_spread_deg"), "°"),
            "Bends": "; ".join(
                f"{b['side']} {b['joint']} {b['spread_deg']:.0f}° (read to ± {2 * b['sigma_deg']:.0f}°, {b['walls']} walls)"
                for b in row.get("bends", [])
            ) or NOTHING,
        }
        for row in dancer.get("walls") or [] if row["walls"] >= 2
    ]  # fmt: skip
    shown = [name for name in (rows[0] if rows else ()) if any(row[name] != NOTHING for row in rows)]
    return [{name: row[name] for name in shown} for row in rows]


def _what(row: dict[str, Any]) -> str:
    return listed([WHAT.get(kind, kind) for kind in row["what"]])


def _counts(number: int) -> str:
    return "1 count" if number == 1 else f"{number} counts"


def _cell(value: float | None, unit: str, digits: int = 0) -> str:
    return NOTHING if value is None else f"{value:.{digits}f}{'' if unit == '°' else ' '}{unit}"
