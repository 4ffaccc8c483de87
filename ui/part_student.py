"""A view of the review page: one dancer, in large type. What went well, one thing to try, and the film to take along."""

from __future__ import annotations

from html import escape
from typing import Any

import streamlit as st
from parts import OF_ONE, TO_TAKE, handed_out, here, others, play_moment, say, show_figures
from who import class_map

from motion.base.errors import MotionError
from motion.film.take_home import handout_apart
from motion.jobs.queue import Finished
from motion.tell.report import report_html
from motion.tell.review_words import dancer_name
from motion.tell.student import StudentView
from motion.tell.student import student_view as view_of
from motion.tell.takes import Ladder, Line, same_dance, tempo_ladder


def student_view(one: Finished, review: dict[str, Any]) -> None:
    """The whole view of one dancer; asks who is looking where there are several."""
    dancers = {int(each["id"]): dancer_name(each) for each in review["dancers"]}
    number, find_me = next(iter(dancers)), False
    takes = [(each, stored) for each, stored in others(one) if same_dance(review, stored)]
    questions = iter(st.columns(max(1, (len(dancers) > 1) + bool(takes))))
    if len(dancers) > 1:
        with next(questions):
            number = st.selectbox("Who are you?", list(dancers), format_func=lambda n: dancers[n], key=f"student-{one.key}")
            find_me = st.toggle("Show me where everybody stands", key=f"find-me-{one.key}")
    earlier = None
    if takes:
        with next(questions):
            earlier = _earlier(one, takes)
    if find_me:
        class_map(one, review, dancers)
    seen = view_of(review, number, earlier=earlier)
    _large(seen)
    _play_it(one, review, number, seen)
    _since(seen)
    _ladder(review, number, takes)
    show_figures([*seen.figures, *_all_figures(seen)], "this clip")
    _film(one, review, number)
    _report(one, review, number)


def _large(seen: StudentView) -> None:
    """The sentences, as large as they are meant to be read."""
    lines = [("Went well", seen.well), ("To try" if seen.to_try.asks else "About this clip", seen.to_try)]
    parts = [
        f'<p class="student-head">{head}</p><p class="student">{escape(line.words)}</p>' for head, line in lines if line is not None
    ]
    st.html(f'<div class="student-card">{"".join(parts)}</div>')


def _all_figures(seen: StudentView) -> list[str]:
    return [words for line in (seen.well, seen.to_try) if line is not None for words in line.figures]


def _play_it(one: Finished, review: dict[str, Any], number: int, seen: StudentView) -> None:
    """The moments of both sentences, to be watched."""
    shown = [
        (words, line)
        for words, line in (("Watch what went well", seen.well), ("Watch what to try", seen.to_try))
        if _has_moment(line)
    ]
    if not shown:
        return
    with st.container(horizontal=True):
        for words, line in shown:
            if line is not None and st.button(words, key=f"student-{number}-{words}", icon=":material/play_arrow:"):
                st.session_state[OF_ONE] = (here(one), number, line.time_s, line.until_count, line.words)
    whose, who, time_s, until, about = st.session_state.get(OF_ONE, (None, None, 0.0, None, ""))
    if (whose, who) != (here(one), number):
        return
    play_moment(one, review, time_s, until, about)


def _has_moment(line: Line | None) -> bool:
    return line is not None and line.time_s is not None


def _since(seen: StudentView) -> None:
    """Last time beside this time."""
    if not seen.since and seen.since_why is None:
        return
    st.subheader("Since last time")
    for line in seen.since:
        st.markdown(line.words)
    if seen.since_why is not None:
        st.markdown(seen.since_why)
    show_figures([words for line in seen.since for words in line.figures], "since last time")


def _earlier(one: Finished, takes: list[tuple[Finished, dict[str, Any]]]) -> tuple[dict[str, Any], int] | None:
    """Ask which earlier clip shows the same dancer; nobody is found again by the program. takes: one or more."""
    choices = [
        (each.key, int(dancer["id"]), f"{each.title}: {dancer_name(dancer)}")
        for each, stored in takes
        for dancer in stored["dancers"]
    ]
    picked = st.selectbox(
        "Set beside an earlier clip of yours",
        [None, *range(len(choices))],
        format_func=lambda k: "No, only this clip" if k is None else choices[k][2],
        key=f"student-earlier-{one.key}",
    )
    if picked is None:
        return None
    key, number, _ = choices[picked]
    return next(stored for each, stored in takes if each.key == key), number


def _ladder(review: dict[str, Any], number: int, others: list[tuple[Finished, dict[str, Any]]]) -> None:
    """Up to which tempo it held, over clips with this dancer alone or under the same label."""
    label = _label(review, number)
    takes = [(review, number)]
    for _, stored in others:
        takes += [(stored, int(each["id"])) for each in stored["dancers"] if label and each["label"] == label]
    if len(takes) < 2:
        return
    _ladder_told(tempo_ladder(takes))


def _ladder_told(ladder: Ladder) -> None:
    if all(rung.held is None for rung in ladder.rungs):
        return  # that nothing can be told yet is no news
    st.subheader("Up to which tempo it held")
    st.markdown(ladder.words)
    show_figures([f"{rung.words} {' '.join(rung.figures)}".strip() for rung in ladder.rungs], "tempo by tempo")


def _film(one: Finished, review: dict[str, Any], number: int) -> None:
    """Make the film to take along, and hand it out."""
    with st.expander("A film to take along"):
        st.markdown(
            "You alone, everybody else masked, with large counts and clicks, at three speeds. "
            "The room's own sound is not in it. It plays on any phone."
        )
        mirror = st.checkbox("As in a mirror", key=f"mirror-{one.key}-{number}")
        heads = st.checkbox(
            "Show my head (I agreed to that; for a child a parent or guardian too)", key=f"heads-{one.key}-{number}"
        )
        asked = (here(one), number, mirror, heads)
        if st.button("Make the film", key=f"handout-{one.key}-{number}", icon=":material/movie:", disabled=not one.clip.is_file()):
            try:
                with st.spinner("Making the film, about as long as the dance lasts …"):
                    made = handout_apart(one.folder, one.clip, number, mirror=mirror, show_heads=heads)
                st.session_state[TO_TAKE] = (asked, made)
            except MotionError as error:
                say(error)
        if not one.clip.is_file():
            st.caption(f"The clip {review['clip']['name']} is not at hand, and without it no film can be made.")
        kept, made = st.session_state.get(TO_TAKE, (None, b""))
        if kept is not None and kept[0] != here(one):
            st.session_state.pop(TO_TAKE)
        elif kept == asked:
            head = "" if heads else " Your head is covered too."
            seen = f"Everybody else whom the program saw is covered.{head} It may have missed somebody"
            st.caption(f"{seen}: watch the film through before you hand it on.")
            name = f"hand-out-dancer-{number}.mp4"
            st.download_button(
                "Take the film",
                made,
                file_name=name,
                mime="video/mp4",
                key="get-handout",
                icon=":material/download:",
                on_click=handed_out,
                args=(one.folder, f"The film of dancer {number}", name, _label(review, number)),
            )


def _report(one: Finished, review: dict[str, Any], number: int) -> None:
    """This dancer's own pages of the report, with nobody else's figures in them."""
    if len(review["dancers"]) < 2:
        return  # then the report of the clip is theirs
    with st.expander("A report to take along"):
        st.markdown("All that was measured of you, to read and to print. Nobody else is in it.")
        name = f"report-dancer-{number}.html"
        st.download_button(
            "Take the report",
            report_html(review, only=number),
            file_name=name,
            mime="text/html",
            key=f"get-report-{one.key}-{number}",
            icon=":material/download:",
            on_click=handed_out,
            args=(one.folder, f"The report of dancer {number}", name, _label(review, number)),
        )


def _label(review: dict[str, Any], number: int) -> str | None:
    return next((each["label"] for each in review["dancers"] if int(each["id"]) == number), None)
