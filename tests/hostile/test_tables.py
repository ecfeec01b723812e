"""Tables, answers and price books as they come from anywhere: one sentence, the rest stays."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.listing import read_homes
from scorer.listing.tables import read_rows
from scorer.report import home_workbook, to_csv
from scorer.report.spreadsheet import safe_cell
from scorer.screening.tags import read_tags
from scorer.sheet import merge_answers, read_answers, viewing_sheet_html
from scorer.sheet.answers import FORMAT, VERSION
from scorer.upgrades.catalogue import CATALOGUE_FOLDER, load_catalogue
from scorer.upgrades.price_rows import price_rows_csv, read_price_rows
from scorer.upgrades.pricebook import PRICE_FILE, WAGE_FILE, load_price_book
from tests.fuzz.targets import one_sentence
from tests.homes import make_home

HEADER = "ListingId,ListPrice,BedroomsTotal,LivingArea\n"
PROGRAM = [sys.executable, "-c", "from scorer.commands import main; main()"]


def run(*arguments: object, timeout: float = 300) -> subprocess.CompletedProcess[str]:
    got = subprocess.run(
        [*PROGRAM, *map(str, arguments)],
        capture_output=True,
        text=True,
        timeout=timeout,
        check=False,
        env={**os.environ, "OMP_NUM_THREADS": "1", "PYTHONIOENCODING": "utf-8"},
    )
    assert "Traceback" not in got.stdout + got.stderr
    return got


def homes_with(folder: Path, table: bytes) -> tuple[dict[str, float | None], list[str]]:
    (folder / "oak").mkdir(exist_ok=True)
    (folder / "oak" / "kitchen.jpg").write_bytes(b"")
    (folder / "listings.csv").write_bytes(table)
    homes, problems = read_homes(folder)
    assert "oak" in {home.home for home in homes}  # the photos stay usable whatever the table says
    sentences = [problem.sentence for problem in problems]
    for sentence in sentences:
        one_sentence(sentence)
    return {home.home: home.list_price_usd for home in homes}, sentences


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiter_encoding_and_line_ends(
    tmp_path: Path, delimiter: str, encoding: str, end: str
) -> None:
    rows = [["ListingId", "ListPrice", "UnparsedAddress"], ["oak", "84500", "12 Cañon St"]]
    text = end.join(delimiter.join(row) for row in rows)
    prices, _ = homes_with(tmp_path, text.encode(encoding))
    assert prices == {"oak": 84500}


@pytest.mark.parametrize(
    "table",
    [
        b"",
        b"\0" * 1000,
        b"\xff\xfe\0\xd8",
        b"\xef\xbb\xbf",
        b"ListingId:ListPrice\noak:84500\n",
        HEADER.encode() + b'"oak,84500,2,900\n' * 50,
        b'{"ListingId": "oak"}',
        b"<table><tr><td>oak</td></tr></table>",
        b"PK\3\4 this is a workbook, not a table",
        b"," * 10_000 + b"\n" + b"," * 10_000,
        b"ListingId," + b"x" * 2_000_000 + b"\noak,1\n",
        HEADER.encode() + b"oak," + b"9" * 5_000 + b",2,900\n",
    ],
)
def test_what_is_no_table_leaves_the_photos_usable(tmp_path: Path, table: bytes) -> None:
    homes_with(tmp_path, table)


@pytest.mark.parametrize(
    "cell", ["NaN", "inf", "-inf", "1e999", "-1", "=1+1", "=cmd|' /C calc'!A0", "@SUM(A1)", "٣٤"]
)
def test_a_figure_that_is_none_is_unknown_not_wrong(tmp_path: Path, cell: str) -> None:
    prices, sentences = homes_with(tmp_path, (HEADER + f'oak,"{cell}",2,900\n').encode())
    assert prices == {"oak": None}
    assert cell == "NaN" or any("ListPrice" in sentence for sentence in sentences)


def test_a_json_number_that_is_none(tmp_path: Path) -> None:
    for number in ("NaN", "Infinity", "-Infinity", "1e999", "9" * 5000):
        (tmp_path / "listings.json").write_text(f'[{{"ListingId": "oak", "ListPrice": {number}}}]')
        (tmp_path / "oak").mkdir(exist_ok=True)
        (tmp_path / "oak" / "kitchen.jpg").write_bytes(b"")
        homes, _ = read_homes(tmp_path)
        prices = [home.list_price_usd for home in homes]
        assert prices == [None], number
        assert math.isfinite(sum(price or 0 for price in prices))


def test_growth_with_rows_is_linear(tmp_path: Path) -> None:
    """A table ten times as long takes about ten times as long, not a hundred times."""
    seconds = []
    for rows in (4_000, 40_000):
        table = HEADER + "".join(f"home {at},84500,2,900\n" for at in range(rows))
        started = time.perf_counter()
        prices, _ = homes_with(tmp_path, table.encode())
        seconds.append(time.perf_counter() - started)
        assert len(prices) == rows + 1
        assert prices["home 17"] == 84500
    assert seconds[1] < 40 * seconds[0]


def test_a_million_rows_end_at_the_limit(tmp_path: Path) -> None:
    started = time.perf_counter()
    rows, problems = read_rows(_table(tmp_path / "few.csv", 100_000), "few.csv")
    seconds = time.perf_counter() - started
    assert len(rows) == 100_000
    assert problems == []
    started = time.perf_counter()
    rows, problems = read_rows(_table(tmp_path / "many.csv", 1_000_000), "many.csv")
    assert len(rows) == 100_000
    assert len(problems) == 1
    assert "those after it were left out" in problems[0]
    assert time.perf_counter() - started < 30 * seconds


def _table(path: Path, rows: int) -> Path:
    path.write_text(HEADER + "oak,84500,2,900\n" * rows, encoding="utf-8")
    return path


def test_a_hundred_thousand_bad_rows_do_not_flood(tmp_path: Path) -> None:
    (tmp_path / "oak").mkdir()
    (tmp_path / "oak" / "tags.csv").write_text(
        "room,condition,severity,note,present\n" + "kitchen,no_such_thing,9,,maybe\n" * 100_000
    )
    tags, sentences = read_tags(tmp_path / "oak", "oak")
    assert tags == ()
    assert len(sentences) <= 5_001
    assert "100,000 rows are more than the 5,000" in sentences[0]
    for sentence in sentences:
        one_sentence(sentence)


def test_the_command_line_stays_calm(tmp_path: Path) -> None:
    make_home(tmp_path / "homes" / "good")
    bad = make_home(tmp_path / "homes" / "bad")
    (bad / "listing.json").write_text("[" * 200_000)
    (bad / "rooms.csv").write_bytes(b"RoomType,RoomLength\nKitchen,inf\nKitchen,=1+1\n\xff\xff,3\n")
    (bad / "media.csv").write_bytes(b"MediaURL\n../../../etc/passwd\nC:\\x\n\x1b[31m\n")
    (bad / "tags.csv").write_bytes(b"\xff\xfe\0\0")
    (tmp_path / "homes" / "listings.csv").write_bytes(HEADER.encode() + b"good,NaN,-inf,=2\n")
    got = run("screen", tmp_path / "homes", "--json")
    assert got.returncode == 1
    assert {home["home"] for home in json.loads(got.stdout)} == {"good", "bad"}
    assert "\x1b" not in got.stderr


# Answers of a viewing sheet ----------------------------------------------------------------------


def answers(**more: object) -> dict[str, object]:
    base = {"format": FORMAT, "version": VERSION, "home": "oak", "written_at": "2026-05-30T13:00Z"}
    return {**base, **more}


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=10,
)
FIELDS = st.sampled_from(
    ["format", "version", "home", "written_at", "answers", "rooms", "note", "other"]
)


@settings(max_examples=300, deadline=None)
@given(FIELDS, JSON)
def test_a_field_of_any_type_gives_one_sentence(field: str, value: object) -> None:
    content = json.dumps(answers(**{field: value})).encode("utf-8", "replace")
    sentence = ""
    try:
        got = read_answers(content, "answers.json")
    except InputError as error:
        sentence = str(error)
    assert sentence.startswith("answers.json") or got.home
    if sentence:
        one_sentence(sentence)


@pytest.mark.parametrize("deep", ['{"a":', "[", '{"answers":[{"room":'])
def test_deep_nesting_gives_one_sentence(deep: str) -> None:
    for content in (deep * 50_000, json.dumps(answers())[:-1] + ',"answers":' + deep * 20_000):
        with pytest.raises(InputError, match="answers file"):
            read_answers(content.encode())


def test_many_answers_and_long_texts_are_refused() -> None:
    one = {
        "room": "kitchen", "condition": "dirty_trim", "present": True,
        "answered_at": "2026-05-30T12:10:00Z",
    }  # fmt: skip
    for more in (
        {"answers": [one] * 5_001},
        {"answers": [{**one, "note": "x" * 2_001}]},
        {"answers": [{**one, "room": "x" * 81}]},
        {"rooms": [{"name": "kitchen", "length_ft": float("nan")}]},
        {"rooms": [{"name": "kitchen", "length_ft": float("inf")}]},
        {"home": ""},
        {"home": ["oak"]},
        {"answers": [{**one, "answered_at": 1e300}]},
        {"answers": [{**one, "answered_at": "9999-12-31T23:59:59-23:59"}]},
    ):
        sentence = ""
        try:
            got = merge_answers((), read_answers(json.dumps(answers(**more)).encode()))
        except InputError as error:
            sentence = str(error)
            one_sentence(sentence)
        assert sentence or len(got.tags) == 1


def test_a_script_in_a_note_stays_text() -> None:
    nasty = "</script><img src=x onerror=alert(1)>=HYPERLINK(1)"
    one = {
        "room": nasty[:80], "condition": "dirty_trim", "present": True, "note": nasty,
        "answered_at": "2026-05-30T12:10:00Z",
    }  # fmt: skip
    got = read_answers(json.dumps(answers(answers=[one], note=nasty)).encode())
    (tag,) = merge_answers((), got).tags
    assert tag.note == nasty  # kept as it was typed; escaped where it is shown
    html = viewing_sheet_html(nasty, (), (), got.written_at, address=nasty)
    assert "<img" not in html
    assert "onerror" not in html.replace("\\u003cimg src=x onerror", "").replace(
        "&lt;img src=x onerror", ""
    )


# Price book and catalogue ------------------------------------------------------------------------


def test_a_copy_of_the_price_book_with_any_one_cell_broken_names_the_row(tmp_path: Path) -> None:
    book = load_price_book()
    rows = list(csv.reader(io.StringIO(PRICE_FILE.read_text(encoding="utf-8"))))
    header = rows[0]
    for at, column in enumerate(header):
        for cell in ("\0", "NaN", "-inf", "1e999", "=1+1", "x" * 5_000, "line\nend", "…"):
            copy = [header, [*rows[1][:at], cell, *rows[1][at + 1 :]]]
            out = io.StringIO()
            csv.writer(out).writerows(copy)
            sentence = ""
            try:
                found = read_price_rows(out.getvalue(), book.rows, name="mine.csv")
            except InputError as error:
                sentence = str(error)
                one_sentence(sentence)
                assert "mine.csv, row" in sentence or "NUL" in sentence
            if not sentence:
                for row in found:
                    assert all(
                        math.isfinite(v) for v in row.model_dump().values() if isinstance(v, float)
                    )
                    assert "source" in header and row.source  # noqa: PT018
            assert sentence or column in {
                "label",
                "pack",
                "source",
                "unit",
                "trade",
                "id",
                "covers",
            }
    assert load_price_book() == book


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1"])
def test_a_price_book_in_another_encoding_gets_one_sentence(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "mine.csv"
    path.write_text(PRICE_FILE.read_text(encoding="utf-8") + "é", encoding, errors="replace")
    with pytest.raises(InputError, match=r"save it as UTF-8|the column is missing"):
        read_price_rows(path, load_price_book().rows)


def test_wrong_copies_of_catalogue_and_wages_leave_the_packages_own_alone(tmp_path: Path) -> None:
    before = load_catalogue()
    copy = tmp_path / "catalogue"
    shutil.copytree(CATALOGUE_FOLDER, copy)
    first = sorted(copy.glob("*.toml"))[0]
    text = first.read_text(encoding="utf-8")
    for broken in (
        text[: len(text) // 2],
        "upgrade = 3",
        "[[upgrade]]\nid = 3",
        "[[upgrade]]\n" + "a." * 5_000 + "b = 1",
        "[[upgrade]]\nid = [" + "[" * 5_000,
        "[upgrade]\nid = 1",
        "upgrade = [1, 2]",
        "upgrade = [[], {}]",
        text.replace('id = "', 'id = "\\u0000', 1),
        text.replace("typical = ", "typical = nan # ", 1),
        text.replace("typical = ", "typical = inf # ", 1),
    ):
        first.write_text(broken, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            load_catalogue.__wrapped__(copy)
        one_sentence(str(caught.value))
    for raw in (b"\xff\xfe", b"\0" * 100):
        first.write_bytes(raw)
        with pytest.raises(InputError, match=first.name):
            load_catalogue.__wrapped__(copy)
    with pytest.raises(InputError):
        load_price_book.__wrapped__(PRICE_FILE, first)
    with pytest.raises(InputError):
        load_price_book.__wrapped__(WAGE_FILE, WAGE_FILE)
    assert load_catalogue.__wrapped__() == before


# Exports -----------------------------------------------------------------------------------------

DANGEROUS = [
    "=1+1", "+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "\n=1", "\u00a0=1", "＝1+1",
    "\0=1", "\ufeff=1", "\u200b=1", "'=1",
]  # fmt: skip


@pytest.mark.parametrize("text", DANGEROUS)
def test_no_cell_of_an_export_begins_as_a_formula(text: str) -> None:
    shown = safe_cell(text)
    seen = shown.lstrip(' \t\r\n\u00a0\ufeff\u200b\0"')
    assert not seen.startswith(("=", "+", "-", "@", "＝", "＋", "－", "＠")), repr(shown)
    assert text.replace("\0", "") in shown  # nothing that the user typed is lost
    assert safe_cell(-3.5) == "-3.5"


def test_the_exports_of_a_home_with_dangerous_names(tmp_path: Path) -> None:
    from scorer.screening import screen_home

    make_home(tmp_path / "homes" / "=cmd()")
    (tmp_path / "homes" / "=cmd()" / "listing.json").write_text(
        json.dumps({"UnparsedAddress": '=HYPERLINK("http://evil.example")', "ListPrice": 84500})
    )
    (listing,), _ = read_homes(tmp_path / "homes")
    result = screen_home(listing, (), ())
    for row in csv.reader(io.StringIO(to_csv([result]).removeprefix("\ufeff"))):
        assert not any(cell.startswith(("=", "+", "@", "\t", "\r")) for cell in row)
    book = openpyxl.load_workbook(io.BytesIO(home_workbook(result)))
    texts = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    formulas = [cell.value for cell in texts if cell.data_type == "f"]
    assert all(str(formula).startswith("=SUM(") for formula in formulas)
    assert not any(cell.hyperlink for cell in texts)


def test_the_price_book_survives_as_csv_without_formulas() -> None:
    row = load_price_book().rows["wall_paint"].model_copy(update={"label": "=1+1", "pack": "@x"})
    text = price_rows_csv([row])
    assert not any(cell.startswith(("=", "@")) for cells in csv.reader([*text.splitlines()])
                   for cell in cells)  # fmt: skip
    assert read_price_rows(text, {})[0].label == "=1+1"
