"""Who is who: one region a dancer and picture, placed from where the dancer was, accepted only if the answer fits the dancer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from motion.body.finder import HIPS, Look, Sighting, find_people, same_person, wholly_inside
from motion.body.landmarks import Picture, Pose, Region
from motion.data import LANDMARKS, Floats, Interval, Landmarks, NotMeasured, Track
from motion.settings import BodySettings

#: One look at one region of a picture.
LookAt = Callable[[Picture, Region], Pose]


@dataclass
class _Dancer:
    """A dancer who is being followed: what was seen so far."""

    pictures: list[int] = field(default_factory=list)
    poses: list[Pose] = field(default_factory=list)
    centres: list[Floats] = field(default_factory=list)
    heights: list[float] = field(default_factory=list)
    seen_s: float = 0.0
    doubtful: list[int] = field(default_factory=list)

    def add(self, picture: int, time_s: float, pose: Pose) -> None:
        self.pictures.append(picture)
        self.poses.append(pose)
        self.centres.append(_centre(pose.points_px))
        self.heights.append(float(np.ptp(pose.points_px[:, 1])))
        self.seen_s = time_s

    def height(self, memory: int) -> float:
        return float(np.median(self.heights[-memory:]))

    def region(self, settings: BodySettings) -> Region:
        x, y = self.centres[-1]
        return Region(float(x), float(y), settings.region_bodies * self.height(settings.region_memory))


def _centre(points_px: Floats) -> Floats:
    """Where to look next: mid-hip across, middle of the box down (2,)."""
    return np.array([points_px[HIPS, 0].mean(), (points_px[:, 1].min() + points_px[:, 1].max()) / 2])


class Follower:
    """Follows every dancer through the pictures of one clip, which are handed in one by one and not kept.

    look: finds persons in a cut-out; look_at: landmarks in a region; most: how many danced, if the person says so.
    """

    def __init__(self, look: Look, look_at: LookAt, settings: BodySettings, most: int | None = None) -> None:
        self._look, self._look_at, self._settings, self._most = look, look_at, settings, most
        self._active: list[_Dancer] = []
        self._gone: list[_Dancer] = []
        self._times: list[float] = []
        self._dense = list(settings.find_dense_s)
        self._next_find_s = 0.0

    def feed(self, time_s: float, picture: Picture) -> None:
        """Look at the next picture, RGB (H, W, 3), shown at time_s."""
        index = len(self._times)
        self._times.append(time_s)
        self._follow(index, time_s, picture)
        start = self._times[0]
        dense = bool(self._dense) and time_s - start >= self._dense[0]
        if dense or time_s >= self._next_find_s:
            if dense:
                self._dense.pop(0)
            self._next_find_s = time_s + self._settings.find_again_s
            if self._most is None or len(self._active) < self._most:
                self._welcome(index, time_s, picture, dense)

    def _follow(self, index: int, time_s: float, picture: Picture) -> None:
        looks = [(d, self._look_at(picture, d.region(self._settings))) for d in self._active]
        fits = [(d, pose) for d, pose in looks if self._fits(d, pose)]
        for d, pose in self._one_each(fits, index):
            d.add(index, time_s, pose)
        lost = [d for d in self._active if time_s - d.seen_s > self._settings.lost_after_s]
        if lost:
            self._active = [d for d in self._active if d not in lost]
            self._gone += lost
            self._next_find_s = time_s

    def _fits(self, dancer: _Dancer, pose: Pose) -> bool:
        s = self._settings
        if pose.presence < s.least_presence:
            return False
        tall = dancer.height(s.region_memory)
        moved = float(np.hypot(*(_centre(pose.points_px) - dancer.centres[-1])))
        ratio = float(np.ptp(pose.points_px[:, 1])) / tall
        return moved < s.jump_bodies * tall and 1 / s.size_change < ratio < s.size_change

    def _one_each(self, fits: list[tuple[_Dancer, Pose]], index: int) -> list[tuple[_Dancer, Pose]]:
        """Of two dancers whose answers lie on one body, the one who was nearer keeps it; both are marked doubtful."""
        out: list[tuple[_Dancer, Pose]] = []
        for d, pose in sorted(fits, key=lambda f: float(np.hypot(*(_centre(f[1].points_px) - f[0].centres[-1])))):
            hips = pose.points_px[HIPS].mean(0)
            near = [
                o for o, p in out
                if np.hypot(*(p.points_px[HIPS].mean(0) - hips)) < self._settings.touching_bodies * d.heights[-1]
            ]  # fmt: skip
            for o in near:
                o.doubtful.append(index)
                d.doubtful.append(index)
            if not near:
                out.append((d, pose))
        return out

    def _welcome(self, index: int, time_s: float, picture: Picture, dense: bool) -> None:
        known = [Sighting(d.poses[-1].points_px, d.poses[-1].visibility) for d in self._active]
        for one in find_people(picture, self._look, dense=dense, settings=self._settings):
            if any(same_person(one, k, self._settings) for k in known):
                continue
            x, y = _centre(one.points_px)
            pose = self._look_at(picture, Region(float(x), float(y), self._settings.region_bodies * one.height_px))
            if pose.presence < self._settings.least_presence:
                continue
            seen = Sighting(pose.points_px, pose.visibility)
            if seen.height_px < self._settings.least_height_px or any(same_person(seen, k, self._settings) for k in known):
                continue
            known.append(seen)
            new = _Dancer()
            new.add(index, time_s, pose)
            self._active.append(new)

    def finish(self, width: int, height: int) -> Landmarks | NotMeasured:
        """All dancers seen long enough and, for a good part, wholly; numbered from the picture's left edge at first sight."""
        times = np.array(self._times)
        kept = [d for d in self._gone + self._active if self._is_dancer(d, len(times), width, height)]
        if not kept:
            return NotMeasured("dancers", "nobody was wholly in the picture, head to feet, for long enough")
        kept.sort(key=lambda d: float(d.centres[0][0]))
        if self._most is not None:
            kept = sorted(sorted(kept, key=lambda d: -len(d.pictures))[: self._most], key=lambda d: float(d.centres[0][0]))
        image = np.full((len(times), len(kept), LANDMARKS, 2), np.nan)
        visibility = np.zeros((len(times), len(kept), LANDMARKS))
        for p, d in enumerate(kept):
            image[d.pictures, p] = [pose.points_px for pose in d.poses]
            visibility[d.pictures, p] = [pose.visibility for pose in d.poses]
        unsure = tuple(_unsure(times, image[:, p], d.doubtful) for p, d in enumerate(kept))
        return Landmarks(times, np.arange(1, len(kept) + 1), image, visibility, unsure)

    def _is_dancer(self, d: _Dancer, pictures: int, width: int, height: int) -> bool:
        whole = wholly_inside(np.array([p.points_px for p in d.poses]), width, height)
        return len(d.pictures) >= self._settings.least_share_seen * pictures and float(whole.mean()) >= self._settings.least_whole


def _unsure(times_s: Floats, points_px: Floats, doubtful: list[int]) -> tuple[Interval, ...]:
    """Stretches in which the dancer was not seen, or was taken for another. times_s (F,), points_px (F, 33, 2)."""
    bad = np.isnan(points_px[:, 0, 0])
    bad[doubtful] = True
    edges = np.flatnonzero(np.diff(np.concatenate([[False], bad, [False]]).astype(int)))
    return tuple((float(times_s[a]), float(times_s[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True))


def tracks_of(landmarks: Landmarks, labels: tuple[str | None, ...] | None = None) -> tuple[Track, ...]:
    """Where every dancer is; gaps are bridged by straight lines (and stand in `unsure`).

    Height: from the top of the head's landmarks to the lower ankle, times 1.12, which reaches crown and sole.
    """
    out = []
    for p, number in enumerate(landmarks.ids):
        points = landmarks.image_px[:, p]
        seen = ~np.isnan(points[:, 0, 0])
        when = landmarks.times_s[seen]
        hips = points[seen][:, HIPS].mean(1)
        top, low = points[seen][:, :11, 1].mean(1), points[seen][:, [27, 28], 1].max(1)
        pelvis = np.stack([np.interp(landmarks.times_s, when, hips[:, k]) for k in (0, 1)], 1)
        tall = np.interp(landmarks.times_s, when, (low - top) * 1.12)
        unsure = landmarks.unsure[p] if landmarks.unsure else ()
        out.append(Track(int(number), labels[p] if labels else None, landmarks.times_s, pelvis, tall, unsure))
    return tuple(out)
