"""Joint angles of laboratories' walks, seen by cameras put there by sums, against the angles that the laboratories stored. Run by hand:

    python tests/bench/view_error.py REAL

REAL holds walk_plug-in-gait.c3d and subject01_walk1.trc with subject01_walk1_ik.mot. A table of mean error against the way off the side
view, and how much of it the stated uncertainty holds.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from angle_walks import FILES, view_errors  # noqa: E402


def main() -> None:
    print("| walk | off the side | hip | knee | ankle | within 2 sigma |\n| --- | ---: | ---: | ---: | ---: | --- |")
    for name in FILES:
        for off, (errors, within) in view_errors(Path(sys.argv[1]), name).items():
            hip, knee, ankle = errors.reshape(3, 2).mean(1)
            held = " / ".join(f"{v:.2f}" for v in within.reshape(3, 2).mean(1))
            print(f"| {name} | {off}° | {hip:.1f} | {knee:.1f} | {ankle:.1f} | {held} |")


if __name__ == "__main__":
    main()
