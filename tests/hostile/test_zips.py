"""Zips dropped on the page: nothing leaves the folder, grows without bound, or is lost."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scorer.errors import InputError
from scorer.listing import read_homes
from scorer.listing.uploads import MOST_ENTRIES, clean_name, unpack_homes

Entry = tuple[str | zipfile.ZipInfo, bytes]


def packed(*entries: Entry, method: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, content in entries:
            archive.writestr(name, content)
    return out.getvalue()


def link(name: str, to: str) -> Entry:
    info = zipfile.ZipInfo(name)
    info.create_system = 3  # Unix, whose file kinds stand in the upper half of the attributes
    info.external_attr = 0o120777 << 16
    return info, to.encode()


class Unpacker:
    """Unpacks into a folder of its own, beside which nothing may appear."""

    def __init__(self, folder: Path) -> None:
        self.outer = folder
        self.target = folder / "a" / "b" / "homes"
        self.target.parent.mkdir(parents=True)
        self.times = 0

    def __call__(self, *files: tuple[str, bytes], home: str = "my home") -> dict[str, bytes]:
        scratch = self.outer / f"scratch {self.times}"
        scratch.mkdir()
        self.times += 1
        unpack_homes(files, home, self.target, scratch)
        return self.kept()

    def kept(self) -> dict[str, bytes]:
        return {
            path.relative_to(self.target).as_posix(): path.read_bytes()
            for path in sorted(self.target.rglob("*"))
            if path.is_file()
        }

    def refused(self, *files: tuple[str, bytes], words: str) -> None:
        before = self.kept()
        with pytest.raises(InputError, match=words) as caught:
            self(*files)
        sentence = str(caught.value)
        assert sentence.endswith(".")
        assert "\n" not in sentence
        assert self.kept() == before
        outside = [p for p in self.outer.rglob("*") if p.is_file() and self.target not in p.parents]
        assert all(p.relative_to(self.outer).parts[0].startswith("scratch") for p in outside)


@pytest.fixture
def unpack(tmp_path: Path) -> Unpacker:
    return Unpacker(tmp_path)


@pytest.mark.parametrize(
    "name",
    [
        "../front.jpg",
        "oak/../../front.jpg",
        "oak/../../../../../../tmp/front.jpg",
        "..\\..\\front.jpg",
        "/etc/front.jpg",
        "\\\\host\\share\\front.jpg",
        "C:\\homes\\front.jpg",
        "C:front.jpg",
        "oak/../..",
    ],
)
def test_a_name_that_leads_elsewhere_is_refused(unpack: Unpacker, name: str) -> None:
    evil = packed(("oak/kitchen.jpg", b"k"), (name, b"evil"))
    unpack.refused(("h.zip", evil), words=r"h\.zip: the entry .* leads out of the zip's own folder")


@pytest.mark.parametrize("to", ["/etc/passwd", "../../secret", "kitchen.jpg"])
def test_a_link_is_refused(unpack: Unpacker, to: str) -> None:
    evil = packed(("oak/kitchen.jpg", b"k"), link("oak/bath.jpg", to))
    unpack.refused(("h.zip", evil), words=r"oak/bath\.jpg is a link")
    evil = packed(link("oak", to), ("oak/kitchen.jpg", b"k"))  # a linked folder
    unpack.refused(("h.zip", evil), words="is a link")


def test_a_bomb_is_refused_before_it_is_unpacked(unpack: Unpacker) -> None:
    bomb = packed(("oak/front.jpg", b"\0" * 30_000_000))
    assert len(bomb) < 40_000
    unpack.refused(("h.zip", bomb), words=r"front\.jpg grows too much")
    table = packed(("oak/front.jpg", b"f"), ("oak/listing.csv", b"," * 30_000_000))
    unpack.refused(("h.zip", table), words=r"listing\.csv grows too much")


def test_a_packing_that_cannot_be_unpacked_in_steps_is_refused(unpack: Unpacker) -> None:
    # A few hundred bytes of bzip2 or LZMA may hold gigabytes, whatever size the entry claims.
    for method in (zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA):
        bomb = packed(("oak/front.jpg", b"\0" * 1_000_000), method=method)
        unpack.refused(("h.zip", bomb), words="packed in an unusual way")


def test_the_zip_as_a_whole_is_limited(unpack: Unpacker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scorer.listing.uploads.MOST_BYTES", 1_000)
    noise = bytes(range(256)) * 2
    many = packed(*((f"oak/{at}.jpg", noise) for at in range(3)), method=zipfile.ZIP_STORED)
    unpack.refused(("h.zip", many), words="a few at a time")
    unpack.refused(*((f"{at}.jpg", noise) for at in range(3)), words="a few at a time")


def test_a_file_of_more_than_80_mb_is_refused(unpack: Unpacker) -> None:
    large = b"\0" * 80_000_001
    unpack.refused(("front.jpg", large), words=r"front\.jpg is larger than 80 MB")
    inside = packed(("oak/front.jpg", large), method=zipfile.ZIP_STORED)
    unpack.refused(("h.zip", inside), words=r"front\.jpg")


@pytest.mark.parametrize("claim", [1, 100, 999_999])
def test_a_size_that_lies_is_refused(unpack: Unpacker, claim: int) -> None:
    content = bytes(range(256)) * 4
    for method in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        true = packed(("oak/front.jpg", content), method=method)
        size = struct.pack("<I", len(content))
        at = true.rindex(b"PK\1\2")  # PKWARE APPNOTE 4.3.12: sizes stand at 20 and 24
        lying = true[:at] + true[at:].replace(size, struct.pack("<I", claim))
        assert lying != true
        unpack.refused(("h.zip", lying), words="pack(ed)? .*again|grows too much")


def test_a_hundred_thousand_entries_are_refused_quickly(unpack: Unpacker) -> None:
    many = packed(*((f"oak/{at}.txt", b"") for at in range(100_000)), method=zipfile.ZIP_STORED)
    unpack.refused(("h.zip", many), words=f"more than {MOST_ENTRIES:,} entries")
    fewer = packed(*((f"oak/{at}.jpg", b"x") for at in range(5_001)), method=zipfile.ZIP_STORED)
    unpack.refused(("h.zip", fewer), words="5,000 files")


@pytest.mark.parametrize(
    "content",
    [b"", b"PK", b"PK\5\6" + b"\0" * 18, packed(("a.jpg", b"x" * 500))[:-30], b"\0" * 5000],
)
def test_a_broken_zip_gets_one_sentence(unpack: Unpacker, content: bytes) -> None:
    unpack.refused(("h.zip", content), words=r"h\.zip can't be unpacked|hold no photo")


def test_damaged_content_gets_one_sentence(unpack: Unpacker) -> None:
    good = packed(("oak/front.jpg", bytes(range(256)) * 40))
    start = good.index(b"front.jpg") + len("front.jpg")
    for at in range(start, start + 40, 3):
        bad = bytearray(good)
        bad[at] ^= 0xFF
        unpack.refused(("h.zip", bytes(bad)), words="pack")


def test_an_encrypted_zip_gets_one_sentence(unpack: Unpacker) -> None:
    good = packed(("oak/front.jpg", b"x"), method=zipfile.ZIP_STORED)
    locked = bytearray(good)
    locked[6] |= 1  # APPNOTE 4.4.4: bit 0 of the general purpose flag
    locked[good.rindex(b"PK\1\2") + 8] |= 1
    unpack.refused(("h.zip", bytes(locked)), words="password|encrypted")


def test_odd_names_become_plain_ones(unpack: Unpacker) -> None:
    names = ["CON.jpg", "a?b*.jpg", 'q"<x>|.jpg', " dots...jpg", "n" * 300 + ".jpg", "Küche.jpg"]
    kept = unpack(("h.zip", packed(*((f"Cañon St/{n}", n.encode()) for n in names))))
    assert sorted(kept.values()) == sorted(n.encode() for n in names)
    assert all(path.startswith("Cañon St/") and path.endswith(".jpg") for path in kept)
    assert "Cañon St/_CON.jpg" in kept
    assert "Cañon St/Küche.jpg" in kept


@given(st.text(max_size=300))
def test_a_clean_name_is_one_part_of_a_path(name: str) -> None:
    clean = clean_name(name)
    assert clean not in {"", ".", ".."}
    assert not set(clean) & set('/\\:*?"<>|\0\n')
    assert len(clean.encode("utf-8", "replace")) < 200
    assert clean_name(clean) == clean


def test_entries_of_one_name_are_all_kept(unpack: Unpacker) -> None:
    with pytest.warns(UserWarning, match="Duplicate name"):
        twice = packed(
            ("oak/front.jpg", b"1"),
            ("oak/front.jpg", b"2"),
            ("oak/FRONT.jpg", b"3"),
            ("oak/a?.jpg", b"4"),
            ("oak/a*.jpg", b"5"),
            ("oak/a|.jpg", b"5"),
        )
    kept = unpack(("h.zip", twice))
    assert sorted(kept.values()) == [b"1", b"2", b"3", b"4", b"5"]
    assert len({path.casefold() for path in kept}) == 5


def test_homes_whose_names_would_fall_together_are_refused(unpack: Unpacker) -> None:
    for one, two in (("oak", "OAK"), ("oak?", "oak*"), ("é", "e\u0301")):
        both = packed((f"{one}/1.jpg", b"1"), (f"{two}/2.jpg", b"2"))
        unpack.refused(("h.zip", both), words="would get the same name")


def test_a_home_in_two_zips_is_refused(unpack: Unpacker) -> None:
    one, two = packed(("oak/1.jpg", b"1")), packed(("oak/2.jpg", b"2"))
    unpack.refused(
        ("1.zip", one), ("2.zip", two), words=r"2\.zip: the home oak is in 1\.zip as well"
    )


def test_a_zip_without_folders_is_named_as_the_zip(unpack: Unpacker) -> None:
    one = packed(("1.jpg", b"1"), ("photos/2.jpg", b"2"), ("kitchen/1.jpg", b"3"))
    two = packed(("photos/1.jpg", b"4"))
    kept = unpack(("12 oak.zip", one), ("14 elm.zip", two), ("7.jpg", b"7"))
    assert kept == {
        "12 oak/1.jpg": b"1",
        "12 oak/photos/2.jpg": b"2",
        "12 oak/kitchen/1.jpg": b"3",
        "14 elm/1.jpg": b"4",
        "my home/7.jpg": b"7",
    }


def test_folders_inside_a_home_stay_with_it(unpack: Unpacker) -> None:
    nested = packed(
        ("my homes/12 oak/photos/1.jpg", b"1"),
        ("my homes/12 oak/listing.json", b"{}"),
        ("my homes/14 elm/photos/1.jpg", b"2"),
        ("my homes/14 elm/a/b/c/d/e/1.jpg", b"3"),
        ("my homes/14 elm/.hidden/1.jpg", b"4"),
        ("__MACOSX/my homes/14 elm/._1.jpg", b"5"),
    )
    kept = unpack(("h.zip", nested))
    assert kept["12 oak/photos/1.jpg"] == b"1"
    assert kept["14 elm/photos/1.jpg"] == b"2"
    assert sorted(kept.values()) == [b"1", b"2", b"3", b"{}"]
    homes, _ = read_homes(unpack.target)
    assert {home.home: len(home.photos) for home in homes} == {"12 oak": 1, "14 elm": 2}


def test_another_home_of_the_same_name_takes_nothing_away_later(unpack: Unpacker) -> None:
    first = packed(("oak/front.jpg", b"1"), ("oak/listing.json", b'{"ListPrice": 1}'))
    unpack(("1.zip", first))
    assert unpack(("1.zip", first))["oak/front.jpg"] == b"1"  # the same again is no other home
    other = packed(("oak/front.jpg", b"2"))
    unpack.refused(("2.zip", other), words=r"oak holds another front\.jpg from an earlier upload")
    facts = packed(("oak/front.jpg", b"1"), ("oak/listing.json", b'{"ListPrice": 2}'))
    assert unpack(("3.zip", facts))["oak/listing.json"] == b'{"ListPrice": 2}'


def test_the_table_of_all_homes_is_shared_out(unpack: Unpacker) -> None:
    table = b"ListingId;ListPrice\n12 oak;84.5\n14 elm;90000\n9 ash;70000\n"
    pack = packed(
        ("z/listings.csv", table),
        ("z/12 oak/1.jpg", b"1"),
        ("z/12 oak/listing.json", b'{"ListPrice": 84500}'),
        ("z/14 elm/1.jpg", b"2"),
    )
    kept = unpack(("h.zip", pack))
    assert json.loads(kept["12 oak/listing.json"]) == {"ListPrice": 84500}
    homes, _ = read_homes(unpack.target)
    assert [(h.home, h.list_price_usd) for h in homes] == [
        ("9 ash", 70000), ("12 oak", 84500), ("14 elm", 90000)
    ]  # fmt: skip


def test_one_bad_file_keeps_the_others_out_too(unpack: Unpacker) -> None:
    unpack.refused(("1.jpg", b"1"), ("h.zip", b"no zip"), words=r"h\.zip can't be unpacked")
    unpack.refused(("notes.txt", b"1"), words="hold no photo")
    assert unpack.kept() == {}


@pytest.mark.parametrize(
    "name",
    [
        "../../front.jpg",
        "/etc/front.jpg",
        "..\\..\\front.jpg",
        "C:\\homes\\front.jpg",
        "\\\\host\\share\\front.jpg",
        "fr\0ont.jpg",
        "\u202egpj.tnorf.jpg",
        "CON.jpg",
        ".htaccess.jpg",
        "x" * 5_000 + ".jpg",
    ],
)
def test_the_name_of_a_dropped_photo_is_never_a_path(unpack: Unpacker, name: str) -> None:
    kept = unpack((name, b"photo"))
    assert list(kept.values()) == [b"photo"]
    ((place, _),) = kept.items()
    assert place.startswith("my home/")
    assert place.count("/") == 1
    assert place.endswith(".jpg")


@pytest.mark.parametrize(
    "home", ["../../etc", "/etc", "a/b", "..", "C:\\x", "\0", "x" * 5_000, "-rf"]
)
def test_the_name_of_a_home_is_never_a_path(unpack: Unpacker, home: str) -> None:
    folder = unpack.outer / "scratch"
    folder.mkdir()
    unpack_homes([("front.jpg", b"photo")], home, unpack.target, folder)
    ((place, content),) = unpack.kept().items()
    assert (place.count("/"), content) == (1, b"photo")
    assert not [p for p in unpack.target.parent.iterdir() if p != unpack.target]
