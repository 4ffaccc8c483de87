"""After a quick look: the careful review, one click away."""

from __future__ import annotations

import streamlit as st

from motion.jobs.queue import Finished
from motion.library.careful_review import can_be_careful, carefully
from motion.library.classes import open_library


def careful_later(one: Finished) -> None:
    """Say that this was a quick look, and offer the careful review while the clip is there as it was filmed."""
    if one.job is None or not can_be_careful(one.job):
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.markdown("This was a **quick look**. Review it carefully before you tell a dancer what you see here.", width="stretch")
        if st.button("Review it carefully", key="carefully", icon=":material/search:"):
            with open_library() as library:
                st.session_state["job"] = carefully(library, one.job).id
            st.switch_page("page_new.py")
