"""Two takes side by side, from their stored reviews, in plain lines: tempo, habits, and count by count time, place, facing, joints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np

from motion.base.geometry import wrapped_deg
from motion.base.types import JOINTS, Floats
from motion.review.settings import SETTINGS
from motion.tell.review_words import dancer_name
from motion.tell.words import count_name, signed_ms, why_not
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Apart:
    """One count of the wall at which the second take differs from the first: what is "time", "place", "facing" or a joint such as
    "left knee"; size in unit, with its sign (later, to the right, more bent) but for places; give, two standard errors of it; walls
    that it rests on in either take."""

    count: float
    foot: str
    what: str
    size: float
    unit: str
    give: float
    walls: tuple[int, int]


def compared(first: dict[str, Any], second: dict[str, Any]) -> list[str]:
    """Lines on what differs between two reviews (review.json): tempo, and for each dancer in standing order the usual place, the counts
    on the beat, and every count that was danced otherwise. A difference counts only where chance would not make it; people are matched
    by where they stand, not who they are."""
    lines = [f"{first['clip']['name']} beside {second['clip']['name']}."]
    tempi = [None if why_not(r["beats"]) else float(r["beats"]["tempo_bpm"]) for r in (first, second)]
    if all(t is not None for t in tempi):
        lines.append(f"Tempo: {tempi[0]:.1f} and {tempi[1]:.1f} beats a minute.")
    else:
        lines.append("Tempo: not measured in both, so nothing is said about it.")
    pairs = list(zip(first["dancers"], second["dancers"], strict=False))
    if len(first["dancers"]) != len(second["dancers"]):
        lines.append(
            f"{len(first['dancers'])} and {len(second['dancers'])} dancers were followed; "
            f"the first {len(pairs)} are set side by side in standing order, which need not be the same people."
        )
    same = _same_dance(first, second)
    if not same:
        lines.append("Count by count nothing is compared, because the two were not reviewed with the same dance sheet.")
    for a, b in pairs:
        lines.append(f"{dancer_name(a)}: {_told(a, b)}")
        lines += [f"  {line}" for line in (*_on_beat(a, b), *(_counts_told(a, b) if same else ()))]
    return lines


def counts_apart(first: dict[str, Any], second: dict[str, Any], settings: TimingSettings = SETTINGS.timing) -> list[Apart]:
    """Where two dancers' blocks of review.json (one dancer in two takes) differ count by count, beyond what the measurement and this
    dancer's own unsteadiness leave to chance; in order of count. Both must be of the same dance.

    Times and facings are against the dancer's own usual in each take, places against the other foot. Joints are compared only where the
    camera saw both takes from the same side. The level is shared out among all counts (Bonferroni).
    """
    rows = [{(r["count"], r["foot"]): r for r in one.get("walls") or [] if "each" in r} for one in (first, second)]
    shared = sorted(rows[0].keys() & rows[1].keys())
    if not shared:
        return []
    beyond = NormalDist().inv_cdf(1 - settings.habit_chance / (2 * len(shared)))
    usual = [_unsteady(r, settings) for r in rows]
    out = []
    for key in shared:
        pair = (rows[0][key], rows[1][key])
        found = (_time(pair, usual, beyond, settings), _place(pair, settings), _facing(pair, settings), *_bends(pair, settings))
        out += [Apart(key[0], key[1], *one) for one in found if one]
    return out


_Found = tuple[str, float, str, float, tuple[int, int]]


def _time(pair: Sequence[dict[str, Any]], usual: Sequence[float], beyond: float, settings: TimingSettings) -> _Found | None:
    times = [_known(row, "time_ms") for row in pair]
    if not len(times[0]) or not len(times[1]):
        return None
    errors = [max(u, row["time_sigma_ms"]) / math.sqrt(len(t)) for u, row, t in zip(usual, pair, times, strict=True)]
    error, apart = math.hypot(*errors), float(times[1].mean() - times[0].mean())
    if abs(apart) <= max(settings.told_count_ms, beyond * error):
        return None
    return "time", round(apart, 1), "ms", round(2 * error, 1), (len(times[0]), len(times[1]))


def _unsteady(rows: dict[Any, dict[str, Any]], settings: TimingSettings) -> float:
    """How far one landing of this take usually lies from its own count's middle, ms; what a single wall leaves is read from all counts."""
    times = [_known(row, "time_ms") for row in rows.values()]
    squares = sum(float(((t - t.mean()) ** 2).sum()) if len(t) > 1 else float((t**2).sum()) for t in times)
    free = sum(max(1, len(t) - 1) for t in times if len(t))
    return max(math.sqrt(squares / free), settings.beat_sigma_ms) if free else settings.beat_sigma_ms


def _place(pair: Sequence[dict[str, Any]], settings: TimingSettings) -> _Found | None:
    places = [np.array([e["place"] for e in row["each"] if e["place"] and None not in e["place"]], dtype=float) for row in pair]
    if not all(len(p) for p in places):
        return None
    apart = float(np.hypot(*(np.median(places[1], axis=0) - np.median(places[0], axis=0))))
    if apart <= settings.place_apart:
        return None
    return "place", round(apart, 2), "leg lengths", settings.place_slack, (len(places[0]), len(places[1]))


def _facing(pair: Sequence[dict[str, Any]], settings: TimingSettings) -> _Found | None:
    facings = [_known(row, "facing_deg") for row in pair]
    if not all(len(f) for f in facings):
        return None
    middle = [float(np.angle(np.exp(1j * np.radians(f)).mean(), deg=True)) for f in facings]
    apart = float(wrapped_deg(np.array(middle[1] - middle[0])))
    if abs(apart) <= settings.wall_turn_deg:
        return None
    return "facing", round(apart), "degrees", settings.wall_turn_deg * 2 / 3, (len(facings[0]), len(facings[1]))


def _bends(pair: Sequence[dict[str, Any]], settings: TimingSettings) -> list[_Found]:
    """Joints on walls of the two takes that the camera saw from the same side."""
    alike = [
        (a, b)
        for a in pair[0]["each"] for b in pair[1]["each"]
        if a["bends_deg"] and b["bends_deg"] and a["view_deg"] is not None and b["view_deg"] is not None
        and abs(float(wrapped_deg(np.array(a["view_deg"] - b["view_deg"])))) <= settings.same_view_deg
    ]  # fmt: skip
    out: list[_Found] = []
    for j, (side, joint) in enumerate(JOINTS):
        shown = [(a, b) for a, b in alike if a["bends_deg"][j] is not None and b["bends_deg"][j] is not None]
        if not shown:
            continue
        apart = float(np.median([b["bends_deg"][j] - a["bends_deg"][j] for a, b in shown]))
        sigma = float(np.median([math.hypot(a["bends_sigma_deg"][j], b["bends_sigma_deg"][j]) for a, b in shown]))
        if abs(apart) > max(settings.wall_bend_deg, settings.bend_proof * sigma):
            walls = (len({a["wall"] for a, _ in shown}), len({b["wall"] for _, b in shown}))
            out.append((f"{side} {joint}", round(apart), "degrees", round(2 * sigma), walls))
    return out


def _known(row: dict[str, Any], name: str) -> Floats:
    return np.array([e[name] for e in row["each"] if e[name] is not None], dtype=float)


def _same_dance(first: dict[str, Any], second: dict[str, Any]) -> bool:
    sheets = [r.get("dance") for r in (first, second)]
    return all(sheets) and len({s["written"] for s in sheets if s}) == 1


def _told(a: dict[str, Any], b: dict[str, Any]) -> str:
    why = why_not(a["timing"]) or why_not(b["timing"])
    if why:
        return f"usual place against the beat not compared, because {why}."
    usual = [float(x["timing"]["bias_ms"]) for x in (a, b)]
    spans = [x["timing"]["bias_interval_ms"] for x in (a, b)]
    apart = spans[0][1] < spans[1][0] or spans[1][1] < spans[0][0]
    said = "they differ by more than chance" if apart else "no difference that could not be chance"
    told = [f"{signed_ms(u)} ({signed_ms(s[0])} to {signed_ms(s[1])})" for u, s in zip(usual, spans, strict=True)]
    return f"usual place against the beat {told[0]} and {told[1]}: {said}."


def _on_beat(a: dict[str, Any], b: dict[str, Any]) -> list[str]:
    shares = [x["timing"].get("on_beat") for x in (a, b)]
    if not all(shares):
        return []
    (low_a, high_a), (low_b, high_b) = (s["interval"] for s in shares)
    said = "more than chance" if high_a < low_b or high_b < low_a else "no difference that could not be chance"
    return [f"On the beat: {shares[0]['n']} of {shares[0]['of']} counts and {shares[1]['n']} of {shares[1]['of']}: {said}."]


def _counts_told(a: dict[str, Any], b: dict[str, Any]) -> list[str]:
    many = len({(r["count"], r["foot"]) for r in a.get("walls") or []} & {(r["count"], r["foot"]) for r in b.get("walls") or []})
    if not many:
        return ["No count was seen in both takes."]
    lines = [_line(one) for one in counts_apart(a, b)]
    if not lines:
        return [f"{many} steps of the dance compared: none was danced otherwise, as far as can be told."]
    return [*lines, f"{many} steps of the dance compared; about the others no difference could be told from chance."]


def _line(one: Apart) -> str:
    name, more, rests = count_name(one.count), one.size > 0, f"{one.walls[0]} and {one.walls[1]} walls"
    if one.what == "time":
        said = f"landed {abs(one.size):.0f} ± {one.give:.0f} ms {'later' if more else 'earlier'}"
    elif one.what == "place":
        said = f"the foot came down {one.size:.1f} ± {one.give:.1f} of a leg's length elsewhere"
    elif one.what == "facing":
        said = f"faced {abs(one.size):.0f} ± {one.give:.0f}° further to the {'right' if more else 'left'}"
    else:
        said = f"the {one.what} {abs(one.size):.0f} ± {one.give:.0f}° {'more' if more else 'less'} bent"
    return f"Count {name} ({one.foot} foot), second take: {said} ({rests})."
