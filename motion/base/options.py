"""What a person may ask of a review; the command, the page and the batch fill it in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal


@dataclass(frozen=True)
class JudgeOptions:
    """Options that need no video. dance, beats: files; bpm with first_count_s: a steady grid; first_count_s alone moves count 1;
    song: a sound file of the song that was danced to; distance_m: from the phone to where the music comes from; standing: the review
    folder of a range check whose quiet standing is zero here too; body_facts: lean, sway and the like as well; mirror: whether the clip
    shows the dance in mirror image ("ask": a note asks when it seems so); own_version: numbers of dancers who dance their own version
    and are shown beside the beat only; heard: the beat is that of the clip's sound, also where a person gave another one before."""

    dance: Path | None = None
    beats: Path | None = None
    bpm: float | None = None
    first_count_s: float | None = None
    count_speed: Literal["half", "same", "double"] = "same"
    starting_wall: int = 1
    range_check: bool = False
    song: Path | None = None
    distance_m: float | None = None
    standing: Path | None = None
    body_facts: bool = False
    mirror: Literal["ask", "yes", "no"] = "ask"
    own_version: tuple[int, ...] = ()
    heard: bool = False


@dataclass(frozen=True)
class WatchOptions:
    """Options of the slow part. from_s, to_s: the stretch of the clip in seconds; dancers: how many danced, if known; room_sound,
    show_heads: of the counted clip."""

    quality: Literal["fine", "fast"] = "fine"
    dancers: int | None = None
    from_s: float | None = None
    to_s: float | None = None
    model: Path | None = None
    overlay: bool = False
    room_sound: bool = False
    show_heads: bool = False
