"""When two hands that clap meet: where their closing ends, however they came.

A picture every 17 to 42 ms and readings that shake leave several movements open that end tens of milliseconds apart: sped up until the
palms stop them, at an even pace, braked, or coming to rest by themselves. So no one movement is laid on the readings: all of them
are weighed, and what cannot be told apart stays in the uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from motion.base.types import Floats, Landmarks
from motion.music.settings import PracticeSettings

SHOULDER_L, SHOULDER_R, ELBOW_L, ELBOW_R, WRIST_L, WRIST_R, HIP_L, HIP_R = 11, 12, 13, 14, 15, 16, 23, 24

#: Ways to close: speed over time tau = 0 .. 1 is tau^p (1 - c tau)^p' up to contact, p' = max(p, 1): (p, c, share of all claps).
#: c = 0 is never braked; (2, 1) is the smoothest way from rest to rest; between lies what is stopped by the other palm on the way.
WAYS = (
    (0.0, 0.0, 1.3), (0.5, 0.0, 0.5), (1.0, 0.0, 1.0), (0.0, 0.3, 0.5), (0.0, 0.5, 0.5), (0.0, 0.7, 0.3), (1.0, 0.5, 0.3),
    (2.0, 0.5, 0.5), (2.0, 0.6, 0.3), (2.0, 0.7, 0.3), (2.0, 0.8, 0.3), (1.0, 1.0, 0.1), (2.0, 1.0, 1.0),
)  # fmt: skip
#: After contact: (s at rest, power of the time since in which the hands part); the last stays together as far as is looked.
AFTER = ((0.0, 1.0), (0.0, 2.0), (0.03, 1.0), (0.03, 2.0), (0.06, 1.0), (0.06, 2.0), (0.1, 1.5), (9.0, 1.0))
STEP_S = 0.002  # s between contacts tried: well below what 60 pictures a second can tell
DURATIONS_S = tuple(np.geomspace(0.09, 0.45, 24))  # s from rest to contact: the fastest clap to the slowest still heard


@dataclass(frozen=True, eq=False)
class Meeting:
    """Two hands that clap, as seen.

    dancer is an index; time_s the contact on the pictures' clock, sigma_ms one standard deviation of it. at_s (N,): contacts tried,
    STEP_S apart; wrists, elbows (W, N): log of how likely the readings are for each way to close and each contact.
    """

    dancer: int
    time_s: float
    sigma_ms: float
    at_s: Floats
    wrists: Floats
    elbows: Floats


def meetings(marks: Landmarks, dancer: int, settings: PracticeSettings) -> list[Meeting]:
    """When a dancer's hands meet as in a clap, seen from the front or the back.

    Wrists come together fast from well apart, in front of the trunk, stop and part again the way they came: arms that swing past
    each other go on, and hands that rest in each other never part. None where the wrists shake too much to tell, as they do on
    somebody far off.
    """
    apart, elbows = _apart(marks, dancer, settings)
    reach, times_s = np.hypot(apart[:, 0], apart[:, 1]), marks.times_s
    noise = _noise(reach, settings)
    if noise > settings.wrist_noise_most_torsos:
        return []
    found: list[Meeting] = []
    done_s = -np.inf  # hands have parted since the last meeting
    for i in range(1, len(times_s) - 1):
        if times_s[i] <= done_s or not (
            reach[i] <= settings.wrists_meet_torsos and reach[i] <= reach[i - 1] and reach[i] < reach[i + 1]
        ):
            continue
        later = (times_s > times_s[i]) & (times_s <= times_s[i] + settings.clap_rest_s + settings.clap_swing_s)
        parted = np.flatnonzero(later & (reach >= reach[i] + settings.wrists_part_torsos))
        if not len(parted):
            continue
        together = reach[i : parted[0]][np.isfinite(reach[i : parted[0]])]
        shaky = 2 * float(np.hypot(noise, settings.hands_near_noise_torsos))
        low = float(np.median(together[together <= together.min() + 2 * shaky]))
        before = np.flatnonzero((times_s >= times_s[i] - settings.clap_swing_s) & (times_s > done_s) & (times_s < times_s[i]))
        before = before[np.isfinite(reach[before])]
        if not len(before):
            continue
        wide = int(before[np.argmax(reach[before])])
        open_again = np.flatnonzero((times_s > times_s[i]) & (times_s <= times_s[parted[0]] + settings.clap_swing_s))
        back = int(open_again[np.nanargmax(reach[open_again])])
        same_way = float(apart[wide] @ apart[back]) > 0.5 * reach[wide] * reach[back]
        if reach[wide] - low < settings.wrists_open_torsos or not same_way:
            continue
        done_s = times_s[parted[0]]
        first = wide + int(np.flatnonzero(reach[wide : parted[0]] <= low + shaky)[0])
        meeting = _meeting(dancer, times_s, reach, elbows, (wide, first), low, noise, settings)
        if meeting is not None:
            found.append(meeting)
    return found


def weighed(tables: list[Floats]) -> Floats:
    """Log of how likely each moment is (N,) by tables (W, N) of several claps of the same clip, which close the same unknown way."""
    shares = np.log(np.array([w[2] for w in WAYS]) / sum(w[2] for w in WAYS))
    rows = np.sum(tables, axis=0) + shares[:, None]
    top = rows.max()
    return np.asarray(top + np.log(np.exp(rows - top).sum(axis=0) + 1e-300))


def alike(claps: list[Meeting]) -> tuple[Floats, Floats]:
    """Contacts (K,) in s of claps that close the same unknown way, and their standard deviations (K,) in ms against each other: what that
    way leaves open moves all of them together and is not in it."""
    ways = np.array([w[2] for w in WAYS])
    evidence = np.sum([np.log(np.exp(c.wrists).sum(axis=1)) for c in claps], axis=0) + np.log(ways)
    share = np.exp(evidence - evidence.max())
    share = share / share.sum()
    parts = [[middle(c.at_s, row + weighed([c.elbows])) for row in c.wrists] for c in claps]
    return np.array(parts)[:, :, 0] @ share, 1000 * np.array(parts)[:, :, 1] @ share


def middle(moments: Floats, log_chance: Floats) -> tuple[float, float]:
    """Mean and standard deviation of moments (N,) that are as likely as log_chance (N,) says."""
    share = np.exp(log_chance - log_chance.max())
    share = share / share.sum()
    mean = float(share @ moments)
    return mean, float(np.sqrt(share @ (moments - mean) ** 2))


def _apart(marks: Landmarks, dancer: int, settings: PracticeSettings) -> tuple[Floats, Floats]:
    """Right wrist from left (F, 2) in torsos, and the elbows' distance (F,); NaN where it cannot be told."""
    points, seen = marks.image_px[:, dancer], marks.visibility[:, dancer]
    shoulders, hips = points[:, [SHOULDER_L, SHOULDER_R]].mean(1), points[:, [HIP_L, HIP_R]].mean(1)
    trunk = np.hypot(*(shoulders - hips).T)
    whole = np.isfinite(trunk) & (trunk > 0)
    torso = float(np.median(trunk[whole])) if whole.any() else np.nan
    width = np.hypot(*(points[:, SHOULDER_R] - points[:, SHOULDER_L]).T) / torso
    in_view = (seen[:, [WRIST_L, WRIST_R]] >= settings.seen).all(axis=1)
    above = points[:, [WRIST_L, WRIST_R], 1].mean(axis=1) < hips[:, 1]
    apart = (points[:, WRIST_R] - points[:, WRIST_L]) / torso
    bent = np.hypot(*(points[:, ELBOW_R] - points[:, ELBOW_L]).T) / torso
    elbows = np.where((seen[:, [ELBOW_L, ELBOW_R]] >= settings.seen).all(axis=1), bent, np.nan)
    return np.where((in_view & above & (width >= settings.facing_torsos))[:, None], apart, np.nan), elbows


def _noise(reach: Floats, settings: PracticeSettings) -> float:
    """How restless the wrists' distance (F,) is read, in torsos: the middle size of its second differences, in which a smooth movement
    hardly shows; independent readings of spread s have second differences of spread s times the root of six."""
    bend = np.abs(reach[2:] - 2 * reach[1:-1] + reach[:-2])
    bend = bend[np.isfinite(bend)]
    return max(settings.wrist_noise_torsos, 1.4826 * float(np.median(bend)) / np.sqrt(6) if len(bend) else 0.0)


def _meeting(
    dancer: int,
    times_s: Floats,
    reach: Floats,
    elbows: Floats,
    span: tuple[int, int],
    low: float,
    noise: float,
    settings: PracticeSettings,
) -> Meeting | None:
    """The clap of hands that are widest open at frame span[0] and first as near as at rest (low, torsos) at frame span[1]."""
    wide, first = span
    start = wide  # hands that wait open before they close show where closing begins
    while start > 0 and reach[start - 1] >= reach[wide] - 4 * noise and times_s[wide] - times_s[start - 1] < settings.clap_open_s:
        start -= 1
    near = np.flatnonzero(np.isfinite(reach) & (times_s <= times_s[first] + settings.clap_fit_after_s))
    near = near[near >= start]
    if len(near) < settings.clap_fewest_frames:
        return None
    t, r = times_s[near], reach[near]
    gap_s = float(np.median(np.diff(t)))
    at_s = np.arange(
        t[near >= first][0] - settings.clap_before_s - gap_s, t[near >= first][0] + settings.clap_fit_after_s + gap_s, STEP_S
    )
    # Hands that cover each other are drawn together, and then held apart, by the pose model.
    even = np.convolve(
        np.pad(r, 1, mode="edge"), np.ones(3) / 3, mode="valid"
    )  # or a reading too near would count less than one too far
    close = np.clip((settings.hands_near_torsos - even) / (settings.hands_near_torsos - settings.hands_met_torsos), 0, 1)
    spread = _spread(t, noise, settings.hands_near_noise_torsos * close, settings)
    # The widest of many noisy readings lies that much too far out.
    wrists, speed = _chances(t, r, at_s, float(reach[wide]) - low - 2 * noise, noise, spread, settings)
    if speed < settings.clap_speed_torsos_s:
        return None
    bent, still = elbows[near], np.zeros_like(wrists)
    closed = float(np.median(bent[near >= first][:3]))
    swing = float(np.median(bent[:3])) - closed
    if np.isfinite(bent).all() and swing > settings.elbows_close_torsos:
        shake = max(noise, settings.elbow_noise_torsos)
        still, _ = _chances(t, bent, at_s, swing, shake, _spread(t, shake, np.zeros(len(t)), settings), settings)
        still = _blurred(still, settings.elbow_lag_s)
    mean, sigma = middle(at_s, weighed([wrists]) + weighed([still]))
    return Meeting(dancer, mean, 1000 * sigma, at_s, wrists, still)


def _spread(t: Floats, noise: float, near: Floats, settings: PracticeSettings) -> Floats:
    """Covariance (n, n) in torsos squared of readings at t (n,): half of the pose model's error is new in every frame and half lasts;
    near (n,) comes on top where hands cover each other, and lasts for most of it."""
    since = np.abs(t[:, None] - t[None, :])
    own = np.eye(len(t))
    return np.asarray(
        noise**2 * (0.5 * own + 0.5 * np.exp(-since / settings.wrist_noise_lasts_s))
        + np.outer(near, near) * (0.1 * own + 0.9 * np.exp(-since / settings.hands_near_lasts_s))
    )


@cache
def _ways() -> tuple[Floats, Floats]:
    """Share of the way left (W, 201) over time to contact, 0 .. 1 of the closing; and its greatest steepness (W,)."""
    tau = np.linspace(0, 1, 201)
    left, steep = [], []
    for p, c, _ in WAYS:
        speed = tau**p * (1 - c * tau) ** max(p, 1.0)
        gone = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2)])
        left.append((1 - gone / gone[-1])[::-1])
        steep.append(speed.max() * (len(tau) - 1) / gone[-1])
    return np.array(left), np.array(steep)


def _chances(
    t: Floats, r: Floats, at_s: Floats, opening: float, noise: float, spread: Floats, settings: PracticeSettings
) -> tuple[Floats, float]:
    """(W, N) log of how likely distances r (n,) at t are for each way to close and contact at_s (N,); the best one's top speed a second.

    r = level + opening * way + parting * after, plus errors of that covariance; level is free, opening about the one seen, parting
    outward but for what palms give. Their likelihood is integrated over all three, over durations and over what follows.
    """
    table, steep = _ways()
    durations_s = np.array(DURATIONS_S)
    n, last = len(t), table.shape[1] - 1
    place = np.clip((at_s[:, None, None] - t) / durations_s[:, None], 0, 1) * last
    cell = np.minimum(place.astype(int), last - 1)
    part = place - cell
    shut = np.moveaxis(table[:, cell] * (1 - part) + table[:, cell + 1] * part, 0, 1).reshape(len(at_s), -1, n)
    since = t[None, :] - at_s[:, None]
    open_ = np.stack([(np.maximum(since - rest, 0.0) / 0.1) ** power for rest, power in AFTER], axis=1)
    white = np.linalg.inv(np.linalg.cholesky(spread))
    one = white @ np.ones(n)
    one = one / np.sqrt(one @ one)

    def levelled(v: Floats) -> Floats:
        v = v @ white.T
        return np.asarray(v - (v @ one)[..., None] * one)

    y, shut, open_ = levelled(r), levelled(shut), levelled(open_)
    sure, free = (
        1 / (settings.opening_share * opening + 2 * noise) ** 2,
        4.0,
    )  # 1/torso^2: of the opening seen; of half a torso in a tenth of a second
    cc, cy = (shut * shut).sum(-1)[:, :, None] + sure, (shut @ y)[:, :, None] + sure * opening
    aa, ay = (open_ * open_).sum(-1)[:, None, :] + free, (open_ @ y)[:, None, :]
    ca = np.einsum("tcn,tan->tca", shut, open_)
    det = cc * aa - ca**2
    swing, parting = (cy * aa - ca * ay) / det, (cc * ay - ca * cy) / det
    misfit = np.maximum(1e-6, y @ y + sure * opening**2 - cy * swing - ay * parting)
    together = np.array([rest > 1.0 for rest, _ in AFTER])
    allowed = (swing > 0) & ((parting >= -settings.hands_give_torsos) | together)
    # A fit better than the errors told beforehand was luck; one that is worse says that they were larger.
    worse = max(1.0, float(misfit[allowed].min()) / max(1, n - 4)) if allowed.any() else 1.0
    log_chance = np.where(allowed, -misfit / (2 * worse) - 0.5 * np.log(det), -np.inf)
    at, way, after = np.unravel_index(int(np.argmax(log_chance)), log_chance.shape)
    kind, length = divmod(int(way), len(durations_s))
    speed = float(swing[at, way, after] * steep[kind] / durations_s[length])
    rows = np.exp(log_chance - log_chance.max()).reshape(len(at_s), len(WAYS), -1).sum(axis=2).T
    return np.log(rows + 1e-30), speed


def _blurred(table: Floats, by_s: float) -> Floats:
    """The table (W, N) of log chances with the moment itself unsure by by_s."""
    steps = np.arange(table.shape[1])
    share = np.exp(-0.5 * ((steps[:, None] - steps[None, :]) * STEP_S / by_s) ** 2)
    return np.asarray(np.log(np.exp(table) @ (share / share.sum(axis=0)) + 1e-30))
