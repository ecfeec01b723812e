"""Read data files so that every error names file, row and field."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import Field, ValidationError

from scorer.errors import InputError, wrong_field
from scorer.records import Record

Identifier = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(_[a-z0-9]+)*$", max_length=60)]
"""Lower case words joined by underscores; every row of a data file has one as its name."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")

AnyRecord = TypeVar("AnyRecord", bound=Record)


def read_text(path: Path) -> str:
    """The text of a UTF-8 file.

    Raises
    ------
    InputError
        If the file is missing or is not UTF-8 text.
    """
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(f"{path}: the file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: the file is not UTF-8 text; save it as UTF-8.") from error


def csv_rows(path: Path, fields: tuple[str, ...]) -> list[dict[str, str]]:
    """The rows of a CSV file whose header holds exactly ``fields``, blanks trimmed.

    Raises
    ------
    InputError
        If a field is missing or unknown, or a row has too many or too few cells.
    """
    lines = csv.reader(io.StringIO(read_text(path).removeprefix("\ufeff"), newline=""))
    header = [name.strip() for name in next(lines, [])]
    for name in fields:
        if name not in header:
            raise InputError(f"{path.name}, row 1, field {name}: the column is missing; add it.")
    for name in header:
        if name not in fields:
            raise InputError(f"{path.name}, row 1, field {name}: unknown column; take it out.")
    rows = []
    for cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            raise InputError(
                f"{path.name}, row {cells[0]}, field {header[min(len(cells), len(header)) - 1]}: "
                f"{len(cells)} cells where {len(header)} are needed; "
                "put text that holds a comma in double quotes."
            )
        rows.append(dict(zip(header, (cell.strip() for cell in cells), strict=True)))
    return rows


def checked(model: type[AnyRecord], values: Mapping[str, Any], where: str) -> AnyRecord:
    """``values`` as a record.

    Parameters
    ----------
    where
        File and row, as the error should name them: ``"conditions.csv, row dark_walls"``.

    Raises
    ------
    InputError
        Naming the first field that does not hold.
    """
    try:
        return model.model_validate(values)
    except ValidationError as error:
        raise InputError(f"{where}, {wrong_field(error, model.model_fields)}.") from error


def split(cell: str) -> tuple[str, ...]:
    """The words of a cell that holds a list, ``"a|b"``."""
    return tuple(part.strip() for part in cell.split("|") if part.strip())


def guarded_text(text: str) -> str:
    """Text of a CSV cell; an apostrophe in front keeps a spreadsheet from running it [1]_.

    References
    ----------
    .. [1] OWASP, "CSV Injection".
    """
    return f"'{text}" if _is_formula(text) else text


def unguarded_text(text: str) -> str:
    """The text that :func:`guarded_text` was given."""
    return text[1:] if text.startswith("'") and _is_formula(text) else text


def _is_formula(text: str) -> bool:
    """Whether blanks, invisible characters and apostrophes stand before a formula, or none do."""
    at = 0
    while at < len(text) and text[at] not in FORMULA_STARTS:
        if not (text[at] == "'" or text[at].isspace() or not text[at].isprintable()):
            return False
        at += 1
    return at < len(text)
