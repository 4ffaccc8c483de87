"""What is read off the landmarks of all dancers whatever music and dance they go with: a changed first count leaves it as it is."""

from __future__ import annotations

from dataclasses import dataclass

from motion.body.contact import load_weights
from motion.body.floor import floor_of, placed
from motion.body.hidden import covered_pictures
from motion.body.legs import mended_legs
from motion.body.reading import Reading, read_joints
from motion.body.steps import find_candidates
from motion.body.view import View, views_of
from motion.data import Candidates, Landmarks, NotMeasured
from motion.settings import Settings


@dataclass(frozen=True, eq=False)
class Bodies:
    """Of every dancer, in the order of the landmarks: marks with the swaps of the legs mended, views, joint readings, and what may be a
    landing or a weight change, with its place on the floor."""

    marks: Landmarks
    views: tuple[View, ...]
    readings: tuple[Reading | NotMeasured, ...]
    found: tuple[Candidates | NotMeasured, ...]


def bodies_of(landmarks: Landmarks, size_px: tuple[int, int], settings: Settings) -> Bodies:
    """Read every dancer. landmarks as the model gave them; size_px: width and height of the picture."""
    marks, weights = mended_legs(landmarks, settings.body), load_weights()
    views, floor = views_of(marks, settings=settings.angles), floor_of(marks, size_px, settings.body)
    readings, found = [], []
    for p, view in enumerate(views):
        covered = covered_pictures(marks, p, settings.body)
        readings.append(read_joints(marks, p, view, settings=settings.angles, hidden=covered))
        one = find_candidates(marks, p, size_px, weights, settings.body)
        found.append(placed(one, floor, p, marks, view.view_deg, settings.body) if isinstance(one, Candidates) else one)
    return Bodies(marks, tuple(views), tuple(readings), tuple(found))
