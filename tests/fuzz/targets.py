"""What the fuzzer feeds: each function takes any bytes, and fails on anything but one sentence."""

from __future__ import annotations

import base64
import io
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from scorer.errors import InputError
from scorer.listing import read_homes
from scorer.listing.uploads import unpack_homes
from scorer.photos.decode import decode, thumbnail_jpeg
from scorer.screening.tags import read_tags
from scorer.sheet import merge_answers, read_answers
from scorer.upgrades.catalogue import CATALOGUE_FOLDER, load_catalogue
from scorer.upgrades.price_rows import read_price_rows, read_wages
from scorer.upgrades.pricebook import PRICE_FILE, WAGE_FILE, load_price_book

LONGEST_SENTENCE = 2_000
LISTING_FILES = ("listing.json", "listing.csv", "listing.toml", "media.csv", "rooms.csv")


def one_sentence(text: str) -> None:
    """Fail unless a message can stand on one line of a page."""
    assert text.strip(), "an empty sentence"
    assert not {"\n", "\r"} & set(text), f"more than one line: {text!r}"
    assert "Traceback" not in text, text
    assert len(text) <= LONGEST_SENTENCE, f"{len(text)} characters: {text[:200]!r}"


def photo(data: bytes) -> None:
    """Reading a photo at full size and reduced, and making a thumbnail."""
    for read in (
        lambda: decode(data, longest_px=128).rgb,
        lambda: np.frombuffer(thumbnail_jpeg(data, 64), np.uint8),
    ):
        try:
            assert read().dtype == np.uint8
        except InputError as error:
            one_sentence(str(error))


def listing(data: bytes) -> None:
    """A home's listing files, tags, and a table for all homes; the first byte chooses."""
    if not data:
        return
    names = (*LISTING_FILES, "tags.csv", "../listings.csv", "../listings.json", "../listings.toml")
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "h"
        home.mkdir()
        (home / "kitchen.jpg").write_bytes(b"x")
        name = names[data[0] % len(names)]
        (home / name).write_bytes(data[1:])
        homes, problems = read_homes(folder)
        assert any(photo.name == "kitchen.jpg" for home in homes for photo in home.photos) or (
            name == "media.csv" or name.startswith("listing") or "listings" in name
        )
        for problem in problems:
            one_sentence(problem.sentence)
        for sentence in read_tags(home, "h")[1]:
            one_sentence(sentence)


def sheet(data: bytes) -> None:
    """Answers of a viewing sheet, read and merged twice."""
    try:
        answers = read_answers(data)
    except InputError as error:
        one_sentence(str(error))
        return
    for brought in answers.photos:
        try:
            photo(brought.content())
        except InputError as error:
            one_sentence(str(error))
    merged = merge_answers((), answers)
    assert merge_answers(merged.tags, answers).tags == ()


def prices(data: bytes) -> None:
    """A price book of the user's own, and wages."""
    text = data.decode("utf-8", errors="replace")
    book = load_price_book()
    for read in (
        lambda: book.with_rows(read_price_rows(text, book.rows, name="my prices.csv")),
        lambda: book.with_wages(read_wages(text, book.wages, name="my wages.csv")),
    ):
        try:
            read()
        except InputError as error:
            one_sentence(str(error))


def catalogue(data: bytes) -> None:
    """A catalogue file of the user's own."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mine.toml"
        path.write_bytes(data)
        try:
            load_catalogue.__wrapped__(path)
        except InputError as error:
            one_sentence(str(error))


def uploads(data: bytes) -> None:
    """A zip that was dropped on the page."""
    with tempfile.TemporaryDirectory() as folder:
        target, scratch = Path(folder) / "homes", Path(folder) / "scratch"
        scratch.mkdir()
        try:
            unpack_homes([("h.zip", data)], "home", target, scratch)
        except InputError as error:
            one_sentence(str(error))
            assert not target.exists()
        assert {path.name for path in Path(folder).iterdir()} <= {"homes", "scratch"}


TARGETS: dict[str, Callable[[bytes], None]] = {
    "photo": photo,
    "listing": listing,
    "sheet": sheet,
    "prices": prices,
    "catalogue": catalogue,
    "uploads": uploads,
}


def seeds(target: str) -> list[bytes]:
    """Sound inputs that the fuzzer starts from."""
    if target == "photo":
        return _photos()
    if target == "listing":
        fields = (
            b'{"ListPrice": "84,500", "BedroomsTotal": 2, "Media": [{"MediaURL": "kitchen.jpg"}]}'
        )
        table = b"ListingId,ListPrice,LeaseAmount,LeaseAmountFrequency\nh,84500,700,Monthly\n"
        rooms = b"RoomType,RoomLength,RoomWidth\nKitchen,12,10\n"
        media = b"MediaURL,ImageOf,Order\nkitchen.jpg,Kitchen,1\n"
        tags = b"room,condition,severity,note,present\nkitchen,dirty_trim,2,worn,yes\n"
        toml = b'ListPrice = 84500\nUnparsedAddress = "12 Example St"\n'
        return [
            bytes([at]) + content
            for at, content in enumerate(
                (fields, table, toml, media, rooms, tags, table, b"[" + fields + b"]", toml)
            )
        ]
    if target == "sheet":
        return [
            b'{"format": "value-add viewing answers", "version": 1, "home": "h", "written_at": '
            b'"2026-05-30T13:00:00Z", "answers": [{"room": "kitchen", "condition": "dirty_trim", '
            b'"present": true, "severity": 2, "note": "worn", "answered_at": '
            b'"2026-05-30T12:10:00Z"}], "rooms": [{"name": "kitchen", "length_ft": 12}]}',
            b'{"format": "value-add viewing answers", "version": 2, "home": "h", "written_at": '
            b'"2026-05-30T13:00:00Z", "photos": [{"room": "kitchen", "taken_at": '
            b'"2026-05-30T12:10:00Z", "jpeg": "' + base64.b64encode(_photos()[1]) + b'"}]}',
        ]
    if target == "prices":
        return [
            path.read_bytes()[:1500].rpartition(b"\n")[0] + b"\n"
            for path in (PRICE_FILE, WAGE_FILE)
        ] + [b"id,typical_usd\nwall_paint,30\n"]
    if target == "catalogue":
        return [path.read_bytes()[:3000] for path in sorted(CATALOGUE_FOLDER.glob("*.toml"))[:2]]
    return [_zip(zipfile.ZIP_STORED), _zip(zipfile.ZIP_DEFLATED)]


def _zip(method: int) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        archive.writestr("homes/12 oak/photos/front.jpg", b"x" * 200)
        archive.writestr("homes/14 elm/kitchen.jpg", b"y" * 200)
        archive.writestr("homes/listings.csv", b"ListingId,ListPrice\n12 oak,84500\n")
    return out.getvalue()


def _photos() -> list[bytes]:
    import pillow_heif
    from PIL import ExifTags, Image, ImageCms

    pillow_heif.register_heif_opener()
    image = Image.fromarray(np.linspace(0, 255, 48 * 40 * 3).reshape(40, 48, 3).astype(np.uint8))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FNumber] = 4.0
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    found = []
    for kind, options in (
        ("JPEG", {"exif": exif, "icc_profile": profile}),
        ("JPEG", {"progressive": True}),
        ("PNG", {}),
        ("WEBP", {}),
        ("GIF", {}),
        ("TIFF", {"compression": "tiff_lzw"}),
        ("BMP", {}),
        ("HEIF", {}),
        ("AVIF", {}),
    ):
        out = io.BytesIO()
        image.save(out, kind, **options)
        found.append(out.getvalue())
    return found
