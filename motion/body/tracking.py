"""Following: one region a dancer and picture, placed from where the dancer was and how the whole line moves; the model's answer is
taken only if it fits the dancer in place, size and colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from motion.base.types import Floats, Landmarks, NotMeasured
from motion.body.association import joined_with_clothes, part_of
from motion.body.detection import ANKLES, HIPS, KNEES, SHOULDERS, Look, Sighting, find_people, merged, same_person
from motion.body.pose import Picture, Pose, Region, painted_out
from motion.body.settings import BodySettings


class LookAt(Protocol):
    """One look at one region of a picture, with people in front painted out."""

    def __call__(self, picture: Picture, region: Region, hide: Sequence[Floats] = ()) -> Pose:  # noqa: D102 (the class says it)
        ...


@dataclass(eq=False)
class Tracklet:
    """What was seen of one person without a break in doubt: index of the picture, pose, where they were, how tall, in what colours."""

    pictures: list[int] = field(default_factory=list)
    poses: list[Pose] = field(default_factory=list)
    centres: list[Floats] = field(default_factory=list)
    heights: list[float] = field(default_factory=list)
    colours: list[Floats] = field(default_factory=list)
    doubtful: list[int] = field(default_factory=list)
    expected: Floats = field(default_factory=lambda: np.zeros(2))
    seen_s: float = 0.0

    def add(self, picture: int, time_s: float, pose: Pose, colours: Floats) -> None:
        """One more look that fits."""
        self.pictures.append(picture)
        self.poses.append(pose)
        self.centres.append(centre_of(pose.points_px))
        self.heights.append(height_of(pose.points_px))
        self.colours.append(colours)
        self.expected = self.centres[-1]
        self.seen_s = time_s

    def height(self, looks: int) -> float:
        """Usual height over the latest looks, px."""
        return float(np.median(self.heights[-looks:]))

    def colour(self, looks: int) -> Floats:
        """Usual colours over the latest looks (6,)."""
        return np.asarray(np.median(self.colours[-looks:], axis=0))


def centre_of(points_px: Floats) -> Floats:
    """Where to look next: mid-hip across, middle of the box down (2,)."""
    return np.array([points_px[HIPS, 0].mean(), (points_px[:, 1].min() + points_px[:, 1].max()) / 2])


def height_of(points_px: Floats) -> float:
    """Height of the box around all points, px."""
    return float(np.ptp(points_px[:, 1]))


def colours_of(picture: Picture, points_px: Floats) -> Floats:
    """Mean colour 0..1 of the trunk's middle and of the thighs (6,), NaN where they lie outside the picture."""
    shoulders, hips, knees = (points_px[k].mean(0) for k in (SHOULDERS, HIPS, KNEES))
    size = max(2.0, 0.12 * float(np.hypot(*(shoulders - hips))))
    return np.concatenate([_mean(picture, (shoulders + hips) / 2, size), _mean(picture, 0.55 * hips + 0.45 * knees, size)])


def _mean(picture: Picture, at: Floats, half: float) -> Floats:
    x, y = at
    part = picture[max(0, int(y - half)) : max(0, int(y + half) + 1), max(0, int(x - half)) : max(0, int(x + half) + 1)]
    if part.size == 0:
        return np.full(3, np.nan)
    return np.asarray(part.reshape(-1, 3).mean(0) / 255)


def unlike(a: Floats, b: Floats) -> float:
    """How different two sets of colours (6,) are, 0..1: the larger of trunk's and thighs' distance; 0 where neither can be told."""
    gap = np.abs(a - b).reshape(2, 3).max(1)
    return float(np.nanmax(gap)) if np.isfinite(gap).any() else 0.0


@dataclass
class Memory:
    """What a follower knows: trails still followed and lost, times of the pictures, how the whole line moved since the picture before
    (in body heights), and when and where to search next."""

    active: list[Tracklet] = field(default_factory=list)
    gone: list[Tracklet] = field(default_factory=list)
    times: list[float] = field(default_factory=list)
    drift: list[Floats] = field(default_factory=list)
    dense: list[float] = field(default_factory=list)
    next_find_s: float = 0.0
    next_dense_s: float = 0.0
    doubts: list[tuple[float, float, float]] = field(default_factory=list)  # somebody may stand there: x, y, size in px


class Tracker:
    """Follows everyone through the pictures of one clip, which are handed in one by one and not kept.

    look: finds persons in a cut-out; look_at: landmarks in a region.
    """

    def __init__(self, look: Look, look_at: LookAt, settings: BodySettings) -> None:
        self._look, self._look_at, self._settings = look, look_at, settings
        self.memory = Memory(dense=list(settings.find_dense_s))

    def _looks(self, memory_s: float) -> int:
        """How many looks at somebody in sight fill that time, at the clip's own rate."""
        times = self.memory.times
        return max(1, round(memory_s * (len(times) - 1) / (times[-1] - times[0]))) if len(times) > 1 else 1

    @property
    def _sized(self) -> int:
        return self._looks(self._settings.region_memory_s)

    @property
    def _coloured(self) -> int:
        return self._looks(self._settings.colour_memory_s)

    def feed(self, time_s: float, picture: Picture, moved: Floats | None = None) -> None:
        """Look at the next picture, RGB (H, W, 3), shown at time_s.

        moved: where the pixels of the picture before lie in this one, if the camera was knocked or swung: (a, b, x, y), so that (u, v)
        lies at (a u - b v + x, b u + a v + y).
        """
        index = len(self.memory.times)
        self.memory.times.append(time_s)
        if moved is not None:
            a, b, x, y = moved
            for t in self.memory.active:
                u, v = t.expected
                t.expected = np.array([a * u - b * v + x, b * u + a * v + y])
        self._follow(index, time_s, picture)
        since = time_s - self.memory.times[0]
        dense = (bool(self.memory.dense) and since >= self.memory.dense[0]) or time_s >= self.memory.next_dense_s
        if dense or time_s >= self.memory.next_find_s:
            if dense:
                self.memory.dense = self.memory.dense[1:]
                alone = len(self.memory.active) <= 1
                self.memory.next_dense_s = time_s + (self._settings.find_alone_s if alone else self._settings.find_group_s)
            self.memory.next_find_s = time_s + (self._settings.find_doubt_s if self.memory.doubts else self._settings.find_again_s)
            self._welcome(index, time_s, picture, dense)

    def _follow(self, index: int, time_s: float, picture: Picture) -> None:
        s = self._settings
        looks: list[tuple[Tracklet, Pose, Floats]] = []
        for t in sorted(self.memory.active, key=lambda t: -self._floor(t)):  # from the front row back
            in_front = [pose.points_px for o, pose, _ in looks if self._covers(o, t)]
            pose = self._look_at(picture, self._region(t, t.expected), in_front)
            colours = colours_of(picture, pose.points_px)
            if self._fits(t, pose, colours):
                looks.append((t, pose, colours))
        moves = []
        for t, pose, colours in self._one_each(looks, index):
            if t.pictures[-1] == index - 1:
                moves.append((centre_of(pose.points_px) - t.centres[-1]) / t.height(self._sized))
            t.add(index, time_s, pose, colours)
        drift = np.median(moves, axis=0) if moves else np.zeros(2)
        self.memory.drift.append(drift)
        for t in self.memory.active:
            if t.pictures[-1] != index:  # hidden: goes on with the line
                t.expected = t.expected + drift * t.height(self._sized)
        lost = [t for t in self.memory.active if time_s - t.seen_s > s.lost_after_s]
        if lost:
            self.memory.active = [t for t in self.memory.active if t not in lost]
            self.memory.gone += lost
            self.memory.next_find_s = time_s

    def _floor(self, trail: Tracklet) -> float:
        """How low in the picture a dancer's feet are: who stands lower stands nearer."""
        return float(trail.expected[1]) + trail.height(self._sized) / 2

    def _covers(self, front: Tracklet, behind: Tracklet) -> bool:
        """May one dancer hide another from the camera?"""
        tall = front.height(self._sized)
        gap = float(np.hypot(*(front.expected - behind.expected)))
        return (
            gap < self._settings.near_bodies * tall and self._floor(front) - self._floor(behind) > self._settings.row_bodies * tall
        )

    def _region(self, trail: Tracklet, at: Floats) -> Region:
        return Region(float(at[0]), float(at[1]), self._settings.region_bodies * trail.height(self._sized))

    def _fits(self, trail: Tracklet, pose: Pose, colours: Floats) -> bool:
        s = self._settings
        if pose.presence < s.least_presence:
            return False
        tall = trail.height(self._sized)
        moved = float(np.hypot(*(centre_of(pose.points_px) - trail.expected)))
        ratio = height_of(pose.points_px) / tall
        if not (moved < s.jump_bodies * tall and 1 / s.size_change < ratio < s.size_change):
            return False
        own = unlike(colours, trail.colour(self._coloured))
        if own < s.colour_alike:
            return True
        # somebody else's clothes, and that somebody near: the region has slipped onto them
        return not any(
            o is not trail
            and np.hypot(*(o.expected - trail.expected)) < s.near_bodies * tall
            and unlike(colours, o.colour(self._coloured)) < own / 2
            for o in self.memory.active
        )

    def _one_each(self, looks: list[tuple[Tracklet, Pose, Floats]], index: int) -> list[tuple[Tracklet, Pose, Floats]]:
        """Of two people whose answers lie on one body, the one whom it suits better keeps it; both are marked doubtful."""
        s = self._settings

        def strangeness(one: tuple[Tracklet, Pose, Floats]) -> float:
            trail, pose, colours = one
            moved = float(np.hypot(*(centre_of(pose.points_px) - trail.expected))) / trail.height(self._sized)
            hidden = s.hidden_price if trail.pictures[-1] != index - 1 else 0.0
            return moved + unlike(colours, trail.colour(self._coloured)) + hidden

        out: list[tuple[Tracklet, Pose, Floats]] = []
        for trail, pose, colours in sorted(looks, key=strangeness):
            near = [o for o, p, _ in out if on_one_body(p.points_px, pose.points_px, s)]
            for o in near:
                o.doubtful.append(index)
                trail.doubtful.append(index)
            if not near:
                out.append((trail, pose, colours))
        return out

    def _welcome(self, index: int, time_s: float, picture: Picture, dense: bool) -> None:
        s = self._settings
        known = [Sighting(t.poses[-1].points_px, t.poses[-1].visibility) for t in self.memory.active if t.pictures[-1] == index]
        doubts, self.memory.doubts = self.memory.doubts, []
        found = find_people(picture, self._look, dense=dense, places=doubts, settings=s)
        for one in merged(found + self._behind(picture, known), s):
            if any(same_person(one, k, s) for k in known):
                continue
            x, y = centre_of(one.points_px)
            low = float(one.points_px[:, 1].max())
            near = [k.points_px for k in known if np.hypot(*(k.torso - one.torso)) < s.near_bodies * k.height_px]
            in_front = [p for p in near if p[:, 1].max() - low > s.row_bodies * height_of(p)]
            pose = self._look_at(picture, Region(float(x), float(y), s.region_bodies * one.height_px), in_front)
            seen = Sighting(pose.points_px, pose.visibility)
            off = float(np.hypot(*(seen.torso - one.torso)))
            strays = off > s.same_person_torsos * max(seen.torso_px, one.torso_px) or any(same_person(seen, k, s) for k in known)
            if any(part_of(seen.points_px, k.points_px, s) for k in known):
                continue
            if strays or pose.presence < s.least_presence or seen.height_px < s.least_height_px:
                if not any(np.hypot(x - dx, y - dy) < size / 2 for dx, dy, size in self.memory.doubts):
                    self.memory.doubts.append((float(one.torso[0]), float(one.torso[1]), max(one.height_px, 4 * one.torso_px)))
                continue
            colours = colours_of(picture, pose.points_px)
            known.append(seen)
            hidden = [t for t in self.memory.active if t.pictures[-1] != index and self._fits(t, pose, colours)]
            if hidden:
                hidden[0].add(index, time_s, pose, colours)
                continue
            new = Tracklet()
            new.add(index, time_s, pose, colours)
            self.memory.active.append(new)

    def _behind(self, picture: Picture, known: list[Sighting]) -> list[Sighting]:
        """Whoever stands behind somebody known: each is painted out in turn and the place searched again."""
        out = []
        for k in known:
            reach = int(self._settings.behind_bodies * k.height_px)
            x0, y0 = (max(0, int(v) - reach) for v in k.points_px[HIPS].mean(0))
            part = np.ascontiguousarray(picture[y0 : y0 + 2 * reach, x0 : x0 + 2 * reach])
            if min(part.shape[:2]) < self._settings.least_height_px:
                continue
            near = [o.points_px for o in known if np.hypot(*(o.torso - k.torso)) < self._settings.near_bodies * k.height_px]
            bare = painted_out(part, np.array([[1.0, 0.0, x0], [0.0, 1.0, y0]]), near)
            out += [Sighting(points + np.array([x0, y0]), visibility) for points, visibility in self._look(bare)]
        return [s for s in out if s.height_px >= self._settings.least_height_px]

    def boxes_px(self, margin: float) -> Floats:
        """Where everybody is taken to be (N, 4): left, top, right, bottom, wider by `margin` body heights than the landmarks."""
        last = len(self.memory.times) - 1
        out = []
        for t in self.memory.active:
            tall = t.height(self._sized)
            seen = t.poses[-1].points_px if t.pictures[-1] == last else t.poses[-1].points_px - t.centres[-1] + t.expected
            out.append([*(seen.min(0) - margin * tall), *(seen.max(0) + margin * tall)])
        return np.array(out).reshape(-1, 4)

    def finish(self, width: int, height: int) -> Landmarks | NotMeasured:
        """Everyone seen long enough and, for a good part, wholly; numbered from the picture's left edge at first sight."""
        return self.finish_with_clothes(width, height)[0]

    def finish_with_clothes(self, width: int, height: int) -> tuple[Landmarks | NotMeasured, Floats]:
        """The same, and everybody's usual colours (P, 6)."""
        drift = np.cumsum(self.memory.drift, axis=0) if self.memory.drift else np.zeros((0, 2))
        trails, times_s = self.memory.gone + self.memory.active, np.array(self.memory.times)
        return joined_with_clothes(trails, times_s, drift, (width, height), self._settings)


def on_one_body(a: Floats, b: Floats, settings: BodySettings) -> bool:
    """Do two answers (33, 2) lie on one body: hips together, and feet together as well?"""
    tall = max(height_of(a), height_of(b))
    hips = float(np.hypot(*(a[HIPS].mean(0) - b[HIPS].mean(0))))
    feet = float(np.hypot(*(a[ANKLES].mean(0) - b[ANKLES].mean(0))))
    return max(hips, feet) < settings.touching_bodies * tall
