"""Is this a clip that can be judged, when was each picture taken, and the pictures, one after another."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.errors import BadInput, ClipMissing, ClipTooLong, ClipTooShort, ClipUnreadable, NoTimeStamps
from motion.base.types import Clip, Floats, Picture
from motion.clip.clock import are_uneven
from motion.clip.guard import Guard
from motion.clip.settings import ClipSettings

_KINDS = "Use the video as the phone wrote it (mp4, mov, mkv, webm or avi)"


def open_clip(path: Path, *, settings: ClipSettings) -> Clip:
    """Check a file at the door and read what is known without decoding it: size, picture times, whether it has sound.

    times_s (F,) are the times that the file gives its pictures, in seconds from the first one that can be decoded; what the decoder
    really gives is known after a pass (`Pictures.as_seen`).
    Raises ClipMissing, ClipUnreadable, ClipTooShort, ClipTooLong, NoTimeStamps.
    """
    size = _size_of(path)
    name = f"'{path.name}'"
    if size == 0:
        raise ClipUnreadable(f"The file {name} is empty", "Copy it again from the phone")
    if size > settings.largest_bytes:
        raise ClipTooLong(
            f"The file {name} is {size / 1e9:.1f} GB large, but at most {settings.largest_bytes / 1e9:g} GB are read",
            "Cut out the dance that you want to look at",
        )
    facts = _ask({"what": "look", **_job(path, settings)}, settings)
    if facts is None:
        raise ClipUnreadable(
            f"The video {name} is damaged so badly that reading it had to be given up", "Copy it again from the phone"
        )
    if "refused" in facts:
        raise _refusal(facts["refused"], name, settings)
    times_s = np.array(facts["times_s"])
    duration_s = _duration_s(times_s, facts["last_interval_s"])
    if duration_s < settings.shortest_s:
        what = "holds a single picture" if len(times_s) == 1 else f"lasts {duration_s:.1f} s"
        again = "It is cut off: copy it again" if facts["cut_short"] else "Film the whole dance"
        raise ClipTooShort(f"The clip {name} {what}, but at least {settings.shortest_s:g} s are needed", again)
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return Clip(
        name=path.name,
        sha256=digest,
        times_s=times_s,
        width_px=facts["width_px"],
        height_px=facts["height_px"],
        duration_s=duration_s,
        has_sound=facts["has_sound"],
        cut_short=facts["cut_short"],
        uneven_times=are_uneven(times_s, off_ms=settings.uneven_ms, share=settings.uneven_share),
        first_picture_s=facts["first_picture_s"],
    )


class Pictures:
    """The pictures of one pass, in order, none kept: iterate once, inside the `with` of `pictures`."""

    def __init__(self, clip: Clip, guard: Guard, settings: ClipSettings, from_s: float, to_s: float) -> None:
        self._clip, self._guard, self._settings = clip, guard, settings
        self._from_s, self._to_s = from_s, to_s
        self._times_s: list[float] = []
        self._damaged = 0
        self._broke_off = False
        self._at_end = False

    @property
    def process_id(self) -> int:
        """Process id of the decoder."""
        return self._guard.process_id

    def __iter__(self) -> Iterator[Picture]:
        return self

    def __next__(self) -> Picture:
        """The next picture. Ends also where the decoder died or the file breaks off (`as_seen` says so)."""
        if self._at_end:
            raise StopIteration
        message = self._guard.read()
        if message is not None and message.kind == "PICT":
            shape = (self._clip.height_px, self._clip.width_px, 3)
            if message.data.size == np.prod(shape) and (not self._times_s or message.time_s > self._times_s[-1]):
                self._times_s.append(message.time_s)
                return Picture(len(self._times_s) - 1, message.time_s, message.data.reshape(shape))
            message = None
        self._at_end = True
        facts = message.facts() if message is not None else {}
        self._damaged = facts.get("damaged", 0)
        self._broke_off = facts.get("broken", True)
        raise StopIteration

    def as_seen(self) -> Clip:
        """The clip with the times of the pictures that really came, damaged ones counted; where the decoder gave up, the clip ends.

        Of a pass over a stretch only that stretch's times are replaced; before a pass has ended, times after its last picture stay.
        """
        old, seen = self._clip.times_s, np.array(self._times_s)
        reached = self._to_s if self._at_end else (seen[-1] if len(seen) else -np.inf)
        times_s = np.concatenate([old[old < self._from_s], seen, old[old > reached] if not self._broke_off else []])
        lost_end = self._broke_off and len(times_s) < len(old)
        duration_s = _duration_s(times_s, 0.0) if lost_end else self._clip.duration_s
        return replace(
            self._clip,
            times_s=times_s,
            duration_s=duration_s,
            damaged_pictures=self._damaged,
            cut_short=self._clip.cut_short or self._broke_off,
            uneven_times=are_uneven(times_s, off_ms=self._settings.uneven_ms, share=self._settings.uneven_share),
        )


@contextmanager
def pictures(
    path: Path, clip: Clip, *, settings: ClipSettings, from_s: float | None = None, to_s: float | None = None
) -> Iterator[Pictures]:
    """The pictures of a clip from from_s to to_s (both included; seconds of the clip), decoded in a guarded process.

    Each is a Picture with rgb (H, W, 3), upright, H and W as the clip says. Nothing is kept: let each picture go before the next.
    Leaving the `with` ends the process. Raises BadInput if from_s is not before to_s or lies past the clip's end.
    Example: with pictures(path, clip, settings=s) as shown: for picture in shown: ...; then shown.as_seen() is the corrected clip.
    """
    start_s = 0.0 if from_s is None else from_s
    end_s = clip.duration_s if to_s is None else to_s
    if not 0.0 <= start_s < end_s or start_s > clip.times_s[-1]:
        raise BadInput(
            f"The stretch from {start_s:g} s to {end_s:g} s is not part of this clip, which lasts {clip.duration_s:.1f} s",
            "Give a start before the end, both within the clip",
        )
    job = {
        "what": "pictures",
        **_job(path, settings),
        "width_px": clip.width_px,
        "height_px": clip.height_px,
        "first_picture_s": clip.first_picture_s,
        "from_s": start_s,
        "to_s": settings.longest_s if to_s is None else to_s,
    }
    with Guard(job, hang_s=settings.hang_s, largest_bytes=clip.width_px * clip.height_px * 3) as guard:
        yield Pictures(clip, guard, settings, start_s, job["to_s"])


def _job(path: Path, settings: ClipSettings) -> dict[str, Any]:
    names = ("longest_s", "most_pictures", "largest_side_px", "memory_mb", "cut_short_s")
    return {"path": str(path.absolute()), "limits": {n: getattr(settings, n) for n in names}}


def _ask(job: dict[str, Any], settings: ClipSettings) -> dict[str, Any] | None:
    """The answer to a job of one message; None if the decoder died over it."""
    with Guard(job, hang_s=settings.hang_s) as guard:
        message = guard.read()
        return message.facts() if message is not None else None


def _size_of(path: Path) -> int:
    """Bytes of an ordinary, readable file. Raises ClipMissing, ClipUnreadable."""
    name = f"'{path.name}'"
    if path.is_dir():
        raise ClipMissing(f"{name} is a folder, not a clip", "Name one video file in it")
    if not path.exists():
        raise ClipMissing(f"There is no file {name} in the folder '{path.absolute().parent}'", "Check the name and the folder")
    if not path.is_file():
        raise ClipUnreadable(f"{name} is not an ordinary file", _KINDS)
    if not os.access(path, os.R_OK):
        raise ClipUnreadable(
            f"The file {name} may not be read by you", "Change its permissions, or copy it to a folder of your own"
        )
    return path.stat().st_size


def _duration_s(times_s: Floats, last_interval_s: float) -> float:
    """Seconds from the first picture to the end of the last; its stay is taken from its neighbours if the file does not say."""
    usual_s = float(np.median(np.diff(times_s))) if len(times_s) > 1 else 0.0
    last_s = last_interval_s if 0.0 < last_interval_s < 1.0 else usual_s
    return float(times_s[-1]) + last_s if len(times_s) else 0.0


def _refusal(why: str, name: str, settings: ClipSettings) -> Exception:
    """The error for a file that the decoder refused."""
    again = "Copy it again from the phone: it may be cut off"
    match why:
        case "no video":
            return ClipUnreadable(f"The file {name} holds no moving pictures", _KINDS)
        case "unknown coding":
            return ClipUnreadable(f"The pictures in {name} are coded in a way that is not known here", _KINDS)
        case "no pictures":
            return ClipUnreadable(f"Not one picture in {name} can be read", again)
        case "no times":
            return NoTimeStamps(f"The pictures in {name} carry no times, so nothing can be timed", _KINDS)
        case "large":
            return ClipTooLong(
                f"The pictures in {name} are wider or higher than {settings.largest_side_px} pixels", "Film in 1080p"
            )
        case "many":
            return ClipTooLong(
                f"The clip {name} has more than {settings.most_pictures} pictures", "Cut out the dance that you want to look at"
            )
        case "long":
            return ClipTooLong(
                f"The clip {name} is longer than {settings.longest_s / 60:g} minutes", "Cut out the dance that you want to look at"
            )
        case _:
            return ClipUnreadable(
                f"The file {name} cannot be read as a video", f"{_KINDS}; if it is one, copy it again: it may be cut off"
            )
