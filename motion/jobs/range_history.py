"""The range checks among the finished reviews: which there are, and in which of them a dancer stands quietly."""

from __future__ import annotations

from pathlib import Path

from motion.base.errors import BadStore
from motion.jobs.queue import finished
from motion.store.folder import read_review
from motion.tell.range_check import Check, checked_dancer, maybe_same


def checks(start: Path | None = None) -> list[Check]:
    """The finished reviews that hold a range check, newest first; `start`, the folder that the page was opened with, before them. One that
    cannot be read is left out; it says so itself when it is opened."""
    found = []
    for one in finished(start):
        try:
            dancer = checked_dancer(read_review(one.folder))
        except BadStore:
            continue
        if dancer is not None:
            name = f"{dancer['label']}: {one.title}" if dancer["label"] else one.title
            found.append(Check(one.key, name, dancer["label"], dancer, one.folder))
    return found


def standings(start: Path | None, label: str | None, *, but: str | None = None) -> list[Check]:
    """The checks of that dancer, as far as is known, in which quiet standing was seen."""
    return [one for one in maybe_same(checks(start), label, but=but) if "standing" in one.dancer]
