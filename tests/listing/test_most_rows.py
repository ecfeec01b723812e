"""JSON and TOML tables, and lists inside a home's file, end at the limit as CSV tables do."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scorer.listing import fields, read_homes, tables
from scorer.listing.tables import rows_of
from tests.homes import save_photo

MOST = 100


@pytest.fixture(autouse=True)
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "MOST_ROWS", MOST)
    monkeypatch.setattr(fields, "MOST_ROWS", MOST)


def as_json(count: int) -> tuple[bytes, str]:
    return json.dumps([{"ListingId": str(n)} for n in range(count)]).encode(), "t.json"


def as_service(count: int) -> tuple[bytes, str]:
    rows = [{"ListingId": str(n)} for n in range(count)]
    return json.dumps({"value": rows}).encode(), "t.json"


def as_toml(count: int) -> tuple[bytes, str]:
    rows = "\n".join(f'[[Listings]]\nListingId = "{n}"' for n in range(count))
    return rows.encode(), "t.toml"


def as_csv(count: int) -> tuple[bytes, str]:
    return "\n".join(["ListingId,ListPrice", *(f"{n},1" for n in range(count))]).encode(), "t.csv"


@pytest.mark.parametrize("table", [as_json, as_service, as_toml, as_csv])
def test_a_table_ends_at_the_limit(table) -> None:  # type: ignore[no-untyped-def]
    rows, problems = rows_of(*table(MOST))
    assert len(rows) == MOST
    assert problems == []
    rows, problems = rows_of(*table(MOST + 50))
    assert [row.values["ListingId"] for row in rows] == [str(n) for n in range(MOST)]
    assert len(problems) == 1
    assert "those after it were left out, split the file" in problems[0]


def test_records_of_no_use_count_too() -> None:
    rows, problems = rows_of(json.dumps([3] * 10 * MOST).encode(), "t.json")
    assert rows == []
    assert len(problems) == MOST + 1


@pytest.mark.parametrize("inside", ["Media", "PropertyRooms"])
def test_a_list_inside_a_record_ends_at_the_limit(tmp_path: Path, inside: str) -> None:
    save_photo(tmp_path / "oak" / "kitchen.jpg")
    row = {"Media": {"MediaURL": "kitchen.jpg"}, "PropertyRooms": {"RoomType": "Bedroom"}}[inside]
    (tmp_path / "oak" / "listing.json").write_text(json.dumps({inside: [row] * (MOST + 7)}))
    (listing,), problems = read_homes(tmp_path)
    assert len(listing.rooms) == (MOST if inside == "PropertyRooms" else 0)
    told = [problem.sentence for problem in problems if "left out" in problem.sentence]
    assert f"oak/listing.json: {inside} has 107 rows, more than 100" in " ".join(told)
