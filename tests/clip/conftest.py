"""Small clips made on the spot."""

from __future__ import annotations

import struct
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from in_process import InProcess

WIDTH, HEIGHT = 96, 64
TICK = Fraction(1, 90_000)


def picture_of(n: int, width: int = WIDTH, height: int = HEIGHT) -> np.ndarray:
    """Grey, brighter by the picture's number; the upper left corner red, the upper right one green."""
    rgb = np.full((height, width, 3), 60 + n % 100, np.uint8)
    rgb[: height // 2, : width // 2] = (230, 20, 20)
    rgb[: height // 2, width // 2 :] = (20, 230, 20)
    return rgb


def clicks_at(times_s: tuple[float, ...], length_s: float, rate_hz: int) -> np.ndarray:
    x = np.zeros(round(length_s * rate_hz), np.float32)
    for t in times_s:
        k = round(t * rate_hz)
        x[k : k + 40] = 0.8
    return x


def encode(
    path: Path,
    coding: str = "libx264",
    *,
    times_s: np.ndarray | None = None,
    sound: str | None = None,
    clicks_s: tuple[float, ...] = (0.6, 2.2),
    sound_from_s: float = 0.0,
    sound_gap: tuple[float, float] | None = None,
    rate_hz: int = 44_100,
    turn_deg: int = 0,
    options: dict[str, str] | None = None,
    box_options: dict[str, str] | None = None,
    pixel_shape: Fraction | None = None,
    size: tuple[int, int] = (WIDTH, HEIGHT),
) -> Path:
    """Write a clip with pictures at times_s (3.5 s at 30 a second if None), sound from sound_from_s with clicks at clicks_s (both
    in clip time); sound_gap leaves the pieces between two clip times out."""
    import av

    av.logging.set_level(None)
    times = np.arange(105) / 30.0 if times_s is None else times_s
    with av.open(str(path), "w", options=box_options or {}) as box:
        video = box.add_stream(
            coding, rate=30, options={**({"x265-params": "log-level=none"} if "265" in coding else {}), **(options or {})}
        )
        video.width, video.height = size
        video.pix_fmt = "yuvj420p" if coding == "mjpeg" else "yuv420p"
        tick = Fraction(1, 30) if path.suffix == ".avi" else TICK
        video.codec_context.time_base = tick
        if turn_deg:
            video.set_display_rotation(turn_deg)
        if pixel_shape is not None:
            video.codec_context.sample_aspect_ratio = pixel_shape
        audio: Any = None
        if sound is not None:
            channels = 2 if sound == "vorbis" else 1  # this encoder knows only stereo, and counts as experimental
            audio = box.add_stream(sound, rate=rate_hz, options={"strict": "experimental"})
            audio.layout = "stereo" if channels == 2 else "mono"
        packets = []
        for n, t in enumerate(times):
            frame = av.VideoFrame.from_ndarray(picture_of(n, *size), format="rgb24")
            frame.pts, frame.time_base = round(t / tick), tick
            packets += video.encode(frame)
        packets += video.encode()
        if audio is not None:
            x = clicks_at(tuple(c - sound_from_s for c in clicks_s), 3.5, rate_hz)
            audio.codec_context.open()
            piece = audio.codec_context.frame_size or 1024
            kind = audio.codec_context.format.name
            for k in range(0, len(x) - piece + 1, piece):
                at_s = sound_from_s + k / rate_hz
                if sound_gap is not None and sound_gap[0] <= at_s < sound_gap[1]:
                    continue
                y = x[k : k + piece]
                whole = {"s16": (32767, np.int16), "s32": (2**31 - 129, np.int32)}.get(kind[:3])
                y = (y.astype(np.float64) * whole[0]).astype(whole[1]) if whole else y
                frame = av.AudioFrame.from_ndarray(np.stack([y] * channels), format=kind, layout=audio.layout.name)
                frame.sample_rate, frame.pts, frame.time_base = rate_hz, k + round(sound_from_s * rate_hz), Fraction(1, rate_hz)
                packets += audio.encode(frame)
            packets += audio.encode()
        packets.sort(key=lambda p: float((p.dts if p.dts is not None else p.pts) * p.time_base))
        for packet in packets:
            box.mux(packet)
    return path


def set_matrix(path: Path, a: int, b: int, c: int, d: int) -> None:
    """Overwrite the picture track's display matrix in an mp4 (ISO/IEC 14496-12, 8.3.2: nine 32-bit numbers, 16.16 and 2.30)."""
    data = bytearray(path.read_bytes())
    at = data.find(b"tkhd") + 4 + 4 + 20 + 8 + 8  # version 0: flags, times and id, reserved, layer .. volume
    one = 1 << 16
    data[at : at + 36] = struct.pack(">9i", a * one, b * one, 0, c * one, d * one, 0, 0, 0, 1 << 30)
    path.write_bytes(bytes(data))


@pytest.fixture(scope="session")
def film() -> Callable[..., Path]:
    return encode


@pytest.fixture(scope="session")
def matrix() -> Callable[..., None]:
    return set_matrix


@pytest.fixture
def in_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files are read without a child process: quicker, and right for files that do no harm."""
    monkeypatch.setattr("motion.clip.video.Guard", InProcess)
    monkeypatch.setattr("motion.clip.sound.Guard", InProcess)
