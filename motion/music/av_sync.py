"""A clap in view says how much later than the picture the sound lies: hands that meet against the bang that is heard.

Sound and picture of a phone differ by tens of milliseconds, and sound takes 2.9 ms for every metre. Both move every dancer alike,
so nothing in the dancing itself can tell them from lateness. A clap can: its contact is seen and its bang is heard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion.base.checks import number_between
from motion.base.types import Floats, Landmarks, NotMeasured, SoundOffset
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import PracticeSettings

SHOULDER_L, SHOULDER_R, WRIST_L, WRIST_R, HIP_L, HIP_R = 11, 12, 15, 16, 23, 24


@dataclass(frozen=True)
class Meeting:
    """Two hands that clap, as seen: dancer is an index, time_s the contact on the pictures' clock, sigma_ms how exactly."""

    dancer: int
    time_s: float
    sigma_ms: float


def travel_ms(distance_m: float, *, settings: PracticeSettings) -> float:
    """Milliseconds that sound takes over a distance in metres (about 343 m/s at 20 degrees C). BadInput for no such distance."""
    number_between(distance_m, 0.0, settings.farthest_m, "the distance", "metres")
    return 1000.0 * distance_m / settings.sound_m_s


def clap_offset(
    marks: Landmarks, curve: OnsetCurve, *, distance_m: float | None = None, settings: PracticeSettings
) -> SoundOffset | NotMeasured:
    """How much later than the picture the sound lies, from the claps that are both seen and heard.

    Parameters: marks and curve on the same clip's clock; distance_m, only passed on: a clap where the music comes from already
    carries the sound's way. The value is the weighted mean of the claps that agree; claps far apart also give a drift.
    NotMeasured when no hands meet as in a clap, when none of them is heard alone, or when the claps disagree.
    """
    seen = [m for p in range(len(marks.ids)) for m in meetings(marks, p, settings)]
    if not seen:
        return NotMeasured("the sound's offset", "no clap is seen in the clip")
    heard = [(m, t) for m in seen if (t := _bang(m, seen, curve, settings)) is not None]
    if not heard:
        return NotMeasured("the sound's offset", "no clap that is seen can also be heard apart from the rest of the sound")
    at = np.array([m.time_s for m, _ in heard])
    offset_ms = np.array([1000 * (t - m.time_s) for m, t in heard])
    sigma_ms = np.hypot([m.sigma_ms for m, _ in heard], settings.clap_floor_ms)
    reach_ms = np.maximum(settings.clap_agree_ms, 3 * sigma_ms[None, :])
    reach_ms = reach_ms + settings.clap_drift_most_ms_per_min * np.abs(at[:, None] - at[None, :]) / 60
    near = np.abs(offset_ms[:, None] - offset_ms[None, :]) <= reach_ms
    best = int(np.argmax(near.sum(axis=1)))
    kept = near[best]
    if 2 * int(kept.sum()) <= len(kept):
        return NotMeasured("the sound's offset", "the claps that are seen and heard do not agree")
    at, offset_ms, weight = at[kept], offset_ms[kept], 1 / sigma_ms[kept] ** 2
    middle_s = float(np.average(at, weights=weight))
    value_ms = float(np.average(offset_ms, weights=weight))
    spread_ms = float(np.std(offset_ms, ddof=1)) / np.sqrt(len(at)) if len(at) > 2 else 0.0
    sure_ms = max(float(1 / np.sqrt(weight.sum())), spread_ms)
    return SoundOffset(value_ms, sure_ms, len(at), middle_s, _drift(at, offset_ms, weight, middle_s, settings), distance_m)


def way_offset(distance_m: float, *, settings: PracticeSettings) -> SoundOffset:
    """The offset that a stated distance from phone to loudspeaker makes by itself; the air's warmth moves it by 2 %."""
    late_ms = travel_ms(distance_m, settings=settings)
    return SoundOffset(late_ms, 0.02 * late_ms, 0, distance_m=distance_m)


def on_pictures(curve: OnsetCurve, offset: SoundOffset) -> OnsetCurve:
    """The onset curve moved from the sound's clock to the pictures': an onset heard together with a step comes to lie on it."""

    def moved(times_s: Floats) -> Floats:
        return to_pictures(times_s, offset)

    ends = moved(np.array([curve.fine_start_s, curve.fine_start_s + curve.fine_step_s, curve.from_s, curve.until_s]))
    parts = {name: getattr(curve, name) for name in curve.__dataclass_fields__}
    parts |= {"times_s": moved(curve.times_s), "colour_times_s": moved(curve.colour_times_s), "fine_start_s": float(ends[0])}
    parts |= {"fine_step_s": float(ends[1] - ends[0]), "from_s": float(ends[2]), "until_s": float(ends[3])}
    return OnsetCurve(**parts)


def to_pictures(times_s: Floats, offset: SoundOffset) -> Floats:
    """Times (N,) of the sound's clock on the pictures' clock."""
    late_ms = offset.value_ms + offset.drift_ms_per_min * (times_s - offset.at_s) / 60.0
    return np.asarray(times_s - late_ms / 1000.0)


def to_sound(times_s: Floats, offset: SoundOffset) -> Floats:
    """Times (N,) of the pictures' clock on the sound's clock: undoes `to_pictures`."""
    rate = offset.drift_ms_per_min / 60_000.0
    return np.asarray((times_s + offset.value_ms / 1000.0 - rate * offset.at_s) / (1.0 - rate))


def meetings(marks: Landmarks, dancer: int, settings: PracticeSettings) -> list[Meeting]:
    """When a dancer's hands meet as in a clap, seen from the front or the back.

    Wrists come together fast from well apart, in front of the trunk, stop at once and part again the way they came: arms that
    swing past each other go on, and hands that rest in each other never part. None where the wrists shake too much to tell, as they
    do on somebody far off.
    """
    apart = _wrists_apart(marks, dancer, settings)
    reach = np.hypot(apart[:, 0], apart[:, 1])
    times_s, found = marks.times_s, []
    noise = _noise(reach, settings)
    if noise > settings.wrist_noise_most_torsos:
        return []
    for i in range(1, len(times_s) - 1):
        if not (reach[i] <= settings.wrists_meet_torsos and reach[i] <= reach[i - 1] and reach[i] < reach[i + 1]):
            continue
        before = np.flatnonzero((times_s >= times_s[i] - settings.clap_swing_s) & (times_s < times_s[i]) & np.isfinite(reach))
        after = np.flatnonzero((times_s > times_s[i]) & (times_s <= times_s[i] + settings.clap_swing_s) & np.isfinite(reach))
        if not len(before) or not len(after):
            continue
        wide, back = before[np.argmax(reach[before])], after[np.argmax(reach[after])]
        opened = reach[wide] - reach[i] >= settings.wrists_open_torsos and reach[back] - reach[i] >= settings.wrists_part_torsos
        same_way = float(apart[wide] @ apart[back]) > 0.5 * reach[wide] * reach[back]
        if opened and same_way and (contact := _contact(times_s, reach, int(wide), i, noise, settings)) is not None:
            found.append(Meeting(dancer, *contact))
    return [m for k, m in enumerate(found) if not k or m.time_s - found[k - 1].time_s > 2 * settings.clap_fit_after_s]


def _wrists_apart(marks: Landmarks, dancer: int, settings: PracticeSettings) -> Floats:
    """Right wrist from left (F, 2) in torsos, NaN where it cannot be told."""
    points, seen = marks.image_px[:, dancer], marks.visibility[:, dancer]
    shoulders, hips = points[:, [SHOULDER_L, SHOULDER_R]].mean(1), points[:, [HIP_L, HIP_R]].mean(1)
    trunk = np.hypot(*(shoulders - hips).T)
    whole = np.isfinite(trunk) & (trunk > 0)
    torso = float(np.median(trunk[whole])) if whole.any() else np.nan
    width = np.hypot(*(points[:, SHOULDER_R] - points[:, SHOULDER_L]).T) / torso
    in_view = (seen[:, [WRIST_L, WRIST_R]] >= settings.seen).all(axis=1)
    above = points[:, [WRIST_L, WRIST_R], 1].mean(axis=1) < hips[:, 1]
    apart = (points[:, WRIST_R] - points[:, WRIST_L]) / torso
    return np.where((in_view & above & (width >= settings.facing_torsos))[:, None], apart, np.nan)


def _noise(reach: Floats, settings: PracticeSettings) -> float:
    """How restless the wrists' distance (F,) is read, in torsos: the middle size of its second differences, in which a smooth movement
    hardly shows; independent readings of spread s have second differences of spread s times the root of six."""
    bend = np.abs(reach[2:] - 2 * reach[1:-1] + reach[:-2])
    bend = bend[np.isfinite(bend)]
    return max(settings.wrist_noise_torsos, 1.4826 * float(np.median(bend)) / np.sqrt(6) if len(bend) else 0.0)


def _contact(
    times_s: Floats, reach: Floats, wide: int, i: int, usual: float, settings: PracticeSettings
) -> tuple[float, float] | None:
    """(time_s, sigma_ms) of contact near picture i, for hands that come from their widest opening at picture `wide`; usual: the noise of
    the wrists' distance in torsos.

    From rest at the opening D the hands speed up evenly until they are stopped, so that h seconds before contact they are
    v h - (v h)^2 / 4D further apart than at contact; after it they rest or part evenly. Speed and contact are tried, the rest is
    least squares.
    """
    near = (np.arange(len(times_s)) >= wide) & (times_s <= times_s[i] + settings.clap_fit_after_s) & np.isfinite(reach)
    t, r = times_s[near], reach[near]
    gap_s = float(np.median(np.diff(t)))
    # The widest and the nearest of many noisy readings lie that much too far out.
    opening = float(reach[wide] - reach[i]) - 2 * settings.wrist_noise_torsos
    tries = np.arange(times_s[i] - settings.clap_rest_s, times_s[i] + gap_s, 0.001)
    tries = tries[(tries > t[0]) & (tries < t[-1])]
    if len(t) < 4 or not len(tries):
        return None
    best = (np.inf, 0.0, 0.0)
    for speed in np.geomspace(settings.clap_speed_torsos_s / 2, 8 * settings.clap_speed_torsos_s, 40):
        gone = speed * np.minimum(np.maximum(tries[:, None] - t[None, :], 0.0), 2 * opening / speed)
        rest = r - (gone - gone**2 / (4 * opening))
        since = np.maximum(t[None, :] - tries[:, None], 0.0)
        level, away = rest.mean(axis=1), since - since.mean(axis=1, keepdims=True)
        parting = np.maximum(0.0, np.sum(away * rest, axis=1) / np.maximum(1e-9, np.sum(away**2, axis=1)))
        misfit = np.sum((rest - level[:, None] - parting[:, None] * away) ** 2, axis=1)
        k = int(np.argmin(misfit))
        best = min(best, (float(misfit[k]), float(tries[k]), float(speed)))
    misfit_least, contact_s, speed_there = best
    if speed_there < settings.clap_speed_torsos_s:
        return None
    noise = max(usual, float(np.sqrt(misfit_least / max(1, len(t) - 4))))
    # Between two pictures the hands were not seen: however clean the fit, part of that gap stays open.
    return contact_s, 1000 * float(np.hypot(noise * np.sqrt(1.5) / speed_there, settings.clap_gap_share * gap_s))


def _bang(meeting: Meeting, seen: list[Meeting], curve: OnsetCurve, settings: PracticeSettings) -> float | None:
    """When the clap is heard, on the sound's clock; None unless it stands alone: one sharp onset for one pair of hands."""
    others = [m for m in seen if m is not meeting and abs(m.time_s - meeting.time_s) <= settings.clap_alone_s]
    if any(m.dancer != meeting.dancer and abs(m.time_s - meeting.time_s) <= settings.clap_reach_s for m in others):
        return None  # several people clap at once: whose bang is it?
    times_s = curve.fine_start_s + np.arange(len(curve.fine)) * curve.fine_step_s
    # A sound that begins or ends so near could hide the rest.
    if not curve.from_s + 0.05 <= meeting.time_s - settings.clap_reach_s <= curve.until_s - 2 * settings.clap_reach_s:
        return None
    close = np.flatnonzero(np.abs(times_s - meeting.time_s) <= settings.clap_reach_s)
    top = int(close[np.argmax(curve.fine[close])])
    strong = float(curve.fine[top])
    if strong < settings.clap_onset or top in (close[0], close[-1]):
        return None
    around = np.flatnonzero(np.abs(times_s - times_s[top]) <= settings.clap_alone_s)
    for m in others:  # another clap of the same hands has its own bang, as far from its meeting
        around = around[np.abs(times_s[around] - m.time_s - (times_s[top] - meeting.time_s)) > 0.08]
    rivals = around[np.abs(times_s[around] - times_s[top]) > 0.03]
    if len(rivals) and float(curve.fine[rivals].max()) > settings.clap_alone * strong:
        return None
    y = curve.fine[top - 1 : top + 2].astype(float)
    bend = y[0] - 2 * y[1] + y[2]
    part = 0.5 * (y[0] - y[2]) / bend if bend < 0 else 0.0
    return float(times_s[top] + part * curve.fine_step_s) + settings.clap_rise_s


def _drift(at: Floats, offset_ms: Floats, weight: Floats, middle_s: float, settings: PracticeSettings) -> float:
    """Growth of the offset in ms a minute; 0 unless claps far apart show more than twice its own uncertainty."""
    if np.ptp(at) < settings.clap_drift_s:
        return 0.0
    away = at - middle_s
    moment = float(np.sum(weight * away**2))
    slope = float(np.sum(weight * away * offset_ms)) / moment
    return 60.0 * slope if abs(slope) > 2 / np.sqrt(moment) else 0.0
