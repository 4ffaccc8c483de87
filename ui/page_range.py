"""Range check: what to ask and do first, starting one, and a finished one: left beside right, this time beside last time."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import streamlit as st
from part_consent import begun, who_agreed
from part_ranges import cautions, guide
from parts import draw, lead, say, show_figures, start_path

from motion.base.errors import MotionError
from motion.base.options import JudgeOptions, WatchOptions
from motion.desk.page_server import UPLOAD_MB, samples
from motion.jobs.queue import jobs, save_upload, start, status
from motion.jobs.range_history import checks
from motion.tell.range_charts import task_chart
from motion.tell.range_check import (
    ASK_FIRST,
    Check,
    change_told,
    changes,
    difference_told,
    earlier_of,
    maybe_same,
    task_ranges,
    task_told,
    zero_known,
)
from motion.tell.range_norms import GROUPS, SOURCE, band_deg

SAMPLE, MINE, HERE_ALREADY = "The sample", "A clip of mine", "A clip that lies on this computer"
NOTHING = "Nothing"
VIDEO = ["mp4", "mov", "mkv", "webm", "avi", "m4v"]


def before() -> None:
    """What to ask, and how it goes."""
    st.header("Ask first")
    st.markdown("\n".join(f"- {line}" for line in ASK_FIRST))
    st.markdown(
        "A yes to any of these: leave the check out today, and ask a health professional first. Nothing of the answers is written down. "
        "**Anything may be skipped, without a remark.** Warm up before it, and have a chair to hold."
    )
    st.header("How it goes")
    guide()
    st.markdown(
        "Then **turn round, take the chair in the other hand, and do it all once more**, so that each leg is the nearer one once. It "
        "takes 45 seconds. The phone stands still at hip height, 4 to 6 metres away, the whole body in the picture; trousers that "
        "show the knee. No music is needed."
    )


def clip_chosen() -> Path | None:
    """Ask for the clip of a check; None until there is one."""
    sample = next((path for _, path, _ in samples() if "range" in path.stem), None)
    ways = ([SAMPLE] if sample else []) + [MINE, HERE_ALREADY]
    way = st.radio("Which clip?", ways, key="range-way", horizontal=True)
    if way == SAMPLE:
        st.caption("A dancer drawn by computer, from the side.")
        return sample
    if way == MINE:
        upload = st.file_uploader("Drop the clip here, or pick it", type=VIDEO, key="range-clip", max_upload_size=UPLOAD_MB)
        st.caption("It stays on this computer, in a folder that only you can open.")
        if upload is None:
            return None
        kept = st.session_state.get("range-kept")
        if kept is None or kept[0] != upload.file_id:
            kept = st.session_state["range-kept"] = (upload.file_id, save_upload(upload.name, upload))
        return Path(kept[1])
    written = st.text_input("Where the clip is", key="range-path", placeholder="for example /home/me/Videos/check.mp4")
    return Path(written.strip().strip("\"'")).expanduser() if written.strip() else None


def begin() -> None:
    """Start the review of a check; it runs on as every review does."""
    st.header("Look at a clip")
    if any(status(job).state == "running" for job in jobs()):
        st.info("A review is running.", icon=":material/info:")
        st.page_link("page_new.py", label="See how far it is", icon=":material/arrow_forward:")
        return
    clip = clip_chosen()
    asked = st.checkbox("The questions above were asked", key="range-asked")
    drawn = any(clip == path for _, path, _ in samples())
    agreed = None if clip is None or drawn else who_agreed()
    ready = clip is not None and asked and (drawn or agreed is not None)
    if not ready:
        missing = [
            words
            for words, there in (
                ("choose a clip", clip is not None),
                ("ask the questions above and tick that they were asked", asked),
                ("write down who is in the clip and that they agreed", clip is None or drawn or agreed is not None),
            )
            if not there
        ]
        st.caption(f"Before it can begin: {'; '.join(missing)}.")
    if st.button("Start the range check", type="primary", key="range-start", disabled=not ready) and clip is not None:
        begin_it = partial(start, clip, WatchOptions(dancers=1), JudgeOptions(range_check=True), title=clip.name)
        job = begin_it() if agreed is None else begun(agreed, begin_it)
        st.session_state["job"] = job.id
        st.switch_page("page_new.py")


def shown(found: list[Check]) -> None:
    """A finished check."""
    st.header("A finished check")
    titles = {one.key: one.title for one in found}
    asked = st.query_params.get("check")
    keys = list(titles)
    key = st.selectbox(
        "Which check?", keys, index=keys.index(asked) if asked in titles else 0, format_func=lambda k: titles[k], key="check"
    )
    st.query_params["check"] = key
    now = next(one for one in found if one.key == key)
    others = {one.key: one for one in maybe_same(found, now.label, but=key)}
    last = None
    if others:
        alike = next((k for k, one in others.items() if one.label is not None and one.label == now.label), NOTHING)
        against = st.selectbox(
            "Beside which earlier check of the same person?",
            [NOTHING, *others],
            index=[NOTHING, *others].index(alike),
            format_func=lambda k: k if k == NOTHING else titles[k],
            key=f"beside-{key}",
        )
        last = others.get(against)
    group = None
    if st.toggle("Show published ranges, for context", key="published"):
        name = st.selectbox("Of which group?", [g.name for g in GROUPS], key="group")
        group = next(g for g in GROUPS if g.name == name)
        st.caption(
            f"The grey band is where the average of that group lies ({SOURCE}). Single people lie far to either side of it, and here "
            "nobody is lying down or moved by hand: it is no number to reach."
        )
    told = changes(now.dancer, earlier_of(found, now, last))
    earlier = {} if last is None else {task.task: task for task in task_ranges(last.dancer)}
    for task in task_ranges(now.dancer):
        st.subheader(task.words)
        draw(task_chart(task, earlier.get(task.task), None if group is None else band_deg(task.task, group)), f"bars-{task.task}")
        st.markdown(task_told(task))
        lines = [difference_told(task), *(change_told(one) for one in told if one.task == task.task)]
        for line in filter(None, lines):
            st.markdown(f"- {line}")
    st.caption(
        "The line across the end of a bar holds the range 19 times in 20; an open diamond is last time; a paler bar is the farther leg."
    )
    if standing := zero_known(now.dancer):
        st.info(standing, icon=":material/info:")
    show_figures((f"{task.words}: {side}, each repetition {each}" for task, side, each in now.repetitions()), "every repetition")
    cautions()


st.title("Range check")
lead("Four small movements from the side: how far hips, knees and ankles go, left beside right, and this time beside last time.")
try:
    reviewed = checks(start_path())
    if reviewed:
        first, second = st.tabs(["A finished check", "Make a new one"])
        with first:
            shown(reviewed)
        with second:
            before()
            begin()
    else:
        before()
        begin()
        cautions()
except MotionError as error:
    say(error)
