"""When a foot bears the weight: after the heel is down, not when the toe touches; never, where the foot goes on."""

from __future__ import annotations

import numpy as np
import pytest
from made_walk import made_steps

from motion.base.types import Floats
from motion.body.foot_contacts import leg_px_of
from motion.body.settings import BodySettings
from motion.body.settling import settled_times

BODY = BodySettings()
LANDING_S = 3.0


def put_down(rate: float, heel_s: float, *, again_s: float = 9.0) -> tuple[Floats, Floats, Floats]:
    """Toe first at 3 s, the heel a tenth of a leg above the floor comes down in heel_s; from again_s on the foot is off again."""
    times = np.arange(0, 6, 1 / rate)
    points = made_steps(times, np.zeros(0)).image_px[:, 0].copy()
    leg = leg_px_of(times, points)
    up = np.interp(times, [LANDING_S - 0.3, LANDING_S - 0.15, LANDING_S], [0, 0.2, 0]) * leg
    heel = np.interp(times, [LANDING_S - 0.3, LANDING_S - 0.2, LANDING_S, LANDING_S + heel_s], [0, 0.1, 0.1, 0]) * leg
    gone = np.clip((times - again_s) * 4.0, 0, 2) * leg
    points[:, [28, 30, 32], 1] -= (up + gone)[:, None]
    points[:, [28, 30], 1] -= heel[:, None]
    return times, points, leg


@pytest.mark.parametrize("rate", [24.0, 30.0, 60.0])
@pytest.mark.parametrize("heel_s", [0.06, 0.1])
def test_a_foot_bears_weight_when_its_heel_is_down(rate: float, heel_s: float) -> None:
    (settled,) = settled_times(*put_down(rate, heel_s), np.array([LANDING_S]), True, BODY)
    assert settled - LANDING_S == pytest.approx(heel_s, abs=0.05)


def test_a_slower_heel_settles_later() -> None:
    early, late = (settled_times(*put_down(30.0, s), np.array([LANDING_S]), True, BODY)[0] for s in (0.02, 0.1))
    assert late > early


def test_a_foot_that_goes_straight_on_never_settles() -> None:
    (settled,) = settled_times(*put_down(30.0, 0.04, again_s=LANDING_S), np.array([LANDING_S]), True, BODY)
    assert np.isnan(settled)


def test_what_the_clip_does_not_show_is_not_told() -> None:
    times, points, leg = put_down(30.0, 0.06)
    assert np.isnan(settled_times(times, points, leg, np.array([5.8]), True, BODY)).all()
    assert settled_times(times, points, leg, np.zeros(0), True, BODY).shape == (0,)
