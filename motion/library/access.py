"""What is held about a dancer, as one archive to hand over: said in words, and the data themselves."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.errors import BadInput
from motion.base.types import Ints, Landmarks
from motion.library.classes import Dancer, Export, Kept, Library
from motion.library.consent import consents, refusals
from motion.library.erase import numbers_of
from motion.library.retention import called
from motion.review.corrections import Corrected, Correction, apply
from motion.review.settings import SETTINGS
from motion.store.corrections import read_corrections
from motion.store.folder import Stored, read_stored
from motion.tell.review_words import findings, timing_told
from motion.tell.words import told_day

TABLES = ("steps.csv", "angles.csv")
NOT_IN_HERE = (
    "Clips and what is kept of them show others too, and are not in here: ask to look at them together.",
    "What was handed out before is listed, not held.",
)
WHERE = "On the computer of whoever films, in a folder that only they can open. The program sends nothing anywhere."
MAY_BE_ASKED = (
    "That this is put right, deleted or used no longer; and a yes can be taken back at any time. Ask whoever gave you this.",
    "Whoever is not content with the answer may turn to the data protection authority where they live.",
)
FILES = (
    "held.json: the same and all figures, for programs.",
    "review-1 and further: for each review steps.csv, every landing; angles.csv, every bend, picture by picture; and points.npz, where "
    "the points of this dancer's body were in every picture, for programs. Of whoever was left out there is left-out.npz alone.",
)
LEFT_OUT = "Left out of this review: nothing is told of them in it, but where the points of their body were in every picture is still kept."
LABEL_ONLY = "The label is still written down in what was put right by hand; nobody has it in this review now."
NOT_SURE = "it is not sure whose it is: only a number was written down, and dancers may have been numbered anew since"


@dataclass(frozen=True, eq=False)
class _Shown:
    """A review that holds a label. numbers: the dancers who have it; left_out: landmarks of those who have it and are left out."""

    kept: Kept
    stored: Stored
    numbers: list[int]
    left_out: Landmarks


def held_about(library: Library, dancer_id: int) -> dict[str, Any]:
    """Everything that the library and its reviews hold about a dancer, as strict JSON types; from reviews only that dancer's part.

    Raises BadInput if there is no such dancer, BadStore if a review cannot be read.
    """
    one = library.dancer(dancer_id)
    shown = _shown_in(library, one)
    return {
        "label": one.label,
        "class": next(group.name for group in library.classes() if group.id == one.class_id),
        "place_in_line": one.place,
        "agreed": [_without(asdict(each), "id", "dancer_id") for each in consents(library, dancer_id=one.id)],
        "said_no": [_without(asdict(each), "id", "dancer_id") for each in refusals(library, dancer_id=one.id)],
        "judgements": [_without(asdict(each), "dancer_id", "label") for each in library.judgements(dancer_id=one.id)],
        "lesson_records": [found for record in library.lesson_records() if (found := _about(record, one.label))],
        "handed_out": [
            {**_without(asdict(each), "dancer_id", "folder"), "sure_whose": sure} for each, sure in _handed_out(library, one, shown)
        ],
        "reviews": [_review(each) for each in shown],
        "not_in_here": list(NOT_IN_HERE),
    }


def held_archive(library: Library, dancer_id: int) -> bytes:
    """The archive (zip): held.html to read, held.json, and for every review this dancer's rows of the tables and their body's points.

    It is written down that it was handed out.
    """
    held, one = held_about(library, dancer_id), library.dancer(dancer_id)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as box:
        box.writestr("held.json", json.dumps(held, ensure_ascii=False, allow_nan=False, indent=1) + "\n")
        box.writestr("held.html", held_html(held))
        for place, each in enumerate(_shown_in(library, one), 1):
            for name in TABLES if each.numbers else ():
                box.writestr(f"review-{place}/{name}", _rows_of(each.kept.folder / name, each.numbers))
            if each.numbers:
                box.writestr(f"review-{place}/points.npz", _points(_as_corrected(each.stored).landmarks, each.numbers))
            if len(each.left_out.ids):
                box.writestr(f"review-{place}/left-out.npz", _points(each.left_out, each.left_out.ids))
    library.log_export("What is held about a dancer", archive_name(one), dancer_id=one.id)
    return made.getvalue()


def archive_name(dancer: Dancer) -> str:
    """What the archive is called: without the label, for file names are seen by others."""
    return f"held-about-dancer-{dancer.id}.zip"


def held_html(held: dict[str, Any]) -> str:
    """The same in words, in one page without anything from elsewhere."""
    sections = [
        ("Agreed", [f"{e['who']}: {e['purpose']}, from {told_day(e['given_on'])} until {told_day(e['until'])}"
                    + (f", taken back on {told_day(e['withdrawn_on'])}" if e["withdrawn_on"] else "") for e in held["agreed"]]),
        ("Said no", [f"{e['who']}: no to {e['purpose']}, on {told_day(e['said_on'])}"
                     + (f", until a yes on {told_day(e['replaced_on'])}" if e["replaced_on"] else "") for e in held["said_no"]]),
        ("Reviews", [f"{r['clip']}, kept until {told_day(r['kept_until'] or 'it is deleted')}. {r['in_words']}" for r in held["reviews"]]),
        ("Teacher's judgements", [f"{j['criterion']}: {j['level'] or 'not assessable'} ({told_day(j['made_on'])}) {j['words']}"
                                  for j in held["judgements"]]),
        ("Records of lessons", [json.dumps(record, ensure_ascii=False) for record in held["lesson_records"]]),
        ("Handed out", [f"{e['what']}, {e['name']}, on {told_day(e['made_on'])}" + ("" if e["sure_whose"] else f": {NOT_SURE}")
                        for e in held["handed_out"]]),
        ("Where it is", [WHERE]),
        ("What may be asked", MAY_BE_ASKED),
        ("In this archive", FILES),
        ("Not in here", held["not_in_here"]),
    ]  # fmt: skip
    body = "".join(f"<h2>{escape(title)}</h2>{_list(lines)}" for title, lines in sections)
    label = escape(held["label"])
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>What is held</title><style>'
        "@page{size:A4}body{font:1rem/1.5 sans-serif;max-width:44rem;margin:2rem auto;padding:0 1rem;"
        "color:#20242e}h2{font-size:1.1rem;margin-bottom:.2rem}</style></head><body>"
        f"<h1>What is held about {label}</h1><p>Class {escape(held['class'])}, place {held['place_in_line']} in the line.</p>{body}"
        "</body></html>\n"
    )


def _list(lines: Iterable[str]) -> str:
    rows = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<ul>{rows}</ul>" if rows else "<p>Nothing.</p>"


def _shown_in(library: Library, one: Dancer) -> list[_Shown]:
    """Reviews of the dancer's class in which somebody has their label, is left out under it, or had it once."""
    found = []
    for kept in library.reviews(class_id=one.class_id):
        if kept.folder.exists():
            stored = read_stored(kept.folder)
            each = _Shown(kept, stored, numbers_of(stored.review, one.label), _left_out(stored, one.label))
            if (
                each.numbers
                or len(each.left_out.ids)
                or any(_named(made, one.label) for made in read_corrections(kept.folder).values())
            ):
                found.append(each)
    return found


def _by_hand(stored: Stored) -> tuple[Correction, ...]:
    return read_corrections(stored.folder).get(stored.clip.sha256, ())


def _as_corrected(stored: Stored) -> Corrected:
    """Points are kept as they were found; numbers are those after somebody put right who is who."""
    return apply(stored.landmarks, _by_hand(stored), SETTINGS.desk)


def _named(made: Sequence[Correction], label: str) -> bool:
    return any((one.label or "").casefold() == label.casefold() for one in made)


def _left_out(stored: Stored, label: str) -> Landmarks:
    """Whoever is left out of a review and has this label once they are let in again."""
    made = _by_hand(stored)
    now = _as_corrected(stored)
    if not _named(made, label):
        return _of(now.landmarks, [])

    def found(said: Sequence[Correction]) -> int:
        try:
            labels = apply(stored.landmarks, said, SETTINGS.desk).labels
        except BadInput:  # nobody would be left
            return 0
        return sum((one or "").casefold() == label.casefold() for one in labels)

    rest = [one for one in made if one.kind != "leave out" or found([each for each in made if each != one]) <= found(made)]
    back = apply(stored.landmarks, rest, SETTINGS.desk)
    there = [image_px.tobytes() for image_px in np.moveaxis(now.landmarks.image_px, 1, 0)]
    new = [
        int(number)
        for k, number in enumerate(back.landmarks.ids)
        if (back.labels[k] or "").casefold() == label.casefold() and back.landmarks.image_px[:, k].tobytes() not in there
    ]
    return _of(back.landmarks, new)


def _of(landmarks: Landmarks, numbers: Sequence[int] | Ints) -> Landmarks:
    """These dancers' alone."""
    mine = np.isin(landmarks.ids, np.array(numbers, dtype=landmarks.ids.dtype))
    return Landmarks(landmarks.times_s, landmarks.ids[mine], landmarks.image_px[:, mine], landmarks.visibility[:, mine])


def _handed_out(library: Library, one: Dancer, shown: Sequence[_Shown]) -> list[tuple[Export, bool]]:
    """What left the program about a dancer, and whether that is sure: their own, what shows all of a review that shows them, and what
    is of one dancer of it of whom only the number was written down."""
    folders = {str(each.kept.folder.resolve()) for each in shown if each.numbers or len(each.left_out.ids)}
    found = []
    for each in library.exports():
        if each.dancer_id == one.id:
            found.append((each, True))
        elif each.dancer_id is None and each.folder in folders:
            found.append((each, re.search(r"of dancer \d+$", each.what) is None))
    return found


def _review(each: _Shown) -> dict[str, Any]:
    review = each.stored.review
    mine = [dancer for dancer in review["dancers"] if dancer["id"] in each.numbers]
    words = [timing_told(dancer, review["beats"]).words for dancer in mine]
    words += [found.words for dancer in mine for found in findings(dancer, review["beats"], review.get("dance"))]
    left_out = len(each.left_out.ids)
    words += [LEFT_OUT] if left_out else [] if mine else [LABEL_ONLY]
    return {
        "clip": review["clip"]["name"],
        "review": called(each.kept),
        "kept_until": each.kept.expires,
        "in_words": " ".join(words),
        "data": mine,
        "left_out": bool(left_out),
    }


def _about(value: Any, label: str) -> Any:
    """Whatever parts of a record stand under the label, or None."""
    same, found = label.casefold(), []
    if isinstance(value, dict):
        if any(isinstance(one, str) and one.casefold() == same for one in value.values()):
            return value
        found = [{key: one} if str(key).casefold() == same else _about(one, label) for key, one in value.items()]
    elif isinstance(value, list):
        found = [_about(one, label) for one in value]
    return [one for one in found if one] or None


def _rows_of(table: Path, numbers: list[int]) -> str:
    """A table's heading and the rows of these dancers; they begin with the dancer's number."""
    lines = table.read_text(encoding="utf-8").splitlines()
    wanted = {str(number) for number in numbers}
    return "".join(f"{line}\r\n" for k, line in enumerate(lines) if not k or line.partition(",")[0] in wanted)


def _points(landmarks: Landmarks, numbers: Sequence[int] | Ints) -> bytes:
    mine, made = _of(landmarks, numbers), io.BytesIO()
    np.savez_compressed(made, times_s=mine.times_s, ids=mine.ids, image_px=mine.image_px, visibility=mine.visibility)
    return made.getvalue()


def _without(row: dict[str, Any], *names: str) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in names}
