"""What is said to a background review and what it says: options as words, lines of progress in a file, the time left, how it ended."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

from motion.base.options import JudgeOptions, WatchOptions
from motion.base.progress import Progress
from motion.review.settings import SETTINGS


def progress_file(path: Path) -> Progress:
    """A progress that adds one JSON line {"words", "share", "at"} to a file; a few a second at most while the words stay."""
    last_words, last_s = "", 0.0

    def tell(words: str, share: float | None) -> None:
        nonlocal last_words, last_s
        now_s = time.time()
        if words == last_words and abs(now_s - last_s) < SETTINGS.page.tell_every_s and share != 1.0:
            return
        last_words, last_s = words, now_s
        with path.open("a", encoding="utf-8") as file:
            file.write(json.dumps({"words": words, "share": share, "at": now_s}, ensure_ascii=False) + "\n")

    return tell


def seconds_left(events: list[dict[str, Any]], now_s: float) -> float | None:
    """Seconds until the end at the pace so far, counted from where the share last began anew; None until there is a pace.

    Example: 0.0 at 100 s and 0.25 at 110 s, asked at 110 s, leave 30 s.
    """
    told = [(float(e["at"]), float(e["share"])) for e in events if e["share"] is not None]
    begin = max((i for i in range(1, len(told)) if told[i][1] < told[i - 1][1]), default=0)
    if len(told) - begin < 2:
        return None
    (first_s, first), (last_s, last) = told[begin], told[-1]
    if last - first < SETTINGS.page.least_share or last_s - first_s < SETTINGS.page.least_pace_s:
        return None
    return max(0.0, (1.0 - last) * (last_s - first_s) / (last - first) - (now_s - last_s))


def watch_words(watch: WatchOptions) -> list[str]:
    """The options of the slow part as the command's words."""
    words = ["--quality", watch.quality]
    for name, value in (("dancers", watch.dancers), ("from", watch.from_s), ("to", watch.to_s), ("model", watch.model)):
        words += [] if value is None else [f"--{name}", str(value)]
    return [*words, *(["--overlay"] if watch.overlay else [])]


def judge_words(judge: JudgeOptions) -> list[str]:
    """The options of the judgement as the command's words; what stands at its default is left out."""
    words: list[str] = []
    for name, value in (
        ("dance", judge.dance),
        ("beats", judge.beats),
        ("song", judge.song),
        ("distance", judge.distance_m),
        ("bpm", judge.bpm),
        ("first-count", judge.first_count_s),
        ("count-speed", None if judge.count_speed == "same" else judge.count_speed),
        ("starting-wall", None if judge.starting_wall == 1 else judge.starting_wall),
        ("standing", judge.standing),
        ("mirror", None if judge.mirror == "ask" else judge.mirror),
        *(("own-version", number) for number in judge.own_version),
    ):
        # One word, so that a value that begins with a minus is not taken for an option.
        words += [] if value is None else [f"--{name}={value}"]
    flags = {"--range-check": judge.range_check, "--body-facts": judge.body_facts, "--heard": judge.heard}
    return [*words, *(name for name, asked in flags.items() if asked)]
