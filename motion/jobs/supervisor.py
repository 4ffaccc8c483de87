"""The process that keeps watch over one review: starts it, shows that it is alive, stops it when asked, says how it ended.

A process of its own, so that a review outlives the page that asked for it, and so that only the process that started a review ends
it: a process number kept in a file may long belong to somebody else.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

from motion.base.atomic import write_whole
from motion.jobs.queue import ALIVE, ASKED, ENDED, PROGRESS, PROGRESS_VARIABLE, SAID, STOP, as_filmed, find, is_careful, start_next
from motion.review.settings import SETTINGS


def keep(folder: Path) -> None:
    """Run the command that job.json in `folder` names until it ends or a file `stop` appears; then write ended.json."""
    argv = json.loads((folder / ASKED).read_text(encoding="utf-8"))["argv"]
    stopped = False
    with (folder / SAID).open("wb") as said:
        child = subprocess.Popen(
            argv,
            cwd=folder,
            env={**os.environ, PROGRESS_VARIABLE: str(folder / PROGRESS)},
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            start_new_session=True,
        )
        shown_s = 0.0
        while child.poll() is None:
            if (folder / STOP).exists():
                stopped = True
                _end(child)
                break
            if time.monotonic() - shown_s > 1.0:
                shown_s = time.monotonic()
                (folder / ALIVE).touch()
            time.sleep(0.1)
    code = child.wait()
    write_whole(folder / ENDED, json.dumps({"code": code, "stopped": stopped}))
    if code == 0 and not stopped:
        _cover(folder)
    start_next()


def _cover(folder: Path) -> None:
    """Of a careful review, leave only a copy of the clip with heads covered; the review can be looked at meanwhile. What does not
    succeed here, the next sweep tries again."""
    job = find(folder.name)
    if job is not None and is_careful(job) and as_filmed(job) is not None:
        quiet = subprocess.DEVNULL
        words = [sys.executable, "-P", "-m", "motion.jobs.covered_copy", str(folder)]
        subprocess.run(words, stdin=quiet, stdout=quiet, stderr=quiet, check=False)


def _end(child: subprocess.Popen[bytes]) -> None:
    """As Ctrl-C would, so that half-written files are cleared away; after a few seconds without asking."""
    if os.name != "posix":
        child.terminate()
        return
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGINT)
        try:
            child.wait(SETTINGS.page.stop_s)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)


if __name__ == "__main__":
    keep(Path(sys.argv[1]))
