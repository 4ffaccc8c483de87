"""The decoder without its child process, for healthy files: the same messages, made before anybody asks. And broken files by the dozen."""

from __future__ import annotations

import json
from collections import deque
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np

from motion.base.errors import MotionError
from motion.clip import decoder
from motion.clip.guard import Message
from motion.clip.sound import read_sound
from motion.clip.video import open_clip, pictures
from motion.review.settings import SETTINGS

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


def broken(data: bytes, seed: int) -> bytes:
    """A file's bytes cut off, flipped here and there, flipped in the head, or overwritten for a stretch."""
    chance = np.random.default_rng(seed)
    spoilt = np.frombuffer(data, np.uint8).copy()
    match seed // 6 % 4:
        case 0:
            spoilt = spoilt[: int(chance.integers(1, len(spoilt)))]
        case 1:
            for at in chance.integers(0, len(spoilt), 40):
                spoilt[at] ^= 1 << chance.integers(0, 8)
        case 2:  # the head, where the structure lies
            for at in chance.integers(0, min(2000, len(spoilt)), 6):
                spoilt[at] ^= 1 << chance.integers(0, 8)
        case _:
            at = int(chance.integers(0, len(spoilt) - 600))
            spoilt[at : at + 600] = chance.integers(0, 256, 600)
    return spoilt.tobytes()


def look_through(path: Path) -> None:
    """Open a broken file and read all of it: a sentence, or frames and sound that hold together."""
    quick = replace(SETTINGS.clip, shortest_s=0.2, hang_s=10.0)
    try:
        clip = open_clip(path, settings=quick)
    except MotionError:
        return
    with pictures(path, clip, settings=quick) as shown:
        n = sum(1 for _ in shown)
    after = shown.as_seen()
    assert len(after.times_s) == n or after.cut_short or not after.damaged_pictures
    assert after.times_s.tolist() == sorted(set(after.times_s.tolist()))
    read_sound(path, clip, settings=quick)


def look_through_here(path: Path) -> None:
    """The same without a child process; run it where a crash does no harm."""
    with mock.patch("motion.clip.video.Guard", InProcess), mock.patch("motion.clip.sound.Guard", InProcess):
        look_through(path)
