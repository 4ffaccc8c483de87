"""A work folder of its own for every test; the library and finished reviews in it, without any video. Real reviews of the samples."""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from made import made_review
from made_library import a_class
from pose_model import pose_model
from sample_reviews import review_words, run

from motion.base.home import HOME_VARIABLE, home
from motion.jobs.queue import Job, find
from motion.library.classes import Library, open_library
from motion.store.folder import write_review
from motion.store.serialize import review_json
from motion.tell.report import report_html

Shelve = Callable[..., Job]
RATE_HZ = 44_100
TICK = Fraction(1, 90_000)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files with slow tests come first, so that several processes end at about the same time (with --no-loadscope-reorder, as in
    README.md: else the files with most tests would)."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    long = [item.path for item in items if item.get_closest_marker("network")]
    items.sort(key=lambda item: (item.path not in long, item.path not in slow))


@pytest.fixture(autouse=True)
def work_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "work"))
    return tmp_path / "work"


@pytest.fixture
def library() -> Iterator[Library]:
    with open_library() as opened:
        yield opened


@pytest.fixture
def cache_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Notes of reviews that were broken off lie in the test's own folder too."""
    monkeypatch.setenv("COUNTFALL_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def tuesday(library: Library) -> int:
    """A class of three with labels that stand in no file by chance."""
    return a_class(library)


@pytest.fixture
def beginners(library: Library) -> int:
    """A class of three under plain labels."""
    class_id = library.add_class("Tuesday beginners")
    library.set_line_up(class_id, ["Red", "Blue", "K"])
    return class_id


@pytest.fixture
def shelve(tmp_path: Path) -> Shelve:
    """Put a made review on the page's shelf, as if the page had made it: shelve("id", dancers, counts, **as made_review)."""

    def put(key: str, *args: int, started_at: float = 1_700_000_000.0, clip: Path | None = None, **kwargs: object) -> Job:
        clip = clip or tmp_path / f"{key}.mp4"
        review = made_review(*args, **{"name": clip.name, **kwargs})  # type: ignore[arg-type]
        if clip.is_file():
            review = replace(review, clip=replace(review.clip, sha256=hashlib.sha256(clip.read_bytes()).hexdigest()))
        folder = home() / "jobs" / key
        folder.mkdir(parents=True)
        write_review(folder / "review", review, extra_arrays={}, report_html=report_html(review_json(review)))
        asked = {"clip": str(clip), "sheet": None, "title": clip.name, "started_at": started_at, "own_clip": False, "argv": []}
        (folder / "job.json").write_text(json.dumps(asked), encoding="utf-8")
        (folder / "ended.json").write_text(json.dumps({"code": 0, "stopped": False}), encoding="utf-8")
        job = find(key)
        assert job is not None
        return job

    return put


@pytest.fixture
def make_film() -> Callable[..., None]:
    """Write a small film: make_film(path, times_s, click_s=..): picture n is grey 40 + n % 160, one click in the sound."""

    def write(path: Path, times_s: np.ndarray, *, click_s: float) -> None:
        import av

        sound = np.zeros(round((times_s[-1] + 0.03) * RATE_HZ), np.float32)
        sound[round(click_s * RATE_HZ) :][:60] = 0.9
        with av.open(str(path), "w") as box:
            video = box.add_stream("libx264", options={"g": "250", "crf": "10"})
            video.width, video.height, video.pix_fmt = 96, 64, "yuv420p"
            video.codec_context.time_base = TICK
            heard = box.add_stream("aac", rate=RATE_HZ, layout="mono")
            for n, time_s in enumerate(times_s):
                picture = av.VideoFrame.from_ndarray(np.full((64, 96, 3), 40 + n % 160, np.uint8), format="rgb24")
                picture.pts, picture.time_base = round(time_s * 90_000), TICK
                box.mux(video.encode(picture))
            box.mux(video.encode(None))
            piece = av.AudioFrame.from_ndarray(sound[None, :], format="fltp", layout="mono")
            piece.sample_rate, piece.pts, piece.time_base = RATE_HZ, 0, Fraction(1, RATE_HZ)
            box.mux(heard.encode(piece))
            box.mux(heard.encode(None))

    return write


@pytest.fixture(scope="session")
def reviewed(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """reviewed(name): the folder of a sample's careful review by the command, made once for all tests, however many processes run them.
    Not to be written into."""
    shared = tmp_path_factory.getbasetemp()
    shared = shared.parent if os.environ.get("PYTEST_XDIST_WORKER") else shared

    def folder(name: str) -> Path:
        pose_model("fine")
        out = shared / f"{name}.review"
        with (shared / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not out.is_dir():
                assert f"Written to {out}" in run(review_words(name, out))
        return out

    return folder
