"""When does a foot come to the floor: a small network over half a second of one dancer's leg landmarks.

Why a network: the plain speed and height rules of gait laboratories find 9 of 10 landings but as many as half again that are
none (feet that shift, heels that rise, legs that the model confuses). Learned contacts beat such rules on marker data too
(Mourot et al. 2022, Computer Graphics Forum 41(8):195). Its weights lie in contact.npz beside this file; the bench holds the
script that made them, and says on which clips. It sees no picture: only where landmarks go, in leg lengths.

The curves it gives, at RATE_HZ: how plainly this foot lands now; whether a landing here takes weight; how plainly weight comes
onto this foot without a landing; and where a landing is near, how far off it is and how exactly that is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import IO

import numpy as np
from numpy.typing import NDArray

from motion.base.types import Floats, Sealed

RATE_HZ = 60.0
_OWN = {True: (24, 26, 28, 30, 32), False: (23, 25, 27, 29, 31)}  # hip, knee, ankle, heel, toe of the right / left leg
_SPEED_UNIT = 2.0  # leg lengths a second: a brisk swing of the foot becomes about 1
CHANNELS = 44
LOG_SPREAD = (-4.0, 1.5)  # of NEAR_S: 1 to 220 ms
NEAR_S = 0.05  # unit of how far off a landing is and of how exactly that is known


@dataclass(frozen=True, eq=False)
class Curves(Sealed):
    """times_s (T,); landing, weight, shift (T,) each 0..1; ahead_s (T,): from here to the landing that is near, and spread_s (T,): the
    mean distance of that from the truth (scale of Laplace's distribution)."""

    times_s: Floats
    landing: Floats
    weight: Floats
    shift: Floats
    ahead_s: Floats
    spread_s: Floats


def even_times(times_s: Floats) -> Floats:
    """The even grid (T,) at RATE_HZ over the pictures' times."""
    return np.asarray(np.arange(times_s[0], times_s[-1] + 0.5 / RATE_HZ, 1 / RATE_HZ))


def channels(
    times_s: Floats, points_px: Floats, leg_px: Floats, right: bool, covered: NDArray[np.bool_] | None = None
) -> Floats:  # fmt: skip
    """What the network sees of one foot: (T, CHANNELS) on the even grid.

    times_s (F,); points_px (F, 33, 2) without NaN; leg_px (F,) length of the leg as it appears; covered (F, 2): in which pictures the
    left and the right foot are not to be seen. The left foot is seen in a mirror, so that both feet are one case. Velocities of both
    feet, both knees, hips and shoulders; places of foot, other foot, hips and shoulders relative to each other; how both shanks and the
    other foot lie; how fast the body grows in the picture, as it does when it comes nearer; how long a picture lasts; and which foot is
    covered: what is read of it then is left out, and hips and knees speak for it.
    """
    grid = even_times(times_s)
    # divided only after differences are taken: else a leg that changes its measured length would look like speed
    leg = np.interp(grid, times_s, leg_px)[:, None]
    x = points_px * np.array([1.0 if right else -1.0, 1.0])
    own, other = _OWN[right], _OWN[not right]
    hips, shoulders = x[:, [23, 24]].mean(1), x[:, [11, 12]].mean(1)
    hidden = np.zeros((2, len(grid), 1), dtype=np.bool_)
    if covered is not None:
        order = (1, 0) if right else (0, 1)
        hidden = np.stack([np.interp(grid, times_s, covered[:, k].astype(np.float64))[:, None] > 0 for k in order])
    seen = [~hidden[0], ~hidden[1], ~(hidden[0] | hidden[1])]
    mine, others, both = 0, 1, 2
    moving = [(x[:, k], mine) for k in own[2:]] + [(x[:, k], others) for k in other[2:]]
    placed = [
        (x[:, own[2]] - x[:, other[2]], both),
        (x[:, own[2]] - hips, mine),
        (x[:, own[4]] - x[:, own[3]], mine),
        (hips - (x[:, own[2]] + x[:, other[2]]) / 2, both),
        (x[:, own[2]] - x[:, own[1]], mine),
        (x[:, other[2]] - x[:, other[1]], others),
        (x[:, other[4]] - x[:, other[3]], others),
    ]
    always = [x[:, own[1]] - hips, x[:, other[1]] - hips, shoulders - hips]
    velocity = [_velocity(grid, times_s, m) / leg / _SPEED_UNIT for m in (x[:, own[1]], x[:, other[1]], hips, shoulders)]
    velocity += [_velocity(grid, times_s, m) / leg / _SPEED_UNIT * seen[k] for m, k in moving]
    place = [_at(grid, times_s, p) / leg * seen[k] for p, k in placed] + [_at(grid, times_s, p) / leg for p in always]
    growing = _velocity(grid, times_s, np.log(leg_px)[:, None])
    lasts = np.full((len(grid), 1), float(np.median(np.diff(times_s))) * 30.0 - 1.0)
    return np.concatenate(
        [
            *(np.clip(v, -3, 3) for v in velocity),
            *place,
            np.clip(growing, -2, 2),
            np.clip(lasts, -1, 2),
            *hidden.astype(np.float64),
        ],
        1,
    )


def _at(grid: Floats, times_s: Floats, values: Floats) -> Floats:
    return np.stack([np.interp(grid, times_s, values[:, k]) for k in range(values.shape[1])], 1)


def _velocity(grid: Floats, times_s: Floats, values: Floats) -> Floats:
    """Differences over one picture's time at least, so that the grid's own steps do not show."""
    reach = max(0.5 / RATE_HZ, float(np.median(np.diff(times_s))) / 2)
    ahead, behind = _at(grid + reach, times_s, values), _at(grid - reach, times_s, values)
    return (ahead - behind) / (2 * reach)


class Weights(dict[str, Floats]):
    """Networks' weights by layer: kernel0 (M, D, C, W), bias0 (M, D), ... of M networks that were trained alike. One set is one key of
    what is kept in memory, whatever stands in it."""

    def __hash__(self) -> int:  # type: ignore[override]
        return id(self)

    def __eq__(self, other: object) -> bool:
        return self is other

    def __ne__(self, other: object) -> bool:
        return self is not other


@lru_cache(maxsize=1)
def load_weights() -> Weights:
    """The weights that come with the program."""
    with resources.files("motion.body").joinpath("contact.npz").open("rb") as file:
        return weights_in(file)


def weights_in(file: IO[bytes]) -> Weights:
    """The weights in a file such as contact.npz."""
    with np.load(file, allow_pickle=False) as stored:
        return Weights({name: stored[name].astype(np.float64) for name in stored.files})


def run_network(seen: Floats, weights: dict[str, Floats]) -> Floats:
    """(T, C) channels -> (T, 5): landing, weight, shift (0..1), ahead_s and spread_s, see Curves; the mean of the M networks, whose chance
    errors differ.

    Dilated convolutions over time, edges held.
    """
    value = seen.T[None]
    layers = sum(1 for name in weights if name.startswith("kernel"))
    for k in range(layers):
        value = _convolved(value, weights[f"kernel{k}"], weights[f"bias{k}"], 2**k if k < layers - 1 else 1)
        if k < layers - 1:
            value = np.maximum(value, 0.0)
    value = np.clip(value, -30, 30)
    told = (1 / (1 + np.exp(-value[:, :3]))).mean(0)
    ahead, spread = NEAR_S * value[:, 3].mean(0), NEAR_S * np.exp(np.clip(value[:, 4], *LOG_SPREAD)).mean(0)
    return np.asarray(np.vstack([told, ahead, spread]).T)


def _convolved(value: Floats, kernel: Floats, bias: Floats, spread: int) -> Floats:
    """value (M or 1, C, T), kernel (M, D, C, W) -> (M, D, T); taps `spread` samples apart."""
    members, outputs, inputs, width = kernel.shape
    reach = (width - 1) // 2 * spread
    padded = np.pad(value, ((0, 0), (0, 0), (reach, reach)), mode="edge")
    # One product over all taps: many small ones wait for each other wherever the computer has other work.
    taps = np.lib.stride_tricks.sliding_window_view(padded, value.shape[2], axis=2)[:, :, ::spread]
    return np.asarray(kernel.reshape(members, outputs, -1) @ taps.reshape(len(value), inputs * width, -1) + bias[:, :, None])


def curves(
    times_s: Floats, points_px: Floats, leg_px: Floats, right: bool, weights: dict[str, Floats],
    covered: NDArray[np.bool_] | None = None,
) -> Curves:  # fmt: skip
    """The curves of one foot of one dancer; see `channels` for the arguments."""
    out = run_network(channels(times_s, points_px, leg_px, right, covered), weights)
    return Curves(even_times(times_s), *out.T)
