"""The frame around every page: name, look, and the way from page to page."""

from pathlib import Path

import streamlit as st
from parts import start_path

HERE = Path(__file__).parent

st.set_page_config(page_title="Countfall", page_icon=str(HERE / "mark.svg"), layout="wide")
st.logo(str(HERE / "name.svg"), size="large")
st.html(HERE / "look.css")
opened = start_path()
new = st.Page("page_new.py", title="New review", default=True)
review = st.Page("page_review.py", title="Review", url_path="review")
asked = st.navigation(
    {
        "Clips": [new, review, st.Page("page_filming.py", title="How to film", url_path="filming")],
        "Teaching": [
            st.Page("page_lesson.py", title="Lesson", url_path="lesson"),
            st.Page("page_sheet.py", title="Dance sheet", url_path="sheet"),
            st.Page("page_range.py", title="Range check", url_path="range-check"),
        ],
        "Keeping": [
            st.Page("page_library.py", title="Library", url_path="library"),
            st.Page("page_numbers.py", title="About the numbers", url_path="numbers"),
        ],
    },
    position="top",
)
if opened is not None and opened.is_dir() and "opened" not in st.session_state:
    st.session_state["opened"] = True
    if asked == new:
        st.switch_page(review, query_params=dict(st.query_params))
asked.run()
