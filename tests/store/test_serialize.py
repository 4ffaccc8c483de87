"""review.json: the blocks of the data dictionary, with null and not_measured where something was not measured."""

from __future__ import annotations

import dataclasses
import json
import re
from typing import Any

import numpy as np
import pytest
from made import made_review

from motion.base.types import DanceSheet, Measurement, NotMeasured, Pairing, Restart, Review, Tag
from motion.store.serialize import number, numbers, plain, review_json, wall_starts
from motion.tell.count_line import count_chart
from motion.tell.words import wall_of


def changed(review: Review, **parts: Any) -> Review:
    first = dataclasses.replace(review.dancers[0], **parts)
    return dataclasses.replace(review, dancers=(first, *review.dancers[1:]))


def first_dancer(review: Review) -> dict[str, Any]:
    return review_json(review)["dancers"][0]


def test_blocks_and_keys_are_those_of_the_data_dictionary() -> None:
    review = review_json(made_review(2, 64, labels=("Ana", None), expires="2026-12-31"))
    assert {"format", "made_by", "clip", "beats", "dance", "dancers"} <= set(review)
    assert review["format"] == 1
    assert {
        "name", "sha256", "duration_s", "pictures", "damaged_pictures", "width_px", "height_px", "has_sound", "uneven_times",
        "stretches", "expires",
    } <= set(review["clip"])  # fmt: skip
    assert {"source", "times_s", "counts", "tempo_bpm", "half_at", "confidence", "first_count_s"} <= set(review["beats"])
    assert {k: review["dance"][k] for k in ("title", "counts", "walls")} == {"title": "Marking time", "counts": 32, "walls": 4}
    one = review["dancers"][0]
    assert {"id", "label", "track", "steps", "timing", "flags", "ranges"} <= set(one)
    assert set(one["track"]) == {"times_s", "pelvis_px", "height_px", "unsure"}
    assert set(one["steps"][0]) == {"time_s", "sigma_ms", "foot", "kind", "count", "offset_ms", "settled_s"}
    assert {"n", "bias_ms", "bias_interval_ms", "steadiness_ms", "vector_length", "drift_ms_per_count"} <= set(one["timing"])
    assert set(one["flags"][0]) == {"kind", "count", "until_count", "time_s", "size", "unit", "sure", "named", "words"}
    assert {"joint", "side", "low_deg", "high_deg", "sigma_deg", "pictures_used", "view_deg"} <= set(one["ranges"][0])
    assert [d["label"] for d in review["dancers"]] == ["Ana", None]
    assert review["clip"]["expires"] == "2026-12-31"
    json.dumps(review, allow_nan=False)


def test_values_stand_as_they_were_measured() -> None:
    review = made_review(1, 16)
    out = review_json(review)
    step, steps = out["dancers"][0]["steps"][0], review.dancers[0].steps
    assert isinstance(review.dancers[0].pairing, Pairing)
    assert step == {
        "time_s": round(float(steps.times_s[0]), 4),  # type: ignore[union-attr]
        "sigma_ms": 18.0,
        "foot": "right",
        "kind": "step",
        "count": 1.0,
        "offset_ms": round(float(review.dancers[0].pairing.offset_ms[0]), 1),
        "settled_s": None,
    }
    assert out["beats"]["counts"][:9] == [1, 2, 3, 4, 5, 6, 7, 8, 1]
    assert out["beats"]["first_count_s"] == pytest.approx(0.4 + 8 * 60 / 108, abs=1e-4)


def test_a_part_that_was_not_measured_says_why_and_is_never_zero() -> None:
    why = NotMeasured("x", "the feet were out of the picture")
    block = {"not_measured": "the feet were out of the picture"}
    everything = dict.fromkeys(("steps", "pairing", "timing", "flags", "angles", "ranges"), why)
    one = first_dancer(changed(made_review(1, 16), **everything, range_check=why))
    assert [one[k] for k in ("steps", "timing", "flags", "ranges", "angles", "range_check")] == [block] * 6
    assert review_json(made_review(sound=False))["beats"] == {"not_measured": "the clip has no sound"}


def test_without_beats_steps_keep_their_counts_and_lose_their_offsets() -> None:
    steps = first_dancer(made_review(1, 16, sound=False))["steps"]
    assert [s["count"] for s in steps[:3]] == [1.0, 2.0, 3.0]
    assert {s["offset_ms"] for s in steps} == {None}


def test_without_a_pairing_counts_and_offsets_are_null() -> None:
    steps = first_dancer(changed(made_review(1, 16), pairing=NotMeasured("pairing", "no beats")))["steps"]
    assert {(s["count"], s["offset_ms"]) for s in steps} == {(None, None)}


def test_no_sheet_no_dance_block_and_no_range_check_unless_asked() -> None:
    review = review_json(made_review(sheet=False))
    assert "dance" not in review
    assert "range_check" not in review["dancers"][0]
    row = {"task": "squat", "side": "left", "repetitions": 3, "range_deg": np.float64(80.5), "interval_deg": (75.0, float("nan"))}
    assert first_dancer(changed(made_review(), range_check=(row,)))["range_check"] == [
        {"task": "squat", "side": "left", "repetitions": 3, "range_deg": 80.5, "interval_deg": [75.0, None]}
    ]


def test_habits_stand_in_the_timing_and_the_rest_in_blocks_of_its_own() -> None:
    plain_one = first_dancer(made_review())
    assert "on_beat" not in plain_one["timing"]
    assert "sheet" not in plain_one
    assert {"phrase", "class"}.isdisjoint(review_json(made_review()))
    habits = {"on_beat": {"n": np.int64(3), "interval": (0.2, 0.6)}, "best": [3.5]}
    written = {"judged": 4, "as_written": 4, "differs": [], "restarts": [{"wall": 2, "caught": None}]}
    review = changed(made_review(), habits=habits, written=written)
    one = first_dancer(review)
    assert one["timing"]["on_beat"] == {"n": 3, "interval": [0.2, 0.6]}
    assert one["timing"]["n"] == plain_one["timing"]["n"]
    assert one["sheet"] == written
    why = NotMeasured("the phrase", "there is no sound")
    assert review_json(dataclasses.replace(review, phrase=why))["phrase"] == {"not_measured": "there is no sound"}
    json.dumps(review_json(dataclasses.replace(review, phrase={"basis": "entry", "walls": []})), allow_nan=False)


def test_pictures_without_the_dancer_are_left_out_of_the_track() -> None:
    review = made_review(1, 16)
    track = review.dancers[0].track
    pelvis, height = track.pelvis_px.copy(), track.height_px.copy()
    pelvis[10:20] = np.nan
    height[5] = np.nan
    hidden = dataclasses.replace(track, pelvis_px=pelvis, height_px=height, unsure=((0.25, 0.5),))
    out = first_dancer(changed(review, track=hidden))["track"]
    assert len(out["times_s"]) == len(out["pelvis_px"]) == len(out["height_px"]) == len(track.times_s) - 10
    assert out["times_s"][9:11] == numbers(track.times_s[[9, 20]], 4)
    assert out["height_px"][5] is None
    assert out["unsure"] == [[0.25, 0.5]]


def test_numbers_are_rounded_and_never_nan_or_minus_zero() -> None:
    assert number(1.23456, 2) == 1.23
    assert [number(v, 1) for v in (None, float("nan"), float("inf"))] == [None] * 3
    assert str(number(-0.01, 1)) == "0.0"
    assert numbers(np.array([[1.06, np.nan], [-0.001, 2.0]]), 1) == [[1.1, None], [0.0, 2.0]]


def test_settings_become_plain_types() -> None:
    made = {"a": np.float32(0.5), "b": (1, np.array([1.0, np.nan])), "c": float("inf"), 3: None, "d": NotMeasured("x", "why")}
    assert plain(made) == {"a": 0.5, "b": [1, [1.0, None]], "c": None, "3": None, "d": {"not_measured": "why"}}


def sheet(counts: int, **parts: Any) -> DanceSheet:
    return DanceSheet("t", counts, 4, (), **parts)


def test_walls_begin_where_restarts_and_tags_put_them() -> None:
    assert wall_starts(sheet(32), 96, 1) == [1, 33, 65]
    assert wall_starts(sheet(32), 97, 1) == [1, 33, 65, 97]
    # Worked by hand: walls of 32, the second cut after 16, so wall 3 begins at count 49.
    assert wall_starts(sheet(32, restarts=(Restart(2, 16),)), 90, 1) == [1, 33, 49, 81]
    # A tag of 4 after wall 1: wall 2 begins at 37.
    assert wall_starts(sheet(32, tags=(Tag(1, 32, 4, ()),)), 60, 1) == [1, 37]
    # The wall ends before its tag would come.
    assert wall_starts(sheet(32, restarts=(Restart(1, 8),), tags=(Tag(1, 32, 4, ()),)), 20, 1) == [1, 9]


def test_a_clip_that_begins_on_a_later_wall_keeps_the_walls_numbers() -> None:
    # It begins on wall 2, which is cut after 16: wall 3 begins at count 17, wall 4 at 49.
    starts = wall_starts(sheet(32, restarts=(Restart(2, 16),)), 50, 2)
    assert starts == [1, 1, 17, 49]
    assert [wall_of(count, starts) for count in (1, 16, 17, 49)] == [2, 2, 3, 4]
    review = review_json(dataclasses.replace(made_review(1, 40), starting_wall=3))
    assert review["dance"]["wall_starts"] == [1, 1, 1, 33]
    chart = count_chart(review["dancers"][0], review["beats"], review["dance"])
    assert re.findall(r"<title id[^>]*>Dancer 1, (wall \d)", chart) == ["wall 3", "wall 4"]


def test_a_measurement_of_every_dancer_in_order() -> None:
    review = made_review(3, 16)
    assert [d["id"] for d in review_json(review)["dancers"]] == [1, 2, 3]
    assert all(isinstance(d, Measurement) for d in review.dancers)
