"""Parts of the lesson page: a part of the lesson with its timers, practice music, the record."""

from __future__ import annotations

import json
from datetime import date

import streamlit as st
from parts import handed_out, say

from motion.base.errors import MotionError
from motion.film.practice_track import beats_name, beats_text, practice_rungs, practice_track, tune_bytes
from motion.lesson.plan import minutes_words
from motion.lesson.record import Done, lesson_record
from motion.lesson.safety import HEALTH, checks
from motion.library.classes import open_library
from motion.review.settings import SETTINGS
from motion.tell.lesson_page import lesson_script, lesson_style, section_html
from motion.tell.lesson_plan import Lesson
from motion.tell.words import told_day

OWN = SETTINGS.lesson
#: The lesson's own script, brought to life in the part that is shown.
SCRIPT = f"""{lesson_script()}
export default function ({{ data, parentElement }}) {{
  const place = parentElement.querySelector(".place");
  if (place.dataset.shown === data) return;
  place.dataset.shown = data;
  place.innerHTML = data;
  lessonWidgets(place.querySelector(".lesson"));
}}"""
_part = st.components.v2.component("countfall_lesson", html="<section class='place'></section>", css=lesson_style(), js=SCRIPT)


def show(lesson: Lesson, name: str) -> None:
    """One part of the lesson, with its timers."""
    _part(data=section_html(lesson, name), key=f"lesson-part-{name}")


def music(lesson: Lesson) -> None:
    """Practice music to take along."""
    st.subheader("Practice music")
    st.markdown(
        "A count-in, clicks and a simple band at your tempo. Keep both files side by side: when a clip was danced to this music, "
        "its review finds every count again with them (on the review, “Give the beat yourself”, “The song”). "
        "Without the band every bar sounds alike, and a review may not know which it is in."
    )
    with st.form("tune", border=False):
        a, b, c = st.columns(3)
        tempo = a.number_input(
            "Full tempo, beats a minute", value=float(lesson.bpm), step=1.0, format="%.0f", key=f"tune-tempo-{lesson.bpm:g}"
        )
        counts = b.number_input("Counts to dance", value=64, step=8, key="tune-counts")
        wait = c.number_input("Counts of music before count 1", value=0, step=8, key="tune-wait")
        a, b, c = st.columns(3)
        how = a.radio("Tempos", ["Only the full tempo", "The ladder, slow to full"], key="tune-ladder")
        band = b.checkbox("With a band", value=True, key="tune-band")
        voice = b.checkbox("Call the count-in", value=True, key="tune-voice")
        seed = c.number_input("Tune number", value=1, min_value=1, step=1, key="tune-seed", help="Another number is another tune.")
        ladder_of = OWN.ladder_rungs if how != "Only the full tempo" else 1
        asked = (float(tempo), int(counts), int(wait), ladder_of, band, voice, int(seed), lesson.section)
        if st.form_submit_button("Make it", icon=":material/music_note:"):
            st.session_state["tune-asked"] = asked
    if st.session_state.get("tune-asked") == asked:
        _tune(*asked)


def _tune(tempo: float, counts: int, wait: int, ladder_of: int, band: bool, voice: bool, seed: int, section: int) -> None:
    try:
        with st.spinner("Making the music …"):
            rungs = practice_rungs(tempo, counts, ladder_of=ladder_of)
            tune = practice_track(rungs, section=6 if section == 6 else 8, wait_counts=wait, music=band, voice=voice, seed=seed)
            sound = tune_bytes(tune)
    except MotionError as error:
        say(error)
        return
    st.audio(sound, format="audio/wav")
    name = f"practice-{tempo:g}{'-ladder' if ladder_of > 1 else ''}-{seed}.wav"
    a, b = st.columns(2)
    a.download_button("Keep the music", sound, file_name=name, mime="audio/wav", key="get-tune", on_click="ignore")
    b.download_button(
        "Keep its beats", beats_text(tune.counting), file_name=beats_name(name), mime="text/csv", key="get-beats", on_click="ignore"
    )


def record(lesson: Lesson) -> None:
    """What was done, kept as a file or beside the class's lessons."""
    st.subheader("What was done")
    st.caption("No names, and nothing about anybody's health but three numbers (and pulses of grown-ups who asked for it).")
    with st.form("record", border=False):
        a, b = st.columns(2)
        held_on = a.date_input("Day", value=date.today(), key="record-day", format="YYYY-MM-DD")
        held = b.number_input("Tempo that held, beats a minute", value=None, step=1.0, format="%.0f", key="record-tempo")
        parts = {part.key: f"{minutes_words(part.seconds)} {part.title}" for part in lesson.parts}
        done = st.multiselect(
            "Parts that were done", list(parts), default=list(parts), format_func=parts.__getitem__, key="record-parts"
        )
        looked = {check.key: check.about for check in checks(lesson.wish.audience)}
        checked = st.multiselect(
            "Looked at before the music",
            list(looked),
            format_func=looked.__getitem__,
            key="record-checks",
            placeholder="none ticked yet",
        )
        st.caption(
            "How many said that today is ok, to be adapted, or a day to rest; how many counted their pulse, and how many of these found "
            "it faster after the dance than at rest."
        )
        columns = st.columns(5)
        health = {
            str(name): columns[k].number_input(f"Said: {name}", value=0, step=1, key=f"record-{name}")
            for k, name in enumerate(HEALTH)
        }
        counted = columns[3].number_input("Counted their pulse", value=0, step=1, key="record-counted")
        faster = columns[4].number_input("Found it faster", value=0, step=1, key="record-faster")
        note = st.text_area("What went well, what to take next", key="record-note", max_chars=OWN.note_letters, height=90)
        ready = st.form_submit_button("Write it down")
    if ready:
        try:
            # Each was added by the person's own wish; a children's lesson has none.
            pulses = [] if lesson.wish.audience == "children" else list(st.session_state.get("pulse-notes", {}).values())
            said = Done(
                checked=checked, parts_done=done, health=health, counted=int(counted), faster_than_rest=int(faster),
                tempo_held_bpm=held, note=note, pulses=pulses, agreed=bool(pulses),
            )  # fmt: skip
            day = held_on.isoformat()
            made = lesson_record(day, lesson.wish.audience, lesson.parts, said, dance=lesson.title, settings=OWN)
            st.session_state["record-made"] = made
        except MotionError as error:
            st.session_state.pop("record-made", None)
            say(error)
    if "record-made" in st.session_state:
        _keep(st.session_state["record-made"])


def _keep(made: dict[str, object]) -> None:
    """Hand the record out, or put it beside a lesson of the library."""
    text, name = json.dumps(made, ensure_ascii=False, indent=1, allow_nan=False), f"lesson-{made['held_on']}.json"
    st.success(f"The record of {told_day(str(made['held_on']))} is ready.")
    st.download_button(
        "Keep it as a file",
        text,
        file_name=name,
        mime="application/json",
        key="get-record",
        on_click=handed_out,
        args=(None, "The record of a lesson", name),
    )
    try:
        with open_library() as library:
            groups = {group.id: group.name for group in library.classes()}
            lessons = {one.id: f"{groups[one.class_id]}, {told_day(one.held_on)}: {one.title}" for one in library.lessons()}
        if not lessons:
            st.caption("To keep it with a class, write the class and its lesson down on the page Library.")
            return
        which = st.selectbox("Lesson in the library", list(lessons), format_func=lessons.__getitem__, key="record-lesson")
        if st.button("Keep it there", key="keep-record"):
            with open_library() as library:
                library.store_lesson_record(made, which)
            st.success("Kept in the library.")
    except MotionError as error:
        say(error)
