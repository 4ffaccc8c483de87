"""overlay.mp4: the clip with the count, the dancers' numbers and the landings drawn over it, and every head covered.

Nothing that was found about a person is drawn: no late, no early, no miss. The marks are half discs as in the report, lying on the
floor where the foot came down.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from motion.corrections import Masks
from motion.covers import LIGHT, PLATE, Colour, Head, Image, Place, cover_head, cover_whole, write
from motion.data import BeatGrid, Floats, Landmarks, Measurement, Picture, Review, Sound, Steps
from motion.settings import SETTINGS
from motion.store_json import wall_starts

TICKS_PER_S = 90_000  # fine enough that a picture's own time is kept to 11 microseconds
AUDIO_BLOCK = 1024  # samples in one AAC block
#: Left and right feet: lighter kin of the report's violet and amber, so that they stand out from a dark floor too.
FEET: dict[bool, Colour] = {False: (150, 120, 235), True: (240, 165, 50)}
#: Heel and toe of each foot among the 33 landmarks.
SOLE: dict[bool, tuple[int, int]] = {False: (29, 31), True: (30, 32)}


def draw_overlay(
    pictures: Iterable[Picture],
    review: Review,
    out: Path,
    *,
    sound: Sound | None = None,
    cover_heads: bool = True,
    everyone: Landmarks | None = None,
    masks: Masks | None = None,
) -> None:
    """Write the drawn-over clip to `out` (H.264 and AAC in mp4), whole or not at all, one picture in memory at a time.

    Parameters: pictures in order of time, as the review saw them; sound on their clock, None for a silent clip; cover_heads, a
    plain disc over the head of every dancer, with their number in it; everyone, landmarks also of people who were left out, whose
    heads are covered too; masks, over people who are not to be seen at all. The pictures keep their own, maybe uneven, times; the
    drawn-over clip begins with the first of them.
    Raises OSError when the disk fails, and whatever reading the pictures raises; `out` is then not there.
    """
    drawing = _Drawing(review, cover_heads, everyone, masks or Masks())
    part = out.with_name(f"{out.stem}.part{out.suffix}")
    try:
        _encode(((picture.time_s, _drawn(picture, drawing)) for picture in pictures), sound, part)
        os.replace(part, out)
    finally:
        part.unlink(missing_ok=True)


class _Drawing:
    """What is to be drawn, worked out once for the whole clip: who is where, which count is when, and where feet came down."""

    def __init__(self, review: Review, cover_heads: bool, everyone: Landmarks | None, masks: Masks) -> None:
        self.cover_heads, self.masks = cover_heads, masks
        self.beats = review.beats if isinstance(review.beats, BeatGrid) else None
        self.starts = self._wall_starts(review)
        lm = review.landmarks
        points_px = [(one, lm.image_px[:, int(np.flatnonzero(lm.ids == one.track.id)[0])]) for one in review.dancers]
        self.heads = [Head(one.track.id, lm.times_s, px) for one, px in points_px]
        others = range(len(everyone.ids)) if everyone is not None and cover_heads else ()
        self.others = [Head(0, everyone.times_s, everyone.image_px[:, p]) for p in others] if everyone is not None else []
        self.marks = sorted(mark for one, px in points_px for mark in _marks(one, lm.times_s, px))

    def _wall_starts(self, review: Review) -> list[int]:
        if self.beats is None or review.dance is None:
            return []
        return wall_starts(review.dance, float(len(self.beats.times_s)), review.starting_wall)

    def count_at(self, time_s: float) -> tuple[int, bool, int | None] | None:
        """Count 1..8 sounding at time_s, whether its & has come, and the wall (None if not known); None outside the beats."""
        if self.beats is None:
            return None
        times_s = self.beats.times_s
        i = int(np.searchsorted(times_s, time_s, side="right")) - 1
        if i < 0 or i + 1 >= len(times_s):
            return None
        half = time_s >= times_s[i] + self.beats.half_at * (times_s[i + 1] - times_s[i])
        wall = None
        if self.starts and self.beats.first_count_s is not None:
            first = int(np.argmin(np.abs(times_s - self.beats.first_count_s)))
            wall = sum(start <= i - first + 1 for start in self.starts) or None
        return int(self.beats.counts[i]), half, wall


def _marks(one: Measurement, times_s: Floats, points_px: Floats) -> Iterator[tuple[float, float, float, float, bool, str]]:
    """time_s, x, y, size (pixels), right foot, kind of every landing whose foot was seen then."""
    if not isinstance(one.steps, Steps):
        return
    for time_s, right, kind in zip(one.steps.times_s, one.steps.right, one.steps.kinds, strict=True):
        near = int(np.argmin(np.abs(times_s - time_s)))
        x, y = points_px[near, SOLE[bool(right)]].mean(axis=0)
        size = 0.06 * one.track.height_px[int(np.argmin(np.abs(one.track.times_s - time_s)))]
        if np.isfinite([x, y, size]).all():
            yield float(time_s), float(x), float(y), float(size), bool(right), kind


def _drawn(picture: Picture, drawing: _Drawing) -> Image:
    """A copy of the picture, cut to even width and height as H.264 in 4:2:0 asks, with everything drawn on it."""
    high, wide = (n - n % 2 for n in picture.rgb.shape[:2])
    image = picture.rgb[:high, :wide].copy()
    cover_whole(image, drawing.masks, picture.time_s)
    for mark in drawing.marks:
        age_s = picture.time_s - mark[0]
        if 0 <= age_s < SETTINGS.desk.mark_fade_s:
            _draw_mark(image, mark, 1 - age_s / SETTINGS.desk.mark_fade_s)
    for head in drawing.others:
        if (place := head.at(picture.time_s)) is not None:
            cover_head(image, place)
    for head in drawing.heads:
        place = head.at(picture.time_s)
        if place is not None:
            _draw_number(image, head.number, place, drawing.cover_heads)
    now = drawing.count_at(picture.time_s)
    if now is not None:
        _draw_count(image, *now)
    return image


def _draw_mark(image: Image, mark: tuple[float, float, float, float, bool, str], strength: float) -> None:
    """Half a disc flat on the floor, round towards the foot's side: whole for weight, hollow for a touch, a bar for a shift."""
    import cv2

    _, x, y, size, right, kind = mark
    corner, patch = _patch(image, x, y, 2.5 * size)
    if patch is None:
        return
    over = patch.copy()
    side = 1 if right else -1
    edge, line = max(3, round(0.26 * size)), max(1, round(0.12 * size))
    if kind == "shift":
        shape = np.array([(0.0, 0.0), (side * 1.5, 0.0)])
        edge, line = 3 * edge, 2 * line
    else:
        turn = np.radians(np.linspace(-90, 90, 25))
        shape = np.column_stack([side * (1.3 * np.cos(turn) - 0.5), 0.85 * np.sin(turn)])
    # Sixteenths of a pixel, so that the mark does not jump as it fades.
    points = np.round(16 * (shape * size + (x - corner[0], y - corner[1]))).astype(np.int32)
    if kind == "step":
        cv2.fillPoly(over, [points], FEET[right], cv2.LINE_AA, 4)
    cv2.polylines(over, [points], kind != "shift", PLATE, edge, cv2.LINE_AA, 4)
    cv2.polylines(over, [points], kind != "shift", LIGHT if kind == "step" else FEET[right], line, cv2.LINE_AA, 4)
    patch[:] = cv2.addWeighted(over, strength, patch, 1 - strength, 0)


def _draw_number(image: Image, number: int, place: Place, cover: bool) -> None:
    import cv2

    x, y, radius = place
    if cover:
        cover_head(image, place)
        write(image, str(number), (x, y), 1.1 * radius, PLATE)
    else:
        above = y - 1.9 * radius
        cv2.circle(image, (round(x), round(above)), round(0.7 * radius), PLATE, -1, cv2.LINE_AA)
        write(image, str(number), (x, above), 0.85 * radius, LIGHT)


def _draw_count(image: Image, count: int, half: bool, wall: int | None) -> None:
    """The count, large, on a dark plate in the picture's upper left corner; its & beside it, the wall below."""
    import cv2

    unit = min(image.shape[:2]) / 100
    edge, side = 3 * unit, 21 * unit
    bottom = edge + side + (6 * unit if wall else 0)
    cv2.rectangle(image, (round(edge), round(edge)), (round(edge + 1.25 * side), round(bottom)), PLATE, -1, cv2.LINE_AA)
    write(image, str(count), (edge + 0.5 * side, edge + 0.5 * side), 0.8 * side, LIGHT)
    if half:
        write(image, "&", (edge + 1.02 * side, edge + 0.6 * side), 0.36 * side, LIGHT)
    if wall:
        write(image, f"wall {wall}", (edge + 0.625 * side, edge + side + 2.2 * unit), 5 * unit, LIGHT)


def _patch(image: Image, x: float, y: float, reach: float) -> tuple[tuple[int, int], Image | None]:
    """Corner and view of the square around a point, cut to the picture; None where it lies outside."""
    left, top = max(0, round(x - reach)), max(0, round(y - reach))
    view = image[top : max(0, round(y + reach)), left : max(0, round(x + reach))]
    return (left, top), view if view.size else None


def _encode(drawn: Iterable[tuple[float, Image]], sound: Sound | None, out: Path) -> None:
    """H.264 with the pictures' own times and, where there is sound, AAC on the same clock, both from the first picture on."""
    import av

    with av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"}) as box:
        video: Any = box.add_stream("libx264", options={"crf": "21", "preset": "veryfast"})
        audio: Any = box.add_stream("aac", rate=sound.rate_hz, layout="mono") if sound is not None else None
        blocks: Iterator[tuple[float, Any]] = iter(())
        waiting: tuple[float, Any] | None = None
        first_s, ticks = None, -1
        for time_s, image in drawn:
            if first_s is None:
                first_s = time_s
                video.width, video.height, video.pix_fmt = image.shape[1], image.shape[0], "yuv420p"
                video.codec_context.time_base = Fraction(1, TICKS_PER_S)
                blocks = _blocks(sound, first_s) if sound is not None else blocks
                waiting = next(blocks, None)
            frame = av.VideoFrame.from_ndarray(image, format="rgb24").reformat(format="yuv420p")
            ticks = max(ticks + 1, round((time_s - first_s) * TICKS_PER_S))
            frame.pts, frame.time_base = ticks, Fraction(1, TICKS_PER_S)
            box.mux(video.encode(frame))
            while waiting is not None and waiting[0] <= time_s - first_s:
                box.mux(audio.encode(waiting[1]))
                waiting = next(blocks, None)
        box.mux(video.encode(None))
        if audio is not None:
            box.mux(audio.encode(None))


def _blocks(sound: Sound, first_s: float) -> Iterator[tuple[float, Any]]:
    """Start in seconds from the first picture (at first_s), and one block of the sound; silence before a late start."""
    import av

    begin = round((sound.start_s - first_s) * sound.rate_hz)
    samples = np.concatenate([np.zeros(max(0, begin), dtype=np.float32), sound.samples[max(0, -begin) :]])
    for at in range(0, len(samples), AUDIO_BLOCK):
        block = np.ascontiguousarray(samples[None, at : at + AUDIO_BLOCK], dtype=np.float32)
        frame: Any = av.AudioFrame.from_ndarray(block, format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = sound.rate_hz, at, Fraction(1, sound.rate_hz)
        yield at / sound.rate_hz, frame
