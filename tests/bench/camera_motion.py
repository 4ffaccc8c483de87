"""How well the camera's movement is found and taken off, where it is known. Run by hand:

    python tests/bench/camera_motion.py CLIPS [--clip NAME ...] [--seconds S] [--steps]

A window moves over drawn clips (NAME.mp4 beside NAME.json.gz): held still, panned, shaken by a hand, zoomed, knocked, turned. Its pictures
are made with the known movement; people are where the truth has them. Told: error against the known movement at four points midway
between the middle and the corners, in px of the window; how far still things lie from what was found as a rule; time a picture.
--steps: landings of the true joints seen through the window, as the truth has them, with and without what was taken off (F at 70 ms
and typical error, no sheet). --write FOLDER: the same as clips with sound, NAME-MOVE.mp4, to be reviewed whole.
"""

from __future__ import annotations

import argparse
import gzip
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from true_clips import HANDS, PARTS, SHAKE_SHARE  # noqa: E402

from motion.base.camera import CameraPath  # noqa: E402
from motion.base.types import Candidates, Floats, Landmarks  # noqa: E402
from motion.body.contact_network import load_weights  # noqa: E402
from motion.body.dancers import bodies_of  # noqa: E402
from motion.clip.camera_motion import CameraMotion, settled  # noqa: E402
from motion.clip.video import open_clip, pictures  # noqa: E402
from motion.review.settings import SETTINGS  # noqa: E402

LANDS = ("weight", "touch", "heel", "toe")
WINDOW = 0.75  # of the clip's sides
REACH_S = 0.07


def _hand(t: Floats, size: float, seed: int) -> Floats:
    """Sines of 1 to 8 Hz, slower ones larger (T,), the largest about `size`."""
    chance = np.random.default_rng(seed)
    waves = [np.sin(2 * np.pi * (f * t + chance.uniform())) / f for f in chance.uniform(1, 8, 6)]
    return size * np.sum(waves, axis=0) / 1.8


#: Movements: times (T,) -> shift x, y (shares of the window's width), zoom, turn in degrees, each (T,).
MOVES: dict[str, Callable[[Floats], tuple[Floats, Floats, Floats, Floats]]] = {
    "still": lambda t: (0 * t, 0 * t, 1 + 0 * t, 0 * t),
    "hand": lambda t: (_hand(t, 0.008, 1), _hand(t, 0.008, 2), 1 + 0 * t, _hand(t, 0.3, 3)),
    "unsteady hand": lambda t: (_hand(t, 0.03, 1), _hand(t, 0.03, 2), 1 + _hand(t, 0.01, 4), _hand(t, 1.0, 3)),
    "slow pan": lambda t: (0.14 * np.sin(2 * np.pi * t / 12), 0 * t, 1 + 0 * t, 0 * t),
    "fast pan": lambda t: (0.14 * np.sin(2 * np.pi * t / 2.5), 0 * t, 1 + 0 * t, 0 * t),
    "zoom": lambda t: (0 * t, 0 * t, 1 + 0.12 * np.sin(2 * np.pi * t / 10), 0 * t),
    "knock": lambda t: (0.03 * (t > 4), 0.02 * (t > 4) + 0.01 * np.exp(-3 * np.abs(t - 4)) * np.sin(40 * t), 1 + 0 * t, 0.8 * (t > 4)),
}  # fmt: skip


def windows(t: Floats, move: str, size: tuple[int, int]) -> tuple[Floats, tuple[int, int]]:
    """From the clip's pixels to the window's: (T, 2, 3), and the window's size."""
    wide, high = (round(WINDOW * v) for v in size)
    x, y, zoom, turn = MOVES[move](t)
    out = np.empty((len(t), 2, 3))
    for k in range(len(t)):
        out[k] = cv2.getRotationMatrix2D((size[0] / 2, size[1] / 2), float(turn[k]), float(zoom[k]))
        out[k, :, 2] += np.array([wide - size[0], high - size[1]]) / 2 - wide * np.array([x[k], y[k]])
    return out, (wide, high)


def through(seen: Floats, points: Floats) -> Floats:
    """Points (T, ..., 2) of the clip as the windows (T, 2, 3) show them."""
    flat = points.reshape(len(seen), -1, 2)
    return np.asarray((np.einsum("tij,tnj->tni", seen[:, :, :2], flat) + seen[:, None, :, 2]).reshape(points.shape))


def true_bodies(truth: dict[str, Any]) -> Floats:
    """33 landmarks of everybody (T, P, 33, 2) in the clip's pixels, shaken as a pose model's are."""
    people = len(truth["frames"][0])
    at = {j: np.array([[f[p][j][3:] for p in range(people)] for f in truth["frames"]]) for j in truth["frames"][0][0]}
    points = np.repeat(at["head"][:, :, None], 33, axis=2)
    for k, name in {**PARTS, **HANDS}.items():
        points[:, :, k] = at[name]
    across = at["shoulderR"] - at["shoulderL"]
    points[:, :, 7], points[:, :, 8] = at["head"] - 0.2 * across, at["head"] + 0.2 * across
    tall = np.median(np.abs(at["head"][..., 1] - at["heelL"][..., 1]), axis=0)
    return np.asarray(points + np.random.default_rng(4).normal(0.0, SHAKE_SHARE, points.shape) * tall[None, :, None, None])


def boxes(points: Floats) -> Floats:
    """(P, 4) around bodies (P, 33, 2)."""
    low, high = points.min(1), points.max(1)
    margin = SETTINGS.camera.body_margin * (high - low)[:, 1:]
    return np.concatenate([low - margin, high + margin], 1)


def followed(
    shots: list[NDArray[np.uint8]], t: Floats, seen: Floats, size: tuple[int, int], bodies: Floats
) -> tuple[CameraMotion, float]:
    camera, spent = CameraMotion(SETTINGS.camera), 0.0
    before = np.zeros((0, 4))
    for k, rgb in enumerate(shots):
        window = cv2.warpAffine(rgb, seen[k], size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        now, start = boxes(bodies[k]), time.process_time()
        camera.follow(float(t[k]), window, before)
        camera.settle(now)
        spent += time.process_time() - start
        before = now
    return camera, 1000 * spent / len(shots)


def errors_px(path: CameraPath, seen: Floats, size: tuple[int, int]) -> Floats:
    """Largest error of the four points (T,), NaN where nothing was told."""
    corners = np.array([[0.25, 0.25], [0.75, 0.25], [0.25, 0.75], [0.75, 0.75]]) * np.array(size)
    whole = np.concatenate([seen, np.tile([[[0.0, 0.0, 1.0]]], (len(seen), 1, 1))], 1)
    back = whole[0] @ np.linalg.inv(whole)
    there = np.broadcast_to(corners, (len(seen), 4, 2))
    off = path.steadied(there) - through(back[:, :2], there)
    return np.asarray(np.hypot(off[..., 0], off[..., 1]).max(1))


def landings(
    t: Floats, bodies: Floats, size: tuple[int, int], camera: CameraPath | None, truth: dict[str, Any]
) -> tuple[int, int, int, list[float]]:
    """Found and right, found, true, and errors in ms, over all dancers."""
    people = bodies.shape[1]
    marks = Landmarks(t, np.arange(1, people + 1), bodies, np.full(bodies.shape[:3], 0.95), ((),) * people)
    read = bodies_of(marks, size, load_weights(), SETTINGS.body, SETTINGS.angles, camera)
    right = told = true = 0
    off: list[float] = []
    for p, one in enumerate(read.found):
        events = [e for e in truth["dancers"][p]["events"] if e["kind"] in LANDS and e["t"] < t[-1] - 0.3]
        true += len(events)
        if not isinstance(one, Candidates):
            continue
        sure = (one.strength > 0.5) & ~one.shift & (one.times_s < t[-1] - 0.3)
        told += int(sure.sum())
        for foot in (False, True):
            a = one.times_s[sure & (one.right == foot)]
            b = np.array([e["t"] for e in events if (e["foot"] == "R") == foot])
            apart = np.abs(a[:, None] - b[None]) if len(a) and len(b) else np.zeros((0, 0))
            while apart.size and apart.min() <= REACH_S:
                i, j = np.unravel_index(int(apart.argmin()), apart.shape)
                off.append(1000 * float(a[i] - b[j]))
                right, apart[i], apart[:, j] = right + 1, np.inf, np.inf
    return right, told, true, off


def write(path: Path, out: Path, move: str, seconds: float) -> None:
    """The clip as the window shows it, with its sound, to be reviewed like any other."""
    import av

    with av.open(str(path)) as source, av.open(str(out), "w") as film:
        video, sound = source.streams.video[0], next(iter(source.streams.audio), None)
        size = (video.codec_context.width, video.codec_context.height)
        wide, high = (round(WINDOW * v) // 2 * 2 for v in size)
        drawn = film.add_stream(
            "libx264", rate=video.average_rate, width=wide, height=high, pix_fmt="yuv420p", options={"crf": "20"}
        )
        heard = None if sound is None else film.add_stream_from_template(sound)
        for packet in source.demux([one for one in (video, sound) if one is not None]):
            if packet.dts is None or float(packet.dts * packet.time_base) > seconds:
                continue
            if packet.stream is sound:
                packet.stream = heard
                film.mux(packet)
                continue
            for frame in packet.decode():
                seen, _ = windows(np.array([frame.time]), move, size)
                rgb = cv2.warpAffine(frame.to_ndarray(format="rgb24"), seen[0], (wide, high), borderMode=cv2.BORDER_REFLECT)
                shown = av.VideoFrame.from_ndarray(rgb, format="rgb24")
                shown.pts, shown.time_base = frame.pts, frame.time_base
                film.mux(drawn.encode(shown))
        film.mux(drawn.encode())


def figures(parts: list[tuple[int, int, int, list[float]]]) -> str:
    right, told, true = (sum(p[k] for p in parts) for k in range(3))
    off = np.array([e for p in parts for e in p[3]])
    mad = f"{float(np.median(np.abs(off - np.median(off)))):.0f}" if len(off) else "–"
    return f"{2 * right / max(told + true, 1):.3f} | {mad}"


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parse.add_argument("clips", type=Path)
    parse.add_argument("--clip", nargs="+", default=["solo-front", "trio-kids", "waltz"])
    parse.add_argument("--seconds", type=float, default=12.0)
    parse.add_argument("--moves", nargs="+", default=list(MOVES))
    parse.add_argument("--steps", action="store_true")
    parse.add_argument("--write", type=Path)
    ask = parse.parse_args()
    if ask.write:
        for name, move in ((name, move) for name in ask.clip for move in ask.moves):
            write(ask.clips / f"{name}.mp4", ask.write / f"{name}-{move.replace(' ', '-')}.mp4", move, ask.seconds)
        return
    print("| movement | largest px | known | error px, middle | 95 in 100 | most | apart px | taken off | ms CPU |", end="")
    print(" F as filmed | MAD ms | F steadied | MAD ms |" if ask.steps else "")
    print("| --- |" + " ---: |" * (12 if ask.steps else 8))
    films = []
    for name in ask.clip:
        path = ask.clips / f"{name}.mp4"
        with gzip.open(ask.clips / f"{name}.json.gz", "rt", encoding="utf-8") as file:
            truth = json.load(file)
        clip = open_clip(path, settings=SETTINGS.clip)
        with pictures(path, clip, settings=SETTINGS.clip, to_s=ask.seconds) as shown:
            shots = [p.rgb.copy() for p in shown]
        films.append((clip, truth, shots, clip.times_s[: len(shots)], true_bodies(truth)))
    for move in ask.moves:
        rows, plain, steady = [], [], []
        for clip, truth, shots, t, bodies in films:
            seen, size = windows(t, move, (clip.width_px, clip.height_px))
            now = through(seen, bodies[: len(shots)])
            camera, ms = followed(shots, t, seen, size, now)
            path = camera.path()
            off = errors_px(path, seen, size)
            taken = settled(path, camera.hints_px(), size, SETTINGS.camera)
            still = CameraPath(t, np.tile([1.0, 0.0, 0.0, 0.0], (len(t), 1)), np.zeros(len(t)))
            rows.append(
                (
                    np.nanmax(errors_px(still, seen, size)),
                    path.known.mean(),
                    off,
                    np.nanmedian(path.apart_px),
                    taken is not None,
                    ms,
                )
            )
            if ask.steps:
                plain.append(landings(t, now, size, None, truth))
                steady.append(landings(t, now, size, taken, truth))
        off = np.concatenate([r[2] for r in rows])
        off = off[np.isfinite(off)]
        print(
            f"| {move} | {max(r[0] for r in rows):.0f} | {np.mean([r[1] for r in rows]):.3f} | {np.median(off):.2f} | "
            f"{np.percentile(off, 95):.2f} | {off.max():.2f} | {np.mean([r[3] for r in rows]):.2f} | "
            f"{sum(r[4] for r in rows)} of {len(rows)} | {np.mean([r[5] for r in rows]):.1f} |"
            + (f" {figures(plain)} | {figures(steady)} |" if ask.steps else ""),
            flush=True,
        )  # fmt: skip


if __name__ == "__main__":
    main()
