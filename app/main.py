"""The page: screen homes, walk through one, plan its work, compare, and keep prices."""

from __future__ import annotations


def main() -> None:
    """Draw the page that is asked for."""
    from pathlib import Path

    import streamlit as st

    from app.access import admitted
    from app.drafts import drafts
    from app.shared import guarded, message_bar, page_row, style

    st.set_page_config(
        page_title="Value-add scorer",
        layout="wide",
        page_icon=str(Path(__file__).with_name("icon.png")),
    )
    style()
    if not admitted():
        return
    pages = (
        st.Page("views/screen.py", title="Homes", url_path="homes", default=True),
        st.Page("views/walk.py", title="Walk-through", url_path="walk-through"),
        st.Page("views/scope.py", title="Scope of work", url_path="scope"),
        st.Page("views/fit.py", title="Does it fit?", url_path="fit"),
        st.Page("views/shortlist.py", title="Shortlist", url_path="shortlist"),
        st.Page("views/prices.py", title="Price book", url_path="price-book"),
    )
    page = st.navigation(pages, position="hidden")
    page_row(pages, page)
    guarded(message_bar)
    guarded(drafts)
    guarded(page.run)


# The processes that read photos import this file too, under another name: they must not draw.
if __name__ == "__main__":
    main()
