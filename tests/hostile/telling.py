"""Photos that tell of place, device, owner and history, in every corner that holds any."""

from __future__ import annotations

import io

from PIL import ExifTags, Image, TiffImagePlugin

from tests.homes import room_picture

ROOM = room_picture((180, 170, 150))
PLACE = b"40.4461N"
DEVICE = b"SERIAL-1234-OWNER"


def telling() -> bytes:
    """A JPEG with place, device, owner and editing history in every corner that holds any."""
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = DEVICE.decode()
    exif[ExifTags.Base.Artist] = DEVICE.decode()
    exif[ExifTags.Base.ImageDescription] = PLACE.decode()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.MakerNote] = DEVICE * 20
    details[ExifTags.Base.BodySerialNumber] = DEVICE.decode()
    details[ExifTags.Base.UserComment] = PLACE
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef] = "N"
    gps[ExifTags.GPS.GPSLatitude] = tuple(
        TiffImagePlugin.IFDRational(*part) for part in ((40, 1), (26, 1), (46, 1))
    )
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/">' + PLACE + DEVICE + b"</x:xmpmeta>"
    return encoded(ROOM, "JPEG", quality=92, exif=exif, xmp=xmp, comment=PLACE + DEVICE)


def segments(jpeg: bytes) -> list[int]:
    """Markers of a JPEG before its first scan (ITU-T T.81, B.1.1)."""
    found, at = [], 2
    while jpeg[at] == 0xFF and jpeg[at + 1] != 0xDA:
        found.append(jpeg[at + 1])
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")
    return found


def encoded(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def heic(image: Image.Image, **options: object) -> bytes:
    import pillow_heif

    pillow_heif.register_heif_opener()
    return encoded(image, "HEIF", **options)
