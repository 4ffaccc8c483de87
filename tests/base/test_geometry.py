"""Angles from points: worked examples, published sign rules, and real walks with stored joint angles."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from motion.base.geometry import ankle_flexion_deg, hip_flexion_deg, knee_flexion_deg, turn_deg, wrapped_deg

REAL = Path(__file__).resolve().parents[2].parent / "shared" / "real"
RIGHT = np.array(1.0)


def up(x: float, y: float) -> np.ndarray:
    """A point written with y upwards, as a picture holds it."""
    return np.array([x, -y])


def test_worked_example_knee_thirty() -> None:
    # included angle 150; signs as Wu et al. 2002 with the knee's turned (Grood and Suntay 1983: knee flexion positive)
    assert knee_flexion_deg(up(0, 0.9), up(0, 0.5), up(-0.2, 0.15359), RIGHT) == pytest.approx(30.0, abs=0.01)


def test_worked_example_hip_thirty() -> None:
    assert hip_flexion_deg(up(0, 1.4), up(0, 0.9), up(0.2, 0.55359), RIGHT) == pytest.approx(30.0, abs=0.01)
    assert hip_flexion_deg(up(0, 1.4), up(0, 0.9), up(-0.2, 0.55359), RIGHT) == pytest.approx(-30.0, abs=0.01)


def test_worked_example_ankle_ten() -> None:
    lean = np.radians(10)
    knee = up(0.4 * np.sin(lean), 0.08 + 0.4 * np.cos(lean))
    assert ankle_flexion_deg(knee, up(0, 0.08), up(-0.05, 0), up(0.18, 0), RIGHT) == pytest.approx(10.0)
    assert ankle_flexion_deg(up(0, 0.5), up(0, 0.08), up(-0.05, 0.1), up(0.05, 0), RIGHT) == pytest.approx(-45.0)


def test_facing_the_other_way_is_the_same_angle() -> None:
    rng = np.random.default_rng(4)
    a, b, c, d = rng.normal(size=(4, 50, 2))
    m = np.array([-1.0, 1.0])
    for angle in (knee_flexion_deg, hip_flexion_deg):
        assert angle(a * m, b * m, c * m, -np.ones(50)) == pytest.approx(angle(a, b, c, np.ones(50)))
    mirrored = ankle_flexion_deg(a * m, b * m, c * m, d * m, -np.ones(50))
    assert mirrored == pytest.approx(ankle_flexion_deg(a, b, c, d, np.ones(50)))


def test_turning_and_wrapping() -> None:
    assert turn_deg(np.array([1.0, 0.0]), np.array([0.0, 1.0])) == pytest.approx(90.0)  # y down: clockwise
    assert wrapped_deg(np.array([190.0, -190.0, 180.0, 360.0])) == pytest.approx([-170.0, 170.0, -180.0, 0.0])


@pytest.mark.parametrize(
    ("true_deg", "seen_deg"),
    [(60.0, (60.0, 59.1, 56.3, 50.8, 40.9, 24.1, 0.0)), (30.0, (30.0, 29.1, 26.6, 22.2, 16.1, 8.5, 0.0))],
)
def test_planar_rule_of_foreshortening(true_deg: float, seen_deg: tuple[float, ...]) -> None:
    # tan seen = tan true * cos yaw for a shank under an upright thigh; stretching the picture sideways gives the truth back
    for yaw_deg, seen in zip((0, 15, 30, 45, 60, 75, 90), seen_deg, strict=True):
        narrow = np.array([np.cos(np.radians(yaw_deg)), 1.0])
        ankle = up(-np.sin(np.radians(true_deg)), -np.cos(np.radians(true_deg))) * narrow
        assert knee_flexion_deg(up(0, 1), up(0, 0), ankle, RIGHT) == pytest.approx(seen, abs=0.05)
        if yaw_deg < 90:
            assert knee_flexion_deg(up(0, 1), up(0, 0), ankle / narrow, RIGHT) == pytest.approx(true_deg)


def side_view(points: np.ndarray, names: list[str], wanted: str, along: np.ndarray) -> np.ndarray:
    """(F, 2) of a marker as a camera at the side sees it: x along the walk, y down."""
    xyz = points[:3, names.index(wanted)].T
    return np.stack([xyz @ along, -xyz[:, 2]], axis=1)


@pytest.mark.parametrize(("side", "mean_difference"), [("L", 0.45), ("R", 1.03)])
def test_real_walk_against_stored_knee_angle(side: str, mean_difference: float) -> None:
    path = REAL / "walk_plug-in-gait.c3d"
    if not path.exists():
        pytest.skip("the recorded walk with stored joint angles is not beside this checkout")
    ezc3d = pytest.importorskip("ezc3d", reason="ezc3d reads the recorded walk")
    file = ezc3d.c3d(str(path))
    names = file["parameters"]["POINT"]["LABELS"]["value"]
    points = file["data"]["points"]
    hip, knee, ankle = (points[:3, names.index(side + n)].T for n in ("FEP", "FEO", "TIO"))
    stored = points[0, names.index(f"{side}KneeAngles")]
    # every picture seen square to its own leg's plane, as the included angle in space is
    thigh, shank = knee - hip, ankle - knee
    x = thigh / np.linalg.norm(thigh, axis=1, keepdims=True)
    y = shank - (shank * x).sum(1, keepdims=True) * x
    y /= np.linalg.norm(y, axis=1, keepdims=True)
    flat = [np.stack([(v * x).sum(1), (v * y).sum(1)], axis=1) for v in (hip - hip, knee - hip, ankle - hip)]
    flexion = np.abs(knee_flexion_deg(*flat, np.ones(len(hip))))
    ok = np.isfinite(flexion) & np.isfinite(stored)
    assert ok.sum() > 200
    assert abs(np.mean(flexion[ok] - stored[ok])) == pytest.approx(mean_difference, abs=0.1)
    assert np.corrcoef(flexion[ok], stored[ok])[0, 1] >= 0.997
    assert np.abs(flexion[ok] - stored[ok]).max() <= 8.3


@pytest.mark.parametrize("side", ["L", "R"])
def test_real_walk_from_the_side_keeps_the_stored_angles_course(side: str) -> None:
    path = REAL / "walk_plug-in-gait.c3d"
    if not path.exists():
        pytest.skip("the recorded walk with stored joint angles is not beside this checkout")
    ezc3d = pytest.importorskip("ezc3d", reason="ezc3d reads the recorded walk")
    file = ezc3d.c3d(str(path))
    names = file["parameters"]["POINT"]["LABELS"]["value"]
    points = file["data"]["points"]
    pelvis = points[:3, names.index("PELO")].T
    pelvis = pelvis[np.isfinite(pelvis).all(1)]
    way = pelvis[-1, :2] - pelvis[0, :2]
    along = np.array([*(way / np.hypot(*way)), 0.0])
    hip, knee, ankle, heel, toe, neck = (
        side_view(points, names, n, along) for n in (side + "FEP", side + "FEO", side + "TIO", side + "HEE", side + "TOE", "TRXO")
    )
    for stored_name, seen in (
        ("KneeAngles", knee_flexion_deg(hip, knee, ankle, np.ones(len(hip)))),
        ("HipAngles", hip_flexion_deg(neck, hip, knee, np.ones(len(hip)))),
        ("AnkleAngles", ankle_flexion_deg(knee, ankle, heel, toe, np.ones(len(hip)))),
    ):
        stored = points[0, names.index(side + stored_name)]
        ok = np.isfinite(seen) & np.isfinite(stored)
        apart = seen[ok] - stored[ok]
        assert np.corrcoef(seen[ok], stored[ok])[0, 1] > 0.95, stored_name
        assert np.mean(np.abs(apart - np.median(apart))) < 4.0, stored_name


def test_textbook_walker_has_a_walkers_knee() -> None:
    path = REAL / "WinterTableA1.txt"
    if not path.exists():
        pytest.skip("the textbook walker's table is not beside this checkout")
    rows = np.loadtxt(path, skiprows=2)
    # Winter, Biomechanics and Motor Control of Human Movement, table A.1: the fibula's head is the knee's lower marker
    hip, knee, fibula, ankle = (rows[:, k : k + 2] * [1.0, -1.0] for k in (4, 6, 8, 10))
    thigh_to_shank = turn_deg(knee - hip, ankle - fibula)
    heel_strike = slice(27, 97)  # right heel on the floor near rows 28 and 97: one stride
    stride = thigh_to_shank[heel_strike] * np.sign(np.median(thigh_to_shank[heel_strike]))
    assert 55 < stride.max() < 75
    assert 0.62 < np.argmax(stride) / len(stride) < 0.80  # swing peak at 72 % of the stride in Schwartz et al. 2008
    assert stride.min() > -8
