"""The contact network's weights are handed in: without any, nothing is found, and nothing of them stays for the next review."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from true_clips import SHEETS, true_clip, true_watched

from motion.base.options import JudgeOptions
from motion.base.types import Measurement, Steps
from motion.body.contact_network import Weights, load_weights, weights_in
from motion.review.judge import judge

NOTHING = Weights({name: np.zeros_like(layer) for name, layer in load_weights().items()})


def landings(one: Measurement) -> int:
    return sum(kind != "shift" for kind in one.steps.kinds) if isinstance(one.steps, Steps) else 0


def test_a_network_that_has_learned_nothing_finds_nothing() -> None:
    clip = true_clip("quarter-rock")
    watched = true_watched(clip)
    first_s = clip.told["beats"][clip.told["first_count_beat"]]
    for asked in (
        JudgeOptions(bpm=float(clip.told["bpm"]), first_count_s=first_s),
        JudgeOptions(dance=SHEETS / "porchlight.csv", bpm=float(clip.told["bpm"]), first_count_s=first_s),
    ):
        counts = [landings(judge(watched, asked, weights=weights).dancers[0]) for weights in (None, NOTHING, None)]
        assert counts[1] == 0
        assert counts[0] == counts[2] > 50


def test_weights_come_back_from_a_file(tmp_path: Path) -> None:
    np.savez(tmp_path / "some.npz", **load_weights())
    with (tmp_path / "some.npz").open("rb") as file:
        again = weights_in(file)
    assert set(again) == set(load_weights())
    assert all(np.array_equal(again[name], layer) for name, layer in load_weights().items())
    assert again != load_weights()
    assert load_weights() is load_weights()
