"""Dancers put together from single actions of the feet, for what captured people and drawn clips hold too little of.

Low steps, marches and runs on the spot, soft and gliding landings, heel or toe first, touches, drags, hops, jumps, kicks and hitches that
stop in the air, heels that bounce and feet that swivel without leaving the floor. The sizes are ours: lengths and times of everyday
stepping. First contact is known exactly, since it is what the motion is made from.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from contact_motions import Motion, all_landmarks
from scipy.ndimage import gaussian_filter1d, minimum_filter1d

RATE_HZ = 100.0
#: Points of a foot from under the ankle, m of an adult: ahead, up. The ball is what it turns about.
ANKLE, HEEL, TOE, BALL = (0.0, 0.085), (-0.055, 0.02), (0.18, 0.02), 0.12
ACTIONS = ("step", "touch", "kick", "drag", "heels", "jump", "hop", "shift", "swivel", "rest")
SIDE = {"L": 1.0, "R": -1.0}


@dataclass
class Way:
    """One foot's way: ahead and aside (T, 2) in m, up, pitch (toes up) and heading (T,)."""

    place: np.ndarray
    up: np.ndarray
    pitch: np.ndarray
    heading: np.ndarray


def made_motion(seed: int, seconds: float = 14.0) -> Motion:
    """A dancer by chance; the same seed gives the same one."""
    chance = np.random.default_rng(seed)
    return _Dancer(chance, np.arange(0, seconds, 1 / RATE_HZ)).danced(f"made-{seed}")


class _Dancer:
    def __init__(self, chance: np.random.Generator, times_s: np.ndarray) -> None:
        self.chance, self.times_s = chance, times_s
        self.size = float(chance.choice([1.0, 1.0, 0.9, 0.75]) * chance.uniform(0.92, 1.08))
        self.beat_s = float(np.exp(chance.uniform(np.log(0.27), np.log(0.85))))
        self.jitter = float(chance.choice([0.0, 0.05, 0.15]))
        self.lift_m = float(np.exp(chance.uniform(np.log(0.012), np.log(0.18))))
        self.far = float(chance.choice([0.05, 0.3, 0.7, 1.0, 1.0]))  # of usual distances: on the spot to wide
        self.first = chance.dirichlet([1.0, 1.0, 1.0])  # heel, toe, flat
        worth = np.array([8.0, 1.5, 1.0, 0.5, 0.5, 0.4, 0.3, 0.5, 0.3, 0.7]) * chance.gamma(1.0, 1.0, len(ACTIONS))
        self.runs = chance.random() < 0.12
        if self.runs:
            worth[1:] *= 0.1
            self.beat_s = float(chance.uniform(0.27, 0.42))
        worth[0] = max(worth[0], 4.0)
        self.worth = worth / worth.sum()
        n = len(times_s)
        self.feet = {}
        for foot, side in SIDE.items():
            place = np.tile(np.array([0.0, side * 0.11]), (n, 1))
            self.feet[foot] = Way(place, np.zeros(n), np.zeros(n), np.full(n, side * 0.15))
        self.turned = np.zeros(n)
        self.flight = np.zeros(n)
        self.free_from = {"L": 0.3, "R": 0.3}
        self.over: list[tuple[float, str]] = [(0.0, str(chance.choice(["L", "R"])))]
        self.events: list[tuple[float, str, str]] = []
        self.how: list[str] = []
        self.swung_s = 0.0

    def danced(self, name: str) -> Motion:
        """Act after act till the time is over."""
        at = 0.8
        while at < self.times_s[-1] - 1.0:
            self._act(str(self.chance.choice(ACTIONS, p=self.worth)), at)
            at += self.beat_s * float(self.chance.choice([0.5, 1, 1, 1, 1, 1, 2])) * (1 + self.jitter * self.chance.normal())
        order = np.argsort([e[0] for e in self.events], kind="stable")
        events, how = [self.events[i] for i in order], [self.how[i] for i in order]
        return Motion(name, "made", False, self.times_s, self._points(), events, [], [], how, made=True)

    def _act(self, what: str, at: float) -> None:
        standing = self.over[-1][1]
        free = "L" if standing == "R" else "R"
        chance = self.chance
        if what in ("step", "touch", "kick"):
            lasts = float(np.clip(chance.uniform(0.4, 0.95) * self.beat_s, 0.13, 0.6))
            start = max(at - lasts, self.free_from[free] + 0.03)
            if at - start < 0.11:
                return
            if what == "kick":
                lasts_in_air = chance.uniform(0.25, 0.9)
                at = start + lasts_in_air + 0.2
                if at > self.times_s[-1] - 0.6:
                    return
            self._swing(free, start, at, what)
            light = what == "touch" or (what == "kick" and chance.random() < 0.3)
            self._lands(free, at, "touch" if light else "weight")
        elif what == "drag":
            start, end = max(at - chance.uniform(0.25, 0.7), self.free_from[free] + 0.03), at
            if end - start > 0.15:
                self._move(free, start, end, self._target(free), 0.0, 0.0, _eased)
                self.free_from[free] = end + 0.05
                if chance.random() < 0.6:
                    self._takes(end, free)
        elif what in ("jump", "hop"):
            lasts = float(chance.uniform(0.14, 0.34))
            feet = [standing, free] if what == "jump" else [standing]
            if any(self.free_from[f] + 0.15 > at - lasts - 0.2 * (f == free or what == "hop") for f in SIDE):
                return
            self._up(at - lasts, at)
            way = chance.normal(0, 0.12 * self.far, 2)
            for foot in feet:
                off = at if foot == standing else at + abs(float(chance.normal(0, 0.012)))
                here = self._now(foot, at - lasts)
                self._move(foot, at - lasts, off, here + way, float(chance.uniform(0.0, 0.05)), 0.0, _even)
                self._lands(foot, off, "weight", keep=True)
            if what == "hop":  # the other foot is up before and comes down after
                self._swing(free, at - lasts - 0.15, at + chance.uniform(0.15, 0.4), "step")
                self._lands(free, self.swung_s, "touch")
        elif what == "shift":
            self._takes(at, free)
        elif what == "heels":
            for foot in [free] if chance.random() < 0.6 else [free, standing]:
                if self.free_from[foot] < at - 0.2:
                    self._bump(self.feet[foot].pitch, at, chance.uniform(0.06, 0.15), -chance.uniform(0.1, 0.5))
        elif what == "swivel":
            for foot in (free, standing):
                if self.free_from[foot] < at - 0.2:
                    self._ramp(self.feet[foot].heading, at - 0.1, at + 0.1, float(chance.normal(0, 0.5)))

    def _takes(self, at: float, foot: str) -> None:
        """Weight without a landing."""
        if all(abs(at - t) > 0.2 or f != foot for t, f, _ in self.events):
            self.events.append((at, foot, "shift"))
            self.how.append("shift")
            self.over.append((at, foot))

    def _lands(self, foot: str, at: float, kind: str, keep: bool = False) -> None:
        self.events.append((at, foot, kind))
        if len(self.how) < len(self.events):
            self.how.append("flat")
        self.free_from[foot] = at + 0.04
        if kind == "weight" and not keep:
            self.over.append((at + float(self.chance.uniform(-0.08, 0.12)), foot))

    def _now(self, foot: str, at: float) -> np.ndarray:
        return self.feet[foot].place[min(len(self.times_s) - 1, round(at * RATE_HZ))].copy()

    def _target(self, foot: str) -> np.ndarray:
        """Where the free foot goes, from the standing one: beside it, to the side, ahead, back, across."""
        chance, side = self.chance, SIDE[foot]
        stands = self._now("L" if foot == "R" else "R", self.times_s[-1])
        ahead, aside = {
            "close": (chance.normal(0, 0.03), chance.uniform(0.12, 0.24)),
            "side": (chance.normal(0, 0.06), 0.2 + self.far * chance.uniform(0.1, 0.5)),
            "ahead": (self.far * chance.uniform(0.2, 0.75), chance.uniform(0.08, 0.22)),
            "back": (-self.far * chance.uniform(0.2, 0.6), chance.uniform(0.08, 0.22)),
            "across": (self.far * chance.choice([-1, 1]) * chance.uniform(0.12, 0.3), -self.far * chance.uniform(0.0, 0.2)),
        }[str(chance.choice(["close", "side", "ahead", "back", "across"]))]
        return stands + _turned(np.array([ahead, side * aside]), self.turned[-1])

    def _swing(self, foot: str, start: float, at: float, what: str) -> None:
        """Off the floor at start, first touch at `at`; a kick goes out, may stop in the air, and comes back."""
        chance, way, times = self.chance, self.feet[foot], self.times_s
        self.swung_s = at
        if chance.random() < 0.15:
            self._ramp(self.turned, start, at, float(chance.choice([-1, 1]) * chance.uniform(0.3, 1.6)))
        goal = self._target(foot)
        lift = float(np.clip(self.lift_m * np.exp(chance.normal(0, 0.5)), 0.006, 0.35))
        first = str(chance.choice(["heel", "toe", "flat"], p=self.first))
        if what == "kick":
            out = self._now(foot, start) + _turned(chance.normal(0, 0.3, 2), self.turned[-1])
            there, back = start + 0.35 * (at - start), start + chance.uniform(0.4, 0.85) * (at - start)
            high = float(chance.uniform(0.08, 0.5))
            self._move(foot, start, there, out, 0.0, 0.0, _eased)
            self._move(foot, back, at, goal, 0.0, 0.0, _eased)
            path = np.interp(times, [start, there, back, at], [0, high, high * chance.uniform(0.7, 1.1), 0])
            inside = (times > start) & (times < at)
            way.up[inside] = np.maximum(gaussian_filter1d(path, 3)[inside], 0.004)
        else:
            self._move(foot, start, at, goal, lift, float(chance.uniform(0, 0.8)), _eased if chance.random() < 0.6 else _even)
        meets = {"heel": chance.uniform(0.1, 0.45), "toe": -chance.uniform(0.1, 0.6), "flat": 0.0}[first]
        pushes = -chance.uniform(0.0, 0.6) * min(1.0, lift / 0.05)
        stays = what == "touch" and first != "flat" and chance.random() < 0.7
        settled = at + float(chance.uniform(0.04, 0.3))
        ends = [0.0, pushes, meets, meets if stays else 0.0]
        part = (times > start - 0.15) & (times < (times[-1] if stays else settled))
        pitch = np.interp(times, [start - 0.12, start, at, settled], ends)
        way.pitch[part] = pitch[part]
        if not stays:
            way.pitch[times >= settled] = 0.0
        way.heading[times >= at] = self.turned[-1] + SIDE[foot] * chance.uniform(-0.1, 0.4)
        self._ramp_to(way.heading, start, at)
        self.how.append(first)

    def _move(self, foot: str, start: float, at: float, goal: np.ndarray, lift: float, low: float, shape: object) -> None:
        """Along a line from where the foot is. low, 0 to 1: how early its height is gone, before its travel is."""
        way, times = self.feet[foot], self.times_s
        u = np.clip((times - start) / (at - start), 0, 1)
        from_here = self._now(foot, start)
        part = times > start
        way.place[part] = (from_here + shape(u)[:, None] * (goal - from_here))[part]  # type: ignore[operator]
        if lift > 0:
            swing = (times > start) & (times < at)
            top = 0.5 - 0.25 * low
            rise = np.where(
                u < top, np.sin(0.5 * np.pi * u / top), np.cos(0.5 * np.pi * np.clip((u - top) / (1 - top), 0, 1)) ** (1 + low)
            )
            least = min(0.006, lift / 2)
            way.up[swing] = np.maximum(lift * rise, least * np.minimum(1, (1 - u) * (at - start) / 0.02))[swing]

    def _up(self, start: float, at: float) -> None:
        """Both hips and feet fly as a body that is thrown does."""
        inside = (self.times_s > start) & (self.times_s < at)
        t = self.times_s[inside] - start
        self.flight[inside] = 4.9 * t * (at - start - t)

    def _bump(self, curve: np.ndarray, at: float, half: float, high: float) -> None:
        u = np.clip(np.abs(self.times_s - at) / half, 0, 1)
        curve += high * np.cos(0.5 * np.pi * u) ** 2

    def _ramp(self, curve: np.ndarray, start: float, at: float, by: float) -> None:
        curve += by * _eased(np.clip((self.times_s - start) / max(at - start, 0.05), 0, 1))

    def _ramp_to(self, curve: np.ndarray, start: float, at: float) -> None:
        """A line through what lies between two times."""
        inside = (self.times_s > start) & (self.times_s < at)
        k = np.flatnonzero(inside)
        if len(k) > 2:
            curve[k] = np.linspace(curve[k[0] - 1], curve[min(k[-1] + 1, len(curve) - 1)], len(k) + 2)[1:-1]

    def _points(self) -> np.ndarray:
        """The body over the feet: hips over what bears them, knees between, trunk above."""
        chance, times, leg = self.chance, self.times_s, 0.86
        feet = {f: self._foot(f) for f in SIDE}
        share = np.zeros(len(times))
        for at, foot in self.over:
            share[times >= at] = SIDE[foot]
        share = gaussian_filter1d(share, chance.uniform(0.06, 0.16) * RATE_HZ)
        left, right = self.feet["L"].place, self.feet["R"].place
        lean = chance.uniform(0.25, 0.5)
        hips = (left + right) / 2 + (share * lean)[:, None] * (left - right)
        hips = gaussian_filter1d(hips, chance.uniform(0.05, 0.15) * RATE_HZ, axis=0)
        hips += 0.015 * _slow(times, 2, 0.5, chance)
        facing = gaussian_filter1d(self.turned, 0.08 * RATE_HZ) + 0.12 * _slow(times, 1, 0.7, chance)[:, 0]
        across = np.stack([-np.sin(facing), np.cos(facing)], 1)
        joint = {f: hips + SIDE[f] * 0.095 * across for f in SIDE}
        most = np.min(
            [
                a["ankle"][:, 2] + np.sqrt(np.maximum(leg**2 - ((joint[f] - a["ankle"][:, :2]) ** 2).sum(1), 0.15))
                for f, a in feet.items()
            ],
            0,
        )
        high = np.minimum(most * chance.uniform(0.96, 0.995), leg + 0.06)
        high = gaussian_filter1d(minimum_filter1d(high, round(0.1 * RATE_HZ)), 0.05 * RATE_HZ)
        for at, _, kind in self.events:
            if kind == "weight":
                self._bump(high, at + 0.1, 0.16, -chance.uniform(0.0, 0.03))
        high = high + self.flight
        at = {}
        ahead = np.stack([np.cos(facing), np.sin(facing)], 1)
        for foot, name in (("L", "left"), ("R", "right")):
            hip = np.column_stack([joint[foot], high])
            at[f"{name}_hip"] = hip
            for part, word in (("ankle", "ankle"), ("heel", "heel"), ("toe", "foot_index")):
                at[f"{name}_{word}"] = feet[foot][part]
            at[f"{name}_knee"] = _knee(hip, feet[foot]["ankle"], leg / 2, np.column_stack([ahead, np.zeros(len(times))]))
        trunk = np.column_stack([hips, high + 0.48]) + np.column_stack([0.03 * _slow(times, 2, 0.6, chance), np.zeros(len(times))])
        for name, side in (("left", 1.0), ("right", -1.0)):
            shoulder = trunk + np.column_stack([side * 0.18 * across, np.zeros(len(times))])
            at[f"{name}_shoulder"] = shoulder
            at[f"{name}_elbow"] = shoulder - [0, 0, 0.27]
            at[f"{name}_wrist"] = shoulder - [0, 0, 0.5] + 0.1 * _slow(times, 3, 0.4, chance)
        at["nose"] = trunk + np.column_stack([0.11 * ahead, np.full(len(times), 0.2)])
        return all_landmarks({k: v * self.size for k, v in at.items()})

    def _foot(self, foot: str) -> dict[str, np.ndarray]:
        """Ankle, heel and toe (T, 3): a stiff foot that turns about its ball where the heel is up, about the heel where the toes are."""
        way = self.feet[foot]
        pitch = gaussian_filter1d(way.pitch, 0.012 * RATE_HZ)
        heading = np.stack([np.cos(way.heading), np.sin(way.heading)], 1)
        turn = np.where(pitch < 0, BALL, HEEL[0])
        out = {}
        for name, (ahead, up) in (("ankle", ANKLE), ("heel", HEEL), ("toe", TOE)):
            along = turn + (ahead - turn) * np.cos(pitch) - up * np.sin(pitch)
            high = (ahead - turn) * np.sin(pitch) + up * np.cos(pitch)
            out[name] = np.column_stack([way.place + along[:, None] * heading, way.up + self.flight * (way.up >= 0) + high])
        return out


def _eased(u: np.ndarray) -> np.ndarray:
    """From rest to rest, as smoothly as a hand reaches (Flash and Hogan 1985)."""
    return u**3 * (10 - 15 * u + 6 * u**2)


def _even(u: np.ndarray) -> np.ndarray:
    """Stops short: full speed till the foot is down."""
    return np.sin(0.5 * np.pi * u) ** 1.5


def _turned(way: np.ndarray, by: float) -> np.ndarray:
    return np.array([way[0] * np.cos(by) - way[1] * np.sin(by), way[0] * np.sin(by) + way[1] * np.cos(by)])


def _slow(times_s: np.ndarray, many: int, memory_s: float, chance: np.random.Generator) -> np.ndarray:
    """Slow unrest (T, many) of standard deviation 1."""
    raw = gaussian_filter1d(chance.normal(0, 1, (len(times_s), many)), memory_s * RATE_HZ, axis=0)
    return raw / raw.std(0)


def _knee(hip: np.ndarray, ankle: np.ndarray, half: float, ahead: np.ndarray) -> np.ndarray:
    """Where the knee is between hip and ankle, bent to where the body looks."""
    way = ankle - hip
    far = np.maximum(np.linalg.norm(way, axis=1), 1e-6)
    out = np.sqrt(np.maximum(half**2 - (far / 2) ** 2, 0.0))
    along = way / far[:, None]
    bend = ahead - (ahead * along).sum(1)[:, None] * along
    bend /= np.maximum(np.linalg.norm(bend, axis=1), 1e-6)[:, None]
    return np.asarray(hip + way / 2 + out[:, None] * bend)
