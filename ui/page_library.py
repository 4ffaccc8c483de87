"""Library: classes and their dancers, who said yes, lessons, what goes when, what is held about somebody, and deleting."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from html import escape

import streamlit as st
from part_consent import take_out, write_a_no
from parts import forget, lead, review_in, say

from motion.base.errors import MotionError
from motion.jobs.queue import finished
from motion.library.access import archive_name, held_archive
from motion.library.classes import Dancer, Group, Library, looks_like_a_name, open_library
from motion.library.consent import PURPOSE, Who, add_yes, standing, take_back, usual_last_day
from motion.library.erase import forget_dancer, forget_in_review
from motion.library.records import forget_record, records_told
from motion.library.retention import Forgotten, called, dates_again, forget_class, forget_lesson, going, note_new, sweep, told_apart
from motion.review.settings import SETTINGS
from motion.tell.consent_form import consent_html
from motion.tell.review_words import dancer_name
from motion.tell.words import told_day

SAID, EMPTY = "library-said", "library-empty"
NOT_REACHED = "What this does not reach"
WHO: dict[str, tuple[Who, ...]] = {
    "A parent or guardian, and the child too": ("guardian", "child"),
    "A parent or guardian; the child has not been asked yet": ("guardian",),
    "The child; a parent or guardian said so before": ("child",),
    "A grown-up, for themself": ("adult",),
}
NO_CLIP = "No clip yet. Choose this lesson when you begin a review, or add a finished review here once there is one."
WHOLE = "Reviews that show nobody else, or in which they cannot be told apart from the others, go whole."


@contextmanager
def saying() -> Iterator[None]:
    """Say what a person can mend where it happened, and go on with the rest of the page."""
    try:
        yield
    except MotionError as error:
        say(error)


def done(words: str, left: tuple[str, ...] = (), *, head: str = "Please note", empty: dict[str, object] | None = None) -> None:
    """Show the page anew, with what was done above it, and under a head what is left to do. empty: fields whose words have been
    taken, and what is in them from now on; what is refused stays."""
    st.session_state[SAID] = (words, left, head)
    st.session_state[EMPTY] = empty or {}
    st.rerun()


def forgotten(what: Callable[[], Forgotten]) -> None:
    """Delete, forget every picture made so far, and say what is out of reach."""
    with st.spinner("Deleting …"):
        gone = what()
    forget()
    done(". ".join(gone.done), gone.left, head=NOT_REACHED)


def said_before() -> None:
    """What was done just now, and what could not be."""
    words, left, head = st.session_state.pop(SAID, ("", (), ""))
    for field, value in st.session_state.pop(EMPTY, {}).items():
        st.session_state[field] = value
    if words:
        st.success(f"{words}.", icon=":material/check:")
        # Most buttons lie far below that line: the same words show for a moment where the person is looking.
        st.toast(f"{words}. {'Something is left to do: see the top of the page.' if left else ''}".strip(), icon=":material/check:")
    if left:
        st.warning(f"{head}:\n" + "\n".join(f"- {line}." for line in left), icon=":material/front_hand:")


def table(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    """A plain table."""
    head = "".join(f'<th scope="col">{escape(word)}</th>' for word in heads)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    st.html(f'<table class="ranges"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>')


def new_class(library: Library) -> None:
    """Ask for a class."""
    with st.form("class", border=False):
        name = st.text_input("Name of the class", key="class-name", placeholder="such as Tuesday beginners")
        if st.form_submit_button("Add the class", type="primary"):
            library.add_class(name)
            done(f"{name} is in the library", empty={"class-name": ""})


def class_chosen(library: Library, classes: list[Group]) -> Group:
    """Ask which class."""
    by_id = {group.id: group for group in classes}
    return by_id[st.selectbox("Which class?", list(by_id), format_func=lambda one: by_id[one].name, key="class")]


def line_up(library: Library, group: Group) -> None:
    """Who dances in it, in standing order."""
    st.header("Who dances in it")
    labels = library.labels_in_standing_order(group.id)
    if not labels:
        lead("Nobody yet. Write one short label a line, as they stand from the picture's left.")
    with st.form("line-up", border=False):
        text = st.text_area("Labels in standing order, one a line", value="\n".join(labels), key=f"line-up-{group.id}", height=180)
        st.caption(
            f"A colour, a letter or a nickname, up to {SETTINGS.desk.label_letters} letters. Full names are not "
            "needed and are better left out: whoever sees a report sees the label. Leaving out a line deletes nobody; that is done below."
        )
        if st.form_submit_button("Keep this order"):
            behind = library.set_line_up(group.id, [line for line in text.splitlines() if line.strip()])
            names = [label for label in library.labels_in_standing_order(group.id) if looks_like_a_name(label)]
            left: tuple[str, ...] = (f"Still held, and now behind the others: {', '.join(behind)}",) if behind else ()
            left += (f"Looks like a full name, and a shorter label would do: {', '.join(names)}",) if names else ()
            done("The line is kept", left)


def agreements(library: Library, group: Group) -> None:
    """Who said yes, until when, and writing more down."""
    st.header("Who said yes")
    stands = standing(library, group.id)
    if not stands:
        st.markdown("Write down who dances in the class first.")
        return
    table(("Dancer", "How it stands", "Who said so, and to what"), [(one.dancer.label, one.words, one.said) for one in stands])
    kept = bool(library.reviews(class_id=group.id))
    if (refused := [one.dancer.label for one in stands if one.no]) and kept:
        st.warning(
            f"A no holds for {', '.join(refused)}, and clips of this class are kept here. Whoever of them is in one: delete them below.",
            icon=":material/front_hand:",
        )
    # Nobody is asked again because they said no.
    missing = [one.dancer.label for one in stands if one.until is None and not one.no]
    if missing and kept:
        st.warning(
            f"No yes holds for {', '.join(missing)}, and clips of this class are kept here. Whoever of them is in one: ask for a yes, or "
            "delete them below.",
            icon=":material/front_hand:",
        )
    labels = {one.dancer.id: one.dancer.label for one in stands}
    with st.expander("Write down a yes"), st.form("yes", border=False):
        # Nothing is chosen beforehand: one press must not write down a yes that nobody gave.
        whose = st.multiselect("Whose?", list(labels), format_func=labels.__getitem__, key=f"whose-{group.id}")
        who = st.radio("Who said it?", list(WHO), index=None, key="who-said")
        by = st.text_input("Said by", key="said-by", placeholder="such as mother; no names are needed")
        purpose = st.text_input("For what?", value=PURPOSE, key="purpose")
        until = st.date_input("Until", value=usual_last_day(), key="until", format="YYYY-MM-DD")
        if st.form_submit_button("Write it down", type="primary"):
            add_yes(library, whose, WHO[who] if who else (), until.isoformat(), said_by=by, purpose=purpose)
            dates_again(library, group.id)
            names = ", ".join(labels[one] for one in whose)
            done(
                f"A yes is written down for {names}, until {told_day(until)}",
                empty={"said-by": "", "who-said": None, f"whose-{group.id}": []},
            )
    if write_a_no(library, group.id):
        done("The no is written down")
    with st.expander("Take a yes back"), st.form("back", border=False):
        one = st.selectbox("Whose?", list(labels), format_func=labels.__getitem__, key="back")
        st.caption("From now on they are not to be filmed. What is held about them is deleted below.")
        if st.form_submit_button("It is taken back"):
            take_back(library, one)
            dates_again(library, group.id)
            done(f"The yes of {labels[one]} is taken back", (f"What is held about {labels[one]} is still here: delete it below",))
    if taken_out := take_out(library, group.id):
        done(taken_out)


def slip(_: Library, group: Group) -> None:
    """The page to hand out before filming."""
    with st.expander("A page to hand out before filming, with a slip for a guardian and one for the child"):
        until = st.date_input("Everything goes by", value=usual_last_day(), min_value=date.today(), key="slip", format="YYYY-MM-DD")
        st.caption(
            "A draft on one sheet: open it in a browser, click into any line to change it, and print. Adapt it to the rules of your school "
            "or club; they and the law where you are come first."
        )
        st.download_button(
            "The page, to print",
            consent_html(group.name, until),
            file_name="before-filming.html",
            mime="text/html",
            key="get-slip",
            icon=":material/download:",
            on_click="ignore",
        )


def lessons(library: Library, group: Group) -> None:
    """Lessons, each with its clips."""
    st.header("Lessons")
    known = library.lessons(group.id)
    if not known:
        st.markdown("No lesson yet. A lesson gathers several clips, such as one for each group.")
    free = {one.id: one for one in library.reviews() if one.lesson_id is None and one.clip}
    titles = {one.folder.resolve(): one.title for one in finished()}  # with their times: a clip may have been reviewed twice
    for lesson in known:
        with st.expander(f"{told_day(lesson.held_on)} · {lesson.title}"):
            its = library.reviews(lesson_id=lesson.id)
            lines = (f"- {titles.get(one.folder, one.clip or 'A review under way')}" for one in its)
            st.markdown("\n".join(lines) or NO_CLIP)
            if free:
                more = st.multiselect(
                    "Reviews to add",
                    list(free),
                    format_func=lambda one: titles.get(free[one].folder, called(free[one])),
                    key=f"more-{lesson.id}",
                )
                if more and st.button("Add them", key=f"add-{lesson.id}"):
                    for one in more:
                        library.add_review(free[one].folder, lesson_id=lesson.id)
                    dates_again(library, group.id)
                    done("They belong to the lesson now")
            if its:
                names = {one.id: titles.get(one.folder, called(one)) for one in its}
                wrong = st.multiselect("Reviews to take out", list(names), format_func=names.__getitem__, key=f"less-{lesson.id}")
                if wrong and st.button("Take them out", key=f"out-{lesson.id}"):
                    for number in wrong:
                        library.out_of_lesson(number)
                    done("They belong to the lesson no longer; they stay with the class")
            if sure(f"lesson-{lesson.id}", "this lesson, its reviews and the page's copies of its clips"):
                forgotten(lambda it=lesson.id: forget_lesson(library, it))  # type: ignore[misc]
    with st.form("lesson", border=False):
        a, b, c = st.columns([1, 2, 1], vertical_alignment="bottom")
        held_on = a.date_input("Day", value=date.today(), key="lesson-day", format="YYYY-MM-DD")
        title = b.text_input("What it is about", key="lesson-title", placeholder="such as Restart on wall 3")
        if c.form_submit_button("Add the lesson"):
            library.add_lesson(group.id, held_on.isoformat(), title)
            done("The lesson is in the library", empty={"lesson-title": ""})


def records(library: Library) -> None:
    """What was done in lessons, as it was written down on the page Lesson, with a way to delete each."""
    st.header("What was done in lessons")
    kept = records_told(library)
    if not kept:
        st.markdown(
            "Nothing is written down yet. After a lesson, the page Lesson asks what was done, and keeps it with a lesson here."
        )
    for one in kept:
        whose = " · ".join(words for words in (told_day(one.day), one.group, one.lesson) if words)
        with st.expander(whose):
            st.html(f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in one.words)}</ul>")
            if sure(f"record-{one.id}", "this record; the lesson itself stays"):
                forget_record(library, one.id)
                done(f"The record of {told_day(one.day)} is deleted")


def expiry(library: Library) -> None:
    """Until when each review is kept, of every class and of none."""
    st.header("How long it is kept")
    rows = going(library)
    if not rows:
        st.markdown("No review yet. Each has a last day, and is deleted after it as soon as the page is opened again.")
    else:
        soon = sum(row.soon for row in rows)
        if soon:
            st.info(f"{soon} of {len(rows)} go within two weeks. Take along what you still need.", icon=":material/event:")
        table(("Review", "Lesson", "Kept until"), [(row.review, row.lesson, row.until) for row in rows])
    st.caption(
        "Reviews are deleted after their last day or when the first yes in the class runs out, with the page's own copies of clips. "
        "Clips that lie elsewhere are yours: delete them where they are. After a careful review the page keeps its copy only with heads "
        "covered, as far as people were found; after a quick look it stays as it was filmed for a day. Lessons and judgements are deleted "
        f"after {SETTINGS.library.records_kept_days} days."
    )
    if st.button("Delete now what is past its day", key="sweep"):
        with st.spinner("Looking through …"):
            swept = sweep(library)
        done("; ".join(swept.deleted) or "Nothing was past its day", swept.left, head="What could not be done")


def one_dancer(library: Library, group: Group) -> None:
    """What is held about somebody, and deleting every trace of them."""
    st.header("One dancer")
    dancers = {one.id: one for one in library.dancers(group.id)}
    if not dancers:
        st.markdown(
            "Write down who dances in the class first, above. Then you can take along here what is held about somebody, and delete every "
            "trace of them."
        )
        return
    one = dancers[st.selectbox("Who?", list(dancers), format_func=lambda it: dancers[it].label, key="one-dancer")]
    st.download_button(
        f"What is held about {one.label}?",
        lambda: _archive(one),
        file_name=archive_name(one),
        mime="application/zip",
        key="get-held",
        icon=":material/download:",
        on_click="ignore",
    )
    st.caption("A page to read and the data themselves. It is written down that it was handed out.")
    with st.expander(f"Delete {one.label}"):
        st.markdown(
            f"Everything about {one.label} goes: points, figures, tables and reports, judgements, and who agreed. In the page's copies of "
            f"clips they are covered from head to foot. {WHOLE} It cannot be taken back."
        )
        if sure(f"dancer-{one.id}", f"{one.label}"):
            forgotten(lambda: forget_dancer(library, one.id))


def _archive(one: Dancer) -> bytes:
    with open_library() as library:
        return held_archive(library, one.id)


def without_label(library: Library) -> None:
    """Take people without a label out of one review."""
    known = {kept.id: kept for kept in library.reviews() if kept.clip and kept.folder.is_dir()}
    with st.expander("Delete somebody without a label from one review"):
        if not known:
            st.markdown("No finished review is known yet.")
            return
        kept = known[st.selectbox("Which review?", list(known), format_func=told_apart(library).__getitem__, key="out-of")]
        names = {int(one["id"]): dancer_name(one) for one in review_in(kept.folder)["dancers"]}
        who = st.multiselect("Who?", list(names), format_func=names.__getitem__, key=f"out-{kept.id}")
        st.caption(f"The review's map shows who has which number. {WHOLE}")
        if who and sure(f"out-{kept.id}", "them from this review"):
            forgotten(lambda: forget_in_review(library, kept, who))


def whole_class(library: Library, group: Group) -> None:
    """One more class, and deleting this one."""
    st.header("Classes")
    new_class(library)
    with st.expander(f"Delete the class {group.name}"):
        if sure(f"class-{group.id}", "this class, its dancers, its lessons and all of its reviews"):
            forgotten(lambda: forget_class(library, group.id))


def sure(key: str, what: str) -> bool:
    """A tick and a button before anything is deleted."""
    ticked = st.checkbox(f"Yes, delete {what}. It cannot be taken back.", key=f"sure-{key}")
    return st.button("Delete now", key=f"delete-{key}", disabled=not ticked)


def page(library: Library) -> None:
    """The whole page, or what to do while it is empty."""
    st.title("Library")
    lead("Who dances in which class, who said yes to what and until when, and how long everything is kept.")
    said_before()
    note_new(library)
    classes_of(library)
    for part in (records, expiry, without_label):
        with saying():
            part(library)


def classes_of(library: Library) -> None:
    """Classes, or what to do while there is none."""
    classes = library.classes()
    if not classes:
        st.markdown(
            "**No class yet.** It is needed only for people whom you film again and again: add one, write down who dances in it and who "
            "said yes. For a clip of yourself nothing has to be written here."
        )
        with saying():
            new_class(library)
        return
    group = class_chosen(library, classes)
    for part in (line_up, agreements, slip, lessons, one_dancer, whole_class):
        with saying():
            part(library, group)


try:
    with open_library() as opened:
        page(opened)
except MotionError as error:
    say(error)
