"""A finished review: the beat, each dancer against it, the moments to look at, the joints, and all of it to take away."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import Any

import streamlit as st
from part_again import careful_later
from part_choreographer import choreographer_view
from part_class import against_the_sheet, habits, phrases, the_class, wall_against_wall
from part_counted import counted_sound
from part_counts import put_right
from part_film import counted_clip
from part_questions import easier, mirror_asked, phrased
from part_ranges import bends_used, cautions, joints_over_counts, other_zero
from part_student import student_view
from part_taps import other_beats
from part_teacher import remember, teacher_view
from parts import OF_ALL, draw, facts, forget, handed_out, here, lead, play_moment, review_in, say, show_figures, start_path
from who import who_is_who

from motion.base.errors import MotionError
from motion.base.options import JudgeOptions
from motion.desk.recount import recount
from motion.jobs.queue import Finished, delete, finished, judged_before
from motion.jobs.range_history import standings
from motion.tell.count_line import chart_legend, count_chart
from motion.tell.moments import time_of_count
from motion.tell.questions import asks_mirror
from motion.tell.range_words import range_groups, sides_told
from motion.tell.review_words import (
    Finding,
    beat_told,
    clip_facts,
    clip_notes,
    dancer_name,
    findings,
    no_findings,
    step_rows,
    timing_told,
    unsure_told,
    zero_told,
)
from motion.tell.words import clock, why_not

TAKE_AWAY = (
    ("report.html", "The report, to print", "text/html"),
    ("steps.csv", "Every landing", "text/csv"),
    ("beats.csv", "Every beat", "text/csv"),
    ("angles.csv", "Every bend, picture by picture", "text/csv"),
    ("review.json", "All of it, for programs", "application/json"),
)
#: Whose view it is, as the address bar remembers it, and what it is called.
VIEWS = {"teacher": "Teacher", "student": "Student", "choreographer": "Choreographer", "everything": "Everything"}


def chosen(reviews: list[Finished]) -> Finished:
    """Ask which review; the address bar remembers it."""
    keys = [one.key for one in reviews]
    asked = st.query_params.get("review")
    titles = {one.key: one.title for one in reviews}
    index = keys.index(asked) if asked in keys else 0
    key = st.selectbox("Which review?", keys, index=index, format_func=lambda k: titles[k], key="review")
    st.query_params["review"] = key
    return next(one for one in reviews if one.key == key)


def head(review: dict[str, Any]) -> None:
    """What was filmed, and what is good to know about it."""
    st.title(review["clip"]["name"])
    facts(clip_facts(review))
    for note in clip_notes(review):
        if asks_mirror(note):  # asked by mirror_asked, with its answers as buttons
            continue
        st.info(note, icon=":material/info:")


def beat(one: Finished, review: dict[str, Any]) -> None:
    """What the beat is and how sure, and a way to correct it."""
    st.header("The beat")
    told = beat_told(review["beats"])
    lead(told.words)
    show_figures(told.figures, "the beat")
    phrases(review)
    if why_not(review["beats"]):
        return
    put_right(one, review)


def judge_again(one: Finished, judge: JudgeOptions) -> None:
    """Have the review judged again, and show the outcome."""
    try:
        with st.spinner("Judging again …"):
            recount(one.folder, judge)
    except MotionError as error:
        say(error)
        return
    st.rerun()


def dancer_chosen(review: dict[str, Any]) -> dict[str, Any]:
    """Ask which dancer, in the order in which they stand."""
    dancers = {str(one["id"]): one for one in review["dancers"]}
    if len(dancers) == 1:
        return next(iter(dancers.values()))
    st.header("The dancers")
    asked = st.query_params.get("dancer")
    key = st.segmented_control(
        "Dancer, as they stand from the picture's left",
        list(dancers),
        default=asked if asked in dancers else next(iter(dancers)),
        format_func=lambda k: dancer_name(dancers[k]),
        key="dancer",
        required=True,
    )
    st.query_params["dancer"] = key
    chosen: dict[str, Any] = dancers[key]
    return chosen


def timing(dancer: dict[str, Any], review: dict[str, Any]) -> None:
    """The summary and the count line."""
    st.subheader("With the beat")
    told = timing_told(dancer, review["beats"])
    lead(told.words)
    habits(dancer, review)
    phrased(dancer)
    easier(dancer, review)
    if hidden := unsure_told(dancer):
        st.caption(hidden)
    chart = count_chart(dancer, review["beats"], review.get("dance"))
    draw(chart, "count-line")
    if "<svg" in chart:
        with st.expander("How to read the count line"):
            draw(chart_legend(), "legend")
    rows = step_rows(dancer, review["beats"], review.get("dance"))
    if told.figures or rows:
        with st.expander("Show the figures: landing by landing"):
            st.markdown("\n".join(f"- {line}" for line in told.figures))
            st.dataframe(rows, hide_index=True)


def moments(one: Finished, dancer: dict[str, Any], review: dict[str, Any]) -> None:
    """The moments to look at: a click plays each from two counts before."""
    st.subheader("Moments to look at")
    left, right = st.columns([1, 1], gap="large")
    with left:
        found = findings(dancer, review["beats"], review.get("dance"))
        if not found:
            st.markdown(no_findings(dancer))
        for finding in found:
            moment(one, finding, dancer)
        counted = why_not(review["beats"]) is None and review["beats"]["first_count_s"] is not None
        if counted:
            any_count(one, dancer, review)
    if found or counted:
        with right, st.container(key="film"):
            film(one, review, dancer)


def moment(one: Finished, finding: Finding, dancer: dict[str, Any]) -> None:
    """One finding with the button that plays it."""
    with st.container(border=True):
        st.html(
            f'<div class="found"><span class="mark">{finding.mark}</span><div>{escape(finding.words)}<br>'
            f'<span class="quiet">{escape(finding.where)} · {finding.sure}</span></div></div>'
        )
        row = st.container(horizontal=True, vertical_alignment="center")
        if row.button(f"Play {clock(finding.time_s)}", key=f"play-{dancer['id']}-{finding.mark}", icon=":material/play_arrow:"):
            words = f"{finding.mark}: {finding.words}"
            st.session_state[OF_ALL] = (here(one), dancer["id"], finding.time_s, finding.until_count, words)
        with row.popover("Show the figures", type="tertiary"):
            st.markdown(finding.figures)


def any_count(one: Finished, dancer: dict[str, Any], review: dict[str, Any]) -> None:
    """Play any other count."""
    with st.form("any-count", border=False):
        a, b = st.columns([2, 1], vertical_alignment="bottom")
        count = a.number_input("Another count (from count 1 of the first wall)", min_value=1, value=1, step=1, key="count")
        if b.form_submit_button("Play it", icon=":material/play_arrow:"):
            time_s = time_of_count(review["beats"], count)
            if time_s is None:
                st.info(f"The clip ends before count {count}.")
            else:
                st.session_state[OF_ALL] = (here(one), dancer["id"], time_s, None, f"Count {count}")


def film(one: Finished, review: dict[str, Any], dancer: dict[str, Any]) -> None:
    """The player with the chosen moment."""
    whose, who, time_s, until, about = st.session_state.get(OF_ALL, (None, None, 0.0, None, ""))
    if (whose, who) != (here(one), dancer["id"]):
        st.caption("Press Play beside a moment: the clip starts two counts before it, or a second where the beat is not known.")
        return
    play_moment(one, review, time_s, until, about)


def ranges(one: Finished, dancer: dict[str, Any], review: dict[str, Any]) -> None:
    """How far the joints moved, and from where that was seen."""
    st.subheader("How far the joints moved")
    before = judged_before(review, one.sheet)
    other_zero(
        dancer,
        lambda: standings(start_path(), dancer["label"], but=one.key),
        lambda folder: judge_again(one, replace(before, standing=folder)),
    )
    groups = range_groups(dancer)
    if isinstance(groups, str):
        st.markdown(groups)
        return
    head = "".join(f'<th scope="col">{word}</th>' for word in ("Joint", "Moved through", "Give or take", "Seen", "Pictures used"))
    body = ""
    for heading, rows in groups:
        body += f'<tr><th scope="colgroup" colspan="5">{escape(heading)}</th></tr>'
        for row in rows:
            cells = "".join(f"<td>{escape(cell)}</td>" for cell in (row.moved, row.give_or_take, row.seen, row.pictures))
            if row.why:
                cells = f'<td colspan="4" class="quiet">not measured: {escape(row.why)}</td>'
            body += f'<tr><th scope="row">{row.joint}</th>{cells}</tr>'
    st.html(f'<table class="ranges"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>')
    if apart := sides_told(dancer):
        st.caption(apart)
    st.caption(zero_told(dancer))
    bends_used(dancer, lambda: judge_again(one, replace(before, body_facts=True)))
    joints_over_counts(one.folder, dancer, review["beats"])
    st.caption("This describes the clip. It is not how far a joint can move, and no norm to reach.")
    cautions()


def take_away(one: Finished) -> None:
    """Everything as files, and the way to delete it."""
    st.header("Take it with you")
    with st.container(horizontal=True):
        for name, words, kind in TAKE_AWAY:
            path = one.folder / name
            if path.is_file():
                st.download_button(
                    f"{words} ({name})",
                    path.read_bytes,
                    file_name=name,
                    mime=kind,
                    key=f"get-{name}",
                    icon=":material/download:",
                    on_click=handed_out,
                    args=(one.folder, words, name),
                )
    if one.job is None:
        return
    with st.expander("Delete this review"):
        what = "the review and the copy of the clip" if one.job.own_clip else "the review; the clip itself stays where it is"
        st.markdown(f"This removes {what}. It cannot be taken back.")
        if st.checkbox("Yes, delete it", key=f"sure-{one.key}") and st.button("Delete now", key="delete"):
            try:
                delete(one.job)
                forget()
            except MotionError as error:
                say(error)
            else:
                st.query_params.clear()
                st.session_state.pop("job", None)
                st.rerun()


def page() -> None:
    """The whole page, or what to do while there is nothing to show."""
    reviews = finished(start_path())
    if not reviews:
        st.title("Review")
        lead("No review yet.")
        st.markdown("Start one with a sample clip, and it will be here in a minute or two.")
        st.page_link("page_new.py", label="Start a review", icon=":material/arrow_forward:")
        return
    left, right = st.columns([2, 3], vertical_alignment="bottom")  # side by side: on a projector every line counts
    with left:
        one = chosen(reviews)
    review = review_in(one.folder)
    with right:
        view = whose_view()
    if not review["dancers"]:
        head(review)
        st.markdown("Nobody is left in this review: whoever danced was taken out of it.")
        take_away(one)
        return
    if view == "everything":
        everything(one, review)
        return
    st.title(review["clip"]["name"])
    careful_later(one)
    mirror_asked(one, review, judge_again)
    {"teacher": teacher_view, "student": student_view, "choreographer": choreographer_view}[view](one, review)


def whose_view() -> str:
    """Ask whose view; the address bar remembers it."""
    asked = st.query_params.get("view")
    view = st.segmented_control(
        "Whose view?",
        list(VIEWS),
        default=asked if asked in VIEWS else next(iter(VIEWS)),
        format_func=VIEWS.__getitem__,
        key="view",
        required=True,
    )
    remember("view", view)
    return str(view)


def everything(one: Finished, review: dict[str, Any]) -> None:
    """All that there is about a review, also the ways to put it right."""
    head(review)
    careful_later(one)
    mirror_asked(one, review, judge_again)
    beat(one, review)
    other_beats(one, review, judge_again)
    counted_sound(one, review)
    who_is_who(one, review)
    the_class(review)
    dancer = dancer_chosen(review)
    st.header(dancer_name(dancer))
    timing(dancer, review)
    moments(one, dancer, review)
    wall_against_wall(dancer, review)
    against_the_sheet(dancer)
    ranges(one, dancer, review)
    counted_clip(one, review)
    take_away(one)


try:
    page()
except MotionError as error:
    say(error)
