"""New review: choose a clip and a dance, hear how long it takes, watch how far it is."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import streamlit as st
from part_consent import begun, who_agreed
from part_taps import SONGS
from parts import lead, plain, say, start_path
from streamlit.runtime.uploaded_file_manager import UploadedFile

from motion.base.errors import MotionError
from motion.base.home import touched_ns
from motion.base.options import JudgeOptions, WatchOptions
from motion.base.types import Clip
from motion.clip.video import open_clip
from motion.desk.page_server import UPLOAD_MB, dances, samples
from motion.jobs.drop_folder import VIDEO, dropped, name_folder
from motion.jobs.queue import Job, cancel, delete, discard_upload, find, jobs, save_upload, start, start_next, status
from motion.review.forecast import seconds_needed, seconds_words
from motion.review.settings import SETTINGS
from motion.store.sheets import own_sheets

SAMPLE, UPLOAD, DROPPED, HERE_ALREADY = "A sample", "A clip of mine", "In the drop folder", "A clip that lies on this computer"
NO_SHEET, OWN_SHEET = "No dance sheet", "A sheet of mine (CSV)"
CAREFUL, QUICK = "Careful", "Quick"


@st.cache_data(max_entries=8, show_spinner="Looking at the clip …")
def looked_at(path: str, changed_ns: int) -> Clip:
    """The clip as the front door sees it; looked at again only when the file changes."""
    return open_clip(Path(path), settings=SETTINGS.clip)


@st.fragment(run_every=1.0)
def progress(job: Job) -> None:
    """How far a running review is; the rest of the page follows when it ends."""
    now = status(job)
    if now.state != "running":
        st.rerun()
    st.progress(now.share or 0.0, text=now.words)
    left = (
        f"Done in {seconds_words(now.seconds_left)}."
        if now.seconds_left is not None
        else "How long it still takes shows in a moment."
    )
    st.caption(f"{left} You may reload or close this page: the review goes on, and waits for you here.")
    if st.button("Stop this review", key="stop", icon=":material/close:"):
        cancel(job)


def uploaded() -> Path | None:
    """Ask for a clip to be handed over; None until it is."""
    if (kept := st.session_state.get("upload")) is not None:
        row = st.container(horizontal=True, vertical_alignment="center")
        row.markdown(f"**{plain(kept.name)}** is here.", width="content")
        if row.button("Choose another", key="another"):
            discard_upload(st.session_state.pop("upload"))
            st.rerun()
        return Path(kept)
    upload = st.file_uploader(
        "Drop the clip here, or pick it",
        type=[*VIDEO],
        key=f"clip-{st.session_state.get('uploads', 0)}",
        max_upload_size=UPLOAD_MB,
    )
    st.caption(
        "It stays on this computer, in a folder that only you can open. Only for clips that you filmed or may use. "
        f"Much larger than 500 MB? Then “{HERE_ALREADY}” is quicker."
    )
    if upload is not None:
        keep(upload)
    return None


def keep(upload: UploadedFile) -> None:
    """Write an uploaded clip down, and show the page anew without the field."""
    with st.spinner("Putting the clip where the review can read it …"):
        st.session_state["upload"] = save_upload(upload.name, upload)
    # Another name for the field lets go of the copy that it holds in memory.
    st.session_state["uploads"] = st.session_state.get("uploads", 0) + 1
    st.rerun()


def from_drop_folder() -> Path | None:
    """Offer the clips that lie in the drop folder; None while there is none."""
    try:
        found = dropped()
    except MotionError as error:
        say(error)
        other_folder()
        return None
    chosen = None
    if found.clips:
        by_name = {path.name: path for path in found.clips}
        name = st.selectbox("Clip", list(by_name), key="dropped")
        chosen = by_name[name]
        st.caption(
            f"Newest first, from {plain(str(found.folder))}. Nothing is copied: each clip stays there until you delete it yourself."
        )
    else:
        st.markdown(f"**No clip there yet.** Put clips into this folder, and they are offered here:\n\n`{found.folder}`")
    for name in found.arriving:
        st.caption(f"{plain(name)} is still being copied into it. Look again in a moment.")
    if found.open_to_others:
        st.caption("Other users of this computer may look into this folder. Take that right from them, for clips show people.")
    st.button("Look again", key="look-again", icon=":material/refresh:")
    other_folder()
    return chosen


def other_folder() -> None:
    """Ask for another drop folder, which is remembered."""
    with st.expander("Use another folder"), st.form("drop-folder", border=False):
        written = st.text_input(
            "Folder", key="drop-folder-path", placeholder="for example /home/me/Videos/class; empty for the page's own"
        )
        if st.form_submit_button("Use it from now on"):
            try:
                name_folder(written)
            except MotionError as error:
                say(error)
            else:
                st.rerun()


def clip_chosen() -> Path | None:
    """Ask for the clip; None until there is one."""
    given = start_path()
    ways = ([SAMPLE] if samples() else []) + [UPLOAD, DROPPED, HERE_ALREADY]
    first = ways.index(HERE_ALREADY if given is not None and given.is_file() else ways[0])
    way = st.radio("Which clip?", ways, index=first, key="way", horizontal=True)
    if way == SAMPLE:
        titles = {title: path for title, path, _ in samples()}
        st.caption("Dancers drawn by computer, with music made for them: a safe way to see what a review looks like.")
        return titles[st.selectbox("Sample", list(titles), key="sample")]
    if way == UPLOAD:
        return uploaded()
    if way == DROPPED:
        return from_drop_folder()
    written = st.text_input(
        "Where the clip is",
        value=str(given) if given is not None and given.is_file() else "",
        key="path",
        placeholder="for example /home/me/Videos/tuesday.mp4",
    )
    st.caption(
        "Its folder and name, as the computer's file window shows or copies them. Nothing is copied: the clip is read where it lies, "
        "the quickest way for a very large one."
    )
    return Path(written.strip().strip("\"'")).expanduser() if written.strip() else None


def sheet_chosen(clip: Path | None) -> Path | None:
    """Ask for the dance sheet; None for a review without one."""
    sheets = dict([*own_sheets(), *dances()])
    usual = next((sheet for _, path, sheet in samples() if path == clip and sheet is not None), None)
    names = [NO_SHEET, OWN_SHEET, *sheets]
    index = next((i for i, name in enumerate(names) if usual is not None and sheets.get(name) == usual), 0)
    dance = st.selectbox("Which dance?", names, index=index, key=f"dance-{usual.stem if usual else 'any'}")
    if dance == OWN_SHEET:
        upload = st.file_uploader("The dance sheet", type=["csv"], key="sheet")
        st.caption("Not a CSV file, or only on paper? Write it on the page Dance sheet and keep it there: then it is in this list.")
        return save_upload(upload.name, upload) if upload is not None else None
    if dance == NO_SHEET:
        st.caption("Without a sheet each landing is set against the nearest beat or half beat; missing steps cannot be told.")
    return sheets.get(dance)


def lasts(seconds: float) -> str:
    """How long a clip is, to the second: "23 seconds", "3 minutes 5 seconds". seconds: its length."""
    minutes, rest = divmod(round(seconds), 60)
    parts = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in ((minutes, "minute"), (rest, "second")) if n]
    return " ".join(parts)


def watching() -> WatchOptions:
    """Ask how to watch the clip."""
    left, right = st.columns(2)
    care = left.radio(
        "How carefully?",
        [CAREFUL, QUICK],
        key="care",
        captions=["For what you tell a dancer.", "For a first look; less exact, above all at the ankles."],
    )
    dancers = right.number_input(
        "How many are dancing?", min_value=1, max_value=20, value=None, step=1, key="dancers", placeholder="not sure"
    )
    from_s = to_s = None
    with st.expander("Only a part of the clip"):
        a, b = st.columns(2)
        from_s = a.number_input("From second", min_value=0.0, value=None, step=1.0, key="from", placeholder="the beginning")
        to_s = b.number_input("To second", min_value=0.0, value=None, step=1.0, key="to", placeholder="the end")
    return WatchOptions(quality="fine" if care == CAREFUL else "fast", dancers=dancers, from_s=from_s, to_s=to_s)


def song_given() -> UploadedFile | None:
    """Offer to take the song that was danced to; None for a review that goes by the clip's own sound alone."""
    with st.expander("I have the song as a file"):
        given = st.file_uploader("The song that was danced to", type=SONGS, key="song")
        st.caption(
            "Not needed, and a help where people talk over the music. It is looked for in the clip's sound, also where it was played a "
            "little faster or slower; if it is not found there, the clip's own sound is used and the review says so."
        )
    return given


def ended(job: Job) -> None:
    """What became of the last review that was started here."""
    now = status(job)
    if now.state == "done":
        if "job" in st.session_state:
            st.success(f"The review of {plain(job.title)} is ready.", icon=":material/check:")
        else:
            st.markdown(f"The last review, of **{plain(job.title)}**, is ready.")
        st.page_link("page_review.py", label="Open the review", icon=":material/arrow_forward:", query_params={"review": job.id})
    elif now.state == "cancelled":
        st.info(f"The review of {plain(job.title)} was stopped.", icon=":material/close:")
    else:
        st.error(plain(now.error or ""), icon=":material/report:")
    if now.state != "done" and st.button("Clear this away", key="clear"):
        delete(job)
        st.rerun()


def waiting_line(waiting: list[Job]) -> None:
    """Reviews that wait for their turn, each with a way to take it out."""
    if waiting:
        st.markdown("**Waiting for their turn**, one after the other, also while this page is closed:")
    for job in waiting:
        row = st.container(horizontal=True, vertical_alignment="center")
        row.markdown(plain(job.title), width="stretch")
        if row.button("Take it out", key=f"out-{job.id}", icon=":material/close:"):
            delete(job)
            st.rerun()


def ask(busy: bool) -> None:
    """The questions, and the button that starts, or has it wait while another review runs."""
    clip_path = clip_chosen()
    sheet = sheet_chosen(clip_path)
    watch = watching()
    if clip_path is None:
        st.info("Choose a clip, and you will hear how long the review takes.", icon=":material/movie:")
        return
    given: UploadedFile | None = None
    clip = looked_at(str(clip_path), touched_ns(clip_path))
    wait = seconds_words(seconds_needed(clip, watch))
    st.markdown(
        f"**{plain(clip.name)}** lasts {lasts(clip.duration_s)}. The review will take {wait}{'' if watch.dancers else ' a dancer'}."
    )
    if not clip.has_sound:
        st.info(
            "This clip has no sound, so early and late cannot be told from it alone. Once it is reviewed, tap the beat yourself: on the "
            "review, under Everything, “Give the beat yourself”.",
            icon=":material/volume_off:",
        )
    else:
        given = song_given()
    drawn = any(clip_path == path for _, path, _ in samples())
    agreed = None if drawn else who_agreed()
    ready = drawn or agreed is not None
    if not ready:
        st.caption("The review can begin once it is written down above who is in the clip and that they agreed.")
    words = "Review it next" if busy else "Start the review"
    if st.button(words, type="primary", key="start", icon=":material/play_arrow:", disabled=not ready):
        song = save_upload(given.name, given) if given is not None else None
        begin = partial(start, clip_path, watch, JudgeOptions(dance=sheet, song=song), title=clip_path.name, queue=True)
        job = begin() if agreed is None else begun(agreed, begin)
        if not busy:
            st.session_state["job"] = job.id
        st.session_state.pop("upload", None)
        st.rerun()


st.title("New review")
lead("Give it a practice clip, and see which counts were with the beat and how far hips, knees and ankles moved.")
start_next()  # what had to wait when the computer was switched off
states = [(job, status(job).state) for job in jobs()]
running = next((job for job, state in states if state == "running"), None)
waiting = [job for job, state in reversed(states) if state == "waiting"]
last = find(st.session_state["job"]) if "job" in st.session_state else next((job for job, s in states if s != "waiting"), None)
if running is not None:
    st.session_state["job"] = running.id
    st.subheader(f"Reviewing {plain(running.title)}")
    progress(running)
    waiting_line(waiting)
    st.header("Another clip")
elif last is not None:
    ended(last)
try:
    ask(running is not None)
except MotionError as error:
    say(error)
