"""Where a JSON, TOML or CSV file breaks off, and how to mend it, in plain words."""

from __future__ import annotations

import csv
import json
import re
from tomllib import TOMLDecodeError

from scorer.listing.values import one_line

_MOST_SHOWN = 40

_JSON = (
    ("trailing comma", "take out the comma before it"),
    (
        "property name",
        "a field's name in double quotes belongs here; take out a comma too many, and write "
        "numbers without commas, like 84500",
    ),
    ("':' delimiter", "a colon is missing between the field's name and its value"),
    ("',' delimiter", "a comma is missing here, or the closing bracket at the end"),
    ("control character", "close the text's double quote on the line on which it begins"),
    ("escape", "write each backslash twice"),
    ("Unterminated", "the closing double quote of this text is missing"),
    ("Extra data", "the file should end before it; put several homes into [ ] with commas between"),
    ("Expecting value", "a value belongs here: a number like 84500, or text in double quotes"),
)
_TOML = (
    ("'=' after a key", "write each line like ListPrice = 84500, a name of two words in quotes"),
    ("overwrite", "a field is given twice; take one of them out"),
    ("Unterminated", "the closing double quote of a text is missing"),
    ("Illegal character", "close the text's double quote on the line on which it begins"),
    ("Unescaped", "write each backslash twice"),
    ("escape", "write each backslash twice"),
    ("", "write numbers like 84500 and text in double quotes"),
)


def json_mistake(error: json.JSONDecodeError, text: str) -> tuple[str, str]:
    """Where a JSON file breaks off (``line 3``), and a half sentence: near what, how to mend it."""
    how = next((words for key, words in _JSON if key in error.msg), "look at this line again")
    near = _near(text, error.lineno, error.colno)
    return f"line {error.lineno}", f"this is not JSON{near}: {how}"


def toml_mistake(error: TOMLDecodeError, text: str) -> tuple[str, str]:
    """As :func:`json_mistake`, of a TOML file."""
    how = next(words for key, words in _TOML if key in str(error))
    place = re.search(r"at line (\d+), column (\d+)", str(error))
    line, column = (int(place[1]), int(place[2])) if place else (text.count("\n") + 1, 1)
    near = _near(text, line, column)
    return f"line {line}", f"this is not TOML{near}: {how}"


def csv_mistake(error: csv.Error) -> str:
    """Why a row of a CSV file cannot be read, as a half sentence."""
    if "limit" in str(error):
        return "a cell holds more than a million characters; is a closing double quote missing?"
    return "save the table as CSV again from the program that it comes from"


def _near(text: str, line: int, column: int) -> str:
    lines = text.split("\n")
    written = lines[line - 1] if line <= len(lines) else ""
    start = max(0, min(column - 1, len(written)) - _MOST_SHOWN // 2)
    shown = one_line(written[start : start + _MOST_SHOWN])
    return f" at “{shown}”" if shown else ""
