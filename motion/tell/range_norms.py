"""Published ranges of motion, for context only: where the average of a group lies, never what a person should reach.

Soucie JM, Wang C, Forsyth A, et al. Range of motion measurements: reference values and a database for comparison studies.
Haemophilia 2011;17(3):500-507. 674 people of 2 to 69 years without joint disease, lying down, the joint moved by the examiner. What
is given is the 95 % interval of the group's mean, which is no range of single people.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from motion.base.types import Interval

SOURCE = (
    "Soucie JM and others, Haemophilia 2011;17(3):500–507: 674 people without joint disease, lying down, the joint moved by the "
    "examiner's hand"
)


@dataclass(frozen=True)
class Group:
    """One group of that study. Means in degrees with the half-width of their 95 % interval: hip flexion, ankle up, ankle down."""

    name: str
    hip_flexion: tuple[float, float]
    ankle_up: tuple[float, float]
    ankle_down: tuple[float, float]


GROUPS: tuple[Group, ...] = (
    Group("Girls, 2 to 8 years", (140.8, 1.6), (24.8, 2.3), (67.1, 2.3)),
    Group("Boys, 2 to 8 years", (131.1, 1.7), (22.8, 1.5), (55.8, 1.4)),
    Group("Girls, 9 to 19 years", (134.9, 1.9), (17.3, 1.7), (57.3, 2.5)),
    Group("Boys, 9 to 19 years", (135.2, 2.2), (16.3, 1.7), (52.8, 2.0)),
    Group("Women, 20 to 44 years", (133.8, 1.3), (13.8, 0.9), (62.1, 1.5)),
    Group("Men, 20 to 44 years", (130.4, 1.4), (12.7, 1.1), (54.6, 1.4)),
    Group("Women, 45 to 69 years", (130.8, 1.6), (11.6, 1.0), (56.5, 1.5)),
    Group("Men, 45 to 69 years", (127.2, 1.5), (11.9, 1.0), (49.4, 1.7)),
)


def band_deg(task: str, group: Group) -> Interval | None:
    """Where the group's average lies for what a task of the range check moves; None where the study measured something else.

    "knee lift" is set beside hip flexion, "point and flex" beside the ankle's whole way from up to down. How low somebody bends the
    knees standing, or rises on the toes, was not measured there.
    """
    if task == "knee lift":
        mean, half = group.hip_flexion
    elif task == "point and flex":
        mean, half = group.ankle_up[0] + group.ankle_down[0], math.hypot(group.ankle_up[1], group.ankle_down[1])
    else:
        return None
    return mean - half, mean + half
