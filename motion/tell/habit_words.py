"""What report and page say of one dancer's habits: share on the beat, best and hardest counts, each wall; plain sentences and figures."""

from __future__ import annotations

from typing import Any

from motion.review.settings import SETTINGS
from motion.tell.words import Told, count_name, listed, share_words, signed_ms, why_not

#: What to try: about the beat and not about the body, which helps learners more.
CUES = {"early": "let the beat come to the foot", "late": "set off a little sooner, to land with the drum"}


def habits_told(dancer: dict[str, Any], beats: dict[str, Any]) -> Told | None:
    """How many counts are on the beat, which are right on wall after wall and which are hard; None where timing was not measured or
    the review is from before this was kept."""
    timing = dancer["timing"]
    if why_not(timing) or "on_beat" not in timing:
        return None
    words = [_share_words(timing), *_counts_words(timing, beats, _told_elsewhere(dancer))]
    if timing["rayleigh"]["p"] > SETTINGS.timing.rayleigh_chance:
        words.insert(
            0, "The landings keep to no one place in the count: maybe another tempo was danced, or the beat was not heard."
        )
    return Told(" ".join(words), (*_share_figures(timing), *_count_figures(timing)))


def walls_timing_told(dancer: dict[str, Any], beats: dict[str, Any]) -> Told | None:
    """Whether one wall sits otherwise against the beat than another; None for fewer than two walls with enough landings."""
    timing = dancer["timing"]
    rows = [] if why_not(timing) else [row for row in timing.get("walls", []) if row["bias_ms"] is not None]
    if len(rows) < 2:
        return None
    first, last = min(rows, key=lambda r: float(r["bias_ms"])), max(rows, key=lambda r: float(r["bias_ms"]))
    apart = float(last["bias_ms"]) - float(first["bias_ms"])
    sure = first["bias_interval_ms"][1] < last["bias_interval_ms"][0] and apart >= SETTINGS.desk.told_offset_ms
    if sure:
        share = share_words(apart, float(beats["tempo_bpm"]))
        words = f"Wall {last['wall']} came later against the beat than wall {first['wall']}, by {share}."
    else:
        words = "Against the beat, no wall surely differs from another."
    return Told(
        words,
        tuple(
            f"Wall {row['wall']}: usual place {signed_ms(row['bias_ms'])} ({signed_ms(row['bias_interval_ms'][0])} to "
            f"{signed_ms(row['bias_interval_ms'][1])}, 19 times in 20), spread {row['steadiness_ms']:.0f} ms, {row['n']} landings."
            for row in rows
        ),
    )


def _share_words(timing: dict[str, Any]) -> str:
    on = timing["on_beat"]
    said = f"{on['n']} of the {on['of']} counts that could be judged were on the beat."
    if _beside(timing):
        side = "after" if timing["bias_ms"] > 0 else "before"
        said += f" The others came steadily {side} it." if timing["steadiness_ms"] < on["within_ms"] / 2 else ""
    return said


def _beside(timing: dict[str, Any]) -> bool:
    """Does this dancer's usual place lie so far off that it is beside the beat?"""
    return abs(float(timing["bias_ms"])) > float(timing["on_beat"]["within_ms"])


def _told_elsewhere(dancer: dict[str, Any]) -> set[float]:
    """Counts of the wall that are told as the dancer's phrasing, or that question the sheet: once is enough, and neither is a fault."""
    sheet = (dancer.get("sheet") or {}).get("differs", [])
    return {float(row["count"]) for row in [*(dancer.get("phrasing") or ()), *(r for r in sheet if r["always"])]}


def _counts_words(timing: dict[str, Any], beats: dict[str, Any], elsewhere: set[float]) -> list[str]:
    rows = {row["count"]: row for row in timing["counts"]}
    if not rows:
        return []
    if max(row["walls"] for row in rows.values()) < SETTINGS.timing.habit_walls:
        return ["Each count was seen only once, so no count can be called easy or hard."]
    out = []
    if timing["best"] and not _beside(timing):
        names = listed([count_name(c) for c in sorted(timing["best"])])
        if timing["right_on"] == len(rows):
            out.append("Every count is right on, wall after wall.")
        else:  # how many are is a figure: beside the many that were on the beat it would read like a contradiction
            out.append(
                f"{'Surest are counts' if len(timing['best']) > 1 else 'Surest is count'} {names}: right on, wall after wall."
            )
    for count in (c for c in timing["hardest"] if float(c) not in elsewhere):
        row, name = rows[count], count_name(count)
        if row["lost_on"]:
            out.append(f"Count {name} was lost on {len(row['lost_on'])} of {row['walls']} walls.")
        else:
            way = "late" if row["usual_ms"] > 0 else "early"
            share = share_words(row["usual_ms"], float(beats["tempo_bpm"]))
            out.append(f"Count {name} comes {way} wall after wall, by {share}. It may be meant so; if not, {CUES[way]}.")
    return out if out or timing["hardest"] else ["No count is surely better or worse than the others."]


def _share_figures(timing: dict[str, Any]) -> list[str]:
    on, test = timing["on_beat"], timing["rayleigh"]
    low, high = on["interval"]
    about = "the beat" if on["about_ms"] == 0.0 else "this dancer's usual place"
    return [
        f"On the beat: {100 * on['share']:.0f} of 100 counts ({100 * low:.0f} to {100 * high:.0f}, 19 times in 20; {on['of']} counts), "
        f"within {on['within_ms']:.0f} ms of {about}.",
        f"Gathered at one place of the count: {test['vector_length']:.2f} on a scale from 0, anywhere, to 1 ({test['n']} landings). "
        + _chance_words(test, bool(timing["counts"])),
    ]


def _chance_words(test: dict[str, Any], by_sheet: bool) -> str:
    """How often chance does as well. Reviews made before landings were put anywhere by chance keep a p that says nothing, with a sheet."""
    if "draws" in test:
        least = 1.0 / (test["draws"] + 1)
        often = (
            f"in fewer than {100 * 2 * least:.0f} of 100 cases"
            if test["p"] < 2 * least
            else f"in {100 * test['p']:.0f} of 100 cases"
        )
        return f"The same landings put anywhere in their counts by chance, and matched again, gather as closely {often}."
    if by_sheet:
        return "Count this review again to see how often chance alone does as well."
    p = "below 0.001" if test["p"] < 0.001 else f"{test['p']:.3f}"
    return f"Chance alone gathers them so closely with probability {p} (Rayleigh's test)."


def _count_figures(timing: dict[str, Any]) -> list[str]:
    rows = {row["count"]: row for row in timing["counts"]}
    out = []
    if timing["right_on"] and not _beside(timing):
        wide = SETTINGS.timing
        out.append(
            f"Right on, wall after wall: {timing['right_on']} of the {len(rows)} landings of one wall. That asks more than “on the beat”: "
            f"within {wide.band_ms:.0f} ms of the usual place each time, and surely within {wide.right_on_ms:.0f} ms of it as a rule. "
            "From few walls that can seldom be told."
        )
    for count in sorted({*timing["best"], *timing["hardest"]}):
        row = rows[count]
        when = "no landing" if row["usual_ms"] is None else f"{row['usual_ms']:+.0f} ± {row['give_ms']:.0f} ms".replace("-", "−")
        lost = f", lost on {len(row['lost_on'])}" if row["lost_on"] else ""
        out.append(f"Count {count_name(count)}, against the usual place (+ is late): {when}; {row['walls']} walls{lost}.")
    return out
