"""Stored reviews and jobs with a small film, for tests of the library; and what stands in every byte of a folder."""

from __future__ import annotations

import hashlib
import io
import json
import time
from dataclasses import replace
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from made import made_review

from motion.base.home import home
from motion.base.options import JudgeOptions
from motion.clip.video import open_clip, pictures
from motion.desk.correct import add, give_label
from motion.film.covers import COVER
from motion.jobs.queue import Job, find
from motion.library.classes import Library
from motion.review.settings import SETTINGS
from motion.store.folder import read_review, write_review
from motion.store.serialize import review_json
from motion.tell.report import report_html

TODAY = date(2031, 3, 1)
SIZE_PX = (384, 216)
RATE_HZ = 10.0
#: Labels that stand in no file by chance.
RED, BLUE = "Zinnober", "Ultramarin"


def a_class(library: Library) -> int:
    """A class of three; its id."""
    class_id = library.add_class("Tuesday beginners")
    library.set_line_up(class_id, [RED, BLUE, "K"])
    return class_id


@cache
def film() -> bytes:
    """A film as long as a stored review, of dark noise with one click at 1 s in its sound."""
    import av

    times_s, made = made_review(1, 8, rate_hz=RATE_HZ).landmarks.times_s, io.BytesIO()
    sound = np.zeros(round((times_s[-1] + 0.1) * 44_100), np.float32)
    sound[44_100:][:60] = 0.9
    dark = np.random.default_rng(1).integers(20, 60, (SIZE_PX[1], SIZE_PX[0], 3), dtype=np.uint8)
    with av.open(made, "w", format="mp4") as box:
        video = box.add_stream("libx264", options={"crf": "10", "preset": "ultrafast"})
        video.width, video.height, video.pix_fmt = *SIZE_PX, "yuv420p"
        video.codec_context.time_base = Fraction(1, 90_000)
        heard = box.add_stream("aac", rate=44_100, layout="mono")
        for time_s in times_s:
            frame = av.VideoFrame.from_ndarray(dark, format="rgb24")
            frame.pts, frame.time_base = round(time_s * 90_000), Fraction(1, 90_000)
            box.mux(video.encode(frame))
        box.mux(video.encode(None))
        piece = av.AudioFrame.from_ndarray(sound[None, :], format="fltp", layout="mono")
        piece.sample_rate, piece.pts, piece.time_base = 44_100, 0, Fraction(1, 44_100)
        box.mux(heard.encode(piece))
        box.mux(heard.encode(None))
    return made.getvalue()


def store(folder: Path, dancers: int = 3, *, clip: Path | None = None, expires: str | None = None, **options: Any) -> Path:
    """A stored review, of a clip that may be there."""
    made = made_review(dancers, 8, size_px=SIZE_PX, rate_hz=RATE_HZ, expires=expires, **options)
    if clip is not None:
        digest = hashlib.sha256(clip.read_bytes()).hexdigest()
        made = replace(made, clip=replace(made.clip, sha256=digest, name=clip.name))
    folder.parent.mkdir(parents=True, exist_ok=True)
    write_review(folder, made, extra_arrays={}, report_html=report_html(review_json(made)))
    return folder


def shelve(
    key: str, dancers: int = 3, *, own: bool = True, started_at: float | None = None, quality: str = "fine", **options: Any
) -> Job:
    """A finished job with its clip: the page's own copy, or one that lies elsewhere."""
    folder = home() / "jobs" / key
    (folder / "clip").mkdir(parents=True)
    place = folder / "clip" if own else home().parent
    clip = place / "lesson.mp4"
    clip.write_bytes(film())
    store(folder / "review", dancers, clip=clip, **options)
    asked = {
        "clip": str(clip), "sheet": None, "title": clip.name, "own_clip": own, "argv": ["--quality", quality],
        "started_at": time.time() if started_at is None else started_at,
    }  # fmt: skip
    (folder / "job.json").write_text(json.dumps(asked))
    (folder / "ended.json").write_text(json.dumps({"code": 0, "stopped": False}))
    job = find(key)
    assert job is not None
    return job


def call(folder: Path, number: int, label: str) -> None:
    """Give a label as the page does."""
    add(folder, give_label(read_review(folder), number, label), JudgeOptions())


def bytes_under(*places: Path) -> dict[str, bytes]:
    """Every file under these places, and what is packed in it."""
    found: dict[str, bytes] = {}
    for path in (p for place in places for p in place.rglob("*") if p.is_file()):
        found[str(path)] = path.read_bytes()
        if path.suffix == ".npz":
            with np.load(path) as arrays:
                found |= {f"{path}:{name}": arrays[name].tobytes() for name in arrays.files}
    return found


def holding(word: str, *places: Path) -> list[str]:
    return [name for name, content in bytes_under(*places).items() if word.lower().encode() in content.lower()]


def lit(path: Path, time_s: float) -> np.ndarray:
    """Where the picture of a dark film is covered, at a moment."""
    clip = open_clip(path, settings=SETTINGS.clip)
    with pictures(path, clip, settings=SETTINGS.clip, from_s=time_s) as shown:
        return np.abs(next(iter(shown)).rgb.astype(int) - COVER).max(axis=2) < 30
