"""A part of the review page: the clip's sound with the counts clicked and spoken over it, to practise with."""

from __future__ import annotations

from typing import Any

import streamlit as st
from parts import clip_of, handed_out, say

from motion.base.errors import MotionError
from motion.base.home import touched_ns
from motion.film.practice_sound import counted_wav
from motion.jobs.queue import Finished
from motion.tell.words import why_not

SPEEDS = {1.0: "as danced", 0.75: "three quarters", 0.5: "half"}


def counted_sound(one: Finished, review: dict[str, Any]) -> None:
    """Ask from which count, how fast and how it is to sound; then play it and hand it out."""
    if why_not(review["beats"]):
        return
    with st.expander("Practise with the counted sound"):
        there = one.clip.is_file() and review["clip"]["has_sound"]
        what = "The clip's sound" if there else "The clip's sound is not at hand, so silence"
        st.markdown(
            f"{what}, with a click on every count and the numbers called by a machine's voice. Four counts are called ahead "
            "(three where the counts go to 6). Slower does not sound lower."
        )
        with st.form("counted-form", border=False):
            row = st.columns(2)
            from_count = row[0].number_input("From count", min_value=1, value=1, step=1, key="counted-from")
            speed = row[1].radio("How fast", list(SPEEDS), format_func=lambda s: SPEEDS[s], key="counted-speed", horizontal=True)
            low = row[0].checkbox("Low clicks, easier to hear for older ears", key="counted-low")
            voice = row[1].checkbox("Call the numbers", value=True, key="counted-voice")
            asked = (one.key, int(from_count), float(speed), low, voice)
            if st.form_submit_button("Make it", icon=":material/volume_up:"):
                st.session_state["counted"] = asked
        if st.session_state.get("counted") == asked:
            _play(one, review, asked, there)


def _play(one: Finished, review: dict[str, Any], asked: tuple[str, int, float, bool, bool], there: bool) -> None:
    """The sound as asked for."""
    _, from_count, speed, low, voice = asked
    try:
        with st.spinner("Counting …"):
            clip = clip_of(str(one.clip), touched_ns(one.clip), review["clip"]["sha256"]) if there else None
            path = one.clip if there else None
            made = counted_wav(review, path, clip, from_count=from_count, speed=speed, low=low, voice=voice)
    except MotionError as error:
        say(error)
        return
    st.audio(made, format="audio/wav")
    name = f"counted-from-{from_count}{'' if speed == 1.0 else f'-{SPEEDS[speed]}'.replace(' ', '-')}.wav"
    st.download_button(
        "Keep it",
        made,
        file_name=name,
        mime="audio/wav",
        key="get-counted",
        icon=":material/download:",
        on_click=handed_out,
        args=(one.folder, "The counted sound", name),
    )
