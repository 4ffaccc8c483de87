"""A dance written as prose, pasted in: lines that are understood become rows, all others wait for a person and are kept as they are.

Nothing is guessed: a line becomes rows only if every step in it has a known move and a foot (said, or the only one that is free), and
as many steps as counts. The foot that is free follows from the rows before.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise

from motion.base.errors import SheetError
from motion.base.types import Foot, SheetRow
from motion.dance.cells import HALF, TURNS_DEG, count_text, turn_text
from motion.dance.figures import expand, figure_steps, figures_by_name, lead_of, other_foot, takes_weight
from motion.dance.header import HEADER_KEYS, split_header
from motion.dance.rows import FOOT_LETTERS
from motion.dance.settings import DANCE
from motion.dance.table import Kind, TableLine

_COUNTED = re.compile(r"(?:counts?\s+)?((?:&\s*)?\d{1,3}[\d\s&a\-–,]*?)(?:\s*[.:)]\s*|\s+)(?=[^\W\d])(.+)", re.IGNORECASE)
_SIZE = re.compile(r"(\d{1,3})[\s-]*counts?\b.*?\b(\d)[\s-]*walls?\b", re.IGNORECASE)
_SIZES = re.compile(
    r"\b(counts?|walls?|level|bpm|intro)\s*:\s*([^|;,]+?)(?=\s*(?:[|;,]|\b(?:counts?|walls?|level|bpm|intro)\s*:|$))", re.I
)
_DANCED = re.compile(r"(?:\bwall\s*(\d{1,2})\b|\b(\d{1,2})(?:st|nd|rd|th)\s+wall\b)", re.IGNORECASE)
_AFTER = re.compile(r"\bafter\s+(?:count\s+)?(\d{1,3})\b", re.IGNORECASE)
_FACING = re.compile(r"\b(?:1[0-2]|[1-9]):[03]0\b")
_TURN = re.compile(
    r"(?:\bturn(?:ing)?\s+|\bmak(?:e|ing)\s+(?:an?\s+)?)?\b(1/8|1/4|1/2|3/4|full)(?:\s+turn)?\s+(?:to\s+(?:the\s+|your\s+)?)?(left|right|l|r)\b"
    r"(?:\s+turn\b)?"
)
_SECTION = re.compile(
    r"(?:section|sec|s|part)?\s*\[?\(?\s*(?:\d{1,3}\s*[-–]\s*\d{1,3}|\d{1,2}|[a-z])\]?\)?\s*[:.)\]-]\s*", re.IGNORECASE
)
_LEAD = re.compile(r"\b([rl])(?:[-/, ]*[rl]){2,}\b")
#: Words that say nothing which the move, the foot and the turn do not say.
_FILLING = frozenset((
    "a", "an", "and", "as", "at", "ball", "big", "body", "both", "by", "clap", "clapping", "diagonal", "diagonally",
    "during", "facing", "feet", "foot", "from", "front", "home", "in", "long", "make", "making", "new", "of", "on", "onto",
    "over", "own", "place", "small", "step", "stepping", "steps", "swing", "taking", "the", "then", "to", "toward",
    "towards", "turn", "turning", "up", "weight", "while", "with", "you", "your",
))  # fmt: skip
_FEET: dict[str, Foot] = {"r": "right", "rf": "right", "right": "right", "l": "left", "lf": "left", "left": "left"}
#: What a step's words say, first fit: all words of the set are there.
_SAYS: tuple[tuple[str, str], ...] = (
    ("stomp up", "stomp up"), ("stamp", "stomp up"), ("stomp", "stomp"), ("hold", "hold"), ("recover", "recover"),
    ("replace weight", "recover"), ("scuff", "scuff"), ("brush", "brush"), ("kick", "kick"), ("hitch", "hitch"), ("hook", "hook"),
    ("flick", "flick"), ("unwind", "unwind"), ("sway", "sway"), ("swivel", "swivel"), ("point", "toe"), ("toe", "toe"),
    ("heel", "heel"), ("dig", "heel"), ("touch", "touch"), ("tap", "touch"), ("behind", "behind"), ("cross over", "cross"),
    ("cross in front", "cross"), ("cross", "cross"), ("across", "cross"), ("together", "together"), ("beside", "together"),
    ("next to", "together"), ("close", "together"), ("in place", "in place"), ("back", "back"), ("backward", "back"),
    ("forward", "forward"), ("fwd", "forward"), ("walk", "forward"), ("side", "side"),
)  # fmt: skip
#: Words that name the other foot of a figure's own step, such as "vine left, touch right beside left".
_BESIDE = frozenset(("beside", "close", "next", "recover", "together", "touch"))


@dataclass(frozen=True)
class Pasted:
    """What became of a pasted dance: header values by key, the table's lines, and how many of them wait."""

    header: dict[str, str]
    lines: tuple[TableLine, ...]
    waiting: int


@dataclass
class _State:
    """How far the reading is. last: last running count; offset: added to a section's own counts; bears: the foot with the weight,
    None if a line before waits; kind: whose steps follow."""

    section: int = 8
    offset: int = 0
    last: int = 0
    bears: Foot | None = None
    kind: Kind = "step"
    header: dict[str, str] = field(default_factory=dict)
    lines: list[TableLine] = field(default_factory=list)


def read_prose(text: str) -> Pasted:
    """Read a dance pasted as prose. Longer than a dance sheet may be, it raises SheetError."""
    if len(text) > DANCE.largest_bytes:
        raise SheetError("The pasted text is longer than any dance", "Paste one dance")
    state = _State()
    for raw in text.splitlines():
        line = " ".join(raw.replace("½", "1/2").replace("¼", "1/4").replace("¾", "3/4").replace("\ufeff", "").split())
        if line:
            _take(state, line)
    if "counts" not in state.header and state.last:
        state.header["counts"] = str(state.last)
    return Pasted(state.header, tuple(state.lines), sum(line.kind == "waits" for line in state.lines))


def _take(state: _State, line: str) -> None:
    """Take in one line."""
    begun = any(one.kind == "step" for one in state.lines)
    if not begun and _SIZE.match(line):
        _take_header(state, line)
        return
    counted = _COUNTED.fullmatch(line)
    labels = _labels(counted[1], state.section) if counted else []
    if counted and labels:
        _take_counted(state, line, labels, counted[2])
        return
    if _take_danced(state, line):
        return
    if not begun and _take_header(state, line):
        return
    bare = _SECTION.sub("", line, count=1) if _SECTION.match(line) else line
    named = bare != line or line.isupper() or line.casefold().startswith(("section", "part "))
    if named:
        state.kind = "step"
    state.lines.append(TableLine("heading" if named and bare else "note", words=bare or line))


def _take_counted(state: _State, line: str, labels: list[float], words: str) -> None:
    """A line that begins with its counts."""
    first, last = labels[0], int(labels[-1])
    if state.lines and int(first) == 1 and state.last > state.offset and state.kind == "step":
        state.offset = -(-state.last // state.section) * state.section
    offset = state.offset if state.kind == "step" else 0
    rows = _rows(labels, words, state.bears)
    if state.kind == "step":
        state.last = max(state.last, offset + last)
    if rows is None:
        state.lines.append(TableLine("waits", words=line))
        state.bears = None
        return
    for row, steps in rows:
        span = row.count.split(" to ")
        moved = " to ".join(_moved(part, offset) for part in span)
        state.lines.append(replace(row, kind=state.kind, count=moved))
        for step in steps:
            state.bears = step.foot if step.foot and takes_weight(step) else state.bears


def _moved(label: str, offset: int) -> str:
    digits = re.match(r"\d+", label)
    return f"{int(digits[0]) + offset}{label[digits.end() :]}" if digits else label


def _labels(text: str, section: int) -> list[float]:
    """The counts of "1-4", "3&4", "5, 6", "&7" or "1&2&3&4"; [] if they are none."""
    plain = text.replace("–", "-").replace(" ", "").strip(",-")
    out: list[float] = []
    for piece in filter(None, plain.split(",")):
        span = re.fullmatch(r"(\d+)-(\d+)", piece)
        if span:
            if not int(span[1]) < int(span[2]) <= int(span[1]) + 4 * section:
                return []
            out += [float(n) for n in range(int(span[1]), int(span[2]) + 1)]
            continue
        for number, half in re.findall(r"(\d+)|([&a])", piece):
            out.append(
                float(number)
                if number
                else (out[-1] if out else float(re.findall(r"\d+", piece)[0]) - 1) + (HALF if half == "&" else 2 / 3)
            )
        if re.sub(r"[\d&a]", "", piece):
            return []
    return out if out == sorted(set(out)) else []


def _rows(labels: list[float], words: str, bears: Foot | None) -> list[tuple[TableLine, list[SheetRow]]] | None:
    """The rows that a counted line's words say, each with its steps; None if any of it is not understood."""
    plain = " ".join(re.sub(r"[’']", "", words.casefold().replace("é", "e")).replace("-", " ").split())
    plain = _FACING.sub("", plain.replace("(", "").replace(")", "")).strip(" .")
    figure = _figure(labels, plain, bears)
    if figure is not None:
        return [figure]
    pieces = [piece.strip() for piece in re.split(r"[,;]|\bthen\b", plain) if piece.strip()]
    if len(pieces) == 1 and len(labels) > 1:
        pieces = [piece.strip() for piece in re.split(r"\band\b", plain) if piece.strip()]
    if len(pieces) != len(labels):
        return None
    rows: list[tuple[TableLine, list[SheetRow]]] = []
    for label, piece in zip(labels, pieces, strict=True):
        step = _step(label, piece, bears)
        if step is None:
            return None
        bears = step.foot if step.foot and takes_weight(step) else bears
        line = TableLine("step", count_text(label), FOOT_LETTERS[step.foot], step.move, turn_text(step.turn_deg))
        rows.append((line, [step]))
    return rows


def _figure(labels: list[float], plain: str, bears: Foot | None) -> tuple[TableLine, list[SheetRow]] | None:
    """The row of a figure, if the words name one, fit its counts, and say nothing else."""
    lead_said = _LEAD.search(plain)
    turn_deg, rest = _turn(_LEAD.sub("", plain))
    words = rest.replace(",", " ").split()
    sides = [_FEET[word] for word in words if word in _FEET]
    bare = " ".join(word for word in words if word not in _FEET)
    names = figures_by_name()
    name = max((n for n in names if re.search(rf"\b{re.escape(n)}s?\b", bare)), key=len, default=None)
    counts = int(labels[-1]) - int(labels[0]) + 1
    if name is None or counts == 1 or labels[0] != int(labels[0]):
        return None
    forms = names[name]
    said = set(re.sub(rf"\b{re.escape(name)}s?\b", "", bare, count=1).split())
    own = {word for form in forms for step in figure_steps(form) for word in step.move.split()} | _BESIDE
    each_said = len(sides) == counts and all(a != b for a, b in pairwise(sides))
    if said - _FILLING - own or (len(set(sides)) > 1 and not each_said and not said & _BESIDE):
        return None
    free = other_foot(bears) if bears else None
    lead = _FEET[lead_said[1]] if lead_said else lead_of(forms[0], sides[0]) if sides else free
    steps = expand(name, lead, counts, turn_deg) if lead else None
    if steps is None:
        return None
    rows = [SheetRow(labels[0] + s.after, s.foot, s.move, s.turn_deg) for s in steps]
    span = f"{count_text(labels[0])} to {int(labels[-1])}"
    shown = forms[0].name if len({form.name for form in forms}) == 1 else name
    return TableLine("step", span, FOOT_LETTERS[lead], shown, turn_text(turn_deg)), rows


def _step(label: float, piece: str, bears: Foot | None) -> SheetRow | None:
    """One step from its words."""
    turn_deg, rest = _turn(piece)
    words = rest.split()
    move = next((move for said, move in _SAYS if _has(words, said)), None)
    if move is None:
        return None
    sides = [_FEET[word] for word in words if word in _FEET]
    if "touch" in words and move == "touch" and _has(words, "side"):
        move = "toe"
    free = other_foot(bears) if bears else None
    foot = sides[0] if sides else free
    known = {word for said, _ in _SAYS for word in said.split()} | set(_FEET) | _FILLING | {"rock", "out"}
    if {word.removesuffix("s") for word in words} - known - {word.removesuffix("s") for word in known}:
        return None
    if move in ("hold", "swivel") or (move == "unwind" and not sides):
        return SheetRow(label, None, move, turn_deg)
    return SheetRow(label, foot, move, turn_deg) if foot else None


def _has(words: list[str], said: str) -> bool:
    """Whether all words of `said` are there, in their plain form or with an s."""
    return all(any(word in (part, f"{part}s", f"{part}es", f"{part}ing") for word in words) for part in said.split())


def _turn(plain: str) -> tuple[float, str]:
    """The turn said in the words, clockwise in degrees, and the words without it. A turn that does not say which way stays in."""
    found = _TURN.search(plain)
    if found is None:
        return 0.0, plain
    turn_deg = TURNS_DEG[found[1]] * (1 if found[2].startswith("r") else -1)
    return turn_deg, f"{plain[: found.start()]} {plain[found.end() :]}"


def _take_danced(state: _State, line: str) -> bool:
    """A restart, a tag or an ending."""
    kind = next((k for k in ("restart", "tag", "bridge", "ending") if re.match(rf"{k}s?\b", line, re.IGNORECASE)), None)
    if kind is None:
        return False
    walls = [a or b for a, b in _DANCED.findall(line)]
    after = _AFTER.search(line)
    if kind == "ending":
        state.kind = "ending"
        state.lines.append(TableLine("ending"))
        said = line.partition(":")[2].strip()
        if said:
            state.lines.append(TableLine("note", words=said))
        return True
    counts = after[1] if after and "wall" not in line[after.start() : after.end() + 5].casefold() else None
    if counts is None and re.search(r"\bend of\b|\bafter\s+wall\b", line, re.IGNORECASE):
        counts = state.header.get("counts") or str(state.last)
    if not walls or counts is None:
        state.lines.append(TableLine("waits", words=line))
        return True
    facing = _FACING.search(line)
    named = "walls " + " and ".join(walls) if len(walls) > 1 else f"wall {walls[0]}"
    state.kind = "restart" if kind == "restart" else "tag"
    state.lines.append(TableLine(state.kind, words=f"{named} after {counts}" + (f" (facing {facing[0]})" if facing else "")))
    return True


def _take_header(state: _State, line: str) -> bool:
    """Lines above the first step: values of the header, the title first."""
    size = _SIZE.search(line)
    if size:
        state.header |= {"counts": size[1], "walls": size[2]}
        level = next(
            (name for name in ("absolute beginner", "beginner", "improver", "intermediate", "advanced") if name in line.casefold()),
            None,
        )
        if level:
            state.header["level"] = level
        return True
    found = {split_header(f"{key}: x")[0]: value.strip() for key, value in _SIZES.findall(line)}
    if found:
        state.header |= found
        return True
    key, value = split_header(line)
    if key in HEADER_KEYS:
        state.header[key] = value
        if key == "metre" and value.startswith("3"):
            state.section = 6
        return True
    if _SECTION.match(line) or (line.isupper() and "title" in state.header):
        return False
    if key and len(key) < 30:
        state.header["other"] = "\n".join(_others(state.header.get("other", ""), f"# {key}: {value}"))
        return True
    if "title" not in state.header:
        state.header["title"] = line
        return True
    return False


def _others(before: str, line: str) -> Iterator[str]:
    yield from filter(None, before.split("\n"))
    yield line
