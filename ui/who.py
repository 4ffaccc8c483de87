"""Who is who: the map of the class, and what a person can put right about it."""

from __future__ import annotations

import base64
from collections.abc import Callable
from functools import partial
from html import escape
from pathlib import Path
from typing import Any

import streamlit as st
from parts import clip_of, draw, forget, lead, say

from motion.base.errors import ClipMissing, MotionError
from motion.base.home import touched_ns
from motion.base.types import Clip
from motion.desk.correct import add, exchange, give_label, join, leave_out, made_by_hand, not_this_one, own_version, undo
from motion.film.class_map import clearest_s, floor_plan, folder_map
from motion.jobs.covered_copy import is_current, keep_viewing_copy
from motion.jobs.queue import Finished, judged_before
from motion.review.corrections import Correction
from motion.review.settings import SETTINGS
from motion.tell.review_words import dancer_name
from motion.tell.words import clock

LABEL, EXCHANGE, JOIN, OWN, LEAVE_OUT, HIDE = (
    "Give a dancer a short label",
    "Exchange two dancers from a moment on",
    "Two numbers are one dancer",
    "Somebody dances a version of their own",
    "Leave somebody out of the review",
    "Not this one: cover somebody for good",
)
#: Whom each asks for, in the words of the page.
WHO = {
    LABEL: ("Who?",),
    EXCHANGE: ("Who?", "And who?"),
    JOIN: ("Who?", "Who is the same?"),
    OWN: ("Who?",),
    LEAVE_OUT: ("Who?",),
    HIDE: ("Who?",),
}
HIDE_WARNING = (
    "All that was kept of this dancer is deleted from this review. From then on they are covered whole, from head to foot, in every "
    "picture and film that is shown or written here, also when the clip is reviewed again into this folder. **It cannot be taken "
    "back.** If the page keeps a copy of the clip with heads covered, they are covered whole in that too, at once, which takes about as "
    "long as the clip lasts; should that be broken off, it is done the next time the page is started. After a quick look the copy is "
    "still as it was filmed; a day later its heads are covered, and they whole. A clip of yours that lies elsewhere stays as "
    "it was filmed, and so do files that you have taken away."
)


#: What is kept from one run of the page to the next: the review whose kept copy could not be made anew, and why.
NOT_COVERED = "who-not-covered"


@st.cache_data(max_entries=16, show_spinner="Drawing the map …")
def _map(folder: str, changed_ns: int, path: str, fingerprint: str, time_s: float, _clip: Clip) -> str:
    """The map as text for the page; drawn anew when the review has changed."""
    return base64.b64encode(folder_map(Path(folder), Path(path), _clip, time_s)).decode("ascii")


def who_is_who(one: Finished, review: dict[str, Any]) -> None:
    """The whole section."""
    names = {int(d["id"]): dancer_name(d) for d in review["dancers"]}
    made = made_by_hand(one.folder)
    st.header("Who is who")
    lead("Where everybody stands. If a number is not whose it should be, put that right here.")
    key, why = st.session_state.pop(NOT_COVERED, (None, ""))
    if key == one.key:
        st.warning(f"In the kept copy of the clip they are not covered yet; it is tried again when the page is started next. {why}")
    left, right = st.columns([3, 2], gap="large")
    with left:
        time_s = class_map(one, review, names)
    with right:
        ask(one, review, names, time_s)
    if made:
        by_hand(one, review, made)


def class_map(one: Finished, review: dict[str, Any], names: dict[int, str]) -> float:
    """The picture with the numbers, and the moment that it shows."""
    place = st.container()
    time_s = st.slider(
        "Second of the clip",
        min_value=0.0,
        max_value=float(review["clip"]["duration_s"]),
        value=clearest_s(review),
        step=0.1,
        format="%.1f",
        key=f"moment-of-map-{one.key}",
    )
    with place:
        try:
            changed_ns = touched_ns(one.clip)
            clip = clip_of(str(one.clip), changed_ns, review["clip"]["sha256"])
            review_ns = (one.folder / "review.json").stat().st_mtime_ns
            shown = _map(str(one.folder), review_ns, str(one.clip), clip.sha256, time_s, clip)
        except ClipMissing:
            draw(f'<div class="class-map">{floor_plan(review, time_s)}</div>', "class-plan")
            st.caption("A plan from where the dancers were found: the clip itself is not at hand.")
        except MotionError as error:
            say(error)
        else:
            alt = escape(f"The class at {clock(time_s)}, heads covered, with the numbers of: " + ", ".join(names.values()))
            draw(f'<div class="class-map"><img alt="{alt}" src="data:image/png;base64,{shown}"></div>', "class-map")
    return time_s


def ask(one: Finished, review: dict[str, Any], names: dict[int, str], time_s: float) -> None:
    """One thing to put right at a time."""
    ways = list(WHO) if len(names) > 1 else [LABEL, OWN]
    way = st.radio("What is to be put right?", ways, key=f"way-{one.key}")
    with st.form(f"who-{list(WHO).index(way)}", border=False):
        chosen = [_dancer(words, names, way, place) for place, words in enumerate(WHO[way])]
        first, second = chosen[0], chosen[-1]
        make: Callable[[], Correction]
        sure = True
        if way == LABEL:
            text = st.text_input(
                "Label",
                max_chars=SETTINGS.desk.label_letters,
                key="label",
                placeholder="such as Red, or K",
                help="A colour, a letter, a nickname. A real name is not needed; whoever sees the report sees the label.",
            )
            make, words = lambda: give_label(review, first, text), "Give this label"
        elif way == EXCHANGE:
            st.caption("Move the picture to just after the two were mixed up; until then the numbers stay as they are.")
            make, words = lambda: exchange(review, first, second, time_s), f"Exchange them from {clock(time_s)} on"
        elif way == JOIN:
            st.caption("One goes on where the other breaks off. Where both are seen, the first holds.")
            make, words = lambda: join(review, first, second), "They are one"
        elif way == OWN:
            st.caption(
                "For somebody who dances other steps on purpose, or who was given easier ones. They are shown beside the beat alone: "
                "nothing counts as missed, and nothing as another step than the sheet has. You can take this back."
            )
            make, words = lambda: own_version(review, first), "It is their own version"
        elif way == LEAVE_OUT:
            st.caption("For people who watch or pass by. Their heads stay covered, and you can take this back.")
            make, words = lambda: leave_out(review, first), "Leave out"
        else:
            st.warning(HIDE_WARNING, icon=":material/visibility_off:")
            sure = st.checkbox("I know that this cannot be taken back", key="sure-hide")
            make, words = lambda: not_this_one(review, first), "Cover for good"
        if st.form_submit_button(words, type="primary"):
            if sure:
                _change(one, lambda: add(one.folder, make(), judged_before(review, one.sheet)), covers=way == HIDE)
            else:
                st.info("Tick the box first.")


def _dancer(words: str, names: dict[int, str], way: str, place: int) -> int:
    """Ask for one dancer; the second field begins with the second dancer."""
    return int(
        st.selectbox(words, list(names), index=min(place, len(names) - 1), format_func=names.__getitem__, key=f"{way}-{place}")
    )


def by_hand(one: Finished, review: dict[str, Any], made: list[tuple[Correction, str, bool]]) -> None:
    """What was put right so far, each with a way back where there is one."""
    st.subheader("Put right by hand")
    st.caption("Numbers are those that the dancers had at that time.")
    for k, (correction, words, can) in enumerate(made):
        row = st.container(horizontal=True, vertical_alignment="center")
        row.markdown(f"{words}." if can else f"{words}. _Stays._", width="stretch")
        if can and row.button("Take back", key=f"undo-{k}", icon=":material/undo:"):
            _change(one, partial(undo, one.folder, correction, judged_before(review, one.sheet)))


def _change(one: Finished, do: Callable[[], None], *, covers: bool = False) -> None:
    """Have it done, judged again and shown; pictures made before are forgotten, for they may show who is now covered. covers: the
    page's kept copy of the clip is made anew too."""
    try:
        with st.spinner("Judging again …"):
            do()
    except MotionError as error:
        say(error)
        return
    forget()
    if covers and one.job is not None:
        try:
            if not is_current(one.job):
                with st.spinner("Covering them in the kept copy of the clip …"):
                    keep_viewing_copy(one.job)
        except MotionError as error:
            st.session_state[NOT_COVERED] = (one.key, str(error))
    st.rerun()
