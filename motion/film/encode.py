"""Writing films that every browser and phone plays: H.264 in yuv420p and AAC in mp4, its index first, pictures at their own times."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.types import Sound
from motion.film.covers import Image

TICKS_PER_S = 90_000  # fine enough that a picture's own time is kept to 11 microseconds
AUDIO_BLOCK = 1024  # samples in one AAC block
#: Where a film says what it was made from, so that a later look can tell whether it is still true.
MADE_FROM = "comment"
#: x264 at an even quality, quickly made.
EVEN = {"crf": "21", "preset": "veryfast"}
#: x264 as every phone of the last fifteen years plays it: no pictures that lean on later ones, a whole picture at least every 60.
FOR_PHONES = {"profile": "main", "preset": "medium", "crf": "24", "bf": "0", "g": "60", "forced-idr": "1"}


@dataclass(frozen=True)
class Piece:
    """One stretch of a film that is put together from another: from_s..to_s of it, slower or faster; title: of the chapter that
    begins with it, None where it belongs to the one before."""

    from_s: float
    to_s: float
    speed: float
    title: str | None = None


def write_film(
    drawn: Iterable[tuple[float, Image]],
    sound: Sound | None,
    out: Path,
    *,
    made_from: str = "",
    coding: dict[str, str] = EVEN,
    whole_at: Sequence[float] = (),
) -> None:
    """Write pictures (time in seconds, image (H, W, 3), both sides even) with sound on the same clock; the film begins with the first.

    coding: options of x264; whole_at: times from which on the film can be cut, because the first picture at or after each stands on
    its own. Raises OSError when the disk fails, and whatever making the
    pictures raises; a half written `out` then remains for the caller to remove.
    """
    import av

    with av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"}) as box:
        if made_from:
            box.metadata[MADE_FROM] = made_from
        video: Any = box.add_stream("libx264", options=coding)
        audio: Any = _voice(box, sound)
        blocks: Iterator[tuple[float, Any]] = iter(())
        waiting: tuple[float, Any] | None = None
        first_s, ticks, cuts = None, -1, sorted(whole_at)
        for time_s, image in drawn:
            if first_s is None:
                first_s = time_s
                video.width, video.height, video.pix_fmt = image.shape[1], image.shape[0], "yuv420p"
                video.codec_context.time_base = Fraction(1, TICKS_PER_S)
                blocks = blocks_of(sound, first_s) if sound is not None else blocks
                waiting = next(blocks, None)
            frame = av.VideoFrame.from_ndarray(image, format="rgb24").reformat(format="yuv420p")
            ticks = max(ticks + 1, round((time_s - first_s) * TICKS_PER_S))
            frame.pts, frame.time_base = ticks, Fraction(1, TICKS_PER_S)
            if cuts and time_s >= cuts[0] - 1e-6:
                cuts = [cut for cut in cuts if cut > time_s + 1e-6]
                frame.pict_type = av.video.frame.PictureType.I
            box.mux(video.encode(frame))
            while waiting is not None and waiting[0] <= time_s - first_s:
                box.mux(audio.encode(waiting[1]))
                waiting = next(blocks, None)
        box.mux(video.encode(None))
        if audio is not None:
            box.mux(audio.encode(None))


def put_together(source: Path, pieces: Sequence[Piece], sound: Sound, out: Path) -> None:
    """A film out of pieces of another one (written for phones, each piece beginning where it can be cut), pictures not coded again.

    Pieces follow each other, at their speeds. sound is on the new film's clock.
    """
    import av

    with av.open(str(source)) as given, av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"}) as box:
        taken = given.streams.video[0]
        video: Any = box.add_stream_from_template(taken)
        audio: Any = _voice(box, sound, bits_s=48_000)
        base = taken.time_base or Fraction(1, TICKS_PER_S)
        packets = [(float(p.pts * base), bytes(p), p.is_keyframe) for p in given.demux(taken) if p.pts is not None]
        blocks = blocks_of(sound, 0.0)
        waiting, at_s = next(blocks, None), 0.0
        for piece in pieces:
            for time_s, content, whole in packets:
                if not piece.from_s - 1e-4 <= time_s < piece.to_s - 1e-4:
                    continue
                now_s = at_s + (time_s - piece.from_s) / piece.speed
                packet = av.Packet(content)
                packet.stream, packet.time_base = video, Fraction(1, TICKS_PER_S)
                packet.pts = packet.dts = round(now_s * TICKS_PER_S)
                packet.is_keyframe = whole
                box.mux(packet)
                while waiting is not None and waiting[0] <= now_s:
                    box.mux(audio.encode(waiting[1]))
                    waiting = next(blocks, None)
            at_s += (piece.to_s - piece.from_s) / piece.speed
        while waiting is not None:
            box.mux(audio.encode(waiting[1]))
            waiting = next(blocks, None)
        box.mux(audio.encode(None))
        box.set_chapters(_chapters(pieces))


def made_from(path: Path) -> str:
    """What the film says that it was made from; "" if nothing, or if it is no film."""
    import av

    try:
        with av.open(str(path)) as box:
            return str(box.metadata.get(MADE_FROM, ""))
    except (av.FFmpegError, OSError):
        return ""


def _chapters(pieces: Sequence[Piece]) -> list[Any]:
    ends_s = np.cumsum([(piece.to_s - piece.from_s) / piece.speed for piece in pieces])
    begins = [(round(1000 * (end_s - (p.to_s - p.from_s) / p.speed)), p.title) for p, end_s in zip(pieces, ends_s, strict=True)]
    begins = [(start, title) for start, title in begins if title]
    ends = [start for start, _ in begins[1:]] + [round(1000 * float(ends_s[-1]))]
    return [
        {"id": n, "start": start, "end": end, "time_base": Fraction(1, 1000), "metadata": {"title": title}}
        for n, ((start, title), end) in enumerate(zip(begins, ends, strict=True))
    ]


def _voice(box: Any, sound: Sound | None, bits_s: int | None = None) -> Any:
    if sound is None:
        return None
    audio = box.add_stream("aac", rate=sound.rate_hz, layout="mono")
    if bits_s is not None:
        audio.bit_rate = bits_s
    return audio


def blocks_of(sound: Sound, first_s: float) -> Iterator[tuple[float, Any]]:
    """Start in seconds from the first picture (at first_s), and one block of the sound; silence before a late start."""
    import av

    begin = round((sound.start_s - first_s) * sound.rate_hz)
    samples = np.concatenate([np.zeros(max(0, begin), dtype=np.float32), sound.samples[max(0, -begin) :]])
    for at in range(0, len(samples), AUDIO_BLOCK):
        block = np.ascontiguousarray(samples[None, at : at + AUDIO_BLOCK], dtype=np.float32)
        frame: Any = av.AudioFrame.from_ndarray(block, format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = sound.rate_hz, at, Fraction(1, sound.rate_hz)
        yield at / sound.rate_hz, frame
