"""What the commands are given, looked at before anything is done with it: numbers, stored reviews, clips; and who reads the answer."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

from motion.base.errors import BadInput, ClipMissing
from motion.review.settings import SETTINGS


def number(text: str) -> float:
    """The number that was typed; with a comma for its point too, as many countries write it. Raises argparse's own error."""
    try:
        return float(text.strip().replace(",", ".", 1))
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number such as 4 or 4.5") from error


def whole(text: str) -> int:
    """The whole number that was typed. Raises argparse's own error."""
    try:
        return int(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number such as 4") from error


def clip_of(folder: Path, given: Path | None) -> Path:
    """The clip of a stored review: the one that was named, or the one that lies beside the folder. Raises ClipMissing without it."""
    from motion.film.extract import clip_beside
    from motion.store.folder import read_review

    name = str(read_review(folder, whole=True)["clip"]["name"])
    if given is None:
        beside = clip_beside(folder, name)
        if not beside.is_file():
            raise ClipMissing(
                f"The clip '{name}' is not in the folder '{folder.resolve().parent}'", "Put it back there, or name it with --clip"
            )
        return beside
    if not given.is_file():
        raise ClipMissing(f"There is no clip '{given}'", f"Name the file '{name}' itself with --clip")
    return given


def told_beside(review: dict[str, Any]) -> list[str]:
    """Lines on what was asked for besides the counts: the ranges of a range check, and numbers of dancers who are not there."""
    from motion.tell.range_check import checked_dancer, task_ranges, task_told
    from motion.tell.review_words import dancer_name

    lines = []
    if (dancer := checked_dancer(review)) is not None:
        lines = [f"{dancer_name(dancer)}, {task.task}: {task_told(task)}" for task in task_ranges(dancer)]
    there = [one["id"] for one in review["dancers"]]
    for asked in review["made_by"].get("judged", {}).get("own_version", []):
        if asked not in there:
            shown = ", ".join(str(number) for number in there)
            lines.append(f"There is no dancer {asked} in this review ({shown}), so --own-version {asked} changes nothing.")
    return lines


def check_age(age: int | None, audience: str) -> None:
    """Raise BadInput for an age where none is used: targets for the pulse are those of grown-ups alone."""
    grown = SETTINGS.lesson.adult_age
    if age is not None and audience == "children":
        raise BadInput("--age is for the pulse of grown-ups, and this lesson is for children", "Leave it out, or add --for adults")
    if age is not None and SETTINGS.lesson.youngest_age <= age < grown:
        raise BadInput(f"--age is {age}, but the pulse tables are for grown-ups, from {grown}", "Leave it out")


def check_floor(dancers: int | None, rows: int | None, room: str | None) -> None:
    """Raise BadInput for rows or a room of a floor plan that is not asked for."""
    if dancers is None and (rows is not None or room is not None):
        name = "--rows" if rows is not None else "--room"
        raise BadInput(f"{name} is about the floor plan, which needs to know how many dance", "Give --dancers too")


def in_one_line(words: str) -> str:
    """The words with a question mark for whatever would break the line or colour the terminal, as a file's name may."""
    return "".join(letter if letter.isprintable() else "?" for letter in words)


def nobody_reads() -> None:
    """Whoever read our words has gone (`| head`): what is still to be said goes nowhere, also at the end of the process."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
