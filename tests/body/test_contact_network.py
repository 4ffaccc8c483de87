"""The contact network: its arithmetic against a plain one, and that left and right, place and size are all one to it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from made_walk import SIZE_PX, made_steps, mirrored

from motion.base.types import Floats
from motion.body.contact_network import (
    CHANNELS,
    LOG_SPREAD,
    NEAR_S,
    RATE_HZ,
    channels,
    curves,
    even_times,
    load_weights,
    run_network,
)
from motion.body.foot_contacts import leg_px_of

WEIGHTS = load_weights()
TIMES = np.arange(0, 6, 1 / 30)
LANDINGS = 1.5 + 0.5 * np.arange(8)


def by_hand(seen: list[list[float]], weights: dict[str, Floats]) -> list[list[float]]:
    """One network as loops over plain numbers: dilated convolutions with held edges, then a logistic, or a time and its spread."""
    value = [[row[c] for row in seen] for c in range(len(seen[0]))]
    layers = sum(1 for name in weights if name.startswith("kernel"))
    for k in range(layers):
        kernel, bias = weights[f"kernel{k}"].tolist(), weights[f"bias{k}"].tolist()
        spread = 2**k if k < layers - 1 else 1
        length, half = len(value[0]), (len(kernel[0][0]) - 1) // 2
        out = []
        for d in range(len(kernel)):
            line = []
            for t in range(length):
                total = bias[d]
                for c in range(len(value)):
                    for w in range(len(kernel[d][c])):
                        total += kernel[d][c][w] * value[c][min(max(t + (w - half) * spread, 0), length - 1)]
                line.append(total if k == layers - 1 else max(total, 0.0))
            out.append(line)
        value = out
    told = [1 / (1 + np.exp(-np.array(value[c]))) for c in range(3)]
    away = [NEAR_S * np.array(value[3]), NEAR_S * np.exp(np.clip(value[4], *LOG_SPREAD))]
    return np.array(told + away).T.tolist()


def test_the_network_against_plain_loops() -> None:
    seen = np.random.default_rng(1).normal(0, 0.4, (19, WEIGHTS["kernel0"].shape[2]))
    each = [by_hand(seen.tolist(), {k: v[m] for k, v in WEIGHTS.items()}) for m in range(len(WEIGHTS["kernel0"]))]
    np.testing.assert_allclose(run_network(seen, WEIGHTS), np.mean(each, axis=0), atol=1e-10)


def test_the_weights_fit_the_channels() -> None:
    layers = sorted(name for name in WEIGHTS if name.startswith("kernel"))
    marks = made_steps(TIMES, LANDINGS)
    points = marks.image_px[:, 0]
    seen = channels(TIMES, points, leg_px_of(TIMES, points), True)
    assert seen.shape == (len(even_times(TIMES)), CHANNELS)
    assert WEIGHTS["kernel0"].shape[2] == CHANNELS
    assert WEIGHTS[layers[-1]].shape[1] == 5
    for a, b in pairwise(layers):
        assert WEIGHTS[b].shape[2] == WEIGHTS[a].shape[1]
    assert len({len(w) for w in WEIGHTS.values()}) == 1
    assert all(np.isfinite(w).all() for w in WEIGHTS.values())


def test_the_grid_is_even_and_stays_within_the_clip() -> None:
    grid = even_times(np.array([0.1, 0.15, 0.9]))
    np.testing.assert_allclose(np.diff(grid), 1 / RATE_HZ)
    assert grid[0] == 0.1
    assert abs(grid[-1] - 0.9) <= 0.5 / RATE_HZ + 1e-9


def test_a_mirrored_dancers_left_foot_is_the_right_foot() -> None:
    marks = made_steps(TIMES, LANDINGS, noise_px=1.5)
    other = mirrored(marks, SIZE_PX[0])
    a, b = marks.image_px[:, 0], other.image_px[:, 0]
    for right in (True, False):
        one = curves(TIMES, a, leg_px_of(TIMES, a), right, WEIGHTS)
        two = curves(TIMES, b, leg_px_of(TIMES, b), not right, WEIGHTS)
        np.testing.assert_allclose(one.landing, two.landing, atol=1e-9)
        np.testing.assert_allclose(one.weight, two.weight, atol=1e-9)
        np.testing.assert_allclose(one.shift, two.shift, atol=1e-9)
        np.testing.assert_allclose(one.ahead_s, two.ahead_s, atol=1e-9)
        np.testing.assert_allclose(one.spread_s, two.spread_s, atol=1e-9)


@pytest.mark.parametrize(("factor", "by_px"), [(1.0, (300.0, -80.0)), (0.4, (0.0, 0.0)), (2.5, (-50.0, 400.0))])
def test_place_and_size_in_the_picture_do_not_matter(factor: float, by_px: tuple[float, float]) -> None:
    a = made_steps(TIMES, LANDINGS, noise_px=1.0).image_px[:, 0]
    b = a * factor + np.array(by_px)
    for right in (True, False):
        one = curves(TIMES, a, leg_px_of(TIMES, a), right, WEIGHTS)
        two = curves(TIMES, b, leg_px_of(TIMES, b), right, WEIGHTS)
        np.testing.assert_allclose(one.landing, two.landing, atol=1e-9)


def test_moving_the_clock_moves_the_curves() -> None:
    a = made_steps(TIMES, LANDINGS).image_px[:, 0]
    one = curves(TIMES, a, leg_px_of(TIMES, a), True, WEIGHTS)
    two = curves(TIMES + 100.0, a, leg_px_of(TIMES + 100.0, a), True, WEIGHTS)
    np.testing.assert_allclose(two.times_s - 100.0, one.times_s, atol=1e-9)
    np.testing.assert_allclose(one.landing, two.landing, atol=1e-6)


@pytest.mark.parametrize("foot", [0, 1])
def test_what_is_read_of_a_covered_foot_changes_nothing(foot: int) -> None:
    a = made_steps(TIMES, LANDINGS, noise_px=1.0).image_px[:, 0]
    hidden = np.zeros((len(TIMES), 2), dtype=np.bool_)
    hidden[60:120, foot] = True
    b = a.copy()
    b[60:120, [27 + foot, 29 + foot, 31 + foot]] += np.random.default_rng(3).normal(0, 60, (60, 3, 2))
    leg = leg_px_of(TIMES, a)
    for right in (True, False):
        own = curves(TIMES, a, leg, right, WEIGHTS, hidden)
        inside = (own.times_s > TIMES[62]) & (own.times_s < TIMES[117])
        seen = np.abs(channels(TIMES, a, leg, right, hidden) - channels(TIMES, b, leg, right, hidden))[inside]
        assert seen.max() < 1e-9
        shown = curves(TIMES, b, leg, right, WEIGHTS)
        assert np.abs(shown.landing - own.landing).max() > 0.05  # not told that it is covered, it would believe what it reads
