"""How long sheets take to read, check and lay out: python tests/bench/sheets.py

Medians in milliseconds for a dance of so many rows; the sheets are made here.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from motion.dance.check import check_sheet
from motion.dance.drawing import figure_svg
from motion.dance.figures import FIGURES
from motion.dance.prose import read_prose
from motion.dance.sheet import parse_sheet, sheet_text
from motion.dance.song_plan import on_paper
from motion.dance.table import header_of, lines_of, look


def median_ms(work: Callable[[], object], times: int = 9) -> float:
    """Median time of so many runs."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return 1000 * statistics.median(taken)


def sheet_of(rows: int) -> str:
    """A dance of side steps, one a count."""
    steps = "".join(f"{n},{'RL'[(n + 1) % 2]},side,\n" for n in range(1, rows + 1))
    return f"# title: Made\n# counts: {rows}\n# walls: 1\n# bpm: 120\n# intro: 16\ncount,foot,move,turn\n{steps}"


def told(rows: int) -> str:
    """One line: what a dance of so many rows takes."""
    text = sheet_of(rows)
    sheet = parse_sheet(text, "made")
    header, lines = header_of(sheet), lines_of(sheet)
    prose = "".join(f"{n} Step {'RL'[(n + 1) % 2]} to side\n" for n in range(1, min(rows, 900) + 1))
    works: dict[str, Callable[[], object]] = {
        "read": lambda: parse_sheet(text, "made"),
        "check": lambda: check_sheet(sheet),
        "write": lambda: sheet_text(sheet),
        "table": lambda: look(header, lines),
        "in its song": lambda: on_paper(sheet, song_s=600.0),
        "prose": lambda: read_prose(prose),
    }
    times = 3 if rows > 1_000 else 9
    return f"{rows} rows, ms: " + ", ".join(f"{name} {median_ms(work, times):.1f}" for name, work in works.items())


def main() -> None:
    """Print one line a size."""
    for rows in (100, 1_000, 10_000):
        print(told(rows))
    print(f"all {len(FIGURES)} drawings: {median_ms(lambda: [figure_svg(figure) for figure in FIGURES]):.1f} ms")


if __name__ == "__main__":
    main()
