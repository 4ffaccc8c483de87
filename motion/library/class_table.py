"""A lesson filmed in groups: several reviews of one dance in one class table, labels from the line-up, evidence beside each criterion.

Pure functions on reviews (review.json) but for `lesson_of`, which asks the library.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from motion.desk.correct import give_label
from motion.library.classes import Lesson, Library
from motion.review.corrections import Correction
from motion.review.settings import SETTINGS, Settings
from motion.tell.habit_words import habits_told
from motion.tell.questions import phrasing_told
from motion.tell.reteach import flags_of
from motion.tell.review_words import dancer_name, timing_told
from motion.tell.teacher import MEANS, TROUBLED, Cell, Column, CountTable, Row, State, count_table, quick_look
from motion.tell.words import count_name, listed, section_of, why_not

#: What a teacher may judge by, and may leave open. No marks: words, from the beginning to the whole dance.
CRITERIA = ("With the beat", "Weight and free foot", "Steps as written", "Walls and restarts", "Dancing with the others")
LEVELS = ("not yet", "in parts", "mostly", "throughout")
NOT_ASSESSABLE = "not assessable"
NOT_SOLE = (
    "The teacher's judgement stands, not the program's. What was measured in a clip is one piece of evidence beside it, and never the "
    "sole ground for a grade: the clip may hide somebody, and one day is one day."
)
OWN_EYE = "Nothing is measured here: this is for the teacher's own eye."


@dataclass(frozen=True)
class Take:
    """One reviewed clip of a lesson: its title, where it lies, the review itself."""

    title: str
    folder: Path
    review: dict[str, Any]


@dataclass(frozen=True)
class Gathered:
    """The class table of a lesson: counts of one wall across, everybody down, clip after clip. lost: sentences; clips: titles of the
    takes in the table, as they are numbered in it; left_out: titles of takes of another dance; quick: titles of quick looks."""

    table: CountTable
    lost: tuple[str, ...]
    clips: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    quick: tuple[str, ...] = ()


def lesson_of(library: Library, folder: Path) -> tuple[Lesson, tuple[Path, ...]] | None:
    """The lesson that a review belongs to, and the folders of all its reviews that are there; None if it belongs to none."""
    here = folder.resolve()
    for lesson in library.lessons():
        folders = tuple(kept.folder for kept in library.reviews(lesson_id=lesson.id))
        if here in folders:
            return lesson, tuple(one for one in folders if (one / "review.json").is_file())
    return None


def gathered(takes: Sequence[Take], *, settings: Settings = SETTINGS) -> Gathered:
    """Several clips of one dance in one table. A cell tells how a count went on most of the walls that were seen; where as many went
    well as did not, what was not as due is shown. Whoever bears the same label in several clips has one row, where they stand in the
    first of them, and what went otherwise than due in any clip is shown. Names without a label stay apart, under the number of their
    clip: nothing says who they are. A quick look is too rough for one dancer, and no part of the table.
    """
    careful = [one for one in takes if not quick_look(one.review)]
    dances = [one.review.get("dance") for one in careful]
    first = next((dance["written"] for dance in dances if dance), None)
    same = [one for one, dance in zip(careful, dances, strict=True) if dance and dance["written"] == first]
    tables = [count_table(one.review, settings=settings) for one in same]
    places = sorted({_place(c) for table in tables for c in table.columns})
    section = section_of(same[0].review["dance"], same[0].review["beats"]) if same else 8
    columns = tuple(Column(p, None, count_name(p), _called(p, section)) for p in places)
    people: dict[str | tuple[int, int], list[tuple[str, Row]]] = {}  # under a label; or under a clip and a number in it
    for t, (take, table) in enumerate(zip(same, tables, strict=True)):
        labels = _labels_borne_once(take.review)
        for row in table.rows:
            over = replace(row, cells=tuple(_over_walls(row, table, p) for p in places))
            people.setdefault(labels.get(row.number, (t, row.number)), []).append((take.title, over))
    rows = tuple(_one_row(who, shown, len(same)) for who, shown in people.items())
    gathered_table = CountTable(columns, rows)
    return Gathered(
        gathered_table,
        _lost(gathered_table, settings),
        tuple(one.title for one in same),
        tuple(one.title for one in careful if one not in same),
        tuple(one.title for one in takes if one not in careful),
    )


def proposed_labels(line_up: Sequence[str], takes: Sequence[Take], folder: Path) -> tuple[tuple[int, str], ...]:
    """(dancer's number, label) proposed for a clip without labels: those next in the line-up that no other clip of the lesson bears.

    () where a dancer of the clip has a label already, or fewer labels are left than dancers: then it would be a guess.
    """
    here = folder.resolve()
    mine: list[dict[str, Any]] = next((one.review["dancers"] for one in takes if one.folder.resolve() == here), [])
    others = {d["label"].casefold() for one in takes if one.folder.resolve() != here for d in one.review["dancers"] if d["label"]}
    free = [label for label in line_up if label.casefold() not in others]
    if any(d["label"] for d in mine) or len(free) < len(mine):
        return ()
    return tuple((int(d["id"]), label) for d, label in zip(mine, free, strict=False))


def label_corrections(review: dict[str, Any], labels: Sequence[tuple[int, str]]) -> tuple[Correction, ...]:
    """The labels as corrections of a review, to be kept together. Raises BadInput over a label or a dancer that cannot be."""
    return tuple(give_label(review, number, label) for number, label in labels)


def evidence(review: dict[str, Any], dancer: dict[str, Any]) -> dict[str, str]:
    """What the clip shows for each of CRITERIA, in words; a sentence that says so where it shows nothing."""
    beats = review["beats"]
    told = (timing_told(dancer, beats), habits_told(dancer, beats), phrasing_told(dancer))
    beside = _places(dancer, ("count behind", "count ahead"))
    other = ("missed", "stood still", "other step", "danced in mirror")
    unjudged = _unjudged(review, dancer)
    return {
        CRITERIA[0]: " ".join(
            [*(one.words for one in told if one), *([f"In {beside}, a count behind or ahead."] if beside else ())]
        ),
        CRITERIA[1]: unjudged or _counted(dancer, ("other foot",), "the other foot than written", "none surely on the other foot"),
        CRITERIA[2]: unjudged or _counted(dancer, other, "no step or another one", "none surely another step"),
        CRITERIA[3]: unjudged or _walls(dancer),
        CRITERIA[4]: OWN_EYE,
    }


def _unjudged(review: dict[str, Any], dancer: dict[str, Any]) -> str | None:
    """Why a dancer was not set against the sheet at all; None if they were."""
    if dancer.get("own_version"):
        return "Not set against the sheet: it is a version of their own."
    block = dancer.get("sheet")
    if block and block["judged"] and not why_not(dancer["flags"]):
        return None
    needs = "more of this dancer's feet in sight" if review.get("dance") else "a dance sheet"
    return f"Not measured: it needs {needs}."


def _counted(dancer: dict[str, Any], kinds: Sequence[str], what: str, none: str) -> str:
    block = dancer["sheet"]
    if not (places := _places(dancer, kinds)):
        return f"{block['judged']} landings could be judged, {none}."
    return f"{block['judged']} landings could be judged; in {places}, {what}."


def _places(dancer: dict[str, Any], kinds: Sequence[str]) -> str:
    """ "one place", "3 places" with findings of these kinds; "" for none."""
    many = sum(f["kind"] in kinds and bool(f["named"]) for f in flags_of(dancer))
    return "" if not many else "one place" if many == 1 else f"{many} places"


def _walls(dancer: dict[str, Any]) -> str:
    restarts = dancer["sheet"]["restarts"]
    caught = [one for one in restarts if one["caught"] is not None]
    turned = sorted({d["wall"] for row in dancer.get("walls") or [] for d in row["differs"] if d["what"] == "facing"})
    parts = [f"{sum(one['caught'] for one in caught)} of {len(caught)} restarts and tags were caught."] if caught else []
    walls = max((row["walls"] for row in dancer.get("walls") or []), default=0)
    if turned:
        many = len(turned) > 1
        parts.append(f"Wall{'s' if many else ''} {listed([str(w) for w in turned])}: faced elsewhere than on the other walls.")
    elif walls >= 2:
        parts.append(f"{walls} walls were seen, each facing as the dance has it.")
    if walls < 2:
        parts.append("Walls were not measured: two must be in sight.")
    if restarts and not caught:
        parts.append("Restarts and tags were not measured: the counts after one must be in sight.")
    return " ".join(parts)


def _labels_borne_once(review: dict[str, Any]) -> dict[int, str]:
    """Dancer's number: label, without regard to capitals; not where two in the same clip bear it, for then it tells nobody apart."""
    labels = {int(d["id"]): d["label"].casefold() for d in review["dancers"] if d["label"]}
    many = Counter(labels.values())
    return {number: label for number, label in labels.items() if many[label] == 1}


def _one_row(who: str | tuple[int, int], shown: Sequence[tuple[str, Row]], of: int) -> Row:
    """One dancer's rows, each with its clip's title, as one. who: a label, or the clip's place and the number there; of: how many clips
    the table has."""
    _, first = shown[0]
    if of == 1:
        return first
    if not isinstance(who, str):
        return replace(first, name=f"{first.name}, clip {who[0] + 1}")
    label = first.name.removeprefix(f"Dancer {first.number} · ")
    if len(shown) == 1:
        return replace(first, name=label)
    usual = {row.usual for _, row in shown}
    return Row(
        first.number,
        f"{label}, {len(shown)} clips",
        first.usual if len(usual) == 1 else " ".join(f"{title}: {row.usual}" for title, row in shown),
        tuple(_over_clips([(title, row.cells[k], row.beside) for title, row in shown]) for k in range(len(first.cells))),
        all(row.beside for _, row in shown),
    )


def _over_clips(shown: Sequence[tuple[str, Cell, bool]]) -> Cell:
    """One count over several clips: (title, cell, beside the beat there as a rule). Any clip's trouble is shown before what went well;
    late (or early) in a clip that is so throughout is no count's own matter, and comes after it."""

    def weight(one: tuple[str, Cell, bool]) -> tuple[int, int]:
        _, cell, beside = one
        if cell.state in TROUBLED:
            return (2 if beside and cell.state in ("early", "late") else 0), TROUBLED.index(cell.state)
        return (4 if cell.state == "unseen" else 3 if cell.state == "own" else 1), 0

    states = Counter(cell.state for _, cell, _ in shown)
    first = min(shown, key=weight)[1]
    order = sorted(states, key=lambda state: state != first.state)
    count = first.words.partition(": ")[0]
    told = "; ".join(f"{MEANS[state]} in {states[state]} of {len(shown)} clips" for state in order)
    if order == ["unseen"]:
        return Cell("unseen", f"{count}: {MEANS['unseen']} in any clip")
    each = "; ".join(f"{title}: {cell.words.partition(': ')[2]}" for title, cell, _ in shown if cell.state != "unseen")
    return Cell(first.state, f"{count}: {told} ({each})", first.time_s)


def _over_walls(row: Row, table: CountTable, place: float) -> Cell:
    """One count of the wall over all walls of a clip."""
    seen = [
        (c.wall, cell) for c, cell in zip(table.columns, row.cells, strict=True) if _place(c) == place and cell.state != "unseen"
    ]
    if not seen:
        return Cell("unseen", f"count {count_name(place)}: {MEANS['unseen']}")
    many = Counter(cell.state for _, cell in seen)
    most = max(many, key=lambda state: (many[state], state in TROUBLED))
    each: dict[State, list[str]] = {}
    for wall, cell in seen:
        each.setdefault(cell.state, []).append(str(wall))
    told = "; ".join(f"{MEANS[state]} on wall{'s' if len(walls) > 1 else ''} {listed(walls)}" for state, walls in each.items())
    return Cell(most, f"count {count_name(place)}: {told}", next(cell.time_s for _, cell in seen if cell.state == most))


def _lost(table: CountTable, settings: Settings) -> tuple[str, ...]:
    """Counts that most lost, over all the groups, neighbours told as one stretch."""
    runs: list[tuple[list[Column], list[int], int]] = []
    for k, column in enumerate(table.columns):
        many, of = table.lost(k)
        if of >= 2 and many >= max(2, settings.timing.lost_share * of):
            if runs and column.count - runs[-1][0][-1].count <= 1.01:
                runs[-1][0].append(column)
                runs[-1][1].append(many)
                runs[-1] = (runs[-1][0], runs[-1][1], max(of, runs[-1][2]))
            else:
                runs.append(([column], [many], of))
    return tuple(
        f"Count {here[0].name}: {many[0]} of the {of} who were in sight lost it." if len(here) == 1
        else f"Counts {here[0].name} to {here[-1].name}: up to {max(many)} of the {of} who were in sight lost them."
        for here, many, of in runs
    )  # fmt: skip


def _place(column: Column) -> float:
    """The count within the wall that a column's name stands for."""
    last = column.name[-1]
    return float(column.name[:-1]) + (0.5 if last == "&" else 0.67) if last in "&a" else float(column.name)


def _called(place: float, section: int) -> str:
    name = count_name(place)
    return name[-1] if name[-1] in "&a" else str((int(name) - 1) % section + 1)


def with_label(review: dict[str, Any], label: str) -> dict[str, Any] | None:
    """The dancer of a review who bears a label, whatever its capitals; None if nobody does."""
    return next((d for d in review["dancers"] if (d["label"] or "").casefold() == label.casefold()), None)


def without_label(review: dict[str, Any]) -> tuple[str, ...]:
    """The names of a review's dancers who have no label yet."""
    return tuple(dancer_name(d) for d in review["dancers"] if not d["label"])
