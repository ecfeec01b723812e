"""Start the page's server so that nothing is ever asked of another machine."""

from __future__ import annotations

import sys
from typing import Any


def serve(arguments: list[str]) -> None:
    """Run the server.

    To judge a request that another site's page makes, the server would ask a public service for
    this machine's outer address. The page is never meant to be reached by that address, so the
    question is not asked and the request is refused.
    """
    from streamlit import net_util
    from streamlit.web import cli

    net_util.get_external_ip = lambda: None
    net_util.get_internal_ip = lambda: None
    _hush()
    cli.main(["run", *arguments], prog_name="streamlit")


def _hush() -> None:
    """The command says itself that the page has stopped."""
    from streamlit import cli_util

    say = cli_util.print_to_cli

    def print_to_cli(message: str, **style: Any) -> None:
        if message.strip() != "Stopping...":
            say(message, **style)

    cli_util.print_to_cli = print_to_cli


# The processes that read photos import this file too, under another name: they must not serve.
if __name__ == "__main__":
    serve(sys.argv[1:])
