"""Thresholds of the clip package, each with its unit and its reason: limits at the door."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ClipSettings:
    """Limits at the door."""

    endings: tuple[str, ...] = (".mp4", ".mov", ".m4v", ".mkv", ".webm", ".avi")  # what a batch takes for clips in a folder
    longest_s: float = 1200.0  # 20 min: a lesson's practice, not a feature film; past it the review would take hours
    shortest_s: float = 3.0  # below it not even two counts of eight at a slow tempo fit
    largest_bytes: int = 2_000_000_000  # a phone's longest single file
    most_pictures: int = 72_000  # 20 min at 60 pictures a second
    largest_side_px: int = 8192  # no phone films larger; a header that claims more would ask for gigabytes
    hang_s: float = 60.0  # a decoder silent for so long is stuck; a slow card reads a whole second of film in far less
    memory_mb: int = 4096  # address space of the decoder; the largest pictures of phones (8K, 16 kept back) need about 1 GB
    cut_change: float = 0.4  # 0..1, one minus correlation: lamps and flashes reach 0.25, a jump that fills 40 % of the width 0.12,
    # another angle of the same hall 0.65 and another place 0.75
    cut_fields: float = (
        0.35  # share of fields that may stay alike across a cut: a body that fills the picture moves in most of the rest
    )
    cut_times: float = 2.0  # as much as pictures lately change from one to the next: a moving camera makes no cuts
    cut_texture: float = 2.0  # levels of 255, spread in a field: below it a bare wall shows nothing but the film's own noise
    cut_blank_levels: tuple[float, float] = (
        8.0,
        247.0,
    )  # mean of 255: clips of dim and bright rooms have 65 to 160
    cut_shift: float = 0.25  # of the picture's side: a knock or a swing moves it by less from one picture to the next
    cut_memory: int = 30  # pictures that "lately" are: one second
    cut_held: int = 4  # pictures by which a cut must outlast a flash
    cut_short_s: float = 0.5  # a file that ends so much before it says it would was cut off; headers round to less
    uneven_ms: float = 2.0  # files that round times to milliseconds or to 1/600 s jitter by less
    uneven_share: float = 0.02  # share of intervals off the usual one from which picture times count as uneven
    sound_rate_hz: int = 44_100  # what the music package expects; most phones record 44.1 or 48 kHz
    sound_gap_s: float = 0.010  # jitter of phones' sound time stamps is less; a jump past it is a real gap (or overlap)
    fetch_s: float = 900.0  # 40 MB over a slow line (0.4 Mbit/s) take a quarter of an hour


CLIP = ClipSettings()
