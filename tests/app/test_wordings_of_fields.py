"""Fields that a landlord reads: nothing of the program's making, nothing that breaks apart."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.app.test_pages import PAGES, opened, words
from tests.app.test_pages_after import page_of


@pytest.mark.parametrize("page", PAGES)
def test_no_page_calls_the_program_a_package(data: Path, page: str):
    at = opened(page)
    labels = [b.label for b in at.button]
    assert not re.search(r"\bpackage", "\n".join([words(at), *labels]))


def test_the_walls_of_the_fit_check_are_said_to_be_the_users_to_set(data: Path):
    assert "set the walls as they are in this room" in words(page_of("fit"))
