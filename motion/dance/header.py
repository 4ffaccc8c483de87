"""The header of a dance sheet: the lines that begin with #, one value each."""

from __future__ import annotations

import re
from dataclasses import dataclass

from motion.base.errors import SheetError
from motion.dance.cells import Place
from motion.dance.settings import DANCE

HEADER_KEYS = ("title", "version", "counts", "walls", "metre", "level", "bpm", "intro", "half")
OTHER_KEYS = ("restart", "tag", "part", "parts", "order", "ending", "section")
#: Metres and the beats that the types carry for them. In 6/8 two counts fill a bar; sections are of 8 all the same.
METRES = {"4/4": 4, "3/4": 3, "2/4": 2, "6/8": 6}
_KEY_NAMES = {
    "heading": "section",
    "meter": "metre",
    "time": "metre",
    "count": "counts",
    "wall": "walls",
    "tempo": "bpm",
    "bridge": "tag",
}
_DANCED = re.compile(
    r"(?:on\s+|in\s+)?walls?\s+(\d{1,4}(?:\s*(?:,|and|&)\s*\d{1,4})*)\s*,?\s*after\s+(?:counts?\s+)?(\d{1,5})(?:\s*counts?)?\b(.*)",
    re.IGNORECASE | re.DOTALL,
)
_COUNTS = re.compile(r"\s*[,;]?\s*(\d{1,5})\s*counts?\b(.*)", re.IGNORECASE | re.DOTALL)
_NUMBER = re.compile(r"(\d{1,6}(?:\.\d+)?)[\s-]*(?:counts?|walls?|bpm)?", re.IGNORECASE)
_PART = re.compile(r"(?:part\s+)?(\S+?)(?:[\s,:;]+(\d{1,5})(?:\s*counts?)?)?", re.IGNORECASE)


@dataclass(frozen=True)
class HeaderValues:
    """The header's plain values."""

    title: str
    counts: int
    walls: int
    beats_per_bar: int
    bpm: float | None
    intro: str | None
    level: str | None
    version: str | None
    half_at: float | None


@dataclass(frozen=True)
class Danced:
    """Where a tag or restart falls: the walls, the count after which, its own counts (None: as many as its rows), the rest."""

    walls: tuple[int, ...]
    after: int
    counts: int | None
    note: str


def split_header(line: str) -> tuple[str, str]:
    """Key and value of a line that begins with #; the key is "" for a remark. Known keys come back in their usual spelling."""
    text = " ".join(line.lstrip("#").split())
    key, colon, value = text.partition(":")
    if not colon:
        return "", text
    plain = key.strip().casefold()
    plain = _KEY_NAMES.get(plain, plain)
    return (plain if plain in HEADER_KEYS or plain in OTHER_KEYS else key.strip()), value.strip()


def read_danced(value: str, key: str, place: Place) -> Danced:
    """Read "wall 3 after 32", with several walls, a number of counts for a tag, and a note behind it."""
    found = _DANCED.fullmatch(value)
    if found is None:
        raise place.error(
            f"line '# {key}'", value, f"does not say where the {key} falls", f"Write it as '# {key}: wall 3 after 16'"
        )
    walls = tuple(int(number) for number in re.findall(r"\d+", found[1]))
    after, rest = int(found[2]), found[3]
    if min(walls) < 1 or after < 1:
        raise place.error(f"line '# {key}'", value, "counts walls or counts from 0", "Both begin at 1")
    counts = None
    if key == "tag" and (sized := _COUNTS.fullmatch(rest)):
        counts, rest = int(sized[1]), sized[2]
    note = rest.strip(" ,;")
    return Danced(walls, after, counts, note[1:-1].strip() if note.startswith("(") and note.endswith(")") else note)


def read_part(value: str, place: Place) -> tuple[str, int | None]:
    """Read "A" or "A, 32 counts"."""
    found = _PART.fullmatch(value)
    if found is None:
        raise place.error("line '# part'", value, "is not a part", "Write it as '# part: A' or '# part: A, 32 counts'")
    return found[1], int(found[2]) if found[2] else None


def read_order(value: str) -> tuple[str, ...]:
    """Read "A B A" or "A, B, A"."""
    return tuple(name for name in re.split(r"[\s,;-]+", value) if name and name.casefold() != "part")


def header_values(values: dict[str, tuple[int, str]], sheet: str, rows_end: int, *, phrased: bool) -> HeaderValues:
    """Read the plain values, each given as (row, text). A phrased dance need not say counts and walls. SheetError names the row."""

    def number(key: str, low: float, high: float, *, whole: bool) -> float | None:
        if key not in values:
            return None
        row, text = values[key]
        found = _NUMBER.fullmatch(text)
        if not found or (whole and "." in found[1]) or not low <= float(found[1]) <= high:
            kind = "whole number" if whole else "number"
            raise Place(sheet, row).error(
                f"line '# {key}'", text, "cannot be used", f"Allowed is a {kind} from {low:g} to {high:g}"
            )
        return float(found[1])

    limits = DANCE
    counts = None if phrased else number("counts", 1, limits.most_counts, whole=True)
    walls = number("walls", 1, 4, whole=True)
    if not phrased and counts is None:
        raise SheetError(
            f"{sheet} does not say how many counts the dance has", f"Its rows end on count {rows_end}: add '# counts: ...'"
        )
    if not phrased and walls is None:
        raise SheetError(
            f"{sheet} does not say how many walls the dance has", "Add a line '# walls: 1', '# walls: 2' or '# walls: 4'"
        )
    if walls == 3:
        raise Place(sheet, values["walls"][0]).error(
            "line '# walls'", values["walls"][1], "cannot be danced", "Allowed are 1, 2 and 4"
        )
    metre = values.get("metre", (0, "4/4"))
    beats_per_bar = METRES.get(metre[1].replace(" ", ""))
    if beats_per_bar is None:
        remedy = f"Allowed are {', '.join(METRES)}"
        raise Place(sheet, metre[0]).error("line '# metre'", metre[1], "is not a metre known here", remedy)
    texts = {key: values[key][1] for key in ("title", "intro", "level", "version") if key in values}
    return HeaderValues(
        title=texts.get("title") or sheet.rsplit(".", 1)[0],
        counts=int(counts or rows_end),
        walls=int(walls or 1),
        beats_per_bar=beats_per_bar,
        bpm=number("bpm", limits.slowest_bpm, limits.fastest_bpm, whole=False),
        intro=texts.get("intro") or None,
        level=texts.get("level") or None,
        version=texts.get("version") or None,
        half_at=number("half", limits.earliest_half, limits.latest_half, whole=False),
    )
