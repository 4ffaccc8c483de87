"""The child process: the only file that opens videos. Run by `guard.py` with a job; answers in messages on its standard output.

Jobs: "look" (what the file is, its picture times; one picture decoded, the rest only counted), "pictures", "sound", "song".
One decoding thread: measured, it is the fastest per core, and the other core belongs to the pose model.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from motion.clip.clock import OrderedTimes
from motion.clip.guard import HEADER, OUT_OF_MEMORY

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer
    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

Send = Callable[[str, int, float, "NDArray[Any] | bytes"], None]
Matrix = tuple[int, int, int, int]
#: Containers that are read. Play lists and the like, which name other files or addresses, are not among them.
CONTAINERS = "mov,matroska,avi,mpegts,mpeg"
#: And what songs come in.
SONG_CONTAINERS = CONTAINERS + ",wav,mp3,flac,ogg,aac,aiff,asf,caf,w64"
#: A sign of life every so many packets.
LIVE_EVERY = 200
#: Before an asked start, so that pictures that lean on earlier ones are whole.
RUN_UP_S = 1.0
SOUND_PIECES_A_MESSAGE = 256


class Refused(Exception):
    """The file cannot be used; the word tells the parent why."""


@dataclass
class Reader:
    """Packets of the chosen streams until the end or the place where the file breaks off."""

    box: InputContainer
    streams: list[Any]
    send: Send
    broken: bool = False

    def __iter__(self) -> Iterator[Packet[Any]]:
        import av

        try:
            for n, packet in enumerate(self.box.demux(self.streams)):
                if n % LIVE_EVERY == 0:
                    self.send("LIVE", 0, 0.0, b"")
                self.broken = self.broken or packet.is_corrupt
                yield packet
        except av.FFmpegError:
            self.broken = True


@dataclass
class Frames:
    """Decoded pictures as (time stamp, picture), in the order shown; counts what the decoder could not give."""

    reader: Reader
    video: VideoStream
    by_order: bool
    damaged: int = 0

    def __iter__(self) -> Iterator[tuple[int, VideoFrame]]:
        import av

        order = OrderedTimes()
        for packet in self.reader:
            coded = packet.size > 0 and packet.dts is not None
            if coded:
                order.sent(int(packet.dts or 0))
            try:
                frames = packet.decode()
            except MemoryError:
                raise
            except av.FFmpegError:
                self.damaged += packet.size > 0
                if coded:
                    order.lost(int(packet.dts or 0))
                continue
            yield from self._stamped(frames, order)
        if self.reader.broken:
            with contextlib.suppress(av.FFmpegError):  # what the decoder still held back
                yield from self._stamped(self.video.codec_context.decode(None), order)

    def _stamped(self, frames: list[Any], order: OrderedTimes) -> Iterator[tuple[int, VideoFrame]]:
        for frame in frames:
            in_order = order.shown()
            stamp = in_order if self.by_order else frame.pts if frame.pts is not None else frame.dts
            if stamp is None or frame.is_corrupt:
                self.damaged += 1
                continue
            yield int(stamp), frame


def open_box(path: str, containers: str = CONTAINERS) -> InputContainer:
    """The file as a container. Raises Refused("unreadable")."""
    import av

    allowed = {"protocol_whitelist": "file", "format_whitelist": containers}
    try:
        return av.open("file:" + path, options=allowed)
    except av.FFmpegError as error:
        raise Refused("unreadable") from error


def video_of(box: InputContainer) -> VideoStream:
    """The stream of moving pictures (not the cover of a song). Raises Refused("no video" | "unknown coding")."""
    from av.stream import Disposition

    found = [s for s in box.streams.video if not s.disposition & Disposition.attached_pic]
    if not found:
        raise Refused("no video")
    known = [s for s in found if s.codec_context is not None]
    if not known:
        raise Refused("unknown coding")
    known[0].codec_context.thread_type = "NONE"
    known[0].codec_context.thread_count = 1
    return known[0]


def sound_of(box: InputContainer) -> AudioStream | None:
    """The first sound stream that can be decoded, None if there is none."""
    known = [s for s in box.streams.audio if s.codec_context is not None]
    return known[0] if known else None


def stored_in_order(box: InputContainer) -> bool:
    """Whether the container keeps no times of showing, only the order of decoding."""
    return box.format.name == "avi"


def upright(frame: VideoFrame, pixel_shape: Fraction | None, matrix: Matrix) -> NDArray[np.uint8]:
    """The picture as it is to be seen, (H, W, 3) RGB: square pixels, turned and mirrored as the display matrix says."""
    width = frame.width
    if pixel_shape is not None and pixel_shape != 1 and Fraction(1, 4) <= pixel_shape <= 4:
        width = max(1, round(width * pixel_shape))
    rgb = frame.to_ndarray(format="rgb24", width=width, height=frame.height, threads=1)
    a, b, c, d = matrix
    swapped = abs(b) + abs(c) > abs(a) + abs(d)
    mirror_x, mirror_y = (c < 0, b < 0) if swapped else (a < 0, d < 0)
    if not (swapped or mirror_x or mirror_y):
        return np.ascontiguousarray(rgb, dtype=np.uint8)
    pixels = np.ascontiguousarray(rgb).view("V3")[..., 0]  # three bytes moved as one: twice as fast
    if swapped:
        pixels = pixels.T
    pixels = pixels[:: -1 if mirror_y else 1, :: -1 if mirror_x else 1]
    return np.ascontiguousarray(pixels)[..., None].view(np.uint8)


def display_matrix(frame: VideoFrame) -> Matrix:
    """a, b, c, d of the file's display matrix: a point (x, y) is shown at (a x + c y, b x + d y). (1, 0, 0, 1) if there is none.

    Ask the first picture only: a frame asked for its side data refers to itself and is freed late, which fills the memory.
    """
    held: Any = frame.side_data  # the library's stubs take this list for a mapping
    for data in held:
        if data.type.name == "DISPLAYMATRIX":
            m = np.frombuffer(bytes(data), np.int32)
            return int(m[0]), int(m[1]), int(m[3]), int(m[4])
    return 1, 0, 0, 1


def look(job: dict[str, Any], send: Send) -> dict[str, Any]:
    """What the file is. Raises Refused."""
    limits = job["limits"]
    with open_box(job["path"]) as box:
        video = video_of(box)
        if video.codec_context.width > limits["largest_side_px"] or video.codec_context.height > limits["largest_side_px"]:
            raise Refused("large")
        tick = video.time_base
        if tick is None:
            raise Refused("no times")
        says_s = said_length_s(box, video)
        if says_s is not None and says_s > limits["longest_s"]:
            raise Refused("long")
        first = next(iter(Frames(Reader(box, [video], send), video, stored_in_order(box))), None)
        if first is None:
            raise Refused("no pictures")
        stamp, frame = first
        height_px, width_px, _ = upright(frame, video.sample_aspect_ratio, display_matrix(frame)).shape
    stamps, last_s, end_s, has_sound, broken = count(job, send, stamp)
    ends_early = says_s is not None and says_s - end_s > limits["cut_short_s"]
    return {
        "width_px": width_px,
        "height_px": height_px,
        "first_picture_s": float(stamp * tick),
        "times_s": [float((s - stamp) * tick) for s in stamps],
        "last_interval_s": last_s,
        "has_sound": has_sound,
        "cut_short": broken or ends_early,
    }


def said_length_s(box: InputContainer, video: VideoStream) -> float | None:
    """Seconds from the file's zero at which it says it ends, None if it does not say."""
    said = [float(box.duration + max(box.start_time or 0, 0)) / 1e6] if box.duration else []
    if stored_in_order(box) and video.frames and video.average_rate:
        said.append(float(video.frames / video.average_rate))  # AVI: the length itself is taken from the file's size
    return max(said, default=None)


def count(job: dict[str, Any], send: Send, first: int) -> tuple[list[int], float, float, bool, bool]:
    """Pass over the file without decoding, from the picture stamped `first` on.

    Returns the pictures' stamps, rising; seconds that the last picture stays; seconds at which the last stream ends; whether there
    is sound; whether the file breaks off. Raises Refused("long" | "many" | "no times").
    """
    limits = job["limits"]
    stamps: set[int] = set()
    end_s, last_s, has_sound = 0.0, 0.0, False
    with open_box(job["path"]) as box:
        video, sound, by_order = video_of(box), sound_of(box), stored_in_order(box)
        tick = video.time_base or Fraction(0)
        reader = Reader(box, [s for s in (video, sound) if s is not None], send)
        for n, packet in enumerate(reader):
            if n > 20 * limits["most_pictures"]:
                raise Refused("many")
            if not packet.size:
                continue
            base = packet.time_base or Fraction(0)
            stamp = packet.dts if by_order or packet.pts is None else packet.pts
            if stamp is None:
                continue
            end_s = max(end_s, float((stamp + (packet.duration or 0)) * base))
            if packet.stream_index != video.index:
                has_sound = True
                continue
            if packet.is_discard or stamp < first:
                continue
            if (stamp - first) * tick > limits["longest_s"]:
                raise Refused("long")
            stamps.add(stamp)
            last_s = float((packet.duration or 0) * base)
            if len(stamps) > limits["most_pictures"]:
                raise Refused("many")
    if not stamps:
        raise Refused("no times")
    return sorted(stamps), last_s, end_s, has_sound, reader.broken


def pictures(job: dict[str, Any], send: Send) -> dict[str, Any]:
    """Send every picture from from_s to to_s."""
    import av

    limits, shape = job["limits"], (job["height_px"], job["width_px"], 3)
    from_s, to_s = job["from_s"], job["to_s"]
    run_up = from_s > RUN_UP_S
    matrix: Matrix | None = None
    while True:
        with open_box(job["path"]) as box:
            video = video_of(box)
            tick = video.time_base or Fraction(1)
            zero = round(job["first_picture_s"] / tick)
            if run_up:
                with contextlib.suppress(av.FFmpegError):  # without an index the file is read from its beginning
                    box.seek(int((from_s - RUN_UP_S) / tick) + zero, stream=video)
            frames = Frames(Reader(box, [video], send), video, stored_in_order(box))
            index, last_s, done, begun, passed = 0, -np.inf, False, False, 0
            for stamp, frame in frames:
                time_s = float((stamp - zero) * tick)
                if run_up and not begun and time_s > from_s:
                    break  # the jump went too far: the file's index is wrong, so start at its beginning
                begun = True
                if time_s < from_s:
                    passed = frames.damaged  # damage before the asked stretch is not its own
                    continue
                if time_s > to_s:
                    done = True
                    break
                matrix = matrix or display_matrix(frame)
                rgb = upright(frame, video.sample_aspect_ratio, matrix)
                if time_s <= last_s or time_s > limits["longest_s"] or rgb.shape != shape:
                    frames.damaged += 1
                    continue
                if index >= limits["most_pictures"]:
                    break
                send("PICT", index, time_s, rgb)
                index, last_s = index + 1, time_s
            if begun or not run_up:
                return {"damaged": frames.damaged - passed, "broken": frames.reader.broken and not done}
        run_up = False


def sound(job: dict[str, Any], send: Send) -> dict[str, Any]:
    """Send the sound, mono, piece by piece with each piece's own time. A job "song" takes files without pictures, too."""
    import av

    most = None
    damaged = 0
    waiting: list[tuple[float, NDArray[np.float32]]] = []
    with open_box(job["path"], SONG_CONTAINERS if job["what"] == "song" else CONTAINERS) as box:
        stream = sound_of(box)
        if stream is None:
            raise Refused("no sound")
        reader = Reader(box, [stream], send)
        rate_hz, sent = 0, 0
        for packet in reader:
            try:
                frames: list[Any] = packet.decode()
            except MemoryError:
                raise
            except av.FFmpegError:
                damaged += packet.size > 0
                continue
            for frame in frames:
                rate_hz = rate_hz or frame.sample_rate
                if frame.sample_rate != rate_hz or frame.samples == 0:
                    continue
                most = most or (job["limits"]["longest_s"] + 60.0) * rate_hz
                tick = frame.time_base or stream.time_base or Fraction(0)
                start_s = np.nan if frame.pts is None else float(frame.pts * tick) - job["first_picture_s"]
                waiting.append((start_s, mono(frame)))
                sent += frame.samples
            if len(waiting) >= SOUND_PIECES_A_MESSAGE:
                send_sound(waiting, rate_hz, send)
                waiting = []
            if most is not None and sent > most:
                break
    if waiting:
        send_sound(waiting, rate_hz, send)
    return {"damaged": damaged, "broken": reader.broken}


def send_sound(pieces: list[tuple[float, NDArray[np.float32]]], rate_hz: int, send: Send) -> None:
    """One message: how many pieces (int64), their times (float64), their lengths (int64), the samples (float32)."""
    parts = (
        np.int64(len(pieces)).tobytes(),
        np.array([t for t, _ in pieces], np.float64).tobytes(),
        np.array([len(p) for _, p in pieces], np.int64).tobytes(),
        *(p.tobytes() for _, p in pieces),
    )
    send("SOND", rate_hz, 0.0, b"".join(parts))


def mono(frame: AudioFrame) -> NDArray[np.float32]:
    """Mean of the channels, (n,) in -1..1."""
    x = frame.to_ndarray()
    channels = frame.layout.nb_channels
    if not frame.format.is_planar:
        x = x.reshape(-1, channels).T
    if x.dtype == np.uint8:
        scaled = (x.astype(np.float32) - 128.0) / 128.0
    elif x.dtype.kind == "i":
        scaled = x.astype(np.float32) / 2.0 ** (8 * x.dtype.itemsize - 1)
    else:
        scaled = np.nan_to_num(x.astype(np.float32), nan=0.0, posinf=1.0, neginf=-1.0)
    return np.asarray(np.clip(scaled.mean(axis=0), -1.0, 1.0), dtype=np.float32)


def hold_to(memory_mb: int) -> None:
    """Limit this process's memory where the system can."""
    try:
        import resource
    except ImportError:  # not on every system; the watchdog and the limits on the output still hold
        return
    size = memory_mb * 1024 * 1024
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (size, size))
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main(words: str) -> int:
    """Do the job; the exit code is 0 also when the file was refused (the last message says so)."""
    import av  # noqa: F401  (loaded before memory is limited, so that the limit falls on the file, not on the library)

    job = json.loads(words)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent ends this process itself
    pipe = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)  # a library that prints must not write between the messages
    hold_to(job["limits"]["memory_mb"])

    def send(kind: str, number: int, time_s: float, data: NDArray[Any] | bytes) -> None:
        view = memoryview(data if isinstance(data, bytes) else data.data).cast("B")
        pipe.write(HEADER.pack(kind.encode(), number, time_s, len(view)))
        sent = 0
        while sent < len(view):
            sent += pipe.write(view[sent:])

    try:
        facts = {"look": look, "pictures": pictures, "sound": sound, "song": sound}[job["what"]](job, send)
    except Refused as refused:
        facts = {"refused": str(refused)}
    except MemoryError:
        return OUT_OF_MEMORY
    except BrokenPipeError:
        return 0  # the parent is gone
    send("DONE", 0, 0.0, json.dumps(facts).encode())
    return 0


if __name__ == "__main__":
    # Leave without the interpreter's own clearing up: a decoder half-way through a broken file may crash in it.
    code = main(sys.argv[1])
    sys.stderr.flush()
    os._exit(code)
