"""What to teach a class again: the stretches that most of it lost, the sheet's steps there, what may help, and when to doubt the counts.

Pure functions on the blocks of review.json. Nobody is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from motion.base.errors import SheetError
from motion.base.types import SheetRow
from motion.dance.sheet import parse_sheet
from motion.review.settings import SETTINGS, Settings
from motion.tell.habit_words import CUES
from motion.tell.words import count_name, listed

#: What a class did where it lost a count, and what may help: about the music and the step's word, not about the body.
HELP = {
    "late": f"Most came late: {CUES['late']}.",
    "early": f"Most came early: {CUES['early']}.",
    "missed": "For most, a landing is missing: call the step's word just before its count.",
    "stood still": "Most stood still: dance this stretch once slowly, without music, and call each word just before its count.",
    "other foot": "Most used the other foot: stop on the count before, and ask which foot is free.",
    "other step": "Most danced another step: show it once, and call its word just before its count.",
    "danced in mirror": "Left and right were exchanged: dance it once with the class behind you, facing the same way.",
    "count behind": "Most were a count behind: count aloud from four counts before, and clap this one.",
    "count ahead": "Most were a count ahead: count aloud from four counts before, and clap this one.",
}
#: Where most of a class lost most of a dance by the same thing, that thing is more likely ours than theirs.
DOUBTS = {
    "count ahead": (
        "Most of the class was a count ahead nearly throughout. Then it is likelier that count 1 was taken a count too late than that "
        "the class is ahead."
    ),
    "count behind": (
        "Most of the class was a count behind nearly throughout. Then it is likelier that count 1 was taken a count too early than that "
        "the class is behind."
    ),
}
DOUBT = "Most of the class lost most of the dance. See first whether this is the sheet of what was danced, and whether count 1 is right."
#: Habits of a whole class, which no other count 1 and no other sheet would mend.
HABITS = ("late", "early", "danced in mirror", "stood still")


def teach_again(review: dict[str, Any], *, settings: Settings = SETTINGS) -> tuple[str, ...]:
    """For every stretch that the class lost: which steps of the sheet those are, what most did there, and what may help; () where the
    counts themselves are in doubt, for then nobody can say what was lost."""
    if doubted(review, settings=settings):
        return ()
    out = []
    block = review.get("class") or {}
    for run in block.get("lost", []):
        steps = _steps_of(review, run)
        written = f" (on the sheet: {listed(steps)})" if 0 < len(steps) <= settings.desk.taught_steps else ""
        kind = _usual_trouble(review, run, settings)
        out.append(f"{capital(span(run, block))}{written}. {HELP[kind] if kind else ''}".rstrip())
    return tuple(out)


def doubted(review: dict[str, Any], *, settings: Settings = SETTINGS) -> str | None:
    """Why what was lost speaks against the counts or the sheet rather than the class; None where it does not.

    A class that lost one stretch of more than half of all counts, and not by a habit such as coming late, has hardly done so.
    """
    block = review.get("class") or {}
    for run in block.get("lost", []):
        if 2 * len(_counts_of(block, run)) > len(block["counts"]):
            kind = _usual_trouble(review, run, settings)
            if kind not in HABITS:
                return DOUBTS.get(kind or "", DOUBT)
    return None


def span(run: dict[str, Any], block: dict[str, Any]) -> str:
    """ "count 5 of wall 1", "counts 5 to 8 of wall 1", "count 31 of wall 1 to count 2 of wall 2"; block: the class of the review."""
    last = next((c for c in reversed(_counts_of(block, run)) if "count_in_wall" in c), None)
    first = next((c for c in _counts_of(block, run) if "count_in_wall" in c), None)
    if first is None or last is None or first is last:
        return str(run["said"])
    if first["wall"] == last["wall"]:
        return f"counts {count_name(first['count_in_wall'])} to {count_name(last['count_in_wall'])} of wall {first['wall']}"
    return f"{run['said']} to {last['said']}"


def its(run: dict[str, Any]) -> str:
    """What a lost stretch is called the second time: one count, or several."""
    return "it" if run["until_count"] - run["count"] < 0.01 else "them"


def how_many(run: dict[str, Any]) -> str:
    """ "2 of the 3", "all 3"."""
    return f"all {run['of']}" if len(run["dancers"]) == run["of"] else f"{len(run['dancers'])} of the {run['of']}"


def capital(words: str) -> str:
    """Words as they begin a sentence."""
    return words[:1].upper() + words[1:]


def flags_of(dancer: dict[str, Any]) -> Sequence[dict[str, Any]]:
    """A dancer's findings; () where none could be told."""
    return dancer["flags"] if isinstance(dancer["flags"], list) else ()


def written_rows(review: dict[str, Any]) -> tuple[SheetRow, ...]:
    """The rows of one wall as the review's sheet writes them; () without a sheet and for a phrased dance. Raises SheetError."""
    dance = review.get("dance")
    if not dance:
        return ()
    sheet = parse_sheet(dance["written"], dance["title"])
    return () if sheet.parts else sheet.rows


def _counts_of(block: dict[str, Any], run: dict[str, Any]) -> list[dict[str, Any]]:
    return [c for c in block["counts"] if run["count"] - 0.01 <= c["count"] <= run["until_count"] + 0.01]


def _steps_of(review: dict[str, Any], run: dict[str, Any]) -> list[str]:
    """The sheet's own rows of a stretch, as "left behind"; [] where the sheet cannot be read or the stretch is no plain part of a wall."""
    try:
        rows = written_rows(review)
    except SheetError:
        return []
    return [
        f"{row.foot or 'both feet'} {row.move}"
        for c in _counts_of(review["class"], run)
        if (row := next((r for r in rows if abs(r.count - c.get("count_in_wall", c["count"])) < 0.05 and r.move != "hold"), None))
        is not None
    ]


def _usual_trouble(review: dict[str, Any], run: dict[str, Any], settings: Settings) -> str | None:
    """The kind of finding that most of those had who lost a stretch; None where they had different ones."""
    kinds: dict[str, set[int]] = {}
    for dancer in (d for d in review.get("dancers", ()) if d["id"] in run["dancers"]):
        for flag in flags_of(dancer):
            spans = flag["count"] is not None and flag["count"] <= run["until_count"] + 0.01
            if (
                spans
                and (flag["until_count"] or flag["count"]) >= run["count"] - 0.01
                and flag["sure"] >= settings.timing.class_sure
            ):
                kinds.setdefault(flag["kind"], set()).add(int(dancer["id"]))
    best = max((kind for kind in kinds if kind in HELP), key=lambda kind: len(kinds[kind]), default=None)
    return best if best is not None and len(kinds[best]) > len(run["dancers"]) / 2 else None
