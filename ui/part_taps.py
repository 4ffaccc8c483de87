"""A part of the review page: the beat by other means than the clip's own sound. Taps, a beats file, the song itself, the distance."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import streamlit as st
from parts import HERE, clip_of, say

from motion.base.errors import MotionError
from motion.base.home import touched_ns
from motion.base.options import JudgeOptions
from motion.base.types import Clip
from motion.film.practice_sound import beats_of_taps, film_to_tap, handed_over
from motion.jobs.queue import Finished, judged_before
from motion.review.settings import SETTINGS

Judge = Callable[[Finished, JudgeOptions], None]
SONGS = ["wav", "flac", "mp3", "m4a", "ogg", "opus", "aac", "aiff", "wma"]

_tapper = st.components.v2.component(
    "countfall_tapper",
    html=(HERE / "tapper.html").read_text(encoding="utf-8"),
    css=(HERE / "player.css").read_text(encoding="utf-8"),
    js=(HERE / "tapper.js").read_text(encoding="utf-8"),
)


@st.cache_data(max_entries=4, show_spinner="Cutting out this part of the clip …")
def _film(path: str, fingerprint: str, from_s: float, folder: str, changed_ns: int, _clip: Clip) -> str:
    """The part to tap along with, as text for the component; kept by the clip's fingerprint and the review's state."""
    return base64.b64encode(film_to_tap(Path(path), _clip, from_s, Path(folder))).decode("ascii")


def other_beats(one: Finished, review: dict[str, Any], judge: Judge) -> None:
    """Everything by which a person can give the beat; `judge` judges the review again and shows the outcome."""
    with st.expander("Give the beat yourself"):
        before = judged_before(review, one.sheet)
        if review["clip"]["has_sound"] and review["beats"].get("source", "sound") != "sound":
            st.markdown("These counts go by a beat that was given by hand.")
            if st.button("Go by the clip's own sound again", key="heard", icon=":material/hearing:"):
                judge(one, replace(before, heard=True, bpm=None, first_count_s=None, count_speed="same"))
        tap, file, song, far = st.tabs(["Tap it", "A file of beats", "The song", "The distance"])
        with tap:
            _taps(one, review, before, judge)
        with file:
            _beats_file(one, before, judge)
        with song:
            _song(one, before, judge)
        with far:
            _distance(one, before, judge)


def _taps(one: Finished, review: dict[str, Any], before: JudgeOptions, judge: Judge) -> None:
    """The clip to tap along with."""
    length_s = float(review["clip"]["duration_s"])
    st.markdown(
        f"Play {SETTINGS.practice.tap_film_s:.0f} seconds of the clip and tap once on every count, for three bars or more. "
        "A missed tap or one too many does no harm."
    )
    row = st.columns([2, 1], vertical_alignment="bottom")
    from_s = row[0].number_input(
        "From second",
        min_value=0.0,
        max_value=max(0.0, length_s - 1.0),
        value=0.0,
        step=5.0,
        format="%.1f",
        key=f"tap-from-{one.key}",
    )
    if row[1].button("Get it ready", key="tap-ready", icon=":material/touch_app:", width="stretch"):
        st.session_state["tapping"] = (one.key, float(from_s))
    whose, begin_s = st.session_state.get("tapping", ("", 0.0))
    if whose != one.key:
        return
    try:
        changed_ns = touched_ns(one.clip)
        clip = clip_of(str(one.clip), changed_ns, review["clip"]["sha256"])
        judged_ns = (one.folder / "review.json").stat().st_mtime_ns
        film = _film(str(one.clip), clip.sha256, begin_s, str(one.folder), judged_ns, clip)
        said = _tapper(
            key=f"tapper-{one.key}",
            data={"id": f"{clip.sha256}{begin_s}", "film": film, "from": begin_s},
            on_done_change=lambda: None,
            on_one_change=lambda: None,
        )
        take_taps(said, one, review, before, judge)
    except MotionError as error:
        say(error)


def take_taps(said: Any, one: Finished, review: dict[str, Any], before: JudgeOptions, judge: Judge) -> None:
    """What the tapper says: "one", the second at which count 1 falls; or "done", the seconds of all taps and of count 1 or None."""
    if (at_s := said.get("one")) is not None:
        judge(one, replace(before, first_count_s=float(at_s)))
    elif (done := said.get("done")) is not None:
        with handed_over(*beats_of_taps(review, done["taps"], done["one"])) as path:
            judge(one, replace(before, beats=path, bpm=None, first_count_s=None, count_speed="same"))


def _beats_file(one: Finished, before: JudgeOptions, judge: Judge) -> None:
    """A beats.csv, read back in."""
    st.markdown("A file as this page hands it out (beats.csv), with your changes: one row a beat, the second and the count.")
    given = st.file_uploader("File of beats", type=["csv", "txt"], key=f"beats-{one.key}")
    if given is not None and st.button("Use these beats", key="use-beats", type="primary"):
        with handed_over(given.name, given.getvalue()) as path:
            judge(one, replace(before, beats=path, bpm=None, first_count_s=None, count_speed="same"))


def _song(one: Finished, before: JudgeOptions, judge: Judge) -> None:
    """The song itself, to be found again in the clip's sound."""
    st.markdown(
        "The sound file of the song that was danced to. It is looked for in the clip's sound, also under talk and a little fast "
        "or slow; its own beats are then used. A file of its beats may come with it."
    )
    given = st.file_uploader("Song", type=SONGS, key=f"song-{one.key}")
    beats = st.file_uploader("Its beats, if you have them", type=["csv"], key=f"song-beats-{one.key}")
    if given is not None and st.button("Look for this song", key="use-song", type="primary"):
        with handed_over(given.name, given.getvalue()) as path:
            if beats is not None:
                path.with_name(f"{path.stem}.beats.csv").write_bytes(beats.getvalue())
            judge(one, replace(before, song=path, bpm=None, first_count_s=None, count_speed="same"))


def _distance(one: Finished, before: JudgeOptions, judge: Judge) -> None:
    """How far the sound had to go."""
    st.markdown(
        "Sound needs 3 thousandths of a second for every metre. Where nobody claps in view, the distance from the phone to the "
        "loudspeaker takes that part out."
    )
    with st.form("distance", border=False):
        far = st.number_input(
            "Metres from the phone to the loudspeaker",
            min_value=0.0,
            max_value=SETTINGS.practice.farthest_m,
            value=before.distance_m,
            step=1.0,
            format="%.0f",
            key=f"distance-{one.key}-{before.distance_m}",
        )
        if st.form_submit_button("Judge again"):
            judge(one, replace(before, distance_m=far))
