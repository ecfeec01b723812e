"""Rows out of CSV, JSON and TOML files that people and listing services write."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from scorer.errors import InputError
from scorer.listing.mending import csv_mistake, json_mistake, toml_mistake

MOST_BYTES = 200_000_000
MOST_ROWS = 100_000
MOST_CHARACTERS_IN_A_CELL = 1_000_000
DELIMITERS = (",", ";", "\t", "|")


@dataclass(frozen=True)
class Row:
    """One record of a file: field names as written, and where it stands."""

    place: str
    values: Mapping[str, Any]


def read_rows(path: Path, shown: str) -> tuple[list[Row], list[str]]:
    """Read every record of a listing file.

    Parameters
    ----------
    path
        A ``.csv``, ``.json`` or ``.toml`` file.
    shown
        The name used in sentences, relative to the folder that the user gave.

    Returns
    -------
    rows, problems
        Records in the order of the file, and sentences about those that could not be read.

    Raises
    ------
    InputError
        If nothing of the file can be read.
    """
    return _parsed(read_text(path, shown), path.suffix, shown)


def rows_of(raw: bytes, shown: str) -> tuple[list[Row], list[str]]:
    """As :func:`read_rows`, of a file's content; ``shown`` ends as the file's name does."""
    return _parsed(_decoded(raw), PurePosixPath(shown).suffix, shown)


def _parsed(text: str, ending: str, shown: str) -> tuple[list[Row], list[str]]:
    if ending.lower() == ".csv":
        return _csv_rows(text, shown)
    if ending.lower() == ".json":
        return _tree_rows(_parse_json(text, shown), shown)
    if ending.lower() == ".toml":
        return _tree_rows(_parse_toml(text, shown), shown)
    raise InputError(f"{shown}: listing files end in .csv, .json or .toml.")


def read_text(path: Path, shown: str) -> str:
    """A text file's content, whichever of the usual encodings it was saved in."""
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise InputError(
                f"{shown}: {size / 1e6:,.0f} MB is more than the {MOST_BYTES / 1e6:,.0f} MB that "
                "a listing file may have; split it."
            )
        raw = path.read_bytes()
    except OSError as error:
        raise InputError(f"{shown}: cannot be opened ({error.strerror or error}).") from None
    return _decoded(raw)


def _decoded(raw: bytes) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw.decode("utf-16", errors="replace")
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    return raw.decode("latin-1")


def _delimiter(header: str) -> str:
    outside = "".join(header.split('"')[::2])
    return max(DELIMITERS, key=outside.count)


def _csv_rows(text: str, shown: str) -> tuple[list[Row], list[str]]:
    csv.field_size_limit(MOST_CHARACTERS_IN_A_CELL)
    first_line = next((line for line in text.splitlines() if line.strip()), "")
    if not first_line:
        raise InputError(f"{shown}: the file is empty; the first row must name the fields.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(first_line))
    rows: list[Row] = []
    problems: list[str] = []
    header: list[str] | None = None
    number = 0
    try:
        for cells in reader:
            number += 1
            if not any(cell.strip() for cell in cells):
                continue
            if header is None:
                header = [cell.strip() for cell in cells]
                continue
            if len(rows) >= MOST_ROWS:
                problems.append(_too_many(f"{shown}, row {number}", "row"))
                break
            if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
                problems.append(
                    f"{shown}, row {number}: {len(cells)} cells under {len(header)} field names; "
                    "the cells at the end were left out (put text with commas in double quotes)."
                )
            values: dict[str, Any] = {}
            for name, cell in zip(header, cells, strict=False):
                if name and not (name in values and values[name].strip()):
                    values[name] = cell
            rows.append(Row(f"{shown}, row {number}", values))
    except csv.Error as error:
        problems.append(
            f"{shown}, row {number + 1}: this row and those after it cannot be read; "
            f"{csv_mistake(error)}."
        )
    if header is not None and [name.lower() for name in header] == ["field", "value"]:
        return [_turned(rows, shown)], problems
    return rows, problems


def _too_many(place: str, what: str) -> str:
    return (
        f"{place}: a table may have {MOST_ROWS:,} {what}s; this {what} and those after it were "
        "left out, split the file."
    )


def _turned(rows: list[Row], shown: str) -> Row:
    """A file that lists one home's fields downwards, as ``Field,Value``."""
    values = {}
    for row in rows:
        name, value = (str(v) for v in [*row.values.values(), "", ""][:2])
        if name.strip():
            values[name.strip()] = value
    return Row(shown, values)


def _parse_json(text: str, shown: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        place, why = json_mistake(error, text)
        raise InputError(f"{shown}, {place}: {why}; nothing of the file was used.") from None
    except (RecursionError, ValueError):
        raise InputError(
            f"{shown}: this JSON is nested too deeply or holds a number that is too long; "
            "nothing of the file was used."
        ) from None


def _parse_toml(text: str, shown: str) -> Any:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        place, why = toml_mistake(error, text)
        raise InputError(f"{shown}, {place}: {why}; nothing of the file was used.") from None
    except (RecursionError, ValueError):
        raise InputError(f"{shown}: this TOML cannot be read; nothing of it was used.") from None


def _tree_rows(tree: Any, shown: str) -> tuple[list[Row], list[str]]:
    """Records of a parsed file: one object, a list of them, or a service's ``value`` list."""
    if isinstance(tree, dict):
        inner = next(
            (tree[k] for k in ("value", "Property", "Listings") if isinstance(tree.get(k), list)),
            None,
        )
        if inner is None:
            return [Row(shown, tree)], []
        tree = inner
    if not isinstance(tree, list):
        raise InputError(
            f'{shown}: this holds no field names with values, like {{"Price": 84500}}; nothing of '
            "it was used."
        )
    rows: list[Row] = []
    problems: list[str] = []
    for number, item in enumerate(tree, 1):
        if len(rows) + len(problems) >= MOST_ROWS:
            problems.append(_too_many(f"{shown}, record {number}", "record"))
            break
        if isinstance(item, dict):
            rows.append(Row(f"{shown}, record {number}", item))
        else:
            problems.append(
                f"{shown}, record {number}: this is no home with field names and values, like "
                '{"Price": 84500}; it was left out.'
            )
    return rows, problems
