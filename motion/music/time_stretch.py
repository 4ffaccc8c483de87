"""Slower without sounding lower: the sound in short pieces, laid down further apart, each taken from where it fits the last."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import number_between
from motion.base.types import Floats
from motion.music.settings import PracticeSettings

#: The fit is looked for in means of four samples, then among single ones.
COARSE = 4


def stretched(x: NDArray[np.float32], speed: float, rate_hz: int, *, settings: PracticeSettings) -> NDArray[np.float32]:
    """The sound (n,) at another speed, pitch kept: (round(n / speed),) samples. BadInput for a speed outside 0.25 .. 2.

    Overlap-add of similar waveforms (WSOLA: Verhelst and Roelands, ICASSP 1993). Moment t of the sound comes at t / speed, to
    within settings.stretch_seek_s.
    """
    number_between(speed, 0.25, 2.0, "the speed", "times")
    if speed == 1.0:
        return x
    half = COARSE * round(settings.stretch_frame_s / 2 * rate_hz / COARSE)
    seek = COARSE * round(settings.stretch_seek_s * rate_hz / COARSE)
    frame, wanted = 2 * half, round(len(x) / speed)
    window = np.hanning(frame + 1)[:-1].astype(np.float32)
    steps = int(np.ceil(wanted / half)) + 1
    edge = frame + seek + COARSE
    sound = np.concatenate([np.zeros(edge, np.float32), x, np.zeros(edge + frame + int(half * speed), np.float32)])
    coarse = sound[: len(sound) // COARSE * COARSE].reshape(-1, COARSE).mean(axis=1)
    out = np.zeros((steps + 1) * half, np.float32)
    at = edge - half
    for step in range(steps):
        # The piece's middle lies half a frame after its beginning.
        aim = edge + round(step * half * speed) - half
        if step:
            at = _fit(sound, coarse, at + half, aim, frame, seek)
        out[step * half : step * half + frame] += window * sound[at : at + frame]
    return out[half : half + wanted]


def _fit(sound: NDArray[np.float32], coarse: NDArray[np.float32], goes_on: int, aim: int, frame: int, seek: int) -> int:
    """Where, within seek samples of aim, the sound is most like what would have gone on at goes_on."""
    if not frame <= goes_on <= len(sound) - frame:
        return aim
    size, most, low = frame // COARSE, seek // COARSE, aim // COARSE
    model = coarse[goes_on // COARSE : goes_on // COARSE + size]
    best = low + _likest(coarse[low - most : low + most + size], model) - most
    first = max(0, best * COARSE - COARSE)
    near = sound[first : first + frame + 2 * COARSE]
    return first + _likest(near, sound[goes_on : goes_on + frame])


def _likest(field: NDArray[np.float32], model: NDArray[np.float32]) -> int:
    """Place in the field (n + m - 1,) at which the model (m,) correlates best with it, loudness apart."""
    product = np.correlate(field, model, mode="valid")
    power: Floats = np.concatenate([[0.0], np.cumsum(field.astype(np.float64) ** 2)])
    return int(np.argmax(product / np.sqrt(power[len(model) :] - power[: len(power) - len(model)] + 1e-9)))
