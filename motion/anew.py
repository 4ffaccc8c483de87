"""Judging a finished review anew from a page that somebody looks at: at once, and where possible read ahead."""

from __future__ import annotations

import gc
import threading
from pathlib import Path

from motion.desk import judge_folder, judged_again
from motion.errors import MotionError
from motion.options import JudgeOptions
from motion.store_tables import angles_csv

#: Whoever asks while a review is being read waits for it, rather than reading it a second time at half the speed.
_ONE_AT_A_TIME = threading.Lock()


def rejudge(folder: Path, judge: JudgeOptions) -> None:
    """Judge a finished review again with other options, without its clip. Raises MotionError, and then nothing has changed."""
    with _ONE_AT_A_TIME:
        judge_folder(folder, judge)


def look_ahead(folder: Path, judge: JudgeOptions) -> threading.Thread:
    """Have a finished review read and heard while somebody looks at it, so that `rejudge` then answers at once."""
    thread = threading.Thread(target=_ahead, args=(folder, judge), daemon=True)
    thread.start()
    return thread


def _ahead(folder: Path, judge: JudgeOptions) -> None:
    try:
        with _ONE_AT_A_TIME:
            _, review = judged_again(folder, judge)
        angles_csv(review)
        _settle()
    except MotionError:
        return  # said when it is judged in earnest


def _settle() -> None:
    """Leave what has been read, and the libraries, out of Python's search for objects that nobody uses any more, which would otherwise go
    through all of it again during the press that somebody waits for. Everything is looked through once more before."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()
