"""The one table that holds the facts of all homes of a folder, and which home each row is of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from scorer.errors import InputError
from scorer.listing.fields import IDENTIFIERS, Cells, identifier
from scorer.listing.headings import heading_problems
from scorer.listing.layout import FACTS, TABLES
from scorer.listing.listing import Problem
from scorer.listing.tables import Row, read_rows
from scorer.listing.values import one_line, plain

RESULT_OF_SCREENING = {"rank", "score"}


def table_of_homes(
    entries: Iterable[Path], has_homes: bool, problems: list[Problem]
) -> list[Row] | None:
    """Rows of the one file that holds all homes' facts; None if there is no such file."""
    files = {path.name.lower(): path for path in entries if path.is_file()}
    path = next((files[name] for name in TABLES if name in files), None)
    if path is not None:
        return _read_table(path, problems)
    for name, candidate in files.items():
        if candidate.suffix.lower() != ".csv" or (name in FACTS and not has_homes):
            continue
        try:
            rows, _ = read_rows(candidate, candidate.name)
        except InputError:
            continue
        if is_table(name, rows):
            return _read_table(candidate, problems)
        if has_homes and looks_like_table(rows):
            problems.append(Problem(home=None, sentence=misnamed(candidate.name)))
    return None


def is_table(name: str, rows: list[Row]) -> bool:
    """Whether a CSV file of another name than ``listings.csv`` is the table of all homes.

    It is if it has a ``ListingId``, or if it is a ``listing.csv`` of several named rows.
    """
    columns = _columns_of_table(rows)
    if columns & {*IDENTIFIERS}:
        return True
    several = name.lower() in FACTS and len(rows) > 1
    return several and bool(_fields(rows) & {*IDENTIFIERS, "unparsedaddress"})


def looks_like_table(rows: list[Row]) -> bool:
    """Whether a CSV file has addresses and asking prices; comparable rents have none."""
    return bool(_columns_of_table(rows)) and {"listprice", "unparsedaddress"} <= _fields(rows)


def misnamed(shown: str) -> str:
    """The sentence about a file that looks like the table of all homes."""
    return f"{shown}: this looks like the facts of homes but was not used; name it listings.csv."


def beside_homes(shown: str, ending: str) -> str:
    """The sentence about the listing file of one home that lies above several."""
    return (
        f"{shown}: this lies beside the homes' folders, so it was not used; put it into its home's "
        f"folder, or name it listings{ending} if it holds the facts of all."
    )


def _columns_of_table(rows: list[Row]) -> set[str]:
    """Names of columns; none where the file is a result of screening."""
    columns = {plain(column) for column in rows[0].values} if rows else set()
    return set() if columns >= RESULT_OF_SCREENING else columns


def _fields(rows: list[Row]) -> set[str]:
    return set(Cells(rows[0], "home").names) if rows else set()


def _read_table(path: Path, problems: list[Problem]) -> list[Row]:
    try:
        rows, sentences = read_rows(path, path.name)
    except InputError as error:
        problems.append(Problem(home=None, sentence=str(error)))
        return []
    if not rows and not sentences:
        sentences.append(no_row(path.name))
    sentences += heading_problems("home", columns_of(rows), path.name, all_unknown=True)
    problems += [Problem(home=None, sentence=sentence) for sentence in sentences]
    return rows


def no_row(shown: str) -> str:
    """The sentence about a listing file that holds nothing."""
    what = "row under its headings" if shown.lower().endswith(".csv") else "home in it"
    return f"{shown}: there is no {what}, so nothing of it was used."


def columns_of(rows: Iterable[Row]) -> Iterator[str]:
    """Every field name that the rows use, once."""
    for names in dict.fromkeys(tuple(row.values) for row in rows):
        yield from map(str, names)


def rows_by_home(
    table: Iterable[Row], homes: Iterable[str], problems: list[Problem]
) -> dict[str, Cells]:
    """The row of each home, by its folder's name; of a home without a folder, by its own."""
    folders = _by_spelling(homes)
    found: dict[str, Cells] = {}
    for row in table:
        cells = Cells(row, "home")
        names = [identifier(cells), one_line(cells.text("unparsedaddress"))]
        name = next(filter(None, names), "")
        if not name:
            sentence = (
                f"{cells.place}: ListingId is missing, so the row belongs to no home; write the "
                "name of the home's folder there."
            )
            problems.append(Problem(home=None, sentence=sentence))
            continue
        places = (folders.get(n.casefold()) or folders.get(plain(n) or n) for n in names)
        home = next(filter(None, places), name[:200])
        if home in found:
            sentence = (
                f"{cells.place}: ListingId “{name}” was given before; the first row holds and this "
                "one was left out."
            )
            problems.append(Problem(home=home, sentence=sentence))
            continue
        found[home] = cells
    return found


def _by_spelling(homes: Iterable[str]) -> dict[str, str]:
    names = list(homes)
    return {plain(name): name for name in names} | {name.casefold(): name for name in names}
