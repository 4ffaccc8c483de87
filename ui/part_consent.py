"""Before a review: who is in the clip, and which yes holds. Nothing is measured before that is written down."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TypedDict

import streamlit as st
from parts import say

from motion.base.errors import BadInput
from motion.jobs.queue import Job
from motion.library.classes import Library, open_library
from motion.library.consent import (
    Who,
    add_no,
    answers_told,
    class_yes,
    never_said,
    refusals,
    standing,
    usual_last_day,
    yes_for_one_review,
)
from motion.library.retention import dates_again
from motion.tell.words import told_day

MYSELF, OTHERS, CLASS = "Only me, and I am grown up", "Others, who all said yes", "A class from my library"
NO_CHILD, CHILDREN = "No", "Yes: for each a parent or guardian said yes, and so did the child"
NO_LESSON = "No lesson"
SAYS_NO: dict[str, tuple[Who, ...]] = {
    "A parent or guardian": ("guardian",),
    "The child": ("child",),
    "Both": ("guardian", "child"),
    "A grown-up, for themself": ("adult",),
}


class Holds(TypedDict, total=False):
    """By which yes, and for which class and lesson, a review may be made: numbers in the library."""

    class_id: int | None
    lesson_id: int | None
    consent_id: int | None


#: Gives what the library is to know of a review, once it is about to begin.
Agreed = Callable[[Library], Holds]


def who_agreed() -> Agreed | None:
    """Ask who is in the clip; None until there is a yes that holds."""
    way = st.radio("Who is in this clip?", [MYSELF, OTHERS, CLASS], index=None, key="who-agreed", horizontal=True)
    if way == MYSELF:
        st.caption(f"It is kept until {told_day(usual_last_day())}, or until you delete it.")
        return lambda library: {"consent_id": yes_for_one_review(library, "myself", usual_last_day().isoformat())}
    if way == OTHERS:
        return _others()
    return _a_class() if way == CLASS else None


def begun(agreed: Agreed, job: Callable[[], Job]) -> Job:
    """Write down who agreed, and only then begin."""
    with open_library() as library:
        holds = agreed(library)
        started = job()
        library.add_review(started.review, job=started.id, **holds)
    return started


def _others() -> Agreed | None:
    st.caption("The clip and its review go after the last day that was agreed. For people whom you film again, write a class down.")
    until = st.date_input(
        "They agreed until", value=usual_last_day(), min_value=date.today(), key="others-until", format="YYYY-MM-DD"
    )
    everyone = st.checkbox("Everybody in the picture said yes to being filmed and measured", key="others-yes")
    children = st.radio("Is there a child in the picture?", [NO_CHILD, CHILDREN], index=None, key="others-child")
    if not everyone or children is None:
        return None
    return lambda library: {"consent_id": yes_for_one_review(library, "others", until.isoformat())}


def _a_class() -> Agreed | None:
    with open_library() as library:
        names = {group.id: group.name for group in library.classes()}
        if not names:
            st.info("There is no class yet. Write one down on the page Library: who dances in it, and who said yes.")
            st.page_link("page_library.py", label="Open the library", icon=":material/arrow_forward:")
            return None
        class_id = st.selectbox("Which class?", list(names), format_func=names.__getitem__, key="agreed-class")
        refused = _no_told(library, class_id)
        if write_a_no(library, class_id):
            st.rerun()
        lessons = {one.id: f"{told_day(one.held_on)} · {one.title}" for one in library.lessons(class_id)}
        try:
            holds = class_yes(library, class_id)
        except BadInput as error:
            st.warning(str(error), icon=":material/front_hand:")
            st.page_link("page_library.py", label="Open the library", icon=":material/arrow_forward:")
            return None
    lesson = st.selectbox(
        "Which lesson?", [None, *lessons], format_func=lambda one: lessons.get(one, NO_LESSON), key="agreed-lesson"
    )
    until = f" The first of these ends on {told_day(holds.until)}; the review goes then." if holds.until else ""
    st.caption(f"A yes holds for {', '.join(holds.agreed)}.{until}")
    if holds.missing:
        if unasked := [label for label in holds.missing if label not in refused]:
            st.warning(f"No yes holds for {', '.join(unasked)}.", icon=":material/front_hand:")
        if not st.checkbox("None of them is in the picture", key="none-of-them"):
            return None
    return lambda _: {"class_id": class_id, "lesson_id": lesson}


def _no_told(library: Library, class_id: int) -> list[str]:
    """Say who of a class said no, before anything else about it; their labels."""
    refused = [one for one in standing(library, class_id) if one.no]
    if refused:
        st.warning(
            "Whoever says no dances along, out of the picture. Is something held about them? Delete it on the page Library.\n"
            + "\n".join(f"- {one.dancer.label}: {one.said}." for one in refused),
            icon=":material/front_hand:",
        )
    return [one.dancer.label for one in refused]


def write_a_no(library: Library, class_id: int) -> bool:
    """Write down that somebody of a class says no; whether that was done just now, and the page is to be drawn anew."""
    labels = {one.id: one.label for one in library.dancers(class_id)}
    new = f"{class_id}-{len(refusals(library))}"  # empty fields once a no is written down; what is refused stays in them
    with st.expander("Somebody says no"), st.form("no", border=False):
        whose = st.multiselect("Who is it about?", list(labels), format_func=labels.__getitem__, key=f"no-whose-{new}")
        who = st.radio("Who says no?", list(SAYS_NO), index=None, key=f"no-who-{new}")
        by = st.text_input("Said by", key=f"no-by-{new}", placeholder="such as mother; no names are needed")
        said_on = st.date_input(
            "On which day?", value=date.today(), max_value=date.today(), key=f"no-day-{new}", format="YYYY-MM-DD"
        )
        st.caption("It takes an earlier yes back, and holds until the same person says yes. Nobody has to say why.")
        if not st.form_submit_button("Write the no down"):
            return False
        try:
            add_no(library, whose, SAYS_NO[who] if who else (), said_by=by, said_on=said_on.isoformat())
        except BadInput as error:
            say(error)
            return False
    dates_again(library, class_id)
    return True


def take_out(library: Library, class_id: int) -> str:
    """Take out a yes or a no that was written down by mistake; what was done just now, "" if nothing was."""
    answers = answers_told(library, class_id)
    with st.expander("I wrote a yes or a no down by mistake"):
        st.markdown(
            "Only for what **nobody said**, such as a slip of the hand: it goes out of the book, as if it had never been there. Did "
            "somebody **change their mind**? Then leave it in, and write the new answer down above: both stay in the book, with their days."
        )
        if not answers:
            st.caption("Nothing is written down yet.")
            return ""
        one = st.selectbox(
            "What was never said?", list(answers), index=None, format_func=answers.__getitem__, key=f"never-{class_id}-{len(answers)}",
            placeholder="Choose a yes or a no",
        )  # fmt: skip
        if one is None:
            return ""
        st.caption("What it had ended holds again.")
        sure = st.checkbox("Yes, this was never said. Taking it out cannot be taken back.", key=f"never-sure-{one}")
        if not st.button("Take it out of the book", key=f"never-out-{one}", disabled=not sure):
            return ""
    never_said(library, one)
    dates_again(library, class_id)
    return f"It is out of the book: {answers[one]}"
