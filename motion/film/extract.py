"""A few seconds cut out of a clip, exactly from where it is asked, as a small film that any browser plays.

Browsers start whole clips at the nearest key picture or whole second, and a clip of 2 GB need not be loaded to look at one count.
"""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from motion.base.errors import ClipMissing, ClipUnreadable
from motion.base.types import Clip, Sound
from motion.clip.sound import read_sound
from motion.clip.video import open_clip, pictures
from motion.film.covered_record import VIEWING, stands_for
from motion.film.covers import cover_whole
from motion.review.corrections import Masks
from motion.review.settings import SETTINGS, Settings

if TYPE_CHECKING:
    from av.container import OutputContainer

#: Ticks a second in which the cut's picture times are written: the usual clock of film, finer than any picture rate.
TICKS = 90_000


def find_clip(path: Path, review: dict[str, Any], *, settings: Settings = SETTINGS) -> Clip:
    """Open the clip that a review was made from, or the copy with heads covered that is kept in its place.

    Raises ClipMissing if it is gone or is another clip, else as `open_clip` does.
    """
    if not path.is_file():
        raise ClipMissing(
            f"The clip '{path.name}' is no longer where it was", f"Put it back into the folder '{path.parent}' to play it"
        )
    clip = open_clip(path, settings=settings.clip)
    if clip.sha256 != review["clip"]["sha256"] and not stands_for(path, clip.sha256, review["clip"]["sha256"]):
        raise ClipMissing(
            f"The file '{path.name}' is not the clip that was reviewed",
            f"Put the clip itself into the folder '{path.parent}' to play it",
        )
    return clip


def clip_beside(folder: Path, name: str) -> Path:
    """Where the clip called `name` of the review in `folder` is to be looked for: beside it, or where the page keeps its copy."""
    beside = folder.resolve().parent
    places = (beside / name, beside / "clip" / name, beside / "clip" / VIEWING)
    return next((place for place in places if place.is_file()), places[0])


def cut(path: Path, clip: Clip, from_s: float, to_s: float, masks: Masks, *, settings: Settings = SETTINGS) -> bytes:
    """The stretch from_s..to_s of a clip as an MP4 (H.264, AAC), upright, at most cut_height_px high; its own time 0 is from_s.

    masks: over people who are not to be seen. Pictures keep their true times, so uneven ones stay uneven.
    Raises ClipUnreadable if no picture of the stretch can be read.
    """
    import av

    sound = read_sound(path, clip, settings=settings.clip)
    made = io.BytesIO()
    shrink = min(1.0, settings.page.cut_height_px / clip.height_px)
    width_px, height_px = (max(2, int(side * shrink) // 2 * 2) for side in (clip.width_px, clip.height_px))
    count = 0
    with av.open(made, "w", format="mp4") as box, pictures(path, clip, settings=settings.clip, from_s=from_s, to_s=to_s) as shown:
        video = box.add_stream("libx264", options={"crf": "23", "preset": "veryfast"})
        video.width, video.height, video.pix_fmt = width_px, height_px, "yuv420p"
        video.codec_context.time_base = Fraction(1, TICKS)
        speech = box.add_stream("aac", rate=sound.rate_hz, layout="mono") if isinstance(sound, Sound) else None
        for picture in shown:
            rgb = picture.rgb.copy()
            cover_whole(rgb, masks, picture.time_s)
            frame = av.VideoFrame.from_ndarray(rgb, format="rgb24").reformat(width_px, height_px, "yuv420p")
            frame.pts, frame.time_base = round((picture.time_s - from_s) * TICKS), Fraction(1, TICKS)
            box.mux(video.encode(frame))
            count += 1
        if count:
            box.mux(video.encode(None))
            if isinstance(sound, Sound):
                _add_sound(box, speech, sound, from_s, to_s)
    if not count:
        raise ClipUnreadable(f"This part of '{path.name}' cannot be read", "Copy the clip again from the phone")
    return made.getvalue()


def _add_sound(box: OutputContainer, stream: Any, sound: Sound, from_s: float, to_s: float) -> None:
    """The sound of the stretch, silence where the clip has none."""
    import av

    wanted = np.zeros(max(1, round((to_s - from_s) * sound.rate_hz)), np.float32)
    first = round((from_s - sound.start_s) * sound.rate_hz)
    a, b = max(0, first), min(len(sound.samples), first + len(wanted))
    if a < b:
        wanted[a - first : b - first] = sound.samples[a:b]
    frame = av.AudioFrame.from_ndarray(wanted[None, :], format="fltp", layout="mono")
    frame.sample_rate, frame.pts, frame.time_base = sound.rate_hz, 0, Fraction(1, sound.rate_hz)
    box.mux(stream.encode(frame))
    box.mux(stream.encode(None))
