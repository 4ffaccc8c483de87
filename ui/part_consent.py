"""Before a review: who is in the clip, and which yes holds. Nothing is measured before that is written down."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import streamlit as st

from motion.errors import BadInput
from motion.jobs import Job
from motion.library import Library, open_library
from motion.library_consent import class_yes, usual_last_day, yes_for_one_review
from motion.report_words import told_day

MYSELF, OTHERS, CLASS = "Only me, and I am grown up", "Others, who all said yes", "A class from my library"
NO_CHILD, CHILDREN = "No", "Yes: for each a parent or guardian said yes, and so did the child"
NO_LESSON = "No lesson"
#: Gives what the library is to know of a review, once it is about to begin.
Agreed = Callable[[Library], dict[str, int | None]]


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
        st.warning(f"No yes holds for {', '.join(holds.missing)}.", icon=":material/front_hand:")
        if not st.checkbox("None of them is in the picture", key="none-of-them"):
            return None
    return lambda _: {"class_id": class_id, "lesson_id": lesson}
