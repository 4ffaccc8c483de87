"""About the numbers: what is measured, how surely, what is not judged, and what to keep in mind."""

from __future__ import annotations

import streamlit as st
from parts import lead, show_figures

from motion.desk.desktop_icon import model_told
from motion.tell.report import CAUTIONS, NOT_JUDGED

st.title("About the numbers")
lead("A clip shows when feet land and how far joints bend. How exactly depends on the clip, so every number says so.")

st.header("What is measured")
st.markdown(
    """
- **When a foot lands**, and whether it takes weight: against the nearest beat, or with a dance sheet against its count.
  *Late* hangs below the line, *early* stands above it.
- **Where a dancer usually is** against the beat, and how far single landings lie from that. A moment is called late or early
  against the dancer's own usual place, so that a steady lead is told once and not on every count.
- **Counts without a landing, with the other foot, or with one step more**: only with a dance sheet.
- **How far hips, knees and ankles bent**, while they were seen from the side. 0° is the dancer's own quiet standing
  where the clip shows it.
"""
)
st.header("How sure it is")
st.markdown(
    """
- **±** means: 19 times in 20 the true value lies that close.
- At 30 pictures a second one landing can be read to some 20 to 50 ms, a twentieth to a tenth of a count. A whole dance tells
  more than one step: many landings together are surer than each alone.
- **& counts** lie so close together that one landing seldom proves anything. Look at several repeats.
- Where the phone stands matters: over 10 m sound comes 30 ms late. A steady lead or lag of that size may be the room's.
- What cannot be measured is left empty, with the reason. It is never a nought and never a guess.
"""
)
st.header("Which model is in use")
model = model_told()
st.markdown(f"{model.words} Each review says beside its clip whether it was a careful or a quick one.")
show_figures(model.figures, "the model")
st.header("What is not judged")
st.markdown("\n".join(f"- {line}" for line in NOT_JUDGED))
st.header("Please keep in mind")
HERE_ONLY = (
    "It was tried on drawn dancers, where everything is known exactly. Bodies and clothes of every kind have not been tested.",
    "It works on this computer alone. Clips, reviews and numbers are sent nowhere.",
)
st.markdown("\n".join(f"- {line}" for line in (*CAUTIONS, *HERE_ONLY)))
