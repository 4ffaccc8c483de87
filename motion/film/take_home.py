"""hand-out.mp4: the film that a student takes along. One dancer, cut out and followed; everybody else masked; a card with two
sentences, then the dance with large counts and clicks at three speeds. The room's own sound is never in it.

Only what lies close around the dancer is shown at all, so that people who were never found stay out too; whoever stands in front or
comes that close is covered in their own outline.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.child import COMMAND, child_environment, error_sentence
from motion.base.errors import BadInput, BadStore, MotionError, NobodySeen
from motion.base.home import MAKING, home
from motion.base.progress import Progress, quiet
from motion.base.settings import HandoutSettings
from motion.base.types import Floats, Picture, Sound
from motion.clip.video import pictures
from motion.film.covers import Head, Image, body_shape, cover_head
from motion.film.encode import FOR_PHONES, Piece, put_together, write_film
from motion.film.extract import find_clip
from motion.film.overlay import Scene, count_at, draw_count, stored_scene
from motion.film.title_cards import BACKDROP, opening_card, reading_s, small_words, title_card
from motion.music.click_track import RATE_HZ, clicked_track
from motion.review.corrections import ANKLES, HIPS, Masks, heights_px
from motion.review.settings import SETTINGS
from motion.store.corrections import masks_of, read_corrections
from motion.store.folder import Stored, read_stored
from motion.tell.review_words import dancer_name
from motion.tell.student import card_lines
from motion.tell.takes import dancer_of

SPEEDS = {1.0: ("As danced", "as-danced"), 0.75: ("Three quarters of the speed", "three-quarters"), 0.5: ("Half the speed", "half")}
CARD_STEP_S = 0.5  # between pictures of a card: longer gaps make some players wait
COUNT_SHARE = 0.26  # of the film's width, height of the count's plate
ASIDE, BELOW = 0.55, 0.52  # where the dancer's middle is in the film, of its width and height: away from the count's corner
GAP_S = 0.5  # s without a sight of the dancer after which nothing is shown until they are seen again


@dataclass(frozen=True)
class Stretch:
    """The part of the clip that the film shows, in its seconds."""

    from_s: float
    to_s: float


def default_handout(folder: Path, number: int) -> Path:
    """Where the film goes unless the person says otherwise: "lesson-dancer-2.hand-out.mp4" beside "lesson.review"."""
    return folder.resolve().with_name(f"{folder.resolve().stem}-dancer-{number}.hand-out.mp4")


def make_handout(
    folder: Path,
    clip_path: Path,
    number: int,
    out: Path,
    *,
    mirror: bool = False,
    apart: bool = False,
    cover_heads: bool = True,
    mask: Collection[int] = (),
    progress: Progress = quiet,
    settings: HandoutSettings = SETTINGS.handout,
) -> list[Path]:
    """Make the film of dancer `number` of the review in `folder`, and give the file, or the files, that it is in.

    Parameters: mirror, left and right exchanged as in a mirror, writing readable; apart, every speed in a file of its own instead of
    chapters of one; cover_heads, a disc over this dancer's head too; mask, numbers of dancers who must not be seen.
    Whole or not at all, each file below most_bytes. Raises BadInput for a dancer who is not there, who must be masked, or a dance too
    long; BadStore when somebody is to be covered and the review does not know them yet, or the disk fails; NobodySeen, and what
    reading the clip raises.
    """
    if out.suffix.lower() != ".mp4":
        raise BadInput(f"'{out.name}' does not end in .mp4", "Give the film a name such as hand-out.mp4")
    stored = read_stored(folder)
    dancer = dancer_of(stored.review, number)
    for other in mask:  # a number mistyped would leave somebody seen
        dancer_of(stored.review, other)
    _refuse_masked(stored, number, mask)
    scene = stored_scene(stored)
    shown = stretch_of(stored.review, scene, settings)
    figure = _Figure(scene, number, settings, mirror=mirror, cover=cover_heads)
    dance = (stored.review.get("dance") or {}).get("title", "")
    lines = card_lines(stored.review, number)
    settings = replace(settings, card_s=reading_s(lines, settings))
    card = opening_card(lines, " · ".join(w for w in (dancer_name(dancer), dance) if w), settings)
    files = {out.with_name(f"{out.stem}-{SPEEDS[v][1]}.mp4"): (v,) for v in settings.speeds} if apart else {out: settings.speeds}
    _refuse_places(files, clip_path)
    bits_s = _bits_s(shown, max(files.values(), key=lambda speeds: sum(1 / v for v in speeds)), settings)
    try:
        with tempfile.TemporaryDirectory(prefix=".countfall-", dir=out.parent) as held:
            work, ready = Path(held) / "work.mp4", {}
            clip = find_clip(clip_path, stored.review)
            with pictures(clip_path, clip, settings=SETTINGS.clip, from_s=shown.from_s, to_s=shown.to_s) as film:
                drawn = _drawn(film, card, figure, shown, progress, settings)
                starts = [at_s for at_s, _ in _cards(card, settings)] + [_begin_s(settings)]
                cap = {"maxrate": str(bits_s), "bufsize": str(2 * bits_s)}
                write_film(drawn, None, work, coding=FOR_PHONES | cap, whole_at=starts)
            for path, speeds in files.items():
                ready[path] = Path(held) / path.name
                put_together(work, _pieces(speeds, shown, settings), _sound(scene, speeds, shown, settings), ready[path])
                if ready[path].stat().st_size > settings.most_bytes:
                    raise _too_long(shown)
            for path, made in ready.items():
                os.replace(made, path)
    except OSError as error:
        raise BadStore(f"The film cannot be written to {out.parent}", "Make room, or choose another place") from error
    return list(files)


def handout_apart(
    folder: Path, clip_path: Path, number: int, *, mirror: bool, show_heads: bool, command: Sequence[str] | None = None
) -> bytes:
    """The film of dancer `number`, made in a process of its own for the page; nothing of it stays in the work folder.

    Raises MotionError with the command's own sentence.
    """
    with tempfile.TemporaryDirectory(prefix=MAKING, dir=home()) as held:
        out = Path(held) / "hand-out.mp4"
        words = [*(["--mirror"] if mirror else []), *(["--show-heads"] if show_heads else [])]
        argv = [*(command or COMMAND), "handout", str(folder), "--clip", str(clip_path), "--dancer", str(number), "--out", str(out)]
        done = subprocess.run([*argv, *words], env=child_environment(), stdin=subprocess.DEVNULL, capture_output=True)
        if done.returncode:
            raise MotionError(error_sentence(done.returncode, done.stderr.decode("utf-8", "replace"), None))
        return out.read_bytes()


def stretch_of(review: dict[str, Any], scene: Scene, settings: HandoutSettings) -> Stretch:
    """From lead_counts before count 1 to a count after the end of what was danced; the whole clip where neither is known."""
    clip = review["clip"]
    begin, end = min(s[0] for s in clip["stretches"]), max(s[1] for s in clip["stretches"])
    if scene.beats is not None:
        gap_s = 60 / scene.beats.tempo_bpm
        first_s = begin if scene.beats.first_count_s is None else max(begin, scene.beats.first_count_s)
        begin, end = first_s - settings.lead_counts * gap_s, end + gap_s
    seen_s = scene.landmarks.times_s
    return Stretch(max(0.0, float(seen_s[0]), begin), min(float(clip["duration_s"]), float(seen_s[-1]), end))


def _refuse_places(files: Collection[Path], clip_path: Path) -> None:
    """Raise BadInput where a film would take the place of the clip itself, BadStore where there is no folder for it."""
    for path in files:
        if path.exists() and clip_path.exists() and path.samefile(clip_path):
            raise BadInput(f"'{path}' is the clip itself, and the film would take its place", "Give the film another name")
        if not path.parent.is_dir():
            raise BadStore(f"There is no folder '{path.parent}' to write the film to", "Make it first, or choose another place")


def _refuse_masked(stored: Stored, number: int, mask: Collection[int]) -> None:
    if number in mask:
        raise BadInput(f"Dancer {number} must not be seen, so there is no film to take along", "Choose another dancer")
    masks = masks_of(stored.arrays)
    said = read_corrections(stored.folder).get(stored.clip.sha256, ())
    if any(one.kind == "hide" and masks.came_from(one.at) is None for one in said):
        raise BadStore("Somebody is to be covered whom this review does not cover yet", "Judge the review again first")


def _bits_s(shown: Stretch, speeds: Sequence[float], settings: HandoutSettings) -> int:
    """Bits a second of the pictures as danced, so that all speeds together fit; slower ones hold the same pictures."""
    danced_s = shown.to_s - shown.from_s
    lasts_s = settings.card_s + sum(settings.title_s + danced_s / v for v in speeds)
    free = 0.9 * 8 * settings.most_bytes - 60_000 * lasts_s  # of sound, and of the index
    bits_s = int(min(settings.most_bits_s, free / (len(speeds) * danced_s)))
    if bits_s < settings.least_bits_s:
        raise _too_long(shown)
    return bits_s


def _too_long(shown: Stretch) -> BadInput:
    return BadInput(
        f"{shown.to_s - shown.from_s:.0f} seconds of dance do not fit into one film that can be sent",
        "Make the speeds separate files, or review a shorter stretch of the clip",
    )


def _begin_s(settings: HandoutSettings) -> float:
    """Where the dance begins in the work film: after the card and every title."""
    return settings.card_s + len(settings.speeds) * settings.title_s


def _cards(card: Image, settings: HandoutSettings) -> list[tuple[float, Image]]:
    """Every card of the work film with the time at which it begins."""
    titles = [title_card(SPEEDS[v][0], settings) for v in settings.speeds]
    return [(0.0, card)] + [(settings.card_s + k * settings.title_s, title) for k, title in enumerate(titles)]


def _pieces(speeds: Sequence[float], shown: Stretch, settings: HandoutSettings) -> list[Piece]:
    """How the film is put together: card, then for every speed its title and the dance."""
    begin_s = _begin_s(settings)
    pieces = [Piece(0.0, settings.card_s, 1.0, "To begin with")]
    for speed in speeds:
        title_s = settings.card_s + settings.speeds.index(speed) * settings.title_s
        pieces.append(Piece(title_s, title_s + settings.title_s, 1.0, SPEEDS[speed][0]))
        pieces.append(Piece(begin_s, begin_s + shown.to_s - shown.from_s, speed))
    return pieces


def _sound(scene: Scene, speeds: Sequence[float], shown: Stretch, settings: HandoutSettings) -> Sound:
    """Clicks and called counts where the counts are seen, at every speed; silence without a beat."""
    at_s, times, counts = settings.card_s, [], []
    for speed in speeds:
        at_s += settings.title_s
        if scene.beats is not None:
            inside = (scene.beats.times_s >= shown.from_s) & (scene.beats.times_s <= shown.to_s)
            times.append(at_s + (scene.beats.times_s[inside] - shown.from_s) / speed)
            counts.append(scene.beats.counts[inside])
        at_s += (shown.to_s - shown.from_s) / speed
    if not times:
        return Sound(np.zeros(round(at_s * RATE_HZ), np.float32), RATE_HZ, 0.0)
    made = clicked_track(np.concatenate(times), np.concatenate(counts), duration_s=at_s, music=False, voice=True)
    return Sound(made, RATE_HZ, 0.0)


def _drawn(
    film: Iterator[Picture], card: Image, figure: _Figure, shown: Stretch, progress: Progress, settings: HandoutSettings
) -> Iterator[tuple[float, Image]]:
    """Every picture of the work film at its time in it."""
    begin_s = _begin_s(settings)
    cards = _cards(card, settings)
    for (at_s, image), until_s in zip(cards, [at for at, _ in cards[1:]] + [begin_s], strict=True):
        for k in range(max(1, round((until_s - at_s) / CARD_STEP_S))):
            yield at_s + k * CARD_STEP_S, image
    first_s = None
    for picture in film:
        first_s = picture.time_s if first_s is None else first_s
        progress("Drawing the film to take along", min(1.0, (picture.time_s - shown.from_s) / (shown.to_s - shown.from_s)))
        image = figure.draw(picture)
        yield begin_s + max(0.0, picture.time_s - shown.from_s), image
    if first_s is None:
        raise NobodySeen("No picture of this dancer can be read", "Copy the clip again from the phone")


class _Figure:
    """One dancer, cut out of every picture: where they are, how large, who else is there; worked out once for the clip."""

    def __init__(self, scene: Scene, number: int, settings: HandoutSettings, *, mirror: bool, cover: bool) -> None:
        self.scene, self.settings, self.mirror = scene, settings, mirror
        lm = scene.landmarks
        own = lm.image_px[:, int(np.flatnonzero(lm.ids == number)[0])]
        self.own = _Path(lm.times_s, own)
        if not len(self.own.times_s):
            raise NobodySeen(f"Dancer {number} is nowhere seen whole", "Choose another dancer")
        self.head = Head(number, lm.times_s, own) if cover else None
        people, when = scene.everyone.image_px, scene.everyone.times_s
        others = [lm.image_px[:, p] for p in range(len(lm.ids)) if int(lm.ids[p]) != number]
        self.others = [_Path(lm.times_s, px) for px in others] + [_Path(when, people[:, p]) for p in range(people.shape[1])]
        faces = [people[:, p] for p in range(people.shape[1]) if not len(self.others[len(others) + p].times_s)]
        self.faces = [Head(0, when, px) for px in faces]
        self.tall_px = float(np.percentile(heights_px(self.own.points_px), 90))
        self.middle_px = _smooth(self.own, settings.smooth_s)

    def draw(self, picture: Picture) -> Image:
        """The film's picture (height_px, width_px, 3) of that moment."""
        import cv2

        time_s, wide, high = picture.time_s, self.settings.width_px, self.settings.height_px
        image = np.full((high, wide, 3), BACKDROP, np.uint8)
        points = self.own.at(time_s)
        if points is not None:
            scale = high / (self.settings.reach * self.tall_px)
            middle = [np.interp(time_s, self.own.times_s, self.middle_px[:, k]) for k in (0, 1)]
            to_film = np.array([[scale, 0.0, ASIDE * wide - scale * middle[0]], [0.0, scale, BELOW * high - scale * middle[1]]])
            if self.mirror:
                to_film[0] = -scale, 0.0, ASIDE * wide + scale * middle[0]
            cut = cv2.warpAffine(picture.rgb, to_film, (wide, high), flags=cv2.INTER_LINEAR, borderValue=BACKDROP)
            clear = self._clear(time_s, points, to_film)[:, :, None]
            image = np.asarray(np.round(cut * clear + image * (1 - clear)), np.uint8)
            place = self.head.at(time_s) if self.head is not None else None
            if place is not None:
                x, y = _moved(np.array([[place[0], place[1]]]), to_film)[0]
                cover_head(image, (float(x), float(y), place[2] * scale))
        now = count_at(self.scene, time_s)
        if now is not None:
            draw_count(image, *now, share=COUNT_SHARE)
        words = ["as in a mirror"] if self.mirror else []
        small_words(image, words if points is not None else [*words, "not seen here"])
        return image

    def _clear(self, time_s: float, points: Floats, to_film: Floats) -> Floats:
        """How much of each pixel (H, W) of the film's picture may be seen, 0..1."""
        import cv2

        size, scale = (self.settings.width_px, self.settings.height_px), to_film[1, 1]
        own = _moved(points, to_film)
        tall = float(heights_px(own))
        shown = body_shape(size, own, self.settings.show_margin * tall)
        body = body_shape(size, own, 0.0)
        near = points[ANKLES, 1].max()
        for path in self.others:
            px = path.at(time_s)
            if px is None or np.abs(px - points).mean() < 0.03 * heights_px(points):  # nobody there, or this very dancer
                continue
            theirs = body_shape(size, _moved(px, to_film), 0.03 * tall)
            if px[ANKLES, 1].max() <= near:  # farther away: the dancer stands in front of them
                theirs[body > 0] = 0
            shown[theirs > 0] = 0
        for face in self.faces:
            place = face.at(time_s)
            if place is not None:
                x, y = _moved(np.array([[place[0], place[1]]]), to_film)[0]
                cv2.circle(shown, (round(x), round(y)), round(1.2 * place[2] * scale), 0, -1)
        _take_out(shown, self.scene.masks, time_s, to_film)
        soft = cv2.GaussianBlur(shown, (0, 0), 4).astype(np.float64) / 255
        return np.asarray(np.minimum(soft, shown / 255.0))


class _Path:
    """Where one person's points are at any time: times_s (S,), points_px (S, 33, 2) of the pictures in which all were seen."""

    def __init__(self, times_s: Floats, points_px: Floats) -> None:
        seen = np.isfinite(points_px).all(axis=(1, 2))
        self.times_s, self.points_px = times_s[seen], points_px[seen]

    def at(self, time_s: float) -> Floats | None:
        """Points (33, 2), between two sights where those are near; None where nobody is seen."""
        if not len(self.times_s):
            return None
        k = int(np.clip(np.searchsorted(self.times_s, time_s), 1, max(1, len(self.times_s) - 1)))
        a, b = (k - 1, k) if len(self.times_s) > 1 else (0, 0)
        before, after = self.times_s[a], self.times_s[b]
        if min(abs(time_s - before), abs(time_s - after)) > GAP_S:
            return None
        share = float(np.clip((time_s - before) / (after - before), 0, 1)) if after > before else 0.0
        return np.asarray((1 - share) * self.points_px[a] + share * self.points_px[b])


def _smooth(path: _Path, over_s: float) -> Floats:
    """The middle of a body (S, 2), hips across and half way between head and ankles in height, freed of the single steps."""
    middle = np.column_stack(
        [path.points_px[:, HIPS, 0].mean(1), (path.points_px[:, 0, 1] + path.points_px[:, ANKLES, 1].max(1)) / 2]
    )
    step_s = over_s / 10
    even_s = np.arange(path.times_s[0], path.times_s[-1] + step_s, step_s)
    weight = np.exp(-0.5 * (np.arange(-30, 31) / 10) ** 2)
    out = []
    for k in (0, 1):
        line = np.pad(np.interp(even_s, path.times_s, middle[:, k]), 30, mode="edge")
        out.append(np.interp(path.times_s, even_s, np.convolve(line, weight / weight.sum(), mode="valid")))
    return np.column_stack(out)


def _moved(points: Floats, by: Floats) -> Floats:
    """Points (N, 2) in the pixels of another picture, by a (2, 3) matrix."""
    return np.asarray(points @ by[:, :2].T + by[:, 2])


def _take_out(shown: Image, masks: Masks, time_s: float, to_film: Floats) -> None:
    for left, top, right, bottom in masks.at(time_s):
        corners = _moved(np.array([[left, top], [right, bottom]]), to_film)
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        shown[max(0, int(y0)) : max(0, int(np.ceil(y1))), max(0, int(x0)) : max(0, int(np.ceil(x1)))] = 0
