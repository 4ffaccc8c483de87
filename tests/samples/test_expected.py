"""The sample clips and the numbers beside them: they belong together, and a real review comes out within them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from clip.test_no_network import internet_sockets
from pose_model import pose_model
from sample_reviews import SAMPLES, command, expected, review_words, run

from motion.clip.video import open_clip
from motion.dance.sheet import read_sheet
from motion.dance.unroll import unroll
from motion.desk.page_server import samples
from motion.review.settings import SETTINGS

NAMES = sorted(path.name.removesuffix(".expected.json") for path in SAMPLES.glob("*.expected.json"))
#: A heel's place taken by a toe: the same foot lands at the right time without weight, which a review does not tell from the step due.
NOT_TOLD = {("demo-two-walls", 55)}
Reviewed = Callable[[str], Path]


def is_near(value: float, wanted: dict[str, float]) -> bool:
    return abs(value - wanted["value"]) <= wanted["tolerance"]


def test_every_clip_has_its_numbers_and_the_page_offers_it_with_the_same_sheet() -> None:
    assert [path.stem for path in sorted(SAMPLES.glob("*.mp4"))] == NAMES
    assert len(NAMES) == 4
    offered = {clip.stem: sheet.name if sheet else None for _, clip, sheet in samples()}
    assert offered == {name: expected(name)["sheet"] for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_the_numbers_fit_the_clip(name: str) -> None:
    known = expected(name)
    clip = open_clip(SAMPLES / known["clip"], settings=SETTINGS.clip)
    assert (clip.width_px, clip.height_px, clip.has_sound) == (known["width_px"], known["height_px"], known["has_sound"])
    assert len(clip.times_s) == known["pictures"]
    assert clip.times_s[-1] == pytest.approx(known["last_picture_s"], abs=0.002)
    assert not clip.cut_short
    assert not clip.damaged_pictures
    assert ("tempo_bpm" in known) == known["has_sound"]
    assert [dancer["id"] for dancer in known["dancers"]] == list(range(1, len(known["dancers"]) + 1))


@pytest.mark.parametrize("name", [name for name in NAMES if expected(name)["sheet"]])
def test_the_landings_are_those_of_the_sheet(name: str) -> None:
    known = expected(name)
    due = sum(d.lands for d in unroll(read_sheet(SAMPLES / known["sheet"]), until_count=known["counts"] + 0.9))
    for dancer in known["dancers"]:
        missing = sum(f["planted"] == "miss" for f in dancer["faults"])
        assert dancer["landings"]["value"] == due - missing
        for fault in dancer["faults"]:
            assert 1 <= fault["count"] <= fault["until_count"] <= known["counts"]


@pytest.mark.slow
@pytest.mark.network
@pytest.mark.parametrize("name", NAMES)
def test_a_review_comes_out_as_expected(reviewed: Reviewed, name: str) -> None:
    known, review = expected(name), json.loads((reviewed(name) / "review.json").read_text(encoding="utf-8"))
    assert review["clip"]["name"] == known["clip"]
    assert len(review["dancers"]) == len(known["dancers"])
    if known["has_sound"]:
        assert is_near(review["beats"]["tempo_bpm"], known["tempo_bpm"])
        assert is_near(review["beats"]["first_count_s"], known["first_count_s"])
    else:
        assert review["beats"] == {"not_measured": "the clip has no sound"}
    for found, wanted in zip(review["dancers"], known["dancers"], strict=True):
        if "landings" in wanted:
            landings = [step for step in found["steps"] if step["kind"] != "shift"]
            assert is_near(len(landings), wanted["landings"])
            assert is_near(found["timing"]["bias_ms"], wanted["usual_ms"])
            flags_fit(name, [flag for flag in found["flags"] if flag["named"]], wanted["faults"])
        for joint in wanted.get("ranges", ()):
            told = next(r for r in found["ranges"] if (r["joint"], r["side"]) == (joint["joint"], joint["side"]))
            assert is_near(told["low_deg"], joint["low_deg"])
            assert is_near(told["high_deg"], joint["high_deg"])


def flags_fit(name: str, flags: list[dict[str, Any]], faults: list[dict[str, Any]]) -> None:
    """Every planted fault is told, under a name that fits, and nothing is told that lies more than two counts from one."""

    def meets(flag: dict[str, Any], fault: dict[str, Any], counts: float) -> bool:
        until = flag["until_count"] or flag["count"]
        return bool(flag["count"] - counts <= fault["until_count"] and until + counts >= fault["count"])

    for fault in faults:
        if (name, fault["count"]) not in NOT_TOLD:
            assert any(meets(flag, fault, 1) and flag["kind"] in fault["called"] for flag in flags), fault
    for flag in flags:
        assert any(meets(flag, fault, 2) for fault in faults), flag


@pytest.mark.slow
@pytest.mark.network
def test_judging_again_gives_the_same_answer(reviewed: Reviewed, tmp_path: Path) -> None:
    folder = tmp_path / "again"
    shutil.copytree(reviewed("practice-solo"), folder)
    before = json.loads((folder / "review.json").read_text(encoding="utf-8"))
    run(command("recount", folder))
    after = json.loads((folder / "review.json").read_text(encoding="utf-8"))
    for part in ("clip", "beats", "dance", "dancers", "notes"):
        assert after[part] == before[part], part
    for name in ("steps.csv", "beats.csv", "angles.csv"):
        assert (folder / name).read_bytes() == (reviewed("practice-solo") / name).read_bytes()


@pytest.mark.slow
@pytest.mark.network
def test_a_review_opens_no_internet_socket(tmp_path: Path) -> None:
    pose_model("fine")
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed, so nothing below Python can be seen")
    words = review_words("practice-solo", tmp_path / "out", "--from", "4", "--to", "8")
    assert internet_sockets(words, tmp_path / "trace") == []
    assert (tmp_path / "out" / "review.json").is_file()
    assert (tmp_path / "trace").stat().st_size > 0
