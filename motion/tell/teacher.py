"""A review as a teacher looks at it: first the class and nobody by name, then counts across and dancers down as they stand.

Pure functions on the blocks of review.json. Nobody is ranked: dancers keep the order in which they stand, counts that of the dance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from motion.base.statistics import median_interval
from motion.review.settings import SETTINGS, Settings
from motion.tell.class_words import not_counted, not_together
from motion.tell.habit_words import CUES
from motion.tell.moments import time_of_count
from motion.tell.questions import own_told
from motion.tell.reteach import capital, doubted, flags_of, how_many, its, span, teach_again
from motion.tell.review_words import dancer_name, timing_told
from motion.tell.sheet_words import WHAT
from motion.tell.words import Told, count_name, finding_words, measured, section_of, share_words, wall_of, why_not

State = Literal["on", "early", "late", "missed", "otherwise", "danced", "own", "unseen"]
#: What each mark of the count table means, in the order of its legend.
MEANS: dict[State, str] = {
    "on": "on the beat", "early": "early", "late": "late", "missed": "no landing seen where one was due",
    "otherwise": "danced otherwise: another foot or step", "danced": "danced, but without a beat nothing says when",
    "own": "danced in a version of their own", "unseen": "not seen",
}  # fmt: skip
TROUBLED: tuple[State, ...] = ("missed", "otherwise", "early", "late")
JUST_ONE = "One dancer is in this clip. What a class lost, and how close together it was, needs two or more."
NO_SHEET = "Without a dance sheet nobody can say which counts the class lost. Give the sheet, and judge again."
TOO_FEW = "Fewer than two dancers could be held against the dance. What a class lost, and how close together it was, needs two."
FURTHER = {"farthest apart": "farther apart", "closest together": "closer together"}
NOBODY = "Nobody was alone with something sure enough to be put to a person."


@dataclass(frozen=True)
class Moment:
    """Something to watch: what, when it begins, on to which running count (None: just there), its figures."""

    words: str
    time_s: float
    until_count: float | None = None
    figures: tuple[str, ...] = ()


@dataclass(frozen=True)
class ClassMode:
    """What may stand on a projector: nobody is named. why: why nothing can be said of a class, else None; doubt: why it is rather the
    counts or the sheet than the class, else None; then nothing is told as lost."""

    lost: tuple[str, ...]
    together: Told
    watch: tuple[Moment, ...]
    teach_again: tuple[str, ...]
    why: str | None = None
    doubt: str | None = None


@dataclass(frozen=True)
class Cell:
    """One dancer on one count: how, in words for whoever points at it, and when (None where nothing was seen)."""

    state: State
    words: str
    time_s: float | None = None


@dataclass(frozen=True)
class Column:
    """One count: running, the wall it belongs to (None without a dance), as it is called there, and within its section."""

    count: float
    wall: int | None
    name: str
    called: str


@dataclass(frozen=True)
class Row:
    """One dancer's row; usual: how they sit against the beat as a rule, in words; beside: beside the beat as a rule, so that being late
    (or early) there is no count's own matter."""

    number: int
    name: str
    usual: str
    cells: tuple[Cell, ...]
    beside: bool = False


@dataclass(frozen=True)
class CountTable:
    """Counts across, dancers down in standing order."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]

    def lost(self, column: int) -> tuple[int, int]:
        """How many had trouble with a column's count itself, and how many could be judged there."""
        seen = [(row, row.cells[column].state) for row in self.rows if row.cells[column].state not in ("unseen", "own")]
        return sum(s in TROUBLED and not (row.beside and s in ("early", "late")) for row, s in seen), len(seen)


@dataclass(frozen=True)
class Minute:
    """A dancer who is alone with something: who, and what with its moments."""

    number: int
    name: str
    moments: tuple[Moment, ...]


def nameless(review: dict[str, Any]) -> dict[str, Any]:
    """The review with every label left away, so that whatever is told of it speaks of numbers only."""
    return {**review, "dancers": [{**one, "label": None} for one in review["dancers"]]}


def quick_look(review: dict[str, Any]) -> bool:
    """Whether the clip was only looked at quickly: enough for the class's counts, too rough for one dancer."""
    model = review["made_by"].get("model")
    return (model.get("quality") if isinstance(model, dict) else model) == "fast"


def class_mode(review: dict[str, Any], *, settings: Settings = SETTINGS) -> ClassMode:
    """The class without its dancers: counts it lost, how together it was, moments to watch, what to teach again."""
    block = review.get("class")
    if not block:
        why = JUST_ONE if len(review["dancers"]) < 2 else TOO_FEW if review.get("dance") else NO_SHEET
        return ClassMode((), Told(""), (), (), why)
    doubt = doubted(review, settings=settings)
    lost = tuple(f"{capital(span(run, block))}: {how_many(run)} dancers in sight lost {its(run)}." for run in block["lost"])
    return ClassMode(
        (*(() if doubt else lost or ("No count was lost by most of the class.",)), *not_counted(review)),
        _together(review, block),
        _moments(review, block, settings, doubt=doubt is not None),
        teach_again(review, settings=settings),
        doubt=doubt,
    )


def minutes(review: dict[str, Any]) -> tuple[Minute, ...]:
    """Who would like a minute with the teacher: dancers with something that nobody else had, in standing order."""
    alone = (review.get("class") or {}).get("alone", [])
    out = []
    for dancer in review["dancers"]:
        mine = sorted((one for one in alone if one["dancer"] == dancer["id"]), key=lambda one: float(one["time_s"]))
        # Whoever comes early here and late there is not helped by being told both.
        one_way = not {"early", "late"} <= {one["kind"] for one in mine}
        if mine:
            moments = tuple(_alone(dancer, one, review, cue=one_way) for one in mine)
            out.append(Minute(int(dancer["id"]), dancer_name(dancer), moments))
    return tuple(out)


def count_table(review: dict[str, Any], *, settings: Settings = SETTINGS) -> CountTable:
    """Every count across, every dancer down as they stand; empty where no landing fits a count.

    Early and late are those of the findings, against the dancer's own usual time; whoever is beside the beat as a rule is set against
    the beat itself. What was not seen for certain is "unseen", never guessed.
    """
    columns = _columns(review)
    hidden: dict[int, set[float]] = {}
    for count in (review.get("class") or {}).get("counts", []):
        for number in count.get("hidden", []):
            hidden.setdefault(number, set()).add(float(count["count"]))
    rows = []
    for dancer in review["dancers"]:
        cells = tuple(
            Cell("unseen", f"{_where(column)}: {MEANS['unseen']}")
            if column.count in hidden.get(dancer["id"], ()) else cell_of(dancer, column, review, settings)
            for column in columns
        )  # fmt: skip
        usual = own_told(dancer) or timing_told(dancer, review["beats"]).words
        rows.append(Row(int(dancer["id"]), dancer_name(dancer), usual, cells, _beside(dancer, review["beats"], settings)))
    seen = [k for k in range(len(columns)) if any(row.cells[k].state != "unseen" for row in rows)]
    last = seen[-1] + 1 if seen else 0  # counts after the last that was seen of anybody are the walk off
    rows = [replace(row, cells=row.cells[:last]) for row in rows]
    return CountTable(columns[:last], tuple(rows) if last else ())


def cell_of(dancer: dict[str, Any], column: Column, review: dict[str, Any], settings: Settings = SETTINGS) -> Cell:
    """How one dancer danced one count."""
    state, step, more = _state(dancer, column.count, review, settings)
    return Cell(state, f"{_where(column)}: {more or MEANS[state]}", None if step is None else float(step["time_s"]))


def _where(column: Column) -> str:
    return f"count {column.name}" + (f" of wall {column.wall}" if column.wall else "")


def _state(
    dancer: dict[str, Any], count: float, review: dict[str, Any], settings: Settings
) -> tuple[State, dict[str, Any] | None, str]:
    beats, timing = review["beats"], dancer["timing"]
    step = _step(dancer, count)
    found = {flag["kind"]: flag for flag in flags_of(dancer) if _covers(flag, count) and flag["sure"] >= settings.timing.class_sure}
    if kinds := [kind for kind in ("missed", "stood still") if kind in found]:
        return "missed", None, "no step was seen" if kinds == ["stood still"] else ""
    if step is None:
        return "unseen", None, "no landing seen, in a version of their own" if dancer.get("own_version") else ""
    if any(a <= step["time_s"] <= b for a, b in dancer["track"]["unsure"] if b - a >= settings.desk.told_unsure_s):
        return "unseen", None, "not seen for certain"
    if dancer.get("own_version"):
        return "own", step, ""
    if kinds := [kind for kind in found if kind in WHAT]:
        return "otherwise", step, WHAT[kinds[0]]
    if why_not(beats):
        return "danced", step, ""
    if why_not(timing) or step["offset_ms"] is None:
        return "unseen", None, "not seen well enough to say when"
    usual, offset = float(timing["bias_ms"]), float(step["offset_ms"])
    beside = _beside(dancer, beats, settings)
    if beside or why_not(dancer["flags"]):
        about = 0.0 if beside else usual
        if abs(offset - about) <= _band_ms(beats, settings):
            return "on", step, ""
        return ("late" if offset > about else "early"), step, _by(offset - about, beats)
    for kind in ("early", "late"):
        if kind in found:
            return kind, step, _by(float(found[kind]["size"] or offset - usual), beats)
    return "on", step, ""


def _beside(dancer: dict[str, Any], beats: dict[str, Any], settings: Settings) -> bool:
    """Is this dancer beside the beat as a rule, by more than a count leaves room for?"""
    timing = dancer["timing"]
    return not why_not(timing) and not why_not(beats) and abs(float(timing["bias_ms"])) > _band_ms(beats, settings)


def _band_ms(beats: dict[str, Any], settings: Settings) -> float:
    return max(settings.timing.band_ms, settings.timing.band_share * 60_000 / float(beats["tempo_bpm"]))


def _by(off_ms: float, beats: dict[str, Any]) -> str:
    return f"{'late' if off_ms > 0 else 'early'}, by {share_words(off_ms, float(beats['tempo_bpm']))}"


def _columns(review: dict[str, Any]) -> tuple[Column, ...]:
    dance = review.get("dance")
    starts = dance["wall_starts"] if dance else []
    section = section_of(dance, review["beats"]) if not why_not(review["beats"]) or dance else 8
    told = [c for c in (review.get("class") or {}).get("counts", []) if "count_in_wall" in c]  # not in reviews of an early version
    known = [(float(c["count"]), int(c["wall"]), float(c["count_in_wall"])) for c in told]
    if not known:
        those = [d for d in review["dancers"] if not d.get("own_version")] or review["dancers"]
        counts = {round(float(s["count"]), 2) for d in those for s in _steps(d) if s["count"] is not None}
        counts |= {float(f["count"]) for d in those for f in flags_of(d) if f["kind"] == "missed"}
        known = [
            (c, wall_of(c, starts) if starts else 0, c - starts[wall_of(c, starts) - 1] + 1 if starts else c)
            for c in sorted(counts)
        ]
    return tuple(Column(c, wall or None, count_name(here), _called(here, section)) for c, wall, here in known)


def _called(count: float, section: int) -> str:
    """A count as it is called out: 1 to 8 again and again, & and a for those between."""
    name = count_name(count)
    return name[-1] if name[-1] in "&a" else str((int(name) - 1) % section + 1)


def _step(dancer: dict[str, Any], count: float) -> dict[str, Any] | None:
    """The landing on a count; weight that only moves where there is none."""
    near = [s for s in _steps(dancer) if s["count"] is not None and abs(float(s["count"]) - count) < 0.05]
    return next((s for s in near if s["kind"] != "shift"), near[0] if near else None)


def _steps(dancer: dict[str, Any]) -> Sequence[dict[str, Any]]:
    return dancer["steps"] if isinstance(dancer["steps"], list) else ()


def _covers(flag: dict[str, Any], count: float) -> bool:
    return flag["count"] is not None and flag["count"] - 0.01 <= count <= (flag["until_count"] or flag["count"]) + 0.01


def _alone(dancer: dict[str, Any], alone: dict[str, Any], review: dict[str, Any], *, cue: bool) -> Moment:
    """What a dancer is alone with, in words with what may help if a cue is wanted, and for whoever asks as it was measured."""
    same = (f for f in flags_of(dancer) if f["kind"] == alone["kind"] and f["count"] == alone["count"])
    flag = next(same, None)
    if flag is None:
        return Moment(str(alone["kind"]), float(alone["time_s"]), alone["until_count"])
    words, size = finding_words(flag, dancer), measured(flag, dancer, review["beats"])
    if alone["kind"] in CUES and size and not why_not(review["beats"]):
        said = next((c["said"] for c in review["class"]["counts"] if c["count"] == alone["count"]), "one count")
        off_ms = abs(float(flag["size"])) * (1 if alone["kind"] == "late" else -1)
        helps = f"; {CUES[alone['kind']]}" if cue else ""
        words = f"{capital(said)}: {_by(off_ms, review['beats'])}{helps}."
    return Moment(
        words, float(alone["time_s"]), alone["until_count"], (f"{capital(size)}.",) if size and flag["unit"] != "steps" else ()
    )


def _together(review: dict[str, Any], block: dict[str, Any]) -> Told:
    if reason := not_together(review):
        return Told(f"Not measured: {reason}.")
    within = share_words(block["together_ms"], float(review["beats"]["tempo_bpm"]))
    spreads = [c for c in block["counts"] if c["spread_ms"] is not None]
    low, high = median_interval(np.array([float(c["spread_ms"]) for c in spreads]))
    return Told(
        f"On a usual count, two landings in three lie within {within} of the class's own middle.",
        (
            f"{block['together_ms']:.0f} ms, surely between {low:.0f} and {high:.0f} ms, from {sum(c['landings'] for c in spreads)} "
            f"landings on {len(spreads)} counts; each dancer's own steady lead or lag is taken off.",
        ),
    )


def _moments(review: dict[str, Any], block: dict[str, Any], settings: Settings, *, doubt: bool) -> tuple[Moment, ...]:
    """What the class lost, then where it was farthest apart, at last where it was closest together; never one dancer's own moment. In
    doubt only where to see whether the counts are right."""
    beats = review["beats"]
    runs = [
        (run, at)
        for run in sorted(block["lost"], key=lambda run: -len(run["dancers"]))
        if (at := time_of_count(beats, run["count"])) is not None
    ]
    if doubt:
        return tuple(Moment(f"{capital(run['said'])}: is this where you would call it?", at) for run, at in runs[:1])
    found = [Moment(f"{capital(span(run, block))}: {how_many(run)} lost {its(run)}.", at, run["until_count"]) for run, at in runs]
    spread = sorted((c for c in block["counts"] if c["spread_ms"] is not None), key=lambda c: -c["spread_ms"])
    most = settings.timing.watch_moments
    for counts, extreme, limit in (
        (spread, "farthest apart", max(len(found), most - 1)),
        (spread[::-1], "closest together", most),
    ):
        words = f"the class was {extreme} here"
        for count in counts:
            one = _spread_moment(count, words, beats)
            if one is not None and len(found) < limit and _far_off(one, found, beats, settings):
                found.append(one)
                words = f"the class was {FURTHER[extreme]} here than on most counts"  # only one count can be the extreme
    return tuple(sorted(found[:most], key=lambda one: one.time_s))


def _spread_moment(count: dict[str, Any], words: str, beats: dict[str, Any]) -> Moment | None:
    at = time_of_count(beats, count["count"])
    if at is None:
        return None
    low, high = count.get("spread_interval_ms") or (None, None)
    surely = "" if low is None else f", surely between {low:.0f} and {high:.0f} ms"
    figure = f"Two landings in three within {count['spread_ms']:.0f} ms{surely}; {count['landings']} landings."
    return Moment(f"{capital(count['said'])}: {words}.", at, None, (figure,))


def _far_off(one: Moment, found: Sequence[Moment], beats: dict[str, Any], settings: Settings) -> bool:
    """Does a moment lie well before or after every other, and not within one that lasts?"""
    apart_s = settings.timing.watch_apart_s
    ends = [(time_of_count(beats, other.until_count) if other.until_count else None) or other.time_s for other in found]
    return all(not other.time_s - apart_s <= one.time_s <= end + apart_s for other, end in zip(found, ends, strict=True))
