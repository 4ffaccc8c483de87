"""A cut begins exactly where it is asked to, keeps its pictures' times, and is refused for another clip."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from motion.base.errors import ClipMissing
from motion.clip.video import open_clip
from motion.film.extract import cut, find_clip
from motion.review.corrections import Masks
from motion.review.settings import SETTINGS

RATE_HZ = 44_100
CLICK_S = 2.5


@pytest.fixture
def film(tmp_path: Path, make_film: Callable[..., None]) -> tuple[Path, np.ndarray]:
    """Four seconds of uneven pictures, picture n of brightness 40 + n, with one click at 2.5 s; and the pictures' times."""
    times_s = np.cumsum(np.where(np.arange(120) % 3 == 0, 0.030, 0.036)) - 0.030
    make_film(tmp_path / "uneven.mp4", times_s, click_s=CLICK_S)
    return tmp_path / "uneven.mp4", times_s


def test_pictures_and_sound_of_a_cut(film: tuple[Path, np.ndarray]) -> None:
    import av

    path, times_s = film
    clip = open_clip(path, settings=SETTINGS.clip)
    made = cut(path, clip, 1.5, 3.0, Masks())
    with av.open(io.BytesIO(made)) as box:
        pictures = [(float(f.time), float(f.to_ndarray(format="rgb24").mean())) for f in box.decode(video=0)]
    with av.open(io.BytesIO(made)) as box:
        parts = [(float(f.time), f.to_ndarray()[0]) for f in box.decode(audio=0)]
    inside = np.flatnonzero((times_s >= 1.5) & (times_s <= 3.0))
    assert [t for t, _ in pictures] == pytest.approx(list(times_s[inside] - 1.5), abs=2e-4)
    assert [light for _, light in pictures] == pytest.approx(list(40.0 + inside), abs=3.0)
    samples = np.concatenate([s for _, s in parts])
    assert parts[0][0] + np.argmax(np.abs(samples)) / RATE_HZ == pytest.approx(CLICK_S - 1.5, abs=0.005)


def test_a_large_picture_is_made_smaller_evenly(film: tuple[Path, np.ndarray]) -> None:
    import av

    path, _ = film
    clip = open_clip(path, settings=SETTINGS.clip)
    small = replace(SETTINGS, page=replace(SETTINGS.page, cut_height_px=32))
    with av.open(io.BytesIO(cut(path, clip, 0.0, 0.5, Masks(), settings=small))) as box:
        assert (box.streams.video[0].width, box.streams.video[0].height) == (48, 32)


def test_whoever_is_not_to_be_seen_is_covered_in_every_picture_of_a_cut(film: tuple[Path, np.ndarray]) -> None:
    """A box that walks from left to right, kept every half second; pictures of 96 x 64, grey from 40 up."""
    import av

    path, _ = film
    times_s = np.arange(0.0, 4.1, 0.5)
    left = 16.0 * np.floor(times_s)
    boxes = np.stack([left, np.full(9, 16.0), left + 16, np.full(9, 48.0)], axis=1)
    masks = Masks(times_s, boxes[:, None], np.array([[1.0, 24.0, 32.0]]))
    made = cut(path, open_clip(path, settings=SETTINGS.clip), 1.0, 3.0, masks)
    with av.open(io.BytesIO(made)) as box:
        shown = [(1.0 + float(f.time), f.to_ndarray(format="gray").astype(int)) for f in box.decode(video=0)]
    assert len(shown) > 50
    for time_s, image in shown:
        from_x = int(16 * np.floor(time_s - 0.5))  # what was kept half a second ago still counts
        assert image[18:46, int(16 * np.floor(time_s)) + 2 :][:, :12].min() > 180, time_s  # the cover's own tint is light
        assert image[18:46, : max(0, from_x - 2)].max(initial=0) < 175  # and nothing else is
        assert image[:14].max() < 175


def test_only_the_reviewed_clip_is_played(film: tuple[Path, np.ndarray], tmp_path: Path) -> None:
    path, _ = film
    sha256 = open_clip(path, settings=SETTINGS.clip).sha256
    assert find_clip(path, {"clip": {"sha256": sha256}}).sha256 == sha256
    with pytest.raises(ClipMissing, match="is not the clip that was reviewed"):
        find_clip(path, {"clip": {"sha256": "0" * 64}})
    with pytest.raises(ClipMissing, match="no longer where it was"):
        find_clip(tmp_path / "gone.mp4", {"clip": {"sha256": sha256}})
