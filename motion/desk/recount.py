"""Judging a finished review anew from a page that somebody looks at: at once, and where possible read ahead."""

from __future__ import annotations

import contextlib
import gc
import threading
from collections.abc import Iterator
from pathlib import Path

from motion.base.errors import MotionError
from motion.base.options import JudgeOptions
from motion.desk.open_review import LET_GO, let_go
from motion.desk.review_clip import judge_folder, judged_again
from motion.store.tables import angles_csv

#: Whoever asks while a review is being read waits for it, rather than reading it a second time at half the speed. Who reads a review's
#: corrections and writes them again with one more holds it all the while, so that none made in another window is lost.
ONE_AT_A_TIME = threading.RLock()


def recount(folder: Path, judge: JudgeOptions) -> None:
    """Judge a finished review again with other options, without its clip. Raises MotionError, and then nothing has changed."""
    with ONE_AT_A_TIME, _not_past_letting_go():
        judge_folder(folder, judge)


def look_ahead(folder: Path, judge: JudgeOptions) -> threading.Thread:
    """Have a finished review read and heard while somebody looks at it, so that `recount` then answers at once."""
    thread = threading.Thread(target=_ahead, args=(folder, judge), daemon=True)
    thread.start()
    return thread


def _ahead(folder: Path, judge: JudgeOptions) -> None:
    try:
        with ONE_AT_A_TIME, _not_past_letting_go():
            _, review = judged_again(folder, judge)
            angles_csv(review)
        _settle()
    except MotionError:
        return  # said when it is judged in earnest


@contextlib.contextmanager
def _not_past_letting_go() -> Iterator[None]:
    """What is read inside does not stay in memory if all was to be let go meanwhile, such as when the review is deleted."""
    LET_GO.clear()
    try:
        yield
    finally:
        if LET_GO.is_set():
            let_go()


def _settle() -> None:
    """Leave what has been read, and the libraries, out of Python's search for objects that nobody uses any more, which would otherwise go
    through all of it again during the press that somebody waits for. Everything is looked through once more before."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()
