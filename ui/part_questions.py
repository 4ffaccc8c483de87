"""Parts of the review page: what the review asks back, once, and what it found that is no fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import streamlit as st
from parts import show_figures

from motion.base.options import JudgeOptions
from motion.jobs.queue import Finished, judged_before
from motion.tell.questions import MIRROR_QUESTION, easier_told, mirror_answered, mirror_is_open, phrasing_told


def mirror_asked(one: Finished, review: dict[str, Any], judge_again: Callable[[Finished, JudgeOptions], None]) -> None:
    """Ask once whether the clip shows the dance in mirror image, and judge again by the answer; an answer can be taken back."""
    before = judged_before(review, one.sheet)
    if mirror_is_open(review):
        with st.container(border=True):
            st.markdown(f"**{MIRROR_QUESTION}**")
            st.caption("The dance fits better with left and right exchanged. All is judged again at once; the clip is not needed.")
            row = st.container(horizontal=True)
            if row.button("Yes, it is turned round", key=f"mirror-yes-{one.key}"):
                judge_again(one, replace(before, mirror="yes"))
            if row.button("No, they danced it like that", key=f"mirror-no-{one.key}"):
                judge_again(one, replace(before, mirror="no"))
    elif (answered := mirror_answered(review)) is not None:
        row = st.container(horizontal=True, vertical_alignment="center")
        row.caption(answered, width="stretch")
        if row.button("Take the answer back", key=f"mirror-ask-{one.key}", icon=":material/undo:", type="tertiary"):
            judge_again(one, replace(before, mirror="ask"))


def phrased(dancer: dict[str, Any]) -> None:
    """Counts that the dancer places off the beat wall after wall, if there are any."""
    told = phrasing_told(dancer)
    if told is not None:
        st.markdown(told.words)
        show_figures(told.figures, "how this dancer phrases it")


def easier(dancer: dict[str, Any], review: dict[str, Any] | None = None) -> None:
    """Where the dancer took an easier way that the sheet offers, if anywhere. review: so that walls can be named."""
    told = easier_told(dancer, review)
    if told is not None:
        st.markdown(told)
