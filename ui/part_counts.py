"""A part of the review page: counts that were taken wrongly, put right."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import streamlit as st
from parts import review_in

from motion.base.errors import MotionError
from motion.base.options import JudgeOptions
from motion.desk.recount import look_ahead, recount
from motion.jobs.queue import Finished, judged_before
from motion.tell.moments import other_first_count

SPEEDS = {"half": "half as many counts", "same": "as the beat was heard", "double": "twice as many counts"}
#: What is kept from a press to the page that it leads to: which review could not be judged again, and why.
NOT_JUDGED = "not-judged"


def put_right(one: Finished, review: dict[str, Any]) -> None:
    """Count 1 a count earlier or later, at another second, or the counts at another speed. The press itself has all judged again, before
    the page is drawn: it is then drawn once, with the outcome."""
    before, first = judged_before(review, one.sheet), review["beats"]["first_count_s"]
    if st.session_state.get("read-ahead") != one.key:
        st.session_state["read-ahead"] = one.key
        look_ahead(one.folder, before)
    key, why = st.session_state.pop(NOT_JUDGED, (None, ""))
    if key == one.key:
        st.error(why, icon=":material/report:")
    with st.expander("Put the counts right"):
        st.markdown(
            "If the counts do not fall where you would call them, say so here. All is judged again at once; the clip is not needed."
        )
        left, right, _ = st.container(key="recount").columns([1, 1, 2])
        for place, name, by in ((left, "earlier", -1), (right, "later", 1)):
            end = other_first_count(review["beats"], by) is None
            place.button(f"One count {name}", key=name, disabled=end, width="stretch", on_click=_moved, args=(one, by))
        with st.form("counts", border=False):
            at, speed = f"first-{one.key}-{first}", f"speed-{one.key}-{before.count_speed}"
            least = min(0.0, first or 0.0)  # count 1 may lie before the clip
            st.number_input("Count 1 falls at second", min_value=least, value=first, step=0.01, format="%.2f", key=at)
            st.radio(
                "How fast the counts go",
                list(SPEEDS),
                index=list(SPEEDS).index(before.count_speed),
                format_func=lambda s: SPEEDS[s],
                key=speed,
                horizontal=True,
            )
            st.form_submit_button("Judge again", type="primary", on_click=_as_written, args=(one, before, at, speed))


def _moved(one: Finished, by: int) -> None:
    """Count 1 `by` counts later than it is now, which a press just before may have changed."""
    try:
        review = review_in(one.folder)
    except MotionError as error:  # deleted in another window
        st.session_state[NOT_JUDGED] = (one.key, str(error))
        return
    if (at_s := other_first_count(review["beats"], by)) is not None:
        _judged_again(one, replace(judged_before(review, one.sheet), first_count_s=at_s))


def _as_written(one: Finished, before: JudgeOptions, at: str, speed: str) -> None:
    """As the form has it; at, speed: the keys of its fields."""
    _judged_again(one, replace(before, first_count_s=st.session_state[at], count_speed=st.session_state[speed]))


def _judged_again(one: Finished, asked: JudgeOptions) -> None:
    try:
        recount(one.folder, asked)
    except MotionError as error:
        st.session_state[NOT_JUDGED] = (one.key, str(error))
