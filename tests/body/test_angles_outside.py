"""Angles against measurements that nobody of this project made: laboratories' walks with stored angles, and a published knee curve."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from angle_walks import FILES, view_errors
from made_body import made_landmarks

from motion.base.types import Angles, Floats
from motion.body.angles import angles_of
from motion.body.yaw import View
from motion.review.settings import SETTINGS

REAL = Path(__file__).resolve().parents[3] / "shared" / "real"
#: Most that hip, knee and ankle may be off on average, in degrees, at each way off the side view. The knee of "solution" has no marker
#: and lies between its neighbours, which alone costs 4 degrees.
MOST_DEG = {
    "joints": {0: (2.5, 2.5, 4.5), 15: (2.5, 2.5, 5.5), 30: (3.5, 3.5, 9.0), 45: (4.5, 5.0, 99.0), 60: (6.0, 7.0, 99.0)},
    "solution": {0: (3.5, 6.0, 4.5), 15: (3.5, 6.0, 4.5), 30: (4.0, 6.0, 5.5), 45: (4.5, 6.5, 7.0), 60: (5.5, 7.0, 9.0)},
}  # fmt: skip
#: Schwartz, Rozumalski & Trost, J Biomech 2008;41:1639-1650: mean knee flexion of typically developing children, 0 to 100 % of a stride.
KNEE_DEG = np.array(
    [
        5.5, 7.9, 11.0, 14.4, 17.2, 18.9, 19.7, 19.6, 18.9, 18.0, 16.9, 15.7, 14.5, 13.2, 12.0, 10.8, 9.8, 8.8, 7.9, 7.2, 6.8, 6.7, 7.1,
        8.0, 9.5, 11.6, 14.4, 18.1, 22.6, 28.0, 34.1, 40.6, 47.0, 52.5, 56.8, 59.4, 60.5, 60.0, 58.2, 55.0, 50.8, 45.5, 39.5, 32.9,
        26.0, 19.0, 12.6, 7.5, 4.5, 3.8, 5.2,
    ]
)  # fmt: skip


@cache
def errors(name: str) -> dict[int, tuple[Floats, Floats]]:
    if not (REAL / FILES[name]).exists():
        pytest.skip(f"the gait laboratory's file {FILES[name]} is not beside the checkout")
    if name == "joints":
        pytest.importorskip("ezc3d", reason="ezc3d reads the recorded walk")
    return view_errors(REAL, name)


@pytest.mark.parametrize("name", list(FILES))
def test_real_walks_seen_from_the_side_and_further_round(name: str) -> None:
    for off, (apart, _) in errors(name).items():
        mean = apart.reshape(3, 2).mean(1)
        assert np.all(mean <= np.array(MOST_DEG[name][off])), (off, mean.round(1))


@pytest.mark.parametrize("name", list(FILES))
def test_real_walks_stay_within_the_stated_uncertainty_up_to_thirty_degrees(name: str) -> None:
    for off in (0, 15, 30):
        within = errors(name)[off][1].reshape(3, 2).mean(1)
        assert np.all(within >= 0.88), (off, within.round(2))


def test_a_published_knee_curve_comes_back_with_its_landmarks() -> None:
    # strides of 1.2 s after a second and a half of standing; the curve's own peaks: 19.7 at 12 %, 60.5 at 72 %, low of 6.7 at 42 %
    times = np.arange(180) / 30.0

    def knee(later: float) -> Floats:
        phase = (np.clip(times - 1.5, 0.0, None) / 1.2 + later) % 1.0
        return np.interp(100 * phase, np.arange(0, 101, 2), KNEE_DEG) * (times >= 1.5)

    left, right = knee(0.5), knee(0.0)
    thigh = 25.0 * np.sin(2 * np.pi * (times - 1.5) / 1.2) * (times >= 1.5)
    true = np.stack([left / 2 + thigh, right / 2 - thigh, left, right, 0 * left, 0 * left], axis=1)
    view = View(times, np.full(180, 90.0), np.full(180, 3.0))
    angles = angles_of(made_landmarks(times, 90.0, true, noise_px=0.3), 0, view, settings=SETTINGS.angles)
    assert isinstance(angles, Angles)
    strides = [np.interp(1.5 + 1.2 * (n + np.arange(0, 101, 2) / 100), times, angles.flexion_deg[:, 3]) for n in (1, 2)]
    mean = np.mean(strides, axis=0)
    assert int(np.argmax(mean)) * 2 == pytest.approx(72, abs=2)
    assert mean.max() == pytest.approx(60.5, abs=2.5)
    assert mean[:15].max() == pytest.approx(19.7, abs=2.5)
    assert mean[15:28].min() == pytest.approx(6.7, abs=2.5)
    assert mean[8:48].mean() == pytest.approx(KNEE_DEG[8:48].mean(), abs=1.5)
