"""Two takes side by side, from their stored reviews, in plain lines."""

from __future__ import annotations

from typing import Any

from motion.plain import dancer_name
from motion.report_words import signed_ms, why_not


def compared(first: dict[str, Any], second: dict[str, Any]) -> list[str]:
    """Lines on what differs between two reviews (review.json): tempo, and for each dancer in standing order the usual place and its
    spread. A difference counts only where the two intervals do not overlap; people are matched by where they stand, not who they are."""
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
    for a, b in pairs:
        lines.append(f"{dancer_name(a)}: {_told(a, b)}")
    return lines


def _told(a: dict[str, Any], b: dict[str, Any]) -> str:
    why = why_not(a["timing"]) or why_not(b["timing"])
    if why:
        return f"not compared, because {why}."
    usual = [float(x["timing"]["bias_ms"]) for x in (a, b)]
    spans = [x["timing"]["bias_interval_ms"] for x in (a, b)]
    apart = spans[0][1] < spans[1][0] or spans[1][1] < spans[0][0]
    said = "they differ by more than chance" if apart else "no difference that could not be chance"
    told = [f"{signed_ms(u)} ({signed_ms(s[0])} to {signed_ms(s[1])})" for u, s in zip(usual, spans, strict=True)]
    return f"usual place against the beat {told[0]} and {told[1]}: {said}."
