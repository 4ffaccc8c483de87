"""The class as a whole, and one dancer wall against wall."""

from __future__ import annotations

from typing import Any

import streamlit as st

from motion.report_class import class_told, moments_told, walls_told


def the_class(review: dict[str, Any]) -> None:
    """Which counts the class lost, how close together it was, what to watch; nothing for one dancer. Nobody is ranked."""
    told = class_told(review)
    if not told:
        return
    st.header("The class")
    st.markdown("\n".join(f"- {line}" for line in told))
    moments = moments_told(review)
    if moments:
        with st.expander("Moments to watch", expanded=True):
            st.markdown("\n".join(f"- {line}" for line in moments))


def wall_against_wall(dancer: dict[str, Any]) -> None:
    """Where one wall differs from this dancer's others; nothing without a dance sheet."""
    told = walls_told(dancer)
    if told:
        st.subheader("Wall against wall")
        st.markdown("\n".join(f"- {line}" for line in told))
