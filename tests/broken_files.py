"""Files spoilt by dice, and what has to hold when one of them is read."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from motion.base.errors import MotionError
from motion.clip.sound import read_sound
from motion.clip.video import open_clip, pictures
from motion.review.settings import SETTINGS


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
