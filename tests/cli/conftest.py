"""Clips made on the spot, the command run in this process, and a network that nobody can reach."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
import pytest
from pose_model import pose_model

Paint = Callable[[int], np.ndarray]
TICK = Fraction(1, 1000)


class Said(NamedTuple):
    """What the command did: exit code, what it printed, what it said on the error stream."""

    code: int
    out: str
    err: str

    @property
    def last(self) -> str:
        lines = self.err.strip().splitlines()
        return lines[-1] if lines else ""


def grey(n: int) -> np.ndarray:
    return np.full((64, 96, 3), 40 + n % 90, np.uint8)


def noise(n: int) -> np.ndarray:
    return np.random.default_rng(n).integers(0, 255, (240, 320, 3), np.uint8)


def encode(path: Path, *, seconds: float = 4.0, rate_hz: float = 10.0, paint: Paint = grey) -> Path:
    """A clip without sound; pictures stand at their own times, in milliseconds."""
    import av

    av.logging.set_level(None)
    with av.open(str(path), "w") as box:
        first = paint(0)
        video = box.add_stream("libx264", rate=30, options={"preset": "ultrafast"})
        video.height, video.width, video.pix_fmt = first.shape[0], first.shape[1], "yuv420p"
        video.codec_context.time_base = TICK
        for n in range(int(seconds * rate_hz)):
            frame = av.VideoFrame.from_ndarray(paint(n), format="rgb24")
            frame.pts, frame.time_base = round(1000 * n / rate_hz), TICK
            box.mux(video.encode(frame))
        box.mux(video.encode())
    return path


def sound_only(path: Path) -> Path:
    import av

    with av.open(str(path), "w") as box:
        audio = box.add_stream("aac", rate=44_100)
        audio.layout = "mono"
        for k in range(200):
            frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
            frame.sample_rate, frame.pts, frame.time_base = 44_100, 1024 * k, Fraction(1, 44_100)
            box.mux(audio.encode(frame))
        box.mux(audio.encode())
    return path


@pytest.fixture(autouse=True)
def offline(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test of the command reaches for the network, nor for a package client that would, nor writes into the person's own library."""
    monkeypatch.setenv("COUNTFALL_HOME", str(tmp_path_factory.mktemp("work")))

    def refuse(*_: Any, **__: Any) -> Any:
        raise AssertionError("the command reached for the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr("motion.clip.model_fetch._run", refuse)


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    from motion.cli.main import main

    def run(*words: object) -> Said:
        try:
            code = main([str(w) for w in words])
        except SystemExit as end:
            code = int(end.code or 0)
        out, err = capsys.readouterr()
        return Said(code, out, err)

    return run


@pytest.fixture(scope="session")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return encode(tmp_path_factory.mktemp("clip") / "clip.mp4")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of one megabyte, mounted for the test."""
    import os
    import subprocess

    if os.name != "posix" or os.geteuid() != 0:
        pytest.skip("a small disk can only be mounted by root")
    place = tmp_path / "disk"
    place.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "none", str(place)], capture_output=True, check=False).returncode:
        pytest.skip("this machine does not let a small disk be mounted")
    yield place
    subprocess.run(["umount", str(place)], check=True)


@pytest.fixture(scope="session")
def make() -> SimpleNamespace:
    """The clip makers."""
    return SimpleNamespace(encode=encode, sound_only=sound_only, noise=noise, grey=grey)


@pytest.fixture
def model() -> None:
    """The quick pose model, ready in the cache."""
    pose_model("fast")
