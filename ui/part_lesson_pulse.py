"""A part of the lesson page: counted pulses and breaths of one grown-up, and of a class. Nothing is stored unasked."""

from __future__ import annotations

import streamlit as st
from parts import plain, say, show_figures

from motion.base.errors import MotionError
from motion.lesson.pulse import COUNT_SECONDS, ZONE_SOURCES
from motion.review.settings import SETTINGS
from motion.tell.lesson_plan import Lesson
from motion.tell.lesson_words import SOURCE_WORDS, breath_told, counts_told, effort_told, energy_told, pulse_note


def counts(lesson: Lesson) -> None:
    """Numbers in, sentences out."""
    if lesson.wish.audience == "children":
        st.subheader("An example for the class")
        st.caption("The counts of one heart that wants to be the example. Nothing is kept.")
    else:
        st.subheader("Your own counts")
        st.caption("For whoever wants it, and for their eyes. Nothing is kept unless they say so.")
    row = st.columns(4)
    seconds = row[0].radio("Counted for", COUNT_SECONDS, index=1, format_func=lambda n: f"{n} s", key="pulse-seconds")
    rest = row[1].number_input("At rest", value=None, step=1, key="pulse-rest")
    after = row[2].number_input("After the dance", value=None, step=1, key="pulse-after")
    later = row[3].number_input("A minute later", value=None, step=1, key="pulse-later")
    try:
        for words in counts_told(seconds, rest, after, later):
            st.markdown(words)
        if lesson.wish.audience == "children":
            if rest is not None and after is not None:
                st.markdown("Whose heart beats faster now than at rest? Hands up. And who can still talk, but not sing?")
        else:
            _grown_up(lesson, seconds, rest, after)
            _keep(seconds, rest, after, later)
    except MotionError as error:
        say(error)


def _keep(seconds: int, rest: int | None, after: int | None, later: int | None) -> None:
    """Keep one grown-up's counts with the lesson's record, if they want that."""
    kept = st.session_state.setdefault("pulse-notes", {})
    with st.expander("Keep these counts with the record"):
        label = st.text_input("A label of your own choice, no name", max_chars=SETTINGS.lesson.label_letters, key="pulse-label")
        wanted = st.checkbox("I want them kept", key="pulse-wanted")
        if st.button("Add them", key="pulse-add", disabled=not (wanted and label.strip())):
            kept[label.strip()] = pulse_note(label, seconds, rest, after, later)
        if kept:
            st.caption(f"To be kept when the record is written: {plain(', '.join(kept))}.")
            if st.button("Keep none of them", key="pulse-none"):
                kept.clear()
                st.rerun()


def _grown_up(lesson: Lesson, seconds: int, rest: int | None, after: int | None) -> None:
    """Effort, breath and energy of somebody who gave their age."""
    age = lesson.wish.age
    if age is None:
        st.caption("With an age, given above, the pulse is set beside a target.")
        return
    if after is not None:
        source = st.radio("Target by", ZONE_SOURCES, format_func=SOURCE_WORDS.__getitem__, key="pulse-source")
        told = effort_told(seconds, after, age, source, rest=rest)
        st.markdown(told.words)
        show_figures(told.figures, "the highest pulse and the target")
    row = st.columns(3)
    breaths = row[0].number_input("Breaths in 30 s, at rest", value=None, step=1, key="pulse-breaths")
    kg = row[1].number_input("Weight, kg", value=None, step=1.0, format="%.0f", key="pulse-kg")
    minutes = row[2].number_input("Minutes danced", value=30.0, step=5.0, format="%.0f", key="pulse-minutes")
    if breaths is not None:
        told = breath_told(breaths, age)
        st.markdown(told.words)
        show_figures(told.figures, "breathing at rest")
    if kg is not None:
        told = energy_told(age, float(kg), float(minutes))
        st.markdown(told.words)
        show_figures(told.figures, "what dancing takes")
