"""What leaves the program tells no place, device or owner: files handed on, and pages shown.

Each photo of these homes has its place, camera, serial number and owner in Exif, XMP and a comment.
"""

from __future__ import annotations

import base64
import io
import json
import re
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import openpyxl
import pypdf
import pytest
from click.testing import CliRunner
from PIL import Image
from streamlit.runtime.memory_media_file_storage import MemoryMediaFileStorage
from streamlit.testing.v1 import AppTest

from app import exports, pictures
from scorer.commands import main
from scorer.photos import thumbnail_jpeg
from scorer.photos.reading import Reading
from scorer.report import home_report_pdf, home_workbook, to_csv, to_json
from scorer.sheet import viewing_sheet_html, viewing_sheet_pdf
from scorer.store import Store
from scorer.workspace import Screened, Workspace
from scorer.workspace.home_money import money_of
from scorer.workspace.pairs import pair_pictures, pairs_of, printed_pairs
from scorer.workspace.taking import Shown, take_photos, viewing_pictures
from tests.hostile.telling import DEVICE, PLACE, segments, telling

SCRIPT = Path(__file__).parents[2] / "app" / "main.py"
SECRETS = (PLACE, DEVICE, b"adobe:ns:meta", b"Exif\0\0")
NOW = datetime(2026, 5, 30, tzinfo=UTC)
IN_BASE64 = re.compile(rb"data:[\w/+.-]+;base64,([A-Za-z0-9+/=]+)")


def contents(data: bytes) -> Iterator[bytes]:
    """A file, and whatever is packed, encoded or embedded in it."""
    yield data
    for text in IN_BASE64.findall(data):
        yield from contents(base64.b64decode(text))
    if data.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for name in archive.namelist():
                yield from contents(archive.read(name))
    if data.startswith(b"%PDF"):
        reader = pypdf.PdfReader(io.BytesIO(data))
        for number in range(1, len(reader.xref[0]) + 1):
            thing = reader.get_object(number)
            if isinstance(thing, pypdf.generic.StreamObject):
                yield thing._data  # a JPEG as it was embedded
                yield thing.get_data() if "/DCTDecode" not in str(thing.get("/Filter")) else b""


def photos_in(data: bytes) -> list[bytes]:
    return [part for part in contents(data) if part.startswith(b"\xff\xd8\xff")]


def told(data: bytes) -> list[str]:
    """What a file tells that it should not."""
    found = [
        secret.decode("latin-1")
        for part in contents(data)
        for secret in SECRETS
        if secret in part or secret.decode("latin-1").encode("utf-16-le") in part
    ]
    for photo in photos_in(data):
        marks = [mark for mark in segments(photo) if mark == 0xFE or 0xE1 <= mark <= 0xEF]
        found += [f"segment {mark:x}" for mark in marks]
    return found


@pytest.fixture
def space(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Workspace:
    """Two homes whose photos tell, one with photos from the viewing and after the work."""
    data = tmp_path / "data"
    monkeypatch.setenv("VALUE_ADD_DATA", str(data))
    monkeypatch.setenv("VALUE_ADD_FOLDER", str(tmp_path / "homes"))
    monkeypatch.delenv("VALUE_ADD_TOKEN", raising=False)
    for home in ("1 oak street", "3 elm road"):
        folder = tmp_path / "homes" / home
        folder.mkdir(parents=True)
        for room in ("kitchen", "bathroom", "bedroom", "front"):
            (folder / f"{room}.jpg").write_bytes(telling())
        facts = {"ListPrice": 90_000, "BedroomsTotal": 1, "TotalActualRent": 800}
        (folder / "listing.json").write_text(json.dumps(facts))
    # A store whose flag says that the demo homes were there: these two alone.
    space = Workspace(Store(data / "homes.sqlite"))
    space.store.save_flag("demo homes imported")
    space.import_folder(tmp_path / "homes")
    for stage in ("viewing", "after"):
        content = telling() + stage.encode()
        taken = take_photos(space.store, [("a.jpg", content)], Shown("kitchen", stage))
        space.store.add_photos(1, space.store.home(1).version, taken.photos)
    space.read_all()
    return space


def of_first(space: Workspace) -> Screened:
    return next(item for item in space.screen_all() if item.home.id == 1)


def test_this_test_sees_what_it_looks_for(tmp_path: Path) -> None:
    from fpdf import FPDF

    paper = FPDF()
    paper.add_page()
    paper.image(io.BytesIO(telling()), w=50)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.jpg", telling())
    html = b'<img src="data:image/jpeg;base64,' + base64.b64encode(telling()) + b'">'
    for data in (telling(), packed.getvalue(), html):
        assert {PLACE.decode(), DEVICE.decode(), "segment e1"} <= set(told(data))
    assert photos_in(bytes(paper.output()))  # an embedded photo is found


def test_no_file_that_is_handed_on_tells(space: Workspace) -> None:
    item = of_first(space)
    result = item.result
    small = {photo.name: pictures.photo(photo.path, 480) for photo in item.home.listing.photos}
    taken = viewing_pictures(item.home)
    assert taken
    pairs = printed_pairs(pairs_of(space, item))
    assert pairs[0].before
    money = money_of(space, item)
    shown = {"kitchen": small["kitchen.jpg"] or b""}
    files: dict[str, bytes] = {
        "report": home_report_pdf(result, exports._photos(item), NOW, money, taken, pairs),
        "workbook": home_workbook(result),
        "figures": to_csv([result]).encode(),
        "everything": to_json([result]).encode(),
        "sheet": viewing_sheet_html(result.home, (), result.rooms, NOW, photos=shown).encode(),
        "paper": viewing_sheet_pdf(result.home, (), result.rooms, NOW),
    }
    for name, data in files.items():
        assert told(data) == [], name
        assert str(space.store.path.parent.parent).encode() not in data, (
            name
        )  # whose machine it was
    assert photos_in(files["report"])
    assert photos_in(files["sheet"])


def test_a_photo_that_broke_its_worker_is_not_decoded_by_the_page(
    space: Workspace, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    folder = tmp_path / "homes" / "1 oak street"
    (folder / "den.jpg").write_bytes(telling() + b"breaks its worker")
    space.import_folder(tmp_path / "homes")
    item = space.store.home(1)
    key = space.shelf.keys(item)["den.jpg"]
    assert key is not None
    space.shelf.put(key, Reading(file="den.jpg", error="den.jpg: the photo broke the program."))
    decoded: list[str] = []

    def watched(path: str, width: int) -> bytes:
        decoded.append(Path(path).name)
        return thumbnail_jpeg(path, width)

    monkeypatch.setattr(pictures, "thumbnail_jpeg", watched)
    paths = {photo.name: photo.path for photo in space.store.home(1).listing.photos}
    assert pictures.photo(paths["den.jpg"], 333) is None
    assert pictures.photo(paths["kitchen.jpg"], 333)
    assert "den.jpg" not in exports._photos(of_first(space))
    (pair,) = pairs_of(space, of_first(space))
    assert "den.jpg" not in [shot.name for shot in pair.choices]
    assert decoded
    assert "den.jpg" not in decoded


def test_no_picture_of_the_page_tells(space: Workspace) -> None:
    item = of_first(space)
    path = next(p.path for p in item.home.listing.photos if p.name == "kitchen.jpg")
    changed = pictures.when_changed(path) or 0
    taken = [photo.path for photo in item.home.taken]
    made = [
        pictures.photo(path, 300),
        pictures.explained_photo(path, changed, "wall"),
        *pictures.repainted_photo(path, changed, "#f0efe8"),
        *pair_pictures(taken[0], path),
    ]
    assert len([picture for picture in made if picture]) >= 5
    for picture in made:
        assert told(picture or b"") == []


def test_nothing_that_the_page_serves_tells(
    space: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every picture and file of every page, as it is handed to the page's server."""
    served: list[bytes] = []
    keep = MemoryMediaFileStorage.load_and_get_id

    def watched(self: MemoryMediaFileStorage, given: object, *more: object) -> str:
        served.append(Path(given).read_bytes() if isinstance(given, str) else bytes(given))  # type: ignore[call-overload]
        return keep(self, given, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(MemoryMediaFileStorage, "load_and_get_id", watched)
    app = AppTest.from_file(str(SCRIPT), default_timeout=120)
    app.run()
    for page in ("screen", "walk", "scope", "shortlist", "fit"):
        app.switch_page(f"views/{page}.py").run()
        assert not app.exception, page
        for toggle in app.toggle:
            if toggle.label == "Write the sheet":
                toggle.set_value(True).run()
        for kind in ("html", "markdown"):
            served += [getattr(element.proto, "body", "").encode() for element in app.get(kind)]
    assert sum(bool(photos_in(data)) for data in served) >= 4
    for data in served:
        assert told(data) == [], data[:80]


def test_the_pictures_of_surfaces_tell_nothing(tmp_path: Path) -> None:
    photo = tmp_path / "kitchen.jpg"
    photo.write_bytes(telling())
    done = CliRunner().invoke(
        main, ["read", str(photo), "--json", "--surfaces", str(tmp_path / "s")]
    )
    assert done.exit_code == 0, done.output
    assert told(done.output.encode()) == []
    (picture,) = (tmp_path / "s").iterdir()
    assert told(picture.read_bytes()) == []
    with Image.open(picture) as image:
        assert set(image.info) <= {"transparency"}


def test_no_typed_word_becomes_part_of_a_live_formula(space: Workspace, tmp_path: Path) -> None:
    facts = {"UnparsedAddress": '=HYPERLINK("http://evil.example")', "ListPrice": 90_000}
    place = tmp_path / "homes" / "1 oak street" / "listing.json"
    place.write_text(json.dumps({**facts, "TotalActualRent": 800}))
    space.import_folder(tmp_path / "homes")
    space.store.type_note(1, {""}, "@SUM(1+1)*cmd|' /C calc'!A0")
    item = of_first(space)
    money = money_of(space, item)
    assert money is not None
    book = openpyxl.load_workbook(io.BytesIO(home_workbook(item.result, money)))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    formulas = [str(cell.value) for cell in cells if cell.data_type == "f"]
    assert len(formulas) > 5
    for formula in formulas:
        assert "evil" not in formula
        assert "|" not in formula
    assert not [cell for cell in cells if cell.hyperlink]
    assert [cell for cell in cells if "evil.example" in str(cell.value)]  # it is there, as text


def test_a_photo_that_is_kept_stays_whole_for_its_owner(space: Workspace) -> None:
    """The light that the camera measured is read from it; only what leaves is made bare."""
    item = of_first(space)
    for photo in item.home.taken:
        assert DEVICE in Path(photo.path).read_bytes()


def test_a_pdf_names_no_person(space: Workspace) -> None:
    data = home_report_pdf(of_first(space).result, {}, NOW)
    about = pypdf.PdfReader(io.BytesIO(data)).metadata or {}
    assert set(about) <= {"/Title", "/Producer", "/CreationDate"}
