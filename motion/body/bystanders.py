"""Who of the people in the picture dances: those whose feet land about as often as everyone's."""

from __future__ import annotations

import numpy as np

from motion.base.camera import CameraPath
from motion.base.types import Candidates, Floats, Ints, Landmarks
from motion.body.foot_contacts import find_candidates
from motion.body.leg_swaps import fix_leg_swaps
from motion.body.settings import BodySettings
from motion.body.steadying import for_contacts, steadied

#: The first landmarks are the face's.
FACE = 11
#: A candidate is a landing rather than not.
LIKELY = 0.5


def without_bystanders(
    landmarks: Landmarks, size_px: tuple[int, int], weights: dict[str, Floats], settings: BodySettings, most: int | None,
    camera: CameraPath | None = None,
) -> tuple[Landmarks, Floats]:  # fmt: skip
    """The landmarks without people who stand by or pass through, renumbered, and the faces (F, M, 11, 2) px of those left out: all that
    is kept of them, so that their heads can be covered. Arguments as `who_dances` has them."""
    return only_those(landmarks, who_dances(landmarks, size_px, weights, settings, most, camera))


def only_those(landmarks: Landmarks, kept: Ints) -> tuple[Landmarks, Floats]:
    """The landmarks of the dancers at indices `kept`, renumbered, and the faces (F, M, 11, 2) px of all others."""
    unsure = tuple(landmarks.unsure[p] for p in kept) if landmarks.unsure else ()
    only = Landmarks(
        landmarks.times_s, np.arange(1, len(kept) + 1), landmarks.image_px[:, kept], landmarks.visibility[:, kept], unsure
    )  # fmt: skip
    return only, np.delete(landmarks.image_px, kept, axis=1)[:, :, :FACE]


def who_dances(
    landmarks: Landmarks, size_px: tuple[int, int], weights: dict[str, Floats], settings: BodySettings, most: int | None,
    camera: CameraPath | None = None,
) -> Ints:  # fmt: skip
    """Indices of those who dance, rising.

    weights of the contact network; most: how many danced, if the person says so (then that many are kept, the busiest first);
    camera: how it moved, None where it stood still. Where nobody's feet land, as in a range check, everyone stays.
    """
    marks = fix_leg_swaps(landmarks, settings)
    lands, lands_px = for_contacts(marks, size_px, camera)
    landings = np.array([_landings(find_candidates(lands, p, lands_px, weights, settings)) for p in range(len(marks.ids))])
    still = steadied(landmarks, camera)
    if most is not None:
        busiest = sorted(range(len(landings)), key=lambda p: (-landings[p], -_seen(landmarks, p)))[:most]
        kept = np.array(sorted(busiest), dtype=np.int64)
    elif landings.max() < settings.some_landings:
        kept = np.arange(len(landings))
    else:
        through = np.array([passes_through(still, p, settings) for p in range(len(landings))])
        kept = np.flatnonzero((landings >= settings.watcher_share * landings.max()) & ~through)
        kept = kept if len(kept) else np.arange(len(landings))
    return kept


def passes_through(landmarks: Landmarks, p: int, settings: BodySettings) -> bool:
    """Does person p go across the picture and not come back? A dance returns to its place, more or less, wall by wall."""
    points = landmarks.image_px[:, p]
    seen = np.flatnonzero(np.isfinite(points[:, 0, 0]))
    if not len(seen):
        return False
    tall = float(np.median(np.ptp(points[seen, :, 1], axis=1)))
    seconds = np.arange(landmarks.times_s[seen[0]], landmarks.times_s[seen[-1]], 1.0)
    hips = points[seen, 23:25].mean(1)
    places = np.stack([np.interp(seconds, landmarks.times_s[seen], hips[:, k]) for k in (0, 1)], 1)
    if len(places) < 3:
        return False
    net = float(np.hypot(*(places[-1] - places[0]))) / tall
    path = float(np.hypot(*np.diff(places, axis=0).T).sum()) / tall
    return net > settings.through_bodies and net > settings.through_straight * path


def _landings(found: object) -> int:
    return int(((found.strength > LIKELY) & ~found.shift).sum()) if isinstance(found, Candidates) else 0


def _seen(landmarks: Landmarks, p: int) -> float:
    return float(np.isfinite(landmarks.image_px[:, p, 0, 0]).mean())
