"""Ask for the access token where other machines can reach the page."""

from __future__ import annotations

import hmac
import os
import time

import streamlit as st

from scorer.commands.page import TOKEN_VARIABLE, is_loopback

WRONG_TOKEN_WAIT_SECONDS = 1.0


def admitted() -> bool:
    """Whether this window may see the page; if not, ask for the token and show nothing else."""
    token = os.environ.get(TOKEN_VARIABLE, "")
    address = str(st.get_option("server.address") or "127.0.0.1")
    if not token and is_loopback(address):
        return True
    if not token:
        st.error("Other machines could reach this page. Start it with: value-add page --host …")
        return False
    if st.session_state.get("admitted"):
        return True
    given = str(st.query_params.pop("token", ""))  # out of the address line, used or not
    if not given:
        with st.form("access"):
            given = st.text_input(
                "Access token",
                type="password",
                help="It was printed where the page was started.",
            )
            st.form_submit_button("Open the page", type="primary")
    if not given:
        return False
    if hmac.compare_digest(given.strip().encode(), token.encode()):
        st.session_state["admitted"] = True
        st.rerun()
    time.sleep(WRONG_TOKEN_WAIT_SECONDS)  # guessing must be slow
    st.error("This is not the access token. It was printed where the page was started.")
    return False
