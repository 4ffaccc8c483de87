"""A part of the review page: the counted clip, made as it is judged now, with the sound that is chosen on purpose."""

from __future__ import annotations

from typing import Any

import streamlit as st
from parts import handed_out, say

from motion.base.errors import MotionError
from motion.film.overlay import HEADS_WORDS, ROOM_SOUND_WORDS, draw_apart, overlay_state
from motion.jobs.queue import Finished
from motion.store.folder import OVERLAY
from motion.tell.review_words import dancer_name

CLICKS, ROOM = "Clicks, with music made by this program", "The room's own sound"


def counted_clip(one: Finished, review: dict[str, Any]) -> None:
    """Ask for sound, heads and who must not be seen; make the clip; hand it out."""
    dancers = {int(each["id"]): dancer_name(each) for each in review["dancers"]}
    with st.expander("The counted clip"):
        st.markdown(
            "The clip with the count in large figures and every landing marked when it happens. "
            "Nothing that was found is drawn into it."
        )
        sound = st.radio("What is to be heard", [CLICKS, ROOM], key=f"film-sound-{one.key}")
        if sound == ROOM:
            st.warning(ROOM_SOUND_WORDS, icon=":material/hearing:")
        mask = st.multiselect(
            "Who must not be seen (covered whole)", list(dancers), format_func=lambda n: dancers[n], key=f"film-mask-{one.key}"
        )
        heads = st.checkbox("Show heads (everybody in the clip has agreed to that)", key=f"film-heads-{one.key}")
        if st.button("Make the counted clip", key=f"film-{one.key}", icon=":material/movie:", disabled=not one.clip.is_file()):
            try:
                with st.spinner("Drawing the counted clip, about as long as it lasts …"):
                    draw_apart(one.folder, one.clip, room_sound=sound == ROOM, show_heads=heads, mask=mask)
            except MotionError as error:
                say(error)
        if not one.clip.is_file():
            st.caption(f"The clip {review['clip']['name']} is not at hand, and without it none can be made.")
        _hand_out(one)


def _hand_out(one: Finished) -> None:
    """The counted clip that there is, and whether it still holds."""
    state = overlay_state(one.folder)
    if state == "none":
        return
    if state == "outdated":
        st.info("The counted clip that is here shows the counts as they were before. Make it again to see them as they are now.")
    st.caption(HEADS_WORDS)
    path, name = one.folder / OVERLAY, "counted-clip.mp4"
    st.download_button(
        "Take the counted clip",
        path.read_bytes,
        file_name=name,
        mime="video/mp4",
        key="get-film",
        icon=":material/download:",
        on_click=handed_out,
        args=(one.folder, "The counted clip", name),
    )
