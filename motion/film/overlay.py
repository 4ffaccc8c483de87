"""overlay.mp4: the clip with the count, the dancers' numbers and the landings drawn over it, and every head covered.

Nothing that was found about a person is drawn: no late, no early, no miss. The marks are half discs as in the report, lying on the
floor where the foot came down. What is heard are clicks and music made from nothing, unless the room's own sound is asked for.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import tempfile
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

from motion.base.child import COMMAND, child_environment, error_sentence
from motion.base.errors import BadInput, BadStore, MotionError
from motion.base.progress import Progress, quiet
from motion.base.types import BeatGrid, Floats, Landmarks, Picture, Review, Sound
from motion.clip.sound import read_sound
from motion.clip.video import pictures as pictures_of
from motion.film.covers import LIGHT, PLATE, Colour, Head, Image, Place, boxes_over, cover_head, cover_whole, with_bystanders, write
from motion.film.encode import made_from, write_film
from motion.film.extract import find_clip
from motion.music.click_track import RATE_HZ, clicked_track
from motion.review.corrections import Masks, apply, heights_px
from motion.review.settings import SETTINGS
from motion.review.watch import BYSTANDERS
from motion.store.corrections import masks_of, read_corrections
from motion.store.folder import OVERLAY, Stored, beat_grid, read_review, read_stored
from motion.store.serialize import review_json

#: Left and right feet: lighter kin of the report's violet and amber, so that they stand out from a dark floor too.
FEET: dict[bool, Colour] = {False: (150, 120, 235), True: (240, 165, 50)}
#: Heel and toe of each foot among the 33 landmarks.
SOLE: dict[bool, tuple[int, int]] = {False: (29, 31), True: (30, 32)}
#: What is to be said wherever the room's own sound is asked for, and wherever a film with people in it is handed out.
ROOM_SOUND_WORDS = "The room's own sound is in the film: voices, and names that are called, can be heard."
HEADS_WORDS = "Heads are covered of everybody whom the program saw: watch the film through before you hand it on."

#: time_s, x, y, size (pixels), right foot, kind of a landing.
Mark = tuple[float, float, float, float, bool, str]


@dataclass(frozen=True, eq=False)
class Scene:
    """What is known of who is where and what is counted. landmarks: of the dancers, in the order of review.json; everyone: of those
    and of people who were left out; masks: over people who are not to be seen; beats None without a beat; starts: first count of
    every wall, empty if not known; steps: by dancer's number, rows as review.json has them; made_from: a fingerprint of all that."""

    landmarks: Landmarks
    everyone: Landmarks
    masks: Masks
    beats: BeatGrid | None
    starts: tuple[int, ...]
    steps: dict[int, list[dict[str, Any]]]
    made_from: str


def scene_of(review: dict[str, Any], landmarks: Landmarks, everyone: Landmarks | None = None, masks: Masks | None = None) -> Scene:
    """The scene of a review (as review.json has it) and the landmarks of its dancers."""
    steps = {int(one["id"]): one["steps"] if isinstance(one["steps"], list) else [] for one in review["dancers"]}
    dance = review.get("dance")
    starts = tuple(dance["wall_starts"]) if dance else ()
    return Scene(landmarks, everyone or landmarks, masks or Masks(), beat_grid(review["beats"]), starts, steps, fingerprint(review))


def stored_scene(stored: Stored) -> Scene:
    """The scene of a stored review, corrections by hand worked in. Raises BadStore as reading it does."""
    said = read_corrections(stored.folder).get(stored.clip.sha256, ())
    dancers = apply(stored.landmarks, said, SETTINGS.desk).landmarks
    everyone = with_bystanders(stored.landmarks, stored.arrays.get(BYSTANDERS))
    return scene_of(stored.review, dancers, everyone, masks_of(stored.arrays))


def fingerprint(review: dict[str, Any]) -> str:
    """Of everything in a review that is drawn: two reviews with the same one give the same counted clip."""
    drawn = [
        review["clip"]["sha256"],
        review["beats"],
        (review.get("dance") or {}).get("wall_starts"),
        [[one["id"], one["steps"]] for one in review["dancers"]],
    ]
    return "countfall " + hashlib.sha256(json.dumps(drawn, sort_keys=True).encode()).hexdigest()[:32]


def overlay_state(folder: Path) -> Literal["none", "as judged", "outdated"]:
    """Whether a review folder has a counted clip, and whether it shows the review as it is judged now. Raises BadStore."""
    path = folder / OVERLAY
    if not path.is_file():
        return "none"
    return "as judged" if made_from(path) == fingerprint(read_review(folder)) else "outdated"


def draw_apart(
    folder: Path,
    clip_path: Path,
    *,
    room_sound: bool,
    show_heads: bool,
    mask: Collection[int],
    command: Sequence[str] | None = None,
) -> None:
    """`draw_again` in a process of its own, for the page. Raises MotionError with the command's own sentence."""
    words = [*(["--room-sound"] if room_sound else []), *(["--show-heads"] if show_heads else [])]
    words += [word for number in mask for word in ("--mask", str(number))]
    argv = [*(command or COMMAND), "overlay", str(folder), "--clip", str(clip_path), *words]
    done = subprocess.run(argv, env=child_environment(), stdin=subprocess.DEVNULL, capture_output=True)
    if done.returncode:
        raise MotionError(error_sentence(done.returncode, done.stderr.decode("utf-8", "replace"), None))


def state_words(folder: Path) -> str:
    """The same for a review that had a counted clip, in a sentence."""
    again = f"make it anew with: countfall overlay {folder}"
    match overlay_state(folder):
        case "none":
            return f"The counted clip was deleted, because it shows somebody who is covered now; {again}"
        case "outdated":
            return f"The counted clip ({OVERLAY}) still shows the counts as they were before; {again}"
        case _:
            return f"The counted clip ({OVERLAY}) still holds."


def counted_sound(beats: BeatGrid | None, duration_s: float) -> Sound | None:
    """Clicks and made music on the beats, on the pictures' clock; None without a beat."""
    if beats is None:
        return None
    return Sound(clicked_track(beats.times_s, beats.counts, duration_s=duration_s), RATE_HZ, 0.0)


def draw_again(
    folder: Path,
    clip_path: Path,
    *,
    room_sound: bool = False,
    cover_heads: bool = True,
    mask: Collection[int] = (),
    progress: Progress = quiet,
) -> Path:
    """Write the counted clip of a stored review into its folder, as it is judged now, in the place of an earlier one.

    mask: numbers of dancers who are covered whole, such as those without consent. Raises BadStore, BadInput for a number that is not
    there, and what reading the clip raises; an earlier counted clip then stays as it was.
    """
    stored = read_stored(folder)
    scene = stored_scene(stored)
    covered = len(scene.masks.points)
    clip = find_clip(clip_path, stored.review)
    sound = counted_sound(scene.beats, clip.duration_s)
    if room_sound:
        heard = read_sound(clip_path, clip, settings=SETTINGS.clip)
        sound = heard if isinstance(heard, Sound) else None
    out, asked = folder / OVERLAY, stored.review["made_by"].get("asked", {})
    try:
        # Beside the folder: it can be judged again meanwhile, and a half film left behind would keep it from being judged ever again.
        with (
            tempfile.TemporaryDirectory(prefix=".countfall-", dir=folder.resolve().parent) as held,
            pictures_of(clip_path, clip, settings=SETTINGS.clip, from_s=asked.get("from_s"), to_s=asked.get("to_s")) as shown,
        ):
            told, drawn = _told(shown, clip.duration_s, progress), Path(held) / OVERLAY
            draw_scene(told, scene, drawn, sound=sound, cover_heads=cover_heads, mask=mask)
            os.replace(drawn, out)
        if len(masks_of(read_stored(folder).arrays).points) > covered:
            out.unlink(missing_ok=True)
            raise BadInput("Somebody was covered while the counted clip was drawn, and it would show them", "Make it again")
    except OSError as error:
        raise BadStore(f"The counted clip cannot be written to {folder}", "Make room and try again") from error
    return out


def _told(shown: Iterable[Picture], duration_s: float, progress: Progress) -> Iterator[Picture]:
    for picture in shown:
        progress("Drawing the counted clip", min(1.0, picture.time_s / duration_s))
        yield picture


def draw_overlay(
    pictures: Iterable[Picture],
    review: Review,
    out: Path,
    *,
    sound: Sound | None = None,
    cover_heads: bool = True,
    everyone: Landmarks | None = None,
    masks: Masks | None = None,
    mask: Collection[int] = (),
) -> None:
    """Write the counted clip of a review that is in memory; everyone, masks: as in Scene. All else as `draw_scene`."""
    scene = scene_of(review_json(review), review.landmarks, everyone, masks)
    draw_scene(pictures, scene, out, sound=sound, cover_heads=cover_heads, mask=mask)


def draw_scene(
    pictures: Iterable[Picture],
    scene: Scene,
    out: Path,
    *,
    sound: Sound | None = None,
    cover_heads: bool = True,
    mask: Collection[int] = (),
) -> None:
    """Write the drawn-over clip to `out` (H.264 and AAC in mp4), whole or not at all, one picture in memory at a time.

    Parameters: pictures in order of time, as the review saw them; sound on their clock, None for a silent clip; cover_heads, a
    plain disc over the head of everybody who was seen, with the number in it of a dancer; mask, numbers of dancers who are covered
    whole and of whom nothing is drawn. The pictures keep their own, maybe uneven, times; the drawn-over clip begins with the first.
    Raises BadInput for a number that is no dancer's, OSError when the disk fails, and whatever reading the pictures raises; `out` is
    then as it was.
    """
    unknown = sorted(set(mask) - set(scene.steps))
    if unknown:
        raise BadInput(f"There is no dancer {unknown[0]} in this review", "Choose one of those shown")
    drawing = _Drawing(scene, cover_heads, frozenset(mask))
    part = out.with_name(f"{out.stem}.part{out.suffix}")
    try:
        drawn = ((picture.time_s, _drawn(picture, drawing)) for picture in pictures)
        write_film(drawn, sound, part, made_from=scene.made_from)
        os.replace(part, out)
    finally:
        part.unlink(missing_ok=True)


def count_at(scene: Scene, time_s: float) -> tuple[int, bool, int | None] | None:
    """Count 1..8 sounding at time_s, whether its & has come, and the wall (None if not known); None outside the beats."""
    if scene.beats is None:
        return None
    times_s = scene.beats.times_s
    i = int(np.searchsorted(times_s, time_s, side="right")) - 1
    if i < 0 or i + 1 >= len(times_s):
        return None
    half = time_s >= times_s[i] + scene.beats.half_at * (times_s[i + 1] - times_s[i])
    wall = None
    if scene.starts and scene.beats.first_count_s is not None:
        first = int(np.argmin(np.abs(times_s - scene.beats.first_count_s)))
        wall = sum(start <= i - first + 1 for start in scene.starts) or None
    return int(scene.beats.counts[i]), half, wall


class _Drawing:
    """What is to be drawn, worked out once for the whole clip: who is where, which count is when, and where feet came down."""

    def __init__(self, scene: Scene, cover_heads: bool, mask: frozenset[int]) -> None:
        self.scene, self.cover_heads = scene, cover_heads
        lm = scene.landmarks
        self.covers = (scene.masks, boxes_over(lm, mask))
        shown = [(int(one), lm.image_px[:, p]) for p, one in enumerate(lm.ids) if int(one) in scene.steps and int(one) not in mask]
        self.heads = [Head(number, lm.times_s, px) for number, px in shown]
        rest = scene.everyone
        self.others = [Head(0, rest.times_s, rest.image_px[:, p]) for p in range(len(rest.ids))] if cover_heads else []
        self.marks = sorted(mark for number, px in shown for mark in marks_of(scene.steps[number], lm.times_s, px))


def marks_of(steps: Iterable[dict[str, Any]], times_s: Floats, points_px: Floats) -> Iterator[Mark]:
    """Every landing whose foot was seen then. steps: rows of review.json; times_s (F,); points_px (F, 33, 2)."""
    tall = heights_px(points_px)
    usual = float(np.nanmedian(tall)) if np.isfinite(tall).any() else np.nan
    for step in steps:
        time_s, right = float(step["time_s"]), step["foot"] == "right"
        x, y = points_px[int(np.argmin(np.abs(times_s - time_s))), SOLE[right]].mean(axis=0)
        if np.isfinite([x, y, usual]).all():
            yield time_s, float(x), float(y), 0.066 * usual, right, str(step["kind"])


def _drawn(picture: Picture, drawing: _Drawing) -> Image:
    """A copy of the picture, cut to even width and height as H.264 in 4:2:0 asks, with everything drawn on it."""
    high, wide = (n - n % 2 for n in picture.rgb.shape[:2])
    image = picture.rgb[:high, :wide].copy()
    for mark in drawing.marks:
        age_s = picture.time_s - mark[0]
        if 0 <= age_s < SETTINGS.desk.mark_fade_s:
            _draw_mark(image, mark, 1 - age_s / SETTINGS.desk.mark_fade_s)
    for head in drawing.others:
        if (place := head.at(picture.time_s)) is not None:
            cover_head(image, place)
    for masks in drawing.covers:
        cover_whole(image, masks, picture.time_s)
    for head in drawing.heads:
        place = head.at(picture.time_s)
        if place is not None:
            _draw_number(image, head.number, place, drawing.cover_heads)
    now = count_at(drawing.scene, picture.time_s)
    if now is not None:
        draw_count(image, *now)
    return image


def _draw_mark(image: Image, mark: Mark, strength: float) -> None:
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


def draw_count(image: Image, count: int, half: bool, wall: int | None, *, share: float = 0.21) -> None:
    """The count, large, on a dark plate in the picture's upper left corner; its & beside it, the wall below.

    share: of the picture's shorter side, height of the plate.
    """
    import cv2

    unit = min(image.shape[:2]) / 100
    edge, side = 3 * unit, 100 * share * unit
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
