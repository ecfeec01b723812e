"""Folders and listing files in every shape that people hand over."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scorer.errors import InputError
from scorer.listing import missing_facts, read_homes
from scorer.rooms import RoomKind


def _photo(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"not opened by the listing stage")
    return path


def _sentences(problems: object) -> str:
    return "\n".join(p.sentence for p in problems)  # type: ignore[attr-defined]


FACTS = {
    "ListPrice": "$84,500",
    "BedroomsTotal": "3",
    "BathroomsTotalInteger": 1,
    "LivingArea": "1,050",
    "YearBuilt": "1962",
    "NumberOfUnitsTotal": "1",
    "TaxAnnualAmount": "1240.50",
    "UnparsedAddress": "12 Example Street",
    "LeaseAmount": "900",
    "LeaseAmountFrequency": "Monthly",
    "PublicRemarks": "Sound, tired.",
    "Flooring": "Carpet",
}


def _toml(facts: dict[str, object]) -> str:
    return "".join(f"{name} = {json.dumps(value)}\n" for name, value in facts.items())


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("listing.json", json.dumps(FACTS)),
        ("listing.json", json.dumps({"@odata.context": "x", "value": [FACTS]})),
        ("listing.toml", _toml(FACTS)),
        (
            "listing.csv",
            ";".join(FACTS) + "\n" + ";".join(str(v) for v in FACTS.values()) + "\n",
        ),
        ("listing.csv", "\ufeff" + "\t".join(FACTS) + "\n" + "\t".join(map(str, FACTS.values()))),
        ("listing.csv", "Field,Value\n" + "".join(f'{k},"{v}"\n' for k, v in FACTS.items())),
    ],
)
def test_facts_are_the_same_in_every_kind_of_file(tmp_path: Path, name: str, text: str) -> None:
    _photo(tmp_path / "home" / "kitchen.jpg")
    (tmp_path / "home" / name).write_text(text, encoding="utf-8")
    (home,), problems = read_homes(tmp_path)
    assert problems == ()
    assert home.home == "home"
    assert home.list_price_usd == 84_500
    assert (home.bedrooms, home.bathrooms, home.units) == (3, 1, 1)
    assert home.living_area_sqft == 1_050
    assert home.year_built == 1962
    assert home.annual_tax_usd == 1240.50
    assert home.monthly_rent_usd == 900
    assert home.address == "12 Example Street"
    assert home.other == {"Flooring": "Carpet"}
    assert missing_facts(home) == ()


@pytest.mark.parametrize(
    ("encoding", "text"),
    [("utf-16", "Café"), ("cp1252", "Café"), ("utf-8-sig", "Café")],
)
def test_encodings_of_spreadsheet_programs(tmp_path: Path, encoding: str, text: str) -> None:
    (tmp_path / "listings.csv").write_bytes(
        f"ListingId,UnparsedAddress\nh1,{text}\n".encode(encoding)
    )
    (home,), _ = read_homes(tmp_path)
    assert home.address == text


@pytest.mark.parametrize(
    ("frequency", "amount", "monthly"),
    [
        ("Annually", 12_000, 1_000),
        ("Weekly", 300, 1_300),
        ("BiWeekly", 600, 1_300),
        ("SemiMonthly", 500, 1_000),
        ("Quarterly", 3_000, 1_000),
        ("", 1_000, 1_000),
    ],
)
def test_rent_is_brought_to_a_month(
    tmp_path: Path, frequency: str, amount: float, monthly: float
) -> None:
    facts = {"ListingId": "a", "LeaseAmount": amount, "LeaseAmountFrequency": frequency}
    (tmp_path / "listing.json").write_text(json.dumps(facts))
    (home,), problems = read_homes(tmp_path)
    assert home.monthly_rent_usd == pytest.approx(monthly)
    assert [p.sentence for p in problems] == [
        f"{tmp_path.name}: no photo was found; everything in this home is unseen."
    ]


def test_square_meters_become_square_feet(tmp_path: Path) -> None:
    # NIST SP 811 (2008), appendix B.8: 1 ft² = 9.290304E-02 m², 1 ft = 3.048E-01 m.
    facts = {
        "LivingArea": 100,
        "LivingAreaUnits": "Square Meters",
        "PropertyRooms": [
            {
                "RoomType": "Bedroom2",
                "RoomLength": 4,
                "RoomWidth": 3,
                "RoomLengthWidthUnits": "Meters",
            },
            {"RoomType": "Kitchen", "RoomArea": 120},
        ],
    }
    (tmp_path / "listing.json").write_text(json.dumps(facts))
    (home,), _ = read_homes(tmp_path)
    assert home.living_area_sqft == pytest.approx(100 / 9.290304e-02, abs=0.1)
    bedroom, kitchen = home.rooms
    assert (bedroom.name, bedroom.kind) == ("bedroom 2", RoomKind.BEDROOM)
    assert bedroom.length_ft == pytest.approx(4 / 3.048e-01, abs=0.01)
    assert (kitchen.name, kitchen.floor_area_sqft) == ("kitchen", 120)


def test_one_table_for_all_homes(tmp_path: Path) -> None:
    _photo(tmp_path / "A-1" / "kitchen.jpg")
    _photo(tmp_path / "b2" / "bath.jpg")
    (tmp_path / "listings.csv").write_text(
        "ListingId,ListPrice,BedroomsTotal,Agent note\n"
        'a-1,"$90,000",3,"call, then go"\n'
        "b2,-5000,2,\n"
        "c3,70000,2.5,\n"
        ",1,1,\n"
        "b2,1,1,\n"
    )
    homes, problems = read_homes(tmp_path)
    assert [home.home for home in homes] == ["A-1", "b2", "c3"]
    assert homes[0].list_price_usd == 90_000
    assert homes[0].other == {"Agent note": "call, then go"}
    assert homes[1].list_price_usd is None
    assert homes[1].bedrooms == 2
    assert homes[2].photos == ()
    text = _sentences(problems)
    assert "listings.csv, row 3: ListPrice “-5000” cannot be negative" in text
    assert "listings.csv, row 4: BedroomsTotal “2.5” must be a whole number" in text
    assert "listings.csv, row 5: ListingId is missing" in text
    assert "listings.csv, row 6: ListingId “b2” was given before" in text
    assert "c3: no folder of this name holds photos" in text


def test_the_homes_own_file_outranks_the_table(tmp_path: Path) -> None:
    _photo(tmp_path / "h" / "a.jpg")
    (tmp_path / "h" / "listing.toml").write_text("ListPrice = 50_000\n")
    (tmp_path / "listings.csv").write_text("ListingId,ListPrice,YearBuilt\nh,60000,1950\n")
    (home,), problems = read_homes(tmp_path)
    assert (home.list_price_usd, home.year_built, problems) == (50_000, 1950, ())


def test_results_of_an_earlier_run_are_not_taken_for_listings(tmp_path: Path) -> None:
    _photo(tmp_path / "h" / "a.jpg")
    (tmp_path / "ranked.csv").write_text("rank,home,score,ListingId\n1,h,50,h\n")
    homes, problems = read_homes(tmp_path)
    assert ([home.home for home in homes], problems) == (["h"], ())


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("inf", "is not a finite number"),
        ("85 thousand", "is not a number"),
        ("3", "must lie between $1,000 and $100,000,000 (is it another column's figure"),
        ("1_000", "is not a number"),
        ("(500)", "cannot be negative"),
        ("1e12", "must lie between"),
        ("-$5", "cannot be negative"),
        ("=1+1", "is not a number"),
    ],
)
def test_a_wrong_price_names_file_row_and_field(tmp_path: Path, cell: str, reason: str) -> None:
    (tmp_path / "listings.csv").write_text(f"ListingId,ListPrice,YearBuilt\nh,{cell},1960\n")
    (home,), problems = read_homes(tmp_path)
    assert home.list_price_usd is None
    assert home.year_built == 1960
    assert f"listings.csv, row 2: ListPrice “{cell}” {reason}" in problems[0].sentence


@pytest.mark.parametrize("cell", ["", "NaN", "n/a", "null", "-", "unknown"])
def test_not_known_is_not_wrong(tmp_path: Path, cell: str) -> None:
    (tmp_path / "listings.csv").write_text(f"ListingId,ListPrice\nh,{cell}\n")
    (home,), problems = read_homes(tmp_path)
    assert home.list_price_usd is None
    assert "ListPrice" not in _sentences(problems)
    assert missing_facts(home)[0].startswith("The asking price (ListPrice) is missing")


def test_media_rows_name_order_and_describe_photos(tmp_path: Path) -> None:
    home = tmp_path / "h"
    for name in ("1.jpg", "2.jpg", "10.jpg", "plan.png", "new kitchen.jpg", "shed.dng"):
        _photo(home / name)
    media = [
        {"MediaURL": "10.jpg", "ImageOf": "LivingRoom", "Order": 0, "ShortDescription": "Sunny"},
        {"MediaURL": "https://example.org/p/2.jpg?x=1", "ImageOf": "Dining Room", "Order": 1},
        {"MediaURL": "plan.png", "ImageOf": "FloorPlan"},
        {"MediaURL": "new%20kitchen.jpg"},
        {"MediaURL": "new kitchen.jpg", "MediaAlteration": "VirtualRenovation"},
        {"MediaURL": "https://example.org/other.jpg"},
        {"MediaURL": "../../etc/passwd"},
        {"MediaURL": "/etc/passwd"},
        {"MediaURL": "C:\\windows\\x.jpg"},
        {"MediaURL": "a\\..\\..\\x.jpg"},
        {"ImageOf": "Kitchen"},
    ]
    (home / "listing.json").write_text(json.dumps({"Media": media}))
    (listing,), problems = read_homes(tmp_path)
    assert [photo.name for photo in listing.photos] == ["10.jpg", "2.jpg", "1.jpg"]
    first, second, third = listing.photos
    assert (first.room_kind, first.caption) == (RoomKind.LIVING_ROOM, "Sunny")
    assert (second.room_kind, second.room_name) == (RoomKind.LIVING_ROOM, "dining room")
    assert third.room_kind is None
    text = _sentences(problems)
    assert text.count("leads out of the home's folder") == 4
    assert "was renovated on the computer" in text
    assert "nothing is fetched" in text
    assert "MediaURL is missing" in text
    assert "a .dng picture cannot be read" in text
    assert "h/listing.json, Media 7: MediaURL “../../etc/passwd”" in text


def test_side_tables_of_a_home(tmp_path: Path) -> None:
    home = tmp_path / "h"
    _photo(home / "x.jpg")
    (home / "media.csv").write_text("MediaURL,ImageOf\nX.JPG,Bathroom\n")
    (home / "rooms.csv").write_text(
        "RoomType,RoomLength,RoomWidth,CeilingHeight\n"
        "Bedroom,12,10,8\nBedroom,11,9,\nLiving Room,15,500,\nWorkshop,9,9,\n"
    )
    (listing,), problems = read_homes(tmp_path)
    assert listing.photos[0].room_kind is RoomKind.BATHROOM
    assert [room.name for room in listing.rooms] == ["bedroom 1", "bedroom 2", "living room"]
    assert (listing.rooms[0].height_ft, listing.rooms[2].width_ft) == (8, None)
    text = _sentences(problems)
    assert "h/rooms.csv, row 4: RoomWidth “500” must lie between 1.5 and 200" in text
    assert "h/rooms.csv, row 5: RoomType “Workshop” is no kind of room that is known" in text


def test_a_folder_that_is_one_home(tmp_path: Path) -> None:
    _photo(tmp_path / "little house" / "front.jpg")
    _photo(tmp_path / "little house" / ".hidden.jpg")
    (home,), _ = read_homes(tmp_path / "little house")
    assert (home.home, len(home.photos)) == ("little house", 1)


def test_photos_beside_the_homes_are_told(tmp_path: Path) -> None:
    _photo(tmp_path / "h" / "front.jpg")
    _photo(tmp_path / "stray.jpg")
    homes, problems = read_homes(tmp_path)
    assert len(homes) == 1
    assert "1 photo lies beside the homes' folders" in _sentences(problems)


def test_a_home_without_photos_is_kept_and_told(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    _photo(tmp_path / "full" / "front.jpg")
    homes, problems = read_homes(tmp_path)
    assert [len(home.photos) for home in homes] == [0, 1]
    assert problems[0].home == "empty"
    assert "no photo was found" in problems[0].sentence


def test_nothing_to_read_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no home was found"):
        read_homes(tmp_path)
    with pytest.raises(InputError, match="does not exist"):
        read_homes(tmp_path / "no")
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="is not a folder"):
        read_homes(tmp_path / "file")


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("listing.json", "{", "line 1: this is not JSON"),
        ("listing.json", "[" * 200_000, "nested too deeply"),
        ("listing.json", "[1, 2]", "record 1: this is no home with field names"),
        ("listing.json", '"x"', "this holds no field names with values"),
        ("listing.toml", "a = ", "line 1: this is not TOML at “a =”: write numbers like 84500"),
        ("listing.csv", "", "the file is empty"),
        ("listing.csv", "ListPrice\n1,2,3\n", "3 cells under 1 field names"),
    ],
)
def test_a_broken_listing_file_leaves_the_photos_usable(
    tmp_path: Path, name: str, text: str, sentence: str
) -> None:
    _photo(tmp_path / "h" / "front.jpg")
    (tmp_path / "h" / name).write_text(text)
    (home,), problems = read_homes(tmp_path)
    assert len(home.photos) == 1
    assert f"h/{name}" in problems[0].sentence
    assert sentence in problems[0].sentence
