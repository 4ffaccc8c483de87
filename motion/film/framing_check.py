"""Before filming: a short test clip or a still picture is looked at, and what would spoil a review is told with what to do about it.

What is seen is put into numbers for every moment looked at, what is told follows from these alone. Nothing is kept.
"""

from __future__ import annotations

import itertools
import json
import subprocess
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from motion.base.child import COMMAND, child_environment, error_sentence
from motion.base.errors import BadInput, ClipMissing, ClipUnreadable, MotionError
from motion.base.progress import Progress, quiet
from motion.base.settings import FilmingSettings
from motion.base.types import Clip, Floats
from motion.clip.video import open_clip, pictures
from motion.film.covers import Image, body_shape
from motion.review.corrections import ANKLES, HEAD, heights_px
from motion.review.settings import SETTINGS
from motion.review.still_detection import people_in

Purpose = Literal["timing", "bending"]
Person = tuple[Floats, Floats]
PICTURES = (".jpg", ".jpeg", ".png", ".webp", ".bmp")
FEET, LOW = [27, 28, 29, 30, 31, 32], [25, 26, 27, 28, 29, 30, 31, 32]
SHOULDERS, HIPS = [11, 12], [23, 24]
PARTS = 4  # a side, into which a picture is cut to see whether all of it moves
GREY = np.array([0.299, 0.587, 0.114])  # of red, green, blue: ITU-R BT.601


@dataclass(frozen=True)
class Moment:
    """One picture in numbers. people: in it; cut_feet, cut_heads, large, hidden, aside: how many of them have feet or head out of the
    picture, fill it, stand with their feet behind somebody nearer, are seen from the side; heights_px of each; grey of the dancers,
    around_grey beside them and the share of that which glares, None without people; shake_heights: how far the picture moves until
    the next, in body heights, None for a still."""

    people: int
    cut_feet: int
    cut_heads: int
    large: int
    hidden: int
    aside: int
    heights_px: tuple[float, ...]
    grey: float | None
    around_grey: float | None
    glare: float | None
    shake_heights: float | None = None


@dataclass(frozen=True)
class Told:
    """One thing looked at. good: True, False, or None where it could not be told; words; remedy: what to do, "" where nothing."""

    what: str
    good: bool | None
    words: str
    remedy: str = ""


@dataclass(frozen=True)
class Looked:
    """The outcome. seen: most people in one picture; told: everything looked at, what is to be mended first."""

    seen: int
    told: tuple[Told, ...] = field(default=())


def look(
    path: Path,
    *,
    dancers: int | None = None,
    purpose: Purpose = "timing",
    model: Path | None = None,
    progress: Progress = quiet,
    settings: FilmingSettings = SETTINGS.filming,
) -> Looked:
    """Look at a test clip or a still picture. dancers: how many are dancing, None if not said.

    Raises ClipMissing, ClipUnreadable and the other errors of opening a clip, ModelMissing, BadInput for a number of dancers below 1.
    """
    if dancers is not None and not 1 <= dancers <= SETTINGS.body.most_dancers:
        raise BadInput(f"{dancers} dancers cannot be", f"Give how many are dancing, 1 to {SETTINGS.body.most_dancers}")
    if path.suffix.lower() in PICTURES:
        bursts: list[list[Image]] = [[read_picture(path, settings)]]
    else:
        bursts = _bursts(path, progress, settings)
    found = people_in((burst[0] for burst in bursts), model=model, progress=progress)
    moments = []
    for n, (burst, people) in enumerate(zip(bursts, found, strict=True), 1):
        moments.append(moment_of(burst, people, settings))
        progress("Looking at the pictures", n / len(bursts))
    return told_of(moments, dancers, purpose, settings)


def look_apart(path: Path, *, dancers: int | None, purpose: Purpose, command: Sequence[str] | None = None) -> Looked:
    """The same in a process of its own, for the page. Raises MotionError with the command's own sentence."""
    many = [] if dancers is None else ["--dancers", str(dancers)]
    argv = [*(command or COMMAND), "look", str(path), "--for", purpose, "--json", *many]
    try:
        done = subprocess.run(
            argv, env=child_environment(), stdin=subprocess.DEVNULL, capture_output=True, timeout=SETTINGS.page.longest_judge_s
        )
    except subprocess.TimeoutExpired as error:
        raise MotionError("Looking at it took too long and was stopped", "Film a shorter test clip") from error
    if done.returncode:
        raise MotionError(error_sentence(done.returncode, done.stderr.decode("utf-8", "replace"), None))
    return looked_from(json.loads(done.stdout))


def looked_json(looked: Looked) -> dict[str, Any]:
    """The outcome as plain values."""
    return asdict(looked)


def looked_from(plain: dict[str, Any]) -> Looked:
    """The outcome out of plain values."""
    return Looked(int(plain["seen"]), tuple(Told(**one) for one in plain["told"]))


def read_picture(path: Path, settings: FilmingSettings = SETTINGS.filming) -> Image:
    """A still picture as RGB (H, W, 3), turned as the phone says. Raises ClipMissing, ClipUnreadable."""
    import cv2

    if not path.is_file():
        raise ClipMissing(f"There is no picture '{path}'", "Check its name and folder")
    if path.stat().st_size > settings.largest_picture_bytes:
        raise ClipUnreadable(f"The picture '{path.name}' is too large to be read", "Take it again with the phone's camera")
    image = cv2.imdecode(np.frombuffer(path.read_bytes(), np.uint8), cv2.IMREAD_COLOR)
    if image is None:
        raise ClipUnreadable(f"The picture '{path.name}' cannot be read", "Save it as JPEG or PNG, or film ten seconds instead")
    return np.asarray(image[:, :, ::-1], np.uint8).copy()


def _bursts(path: Path, progress: Progress, settings: FilmingSettings) -> list[list[Image]]:
    """A few pictures in a row at each of some moments spread over the clip."""
    clip = open_clip(path, settings=SETTINGS.clip)
    many = int(np.searchsorted(clip.times_s, settings.longest_s, side="right"))
    first = np.linspace(0, max(0, many - settings.burst), settings.moments).astype(int)
    wanted = {int(i + k) for i in first for k in range(settings.burst)}
    taken = dict(_taken(path, clip, wanted, progress))
    bursts = [[taken[i + k] for k in range(settings.burst) if i + k in taken] for i in map(int, dict.fromkeys(first))]
    bursts = [burst for burst in bursts if burst]
    if not bursts:
        raise ClipUnreadable(f"No picture of '{path.name}' can be read", "Copy the clip again from the phone")
    return bursts


def _taken(path: Path, clip: Clip, wanted: set[int], progress: Progress) -> Iterator[tuple[int, Image]]:
    last = max(wanted)
    with pictures(path, clip, settings=SETTINGS.clip) as shown:
        for picture in shown:
            if picture.index in wanted:
                yield picture.index, picture.rgb.copy()
            progress("Reading the clip", min(1.0, (picture.index + 1) / (last + 1)))
            if picture.index >= last:
                return


def moment_of(burst: Sequence[Image], people: Sequence[Person], settings: FilmingSettings = SETTINGS.filming) -> Moment:
    """A picture (the first of the burst) in numbers. people: points_px (33, 2) and visibility (33,) of everybody in it."""
    image = burst[0]
    high, wide = image.shape[:2]
    points = [px for px, _ in people]
    tall = [float(heights_px(px)) for px in points]
    floor = (1 - settings.edge_share) * high
    cut_feet = sum(bool((px[FEET, 1] > floor).any() or _off(px[FEET, 0], wide)) for px in points)
    cut_heads = sum(bool((px[HEAD, 1] < 0).any() or _off(px[HEAD, 0], wide)) for px in points)
    grey, around, glare = _light(image, points, tall, settings)
    return Moment(
        len(points),
        cut_feet,
        cut_heads,
        sum(t > settings.most_share * high for t in tall),
        sum(_is_hidden(k, points, (wide, high), settings) for k in range(len(points))),
        sum(_aside(px, settings) for px in points),
        tuple(round(t, 1) for t in tall),
        grey,
        around,
        glare,
        None if len(burst) < 2 or not tall else _shake_px(burst) / float(np.median(tall)),
    )


def told_of(
    moments: Sequence[Moment], dancers: int | None, purpose: Purpose, settings: FilmingSettings = SETTINGS.filming
) -> Looked:
    """What is told of the moments looked at, what is to be mended first."""
    seen = max((m.people for m in moments), default=0)
    with_people = [m for m in moments if m.people]
    if not with_people:
        nobody = Told(
            "dancers", False, "Nobody is seen.", "Stand in the picture while it is tried; whole body, light from the phone's side"
        )
        return Looked(0, (nobody,))

    def often(wrong: Callable[[Moment], bool]) -> bool:
        return sum(wrong(m) for m in with_people) > settings.some_share * len(with_people) - 1e-9

    told = [
        _how_many(seen, dancers),
        Told("feet", False, "Feet are cut off, or leave too little floor below them.", "Tilt the phone down or go farther back")
        if often(lambda m: m.cut_feet > 0)
        else Told("feet", True, "Feet are in the picture, with floor around them."),
        Told("heads", False, "Heads are cut off.", "Go farther back")
        if often(lambda m: m.cut_heads > 0)
        else Told("heads", True, "Heads are in the picture."),
        _distance([t for m in with_people for t in m.heights_px], often(lambda m: m.large > 0), purpose, settings),
        _how_light(with_people, settings),
        _how_steady([m.shake_heights for m in with_people if m.shake_heights is not None], settings),
        _side(with_people, purpose),
    ]
    if seen > 1 or (dancers or 1) > 1:
        told.append(
            Told(
                "rows",
                False,
                "Some stand with their feet behind somebody else.",
                "Stagger the rows, and put the phone higher (2 m or more): of hidden feet nothing can be said",
            )
            if often(lambda m: m.hidden > 0)
            else Told("rows", True, "Nobody hides anybody's feet.")
        )
    rank = {False: 0, None: 1, True: 2}
    return Looked(seen, tuple(sorted(told, key=lambda one: rank[one.good])))


def _how_many(seen: int, dancers: int | None) -> Told:
    people = "1 person is" if seen == 1 else f"{seen} people are"
    if dancers is None or seen == dancers:
        return Told("dancers", True, f"{people} seen.")
    if seen < dancers:
        return Told(
            "dancers", False, f"{people} seen of {dancers}.", "Stagger the rows, put the phone higher, or film fewer at a time"
        )
    one = "1 is dancing" if dancers == 1 else f"{dancers} are dancing"
    return Told(
        "dancers",
        False,
        f"{people} seen, and you say that {one}.",
        "If more are dancing, say so and look again; else have the others leave the picture, and cover mirrors",
    )


def _distance(heights: Sequence[float], large: bool, purpose: Purpose, settings: FilmingSettings) -> Told:
    least = settings.least_timing_px if purpose == "timing" else settings.least_bending_px
    small = float(np.percentile(heights, 25))
    if small < least:
        return Told(
            "distance", False, f"Too far away: dancers are only {small:.0f} points high, and {least:.0f} are needed.",
            "Go nearer, film fewer at a time, or let the phone film finer pictures (1080p)",
        )  # fmt: skip
    if large:
        return Told("distance", False, "Too near: one step forward and somebody leaves the picture.", "Go farther back")
    return Told("distance", True, "Near enough, and with room to move.")


def _how_light(moments: Sequence[Moment], settings: FilmingSettings) -> Told:
    lit = [
        (m.grey, m.around_grey, m.glare)
        for m in moments
        if m.grey is not None and m.around_grey is not None and m.glare is not None
    ]
    if not lit:
        return Told("light", None, "Whether there is light enough could not be told.")
    grey, around, glare = (float(v) for v in np.median(np.array(lit), axis=0))
    if grey < settings.behind_grey and glare > settings.glare_share:
        return Told(
            "light", False, "The light comes from behind: dancers are dark shapes.", "Turn round: window or lamp behind the phone"
        )
    if max(grey, around) < settings.dark_grey:
        return Told("light", False, "Too dark: feet will blur.", "Switch lights on, or move to where the floor is lit")
    return Told("light", True, "Light enough, and from the right side.")


def _how_steady(shakes: Sequence[float], settings: FilmingSettings) -> Told:
    if not shakes:
        return Told("steady", None, "A still picture does not tell whether the phone is steady.", "Put it on a stand")
    if float(np.median(shakes)) > settings.shake_heights:
        return Told("steady", False, "The picture shakes or swings.", "Put the phone on a stand, and do not turn or zoom")
    return Told("steady", True, "The phone is steady enough.")


#: Of everybody seen.
HALF = 0.5


def _side(moments: Sequence[Moment], purpose: Purpose) -> Told:
    share = sum(m.aside for m in moments) / sum(m.people for m in moments)
    if purpose == "bending":
        if share >= HALF:
            return Told("side", True, "Seen from the side, as bending needs.")
        return Told("side", False, "Seen from the front or back: no bending can be read.", "Put the phone side-on to the dancer")
    if share > HALF:
        return Told(
            "side", False, "Seen from the side: one foot hides the other.", "Put the phone in front of the dancers, or behind"
        )
    return Told("side", True, "Seen from the front or back, as timing needs.")


def _off(x_px: Floats, wide: int) -> bool:
    return bool((x_px < 0).any() or (x_px >= wide).any())


def _aside(px: Floats, settings: FilmingSettings) -> bool:
    torso = float(np.hypot(*(px[SHOULDERS].mean(0) - px[HIPS].mean(0))))
    return float(np.ptp(px[SHOULDERS, 0])) < settings.side_torsos * torso


def _is_hidden(k: int, points: Sequence[Floats], size_px: tuple[int, int], settings: FilmingSettings) -> bool:
    """Do one's legs and feet lie behind somebody who stands nearer, whose feet are lower in the picture?"""
    low = points[k][LOW]
    for other, px in enumerate(points):
        if other == k or px[ANKLES, 1].max() <= points[k][ANKLES, 1].max():
            continue
        shape = body_shape(size_px, px, 0.0)
        x, y = (np.clip(low[:, axis], 0, size_px[axis] - 1).astype(int) for axis in (0, 1))
        if float((shape[y, x] > 0).mean()) >= settings.covered_share:
            return True
    return False


def _light(
    image: Image, points: Sequence[Floats], tall: Sequence[float], settings: FilmingSettings
) -> tuple[float | None, float | None, float | None]:
    """Median grey value 0..255 of the dancers, of what is beside and behind them, and the share of that which glares."""
    size = (image.shape[1], image.shape[0])
    on, near = np.zeros(image.shape[:2], bool), np.zeros(image.shape[:2], bool)
    for px, height in zip(points, tall, strict=True):
        on |= body_shape(size, px, -0.02 * height) > 0
        feet = int(np.clip(px[HIPS, 1].max(), 0, size[1]))
        near[:feet] |= body_shape(size, px, 0.25 * height)[:feet] > 0  # the floor is lit from above whatever stands behind
    beside = near & ~on
    if not on.any() or not beside.any():
        return None, None, None
    around = image[beside] @ GREY
    return float(np.median(image[on] @ GREY)), float(np.median(around)), float((around >= settings.glare_grey).mean())


def _shake_px(burst: Sequence[NDArray[np.uint8]]) -> float:
    """How far the whole picture moves from one to the next, typically, in pixels: by phase correlation of its parts, of which the
    middle one counts, so that whoever moves in some of them does not. C. D. Kuglin, D. C. Hines, "The phase correlation image
    alignment method", Proc. IEEE Int. Conf. Cybernetics and Society (1975) 163."""
    import cv2

    shrink = max(1, burst[0].shape[0] // 360)
    greys = [np.ascontiguousarray((image[::shrink, ::shrink] @ GREY).astype(np.float32)) for image in burst]
    high, wide = (side // PARTS for side in greys[0].shape)
    window = cv2.createHanningWindow((wide, high), cv2.CV_32F)
    moves = []
    for a, b in itertools.pairwise(greys):
        parts = []
        for y, x in itertools.product(range(0, PARTS * high, high), range(0, PARTS * wide, wide)):
            before, after = (np.ascontiguousarray(one[y : y + high, x : x + wide]) for one in (a, b))
            parts.append(cv2.phaseCorrelate(before, after, window)[0])
        moves.append(np.median(np.array(parts), axis=0))
    return float(shrink * np.sqrt(np.mean(np.sum(np.square(np.array(moves)), axis=1))))
