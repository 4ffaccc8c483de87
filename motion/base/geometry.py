"""Angles from points in the picture: pure arrays, pixels in, degrees out.

Points are (..., 2) with x to the right and y down, in pixels of one scale on both axes (never shares of width and height).
`facing` (...,) is +1 where the dancer faces the picture's right and -1 where the left. Signs: flexion +, extension -; at the
ankle dorsiflexion + (Wu et al., J Biomech 2002;35:543-548, with the knee's sign turned as in clinical use).
"""

from __future__ import annotations

import numpy as np

from motion.base.types import Floats


def turn_deg(u: Floats, v: Floats) -> Floats:
    """Signed angle (...,) that turns direction u into v, -180..180; positive is clockwise as seen in the picture (y down)."""
    cross: Floats = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    along: Floats = (u * v).sum(-1)
    return np.degrees(np.arctan2(cross, along))


def knee_flexion_deg(hip: Floats, knee: Floats, ankle: Floats, facing: Floats) -> Floats:
    """180 minus the included angle at the knee (...,); negative when the knee passes straight (over-stretched)."""
    return facing * turn_deg(knee - hip, ankle - knee)


def hip_flexion_deg(shoulder: Floats, hip: Floats, knee: Floats, facing: Floats, trunk_hip: Floats | None = None) -> Floats:
    """Thigh against trunk (...,): 0 in line, positive when the thigh swings forward.

    trunk_hip, the lower end of the trunk (mid-hip) where it differs from the thigh's own hip.
    """
    down = (hip if trunk_hip is None else trunk_hip) - shoulder
    return -facing * turn_deg(down, knee - hip)


def ankle_flexion_deg(knee: Floats, ankle: Floats, heel: Floats, toe: Floats, facing: Floats) -> Floats:
    """Dorsiflexion (...,): 90 minus the angle between the shank (upward) and the line from heel to toe.

    The heel-to-toe line is not the sole: subtract the same dancer's standing value.
    """
    return wrapped_deg(90.0 + facing * turn_deg(toe - heel, knee - ankle))


def wrapped_deg(angle: Floats) -> Floats:
    """The same direction written in -180 .. below 180 degrees."""
    return (angle + 180.0) % 360.0 - 180.0
