"""The beat grid of a clip: where the beats are, how fast, how sure, and what is doubtful."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from motion.base.checks import number_between
from motion.base.types import BeatGrid, Floats, NotMeasured
from motion.music.beat_tracking import activation, decode, on_rise, one_level, smooth
from motion.music.counts import at_speed, changed, first_count_candidates, with_first_count
from motion.music.metre import bar_start, beats_in_bar, half_place, other_bar
from motion.music.metrical_level import candidates, chances
from motion.music.onset_strength import OnsetCurve
from motion.music.settings import MusicSettings


def find_beats(
    curve: OnsetCurve,
    *,
    beats_per_bar: int | None = None,
    bpm_hint: float | None = None,
    speed: Literal["half", "same", "double"] = "same",
    settings: MusicSettings,
) -> BeatGrid | NotMeasured:
    """Beats of the sound behind an onset curve.

    Parameters: beats_per_bar 3 or 4 as the sheet says, None to find it; bpm_hint, a tempo in beats a minute from a sheet or from
    the dancers' steps, which settles double and half; speed, what the person wants counted instead.
    Returns a BeatGrid from the first to the last beat heard, or NotMeasured when nothing regular is heard. BadInput when the
    hint is no tempo.
    """
    if bpm_hint is not None:
        number_between(bpm_hint, 20, 400, "the tempo", "beats a minute")
    heard = [part for piece in stretches(curve, settings) for part in _dances(piece, bpm_hint, settings)]
    if not heard:
        return NotMeasured("the beat", "no steady beat could be heard in the sound")
    main = max(heard, key=lambda part: len(part.beats_s))
    times_s = np.concatenate([part.beats_s for part in heard])
    doubts = [main.rival] if main.rival else []
    for before, after in pairwise(heard):
        doubts.append(f"The music stops between {before.beats_s[-1]:.0f} and {after.beats_s[0]:.0f} s; nothing is counted there.")
    for from_s, to_s in (hole for part in heard for hole in part.holes):
        doubts.append(
            f"Between {from_s:.0f} and {to_s:.0f} s no steady beat is heard, as when people talk; nothing is counted there."
        )
    bar, lead = (beats_per_bar, 1.0) if beats_per_bar else beats_in_bar(main.curve, main.beats_s, settings)
    if lead < settings.metre_margin:
        doubts.append(f"It is not certain that the music goes in {'threes' if bar == 3 else 'fours'}.")
    other = other_bar(main.curve, main.beats_s, beats_per_bar, settings) if beats_per_bar else None
    if other is not None:
        doubts.append(f"The sheet counts in bars of {bar}; the music sounds like bars of {other}. The counts follow the sheet.")
    start, bar_sure = bar_start(curve, times_s, bar, settings)
    section = 6 if bar == 3 else 8
    half = half_place(main.curve, main.beats_s, settings)
    grid = BeatGrid(
        source="sound",
        times_s=times_s,
        counts=(np.arange(len(times_s)) - start) % section + 1,
        tempo_bpm=float(60 / np.median(np.diff(main.beats_s))),
        half_at=0.5 if half is None else half,
        confidence=main.confidence,
        first_count_s=None,
    )
    firsts = first_count_candidates(grid, curve, settings=settings)
    if firsts and firsts[0][1] >= settings.first_count_sure:
        grid = with_first_count(grid, firsts[0][0])
    else:
        doubts.append(f"The sound alone does not say which beat is count 1; where the {section} begins is a guess.")
        if bar_sure < settings.bar_lead:
            doubts.append("Which beat begins a bar is not certain either.")
    if grid.confidence < settings.doubtful:
        doubts.append("The beat is hard to hear in this clip.")
    grid = changed(grid, doubts=tuple(doubts))
    return grid if speed == "same" else at_speed(grid, speed)


@dataclass(frozen=True)
class _Heard:
    """Beats of one stretch of music: beats_s (B,), confidence 0..1, the doubt about its level or phase ("" for none), and from when
    to when in it there is no music (seconds)."""

    curve: OnsetCurve
    beats_s: Floats
    confidence: float
    rival: str
    holes: list[tuple[float, float]]


def _dances(curve: OnsetCurve, bpm_hint: float | None, settings: MusicSettings) -> list[_Heard]:
    """The dances of one stretch of sound: where talk parts it, what lies before and after is heard anew, each for itself."""
    whole = _listen(curve, bpm_hint, settings)
    if whole is None or not whole.holes:
        return [] if whole is None else [whole]
    starts = [curve.from_s, *(to_s for _, to_s in whole.holes)]
    ends = [*(from_s for from_s, _ in whole.holes), curve.until_s]
    parts = [cut(curve, a, b) for a, b in zip(starts, ends, strict=True) if b - a >= settings.shortest_music_s]
    alone = [part for piece in parts if (part := _listen(piece, bpm_hint, settings)) is not None]
    return alone or [whole]


def _listen(curve: OnsetCurve, bpm_hint: float | None, settings: MusicSettings) -> _Heard | None:
    """The beats of one stretch, None when nothing regular is heard in it."""
    found = pulse(curve, bpm_hint, settings)
    if len(found) < settings.fewest_beats:
        return None
    pulses = candidates(found, settings)
    if bpm_hint is not None:
        pulses = [p for p in pulses if p[0] in ("same", "off", "off third")]
    odds = chances(curve, pulses, settings)
    best = int(np.argmax(odds))
    beats_s = settle(curve, pulses[best][1], settings)
    if len(beats_s) < settings.fewest_beats:
        return None
    beats_s, holes = without_talk(curve, beats_s, settings)
    if len(beats_s) < settings.fewest_beats:
        return None
    met, agreed = punctual(curve, beats_s, settings), agreement(curve, beats_s, settings)
    # Spoken counts begin with hisses of many lengths and meet the beat less exactly, but two searches agree on them.
    if met + settings.agree_worth * (agreed - settings.usual_agreed) < settings.least_punctual:
        return None
    rival = ""
    near = [pulses[i] for i in range(len(pulses)) if i != best and odds[i] >= settings.rival_share * odds[best]]
    if near and len(near[0][1]) == len(pulses[best][1]):
        rival = "The beat may lie half a beat away: two ways of counting fit almost equally well."
    elif near:
        rival = "The music may be counted faster or slower, such as twice or half as fast: both fit almost equally well."
    sure = confidence(float(odds[best]), met, agreed, settings)
    return _Heard(curve, beats_s, sure, rival, holes)


def stretches(curve: OnsetCurve, settings: MusicSettings) -> list[OnsetCurve]:
    """The curve cut where it is silent for longer than settings.gap_s; stretches too short to hold a beat are left out."""
    heard = curve.colour_times_s[curve.sounding]
    if not len(heard):
        return []
    breaks = np.flatnonzero(np.diff(heard) > settings.gap_s)
    starts = np.concatenate([[0], breaks + 1])
    ends = np.concatenate([breaks, [len(heard) - 1]])
    if len(starts) == 1:
        return [curve]
    parts = []
    for a, b in zip(heard[starts], heard[ends], strict=True):
        if b - a >= settings.shortest_music_s:
            parts.append(cut(curve, float(a) - 0.2, float(b) + 0.2))
    return parts


def cut(curve: OnsetCurve, from_s: float, until_s: float) -> OnsetCurve:
    """The part of a curve between two times."""
    n = (curve.times_s >= from_s) & (curve.times_s <= until_s)
    c = (curve.colour_times_s >= from_s) & (curve.colour_times_s <= until_s)
    first = max(0, int(np.ceil((from_s - curve.fine_start_s) / curve.fine_step_s)))
    last = int((until_s - curve.fine_start_s) / curve.fine_step_s) + 1
    return OnsetCurve(
        curve.times_s[n], curve.bands[n], curve.weights, curve.strength[n], curve.fine[first:last],
        curve.fine_start_s + first * curve.fine_step_s, curve.fine_step_s, curve.colour_times_s[c], curve.colour_db[c],
        curve.sounding[c], max(curve.from_s, from_s), min(curve.until_s, until_s),
    )  # fmt: skip


def pulse(curve: OnsetCurve, bpm_hint: float | None, settings: MusicSettings) -> Floats:
    """The steadiest pulse heard (B,) in seconds, at whatever level it lies; near bpm_hint when there is one."""
    likely = activation(curve.strength, settings)
    if bpm_hint is None:
        at = decode(likely, settings.lowest_bpm, settings.highest_bpm, settings.prior_bpm, settings.prior_octaves, settings)
    else:
        wide = settings.hint_reach
        at = decode(likely, bpm_hint / wide, bpm_hint * wide, bpm_hint, settings.hint_octaves, settings)
    if len(at) < 2:
        return curve.times_s[at]
    moved, strong = on_rise(curve, one_level(curve.times_s[at]), settings.rise_reach_s)
    beats_s = rising(smooth(moved, strong))
    return beats_s[heard_span(curve, beats_s, settings)]


def settle(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> Floats:
    """Beats (B,) moved onto their rises, smoothed, and trimmed to where music is heard.

    Beats before the first and after the last one heard are dropped; unheard ones between stay.
    """
    gap = float(np.median(np.diff(beats_s)))
    # A beat at the very start of the sound may fall a hair before it until it is moved onto its rise.
    before = beats_s[0] - gap * np.arange(int((beats_s[0] - curve.from_s + settings.rise_reach_s) / gap), 0, -1)
    after = beats_s[-1] + gap * np.arange(1, max(0, int((curve.until_s - beats_s[-1]) / gap)) + 1)
    beats = np.concatenate([before, beats_s, after])
    for reach in (settings.rise_reach_s, settings.rise_reach_s / 2):
        moved, strong = on_rise(curve, beats, min(reach, 0.2 * gap))
        beats = rising(smooth(moved, strong))
    kept = beats[heard_span(curve, beats, settings)]
    inside = (kept + settings.rise_centre_s >= curve.from_s) & (kept <= curve.until_s)
    return np.asarray((kept + settings.rise_centre_s)[inside])


def heard_span(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> slice:
    """From the first to the last of beats_s (B,) that is heard; empty when none is."""
    strong = on_rise(curve, beats_s, settings.rise_reach_s / 2)[1]
    heard = strong >= settings.heard_share * np.percentile(strong, 75)
    # One that is heard alone, far from the others, is a cough or a door.
    near = np.convolve(heard, [1, 1, 0, 1, 1], mode="same") > 0
    sure = np.flatnonzero(heard & near)
    return slice(int(sure[0]), int(sure[-1]) + 1) if len(sure) else slice(0, 0)


def rising(times_s: Floats) -> Floats:
    """The times without those that do not rise by at least a tenth of the usual gap (slips of the smoother at an edge)."""
    least = 0.1 * float(np.median(np.abs(np.diff(times_s))))
    keep = [0]
    for i in range(1, len(times_s)):
        if times_s[i] - times_s[keep[-1]] > least:
            keep.append(i)
    return times_s[keep]


def punctual(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> float:
    """Share 0..1 of the beats heard that lie on the strongest beginning of their surroundings (30 % of a beat either way).

    A smooth grid laid over talk or noise meets it by chance only; music meets it nearly always.
    """
    met, heard = _meets(curve, beats_s, settings)
    return float(np.mean(met[heard])) if heard.any() else 0.0


def _meets(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """For every beat (B,), whether it lies on the strongest beginning about it, and whether that can be heard at all."""
    step = curve.fine_step_s
    reach = int(0.3 * float(np.median(np.diff(beats_s))) / step)
    centre = np.round((beats_s - settings.rise_centre_s - curve.fine_start_s) / step).astype(int)
    inside = (centre >= reach) & (centre < len(curve.fine) - reach)
    around = curve.fine[np.where(inside, centre, reach)[:, None] + np.arange(-reach, reach + 1)[None, :]]
    off_s = np.abs(np.argmax(around, axis=1) - reach) * step
    strong = around.max(axis=1)
    heard = inside & (strong >= settings.heard_share * float(np.percentile(strong[inside], 75))) if inside.any() else inside
    return off_s <= settings.punctual_s, heard


def without_talk(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> tuple[Floats, list[tuple[float, float]]]:
    """Beats (B',) without the stretches in which they are met by chance only, as where people talk between two dances, and those
    stretches in seconds.

    A beat speaks for talk by the log of how much likelier talk is to meet or miss it so than this music; the stretch with the largest
    sum is left out if the sum is large and it lasts longer than a break.
    """
    met, heard = _meets(curve, beats_s, settings)
    if not heard.any():
        return beats_s, []
    usual = float(np.clip(np.mean(met[heard]), settings.least_usual, 0.98))
    chance = settings.met_by_chance
    for_talk, for_music = float(np.log(chance / usual)), float(np.log((1 - chance) / (1 - usual)))
    speaks = (for_music + (for_talk - for_music) * met) * heard
    holes: list[tuple[float, float]] = []
    keep = np.ones(len(beats_s), dtype=bool)
    while True:
        sums = np.concatenate([[0.0], np.cumsum(speaks)])
        start = np.maximum.accumulate(np.where(sums == np.minimum.accumulate(sums), np.arange(len(sums)), 0))
        end = int(np.argmax(sums - sums[start]))
        first, last = int(start[end]), end - 1
        if sums[end] - sums[first] < settings.surely_talk or beats_s[last] - beats_s[first] < settings.gap_s:
            break
        keep[first : last + 1] = False
        speaks[first : last + 1] = -1e6  # never looked at again
        holes.append((float(beats_s[first]), float(beats_s[last])))
    if holes:
        # What is left of talk alone are the few beats that it met by luck.
        edges = np.flatnonzero(np.diff(np.concatenate([[False], keep, [False]]).astype(int)))
        for begin, until in zip(edges[::2], edges[1::2], strict=True):
            if until - begin < settings.dance_beats or -speaks[begin:until].sum() < settings.surely_talk:
                keep[begin:until] = False
    return beats_s[keep], sorted(holes)


def agreement(curve: OnsetCurve, beats_s: Floats, settings: MusicSettings) -> float:
    """Share 0..1 of the beats that a second search, on the fine curve alone and free of the first's tempo, finds as well.

    All of the second's beats may lie half a beat away: it knows nothing of bars, and which of the two is the beat is settled by them.
    """
    per = round(settings.hop_s / curve.fine_step_s)
    usable = curve.fine[: len(curve.fine) // per * per].reshape(-1, per).max(axis=1).astype(float)
    bpm = 60 / float(np.median(np.diff(beats_s)))
    low, high = max(settings.lowest_bpm, bpm / 1.5), min(settings.highest_bpm, bpm * 1.5)
    other = curve.fine_start_s + settings.hop_s * decode(activation(usable, settings), low, high, bpm, 1.0, settings)
    if not len(other):
        return 0.0
    middle_s = (beats_s[1:] + beats_s[:-1]) / 2
    return max(
        float(np.mean(np.min(np.abs(at_s[:, None] - other[None, :]), axis=1) <= settings.agree_s)) for at_s in (beats_s, middle_s)
    )


def confidence(chance: float, met: float, agreed: float, settings: MusicSettings) -> float:
    """Confidence 0..1 that the beats, their level and their phase are right: the chance of the reading, less what the two checks miss."""
    heard = np.clip((met - settings.least_punctual) / (settings.quite_punctual - settings.least_punctual), 0, 1)
    return float(np.clip(chance * (0.5 + 0.5 * agreed) * (0.8 + 0.2 * heard), 0, 1))
