"""A review from door to desk: what the command and the batch run, and judging a stored one again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from motion.data import BeatGrid, Review
from motion.options import JudgeOptions, WatchOptions
from motion.progress import Progress, quiet


def review_clip(
    clip: Path, out: Path, watching: WatchOptions, judging: JudgeOptions, *, progress: Progress = quiet, expires: str | None = None
) -> dict[str, Any]:
    """Review a clip into a folder and return review.json. Everything that can be refused is refused before the slow part."""
    from motion.review import check_asked, judge, watch
    from motion.store import check_out, write_review

    check_out(out)
    check_asked(judging)
    watched = watch(clip, watching, progress=progress)
    progress("Judging the counts", None)
    review = judge(watched, judging, expires=expires)
    data, html = _rendered(review)
    draw = (lambda target: _draw(clip, review, watching, target, progress)) if watching.overlay else None
    write_review(out, review, extra_arrays=watched.arrays(), report_html=html, overlay=draw)
    return data


def judge_folder(folder: Path, judging: JudgeOptions) -> dict[str, Any]:
    """Judge a stored review again, without the video, and return review.json.

    The sheet and the given beats of the stored review stay unless others are named; all else is as asked now.
    """
    from motion.dance.sheet import parse_sheet
    from motion.review import judge, stored_watch
    from motion.store import read_stored, write_review

    stored = read_stored(folder)
    made_by = {k: v for k, v in stored.review["made_by"].items() if k != "judged"}
    watched = stored_watch(stored.clip, stored.landmarks, stored.arrays, made_by)
    dance = stored.review.get("dance")
    sheet = parse_sheet(dance["written"], "the stored dance sheet") if dance else None
    beats = _given_beats(stored.review["beats"])
    review = judge(watched, judging, earlier_sheet=sheet, earlier_beats=beats, expires=stored.review["clip"]["expires"])
    data, html = _rendered(review)
    write_review(folder, review, extra_arrays=watched.arrays(), report_html=html)
    return data


def _given_beats(block: dict[str, Any]) -> BeatGrid | None:
    """The beats of a stored review where a person gave them; heard ones are found again."""
    if "not_measured" in block or block["source"] == "sound":
        return None
    times, counts = np.array(block["times_s"], dtype=np.float64), np.array(block["counts"], dtype=np.int64)
    one = block["first_count_s"]
    return BeatGrid(block["source"], times, counts, block["tempo_bpm"], block["half_at"], block["confidence"], one)


def _rendered(review: Review) -> tuple[dict[str, Any], str]:
    from motion.report import report_html
    from motion.store_json import review_json

    data = review_json(review)
    return data, report_html(data)


def _draw(clip: Path, review: Review, watching: WatchOptions, target: Path, progress: Progress) -> None:
    from motion.clip.sound import read_sound
    from motion.clip.video import pictures
    from motion.data import NotMeasured
    from motion.overlay import draw_overlay
    from motion.settings import SETTINGS

    progress("Drawing the counted clip", None)
    sound = read_sound(clip, review.clip, settings=SETTINGS.clip)
    with pictures(clip, review.clip, settings=SETTINGS.clip, from_s=watching.from_s, to_s=watching.to_s) as shown:
        draw_overlay(shown, review, target, sound=None if isinstance(sound, NotMeasured) else sound)
