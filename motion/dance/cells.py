"""What stands in one cell of a dance sheet: counts and spans, feet, moves and figures, turns; and text that is safe to export."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from motion.base.errors import SheetError
from motion.base.types import Foot
from motion.dance.figures import MOVES, OTHER_WORDS, figures_by_name, plain_name
from motion.dance.settings import DANCE

HALF = 0.5  # count of "&" after its number
LATE_HALF = 2 / 3  # count of "a" after its number
#: How lines of prose within a section stand among its headings: as words of the section, or as words that wait to become steps.
NOTE, WAITS = "note: ", "waits: "

TURNS_DEG: dict[str, float] = {"1/8": 45.0, "1/4": 90.0, "1/2": 180.0, "3/4": 270.0, "full": 360.0}
_ALLOWED_COUNTS = "Allowed are a count (1), a half count (1& or 1a), or for a figure a span (1-4 or 1 to 4)"
_ALLOWED_TURNS = "Allowed are nothing, or 1/8, 1/4, 1/2, 3/4 or full with L or R"
_COUNT = re.compile(r"(\d{1,6})\s*(&|and|a)?")
_SPAN = re.compile(r"(\d{1,6})\s*(?:-|–|to)\s*(\d{1,6})\s*(?:&|and)?")
_SPAN_ALOUD = re.compile(r"(\d{1,6})(?:\s*(?:&|and)\s*\d{1,6})*\s*(?:&|and)\s*(\d{1,6})\s*(?:&|and)?")
_DATE = re.compile(r"\d{1,4}[-. /](\d{1,2}[-. /]\d{2,4}|[a-z]{3,9}([-. /]\d{2,4})?)|[a-z]{3,9}[-. /]\d{1,4}")
_TURN = re.compile(r"(1/8|1/4|1/2|3/4|full)(?:turn)?(l|r|left|right)|(l|r|left|right)(1/8|1/4|1/2|3/4|full)(?:turn)?")
_FEET: dict[str, Foot | None] = {
    "": None, "-": None, "both": None, "r": "right", "rf": "right", "right": "right", "l": "left", "lf": "left", "left": "left",
}  # fmt: skip
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class Place:
    """Where in a sheet something stands, for the sentences about it."""

    sheet: str
    row: int

    def error(self, column: str, found: str, problem: str, remedy: str) -> SheetError:
        """A SheetError that names row, column (or "line ..." of the header) and what was found."""
        where = column if column.startswith("line ") else f"column {column}"
        found = " ".join("".join(c if c.isprintable() else " " for c in found).split())  # a stray quote swallows whole rows
        shown = found if len(found) <= 40 else found[:37] + "..."
        return SheetError(f"Row {self.row} of {self.sheet}, {where}: '{shown}' {problem}", remedy)


def nearest(word: str, known: list[str]) -> str:
    """The known words that `word` may have been meant as, quoted and joined by "or"; "" if none is near."""
    begun = [k for k in known if k.startswith((f"{word} ", f"{word}-"))]
    near = begun[:3] or difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return " or ".join(f"'{k}'" for k in near)


def read_count(text: str, previous: int | None, place: Place) -> tuple[float, int | None]:
    """A count cell as (first count, last whole count of a span or None). previous: the whole count before, for a "&" alone."""
    found = text.casefold()
    if found in ("&", "and", "a") and previous is not None:
        return previous + (LATE_HALF if found == "a" else HALF), None
    single = _COUNT.fullmatch(found)
    if single:
        whole, half = int(single[1]), single[2]
        _limit(whole, text, place)
        return whole + (0.0 if half is None else LATE_HALF if half == "a" else HALF), None
    span = _SPAN.fullmatch(found) or _SPAN_ALOUD.fullmatch(found)
    if span:
        first, last = int(span[1]), int(span[2])
        _limit(first, text, place)
        _limit(last, text, place)
        if last <= first:
            raise place.error("count", text, "ends before it has begun", "Write the first count before the last, such as 1 to 4")
        return float(first), last
    if _DATE.fullmatch(found):
        raise place.error("count", text, "looks like a span that a spreadsheet turned into a date", "Write it as 1 to 4")
    aloud = re.search(r"[^\W\d]{3,}\s+[^\W\d]{2,}|\d\s+[^\W\d]{3,}", found)
    words = ". A dance in words is pasted into the page Dance sheet" if aloud else ""
    raise place.error("count", text, "is not a count", f"{_ALLOWED_COUNTS}{words}")


def _limit(whole: int, text: str, place: Place) -> None:
    most = DANCE.most_counts
    if not 1 <= whole <= most:
        raise place.error("count", text, f"lies outside 1 to {most}", "Counts begin at 1 and run on through the wall")


def read_foot(text: str, place: Place) -> Foot | None:
    """R or L in any spelling; None when empty or both."""
    found = text.casefold()
    if found not in _FEET:
        near = nearest(found, ["right", "left", "both"])
        hint = f"Did you mean {near}? " if near else ""
        raise place.error("foot", text, "is not a foot", hint + "Allowed are R, L, or nothing for a hold and for both feet")
    return _FEET[found]


def read_turn(text: str, place: Place) -> float:
    """Degrees clockwise; 0 when empty."""
    found = text.casefold()
    if found in ("", "-", "none"):
        return 0.0
    for sign, words in (("¼", "1/4"), ("½", "1/2"), ("¾", "3/4"), ("⅛", "1/8")):
        found = found.replace(sign, words)
    turn = _TURN.fullmatch(re.sub(r"[\s.,]", "", found))
    if turn is None:
        if re.sub(r"\s", "", found) in TURNS_DEG:
            raise place.error("turn", text, "does not say which way", "Add L or R, such as 1/4 L")
        raise place.error("turn", text, "is not a turn", _ALLOWED_TURNS)
    amount, side = (turn[1], turn[2]) if turn[1] else (turn[4], turn[3])
    return TURNS_DEG[amount] * (1 if side.startswith("r") else -1)


def read_move(text: str, place: Place, *, span: bool) -> str:
    """The move as the table names it, or a figure's name as written, in small letters. span: the row fills several counts.

    SheetError with the nearest known word for anything else.
    """
    found = " ".join(text.casefold().replace("-", " ").split())
    move = found if found in MOVES else OTHER_WORDS.get(found)
    figures = figures_by_name()
    plain = plain_name(text)[0] if found else ""
    if plain in figures and (span or not move):
        return found
    if move:
        return move
    if not found:
        raise place.error("move", text, "says nothing", "Write a move, such as side or touch, or hold for a count without a step")
    near = nearest(plain, [*MOVES, *OTHER_WORDS, *figures])
    hint = f"Did you mean {near}? " if near else ""
    raise place.error(
        "move",
        text,
        "is not a move or figure known here",
        f"{hint}Moves are {', '.join(MOVES)}; or a figure, such as vine or coaster",
    )


#: Parts of a count below which it is written as a whole one, and as its &; what lies later is an a.
WHOLE_BELOW, AND_BELOW = 0.25, 0.6


def count_text(count: float) -> str:
    """1, 3& or 3a."""
    whole = int(count)
    part = count - whole
    return f"{whole}{'' if part < WHOLE_BELOW else '&' if part < AND_BELOW else 'a'}"


def turn_text(turn_deg: float) -> str:
    """1/4 L, or nothing; an amount that the sheet has no word for is told in degrees."""
    if not turn_deg:
        return ""
    side = "R" if turn_deg > 0 else "L"
    return next((f"{name} {side}" for name, deg in TURNS_DEG.items() if deg == abs(turn_deg)), f"{abs(turn_deg):g} degrees {side}")


def safe_text(text: str) -> str:
    """The text with a quotation mark before it if a spreadsheet would take it for a formula."""
    return f"'{text}" if text.lstrip("'").startswith(_FORMULA_STARTS) else text


def plain_text(cell: str) -> str:
    """What was meant by a cell: the opposite of safe_text."""
    return cell[1:] if cell.startswith("'") and cell.lstrip("'").startswith(_FORMULA_STARTS) else cell
