"""What several pages share: where to start, the same sentence for an error as on the command line, the player, folded figures."""

from __future__ import annotations

import base64
import contextlib
import os
import re
from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import Any

import streamlit as st

from motion.base.errors import BadStore, MotionError
from motion.base.home import touched_ns
from motion.base.types import Clip
from motion.desk.open_review import let_go
from motion.desk.page_server import START_VARIABLE
from motion.film.extract import cut, find_clip
from motion.jobs.queue import Finished, finished
from motion.library.classes import note_handed_out
from motion.store.corrections import masks_in
from motion.store.folder import REVIEW, read_review
from motion.tell.moments import Window, window

HERE = Path(__file__).parent
#: What is kept of a review from one run of the page to the next: the film to take along that was made last, and the moments chosen
#: last in each view, each with the review that it is of (`here`).
KEPT = TO_TAKE, OF_THE_CLASS, OF_ONE, SIDE_BY_SIDE, OF_ALL = "handout", "teacher-moment", "student-moment", "pair", "moment"
#: Plain HTML calls lose drawings on their way to the browser; this hands one over as it is.
DRAWING = """export default function ({ data, parentElement }) { parentElement.querySelector("div").innerHTML = data; }"""

_drawing = st.components.v2.component("countfall_drawing", html="<div></div>", js=DRAWING, isolate_styles=False)
_player = st.components.v2.component(
    "countfall_player",
    html=(HERE / "player.html").read_text(encoding="utf-8"),
    css=(HERE / "player.css").read_text(encoding="utf-8"),
    js=(HERE / "player.js").read_text(encoding="utf-8"),
)


def start_path() -> Path | None:
    """The clip or review folder that the page was started with."""
    given = os.environ.get(START_VARIABLE)
    return Path(given) if given else None


def review_in(folder: Path) -> dict[str, Any]:
    """review.json of a folder as it is now; read again only when it was written again. Nobody may change what is given: whoever asks
    next gets the very same. Raises BadStore as `read_review` does."""
    path = folder / REVIEW
    return _stored(str(folder), path.stat().st_mtime_ns) if path.is_file() else read_review(folder)


@st.cache_resource(max_entries=32, show_spinner=False)
def _stored(folder: str, changed_ns: int) -> dict[str, Any]:
    return read_review(Path(folder), whole=True)


def others(one: Finished) -> list[tuple[Finished, dict[str, Any]]]:
    """Every other review on the shelf that can be read; one that is damaged says so itself when it is opened."""
    found = []
    for each in finished(start_path()):
        if each.key != one.key:
            with contextlib.suppress(BadStore):
                found.append((each, review_in(each.folder)))
    return found


def here(one: Finished) -> tuple[str, int]:
    """Which review, as it is judged now: what is kept from one run of the page to the next holds for it alone, for judged again a
    number may be another dancer's and a count lie elsewhere."""
    path = one.folder / REVIEW
    return one.key, touched_ns(path)


def forget() -> None:
    """Drop every picture and review from memory: they may show or name somebody who is not to be seen any more."""
    for name in KEPT:
        st.session_state.pop(name, None)
    st.cache_data.clear()
    st.cache_resource.clear()
    let_go()


def say(error: MotionError) -> None:
    """Show an error: the very sentence that the command prints."""
    st.error(plain(str(error)), icon=":material/report:")


def plain(text: str) -> str:
    """Text that may hold somebody else's words, such as a cell of a dance sheet, for a call that reads Markdown: shown as it stands.
    A picture that such words name would be fetched from wherever they say, and nothing is ever fetched from elsewhere."""
    return re.sub(r"[\\\[\]]", r"\\\g<0>", text)


def handed_out(folder: Path | None, what: str, name: str, label: str | None = None) -> None:
    """Write down that a file left the program, so that deleting can say what it does not reach. folder: of the review, if of one;
    label: of the dancer whose file it is, if one has it."""
    try:
        note_handed_out(folder, what, name, label)
    except MotionError as error:
        say(error)


def lead(words: str) -> None:
    """The first sentence under a heading, in larger type."""
    st.html(f'<p class="lead">{escape(words)}</p>')


def facts(rows: Iterable[tuple[str, str]]) -> None:
    """Short facts side by side."""
    st.html('<dl class="facts">' + "".join(f"<div><dt>{escape(n)}</dt><dd>{escape(v)}</dd></div>" for n, v in rows) + "</dl>")


def draw(html: str, key: str) -> None:
    """Show HTML with drawings in it. Every name inside must have been escaped by whoever made it."""
    _drawing(data=html, key=key)


def show_figures(figures: Iterable[str], of: str = "") -> None:
    """Numbers, folded away until somebody asks for them. of: which figures, in plain words, so that no two on a page are called alike."""
    lines = [f"- {line}" for line in figures]
    if lines:
        with st.expander(f"Show the figures: {of}" if of else "Show the figures"):
            st.markdown("\n".join(lines))


@st.cache_data(max_entries=4, show_spinner="Looking for the clip …")
def clip_of(path: str, changed_ns: int, fingerprint: str) -> Clip:
    """The clip that belongs to a review, checked once."""
    return find_clip(Path(path), {"clip": {"sha256": fingerprint}})


@st.cache_data(max_entries=24, show_spinner="Cutting out this moment …")
def _film(path: str, fingerprint: str, from_s: float, to_s: float, folder: str, changed_ns: int, _clip: Clip) -> str:
    """The cut as text for the player, whoever is not to be seen covered; kept by the clip's fingerprint and the review's state."""
    return base64.b64encode(cut(Path(path), _clip, from_s, to_s, masks_in(Path(folder)))).decode("ascii")


def play(
    path: Path,
    clip: Clip,
    shown: Window,
    about: str,
    folder: Path,
    *,
    key: str = "player",
    beside: bool = False,
    quiet: bool = False,
) -> None:
    """Play a short stretch of the clip of the review in `folder`, from its exact start, with the counts to read along.

    beside: one of several that stand side by side and are played together; quiet: without its sound, which one of them is enough for.
    """
    changed_ns = touched_ns(folder / "landmarks.npz")
    film = _film(str(path), clip.sha256, shown.from_s, shown.to_s, str(folder), changed_ns, clip)
    _player(
        key=key,
        data={
            "beside": beside,
            "quiet": quiet,
            "id": f"{clip.sha256}{changed_ns}{shown}{about}",
            "film": film,
            "about": about,
            "at": shown.at_s - shown.from_s,
            "marks": [[time_s - shown.from_s, name] for time_s, name in shown.marks],
        },
    )


def play_moment(
    one: Finished, review: dict[str, Any], time_s: float, until_count: float | None, about: str, *, key: str = "player"
) -> None:
    """Play a moment of a review from two counts before it; where the clip cannot be had, say why."""
    try:
        changed_ns = touched_ns(one.clip)
        clip = clip_of(str(one.clip), changed_ns, review["clip"]["sha256"])
        play(one.clip, clip, window(review, time_s, until_count), about, one.folder, key=key)
    except MotionError as error:
        say(error)
