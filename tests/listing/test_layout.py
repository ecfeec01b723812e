"""Folders of homes where one home was meant, and files that lie where nothing reads them."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from scorer.commands import main
from scorer.errors import InputError
from scorer.listing import demo_folder, read_home, read_homes
from scorer.listing.layout import look_alike
from scorer.listing.uploads import Unpacked, unpack_homes


def _put(folder: Path, *names: str) -> Path:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"{}" if name.endswith(".json") else b"not opened by the listing stage")
    return folder


def _sentences(folder: Path) -> list[str]:
    return [problem.sentence for problem in read_homes(folder)[1]]


@pytest.fixture
def parent(tmp_path: Path) -> Path:
    for home in ("12 oak", "7 elm", "9 ash"):
        _put(tmp_path / "all" / "homes" / home, "front.jpg", "listing.json")
    return tmp_path / "all"


def test_a_folder_of_homes_is_not_taken_for_one_home(parent: Path) -> None:
    command = f"value-add screen '{parent}/homes'" if " " in str(parent) else (
        f"value-add screen {parent}/homes"
    )  # fmt: skip
    with pytest.raises(InputError, match=f"holds 3 homes .7 elm, 9 ash ….*{command}"):
        read_homes(parent)
    for folder in (parent, parent / "homes"):
        with pytest.raises(InputError, match=r"it is not one home; rank them with value-add"):
            read_home(folder)
    assert len(read_homes(parent / "homes")[0]) == 3
    assert read_home(parent / "homes" / "12 oak")[0].home == "12 oak"


def test_the_rest_of_the_folder_is_read_beside_one_that_holds_homes(parent: Path) -> None:
    _put(parent / "3 fir", "front.jpg")
    homes, problems = read_homes(parent)
    assert [home.home for home in homes] == ["3 fir"]
    assert "holds 3 homes" in problems[0].sentence


@pytest.mark.parametrize("command", ["screen", "compare"])
def test_the_commands_say_so(command: str) -> None:
    result = CliRunner().invoke(main, [command, str(demo_folder().parent)])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert f"{demo_folder()}: this folder holds 8 homes" in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_rooms_and_dwellings_in_sub_folders_stay_one_home(tmp_path: Path) -> None:
    _put(tmp_path / "duplex", "unit 1/listing.json", "unit 2/listing.json", "unit 1/kitchen.jpg")
    _put(tmp_path / "elm", "listing.json", "kitchen/1.jpg", "bath/2.jpg")
    homes, problems = read_homes(tmp_path)
    assert [len(home.photos) for home in homes] == [1, 2]
    assert not any("holds" in problem.sentence for problem in problems)


def test_a_table_named_as_one_homes_file_is_used_for_all(tmp_path: Path) -> None:
    for home in ("12 oak street", "7 elm road"):
        _put(tmp_path / home, "front.jpg")
    (tmp_path / "listing.csv").write_text(
        "Address,Price\n12 Oak Street,84500\n7 Elm Road,90000\n", encoding="utf-8"
    )
    homes, problems = read_homes(tmp_path)
    assert {home.home: home.list_price_usd for home in homes} == {
        "12 oak street": 84_500,
        "7 elm road": 90_000,
    }
    assert problems == ()


def test_a_table_of_another_name_is_told(tmp_path: Path) -> None:
    _put(tmp_path / "12 oak street", "front.jpg")
    (tmp_path / "my list.csv").write_text("Address,Price\n12 Oak Street,84500\n", encoding="utf-8")
    assert _sentences(tmp_path) == [
        "my list.csv: this looks like the facts of homes but was not used; name it listings.csv."
    ]
    (tmp_path / "my list.csv").rename(tmp_path / "listings.csv")
    assert _sentences(tmp_path) == []


def test_collected_rents_are_no_table_of_homes(tmp_path: Path) -> None:
    _put(tmp_path / "12 oak street", "front.jpg")
    (tmp_path / "comps.csv").write_text("address,rent_usd_month,beds\n1 Elm,800,2\n")
    (homes, problems) = read_homes(tmp_path)
    assert (len(homes), problems) == (1, ())


def test_packed_files_and_workbooks_are_told(tmp_path: Path) -> None:
    _put(tmp_path, "homes.xlsx", "more.zip")
    _put(tmp_path / "h", "1.jpg", "photos.zip", "listings.xlsx", "rooms.xlsx", "my costs.xlsx")
    told = _sentences(tmp_path)
    assert told == [
        "homes.xlsx: a workbook is not read; open it and save its sheet as CSV, as listings.csv.",
        "more.zip: a packed file is not opened here; unpack it into a sub-folder for each home.",
        "h/listings.xlsx: a workbook is not read; open it and save its sheet as CSV, as "
        "listing.csv.",
        "h/photos.zip: a packed file is not opened here; unpack it into this home's folder.",
        "h/rooms.xlsx: a workbook is not read; open it and save its sheet as CSV, as rooms.csv.",
    ]
    (tmp_path / "h" / "listing.csv").write_text("Price\n84500\n")
    assert not any("listings.xlsx" in sentence for sentence in _sentences(tmp_path))


def test_a_table_of_all_homes_inside_one_home_is_told(tmp_path: Path) -> None:
    _put(tmp_path / "h", "1.jpg")
    (tmp_path / "h" / "listings.csv").write_text("ListPrice\n84500\n")
    assert "if it holds this home only, name it listing.csv" in _sentences(tmp_path)[0]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("maple rd 14", "maple road 14"),
        ("14 Maple Rd.", "maple road 14"),
        ("7 N Elm St", "7 north elm street"),
        ("5_ferry-street", "5 Ferry Street"),
    ],
)
def test_two_spellings_of_one_address_are_told_once(tmp_path: Path, one: str, other: str) -> None:
    for name in (one, other, "8 oak lane", "80 oak lane"):
        _put(tmp_path / name, "1.jpg")
    homes, problems = read_homes(tmp_path)
    assert len(homes) == 4
    (sentence,) = [problem.sentence for problem in problems]
    assert f"“{one}”" in sentence
    assert f"“{other}”" in sentence
    assert "look like the same home" in sentence


def test_a_row_that_nearly_names_a_folder_is_told(tmp_path: Path) -> None:
    _put(tmp_path / "14 maple road", "1.jpg")
    (tmp_path / "listings.csv").write_text("Address,Price\n14 Maple Rd,84500\n")
    told = " ".join(_sentences(tmp_path))
    assert "“14 maple road” and “14 Maple Rd” look like the same home" in told


def test_homes_of_other_numbers_or_streets_are_not_alike() -> None:
    names = ["14 maple road", "41 maple road", "14 maple lane", "14 north maple road", "h1", "h2"]
    assert look_alike(names) == []
    assert look_alike(["-", "_", ""]) == []


def _packed(*names: str) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name in names:
            archive.writestr(name, json.dumps({}) if name.endswith(".json") else name)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (("a/1.jpg", "a/listings.xlsx"), "a/listings.xlsx is a workbook, which is not read"),
        (("a/1.jpg", "a/rest.zip"), "a/rest.zip is a packed file inside it"),
        (
            ("x/h/a/1.jpg", "x/h/a/listing.json", "x/h/b/listing.json", "x/z/1.jpg"),
            "its folder h holds 2 homes, not one; pack that folder alone",
        ),
    ],
)
def test_what_a_dropped_zip_would_lose_is_told(
    tmp_path: Path, names: tuple[str, ...], words: str
) -> None:
    (tmp_path / "scratch").mkdir()
    target = tmp_path / "kept"
    with pytest.raises(InputError, match=words):
        unpack_homes([("h.zip", _packed(*names))], "my home", target, tmp_path / "scratch")
    assert not target.exists()


def _kept(tmp_path: Path, *entries: tuple[str, bytes]) -> Unpacked:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, content in entries:
            archive.writestr(name, content)
    (tmp_path / "scratch").mkdir()
    files = [("h.zip", buffer.getvalue())]
    return unpack_homes(files, "my home", tmp_path / "kept", tmp_path / "scratch")


@pytest.mark.parametrize("table", ["listings.csv", "listing.csv"])
def test_the_table_of_a_dropped_zip_may_name_homes_by_address(tmp_path: Path, table: str) -> None:
    kept, _ = _kept(
        tmp_path,
        (
            f"z/{table}",
            b"Address,Price,Annual rent,Area m2\n"
            b"12 Oak Street,84500,10200,98\n7 Elm Road,90k,vacant,\n",
        ),
        ("z/comps.csv", b"rent_usd_month,beds\n900,2\n"),
        ("z/12 oak street/1.jpg", b"1"),
        ("z/7 elm road/1.jpg", b"2"),
    )
    homes, problems = read_homes(kept)
    assert problems == ()
    assert [(h.home, h.list_price_usd, h.monthly_rent_usd, h.living_area_sqft) for h in homes] == [
        ("7 elm road", 90_000, None, None),
        ("12 oak street", 84_500, 850, 1_054.9),  # 98 m² at 1 ft = 0.3048 m exactly
    ]


def test_rows_of_a_dropped_table_that_can_not_be_used_are_told(tmp_path: Path) -> None:
    table = b"ListingId,Price\na,84500\n,90000\na,85000\nb,70000\n"
    kept, told = _kept(
        tmp_path, ("a/1.jpg", b"1"), ("b/2.jpg", b"2"), ("listings.csv", table), ("rents.csv", b"x")
    )
    assert [sentence.partition(": ")[2].partition(";")[0] for sentence in told] == [
        "rents.csv lies beside the homes' folders and was not used",
        "ListingId is missing, so the row belongs to no home",
        "ListingId “a” was given before",
    ]
    assert all("listings.csv, row" in sentence for sentence in told[1:])
    homes, problems = read_homes(kept)
    assert ([(h.home, h.list_price_usd) for h in homes], problems) == (
        [("a", 84_500), ("b", 70_000)],
        (),
    )


def test_a_misnamed_table_of_a_dropped_zip_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"h\.zip: mine\.csv: this looks like the facts of homes"):
        _kept(tmp_path, ("a/1.jpg", b"1"), ("b/1.jpg", b"2"), ("mine.csv", b"Address,Price\na,1\n"))


def test_one_homes_facts_above_several_are_told(tmp_path: Path) -> None:
    words = r"listing\.toml: this lies beside the homes' folders.*or name it listings\.toml"
    with pytest.raises(InputError, match=words):
        _kept(tmp_path, ("a/1.jpg", b"1"), ("b/1.jpg", b"2"), ("listing.toml", b"Price = 84500"))
    _put(tmp_path / "homes", "a/listing.json", "b/listing.json", "listing.toml")
    assert any("listing.toml: this lies beside" in told for told in _sentences(tmp_path / "homes"))


def test_rents_beside_the_homes_of_a_dropped_zip_make_no_home(tmp_path: Path) -> None:
    rents = ("comps.csv", b"rent_usd_month,beds\n900,2\n")
    kept, told = _kept(tmp_path, ("a/1.jpg", b"1"), ("b/1.jpg", b"2"), rents)
    assert told == (
        "h.zip: comps.csv lies beside the homes' folders and was not used; if it holds comparable "
        "rents, bring it in on the page Shortlist.",
    )
    assert [home.home for home in read_homes(kept)[0]] == ["a", "b"]


def test_facts_beside_the_rooms_of_one_dropped_home_stay_its_own(tmp_path: Path) -> None:
    facts = ("listing.csv", b"Price\n84500\n")
    kept, _ = _kept(tmp_path, ("kitchen/1.jpg", b"1"), ("photos/2.jpg", b"2"), facts)
    (home,), problems = read_homes(kept)
    assert (home.home, home.list_price_usd, len(home.photos), problems) == ("h", 84_500, 2, ())


def test_a_workbook_beside_its_csv_keeps_no_zip_out(tmp_path: Path) -> None:
    (tmp_path / "scratch").mkdir()
    pack = _packed("a/1.jpg", "a/listing.xlsx", "a/listing.csv")
    kept, _ = unpack_homes([("h.zip", pack)], "h", tmp_path / "kept", tmp_path / "scratch")
    assert sorted(path.name for path in (kept / "a").iterdir()) == ["1.jpg", "listing.csv"]


def test_a_folder_given_to_read_is_called_a_folder(tmp_path: Path) -> None:
    _put(tmp_path / "h", "1.jpg")
    result = CliRunner().invoke(main, ["read", str(tmp_path / "h")])
    assert result.exit_code == 2
    assert f"this is a folder, not a photo; give the photos in it, like {tmp_path}/h/*.jpg" in (
        result.output
    )
