"""The decoder without its child process, for healthy files: the same messages, made before anybody asks."""

from __future__ import annotations

import json
from collections import deque
from typing import Any

import numpy as np

from motion.clip import decoder
from motion.clip.guard import Message

JOBS = {"look": decoder.look, "pictures": decoder.pictures, "sound": decoder.sound, "song": decoder.sound}


class InProcess:
    """Stands in for `guard.Guard`: the job is done here and now."""

    process_id = 0

    def __init__(self, job: dict[str, Any], **_: Any) -> None:
        self.finished = False
        self._waiting: deque[Message] = deque()

        def send(kind: str, number: int, time_s: float, data: Any) -> None:
            raw = np.frombuffer(data, np.uint8) if isinstance(data, bytes) else np.array(data).view(np.uint8).ravel()
            if kind != "LIVE":
                self._waiting.append(Message(kind, number, time_s, raw))

        try:
            facts = JOBS[job["what"]](job, send)
        except decoder.Refused as refused:
            facts = {"refused": str(refused)}
        send("DONE", 0, 0.0, json.dumps(facts).encode())

    def __enter__(self) -> InProcess:
        return self

    def __exit__(self, *_: object) -> None:
        self._waiting.clear()

    def read(self) -> Message | None:
        message = self._waiting.popleft() if self._waiting else None
        self.finished = message is None or message.kind == "DONE"
        return message

    def close(self) -> None:
        self._waiting.clear()
