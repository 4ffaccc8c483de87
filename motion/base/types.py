"""Every type that passes between the packages: frozen, arrays sealed, checked when built.

Conventions. F pictures, P dancers, K = 33 landmarks, J = 6 joints, S steps, B beats. Times are float64 seconds from the clip's
first picture and strictly rising. NaN means "not seen". Left and right are the dancer's. Image axes: x right, y down, in pixels
after the clip's rotation. Offsets: positive is late. Flexion: positive; extension negative (ankle: dorsiflexion positive).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import need
from motion.base.sealed import Floats as Floats
from motion.base.sealed import Ints as Ints
from motion.base.sealed import NotMeasured as NotMeasured
from motion.base.sealed import Sealed as Sealed

Foot = Literal["left", "right"]
Kind = Literal["step", "touch", "shift"]
Interval = tuple[float, float]

LANDMARKS = 33
#: Order of the six joints wherever an axis of length J appears.
JOINTS: tuple[tuple[str, str], ...] = (
    ("left", "hip"), ("right", "hip"), ("left", "knee"), ("right", "knee"), ("left", "ankle"), ("right", "ankle"),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Clip(Sealed):
    """What is known of a clip besides its pictures.

    times_s (F,): the pictures' own time stamps. width_px, height_px after rotation. damaged_pictures: pictures that the decoder
    could not give. cut_short: the file ends before it says it would, or breaks off. cuts_s (C,): times of hard cuts, rising.
    first_picture_s: where the first picture lies on the file's own clock (that of a player); a player shows time t at
    t + first_picture_s.
    """

    name: str
    sha256: str
    times_s: Floats
    width_px: int
    height_px: int
    duration_s: float
    damaged_pictures: int = 0
    has_sound: bool = False
    cut_short: bool = False
    uneven_times: bool = False
    cuts_s: Floats = field(default_factory=lambda: np.zeros(0))
    first_picture_s: float = 0.0

    def _check(self) -> None:
        need(self.times_s.ndim == 1, "times_s has shape (F,)", self.times_s.shape)
        need(bool(np.all(np.diff(self.times_s) > 0)), "times_s rises strictly", "it does not")


@dataclass(frozen=True, eq=False)
class Picture:
    """One picture of a clip, not kept: index from 0 in this pass, time_s on the clip's clock, rgb (H, W, 3) uint8, C-contiguous."""

    index: int
    time_s: float
    rgb: NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Sound(Sealed):
    """Mono sound on the pictures' clock. samples (N,) float in -1..1; the first sample is heard at start_s."""

    samples: NDArray[np.float32]
    rate_hz: int
    start_s: float

    def _check(self) -> None:
        need(self.samples.ndim == 1, "samples has shape (N,)", self.samples.shape)
        need(self.rate_hz > 0, "rate_hz is positive", self.rate_hz)


@dataclass(frozen=True, eq=False)
class Landmarks(Sealed):
    """33 body landmarks of every dancer in every picture, as the model gives them (not smoothed).

    times_s (F,); ids (P,) from 1; image_px (F, P, 33, 2), NaN where the dancer was not seen; visibility (F, P, 33) 0..1;
    unsure: per dancer the stretches [from_s, to_s] in which identity or position is not certain.
    """

    times_s: Floats
    ids: Ints
    image_px: Floats
    visibility: Floats
    unsure: tuple[tuple[Interval, ...], ...] = ()

    def _check(self) -> None:
        f, p = len(self.times_s), len(self.ids)
        need(self.image_px.shape == (f, p, LANDMARKS, 2), f"image_px has shape {(f, p, LANDMARKS, 2)}", self.image_px.shape)
        need(self.visibility.shape == (f, p, LANDMARKS), f"visibility has shape {(f, p, LANDMARKS)}", self.visibility.shape)
        need(bool(np.all(np.diff(self.times_s) > 0)), "times_s rises strictly", "it does not")


@dataclass(frozen=True, eq=False)
class Track(Sealed):
    """Where one dancer is. times_s (F,), pelvis_px (F, 2) mid-hip, height_px (F,) body height as it appears."""

    id: int
    label: str | None
    times_s: Floats
    pelvis_px: Floats
    height_px: Floats
    unsure: tuple[Interval, ...] = ()

    def _check(self) -> None:
        f = len(self.times_s)
        need(self.pelvis_px.shape == (f, 2), f"pelvis_px has shape {(f, 2)}", self.pelvis_px.shape)
        need(self.height_px.shape == (f,), f"height_px has shape {(f,)}", self.height_px.shape)


@dataclass(frozen=True, eq=False)
class Angles(Sealed):
    """Joint flexion of one dancer. times_s (F,); flexion_deg, sigma_deg (F, 6) in the order of JOINTS, NaN = not to be trusted;
    view_deg (F,): 0 faces the camera, +90 the dancer's right side is nearer, +-180 back to the camera; zero per joint (6,)."""

    times_s: Floats
    flexion_deg: Floats
    sigma_deg: Floats
    view_deg: Floats
    zero: tuple[Literal["standing", "stored", "stance", "anatomical"], ...]

    def _check(self) -> None:
        f = len(self.times_s)
        need(self.flexion_deg.shape == (f, 6), f"flexion_deg has shape {(f, 6)}", self.flexion_deg.shape)
        need(self.sigma_deg.shape == (f, 6), f"sigma_deg has shape {(f, 6)}", self.sigma_deg.shape)
        need(self.view_deg.shape == (f,), f"view_deg has shape {(f,)}", self.view_deg.shape)
        need(len(self.zero) == 6, "zero names six joints", len(self.zero))


@dataclass(frozen=True, eq=False)
class JointRange(Sealed):
    """Range that a joint used: 1st and 99th percentile over pictures_used trusted pictures, seen at view_deg (median); seen_share 0..1,
    how much of the pictures with this dancer those are: what the rest held is not known, and sigma_deg allows for it, seen_sigma_deg
    (of high minus low in what was seen) does not. near_share 0..1: of the pictures used, those in which this leg was the nearer one."""

    joint: str
    side: Foot
    low_deg: float
    high_deg: float
    sigma_deg: float
    pictures_used: int
    view_deg: float
    seen_share: float = 1.0
    seen_sigma_deg: float = float("nan")
    near_share: float = float("nan")


@dataclass(frozen=True, eq=False)
class Steps(Sealed):
    """Landings and weight changes of one dancer, in order of time.

    times_s, sigma_ms (S,); right (S,) bool; kinds (S,) of "step", "touch", "shift"; strength (S,) 0..1, how plainly it was a
    landing; place (S, 2): where the foot came to rest against the other foot, to the dancer's own right and forward, in leg lengths;
    settled_s (S,): when the foot could bear the weight, NaN where it never did or was not seen; empty where nobody looked.
    """

    times_s: Floats
    sigma_ms: Floats
    right: NDArray[np.bool_]
    kinds: tuple[Kind, ...]
    strength: Floats
    place: Floats
    settled_s: Floats = field(default_factory=lambda: np.zeros(0))

    def _check(self) -> None:
        s = len(self.times_s)
        need(self.settled_s.shape in ((s,), (0,)), f"settled_s has shape {(s,)} or is empty", self.settled_s.shape)
        for name in ("sigma_ms", "right", "strength"):
            need(getattr(self, name).shape == (s,), f"{name} has shape {(s,)}", getattr(self, name).shape)
        need(len(self.kinds) == s, f"kinds has {s} entries", len(self.kinds))
        need(self.place.shape == (s, 2), f"place has shape {(s, 2)}", self.place.shape)


@dataclass(frozen=True, eq=False)
class Candidates(Sealed):
    """What may be landings and weight changes of one dancer, before a dance or a beat has had its say; in order of time.

    times_s, sigma_ms (S,); right (S,) bool; shift (S,) bool: weight without a landing; strength (S,) 0..1, how plainly it is one;
    weight (S,) 0..1, whether it takes weight; place (S, 2) as in Steps; seen: stretches in which both feet were in sight;
    candidates outside them are guesses through somebody in front; settled_s (S,) as in Steps.
    """

    times_s: Floats
    sigma_ms: Floats
    right: NDArray[np.bool_]
    shift: NDArray[np.bool_]
    strength: Floats
    weight: Floats
    place: Floats
    seen: tuple[Interval, ...]
    settled_s: Floats = field(default_factory=lambda: np.zeros(0))

    def _check(self) -> None:
        s = len(self.times_s)
        need(self.settled_s.shape in ((s,), (0,)), f"settled_s has shape {(s,)} or is empty", self.settled_s.shape)
        for name in ("sigma_ms", "right", "shift", "strength", "weight"):
            need(getattr(self, name).shape == (s,), f"{name} has shape {(s,)}", getattr(self, name).shape)
        need(self.place.shape == (s, 2), f"place has shape {(s, 2)}", self.place.shape)


@dataclass(frozen=True)
class SoundOffset:
    """How much later than the picture the sound lies in a clip, in ms, and how sure that is; late is positive.

    value_ms holds at at_s; drift_ms_per_min is what it grows by, 0 unless two claps far apart showed some. claps: how many it rests
    on, 0 when it is only the sound's way over distance_m (None if not stated).
    """

    value_ms: float
    sigma_ms: float
    claps: int
    at_s: float = 0.0
    drift_ms_per_min: float = 0.0
    distance_m: float | None = None


@dataclass(frozen=True, eq=False)
class BeatGrid(Sealed):
    """Beats and their counts. times_s (B,), counts (B,) 1..8 (1..6 in 3/4); half_at: where & lies, 0.5 straight .. 0.67 swung;
    confidence 0..1; first_count_s: time of the dance's first count, None if not known; doubts: plain words, may be empty;
    sound_offset: what the beats were moved by from the sound's clock to the picture's, None if by nothing."""

    source: Literal["sound", "taps", "given", "song"]
    times_s: Floats
    counts: Ints
    tempo_bpm: float
    half_at: float
    confidence: float
    first_count_s: float | None
    doubts: tuple[str, ...] = ()
    sound_offset: SoundOffset | None = None

    def _check(self) -> None:
        need(self.times_s.ndim == 1 and len(self.times_s) >= 2, "times_s holds at least two beats", self.times_s.shape)
        need(self.counts.shape == self.times_s.shape, "one count a beat", self.counts.shape)
        need(bool(np.all(np.diff(self.times_s) > 0)), "times_s rises strictly", "it does not")
        need(0.0 <= self.confidence <= 1.0, "confidence lies in 0..1", self.confidence)


@dataclass(frozen=True, eq=False)
class SheetRow:
    """One row of a dance sheet. count: beat from 1 within one wall, & is + 0.5 (or the sheet's half), a + 2/3; foot None for both or
    neither; turn_deg: clockwise (to the right) positive; row: line number in the file, from 1; place: where a figure puts the foot, to
    the foot's own side and forward, None if the move's word says it."""

    count: float
    foot: Foot | None
    move: str
    turn_deg: float = 0.0
    note: str = ""
    option: str = ""
    row: int = 0
    written: str = ""
    heading: str = ""
    place: Interval | None = None


@dataclass(frozen=True, eq=False)
class Restart:
    """Wall `wall` (from 1) ends after its count `after`. rows, if any, are danced instead of that wall's last counts up to there;
    note: what else the sheet says of it, such as the facing."""

    wall: int
    after: int
    rows: tuple[SheetRow, ...] = ()
    note: str = ""


@dataclass(frozen=True, eq=False)
class Tag:
    """Extra rows danced in wall `wall` after its count `after`; counts of the rows from 1; note: what else the sheet says of it."""

    wall: int
    after: int
    counts: int
    rows: tuple[SheetRow, ...]
    note: str = ""


@dataclass(frozen=True, eq=False)
class Part:
    """One part of a phrased dance, by its letter or name; counts of the rows from 1."""

    name: str
    counts: int
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True, eq=False)
class DanceSheet:
    """A dance as its sheet writes it: rows of one wall in order, header, restarts and tags.

    A phrased dance has parts and the order they are danced in, each standing where a wall stands otherwise; its rows and counts are
    then those of the first in that order. ending: rows danced once, at the end of the music, counts from 1.
    """

    title: str
    counts: int
    walls: int
    rows: tuple[SheetRow, ...]
    beats_per_bar: int = 4
    bpm: float | None = None
    intro: str | None = None
    level: str | None = None
    version: str | None = None
    half_at: float | None = None
    restarts: tuple[Restart, ...] = ()
    tags: tuple[Tag, ...] = ()
    extra: tuple[tuple[str, str], ...] = ()
    parts: tuple[Part, ...] = ()
    order: tuple[str, ...] = ()
    ending: tuple[SheetRow, ...] = ()

    @property
    def section(self) -> int:
        """Counts in one section: 8, or 6 in 3/4."""
        return 6 if self.beats_per_bar == 3 else 8


@dataclass(frozen=True, eq=False)
class Finding:
    """Something found on a sheet. grade "error" (it cannot be danced as written) or "doubt" (arguable); row from 1, 0 for the whole."""

    grade: Literal["error", "doubt"]
    row: int
    words: str


@dataclass(frozen=True, eq=False)
class Due:
    """One event that the dance asks for. count runs on from 1 at the first count of the first wall through walls, restarts and tags;
    wall from 1; count_in_wall as written; lands: the foot comes to the floor; takes_weight: it bears the body after; facing_deg:
    the dancer's facing after the event against the start, clockwise positive; place as in SheetRow."""

    count: float
    wall: int
    count_in_wall: float
    foot: Foot | None
    move: str
    lands: bool
    takes_weight: bool
    facing_deg: float
    turn_deg: float = 0.0
    place: Interval | None = None


@dataclass(frozen=True, eq=False)
class EasierWay:
    """What the sheet allows instead, from running count from_count up to and with until_count and its halves."""

    from_count: float
    until_count: float
    due: tuple[Due, ...]


@dataclass(frozen=True, eq=False)
class Pairing(Sealed):
    """Steps of one dancer set against counts: counts, offset_ms (S,), NaN where none fits; due (S,): index of the event in the list
    that was asked for, -1 for none; missed: indexes of events without a step."""

    counts: Floats
    offset_ms: Floats
    due: Ints
    missed: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Timing:
    """How one dancer sits against the beat. n pairs; bias_ms median offset (late +) with its 95 % interval; steadiness_ms standard
    deviation about the mean; vector_length 0..1 (circular statistics); drift_ms_per_count."""

    n: int
    bias_ms: float
    bias_interval_ms: Interval
    steadiness_ms: float
    vector_length: float
    drift_ms_per_count: float


@dataclass(frozen=True, eq=False)
class Flag:
    """One finding about one dancer. kind as the contract lists; count.. until_count; size in unit; sure 0..1; named: sure enough to be
    put to a person; words: one plain, kind sentence."""

    kind: str
    count: float | None
    until_count: float | None
    time_s: float
    size: float | None
    unit: str | None
    sure: float
    named: bool
    words: str


@dataclass(frozen=True, eq=False)
class Measurement:
    """Everything measured of one dancer in one clip. Without a dance, walls, bends, smaller and written are None; without a beat, habits.

    walls: rows of timing/consistency.py; bends, smaller: of body/flexion_by_count.py; facts: of body/kinematics.py, None unless asked
    for; standing: own quiet standing, or the stored one that was used, as store/serialize.py writes it; habits: of timing/habits.py;
    written: of timing/sheet_agreement.py; phrased: of timing/offbeat.py, counts placed off the beat wall after wall;
    easier: running counts (from, until) danced in an easier way of the sheet; own_version: marked so by the person."""

    track: Track
    steps: Steps | NotMeasured
    pairing: Pairing | NotMeasured
    timing: Timing | NotMeasured
    flags: tuple[Flag, ...] | NotMeasured
    angles: Angles | NotMeasured
    ranges: tuple[JointRange, ...] | NotMeasured
    range_check: tuple[dict[str, Any], ...] | NotMeasured | None = None
    walls: tuple[dict[str, Any], ...] | None = None
    bends: tuple[dict[str, Any], ...] | None = None
    smaller: tuple[dict[str, Any], ...] | None = None
    facts: tuple[dict[str, Any], ...] | NotMeasured | None = None
    standing: dict[str, Any] | None = None
    habits: dict[str, Any] | None = None
    written: dict[str, Any] | None = None
    phrased: tuple[dict[str, Any], ...] = ()
    easier: tuple[Interval, ...] = ()
    own_version: bool = False


@dataclass(frozen=True, eq=False)
class Review:
    """One reviewed clip: what goes into a review folder. notes: plain sentences for the person about the whole clip; starting_wall:
    the wall that the clip's first count belongs to, from 1; phrase: where walls begin in the music's phrases, None without a dance."""

    clip: Clip
    stretches: tuple[Interval, ...]
    landmarks: Landmarks
    beats: BeatGrid | NotMeasured
    dance: DanceSheet | None
    dancers: tuple[Measurement, ...]
    made_by: dict[str, Any]
    notes: tuple[str, ...] = ()
    expires: str | None = None
    starting_wall: int = 1
    together: dict[str, Any] | None = None
    phrase: dict[str, Any] | NotMeasured | None = None
