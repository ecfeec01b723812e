"""A broken file is told in the words of its writer, not of the program that checks it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.listing import read_homes
from scorer.listing.tables import rows_of

CHECKERS_WORDS = re.compile(
    r"(?i)expecting|delimiter|decode|pars(e|ing)|token|document|statement|property name|"
    r"unterminated|illegal|invalid|field limit|\bcolumn \d|float|integer"
)


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("l.json", '{"Price": 85,000}', "line 1: this is not JSON at “{\"Price\": 85,000}”: a "
         "field's name in double quotes belongs here; take out a comma too many"),
        ("l.json", '{"Price": 84500,\n}', "double quotes belongs here|take out the comma"),
        ("l.json", '{"Price": 84500\n"Beds": 2}', "line 2: this is not JSON at “\"Beds\": 2}”: a "
         "comma is missing here"),
        ("l.json", '{"Price" 84500}', "a colon is missing"),
        ("l.json", '{"Price": $84500}', "a value belongs here: a number like 84500"),
        ("l.json", '{"Address": "12 Oak\nStreet"}', "close the text's double quote on the line"),
        ("l.json", '{"Photo": "C:\\homes"}', "write each backslash twice"),
        ("l.json", '{"Price": 1} {"Price": 2}', r"put several homes into \[ \] with commas"),
        ("l.json", '{"Price": "84500}', "the closing double quote of this text is missing"),
        ("l.toml", "Beds = 2\nListPrice = $85,000", "line 2: this is not TOML at “ListPrice = "
         "\\$85,000”: write numbers like 84500 and text in double quotes"),
        ("l.toml", "List Price = 5", "a name of two words in quotes"),
        ("l.toml", "Price = 1\nPrice = 2\n", "a field is given twice"),
        ("l.toml", 'Address = "12 Oak', "the closing double quote of a text is missing"),
        ("l.toml", 'Photo = "C:\\homes"', "write each backslash twice"),
    ],
)  # fmt: skip
def test_a_broken_file(name: str, text: str, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence) as caught:
        rows_of(text.encode(), name)
    assert str(caught.value).endswith("; nothing of the file was used.")
    assert not CHECKERS_WORDS.search(str(caught.value).replace(text, ""))


def test_a_table_with_an_open_quote(tmp_path: Path) -> None:
    text = 'ListingId,ListPrice\noak,"84500\n' + "x" * 1_100_000
    (tmp_path / "listings.csv").write_text(text)
    with pytest.raises(InputError) as caught:
        read_homes(tmp_path)
    assert "is a closing double quote missing?" in str(caught.value)
    assert not CHECKERS_WORDS.search(str(caught.value))


@given(st.text(max_size=60), st.sampled_from(["l.json", "l.toml"]))
def test_any_text_gives_rows_or_one_sentence(text: str, name: str) -> None:
    try:
        rows_of(text.encode("utf-8", "replace"), name)
    except InputError as error:
        sentence = str(error)
    else:
        return
    assert "\n" not in sentence
    assert len(sentence) < 400
