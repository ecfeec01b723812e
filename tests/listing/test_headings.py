"""Plain headings stand for RESO fields in every kind of file; a slip of the pen is told once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scorer.listing import read_homes
from scorer.listing.headings import near_misses
from scorer.listing.listing import Listing
from scorer.listing.uploads import unpack_homes

PLAIN = {
    "Price": "$84,500",
    "Beds": "3 br",
    "Baths": "1.5",
    "Sq. Ft.": "1,050",
    "Year built": "c. 1962",
    "Rent ($/mo)": "$850/mo",
    "Property taxes": "1,240",
    "Address": "12 Example Street",
    "Flooring": "Carpet",
}
# RESO Data Dictionary 2.0, Property resource: fields that are none of ours, from memory, and
# columns that people add to their lists.
OTHER_COLUMNS = """
OriginalListPrice ListPriceLow ClosePrice CloseDate ListDate ListingDate StandardStatus MlsStatus
DaysOnMarket PropertyType PropertySubType LotSizeArea LotSizeAcres LotSizeUnits BathroomsPartial
BedroomsPossible MainLevelBedrooms BuildingAreaTotal LivingAreaSource YearBuiltSource
YearBuiltDetails YearBuiltEffective StoriesTotal GarageSpaces ParkingTotal AssociationFee
TaxAssessedValue TaxYear TaxLot PrivateRemarks PublicSurveySection GrossIncome NetOperatingIncome
OperatingExpense LeaseTerm LeaseExpiration RentIncludes ListAgentFullName ListOfficeName
ListingContractDate ListingURL Latitude Longitude PostalCode CountyOrParish Country Heating
Cooling Roof Basement View Levels Flooring Status Agent Phone Notes Comment Date Rating School Zip
County HOA Score Rank Viewed Offer Repairs ARV Tenant Rented Renter Unit Lot Link Garage Pool
Style Condition Cost Value
"""


def _written(name: str, facts: dict[str, str]) -> str:
    if name.endswith(".json"):
        return json.dumps(facts)
    if name.endswith(".toml"):
        return "".join(f"{json.dumps(k)} = {json.dumps(v)}\n" for k, v in facts.items())
    cells = [f'"{value}"' for value in facts.values()]
    return ",".join(facts) + "\n" + ",".join(cells) + "\n"


def _check(home: Listing) -> None:
    assert home.list_price_usd == 84_500
    assert (home.bedrooms, home.bathrooms) == (3, 2)
    assert home.living_area_sqft == 1_050
    assert home.year_built == 1962
    assert home.monthly_rent_usd == 850
    assert home.annual_tax_usd == 1_240
    assert home.address == "12 Example Street"
    # RESO: BathroomsTotalInteger counts a half bathroom as one; which kind it is isn't lost.
    assert home.other == {"BathroomsFull": "1", "BathroomsHalf": "1", "Flooring": "Carpet"}


@pytest.mark.parametrize("name", ["listing.csv", "listing.json", "listing.toml"])
def test_plain_names_are_read_in_a_homes_own_file(tmp_path: Path, name: str) -> None:
    home = tmp_path / "12 example street"
    home.mkdir()
    (home / "kitchen.jpg").write_bytes(b"")
    (home / name).write_text(_written(name, PLAIN), encoding="utf-8")
    (listing,), problems = read_homes(tmp_path)
    assert problems == ()
    _check(listing)


@pytest.mark.parametrize("name", ["listings.csv", "listings.json"])
def test_plain_names_are_read_in_the_table_of_all_homes(tmp_path: Path, name: str) -> None:
    (tmp_path / "12 example street").mkdir()
    (tmp_path / "12 example street" / "kitchen.jpg").write_bytes(b"")
    (tmp_path / name).write_text(_written(name, PLAIN), encoding="utf-8")
    (listing,), problems = read_homes(tmp_path)
    assert (listing.home, len(listing.photos), problems) == ("12 example street", 1, ())
    _check(listing)


def test_plain_names_are_read_in_what_was_dropped_on_the_page(tmp_path: Path) -> None:
    files = [
        ("kitchen.jpg", b"photo"),
        ("listing.csv", _written("listing.csv", PLAIN).encode()),
    ]
    (tmp_path / "scratch").mkdir()
    kept = unpack_homes(files, "my home", tmp_path / "kept", tmp_path / "scratch").folder
    (listing,), problems = read_homes(kept)
    assert problems == ()
    _check(listing)


def test_a_row_finds_its_folder_by_its_address_where_its_number_names_none(tmp_path: Path) -> None:
    for home in ("12 oak street", "7 elm road"):
        (tmp_path / home).mkdir()
        (tmp_path / home / "front.jpg").write_bytes(b"")
    (tmp_path / "listings.csv").write_text(
        "ID,Address,Price\n1,12 Oak Street,84500\n2,7 Elm Road,90000\n"
    )
    homes, problems = read_homes(tmp_path)
    assert problems == ()
    assert {home.home: home.list_price_usd for home in homes} == {
        "12 oak street": 84_500,
        "7 elm road": 90_000,
    }


@pytest.mark.parametrize(
    ("columns", "monthly"),
    [({"Annual rent": "10200"}, 850), ({"Weekly rent": "300"}, 1_300), ({"Rent": "850"}, 850)],
)
def test_a_heading_may_name_the_period(
    tmp_path: Path, columns: dict[str, str], monthly: float
) -> None:
    (tmp_path / "listing.json").write_text(json.dumps(columns))
    (listing,), _ = read_homes(tmp_path)
    assert listing.monthly_rent_usd == monthly


def test_a_yearly_rent_under_a_monthly_frequency_is_refused(tmp_path: Path) -> None:
    facts = {"Rent": "$10,200/yr", "LeaseAmountFrequency": "Monthly"}
    (tmp_path / "listing.json").write_text(json.dumps(facts))
    (listing,), problems = read_homes(tmp_path)
    assert listing.monthly_rent_usd is None
    assert "Rent “$10,200/yr” and LeaseAmountFrequency monthly name two periods" in str(problems)


def test_a_heading_may_name_the_unit(tmp_path: Path) -> None:
    (tmp_path / "listing.json").write_text(json.dumps({"Area (m²)": "98"}))
    (listing,), _ = read_homes(tmp_path)
    assert listing.living_area_sqft == pytest.approx(98 / 9.290304e-02, abs=0.05)


def test_the_field_s_own_name_outranks_a_plain_one(tmp_path: Path) -> None:
    (tmp_path / "listing.json").write_text(json.dumps({"Price": 1, "ListPrice": 84_500}))
    (listing,), problems = read_homes(tmp_path)
    assert listing.list_price_usd == 84_500
    assert listing.other == {"Price": "1"}
    assert "ListPrice" not in str(problems)


def test_rooms_and_photos_take_plain_names_too(tmp_path: Path) -> None:
    (tmp_path / "h").mkdir()
    (tmp_path / "h" / "1.jpg").write_bytes(b"")
    (tmp_path / "h" / "media.csv").write_text("Photo,Room\n1.jpg,Kitchen\n")
    (tmp_path / "h" / "rooms.csv").write_text(
        'Room,Length,Width,Height\nKitchen,"12\' 6""",10 ft,8\n'
    )
    (listing,), problems = read_homes(tmp_path)
    assert problems == ()
    assert listing.photos[0].room_name == "kitchen"
    (room,) = listing.rooms
    assert (room.length_ft, room.width_ft, room.height_ft) == (12.5, 10, 8)


def test_both_sides_of_a_room_may_stand_in_one_cell(tmp_path: Path) -> None:
    rooms = [
        {"RoomType": "Kitchen", "RoomDimensions": "12' 6\" x 10"},
        {"Room": "Bedroom", "Size": "3 m x 4 m"},
        {"RoomType": "Den", "RoomLength": "1.050", "RoomWidth": 9},
        {"RoomType": "Office", "RoomDimensions": "cozy"},
    ]
    (tmp_path / "1.jpg").write_bytes(b"")
    (tmp_path / "listing.json").write_text(json.dumps({"PropertyRooms": rooms}))
    (listing,), problems = read_homes(tmp_path)
    sizes = [(room.length_ft, room.width_ft) for room in listing.rooms]
    assert sizes == [(12.5, 10), (9.84, 13.12), (None, 9), (None, None)]  # 1 ft = 0.3048 m
    told = " ".join(problem.sentence for problem in problems)
    assert "RoomLength “1.050” must lie between 1.5 and 200" in told
    assert "RoomDimensions “cozy” is not a length and a width" in told


@pytest.mark.parametrize(("name", "what"), [("listings.csv", "column"), ("listings.json", "field")])
def test_a_slip_of_the_pen_is_told_once_a_file(tmp_path: Path, name: str, what: str) -> None:
    rows = [{"ListingId": f"h{at}", "ListPrise": "84500", "Flooring": "oak"} for at in range(30)]
    if name.endswith(".json"):
        text = json.dumps(rows)
    else:
        text = "\n".join([",".join(rows[0]), *(",".join(row.values()) for row in rows)])
    (tmp_path / name).write_text(text)
    homes, problems = read_homes(tmp_path)
    told = [p.sentence for p in problems if "no folder of this name" not in p.sentence]
    assert told == [
        f"{name}: the {what} ListPrise is not known and was not used; did you mean ListPrice?"
    ]
    assert homes[0].other == {"ListPrise": "84500", "Flooring": "oak"}


@pytest.mark.parametrize("name", ["listing.csv", "listing.json", "listing.toml"])
def test_a_slip_is_told_in_every_kind_of_file(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(_written(name, {"Adress": "12 Oak St", "Bedroms": "3"}))
    _, problems = read_homes(tmp_path)
    told = " ".join(problem.sentence for problem in problems)
    assert "Adress is not known and was not used; did you mean Address?" in told
    assert "Bedroms is not known and was not used; did you mean Bedrooms?" in told


def test_a_slip_in_rooms_and_photos_is_told(tmp_path: Path) -> None:
    facts = {
        "Media": [{"MediaURL": "1.jpg", "ImagOf": "Kitchen"}],
        "PropertyRooms": [{"RoomType": "Kitchen", "RoomLenght": 12}] * 2,
    }
    (tmp_path / "1.jpg").write_bytes(b"")
    (tmp_path / "listing.json").write_text(json.dumps(facts))
    _, problems = read_homes(tmp_path)
    told = " ".join(problem.sentence for problem in problems)
    assert told.count("RoomLenght is not known") == 1
    assert "did you mean RoomLength?" in told
    assert "did you mean ImageOf?" in told


def test_columns_of_another_meaning_stay_unremarked() -> None:
    assert near_misses("home", OTHER_COLUMNS.split()) == []
    assert near_misses("home", PLAIN) == []


def test_a_file_without_any_known_column_says_so(tmp_path: Path) -> None:
    (tmp_path / "1.jpg").write_bytes(b"")
    (tmp_path / "listing.csv").write_text("12 Oak Street,84500,3\n7 Elm Road,90000,2\n")
    _, problems = read_homes(tmp_path)
    assert "listing.csv: none of its headings is known" in problems[0].sentence
    assert "the first row names the fields, like Price, Beds, Baths" in problems[0].sentence


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"Price": "1,150", "Rent": "$95,000"}, "Price “1,150” and Rent “$95,000” look swapped"),
        ({"Price": "1100", "Sq ft": "40000"}, "Price “1100” and Sq ft “40000” look swapped"),
        ({"Price": "1240", "Tax": "85000"}, "Price “1240” and Tax “85000” look swapped"),
        ({"Price": "3", "Beds": "84500"}, "Price “3” must lie between $1,000"),
        ({"Price": "1962", "Year": "84500"}, "Year “84500” must lie between 1600 and 2100"),
        ({"Beds": "1050", "Sq ft": "3"}, "Sq ft “3” must lie between 80 and 100,000 sq ft"),
    ],
)
def test_swapped_columns_are_told(tmp_path: Path, facts: dict[str, str], sentence: str) -> None:
    (tmp_path / "listing.json").write_text(json.dumps(facts))
    (listing,), problems = read_homes(tmp_path)
    assert sentence in " ".join(problem.sentence for problem in problems)
    assert listing.monthly_rent_usd is None
    assert listing.annual_tax_usd is None
    assert listing.living_area_sqft is None


def test_a_cheap_home_and_a_tiny_one_are_kept(tmp_path: Path) -> None:
    facts = {"Price": "$1,000", "Sq ft": "80", "Tax": "1400", "Rent": "600"}
    (tmp_path / "listing.json").write_text(json.dumps(facts))
    (listing,), _ = read_homes(tmp_path)
    assert (listing.list_price_usd, listing.living_area_sqft) == (1_000, 80)
    assert (listing.annual_tax_usd, listing.monthly_rent_usd) == (1_400, 600)


@pytest.mark.parametrize(
    ("name", "text", "sentence"),
    [
        ("listing.csv", "Price,Beds\n", "listing.csv: there is no row under its headings"),
        ("listing.json", "[]", "listing.json: there is no home in it"),
        ("listing.json", '{"Bed/Bath": "3/1"}', "give Beds and Baths a field each"),
        ("listing.csv", "Price,Beds & Baths\n84500,3/1\n", "give Beds and Baths a column each"),
        ("listing.toml", "Price = 85.000", "“85.0” is too little, as a point begins the decimals; "
         "write 85000 if meant"),
    ],
)  # fmt: skip
def test_what_was_not_used_is_told(tmp_path: Path, name: str, text: str, sentence: str) -> None:
    (tmp_path / "1.jpg").write_bytes(b"")
    (tmp_path / name).write_text(text)
    _, problems = read_homes(tmp_path)
    assert sentence in " ".join(problem.sentence for problem in problems)


@pytest.mark.parametrize("cell", ["vacant", "0", "TBD", "Not let"])
def test_a_home_that_is_not_let_has_no_rent(tmp_path: Path, cell: str) -> None:
    (tmp_path / "1.jpg").write_bytes(b"")
    (tmp_path / "listing.json").write_text(json.dumps({"Rent": cell}))
    (listing,), problems = read_homes(tmp_path)
    assert (listing.monthly_rent_usd, problems) == (None, ())
