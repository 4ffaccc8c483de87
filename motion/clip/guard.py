"""A decoder in a process of its own: whatever a broken file does to it, the tool lives on.

The child (`decoder.py`) writes messages to a pipe: a header, then bytes. A pipe leaves no shared memory to clean up and works on
every system; a picture of 1920 x 1080 goes through in about a millisecond. A plain process, not `multiprocessing`: that would run
the caller's main script again, which on a page is the page.
"""

from __future__ import annotations

import json
import os
import struct
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

#: kind (4 letters), a whole number, a time in seconds, length of the bytes that follow.
HEADER = struct.Struct("<4sqdQ")
#: The child's exit code when it ran out of memory.
OUT_OF_MEMORY = 3
#: No honest message besides a picture is longer: 72 000 times as text, or a few seconds of sound.
LONGEST_MESSAGE_BYTES = 64_000_000


@dataclass(frozen=True, eq=False)
class Message:
    """One message of the child. kind "PICT", "SOND", "LOOK", "DONE"; data (n,) bytes as uint8."""

    kind: str
    number: int
    time_s: float
    data: NDArray[np.uint8]

    def facts(self) -> dict[str, Any]:
        """The bytes as a JSON object."""
        found: dict[str, Any] = json.loads(self.data.tobytes())
        return found


class Guard:
    """A running decoder. A context manager: on leaving, the process is gone.

    Parameters: job, what `decoder.py` is to do; hang_s, seconds of silence after which it is stopped; largest_bytes, longest
    message believed. `read` gives None when the child has ended or had to be stopped; `finished` then says whether it came to its
    own end. Raises RuntimeError with the child's traceback if the fault is in our own code.
    """

    def __init__(self, job: dict[str, Any], *, hang_s: float, largest_bytes: int = LONGEST_MESSAGE_BYTES) -> None:
        self.finished = False
        self._hang_s = hang_s
        self._largest_bytes = max(largest_bytes, LONGEST_MESSAGE_BYTES)
        self._waiting_since: float | None = None
        self._closed = threading.Event()
        self._words = tempfile.TemporaryFile()  # noqa: SIM115  (closed in close)
        root = str(Path(__file__).parents[2])
        paths = [root, *filter(None, [os.environ.get("PYTHONPATH")])]
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "OPENBLAS_NUM_THREADS": "1"}
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", "motion.clip.decoder", json.dumps(job)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=self._words,
            env=environment,
            bufsize=0,
        )
        self._watchdog = threading.Thread(target=self._watch, daemon=True)
        self._watchdog.start()

    @property
    def process_id(self) -> int:
        """The child's process id."""
        return self._process.pid

    def __enter__(self) -> Guard:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def read(self) -> Message | None:
        """The next message, or None when there are no more."""
        while not self.finished:
            head = self._take(HEADER.size)
            if head is None:
                break
            kind, number, time_s, size = HEADER.unpack(head.tobytes())
            if size > self._largest_bytes:
                break
            data = self._take(size)
            if data is None:
                break
            if kind == b"LIVE":
                continue
            self.finished = kind == b"DONE"
            return Message(kind.decode("ascii", "replace"), number, time_s, data)
        if not self.finished:
            self._broke_off()
        return None

    def close(self) -> None:
        """End the child, at once, and clear up. May be called twice."""
        self._closed.set()
        self._process.kill()
        self._process.wait()
        self._watchdog.join()
        if self._process.stdout is not None:
            self._process.stdout.close()
        self._words.close()

    def _take(self, size: int) -> NDArray[np.uint8] | None:
        """`size` bytes (size,), or None if the pipe ends first."""
        pipe = self._process.stdout
        assert pipe is not None
        data = np.empty(size, np.uint8)
        view = memoryview(data.data)
        self._waiting_since = time.monotonic()
        got = 0
        while got < size:
            n = pipe.readinto(view[got:])  # type: ignore[attr-defined]
            if not n:
                break
            got += n
        self._waiting_since = None
        return data if got == size else None

    def _broke_off(self) -> None:
        """The child broke off. A crash or a stuck decoder is the file's doing; a traceback is ours and flies."""
        self._process.kill()
        if self._process.wait() == 1:
            self._words.seek(0)
            said = self._words.read().decode("utf-8", "replace")
            if "Traceback" in said:
                raise RuntimeError(f"the decoder process failed:\n{said}")

    def _watch(self) -> None:
        while not self._closed.wait(min(1.0, self._hang_s / 4)):
            since = self._waiting_since
            if since is not None and time.monotonic() - since > self._hang_s:
                self._process.kill()
                return
