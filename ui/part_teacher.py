"""The teacher's view of a review: the class first, safe on a projector; dancers only when asked for, as they stand and never ranked."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import streamlit as st
from part_judgements import judgements
from parts import OF_THE_CLASS, draw, here, lead, plain, play_moment, review_in, say, show_figures
from who import class_map

from motion.base.errors import BadStore, MotionError
from motion.desk.correct import add
from motion.jobs.queue import Finished, judged_before
from motion.library.class_table import Take, gathered, label_corrections, lesson_of, proposed_labels, without_label
from motion.library.classes import open_library
from motion.library.consent import without_yes
from motion.tell.count_table import table_html, table_legend
from motion.tell.review_words import beat_told, dancer_name
from motion.tell.teacher import NOBODY, Moment, class_mode, count_table, minutes, nameless, quick_look
from motion.tell.words import clock, told_day, why_not

HERE = Path(__file__).parent
_screen = st.components.v2.component(
    "countfall_screen",
    html=(HERE / "screen.html").read_text(encoding="utf-8"),
    css=(HERE / "screen.css").read_text(encoding="utf-8"),
    js=(HERE / "screen.js").read_text(encoding="utf-8"),
)


def teacher_view(one: Finished, review: dict[str, Any]) -> None:
    """The whole view."""
    left, right = st.columns([1, 3], vertical_alignment="bottom")
    left.header("The class")
    with right:
        names_off = screen()
    shown = nameless(review) if names_off else review
    the_class_first(one, shown)
    if quick_look(review):
        after_quick_look(review)
        return
    words = "Show the dancer" if len(review["dancers"]) == 1 else "Show the dancers"
    with_dancers = st.toggle(words, value=st.query_params.get("dancers") == "shown", key=f"dancers-{one.key}")
    remember("dancers", "shown" if with_dancers else None)
    if not with_dancers:
        st.caption("Nothing about a single dancer is on this page until you ask for it.")
        return
    where_they_stand(one, shown, names_off)
    counts(shown)
    a_minute(one, shown)
    lesson(one, shown, names_off)


def after_quick_look(review: dict[str, Any]) -> None:
    """Where to go on after a quick look, which has no dancers on this page."""
    if len(review["dancers"]) > 1:
        st.caption("A quick look tells of the class and of nobody alone; a careful review shows the dancers.")
        return
    st.markdown(
        "A first impression of this dancer stands under Student. Before you tell them what you see there, review the clip carefully: a "
        "quick look is too rough for it."
    )
    st.button("To the Student view", icon=":material/arrow_forward:", on_click=_go_to, args=("student",))


def remember(name: str, value: str | None) -> None:
    """Keep something in the address bar, so that the same view opens again."""
    if value is None:
        st.query_params.pop(name, None)
    elif st.query_params.get(name) != value:
        st.query_params[name] = value


def screen() -> bool:
    """The buttons for a projector; whether names are off."""
    names_off = st.query_params.get("names") == "off"
    asked = _screen(key="screen", data={"names_off": names_off}, on_names_change=lambda: None)
    st.caption("Key n: names off and on again. Key b: blank the screen. The third button switches both keys off.")
    if asked.names is not None and asked.names != names_off:
        remember("names", "off" if asked.names else None)
        st.rerun()
    return names_off


def the_class_first(one: Finished, review: dict[str, Any]) -> None:
    """What the class lost, how together it was, what to watch, what to teach again. Nobody is named."""
    told = class_mode(review)
    if told.why:
        lead(told.why)
        st.markdown(beat_told(review["beats"]).words)
        without_beat(review)
        return
    left, right = st.columns([1, 1], gap="large")
    with left:
        st.subheader("Counts that the class lost")
        if told.doubt:
            in_doubt(told.doubt)
        st.markdown(told.lost[0] if len(told.lost) == 1 else "\n".join(f"- {line}" for line in told.lost))
        st.subheader("How close together")
        st.markdown(told.together.words)
        show_figures(told.together.figures, "how close together")
        if told.teach_again:
            st.subheader("Worth teaching again")
            st.markdown("\n".join(f"- {line}" for line in told.teach_again))
        st.caption(
            f"{beat_told(review['beats']).words} Are the counts or the people not right? That is put right under Everything."
        )
        without_beat(review)
    with right:
        st.subheader("To watch")
        film = st.container()  # above its buttons, so that it is in view when one is pressed
        if not told.watch:
            st.markdown("No moment of the class stands out.")
        for k, moment in enumerate(told.watch):
            _moment(one, moment, f"class-{k}")
        with film:
            player(one, review, "class")


def in_doubt(why: str) -> None:
    """Say that it is rather the counts than the class, and lead to where they are put right."""
    st.warning(f"{why} Play a moment, and put the counts right before you teach anything again.", icon=":material/front_hand:")
    st.button("To where the counts are put right", icon=":material/arrow_forward:", on_click=_go_to, args=("everything",))


def without_beat(review: dict[str, Any]) -> None:
    """Where no beat was heard: how it can be given, and the way there."""
    if why_not(review["beats"]):
        st.markdown("You can tap it to the film: under Everything, “Give the beat yourself”. Then early and late can be told.")
        st.button("To where the beat is given", icon=":material/arrow_forward:", on_click=_go_to, args=("everything",))


def _go_to(view: str) -> None:
    st.session_state["view"] = view


def _moment(one: Finished, moment: Moment, key: str) -> None:
    """One moment with the button that plays it, and its figures where it has some."""
    with st.container(border=True):
        st.markdown(moment.words)
        row = st.container(horizontal=True, vertical_alignment="center")
        if row.button(f"Play {clock(moment.time_s)}", key=f"teacher-{one.key}-{key}", icon=":material/play_arrow:"):
            place = key.partition("-")[0]
            st.session_state[OF_THE_CLASS] = (here(one), place, moment.time_s, moment.until_count, moment.words)
        if moment.figures:
            with row.popover("Show the figures", type="tertiary"):
                st.markdown("\n".join(f"- {line}" for line in moment.figures))


def player(one: Finished, review: dict[str, Any], place: str) -> None:
    """The film of the moment chosen last in this part of the page."""
    whose, where, time_s, until, about = st.session_state.get(OF_THE_CLASS, (None, None, 0.0, None, ""))
    if (whose, where) != (here(one), place):
        return
    play_moment(one, review, time_s, until, about, key=f"player-{place}")


def where_they_stand(one: Finished, review: dict[str, Any], names_off: bool) -> None:
    """The map of the class, and beside it the labels of the line-up: whoever keeps them looks at the picture."""
    st.header("Where everybody stands")
    left, right = st.columns([2, 1], gap="large")
    with left:
        class_map(one, review, {int(d["id"]): dancer_name(d) for d in review["dancers"]})
    with right:
        st.caption("Numbers run from the picture's left. Is one not whose it should be? That is put right under Everything.")
        if names_off:
            return
        with open_library() as library:
            found = lesson_of(library, one.folder)
            if found is not None:
                held, folders = found
                takes = _takes(folders, names_off)
                proposed = proposed_labels(library.labels_in_standing_order(held.class_id), takes, one.folder)
                line_up(one, review, proposed, without_yes(library, held.class_id, [label for _, label in proposed]))


def counts(review: dict[str, Any]) -> None:
    """Counts across, dancers down."""
    st.header("Count by count")
    table = count_table(review)
    if not table.rows:
        st.markdown("No landing fits a count, so there is no table. A dance sheet and a clear beat make one.")
        return
    draw(table_legend(table), "count-legend")
    draw(table_html(table), "count-table")
    beside = [row for row in table.rows if row.beside]
    for row in beside:
        st.markdown(f"**{plain(row.name)}**, one thing and not many: {row.usual}")
    st.caption(
        "Dancers stand as in the picture, from its left. Point at a mark, or tap it, to read it. Early and late are against a dancer's "
        "own usual time"
        + (
            "; whoever is beside the beat as a rule is set against the beat itself, and has not lost those counts."
            if beside
            else "."
        )
    )


def a_minute(one: Finished, review: dict[str, Any]) -> None:
    """Who is alone with something, as they stand."""
    st.header("Would like a minute with you")
    found = minutes(review)
    if not found:
        st.markdown(NOBODY)
        return
    left, right = st.columns([1, 1], gap="large")
    with left:
        for who in found:
            st.subheader(plain(who.name))
            for k, moment in enumerate(who.moments):
                _moment(one, moment, f"minute-{who.number}-{k}")
    with right, st.container(key="film"):
        if st.session_state.get(OF_THE_CLASS, ("", ""))[:2] != (here(one), "minute"):
            st.caption("Press Play beside a moment, and it is shown here.")
        player(one, review, "minute")


def lesson(one: Finished, review: dict[str, Any], names_off: bool) -> None:
    """The lesson that this clip belongs to: its groups in one table, judgements; what to do where there is none."""
    st.header("The lesson")
    with open_library() as library:
        found = lesson_of(library, one.folder)
        if found is None:
            st.markdown(
                "This clip belongs to no lesson yet. Put it into one, and groups filmed one after another make one class table."
            )
            st.page_link("page_library.py", label="Open the library", icon=":material/arrow_forward:")
            return
        held, folders = found
        st.markdown(f"{plain(held.title)}, {told_day(held.held_on)}: {len(folders)} clip{'s' if len(folders) != 1 else ''}.")
        takes = _takes(folders, names_off)
        if len(takes) < len(folders):
            st.caption(f"Clips of the lesson that cannot be opened, and so are not in what follows: {len(folders) - len(takes)}.")
        if len(takes) > 1:
            together(takes)
        if not names_off:
            judgements(library, held, takes)


def _takes(folders: Sequence[Path], names_off: bool) -> list[Take]:
    """The clips of a lesson that can be opened."""
    takes = []
    for folder in folders:
        with contextlib.suppress(BadStore):
            review = review_in(folder)
            takes.append(Take(review["clip"]["name"], folder, nameless(review) if names_off else review))
    return takes


def together(takes: list[Take]) -> None:
    """All groups of the lesson in one table."""
    st.subheader("All groups in one table")
    everyone = gathered(takes)
    st.markdown("\n".join(f"- {line}" for line in everyone.lost) or "No count was lost by most of those in sight.")
    draw(table_legend(everyone.table), "lesson-legend")
    draw(table_html(everyone.table), "lesson-table")
    if everyone.clips:
        st.caption(f"{'; '.join(f'clip {n}: {plain(title)}' for n, title in enumerate(everyone.clips, 1))}.")
    if everyone.left_out:
        st.caption(f"Of another dance, or without a sheet, and so not in the table: {plain(', '.join(everyone.left_out))}.")
    if everyone.quick:
        st.caption(f"Only looked at quickly, and so not in the table: {plain(', '.join(everyone.quick))}.")


def line_up(one: Finished, review: dict[str, Any], proposed: tuple[tuple[int, str], ...], no_yes: tuple[str, ...]) -> None:
    """Labels proposed from the line-up in standing order, kept with one tap; a word on those for whom no yes holds."""
    if not without_label(review) or len(without_label(review)) < len(review["dancers"]):
        return
    if not proposed:
        st.caption("No labels can be proposed: the class's line-up in the library has fewer free ones than this clip has dancers.")
        return
    st.markdown(
        "From the line-up, as they stand: " + ", ".join(f"{number} is **{plain(label)}**" for number, label in proposed) + "."
    )
    st.caption("If one of them is not: give labels one by one under Everything.")
    if no_yes:
        st.warning(
            f"No yes holds for {plain(', '.join(no_yes))}: leave them out, or have them covered, under Everything.",
            icon=":material/front_hand:",
        )
    if st.button("Yes, these are they", key=f"labels-{one.key}", type="primary"):
        try:
            with st.spinner("Judging again …"):
                add(one.folder, label_corrections(review, proposed), judged_before(review, one.sheet))
        except MotionError as error:
            say(error)
            return
        st.rerun()
