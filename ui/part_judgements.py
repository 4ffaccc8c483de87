"""The teacher's own judgement of each dancer of a lesson, with what was measured beside it."""

from __future__ import annotations

import streamlit as st
from parts import say

from motion.base.errors import MotionError
from motion.library.class_table import CRITERIA, LEVELS, NOT_ASSESSABLE, NOT_SOLE, Take, evidence, with_label
from motion.library.classes import Dancer, Lesson, Library
from motion.tell.teacher import quick_look

OPEN = "left open"


def judgements(library: Library, lesson: Lesson, takes: list[Take]) -> None:
    """One dancer at a time, chosen as they stand."""
    st.subheader("Your own judgement")
    st.markdown(NOT_SOLE)
    dancers = library.dancers(lesson.class_id)
    if not dancers:
        st.markdown("The class has no line-up yet. Write down its labels in the library, and judgements can be kept.")
        return
    names = {one.id: one for one in dancers}
    chosen = names[
        st.selectbox("Dancer, in standing order", list(names), format_func=lambda n: names[n].label, key=f"judged-{lesson.id}")
    ]
    careful = [take for take in takes if not quick_look(take.review)]  # a quick look is too rough to lay beside a judgement
    seen = next(((take, block) for take in careful if (block := with_label(take.review, chosen.label)) is not None), None)
    if seen is None:
        st.caption(
            f"No clip of this lesson shows a dancer under the label {chosen.label}: there is nothing measured to lay beside."
        )
    _ask(library, lesson, chosen, evidence(seen[0].review, seen[1]) if seen else {})


def _ask(library: Library, lesson: Lesson, dancer: Dancer, measured: dict[str, str]) -> None:
    """The criteria as a form; what was judged before stands in it, and can be taken back."""
    here = f"{lesson.id}-{dancer.id}"
    before = {one.criterion: one for one in library.judgements(lesson_id=lesson.id, dancer_id=dancer.id)}
    for k in range(len(CRITERIA)):
        if st.session_state.pop(f"judgement-gone-{here}-{k}", False):
            st.session_state[f"level-{here}-{k}"], st.session_state[f"words-{here}-{k}"] = OPEN, ""
    with st.form(f"judgement-{here}"):
        given = {}
        for k, criterion in enumerate(CRITERIA):
            left, right = st.columns([1, 1], gap="large")
            kept = before.get(criterion)
            held = OPEN if kept is None else kept.level or NOT_ASSESSABLE
            choices = list(dict.fromkeys((OPEN, *LEVELS, NOT_ASSESSABLE, held)))
            level = left.selectbox(criterion, choices, index=choices.index(held), key=f"level-{here}-{k}")
            beside = left if measured else right
            words = beside.text_input(f"In your words: {criterion}", value=kept.words if kept else "", key=f"words-{here}-{k}")
            if measured:
                right.caption("What the clip shows")
                right.markdown(measured[criterion])
            given[criterion] = (level, words)
        with st.container(horizontal=True):
            keep = st.form_submit_button("Keep this judgement", type="primary")
            back = bool(before) and st.form_submit_button(
                "Take it back", help="Deletes what you kept about this dancer and lesson."
            )
    if f"judgement-said-{here}" in st.session_state:  # below the buttons, where whoever pressed one looks
        st.success(st.session_state.pop(f"judgement-said-{here}"), icon=":material/check:")
    if not keep and not back:
        return
    loose = [c for c, (level, words) in given.items() if level == OPEN and words.strip() and c not in before]
    if keep and loose:
        st.warning(
            f"Nothing is kept yet: choose a word, or “{NOT_ASSESSABLE}”, where you wrote something: {', '.join(loose)}.",
            icon=":material/front_hand:",
        )
        return
    gone = {one for one in before if back or given.get(one, ("",))[0] == OPEN}
    try:
        for criterion in gone:
            library.take_back(lesson.id, dancer.id, criterion)
        for criterion, (level, words) in given.items():
            if keep and level != OPEN:
                library.judge(lesson.id, dancer.id, criterion, None if level == NOT_ASSESSABLE else level, words)
    except MotionError as error:
        say(error)
        return
    for k, criterion in enumerate(CRITERIA):
        if criterion in gone:
            st.session_state[f"judgement-gone-{here}-{k}"] = True
    kept_some = any(level != OPEN for level, _ in given.values())
    st.session_state[f"judgement-said-{here}"] = "Kept." if keep and kept_some else "Nothing is kept: all of it is left open."
    if back:
        st.session_state[f"judgement-said-{here}"] = "Taken back: nothing of it is kept."
    st.rerun()
