"""What is held about a dancer, as one archive to hand over: said in words, and the data themselves."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Iterable
from dataclasses import asdict
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from motion.corrections import apply
from motion.forget import numbers_of
from motion.library import Dancer, Export, Kept, Library
from motion.library_consent import consents, refusals
from motion.library_sweep import called
from motion.plain import findings, timing_told
from motion.report_words import told_day
from motion.settings import SETTINGS
from motion.store import Stored, read_stored
from motion.store_corrections import read_corrections

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
    "the points of this dancer's body were in every picture, for programs.",
)


def held_about(library: Library, dancer_id: int) -> dict[str, Any]:
    """Everything that the library and its reviews hold about a dancer, as strict JSON types; from reviews only that dancer's part.

    Raises BadInput if there is no such dancer, BadStore if a review cannot be read.
    """
    one = library.dancer(dancer_id)
    return {
        "label": one.label,
        "class": next(group.name for group in library.classes() if group.id == one.class_id),
        "place_in_line": one.place,
        "agreed": [_without(asdict(each), "id", "dancer_id") for each in consents(library, dancer_id=one.id)],
        "said_no": [_without(asdict(each), "id", "dancer_id") for each in refusals(library, dancer_id=one.id)],
        "judgements": [_without(asdict(each), "dancer_id", "label") for each in library.judgements(dancer_id=one.id)],
        "lesson_records": [found for record in library.lesson_records() if (found := _about(record, one.label))],
        "handed_out": [_without(asdict(each), "dancer_id", "folder") for each in _handed_out(library, one)],
        "reviews": [_review(kept, one) for kept in _shown_in(library, one)],
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
        for place, kept in enumerate(_shown_in(library, one), 1):
            stored = read_stored(kept.folder)
            numbers = numbers_of(stored.review, one.label)
            for name in TABLES:
                box.writestr(f"review-{place}/{name}", _rows_of(kept.folder / name, numbers))
            box.writestr(f"review-{place}/points.npz", _points(stored, numbers))
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
        ("Handed out", [f"{e['what']}, {e['name']}, on {told_day(e['made_on'])}" for e in held["handed_out"]]),
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


def _shown_in(library: Library, one: Dancer) -> list[Kept]:
    """Reviews of the dancer's class in which somebody has their label."""
    known = [kept for kept in library.reviews(class_id=one.class_id) if kept.folder.exists()]
    return [kept for kept in known if numbers_of(read_stored(kept.folder).review, one.label)]


def _handed_out(library: Library, one: Dancer) -> list[Export]:
    """What left the program about a dancer: their own, and what came from reviews that show them unless it is of another dancer alone."""
    shown = {str(kept.folder.resolve()): numbers_of(read_stored(kept.folder).review, one.label) for kept in _shown_in(library, one)}
    found = []
    for each in library.exports():
        of = re.search(r"of dancer (\d+)$", each.what)
        theirs = each.folder in shown and (of is None or int(of[1]) in shown[each.folder or ""])
        if each.dancer_id == one.id or theirs:
            found.append(each)
    return found


def _review(kept: Kept, one: Dancer) -> dict[str, Any]:
    review = read_stored(kept.folder).review
    mine = [dancer for dancer in review["dancers"] if dancer["id"] in numbers_of(review, one.label)]
    words = [timing_told(dancer, review["beats"]).words for dancer in mine]
    words += [found.words for dancer in mine for found in findings(dancer, review["beats"], review.get("dance"))]
    return {
        "clip": review["clip"]["name"],
        "review": called(kept),
        "kept_until": kept.expires,
        "in_words": " ".join(words),
        "data": mine,
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


def _points(stored: Stored, numbers: list[int]) -> bytes:
    # Points are kept as they were found; numbers are those after somebody put right who is who.
    made_by_hand = read_corrections(stored.folder).get(stored.clip.sha256, ())
    landmarks = apply(stored.landmarks, made_by_hand, SETTINGS.desk).landmarks
    mine = np.isin(landmarks.ids, numbers)
    made = io.BytesIO()
    np.savez_compressed(
        made, times_s=landmarks.times_s, ids=landmarks.ids[mine], image_px=landmarks.image_px[:, mine],
        visibility=landmarks.visibility[:, mine],
    )  # fmt: skip
    return made.getvalue()


def _without(row: dict[str, Any], *names: str) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in names}
