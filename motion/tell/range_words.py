"""How far each joint moved, in words: whole ranges, ranges that were seen in part, and left beside right only where both were seen alike.

Pure functions on `dancers[].ranges` of review.json. "Give or take" means two standard deviations, about 19 times in 20.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from motion.base.types import JOINTS
from motion.review.settings import SETTINGS
from motion.tell.words import degrees, listed, used_words, view_words, why_not

#: Joints in the order in which they are told.
ORDER = ("hip", "knee", "ankle")
BESIDE, APART = "Left beside right", "Not to be compared: left and right were seen differently"
UNSEEN = "too few pictures show it from a side where its bending can be seen"


@dataclass(frozen=True)
class RangeRow:
    """One joint's row: how far it moved, how exactly, from where it was seen, in how many pictures; `why` if not measured. Where it
    is too uncertain to tell, `moved` says so, its give or take included."""

    joint: str
    moved: str
    give_or_take: str
    seen: str
    pictures: str
    why: str | None


def range_groups(dancer: dict[str, Any]) -> list[tuple[str, list[RangeRow]]] | str:
    """Rows of all joints under headings: first the joints of which left and right may be set beside each other, then the rest, all of
    the left side before all of the right. A sentence if no joint could be measured."""
    reason = why_not(dancer["ranges"])
    if reason:
        return f"Not measured: {reason}."
    found = {(r["side"], r["joint"]): r for r in dancer["ranges"]}
    pairs = [joint for joint in ORDER if seen_alike(found.get(("left", joint)), found.get(("right", joint)))]
    beside = [_row(side, joint, found) for joint in pairs for side in ("left", "right")]
    rest = [key for side in ("left", "right") for key in sorted(JOINTS, key=lambda k: ORDER.index(k[1])) if key[0] == side]
    apart = [_row(side, joint, found) for side, joint in rest if joint not in pairs]
    return [(heading, rows) for heading, rows in ((BESIDE, beside), (APART, apart)) if rows]


def _row(side: str, joint: str, found: dict[tuple[str, str], dict[str, Any]]) -> RangeRow:
    row, name = found.get((side, joint)), f"{side.capitalize()} {joint}"
    if row is None:
        return RangeRow(name, "", "", "", "", UNSEEN)
    moved, within = moved_words(row), f"± {degrees(2 * _sigma(row))}"
    if unclear := unclear_words(row):
        moved, within = unclear, "–"
    return RangeRow(name, moved, within, view_words(row["view_deg"]), used_words(row), None)


def seen_alike(left: dict[str, Any] | None, right: dict[str, Any] | None) -> bool:
    """May the ranges of a left and a right joint be set beside each other: both seen in about as much of the dance, and each about as
    often as the leg nearer the camera? Reviews from before that was kept do not say, and are not set beside each other."""
    if left is None or right is None:
        return False
    limits = SETTINGS.angles
    return all(
        left.get(key) is not None and right.get(key) is not None and abs(left[key] - right[key]) <= most
        for key, most in (("seen_share", limits.alike_share), ("near_share", limits.alike_near))
    )


def in_part(row: dict[str, Any]) -> bool:
    """Was the joint seen in so little of the dance that it may have done more unseen?"""
    share = row.get("seen_share")
    return share is not None and share < SETTINGS.angles.whole_share


def moved_words(row: dict[str, Any]) -> str:
    """How far a joint moved, which is what the give or take beside it belongs to, and between which bends; a joint that was seen in part
    of the dance moved at least so far."""
    through = f"{degrees(row['high_deg'] - row['low_deg'])} (from {degrees(row['low_deg'])} to {degrees(row['high_deg'])})"
    return f"at least {through}, seen in {row['seen_share']:.0%} of the dance" if in_part(row) else through


def unclear_words(row: dict[str, Any]) -> str | None:
    """What to say of a joint's range that is no larger than its own give or take; None where it is larger. Compared as they are shown,
    so that nobody reads "39°, give or take 39°" as a measurement."""
    through, give = row["high_deg"] - row["low_deg"], 2 * _sigma(row)
    if round(give) < round(through):
        return None
    return f"too uncertain to tell in this clip: about {degrees(through)}, give or take {degrees(give)}"


def _sigma(row: dict[str, Any]) -> float:
    """Of a range that is told as "at least" only what was seen is uncertain; reviews from before keep the two together."""
    return float(row.get("seen_sigma_deg", row["sigma_deg"]) if in_part(row) else row["sigma_deg"])


def sides_told(dancer: dict[str, Any]) -> str | None:
    """Why some joints' sides are not set beside each other, in a sentence; None where all are or nothing was measured."""
    if why_not(dancer["ranges"]):
        return None
    found = {(r["side"], r["joint"]): r for r in dancer["ranges"]}
    apart = [joint for joint in ORDER if not seen_alike(found.get(("left", joint)), found.get(("right", joint)))]
    both = [joint for joint in apart if ("left", joint) in found and ("right", joint) in found]
    if not both:
        return None
    return (
        f"Left and right {listed(both)} were seen differently: one was the nearer leg more often, or was seen in more of the dance. "
        "A difference between them may be the camera's. Film again from the other side to compare them."
    )
