"""Dance sheet: write a dance in the trade's words, hear at once what cannot be danced, see the feet, print it for the wall."""

from __future__ import annotations

from typing import Any

import streamlit as st
from part_sheet import in_the_music, keep, look_up, on_the_floor
from parts import lead, plain, review_in, say, start_path

from motion.base.errors import MotionError
from motion.base.types import DanceSheet
from motion.dance.prose import read_prose
from motion.dance.sheet import read_sheet
from motion.dance.table import (
    FEET,
    KIND_WORDS,
    TURNS,
    Looked,
    TableLine,
    as_rows,
    from_rows,
    header_of,
    is_draft_header,
    lines_of,
    look,
    row_words,
    vocabulary,
    without_draft,
)
from motion.desk.draft_sheet import written_down
from motion.desk.page_server import dances
from motion.jobs.queue import finished, save_upload
from motion.store.sheets import own_sheets

EXAMPLE, FILE, PASTE, REVIEW, EMPTY = (
    "A dance that is here",
    "A file of mine (CSV)",
    "Words that I paste",
    "A review of a clip",
    "An empty sheet",
)
LEVELS = ["", "absolute beginner", "beginner", "improver", "intermediate", "advanced"]
METRES = ["4/4", "3/4", "2/4", "6/8"]
PROMPT = "1-4 Vine right, touch L\n5-6 Rock L forward, recover on R\n7&8 Coaster L"


def take(header: dict[str, str], lines: list[TableLine], said: str) -> None:
    """Put a dance into the table, in place of what was there."""
    st.session_state["sheet"] = (header, as_rows(lines))
    st.session_state["sheet_said"] = said
    st.session_state.pop("sheet_now", None)
    st.session_state["sheet_version"] = st.session_state.get("sheet_version", 0) + 1
    st.rerun()


def take_sheet(sheet: DanceSheet, said: str) -> None:
    """Put a sheet that was read into the table."""
    take(header_of(sheet), lines_of(sheet), said)


def start_from() -> None:
    """Where to begin."""
    way = st.radio("Begin with", [EXAMPLE, FILE, PASTE, REVIEW, EMPTY], key="sheet_way", horizontal=True)
    if "sheet" in st.session_state:
        st.caption("What is in the table now goes as soon as another dance is put into it. Keep it first, under “Keep it” below.")
    if way == EXAMPLE:
        here = dict([*own_sheets(), *dances()])
        name = st.selectbox("Dance", list(here), key="sheet_example")
        if name and st.button("Put it into the table", key="take_example"):
            take_sheet(read_sheet(here[name]), f"{name} is in the table.")
    elif way == FILE:
        upload = st.file_uploader("The dance sheet", type=["csv", "txt"], key="sheet_file")
        st.caption(f"A table of count, foot, move and turn. Is it a PDF or a letter? Copy its words, and take “{PASTE}”.")
        if upload is not None and st.button("Put it into the table", key="take_file"):
            take_sheet(read_sheet(save_upload(upload.name, upload)), f"{upload.name} is in the table.")
    elif way == PASTE:
        text = st.text_area("Paste the dance as it is written", key="sheet_pasted", height=220, placeholder=PROMPT)
        st.caption("Lines that are understood become rows. All others wait in the table as they are, for you to write.")
        if text.strip() and st.button("Put it into the table", key="take_pasted"):
            pasted = read_prose(text)
            wait = "1 line waits" if pasted.waiting == 1 else f"{pasted.waiting} lines wait"
            kept = sum(line.kind == "note" for line in pasted.lines)
            stays = "1 line stays as words, and nothing is danced in it" if kept == 1 else ""
            stays = stays or f"{kept} lines stay as words, and nothing is danced in them"
            words = f" {stays}." if kept else ""
            waiting = f"{wait}, marked “Waits”." if pasted.waiting else "" if kept else "Every line was understood."
            take(pasted.header, list(pasted.lines), f"The pasted dance is in the table. {waiting}{words}".replace("  ", " "))
    elif way == REVIEW:
        from_review()
    elif st.button("Begin an empty sheet", key="take_empty"):
        take({"counts": "32", "walls": "4"}, [TableLine(count=str(n)) for n in range(1, 9)], "An empty sheet is in the table.")


def from_review() -> None:
    """A draft from the landings of a demonstration."""
    stored = {one.title: one for one in finished(start_path())}
    if not stored:
        st.info("There is no review here yet. Review a clip of the demonstration first, without a sheet.", icon=":material/movie:")
        return
    one = stored[st.selectbox("Which review?", list(stored), key="sheet_review")]
    review = review_in(one.folder)
    a, b, c = st.columns(3)
    dancer = a.selectbox("Which dancer?", [d["id"] for d in review["dancers"]], key="sheet_dancer")
    counts = b.number_input("Counts of one wall", min_value=4, max_value=256, value=32, step=4, key="sheet_counts")
    known = review["beats"].get("first_count_s")
    first = c.number_input(
        "Count 1, second of the clip", min_value=0.0, value=known, step=0.1, key="sheet_first", placeholder="as heard"
    )
    st.caption("Only beat and landings have a say. The outcome is a draft: a heel, a toe and a touch look much alike.")
    if st.button("Write down what was danced", key="take_review"):
        with st.spinner("Writing it down …"):
            sheet = written_down(one.folder, int(counts), dancer=int(dancer or 1), first_count_s=first)
        take_sheet(sheet, "A draft is in the table. Go through every row before you use it.")


def header_fields(header: dict[str, str], version: int) -> dict[str, str]:
    """The fields above the table; what they do not show is kept."""
    out = dict(header)

    def text(place: Any, key: str, label: str, **more: Any) -> None:
        out[key] = place.text_input(label, value=header.get(key, ""), key=f"{key}-{version}", **more)

    a, b, c = st.columns([3, 1, 1])
    text(a, "title", "Title")
    text(b, "version", "Version")
    level = header.get("level", "")
    levels = LEVELS if level in LEVELS else [*LEVELS, level]
    out["level"] = c.selectbox(
        "Level", levels, index=levels.index(level), format_func=lambda one: one or "not said", key=f"level-{version}"
    )
    a, b, c, d, e = st.columns(5)
    text(a, "counts", "Counts", help="Of one wall. Leave it empty for a dance in parts.")
    walls = header.get("walls", "4")
    choices = ["1", "2", "4"] if walls in ("1", "2", "4") else ["1", "2", "4", walls]
    out["walls"] = b.selectbox("Walls", choices, index=choices.index(walls), key=f"walls-{version}")
    metre = header.get("metre", "4/4")
    metres = METRES if metre in METRES else [*METRES, metre]
    out["metre"] = c.selectbox("Metre", metres, index=metres.index(metre), key=f"metre-{version}")
    text(d, "bpm", "Beats a minute")
    text(e, "intro", "Intro", placeholder="16 counts")
    with st.expander("More about the dance", expanded="parts" in header):
        a, b = st.columns(2)
        text(
            a,
            "parts",
            "Order of the parts",
            placeholder="A B A",
            help="A dance in parts has a row “Part” above each: A, 32 counts.",
        )
        text(b, "half", "Where the & lies in its count", placeholder="0.5", help="0.5 is halfway, 0.67 swung.")
    if is_draft_header(header) and not st.checkbox("This is still a draft", value=True, key=f"draft-{version}"):
        out = without_draft(out)
    return out


def table(rows: list[dict[str, str]], version: int) -> list[TableLine]:
    """The table to write in."""
    numbered = [{"row": str(k), **row} for k, row in enumerate(rows, 1)]
    moves = list(dict.fromkeys([*vocabulary(), *(row["move"] for row in rows)]))
    turns = list(dict.fromkeys([*TURNS, *(row["turn"] for row in rows)]))
    pick = st.column_config
    st.caption(
        "Double-click a field, or tap it twice, to change it. The empty row at the foot adds one; tick rows at their left edge, and the "
        "bin above the table takes them out."
    )
    edited = st.data_editor(
        numbered,
        key=f"table-{version}",
        num_rows="dynamic",
        hide_index=True,
        width="stretch",
        height=460,
        column_config={
            "row": pick.TextColumn("Row", disabled=True, width=45),
            "what": pick.SelectboxColumn("What", options=list(KIND_WORDS.values()), default="Step", width=80),
            "count": pick.TextColumn("Count", help="1, 3&, 3a, or for a figure its first and last count: 1 to 4", width=80),
            "foot": pick.SelectboxColumn("Foot", options=list(FEET), help="The foot that moves, or begins a figure", width=70),
            "move": pick.SelectboxColumn("Move or figure", options=moves),
            "turn": pick.SelectboxColumn("Turn", options=turns, width=75),
            "words": pick.TextColumn(
                "Words", help="A heading, a note, or what a tag or restart says: wall 3 after 16", width="medium"
            ),
            "easier": pick.TextColumn("Easier option"),
        },
    )
    return from_rows(edited)


def findings(looked: Looked, lines: list[TableLine]) -> None:
    """What cannot be danced, and what is in doubt, each with its row."""
    if not looked.findings:
        st.success(
            "Nothing found to mend: the counts add up, every step has a free foot, and the walls come round.",
            icon=":material/check:",
        )
        return
    if all(line.kind == "step" and not (line.foot or line.move) for line in lines):
        st.info(
            "No move is written yet. Choose one in each row: what is still to mend then stands here.", icon=":material/edit_note:"
        )
        return
    mend = [f for f in looked.findings if f.grade == "error"]
    doubts = [f for f in looked.findings if f.grade == "doubt"]
    for heading, found, icon in (("To mend", mend, "✎"), ("In doubt", doubts, "?")):
        if found:
            st.subheader(heading)
            told = (f"{row_words(lines, f.row)}{f.words}{'.' if f.words[-1].isalnum() else ''}" for f in found[:40])
            st.markdown("\n".join(f"- {icon} {plain(words)}" for words in told))
            if len(found) > 40:
                st.caption(f"And {len(found) - 40} more.")


def written(header: dict[str, str], rows: list[dict[str, str]], version: int) -> None:
    """The sheet in the table, and all that follows from it."""
    now = header_fields(header, version)
    lines = table(rows, version)
    st.session_state["sheet_now"] = (now, as_rows(lines))
    looked = look(now, lines)
    findings(looked, lines)
    mended = looked.sheet is not None and not any(f.grade == "error" for f in looked.findings)
    floor, music, keeping, figures = st.tabs(["Feet on the floor", "In the music", "Keep it", "Look up a figure"])
    with floor:
        on_the_floor(looked.sheet if mended else None)
    with music:
        in_the_music(looked.sheet if mended else None)
    with keeping:
        keep(now, lines, looked)
    with figures:
        look_up()


def come_back() -> None:
    """After a visit to another page, which lets go of the table's state: go on with what was written."""
    if "sheet_now" in st.session_state and f"table-{st.session_state['sheet_version']}" not in st.session_state:
        st.session_state["sheet"] = st.session_state["sheet_now"]
        st.session_state["sheet_version"] += 1


st.title("Dance sheet")
lead("Write a dance in the words that you teach with, and see at once whether it can be danced.")
with st.expander("Begin with another dance" if "sheet" in st.session_state else "Begin", expanded="sheet" not in st.session_state):
    try:
        start_from()
    except MotionError as error:
        say(error)
if "sheet" in st.session_state:
    come_back()
    if st.session_state.get("sheet_said"):
        st.info(plain(st.session_state["sheet_said"]), icon=":material/edit_note:")
    header_now, rows_now = st.session_state["sheet"]
    written(header_now, rows_now, st.session_state["sheet_version"])
else:
    st.header("Look up a figure")
    look_up()
