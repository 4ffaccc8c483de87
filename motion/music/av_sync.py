"""A clap in view says how much later than the picture the sound lies: hands that meet against the bang that is heard.

Sound and picture of a phone differ by tens of milliseconds, and sound takes 2.9 ms for every metre. Both move every dancer alike,
so nothing in the dancing itself can tell them from lateness. A clap can: its contact is seen and its bang is heard.
"""

from __future__ import annotations

import numpy as np

from motion.base.checks import number_between
from motion.base.types import Floats, Landmarks, NotMeasured, SoundOffset
from motion.music.hand_contact import STEP_S, Meeting, alike, meetings, middle, weighed
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import PracticeSettings

#: What an outcome is about that was seen and heard, but is too unsure to move anything by: worth telling whoever clapped.
UNSURE_CLAPS = "the sound's offset by claps"


def travel_ms(distance_m: float, *, settings: PracticeSettings) -> float:
    """Milliseconds that sound takes over a distance in metres (about 343 m/s at 20 degrees C). BadInput for no such distance."""
    number_between(distance_m, 0.0, settings.farthest_m, "the distance", "metres")
    return 1000.0 * distance_m / settings.sound_m_s


def clap_offset(
    marks: Landmarks, curve: OnsetCurve, *, distance_m: float | None = None, settings: PracticeSettings
) -> SoundOffset | NotMeasured:
    """How much later than the picture the sound lies, from the claps that are both seen and heard.

    Parameters: marks and curve on the same clip's clock; distance_m, only passed on: a clap where the music comes from already
    carries the sound's way. The value rests on all claps that agree; claps far apart also give a drift.
    NotMeasured when no hands meet as in a clap, when none of them is heard alone, when the claps disagree, or (what is then
    UNSURE_CLAPS) when they leave the offset open by more than settings.clap_sure_ms.
    """
    seen = [m for p in range(len(marks.ids)) for m in meetings(marks, p, settings)]
    if not seen:
        return NotMeasured("the sound's offset", "no clap is seen in the clip")
    heard = [(m, t) for m in seen if (t := _bang(m, seen, curve, settings)) is not None]
    if not heard:
        return NotMeasured("the sound's offset", "no clap that is seen can also be heard apart from the rest of the sound")
    at, sigma_ms = alike([m for m, _ in heard])
    offset_ms = 1000 * (np.array([t for _, t in heard]) - at)
    sigma_ms = np.hypot(sigma_ms, settings.clap_floor_ms)
    reach_ms = np.maximum(settings.clap_agree_ms, 3 * sigma_ms[None, :])
    reach_ms = reach_ms + settings.clap_drift_most_ms_per_min * np.abs(at[:, None] - at[None, :]) / 60
    near = np.abs(offset_ms[:, None] - offset_ms[None, :]) <= reach_ms
    best = int(np.argmax(near.sum(axis=1)))
    kept = near[best]
    if 2 * int(kept.sum()) <= len(kept):
        return NotMeasured("the sound's offset", "the claps that are seen and heard do not agree")
    at, offset_ms, weight = at[kept], offset_ms[kept], 1 / sigma_ms[kept] ** 2
    middle_s = float(np.average(at, weights=weight))
    drift = _drift(at, offset_ms, weight, middle_s, settings)
    agreed = [(m, t - drift / 60_000 * (m.time_s - middle_s)) for (m, t), keep in zip(heard, kept, strict=True) if keep]
    value_ms, sure_ms = _together(agreed, settings)
    spread_ms = float(np.std(offset_ms, ddof=1)) / np.sqrt(len(at)) if len(at) > 2 else 0.0
    apart_ms = max(float(np.hypot(sure_ms, settings.clap_floor_ms / np.sqrt(len(at)))), spread_ms)
    sure_ms = float(np.hypot(apart_ms, settings.clap_common_ms))
    if 2 * sure_ms > settings.clap_sure_ms:
        return _unsure(len(at), sure_ms)
    return SoundOffset(value_ms, sure_ms, len(at), middle_s, drift, distance_m)


def _together(claps: list[tuple[Meeting, float]], settings: PracticeSettings) -> tuple[float, float]:
    """(value_ms, sigma_ms) of the offset by claps that agree, each with the time of its bang.

    Claps of one clip close alike, in a way that is not known: were each counted by itself, what one leaves open would seem to average
    out. So each way is held against all of them first.
    """
    reach_s = settings.clap_reach_s + settings.clap_fit_after_s
    offsets_s = np.arange(-reach_s, reach_s, STEP_S)
    wrists: list[Floats] = []
    elbows: list[Floats] = []
    for meeting, bang_s in claps:
        at_s = bang_s - offsets_s
        for tables, table in ((wrists, meeting.wrists), (elbows, meeting.elbows)):
            rows = [np.interp(at_s, meeting.at_s, row, left=row.min(), right=row.min()) for row in table]
            tables.append(np.where((at_s >= meeting.at_s[0]) & (at_s <= meeting.at_s[-1]), rows, np.array(rows) - 10.0))
    mean_s, sigma_s = middle(offsets_s, weighed(wrists) + weighed(elbows))
    return 1000 * mean_s, 1000 * sigma_s


def _unsure(claps: int, sure_ms: float) -> NotMeasured:
    """The claps say too little: what was seen, how unsure it is, and what to do."""
    seen = "one clap was seen and heard, but it shows" if claps == 1 else f"{claps} claps were seen and heard, but they show"
    return NotMeasured(
        UNSURE_CLAPS,
        f"{seen} how far sound and picture are apart only to ± {2 * sure_ms:.0f} ms, so the beats were not moved. Next time, clap three "
        "times before the music, about a second apart: face the phone, hands in front of your chest, arms wide between claps",
    )


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
