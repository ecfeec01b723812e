"""Keep standard output for what was asked for."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def clean_stdout() -> Iterator[None]:
    """Send what native libraries print to standard error; the solver writes stray lines at times.

    Python's own output is not touched: it is flushed before and nothing prints inside.
    """
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # no standard output at all
        yield
        return
    try:
        os.dup2(2, 1)
        yield
    finally:
        sys.stdout.flush()
        os.dup2(kept, 1)
        os.close(kept)
