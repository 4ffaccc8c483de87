"""From which side the camera sees a dancer, picture by picture.

Each cue in the picture says something about the cosine of the view (how far apart left and right lie: front against back) or about
its sine (where feet and face point: facing the picture's left or right). All cues are weighed over every possible view at once, and
the views of neighbouring pictures are tied together by how fast a body can turn (a hidden Markov model on the circle, forward
and backward), so that a single bad picture cannot turn the dancer round and nothing lags.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion.base.checks import need
from motion.base.geometry import wrapped_deg
from motion.base.signals import usual_step_s
from motion.base.types import Floats, Landmarks, Sealed
from motion.body.settings import AngleSettings

NOSE, EAR_L, EAR_R, SHOULDER_L, SHOULDER_R, HIP_L, HIP_R = 0, 7, 8, 11, 12, 23, 24
HEEL_L, HEEL_R, TOE_L, TOE_R = 29, 30, 31, 32
#: Elbow, wrist and knee of either side: what the body hides when seen from the other side.
LEFT_LIMBS, RIGHT_LIMBS = (13, 15, 25), (14, 16, 26)
VIEWS_DEG = np.arange(-180.0, 180.0, 5.0)


@dataclass(frozen=True, eq=False)
class View(Sealed):
    """View of one dancer over time: view_deg, sigma_deg (F,) at times_s (F,), NaN where not seen.

    0 faces the camera, +90 the dancer's right side is nearer, +-180 the back is turned to it.
    """

    times_s: Floats
    view_deg: Floats
    sigma_deg: Floats

    def _check(self) -> None:
        f = len(self.times_s)
        need(self.view_deg.shape == (f,), f"view_deg has shape {(f,)}", self.view_deg.shape)
        need(self.sigma_deg.shape == (f,), f"sigma_deg has shape {(f,)}", self.sigma_deg.shape)


def view_of(landmarks: Landmarks, p: int, *, settings: AngleSettings) -> View:
    """The view of dancer number p (index, not id) in every picture, as `views_of` has it."""
    return _views(landmarks, [p], settings)[0]


def views_of(landmarks: Landmarks, *, settings: AngleSettings) -> list[View]:
    """The view of every dancer in every picture, with its standard deviation.

    Parameters: landmarks as the model gave them (swaps of the legs already mended); settings, the strength of each cue.
    NaN in pictures in which the torso was not seen. The view is against the line of sight to the dancer, not the picture's axis:
    what counts for angles is what the camera sees.
    """
    return _views(landmarks, list(range(len(landmarks.ids))), settings)


def _views(landmarks: Landmarks, which: list[int], settings: AngleSettings) -> list[View]:
    bodies = [(landmarks.image_px[:, p], landmarks.visibility[:, p]) for p in which]
    torsos_px = [_torso_px(points) for points, _ in bodies]
    widths = [1.0] * len(which)
    posteriors: list[Floats] = []
    # twice: bodies are broader and narrower, which the clearly frontal pictures of the first pass tell
    for _ in range(2):
        told = zip(bodies, torsos_px, widths, strict=True)
        evidence = [_evidence(points, visibility, torso_px, width, settings) for (points, visibility), torso_px, width in told]
        # all dancers in one walk through time: as many steps as for one
        together = _over_time(landmarks.times_s, np.stack(evidence, 1), settings) if evidence else np.empty((0, 0, 0))
        posteriors = [together[:, n] for n in range(len(which))]
        seen_from = [_summary(posterior)[0] for posterior in posteriors]
        widths = [_width(landmarks.times_s, b[0], t, v, settings) for b, t, v in zip(bodies, torsos_px, seen_from, strict=True)]
    out = []
    for posterior, torso_px in zip(posteriors, torsos_px, strict=True):
        view, sigma = _summary(posterior)
        seen, sigma = np.isfinite(torso_px), np.hypot(sigma, settings.view_floor_deg)
        out.append(View(landmarks.times_s, np.where(seen, view, np.nan), np.where(seen, sigma, np.nan)))
    return out


def _torso_px(points: Floats) -> Floats:
    """Length of the torso in every picture (F,), px, NaN where it was not seen or has none."""
    torso = points[:, [SHOULDER_L, SHOULDER_R]].mean(1) - points[:, [HIP_L, HIP_R]].mean(1)
    long_px = np.hypot(torso[:, 0], torso[:, 1])
    return np.where(long_px > 1.0, long_px, np.nan)


def _separation(points: Floats, left: int, right: int, torso_px: Floats) -> Floats:
    """How far `left` lies to the picture's right of `right`, in torso lengths (F,)."""
    out: Floats = (points[:, left, 0] - points[:, right, 0]) / torso_px
    return out


def _evidence(points: Floats, visibility: Floats, torso_px: Floats, width: float, settings: AngleSettings) -> Floats:
    """Log-likelihood (F, views) of every view from one picture alone; heavy tails, so that no cue outvotes all others."""
    cos, sin = np.cos(np.radians(VIEWS_DEG)), np.sin(np.radians(VIEWS_DEG))
    head = (points[:, EAR_L, 0] + points[:, EAR_R, 0]) / 2
    limbs = np.where(np.isfinite(torso_px), visibility[:, RIGHT_LIMBS].mean(1) - visibility[:, LEFT_LIMBS].mean(1), np.nan)
    cues = (
        (_separation(points, SHOULDER_L, SHOULDER_R, torso_px), width * settings.shoulders_torsos, cos, settings.shoulders_sd),
        (_separation(points, HIP_L, HIP_R, torso_px), width * settings.hips_torsos, cos, settings.hips_sd),
        (_separation(points, EAR_L, EAR_R, torso_px), settings.ears_torsos, cos, settings.ears_sd),
        (_separation(points, TOE_L, HEEL_L, torso_px), settings.foot_torsos, sin, settings.foot_sd),
        (_separation(points, TOE_R, HEEL_R, torso_px), settings.foot_torsos, sin, settings.foot_sd),
        ((points[:, NOSE, 0] - head) / torso_px, settings.nose_torsos, sin, settings.nose_sd),
        (limbs, settings.limbs_visibility, sin, settings.limbs_sd),
    )
    total = np.zeros((len(points), len(VIEWS_DEG)))
    for value, size, shape, sd in cues:
        apart = (value[:, None] - size * shape[None, :]) / sd
        tail = settings.cue_tail
        total += np.nan_to_num(-0.5 * (tail + 1) * np.log1p(apart**2 / tail))
    return total


def _over_time(times_s: Floats, evidence: Floats, settings: AngleSettings) -> Floats:
    """Probability (F, P, views) of every view in every picture given the whole clip, from evidence of the same shape."""
    steps = np.diff(times_s)
    # errors of neighbouring pictures are alike: what one picture tells is worth only its share of the time they stay alike
    share = np.minimum(1.0, np.concatenate((steps[:1], steps)) / settings.cue_memory_s) if len(steps) else np.ones(1)
    weight = np.exp(share[:, None, None] * (evidence - evidence.max(2, keepdims=True)))
    apart = wrapped_deg(VIEWS_DEG[:, None] - VIEWS_DEG[None, :])
    kernels: dict[float, Floats] = {}

    def moved(belief: Floats, step_s: float) -> Floats:
        key = round(min(step_s, 1.0), 3)
        if key not in kernels:
            spread = np.hypot(settings.turn_deg_per_root_s * np.sqrt(key), 2.0)
            kernel = np.exp(-0.5 * (apart / spread) ** 2)
            kernels[key] = kernel / kernel.sum(1, keepdims=True)
        out: Floats = belief @ kernels[key].T
        return out

    flat = np.full(weight.shape[1:], 1.0 / len(VIEWS_DEG))
    forward, backward = np.empty_like(weight), np.empty_like(weight)
    for f in range(len(weight)):
        belief = (moved(forward[f - 1], steps[f - 1]) if f else flat) * weight[f]
        forward[f] = belief / belief.sum(1, keepdims=True)
    backward[-1] = flat
    for f in range(len(weight) - 2, -1, -1):
        belief = moved(backward[f + 1] * weight[f + 1], steps[f])
        backward[f] = belief / belief.sum(1, keepdims=True)
    both = forward * backward
    out: Floats = both / both.sum(2, keepdims=True)
    return out


def _summary(posterior: Floats) -> tuple[Floats, Floats]:
    """Circular mean and standard deviation about it, in degrees, each (F,)."""
    vector = posterior @ np.exp(1j * np.radians(VIEWS_DEG))
    view: Floats = np.degrees(np.angle(vector))
    apart = wrapped_deg(VIEWS_DEG[None, :] - view[:, None])
    sigma: Floats = np.sqrt((posterior * apart**2).sum(1))
    return view, sigma


def _width(times_s: Floats, points: Floats, torso_px: Floats, view_deg: Floats, settings: AngleSettings) -> float:
    """This dancer's breadth against the usual, from pictures seen clearly from front or back; 1 when there are too few."""
    cos = np.cos(np.radians(view_deg))
    ratio = _separation(points, SHOULDER_L, SHOULDER_R, torso_px) / (settings.shoulders_torsos * cos)
    ratio = ratio[np.isfinite(ratio) & (np.abs(cos) > settings.frontal_cos)]
    if len(ratio) * usual_step_s(times_s) < settings.frontal_s:
        return 1.0
    low, high = settings.width_limits
    return float(np.clip(np.median(ratio), low, high))
