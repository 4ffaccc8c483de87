"""What the range pages share: the drawings of the guided check, the cautions, and the charts of a joint over the counts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import streamlit as st
from parts import draw

from motion.tell.range_charts import joint_chart, joint_curves
from motion.tell.range_check import CAUTIONS, STEPS, Check, facts_told, use_told

SVG = (
    'xmlns="http://www.w3.org/2000/svg" viewBox="0 -4 120 150" role="img" fill="none" stroke="#20242e" stroke-width="4" '
    'stroke-linecap="round"'
)
CHAIR = '<path d="M104 70v66M84 104h20M84 104v32" stroke="#8d8a99" stroke-width="3"/>'
FLOOR = '<path d="M6 138h108" stroke="#8d8a99" stroke-width="2"/>'
#: A figure seen from its right side, facing left; the nearer leg in colour.
FIGURES = {
    "stand": '<circle cx="58" cy="22" r="10"/><path d="M60 34V82M60 46l28 22"/><path d="M60 82V134h-14" stroke="#8f5200"/>',
    "bend": '<circle cx="52" cy="40" r="10"/><path d="M56 51l8 46M57 62l30 6"/><path d="M64 97l-26 12l20 25h-16" stroke="#8f5200"/>',
    "lift": '<circle cx="58" cy="22" r="10"/><path d="M60 34V82M60 46l28 22M60 82V134h-14"/>'
    '<path d="M60 82l-30 -4l2 32h-13" stroke="#8f5200"/><path d="M14 92V74m-4 5l4 -6l4 6" stroke-width="2"/>',
    "point": '<circle cx="58" cy="22" r="10"/><path d="M60 34V82M60 46l28 22M60 82V134h-14"/>'
    '<path d="M60 82l-18 18l-6 24l-9 9" stroke="#8f5200"/><path d="M36 124l-13 -4" stroke="#8f5200" stroke-dasharray="3 6"/>',
    "rise": '<circle cx="58" cy="12" r="10"/><path d="M60 24V72M60 36l28 26"/><path d="M60 72V122l-12 14" stroke="#8f5200"/>'
    '<path d="M78 128v-12m-4 5l4 -6l4 6" stroke-width="2"/>',
}  # fmt: skip


def cautions() -> None:
    """Said wherever a range is shown."""
    st.caption(" ".join(CAUTIONS))


def guide() -> None:
    """The five things to do, drawn, with how long each takes."""
    cards = "".join(
        f'<figure><svg {SVG} aria-label="{words}">{FLOOR}{CHAIR}{FIGURES[key]}</svg>'
        f'<figcaption><b>{number}.</b> {words} <span class="quiet">About {seconds} seconds.</span></figcaption></figure>'
        for number, (key, words, seconds) in enumerate(STEPS, 1)
    )
    draw(f'<div class="guide">{cards}</div>', "guide")


def joints_over_counts(folder: Path, dancer: dict[str, Any], beats: dict[str, Any]) -> None:
    """One joint over the counts, the two sides above each other, once somebody asks for it."""
    with st.expander("See a joint over the counts"):
        joint = st.radio("Which joint?", ["Hip", "Knee", "Ankle"], index=1, horizontal=True, key=f"joint-{dancer['id']}")
        curve = next(c for c in joint_curves(folder, dancer["id"]) if c.joint == joint.lower())
        draw(joint_chart(curve, beats), f"joint-chart-{dancer['id']}")
        st.caption("The line is the bend, the band holds it 19 times in 20. Gaps are stretches that could not be read from there.")


def bends_used(dancer: dict[str, Any], ask: Callable[[], None]) -> None:
    """Walls on which a joint moved less than on the dancer's own others, and, once asked for, steps, lean and sway."""
    for line in use_told(dancer):
        st.markdown(f"- {line}")
    with st.expander("Steps, lean and sway"):
        rows = facts_told(dancer)
        if rows:
            st.markdown("\n".join(f"- {line}" for line in rows))
            st.caption("These describe this clip. Soft knees and small steps are style.")
            return
        st.markdown(
            "Step length and width, how high the feet go, knees over feet, sway and lean. Meant for grown-ups who ask for it."
        )
        if st.button("Work it out", key=f"facts-{dancer['id']}"):
            ask()


def other_zero(dancer: dict[str, Any], look: Callable[[], list[Check]], use: Callable[[Path], None]) -> None:
    """Where a clip shows no quiet standing: offer that of a range check of the same person, if there is one."""
    zeros = dancer["angles"].get("zero", {}).values()
    found = [] if "standing" in zeros or "stored" in zeros or not zeros else look()
    if not found:
        return
    with st.expander("Count from the standing in a range check"):
        titles = {one.key: one.title for one in found}
        key = st.selectbox("Which check of this person?", list(titles), format_func=lambda k: titles[k], key=f"zero-{dancer['id']}")
        if st.button("Use it", key=f"use-zero-{dancer['id']}"):
            use(next(one.folder for one in found if one.key == key))
