"""The page: screen homes, walk through one, plan its work, compare, and keep prices."""

from __future__ import annotations

import streamlit as st

from app.shared import guarded, style

st.set_page_config(page_title="Value-add scorer", layout="wide", page_icon=":material/home_work:")
style()

pages = [
    st.Page("views/screen.py", title="Homes", url_path="homes", default=True),
    st.Page("views/walk.py", title="Walk-through", url_path="walk-through"),
    st.Page("views/scope.py", title="Scope of work", url_path="scope"),
    st.Page("views/fit.py", title="Does it fit?", url_path="fit"),
    st.Page("views/shortlist.py", title="Shortlist", url_path="shortlist"),
    st.Page("views/prices.py", title="Price book", url_path="price-book"),
]
guarded(st.navigation(pages, position="top").run)
