"""Parts of the dance sheet's page: the feet on the floor, the dance in its music, keeping it, and looking up a figure."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st
from parts import draw, plain, say

from motion.base.errors import MotionError
from motion.base.types import DanceSheet, Foot
from motion.dance.drawing import figure_svg, plan_svg, stand_words
from motion.dance.figures import FIGURES, call_of
from motion.dance.floorplan import stands
from motion.dance.song_plan import on_paper
from motion.dance.table import Looked, TableLine, paper_rows, table_text
from motion.dance.unroll import unroll
from motion.store.sheets import keep_sheet
from motion.tell.wall_plan import song_seconds, wall_plan_html

USUAL_BPM = 110.0  # to begin with, where the sheet names no tempo
NOT_YET = "As soon as nothing is left to mend, it shows here."


def on_the_floor(sheet: DanceSheet | None) -> None:
    """The floor plan, one step of the dance at a time."""
    if sheet is None:
        st.info(NOT_YET)
        return
    course = stands(unroll(sheet))
    a, b = st.columns([2, 1], vertical_alignment="bottom")
    at = a.slider("Step of the dance", 0, len(course) - 1, value=0, key="plan_at", help="0 is before count 1; arrow keys go on.")
    trail = b.slider("Footprints before it", 0, 8, value=3, key="plan_trail")
    due = course[at].due
    st.markdown(f"**{f'Wall {due.wall}. ' if due is not None else ''}{stand_words(course[at])}**")
    draw(f'<div class="feet">{plan_svg(course, at, trail=trail, section=sheet.section)}</div>', key="plan")
    st.caption(
        "Seen from above, 12:00 up. Filled: the foot that bears the body. Broken line: it only touches. Ring: in the air. "
        "The plan shows what the words say, not how far anybody steps."
    )


def in_the_music(sheet: DanceSheet | None) -> None:
    """Where every wall falls in the song, and the page for the wall."""
    if sheet is None:
        st.info(NOT_YET)
        return
    a, b, c = st.columns(3)
    minutes = a.text_input("Length of the music", key="song_minutes", placeholder="3:05")
    tempo = b.number_input(
        "Beats a minute",
        min_value=30.0,
        max_value=300.0,
        value=sheet.bpm or USUAL_BPM,
        step=1.0,
        format="%g",
        key=f"song_tempo-{sheet.bpm}",  # another sheet's tempo is no wish for this one
    )
    intro = c.number_input(
        "Counts before count 1", min_value=0, max_value=512, value=None, key="song_intro", placeholder="as written"
    )
    try:
        paper = on_paper(sheet, bpm=tempo, song_s=song_seconds(minutes) if minutes.strip() else None, intro=intro)
    except MotionError as error:
        say(error)
        return
    if sheet.bpm is None:
        unsaid = f"The sheet names no tempo: the times hold if the music goes at {tempo:g} beats a minute."
        paper = replace(paper, notes=(unsaid, *paper.notes))  # on paper, too
    st.dataframe(
        paper_rows(paper), hide_index=True, width="stretch", column_config={"": st.column_config.TextColumn("Part of the dance")}
    )
    for note in paper.notes:
        st.caption(plain(note))
    html = wall_plan_html(sheet, paper)
    st.download_button(
        "Print it for the wall",
        html,
        file_name=f"{sheet.title}.wallplan.html",
        mime="text/html",
        key="crib",
        icon=":material/print:",
    )
    st.caption("One page of A4. Open the file in a browser and print it.")


def keep(header: dict[str, str], lines: list[TableLine], looked: Looked) -> None:
    """Download the sheet, or keep it for a review."""
    text = table_text(header, lines)[0]
    title = header.get("title", "").strip()
    st.download_button(
        "Download the sheet (CSV)",
        "\ufeff" + text,
        file_name=f"{title or 'dance'}.csv",
        mime="text/csv",
        key="csv",
        icon=":material/download:",
    )
    if looked.sheet is None or any(f.grade == "error" for f in looked.findings):
        st.info("It can be kept for a review as soon as nothing is left to mend.")
    elif st.button("Keep it, so that a review can use it", key="keep", icon=":material/bookmark:"):
        try:
            keep_sheet(title, text)
            st.success(f"{plain(title)} is kept. Choose it under “New review”.", icon=":material/check:")
        except MotionError as error:
            say(error)


def look_up() -> None:
    """One figure: what it means here, the call, the feet."""
    names = [f"{figure.name}, {figure.counts} count{'s' if figure.counts > 1 else ''}" for figure in FIGURES]
    a, b = st.columns([2, 1], vertical_alignment="bottom")
    figure = FIGURES[names.index(a.selectbox("Figure", names, key="figure"))]
    lead_foot: Foot = "left" if b.radio("Begins with", ["Right", "Left"], key="figure_lead", horizontal=True) == "Left" else "right"
    st.markdown(f"{figure.words} Call, just before it: **“{call_of(figure, lead_foot)}”**")
    draw(f'<div class="feet">{figure_svg(figure, lead_foot)}</div>', key="figure_feet")
    if figure.other_names:
        st.caption(f"Also called {', '.join(figure.other_names)}.")
