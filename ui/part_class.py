"""The class as a whole, one dancer wall against wall, the clip against the sheet, and the music's phrases."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st
from parts import lead, show_figures

from motion.tell.class_words import class_figures, class_told, moments_told, together_rows, walls_figures, walls_told
from motion.tell.habit_words import habits_told, walls_timing_told
from motion.tell.sheet_words import phrase_told, sheet_told, spread_rows
from motion.tell.words import Told


def told(one: Told | None, of: str, *, large: bool = False) -> None:
    """Words first, their figures folded away under what they are `of`; nothing for None."""
    if one is None:
        return
    if large:
        lead(one.words)
    else:
        st.markdown(one.words)
    show_figures(one.figures, of)


def the_class(review: dict[str, Any]) -> None:
    """Which counts the class lost, how close together it was, what to watch; nothing for one dancer. Nobody is ranked."""
    lines = class_told(review)
    if not lines:
        return
    st.header("The class")
    st.markdown("\n".join(f"- {line}" for line in lines))
    moments = moments_told(review)
    if moments:
        with st.expander("Moments to watch", expanded=True):
            st.markdown("\n".join(f"- {line}" for line in moments))
    table(together_rows(review), "Show the figures: how together, count by count", class_figures(review))


def habits(dancer: dict[str, Any], review: dict[str, Any]) -> None:
    """How many counts are on the beat, which are right on and which are hard."""
    told(habits_told(dancer, review["beats"]), "how many counts are on the beat")


def wall_against_wall(dancer: dict[str, Any], review: dict[str, Any], *, differences: bool = True) -> None:
    """Where one wall differs from this dancer's others; nothing without a dance sheet. Without `differences` only what was compared."""
    lines = walls_told(dancer, review["beats"])
    timed = walls_timing_told(dancer, review["beats"])
    if not lines and timed is None:
        return
    if differences:
        st.subheader("Wall against wall")
    if lines:
        st.markdown("\n".join(f"- {line}" for line in lines) if differences else lines[-1])
    told(timed, "early or late, wall by wall")
    table(spread_rows(dancer), "Show the figures: how far the walls lie apart, count by count", walls_figures(dancer))


def against_the_sheet(dancer: dict[str, Any], *, heading: bool = True) -> None:
    """Does the clip equal the sheet; nothing without one."""
    one = sheet_told(dancer)
    if one:
        if heading:
            st.subheader("The clip against the sheet")
        told(one, "clip and sheet")


def phrases(review: dict[str, Any]) -> None:
    """Does the dance fit the music's phrases; nothing without a sheet or a beat."""
    told(phrase_told(review), "the music's phrases")


def table(rows: list[dict[str, str]], heading: str, above: Sequence[str] = ()) -> None:
    """Rows of words and figures with lines above them, folded away; nothing without rows."""
    if rows:
        with st.expander(heading):
            st.markdown("\n".join(f"- {line}" for line in above))
            st.dataframe(rows, hide_index=True)
