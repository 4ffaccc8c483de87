"""How to film: what the clip is for decides where the phone stands; a test clip or picture is looked at beforehand."""

from __future__ import annotations

from html import escape

import streamlit as st
from parts import draw, lead, say

from motion.base.errors import MotionError
from motion.film.framing_check import Looked, Purpose, look_apart
from motion.jobs.queue import discard_upload, save_upload

TIMING, BENDING = "Timing: is it with the beat?", "Bending: how far do hips, knees and ankles move?"
SVG = 'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 150" role="img" font-size="12" font-family="sans-serif" fill="#20242e"'
#: Seen from above: the dancer as shoulders and head, nose to the front; the phone and what it sees.
FRONT = f"""<svg {SVG} aria-label="Seen from above: the dancer faces the phone, which stands 4 to 6 metres in front.">
<path d="M58 75L250 22V128Z" fill="#ece7f6"/><rect x="46" y="66" width="9" height="18" rx="2"/>
<ellipse cx="215" cy="75" rx="13" ry="30" fill="#5638a3"/><circle cx="213" cy="75" r="11"
fill="#fbf9f5" stroke="#20242e" stroke-width="2"/>
<path d="M202 75l-9 -4v8Z"/><path d="M60 138H200" stroke="#20242e" stroke-dasharray="4 4"/>
<text x="24" y="58">phone</text><text x="104" y="132">4 to 6 m</text><text x="236" y="79">dancer</text></svg>"""
SIDE = f"""<svg {SVG} aria-label="Seen from above: the dancer stands side-on to the phone, which stands 4 to 6 metres away.">
<path d="M58 75L250 22V128Z" fill="#f7ecd8"/><rect x="46" y="66" width="9" height="18" rx="2"/>
<ellipse cx="215" cy="75" rx="30" ry="13" fill="#8f5200"/><circle cx="215" cy="75" r="11"
fill="#fbf9f5" stroke="#20242e" stroke-width="2"/>
<path d="M215 63l-4 -9h8Z"/><path d="M60 138H200" stroke="#20242e" stroke-dasharray="4 4"/>
<text x="24" y="58">phone</text><text x="104" y="132">4 to 6 m</text><text x="250" y="79">dancer</text></svg>"""

KINDS = ["mp4", "mov", "mkv", "webm", "avi", "jpg", "jpeg", "png", "webp"]
SIGNS = {True: "good", False: "change", None: "not told"}


def try_first(purpose: Purpose) -> None:
    """Ask for a short test clip or a picture, and tell what it shows."""
    st.header("Try it first")
    st.markdown("Film ten seconds, or take a picture, from where the phone is to stand, with everybody in their places.")
    with st.form("try", border=False, clear_on_submit=False):
        given = st.file_uploader("Test clip or picture", type=KINDS, key="try-file")
        many = st.number_input(
            "How many are dancing?", min_value=1, max_value=60, value=None, step=1, key="try-dancers", placeholder="not sure"
        )
        asked = st.form_submit_button("Look at it", type="primary", icon=":material/visibility:")
        if asked and given is None:
            st.info("Choose a test clip or a picture first.", icon=":material/movie:")
        if asked and given is not None:
            st.session_state.pop("looked", None)
            try:
                path = save_upload(given.name, given)
                try:
                    with st.spinner("Looking at it, ten to thirty seconds …"):
                        st.session_state["looked"] = look_apart(path, dancers=None if many is None else int(many), purpose=purpose)
                finally:
                    discard_upload(path)
            except MotionError as error:
                say(error)
    looked = st.session_state.get("looked")
    if looked is not None:
        outcome(looked)


def outcome(looked: Looked) -> None:
    """What was seen, what is to be changed first."""
    wrong = sum(one.good is False for one in looked.told)
    lead("You can film like this." if not wrong else "Change one thing first." if wrong == 1 else f"Change {wrong} things first.")
    advice = any(one.remedy for one in looked.told)
    rows = "".join(
        f'<tr><th scope="row">{SIGNS[one.good]}</th><td>{escape(one.words)}</td>'
        + (f"<td>{escape(one.remedy)}{'.' if one.remedy else ''}</td></tr>" if advice else "</tr>")
        for one in looked.told
    )
    head = "".join(f'<th scope="col">{word}</th>' for word in ("", "What is seen", *(["What to do"] if advice else [])))
    st.html(f'<table class="ranges"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>')
    st.caption("The test clip or picture is deleted as soon as it was looked at.")


st.title("How to film")
lead("Ask first: timing or bending? That decides where the phone stands.")
what = st.radio("What is the clip for?", [TIMING, BENDING], key="what", label_visibility="collapsed")
if what == TIMING:
    draw(
        f'<div class="stand">{FRONT}<p class="lead">In front of the dancers, so that both feet show all the time.</p></div>',
        "stand-front",
    )
    st.markdown(
        "Steps can be read on every wall, also from behind. A group needs the phone higher (2 m or more) and farther (8 to 10 m), "
        "with the rows staggered: whoever hides somebody's feet takes those counts from them."
    )
else:
    draw(
        f'<div class="stand">{SIDE}<p class="lead">Side-on, so that knees and hips bend across the picture.</p></div>', "stand-side"
    )
    st.markdown(
        "Bending is measured only while it is seen from the side. A dance that turns shows each joint on some walls and "
        "hides it on others; compare a wall with the same wall. Before the dance, stand "
        "upright and quiet for two seconds: that is where 0° is."
    )

try_first("timing" if what == TIMING else "bending")

st.header("Before you press the button")
st.markdown(
    """
- **Agreement first.** Everybody in the picture has agreed; for a child, a parent and the child. The rules of your school, club and
  country come first.
- **Turn automatic backup off**, so that the clip does not leave the phone by itself.
- **Whole bodies, feet too**, with some floor around them, on every wall of the dance. Nobody else in the picture, if you can.
- **A stand, not a hand.** Landscape, at hip height (about 1 m) for one dancer. Do not turn or zoom while filming.
- **Light from behind the phone**, no window behind the dancers. In dim rooms pictures blur, and landings with them.
- **60 pictures a second** if the phone offers it; 30 is enough for most.
- **Trousers that show the knee, shoes that differ from the floor.** Boots and wide legs make bending less sure.
"""
)
st.header("While filming")
st.markdown(
    """
- **Clap three times in view** before the music, about a second apart: face the phone, hands in front of your chest, arms wide between
  claps. It shows how far apart sound and picture are; one clap is seldom enough.
- **The music near the phone**, loud enough to be heard over the floor. Sound needs about 3 ms a metre, 30 ms over 10 m.
- **One dance, one clip**, from two counts of eight before count 1. Say the date and the dance aloud rather than names.
"""
)
st.header("Afterwards")
st.markdown(
    """
- **Bring the clip over by cable or card.** Messengers shrink clips and shift their times, and send them elsewhere.
- **Use the file as the phone wrote it**, not one that was cut or turned in another program.
- **Delete it** from phone and card when the review is done, and here on the day that was agreed.
"""
)
