"""Reviews made from numbers, for tests that need a whole plausible review but no video: pages, reports, folders, overlays.

A made dancer marks time, right foot first, one landing a count, and turns a quarter to the right after every wall. Everything
follows from the arguments and the seed.
"""

from __future__ import annotations

import numpy as np

from motion.base.types import (
    Angles,
    BeatGrid,
    Clip,
    DanceSheet,
    Flag,
    JointRange,
    Landmarks,
    Measurement,
    NotMeasured,
    Pairing,
    Review,
    SheetRow,
    Steps,
    Timing,
    Track,
)

#: Where the 33 landmarks of a standing figure are, in body heights from mid-hip, x the picture's right, y down, facing the camera.
FIGURE = np.array(
    [
        (0.0, -0.40), (0.015, -0.42), (0.02, -0.42), (0.025, -0.42), (-0.015, -0.42), (-0.02, -0.42), (-0.025, -0.42),
        (0.045, -0.41), (-0.045, -0.41), (0.015, -0.375), (-0.015, -0.375), (0.10, -0.28), (-0.10, -0.28), (0.13, -0.12),
        (-0.13, -0.12), (0.14, 0.02), (-0.14, 0.02), (0.145, 0.05), (-0.145, 0.05), (0.14, 0.06), (-0.14, 0.06), (0.13, 0.05),
        (-0.13, 0.05), (0.055, 0.0), (-0.055, 0.0), (0.06, 0.24), (-0.06, 0.24), (0.06, 0.45), (-0.06, 0.45), (0.055, 0.48),
        (-0.055, 0.48), (0.08, 0.50), (-0.08, 0.50),
    ]
)  # fmt: skip
LEAD_IN_BEATS = 8
LEAD_IN_S = 0.4


def made_review(
    dancers: int = 1,
    counts: int = 32,
    *,
    bpm: float = 108.0,
    sheet: bool = True,
    sound: bool = True,
    wall_counts: int = 32,
    start_view_deg: float = 0.0,
    lag_ms: float = 0.0,
    spread_ms: float = 22.0,
    size_px: tuple[int, int] = (960, 540),
    rate_hz: float = 30.0,
    name: str = "practice.mp4",
    labels: tuple[str | None, ...] = (),
    expires: str | None = None,
    seed: int = 1,
) -> Review:
    """A review of a clip with `dancers` people, each landing once a count; lag_ms + spread_ms * noise from the beat.

    Dancer 1 misses count 7 and is late on 13, if the clip is that long; without `sound` the beat is not measured.
    """
    chance = np.random.default_rng(seed)
    gap_s = 60.0 / bpm
    beats_s = LEAD_IN_S + gap_s * np.arange(LEAD_IN_BEATS + counts + 2)
    times_s = np.arange(int((beats_s[-1] + 0.5) * rate_hz)) / rate_hz
    section = 8
    grid = BeatGrid(
        source="sound",
        times_s=beats_s,
        counts=(np.arange(len(beats_s)) - LEAD_IN_BEATS) % section + 1,
        tempo_bpm=bpm,
        half_at=0.5,
        confidence=0.93,
        first_count_s=float(beats_s[LEAD_IN_BEATS]),
    )
    beats: BeatGrid | NotMeasured = grid if sound else NotMeasured("beats", "the clip has no sound")
    height_px = 0.55 * size_px[1]
    pelvis = [_pelvis(times_s, grid, size_px, (i + 1) / (dancers + 1)) for i in range(dancers)]
    image_px = np.stack([p[:, None, :] + height_px * FIGURE for p in pelvis], axis=1)
    landmarks = Landmarks(
        times_s, np.arange(1, dancers + 1), image_px, np.full(image_px.shape[:3], 0.95), tuple(() for _ in range(dancers))
    )
    people = []
    for i in range(dancers):
        track = Track(i + 1, labels[i] if i < len(labels) else None, times_s, pelvis[i], np.full(len(times_s), height_px))
        faults = i == 0 and counts >= 14
        people.append(_measured(track, grid, counts, wall_counts, start_view_deg, lag_ms, spread_ms, faults, sound, chance))
    rows = tuple(SheetRow(c + 1.0, "left" if c % 2 else "right", "in place", row=c + 4) for c in range(wall_counts))
    return Review(
        clip=Clip(
            name=name,
            sha256="0f" * 32,
            times_s=times_s,
            width_px=size_px[0],
            height_px=size_px[1],
            duration_s=float(times_s[-1] + 1 / rate_hz),
            has_sound=sound,
        ),
        stretches=((float(beats_s[LEAD_IN_BEATS]), float(beats_s[-2])),),
        landmarks=landmarks,
        beats=beats,
        dance=DanceSheet("Marking time", wall_counts, 4, rows) if sheet else None,
        dancers=tuple(people),
        made_by={"countfall": "0.1.0", "model": "fine", "settings": {"desk": {"told_offset_ms": 25.0}}},
        expires=expires,
    )


def _pelvis(times_s: np.ndarray, grid: BeatGrid, size_px: tuple[int, int], across: float) -> np.ndarray:
    """Mid-hip (F, 2) in pixels: in the middle of its share of the picture, shifting from foot to foot with the beat."""
    beat = np.interp(times_s, grid.times_s, np.arange(len(grid.times_s)))
    danced = np.clip(beat - LEAD_IN_BEATS + 1, 0, 1)
    return np.column_stack(
        [size_px[0] * across + 0.02 * size_px[1] * danced * np.cos(np.pi * beat), np.full(len(times_s), 0.55 * size_px[1])]
    )


def _measured(
    track: Track,
    grid: BeatGrid,
    counts: int,
    wall_counts: int,
    start_view_deg: float,
    lag_ms: float,
    spread_ms: float,
    faults: bool,
    sound: bool,
    chance: np.random.Generator,
) -> Measurement:
    number = np.arange(1, counts + 1)
    offset_ms = lag_ms + spread_ms * chance.standard_normal(counts)
    if faults:
        offset_ms[12] = lag_ms + 190.0
    danced = number != 7 if faults else np.full(counts, True)
    due_s = grid.times_s[LEAD_IN_BEATS : LEAD_IN_BEATS + counts]
    kinds = tuple("touch" if n % 8 == 0 else "step" for n in number[danced])
    steps = Steps(
        times_s=(due_s + offset_ms / 1000)[danced],
        sigma_ms=np.full(int(danced.sum()), 18.0),
        right=(number % 2 == 1)[danced],
        kinds=kinds,
        strength=np.full(int(danced.sum()), 0.9),
        place=np.zeros((int(danced.sum()), 2)),
    )
    offsets = offset_ms[danced] if sound else np.full(len(kinds), np.nan)
    pairing = Pairing(number[danced].astype(float), offsets, np.flatnonzero(danced), tuple(np.flatnonzero(~danced).tolist()))
    view_deg = start_view_deg + 90.0 * np.floor(np.clip(np.interp(track.times_s, due_s, number - 1.0), 0, None) / wall_counts)
    view_deg = (view_deg + 180.0) % 360.0 - 180.0
    angles, ranges = _bending(track.times_s, view_deg, chance)
    quiet = NotMeasured("timing", "the clip has no sound, and no beats were given")
    return Measurement(
        track=track,
        steps=steps,
        pairing=pairing,
        timing=_timing(pairing) if sound else quiet,
        flags=_flags(due_s, faults, sound),
        angles=angles,
        ranges=ranges,
    )


def _timing(pairing: Pairing) -> Timing:
    offset_ms = pairing.offset_ms
    middle, spread = float(np.median(offset_ms)), float(np.std(offset_ms, ddof=1))
    half = 1.96 * 1.2533 * spread / np.sqrt(len(offset_ms))  # 1.2533: a median scatters more than a mean
    slope = float(np.polyfit(pairing.counts, offset_ms, 1)[0])
    return Timing(len(offset_ms), middle, (middle - half, middle + half), spread, 0.97, slope)


def _flags(due_s: np.ndarray, faults: bool, sound: bool) -> tuple[Flag, ...]:
    if not faults:
        return ()
    missed = Flag("missed", 7.0, 7.0, float(due_s[6]), None, None, 0.93, True, "No landing was seen on count 7.")
    late = Flag("late", 13.0, 13.0, float(due_s[12]), 190.0, "ms", 0.96, True, "Count 13 arrives after its beat.")
    extra = Flag("extra", 10.5, 10.5, float(due_s[9] + 0.25), None, None, 0.4, False, "There may be one step more after count 10.")
    return (missed, extra, late) if sound else (missed, extra)


def _bending(
    times_s: np.ndarray, view_deg: np.ndarray, chance: np.random.Generator
) -> tuple[Angles, tuple[JointRange, ...] | NotMeasured]:
    """Hips and knees that bend with every second picture second; trusted only within 30 degrees of a side view."""
    side_on = np.abs(np.sin(np.radians(view_deg))) > np.cos(np.radians(30.0))
    phase = (np.sin(2 * np.pi * times_s) + 1) / 2
    size_deg = np.array([28.0, 30.0, 48.0, 51.0, np.nan, np.nan])
    flexion = np.where(side_on[:, None], phase[:, None] * size_deg + chance.normal(0, 1.0, (len(times_s), 6)), np.nan)
    sigma = np.where(np.isfinite(flexion), 5.0, np.nan)
    angles = Angles(times_s, flexion, sigma, view_deg, ("standing",) * 6)
    if not side_on.any():
        return angles, NotMeasured("ranges", "the dancer was never seen from the side")
    seen = [(k, flexion[side_on, k]) for k in range(4)]
    return angles, tuple(
        JointRange(
            "hip" if k < 2 else "knee",
            "left" if k % 2 == 0 else "right",
            float(np.percentile(values, 1)),
            float(np.percentile(values, 99)),
            5.0,
            len(values),
            float(np.median(view_deg[side_on])),
        )
        for k, values in seen
    )
