"""The choreographer's view of a review: clip against sheet, wall against wall, take against take; every difference plays side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import streamlit as st
from part_class import against_the_sheet, phrases, wall_against_wall
from parts import SIDE_BY_SIDE, clip_of, draw, handed_out, here, lead, others, plain, play, say, show_figures

from motion.base.errors import MotionError
from motion.base.home import touched_ns
from motion.jobs.queue import Finished
from motion.tell.choreographer import (
    Difference,
    Shown,
    against_sheet,
    between_takes,
    between_walls,
    not_judged,
    sheet_doubted,
    sheet_told,
    takes_told,
    told_apart,
    walls_danced,
)
from motion.tell.moments import window
from motion.tell.release import release_html, release_lines, verdict_html
from motion.tell.review_words import beat_told, dancer_name
from motion.tell.takes import same_dance
from motion.tell.words import clock

Take = tuple[Finished, dict[str, Any]]


def choreographer_view(one: Finished, review: dict[str, Any]) -> None:
    """The whole view of one dancer's clip."""
    if not review["dancers"]:
        st.header("Clip and sheet")
        st.markdown("Nobody is left in this review: whoever danced was taken out of it.")
        return
    if review.get("dance") is None:
        st.header("Clip and sheet")
        lead("This clip was reviewed without a dance sheet.")
        st.markdown("With one, the clip is set against it, and wall against wall. Write the sheet, or draft it from this clip.")
        st.page_link("page_sheet.py", label="Write the sheet", icon=":material/arrow_forward:")
        return
    lead(f"Set against the sheet of {sheet_told(review)}.")
    dancer = _who("Who demonstrates?", review, f"shows-{one.key}")
    the_walls(one, review, dancer)
    clip_and_sheet(one, review, dancer)
    walls(one, review, dancer)
    takes(one, review, dancer)
    tempo(review)
    before_release(one, review, dancer)


def _who(words: str, review: dict[str, Any], key: str) -> dict[str, Any]:
    """Ask which dancer, as they stand; nothing to ask where there is one."""
    dancers = {int(d["id"]): d for d in review["dancers"]}
    if len(dancers) == 1:
        return next(iter(dancers.values()))
    chosen: dict[str, Any] = dancers[st.selectbox(words, list(dancers), format_func=lambda n: dancer_name(dancers[n]), key=key)]
    return chosen


def the_walls(one: Finished, review: dict[str, Any], dancer: dict[str, Any]) -> None:
    """Every wall with its clock facing, where it follows a restart or tag, and a way to play its beginning."""
    st.header("The walls")
    rows = walls_danced(review, dancer)
    if not rows:
        st.markdown("Where walls begin is not known, because the beat was not measured.")
        return
    for row in rows:
        line = st.container(horizontal=True, vertical_alignment="center")
        after = {True: ", caught", False: ", not caught", None: ", could not be judged"}[row.caught] if row.after else ""
        follows = f" · after the {row.after}{after}" if row.after else ""
        line.markdown(f"**Wall {row.wall}** · facing {row.facing or 'not known'}{follows}")
        if row.time_s is not None and line.button(
            f"Play {clock(row.time_s)}", key=f"wall-{one.key}-{row.wall}", icon=":material/play_arrow:"
        ):
            _choose(one, f"wall-{row.wall}", Shown(row.time_s, f"Wall {row.wall}, count 1 ({row.facing})"), None)
        _pair((one, review), None, f"wall-{row.wall}")


def clip_and_sheet(one: Finished, review: dict[str, Any], dancer: dict[str, Any]) -> None:
    """Where the clip is not as the sheet has it."""
    st.header("Clip and sheet")
    if why := not_judged(review, dancer):
        st.markdown(why)
        return
    found = against_sheet(review, dancer)
    if doubted := sheet_doubted(dancer):
        st.warning(doubted, icon=":material/help:")
        if found:
            with st.expander(f"All that differs: {len(found)}"):
                _differences(found, (one, review), None, "sheet")
        return
    against_the_sheet(dancer, heading=False)
    if not found:
        st.markdown("Nothing differs from the sheet that could be seen for certain.")
    _differences(found, (one, review), None, "sheet")


def walls(one: Finished, review: dict[str, Any], dancer: dict[str, Any]) -> None:
    """Where one wall stands apart."""
    st.header("Wall beside wall")
    found = between_walls(review, dancer)
    if not found:
        st.markdown(told_apart(dancer))
    _differences(found, (one, review), None, "walls")
    wall_against_wall(dancer, review, differences=False)


def takes(one: Finished, review: dict[str, Any], dancer: dict[str, Any]) -> None:
    """This take beside another of the same dance."""
    st.header("Take beside take")
    found = [(each, stored) for each, stored in others(one) if same_dance(review, stored)]
    same, stored = {each.key: each for each, _ in found}, {each.key: other for each, other in found}
    if not same:
        st.markdown("There is no other review of this dance yet. Film it once more, and both takes stand here side by side.")
        return
    asked = st.query_params.get("take")
    picked = st.selectbox(
        "Beside which take?",
        [None, *same],
        index=[None, *same].index(asked) if asked in same else 0,
        format_func=lambda k: "choose one" if k is None else same[k].title,
        key=f"take-{one.key}",
    )
    if picked is None:
        st.query_params.pop("take", None)
        return
    if asked != picked:
        st.query_params["take"] = picked
    other = stored[picked]
    partner = _who("Who is it there?", other, f"partner-{one.key}-{picked}")
    st.markdown(takes_told(review, dancer, other, partner))
    apart = between_takes(review, dancer, other, partner)
    if not apart:
        st.markdown("No count was danced otherwise, as far as can be told from chance.")
    _differences(apart, (one, review), (same[picked], other), "takes")


def tempo(review: dict[str, Any]) -> None:
    """Tempo and phrases."""
    st.header("Tempo and phrases")
    told = beat_told(review["beats"])
    st.markdown(told.words)
    show_figures(told.figures, "the beat")
    phrases(review)


def before_release(one: Finished, review: dict[str, Any], dancer: dict[str, Any]) -> None:
    """Sheet and clip line by line, to print before the dance goes out."""
    st.header("Before release")
    lines = release_lines(review, dancer)
    rows = "".join(
        f'<tr><th scope="row">{line.name}</th><td class="verdict">{verdict_html(line.verdict)}</td></tr>' for line in lines
    )
    left, right = st.columns([2, 3], gap="medium")
    with left:
        draw(
            f'<table class="ranges release"><thead><tr><th scope="col">What</th><th scope="col">Verdict</th></tr></thead>'
            f"<tbody>{rows}</tbody></table>",
            "release",
        )
    with right:
        for k, line in enumerate(lines):
            if line.verdict == "agrees":
                continue
            with st.container(border=True):
                st.markdown(f"**{line.name}**: {plain(line.words)}")
                row = st.container(horizontal=True)
                for n, shown in enumerate(line.play[:4]):
                    if row.button(f"Play {clock(shown.time_s)}", key=f"release-{one.key}-{k}-{n}", icon=":material/play_arrow:"):
                        _choose(one, f"release-{k}", shown, None)
                _pair((one, review), None, f"release-{k}")
    name = f"{Path(review['clip']['name']).stem}.release.html"
    st.download_button(
        "The page to print",
        release_html(review, dancer),
        file_name=name,
        mime="text/html",
        key="get-release",
        icon=":material/download:",
        on_click=handed_out,
        args=(one.folder, "The page before release", name),
    )


def _differences(found: tuple[Difference, ...], mine: Take, other: Take | None, place: str) -> None:
    """Each difference with the button that plays both of its moments."""
    one = mine[0]
    for k, difference in enumerate(found):
        with st.container(border=True):
            st.markdown(difference.words)
            row = st.container(horizontal=True, vertical_alignment="center")
            both = difference.left is not None and difference.right is not None
            words = "Play side by side" if both else "Play it"
            shown = difference.left or difference.right
            if shown is not None and row.button(words, key=f"{place}-{one.key}-{k}", icon=":material/play_arrow:"):
                _choose(one, f"{place}-{k}", shown, difference.right if both else None)
            if difference.figures:
                with row.popover("Show the figures", type="tertiary"):
                    st.markdown("\n".join(f"- {line}" for line in difference.figures))
            _pair(mine, other, f"{place}-{k}")


def _choose(one: Finished, place: str, left: Shown, right: Shown | None) -> None:
    st.session_state[SIDE_BY_SIDE] = (here(one), place, left, right)


def _pair(mine: Take, other: Take | None, place: str) -> None:
    """The players of what was chosen last, below where it was chosen: one, or two side by side that go together."""
    whose, where, left, right = st.session_state.get(SIDE_BY_SIDE, (None, None, None, None))
    if (whose, where) != (here(mine[0]), place) or left is None:
        return
    shown = [each for each in (left, right) if each is not None]
    for n, (column, each) in enumerate(zip(st.columns(len(shown), gap="medium"), shown, strict=True)):
        take = other if each.take == 1 and other is not None else mine
        with column:
            try:
                changed_ns = touched_ns(take[0].clip)
                clip = clip_of(str(take[0].clip), changed_ns, take[1]["clip"]["sha256"])
                stretch = window(take[1], each.time_s, each.until_count)
                play(
                    take[0].clip,
                    clip,
                    stretch,
                    each.about,
                    take[0].folder,
                    key=f"{place}-player-{n}",
                    beside=len(shown) > 1,
                    quiet=n > 0,
                )
            except MotionError as error:
                say(error)
