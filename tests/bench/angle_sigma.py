"""How often angles lie within twice the standard deviation told, by joint and pictures a second, on what nothing was fitted on. By hand:

    python tests/bench/angle_sigma.py REVIEWS CLIPS MOTION [--fitted]

REVIEWS holds NAME/landmarks.npz of drawn clips reviewed with the careful pose model, CLIPS their NAME.json.gz, MOTION captured motions
(NAME.npz). Dancers are kept apart by dance, captured motions by group; --fitted shows those that the settings were fitted on instead.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from angle_truth import Known, at_rate, captured, drawn, error_pieces  # noqa: E402

from motion.base.types import Angles, Floats, NotMeasured  # noqa: E402
from motion.body.angles import flexion_of  # noqa: E402
from motion.body.joint_readings import read_joints  # noqa: E402
from motion.body.leg_swaps import fix_leg_swaps  # noqa: E402
from motion.body.yaw import view_of  # noqa: E402
from motion.review.settings import SETTINGS  # noqa: E402

RATES_HZ = (15.0, 24.0, 30.0, 60.0)
#: By dance: porchlight, lantern and one range check; kept back: gravel, millpond, shingle and the other range check.
FITTED_CLIPS = ("quarter-rock", "watched-pair", "mute", "drifting-band", "demo-two-walls", "clap-late", "warm-up-range")
HELD_CLIPS = ("waltz", "turned-phone", "solo-portrait", "recovers", "range-side")
#: By group (the README beside the motions names them): all of one person or one skeleton on one side.
FITTED_MOTIONS = (
    "cmu131_03_mj", "cmu131_04_dance", "cmu135_06_martial", "cmu14_19_exercises", "cmu01_01_jumps", "cmu07_05_walk", "cmu10_01_kick",
    "cmu11_01_kick", "fair_zombie", "fair_dab",
)  # fmt: skip
HELD_MOTIONS = (
    "cmu60_01_salsa", "cmu60_05_salsa", "cmu61_04_salsa", "cmu61_10_salsa", "cmu12_01_walk", "cmux_train_walking_1",
    "cmux_train_walkingx_20", "cmux_train_soccer_1", "cmux_train_basketball_2",
)  # fmt: skip
CAMERAS_DEG = (0.0, 60.0, 120.0, 200.0, 270.0)
Measured = tuple[Floats, Floats, Floats]  # error, standard deviation, was there something to read: (F, 6) each


def measured(known: Known, *, own_zero: bool) -> Measured | None:
    """Errors in degrees of what is shown, NaN where withheld. own_zero: of angles against standing; else about each joint's own middle,
    of readings, by their own standard deviation."""
    marks, settings = fix_leg_swaps(known.marks, SETTINGS.body), SETTINGS.angles
    view = view_of(marks, 0, settings=settings)
    read = read_joints(marks, 0, view, settings=settings)
    if isinstance(read, NotMeasured):
        return None
    limit = np.array(settings.sigma_limit_deg).repeat(2)
    readable = np.isfinite(read.reading_deg) & (read.off_deg <= settings.widest_off_deg)[:, None] & known.usable[:, None]
    if own_zero:
        angles: Angles = flexion_of(read, view, settings=settings)
        return np.where(readable, angles.flexion_deg - known.flexion_deg, np.nan), angles.sigma_deg, readable
    shown = readable & (read.sigma_deg <= limit)
    error = np.where(shown, read.reading_deg - known.flexion_deg, np.nan)
    for j in range(6):
        if shown[:, j].any():
            error[:, j] -= np.nanmedian(error[:, j])
    return error, read.sigma_deg, readable


def table(title: str, people: list[tuple[Known, Floats]], *, own_zero: bool) -> None:
    print(f"\n| {title} | joint | within 2 sigma | sigma told | typical error | mean error | shown |")
    print("| ---: | --- | ---: | ---: | ---: | ---: | ---: |")
    for rate in RATES_HZ:
        found = [m for known, points in people if (m := measured(at_rate(known, points, rate), own_zero=own_zero))]
        for k, joint in enumerate(("hip", "knee", "ankle")):
            error, sigma, readable = (np.concatenate([m[n][:, 2 * k : 2 * k + 2].ravel() for m in found]) for n in range(3))
            seen = np.isfinite(error) & np.isfinite(sigma)
            e, s = error[seen], sigma[seen]
            print(
                f"| {rate:.0f} | {joint} | {np.mean(np.abs(e) <= 2 * s):.3f} | {np.median(s):.1f} | {np.sqrt(np.mean(e**2)):.1f} | "
                f"{np.mean(np.abs(e)):.1f} | {seen.sum() / max(1, readable.astype(bool).sum()):.2f} |"
            )


def people_of(args: argparse.Namespace, clips: tuple[str, ...], motions: tuple[str, ...]) -> tuple[list[tuple[Known, Floats]], ...]:
    """Drawn dancers, and captured motions with those dancers' errors."""
    dancers: list[tuple[Known, Floats]] = []
    for name in clips:
        truth = next((t for folder in args.clips for t in folder.glob(f"{name}.json.gz")), None)
        if truth is None or not (args.reviews / name / "landmarks.npz").exists():
            print(f"{name} is not there", file=sys.stderr)
            continue
        dancers += drawn(args.reviews / name, truth)
    pieces = error_pieces(dancers)
    return dancers, [captured(args.motion / f"{name}.npz", camera, pieces) for name in motions for camera in CAMERAS_DEG]


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parse.add_argument("reviews", type=Path)
    parse.add_argument("clips", type=Path, nargs="+")
    parse.add_argument("motion", type=Path)
    parse.add_argument("--fitted", action="store_true")
    args = parse.parse_args()
    chosen = (FITTED_CLIPS, FITTED_MOTIONS) if args.fitted else (HELD_CLIPS, HELD_MOTIONS)
    dancers, people = people_of(args, *chosen)
    table("drawn dancers, pictures a second", dancers, own_zero=True)
    table("captured people, pictures a second", people, own_zero=False)


if __name__ == "__main__":
    main()
