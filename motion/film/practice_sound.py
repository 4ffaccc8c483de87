"""What the page hands to the music and gets back: taps as beats, files that the next judgement reads, the counted sound."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.errors import BadInput
from motion.base.home import GIVEN, home, safe_name
from motion.base.types import Clip, NotMeasured, Sound
from motion.clip.sound import read_sound
from motion.film.extract import cut
from motion.music.counted_sound import counted_track, wav_bytes
from motion.music.taps import grid_from_taps, taps_csv_text
from motion.review.settings import SETTINGS, Settings
from motion.store.corrections import masks_in
from motion.store.folder import beat_grid
from motion.tell.words import section_of, why_not


def beats_of_taps(
    review: dict[str, Any], taps_s: Sequence[float], one_s: float | None, *, settings: Settings = SETTINGS
) -> tuple[str, bytes]:
    """Name and content of a beats file made of taps, in seconds of the clip. BadInput when they make no beat."""
    section = section_of(review.get("dance"), {} if why_not(review["beats"]) else review["beats"])
    grid = grid_from_taps(
        np.array(taps_s, dtype=np.float64),
        one_s=one_s,
        from_s=0.0,
        to_s=float(review["clip"]["duration_s"]),
        beats_per_bar=3 if section == 6 else 4,
        settings=settings.practice,
    )
    if isinstance(grid, NotMeasured):
        raise BadInput(f"The taps make no beat: {grid.why}", "Tap once on every count, also through short pauses")
    return "taps.csv", taps_csv_text(grid).encode("utf-8")


@contextmanager
def handed_over(name: str, content: bytes) -> Iterator[Path]:
    """A file for as long as a judgement reads it, in the page's own work folder."""
    folder = Path(tempfile.mkdtemp(prefix=GIVEN, dir=home()))
    try:
        path = folder / safe_name(name)
        path.write_bytes(content)
        yield path
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def film_to_tap(path: Path, clip: Clip, from_s: float, folder: Path, *, settings: Settings = SETTINGS) -> bytes:
    """A longer stretch of the clip of the review in `folder`, small enough to be at hand soon; its own time 0 is from_s.

    Whoever is not to be seen is covered.
    """
    small = replace(settings, page=replace(settings.page, cut_height_px=settings.practice.tap_height_px))
    return cut(path, clip, from_s, min(clip.duration_s, from_s + settings.practice.tap_film_s), masks_in(folder), settings=small)


def counted_wav(
    review: dict[str, Any], path: Path | None, clip: Clip | None, *, from_count: int, speed: float, low: bool, voice: bool,
    settings: Settings = SETTINGS,
) -> bytes:  # fmt: skip
    """The counted sound of a reviewed clip as a WAV file; counts over silence when path and clip are None or it has no sound.

    BadInput when the review has no beats, or none from that count on.
    """
    beats = beat_grid(review["beats"])
    if beats is None:
        raise BadInput("Without a beat nothing can be counted", "Tap the beat first, or give it")
    sound = read_sound(path, clip, settings=settings.clip) if path is not None and clip is not None else None
    made = counted_track(
        sound if isinstance(sound, Sound) else None,
        beats,
        from_count=from_count,
        speed=speed,
        low=low,
        voice=voice,
        settings=settings.practice,
    )
    if isinstance(made, NotMeasured):
        raise BadInput(f"The sound cannot be counted: {made.why}", "Begin from an earlier count")
    return wav_bytes(made)
