"""The lesson around the dance: before the music, warm-up, count-in, pulse and breath, cool-down, plan and record. Needs no video."""

from __future__ import annotations

import streamlit as st
from part_lesson import music, record, show
from part_lesson_pulse import counts
from parts import handed_out, lead, say

from motion.base.errors import MotionError
from motion.base.types import DanceSheet
from motion.dance.sheet import read_sheet
from motion.desk.page_server import dances
from motion.film.practice_sound import handed_over
from motion.lesson.safety import CAUTIONS, Audience
from motion.store.sheets import own_sheets
from motion.tell.lesson_page import SECTIONS, lesson_html
from motion.tell.lesson_plan import Lesson, Wish, make_lesson

NONE, FILE = "No sheet: a plain line dance", "A sheet of my own"
WHO: dict[Audience, str] = {"children": "Children", "adults": "Grown-ups", "seniors": "Seniors"}


def chosen_sheet() -> DanceSheet | None:
    """The dance sheet that the lesson is built from."""
    here = dict([*own_sheets(), *dances()])
    name = st.selectbox("The dance", [NONE, *here, FILE], key="lesson-dance")
    if name == FILE:
        upload = st.file_uploader("The dance sheet", type=["csv", "txt"], key="lesson-sheet")
        st.caption("Not a CSV file, or only on paper? Write it on the page Dance sheet and keep it there: then it is in this list.")
        if upload is None:
            return None
        with handed_over(upload.name, upload.getvalue()) as path:
            return read_sheet(path)
    return read_sheet(here[name]) if name in here else None


def wish(sheet: DanceSheet | None) -> Wish:
    """What the lesson is asked to be. sheet: of the dance, if there is one."""
    a, b, c = st.columns(3)
    audience = a.radio("For", list(WHO), format_func=WHO.__getitem__, key="lesson-for", horizontal=True)
    minutes = b.number_input("Minutes", value=45.0, step=5.0, format="%.0f", key="lesson-minutes")
    bpm = c.number_input(
        "Beats a minute of the music",
        value=None,
        step=2.0,
        format="%.0f",
        key="lesson-tempo",
        placeholder="as the sheet says" if sheet is not None and sheet.bpm else "as is usual",
    )
    a, b, c, d = st.columns(4)
    dancers = a.number_input("Dancers", value=16, step=1, key="lesson-dancers")
    rows = b.number_input("Rows", value=None, step=1, key="lesson-rows", placeholder="what suits")
    wide = c.number_input("Room across, metres", value=None, step=1.0, format="%.1f", key="lesson-wide", placeholder="not known")
    deep = d.number_input("Room deep, metres", value=None, step=1.0, format="%.1f", key="lesson-deep", placeholder="not known")
    a, b = st.columns(2)
    seated = a.checkbox("Warm-up on chairs", key="lesson-seated")
    age = None
    if audience != "children":
        age = b.number_input("Age, for the pulse (may stay empty)", value=None, step=1, key="lesson-age")
    room_m = (float(wide), float(deep)) if wide is not None and deep is not None else None
    return Wish(
        float(minutes),
        audience,
        int(dancers),
        None if rows is None else int(rows),
        room_m,
        seated,
        bpm,
        None if age is None else int(age),
    )


def tabs(lesson: Lesson) -> None:
    """The lesson's parts, one beside the other."""
    names = [words for words, _ in SECTIONS.values()]
    for key, tab in zip(SECTIONS, st.tabs([*names]), strict=True):
        with tab:
            show(lesson, key)
            if key == "music":
                music(lesson)
            elif key == "pulse":
                counts(lesson)
            elif key == "plan":
                record(lesson)


st.title("Lesson")
lead("What comes before the music and after it. No clip is needed; the whole lesson can be kept as one file.")
try:
    with st.container(border=True):
        sheet = chosen_sheet()
        asked = wish(sheet)
    lesson = make_lesson(asked, sheet)
    st.download_button(
        "Keep the lesson as one file", lesson_html(lesson), file_name="lesson.html", mime="text/html", key="get-lesson",
        icon=":material/download:", on_click=handed_out, args=(None, "A lesson as one file", "lesson.html"), type="primary",
    )  # fmt: skip
    st.caption("It opens on a tablet without a network, timers and metronome in it, and prints on A4.")
    tabs(lesson)
except MotionError as error:
    say(error)
st.caption(" ".join(CAUTIONS))
