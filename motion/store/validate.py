"""Does a review.json hold what everything that reads it leans on? A file that was edited, or merged by a program that keeps two
computers alike, can be good JSON and no review."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

#: True where a value is as it should be.
Fits = Callable[[Any], bool]


def misfit(review: Mapping[str, Any]) -> str | None:
    """The first block of review.json (as `read_review` gives it) that is not as it was written, such as "clip" or "dancers"; None if
    all are. Parts that came later than the format itself are looked at only where they are there."""
    blocks = {"clip": _CLIP, "beats": _BEATS, "dance": _maybe(_DANCE), "dancers": _rows(_DANCER), "notes": _rows(_text)}
    return next((name for name, fits in blocks.items() if not fits(review.get(name))), None)


def _text(value: Any) -> bool:
    return isinstance(value, str)


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _truth(value: Any) -> bool:
    return isinstance(value, bool)


def _maybe(fits: Fits) -> Fits:
    return lambda value: value is None or fits(value)


def _rows(fits: Fits) -> Fits:
    return lambda value: isinstance(value, list) and all(fits(one) for one in value)


def _block(**parts: Fits) -> Fits:
    """An object with these parts; others beside them are let through."""
    return lambda value: isinstance(value, dict) and all(name in value and fits(value[name]) for name, fits in parts.items())


def _measured(fits: Fits) -> Fits:
    """As `fits` says, or an object that says why it was not measured."""
    return lambda value: fits(value) or (isinstance(value, dict) and _text(value.get("not_measured")))


def _where_there(name: str, fits: Fits) -> Fits:
    return lambda value: name not in value or fits(value[name])


def _all(*each: Fits) -> Fits:
    return lambda value: all(fits(value) for fits in each)


_INTERVALS = _rows(lambda pair: isinstance(pair, list) and len(pair) == 2 and all(map(_number, pair)))
_PAIR = _maybe(lambda pair: isinstance(pair, list) and len(pair) == 2 and all(map(_maybe(_number), pair)))
_CLIP = _block(
    name=_text, sha256=_text, duration_s=_number, pictures=_whole, width_px=_whole, height_px=_whole, has_sound=_truth,
    stretches=_INTERVALS, expires=_maybe(_text),
)  # fmt: skip
_BEATS = _measured(
    _all(
        _block(
            source=_text, times_s=_rows(_number), counts=_rows(_whole), tempo_bpm=_number, half_at=_number, confidence=_number,
            first_count_s=_maybe(_number),
        ),
        lambda beats: len(beats["times_s"]) == len(beats["counts"]),
    )
)  # fmt: skip
_DANCE = _block(title=_text, counts=_whole, walls=_whole, wall_starts=_rows(_number), written=_text)
_STEP = _block(time_s=_number, sigma_ms=_number, foot=_text, kind=_text, count=_maybe(_number), offset_ms=_maybe(_number))
_FLAG = _block(
    kind=_text, count=_maybe(_number), until_count=_maybe(_number), time_s=_maybe(_number), size=_maybe(_number), sure=_number,
    named=_truth, words=_text,
)  # fmt: skip
_WALL = _block(count=_number, foot=_text)
_DANCER = _all(
    _block(
        id=_whole, label=_maybe(_text),
        track=_block(times_s=_rows(_number), pelvis_px=_rows(_rows(_number)), height_px=_rows(_maybe(_number)), unsure=_INTERVALS),
        steps=_rows(_STEP),
        timing=_measured(_block(n=_whole, bias_ms=_number, bias_interval_ms=_PAIR, steadiness_ms=_maybe(_number))),
        flags=_measured(_rows(_FLAG)),
        ranges=_measured(_rows(_block(joint=_text, side=_text))),
    ),
    _where_there("walls", _maybe(_measured(_rows(_all(_WALL, _where_there("differs", _rows(_block(what=_text)))))))),
    _where_there("sheet", _maybe(_measured(_block(judged=_whole, as_written=_whole, differs=_rows(_block(count=_number)))))),
)  # fmt: skip
