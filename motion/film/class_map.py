"""A map of the class: one picture of the clip with each dancer's number where they stand; or, without the clip, a plan of it."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.errors import ClipUnreadable
from motion.base.types import Clip, Floats, Landmarks
from motion.clip.video import pictures
from motion.film.covers import Colour, Head, Image, cover_head, cover_whole, with_bystanders, write
from motion.review.corrections import Masks, apply
from motion.review.settings import SETTINGS, Settings
from motion.review.watch import BYSTANDERS
from motion.store.corrections import masks_of, read_corrections
from motion.store.folder import read_stored
from motion.tell.review_words import dancer_name

INK: Colour = (32, 36, 46)
PAPER: Colour = (251, 249, 245)
NUMBER: Colour = (86, 56, 163)
STEP_S = 0.1  # between the moments that are tried for the clearest one
LEAST_RADIUS = 0.021  # of the map's width: smaller numbers cannot be read
# How far a body reaches from its mid-hip, in body heights: up, down, and with the arms at rest to either side.
UP, DOWN, ASIDE = 0.45, 0.5, 0.22


def clearest_s(review: dict[str, Any]) -> float:
    """When most dancers are seen for certain; of such moments, those at which most of them are wholly in the picture; and of those, the
    one at which the nearest two are farthest apart. A review that does not say how large its picture is counts nobody as cut off."""
    tracks = [one["track"] for one in review["dancers"] if one["track"]["times_s"]]
    if not tracks:
        return 0.0
    first, last = min(t["times_s"][0] for t in tracks), max(t["times_s"][-1] for t in tracks)
    times_s = np.arange(first, last + 1e-9, STEP_S)
    seen, whole = np.zeros(len(times_s)), np.zeros(len(times_s))
    wide, high = (review.get("clip", {}).get(side, np.inf) for side in ("width_px", "height_px"))
    places = []
    for t in tracks:
        there = (times_s >= t["times_s"][0]) & (times_s <= t["times_s"][-1])
        for start, end in t["unsure"]:
            there &= (times_s < start) | (times_s > end)
        seen += there
        path = np.array(t["pelvis_px"], dtype=np.float64)
        x, y = (np.interp(times_s, t["times_s"], path[:, k]) for k in (0, 1))
        tall = np.nan_to_num(np.interp(times_s, t["times_s"], _heights(t)))  # of unknown height: by the hips alone
        off = (x < ASIDE * tall) | (x > wide - ASIDE * tall) | (y < UP * tall) | (y > high - DOWN * tall)
        whole += there & (np.isinf(wide) | ~off)
        places.append(np.column_stack([x, y]))
    apart = np.full(len(times_s), np.inf)
    for i, one in enumerate(places):
        for other in places[:i]:
            apart = np.minimum(apart, np.linalg.norm(one - other, axis=1))
    most = np.flatnonzero(seen == seen.max())
    most = most[whole[most] == whole[most].max()]
    return min(round(float(times_s[most[np.argmax(apart[most])]]), 1), float(review.get("clip", {}).get("duration_s", np.inf)))


def folder_map(folder: Path, path: Path, clip: Clip, time_s: float, *, settings: Settings = SETTINGS) -> bytes:
    """The map of a stored review at a moment, as a PNG: everybody's head covered, also of those left out, and the covered whole.

    path, clip: the clip as `find_clip` opened it. Raises ClipUnreadable if that moment cannot be read, BadStore.
    """
    stored = read_stored(folder)
    made = read_corrections(folder).get(stored.clip.sha256, ())
    shown = apply(stored.landmarks, made, settings.desk).landmarks
    everyone = with_bystanders(stored.landmarks, stored.arrays.get(BYSTANDERS))
    return class_map(path, clip, shown, everyone, masks_of(stored.arrays), time_s, settings=settings)


def class_map(
    path: Path,
    clip: Clip,
    shown: Landmarks,
    everyone: Landmarks,
    masks: Masks,
    time_s: float,
    *,
    settings: Settings = SETTINGS,
) -> bytes:
    """A PNG, at most map_width_px wide: the picture at time_s in ink on paper, numbers of `shown` on their heads, all else covered.

    everyone: landmarks of all who were found, whose heads are covered; masks, over people who are not to be seen at all.
    """
    import cv2

    begin_s = min(time_s, float(clip.times_s[-1]))
    with pictures(path, clip, settings=settings.clip, from_s=begin_s) as coming:
        picture = next(coming, None)
    if picture is None:
        raise ClipUnreadable(
            f"This moment of '{path.name}' cannot be read", "Choose another, or copy the clip again from the phone"
        )
    image = picture.rgb.copy()
    cover_whole(image, masks, picture.time_s)
    wide = min(settings.page.map_width_px, clip.width_px)
    scale = wide / clip.width_px
    small = cv2.resize(image, (wide, max(1, round(clip.height_px * scale))), interpolation=cv2.INTER_AREA)
    drawn = _on_paper(np.asarray(small, dtype=np.uint8))
    for people, numbered in ((everyone, False), (shown, True)):
        for p, number in enumerate(people.ids):
            place = Head(int(number), people.times_s, people.image_px[:, p]).at(picture.time_s)
            if place is None:
                continue
            x, y, radius = (scale * value for value in place)
            radius = max(radius, LEAST_RADIUS * wide)
            cover_head(drawn, (x, y, radius), NUMBER if numbered else PAPER, PAPER if numbered else INK)
            if numbered:
                write(drawn, str(number), (x, y), 1.3 * radius, PAPER)
    done, png = cv2.imencode(".png", np.ascontiguousarray(drawn[:, :, ::-1]))
    assert done
    return bytes(png.tobytes())


def floor_plan(review: dict[str, Any], time_s: float) -> str:
    """An SVG of where everyone stands in the picture at a moment: a figure and a number each; nothing of the clip is needed."""
    wide, high = review["clip"]["width_px"], review["clip"]["height_px"]
    unit = wide / 100
    shapes, names = [], []
    for one in sorted(review["dancers"], key=lambda d: _at(d, time_s)[1]):
        x, hips, tall = _at(one, time_s)
        if not np.isfinite([x, hips, tall]).all():
            continue
        top, foot, r = hips - UP * tall, hips + DOWN * tall, max(1.6 * unit, 0.1 * tall)
        names.append(dancer_name(one))
        shapes.append(
            f'<ellipse cx="{x:.1f}" cy="{foot:.1f}" rx="{ASIDE * tall:.1f}" ry="{0.05 * tall:.1f}" fill="#d8d4e2"/>'
            f'<path d="M{x:.1f} {top:.1f}V{foot:.1f}" stroke="#20242e" stroke-width="{0.05 * tall:.1f}"/>'
            f'<circle cx="{x:.1f}" cy="{top:.1f}" r="{r:.1f}" fill="#5638a3" stroke="#fbf9f5" stroke-width="{0.12 * r:.1f}"/>'
            f'<text x="{x:.1f}" y="{top + 0.42 * r:.1f}" font-size="{1.2 * r:.1f}" font-weight="700" text-anchor="middle" '
            f'fill="#fbf9f5" font-family="sans-serif">{int(one["id"])}</text>'
        )
    title = escape("Where everyone stands: " + ", ".join(names))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" role="img" aria-label="{title}">'
        f'<rect width="{wide}" height="{high}" fill="#fbf9f5"/>{"".join(shapes)}</svg>'
    )


def _on_paper(rgb: Image) -> Image:
    """The picture in shades from ink to paper, lightened, so that numbers stand out and nobody is shown closer than needed."""
    light = (rgb @ np.array([0.299, 0.587, 0.114])) / 255
    tone = (0.4 + 0.6 * light)[:, :, None]
    return np.asarray(np.round(np.array(INK) * (1 - tone) + np.array(PAPER) * tone), dtype=np.uint8)


def _at(dancer: dict[str, Any], time_s: float) -> tuple[float, float, float]:
    """x, y of the hips and body height in pixels at a moment; NaN without a track."""
    track = dancer["track"]
    if not track["times_s"]:
        return np.nan, np.nan, np.nan
    path = np.array(track["pelvis_px"], dtype=np.float64)
    x, y, h = (float(np.interp(time_s, track["times_s"], values)) for values in (path[:, 0], path[:, 1], _heights(track)))
    return x, y, h


def _heights(track: dict[str, Any]) -> Floats:
    return np.array([np.nan if h is None else h for h in track["height_px"]], dtype=np.float64)
