"""What the page says about a review: first in plain words, the figures apart, so that they can stay folded away.

Pure functions on the blocks of review.json. "Give or take" means two standard deviations, about 19 times in 20.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from motion.review.settings import SETTINGS
from motion.tell.questions import own_told
from motion.tell.report import SOURCES, ZEROS
from motion.tell.words import (
    Told,
    clock,
    finding_words,
    measured,
    named_flags,
    place_words,
    section_of,
    share_words,
    signed_ms,
    told_day,
    why_not,
)


@dataclass(frozen=True)
class Finding:
    """One moment to look at: its letter in the count line, when, where in the dance, in words, and its figures."""

    mark: str
    kind: str
    time_s: float
    until_count: float | None
    where: str
    words: str
    sure: str
    figures: str


def dancer_name(dancer: dict[str, Any]) -> str:
    """ "Dancer 2", with the label that a person chose."""
    return f"Dancer {dancer['id']}" + (f" · {dancer['label']}" if dancer["label"] else "")


def clip_facts(review: dict[str, Any]) -> list[tuple[str, str]]:
    """Short facts for the head of the page, as (name, value)."""
    clip, dance, people = review["clip"], review.get("dance"), len(review["dancers"])
    model = review["made_by"].get("model")
    quality = str(model.get("quality") if isinstance(model, dict) else model)
    care = {"fine": "careful", "fast": "quick"}.get(quality)
    return [
        ("Length", clock(clip["duration_s"])),
        ("Dancers followed", str(people)),
        ("Dance", f"{dance['title']}: {dance['counts']} counts, {dance['walls']} walls" if dance else "no dance sheet"),
        ("Picture", f"{clip['width_px']} × {clip['height_px']}, {clip['pictures']} pictures"),
        *([("Reading", care)] if care else []),
        ("Delete by", told_day(clip["expires"]) if clip["expires"] else "no date set"),
    ]


def clip_notes(review: dict[str, Any]) -> list[str]:
    """What is good to know about the whole clip, in plain sentences."""
    clip = review["clip"]
    notes = [str(note) for note in review.get("notes", [])]
    if clip["damaged_pictures"] and not any("damaged" in note for note in notes):
        notes.append(f"{clip['damaged_pictures']} of the clip's pictures were damaged and were left out.")
    if clip.get("cut_short") and not any("as far as it goes" in note for note in notes):
        notes.append("The clip breaks off before its end; it was reviewed as far as it goes.")
    if review.get("dance") is None:
        notes.append(
            "Without a dance sheet each landing is set against the nearest beat or half beat; missing steps cannot be told."
        )
    return notes


def beat_told(beats: dict[str, Any]) -> Told:
    """What the beat is, and how sure that is."""
    reason = why_not(beats)
    if reason:
        return Told(f"The beat was not measured: {reason}. So nothing can be said about early or late.")
    sure, desk = float(beats["confidence"]), SETTINGS.desk
    if sure >= desk.beat_clear:
        how = "It is clear."
    elif sure >= desk.beat_fair:
        how = "It is fairly clear."
    else:
        how = "It is hard to hear: play the clip and listen whether the counts fall with the music."
    one = beats["first_count_s"]
    first = f"Count 1 of the dance falls at {clock(one)}." if one is not None else "Where count 1 of the dance falls is not known."
    tempo = f"{beats['tempo_bpm']:.0f} beats a minute."
    figures = (
        f"{len(beats['times_s'])} beats, one every {60_000 / beats['tempo_bpm']:.0f} ms (thousandths of a second).",
        f"Sure to {sure:.2f} on a scale from 0 to 1; the & lies {beats['half_at']:.2f} of the way from one count to the next.",
        *(f"Count 1 at {one:.2f} s of the clip." for one in [one] if one is not None),
    )
    return Told(" ".join([f"{tempo} {SOURCES[beats['source']]} {how} {first}", *beats.get("doubts", [])]), figures)


def timing_told(dancer: dict[str, Any], beats: dict[str, Any]) -> Told:
    """How one dancer sits with the beat as a rule."""
    timing = dancer["timing"]
    reason = why_not(timing)
    if reason:
        return Told(f"With the beat or not: not measured, because {reason}.")
    usual, (low, high), n = float(timing["bias_ms"]), timing["bias_interval_ms"], int(timing["n"])
    tempo, page = float(beats["tempo_bpm"]), SETTINGS.page
    if low <= 0 <= high or abs(usual) < SETTINGS.desk.told_offset_ms:
        words = "As a rule with the beat."
    else:
        size = "clearly" if abs(usual) > max(page.little_ms, page.little_share * 60_000 / tempo) else "a little"
        words = f"As a rule {size} {'after' if usual > 0 else 'before'} the beat, by {share_words(usual, tempo)}."
        clapped = (beats.get("sound_offset_ms") or {}).get("claps", 0) > 0
        if abs(usual) <= page.phone_ms and not clapped:
            words += " Where the phone stood in the room can make as much difference, so this need not be the dancer's own."
    spread = float(timing["steadiness_ms"])
    words += f" Two landings in three lie within {share_words(spread, tempo)} of that."
    give = 2 * spread / math.sqrt(2 * max(1, n - 1))
    sigmas = sorted(float(s["sigma_ms"]) for s in dancer["steps"] if s["sigma_ms"]) if isinstance(dancer["steps"], list) else []
    figures = [
        f"Usual place: {signed_ms(usual)}; {n} landings put it between {signed_ms(low)} and {signed_ms(high)}, 19 times in 20.",
        f"Spread about it: {spread:.0f} ± {give:.0f} ms.",
        f"Drift: {timing['drift_ms_per_count']:+.1f} ms a count.".replace("-", "−"),
    ]
    if sigmas:
        figures.append(f"A single landing can be read to ± {2 * sigmas[len(sigmas) // 2]:.0f} ms.")
    return Told(words, tuple(figures))


def findings(dancer: dict[str, Any], beats: dict[str, Any], dance: dict[str, Any] | None) -> list[Finding]:
    """The moments that are sure enough to be put to a person, in order of time."""
    starts = dance["wall_starts"] if dance else []
    return [
        Finding(
            mark,
            str(flag["kind"]),
            float(flag["time_s"]),
            flag["until_count"],
            place_words(flag["count"], flag["until_count"], starts, section_of(dance, beats)),
            finding_words(flag, dancer),
            "quite sure" if flag["sure"] >= SETTINGS.desk.flag_sure else "fairly sure",
            _figures(flag, dancer, beats),
        )
        for mark, flag in named_flags(dancer)
    ]


def no_findings(dancer: dict[str, Any]) -> str:
    """What to say where there is nothing to look at."""
    reason = why_not(dancer["flags"])
    return f"Not measured: {reason}." if reason else own_told(dancer) or "Nothing that is sure enough to be put to a dancer."


def unsure_told(dancer: dict[str, Any]) -> str | None:
    """When the dancer was hidden or crossed somebody; None if never."""
    parts = [f"{clock(a)} to {clock(b)}" for a, b in dancer["track"]["unsure"] if b - a >= SETTINGS.desk.told_unsure_s]
    return f"Hidden, or crossing somebody, and so less certain: {', '.join(parts)}." if parts else None


def zero_told(dancer: dict[str, Any]) -> str:
    """What the degrees count from."""
    zeros = dancer.get("angles", {}).get("zero", {})
    kinds = [kind for kind in ZEROS if kind in zeros.values()]
    said = "More than 0° is bent (hip: knee towards the chest; ankle: toes towards the shin), less is stretched."
    if len(kinds) == 1:
        return f"{said} 0° is {ZEROS[kinds[0]]}."
    which = ((kind, ", ".join(key.replace("_", " ") for key, of in zeros.items() if of == kind)) for kind in kinds)
    return said + "".join(f" For {joints}, 0° is {ZEROS[kind]}." for kind, joints in which)


def step_rows(dancer: dict[str, Any], beats: dict[str, Any], dance: dict[str, Any] | None) -> list[dict[str, str]]:
    """Every landing as a row of words and figures; empty if none was measured."""
    starts = dance["wall_starts"] if dance else []
    if not isinstance(dancer["steps"], list):
        return []
    section = section_of(dance, beats)
    return [
        {
            "Time": clock(s["time_s"]),
            "Where": place_words(s["count"], None, starts, section) or "fits no count",
            "Foot": s["foot"],
            "What": {"step": "lands with weight", "touch": "touches", "shift": "takes weight"}[s["kind"]],
            "Against the beat": "–" if s["offset_ms"] is None else signed_ms(s["offset_ms"]),
            "Give or take": "–" if s["sigma_ms"] is None else f"± {2 * s['sigma_ms']:.0f} ms",
        }
        for s in dancer["steps"]
    ]


def _figures(flag: dict[str, Any], dancer: dict[str, Any], beats: dict[str, Any]) -> str:
    """The size of a finding, and where it ranks: `sure` puts findings in order and is no probability (tests/ACCURACY.md)."""
    return "; ".join(part for part in (measured(flag, dancer, beats), f"how plain, from 0 to 1: {flag['sure']:.2f}") if part)


def review_told(review: dict[str, Any]) -> list[str]:
    """The whole review in a few lines, for the command's end."""
    beats, dance = review["beats"], review.get("dance")
    lines = [f"{len(review['dancers'])} dancer{'s' if len(review['dancers']) != 1 else ''} followed. {beat_told(beats).words}"]
    for dancer in review["dancers"]:
        lines.append(f"{dancer_name(dancer)}: {timing_told(dancer, beats).words}")
        lines += [f"  {f.mark} at {clock(f.time_s)}: {f.words}" for f in findings(dancer, beats, dance)]
    return lines + list(review.get("notes", []))
