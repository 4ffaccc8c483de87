"""Who is seen in a few pictures, without following anybody: the quick look before filming. Beside watch.py the only way to the
body package."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from motion.base.progress import Progress, quiet
from motion.base.types import Floats
from motion.body.pose import LandmarkNetwork, PersonFinder
from motion.body.tracking import Tracker
from motion.clip.pose_model import get_model, landmark_network
from motion.review.settings import SETTINGS, Settings


def people_in(
    pictures: Iterable[NDArray[np.uint8]],
    *,
    model: Path | None = None,
    progress: Progress = quiet,
    settings: Settings = SETTINGS,
) -> Iterator[list[tuple[Floats, Floats]]]:
    """For each RGB picture (H, W, 3) everybody in it, left to right: points_px (33, 2), also where they lie outside the picture, and
    visibility (33,), 0..1. One picture is taken at a time, about a second each.

    model: a pose model of one's own. Raises ModelMissing, BadInput as `get_model`.
    """
    found = get_model("fast", model_file=model, progress=progress, settings=settings.clip)
    network = LandmarkNetwork(landmark_network(found.path), min(settings.body.most_threads, os.cpu_count() or 1))
    finder = PersonFinder(str(found.path), settings.body.persons_a_tile)
    try:
        for picture in pictures:
            # A follower of its own for every picture: whoever was found is looked at again, and kept only if that agrees.
            follower = Tracker(finder.persons, network.look, settings.body)
            follower.feed(0.0, picture)
            seen = [trail.poses[-1] for trail in follower.memory.active]
            yield [(one.points_px, one.visibility) for one in sorted(seen, key=lambda one: float(one.points_px[0, 0]))]
    finally:
        finder.close()
