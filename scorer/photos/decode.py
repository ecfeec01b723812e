"""From the bytes of a photo to upright 8-bit sRGB pixels, safely and at a reduced scale.

Size, format and pixel count are checked from the header before anything is decoded. JPEG is decoded
straight to an eighth, a quarter or half of its size where that is enough [1]_.

References
----------
.. [1] Pillow documentation, ``Image.draft``: the decoder's own scaling by 1/2, 1/4, 1/8.
.. [2] CIPA DC-008-2019 (Exif 2.32): tags 0x0112, 0x829A, 0x829D, 0x8827, 0x9204, 0x9209.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import ExifTags, Image, ImageCms, UnidentifiedImageError

from scorer.errors import InputError
from scorer.photos.colour import ByteArray

PhotoSource = str | PathLike[str] | bytes

MAX_BYTES = 120_000_000
MAX_PIXELS = 120_000_000
MIN_SIDE_PX = 32
MAX_ASPECT = 12.0
FORMATS = ("JPEG", "MPO", "PNG", "WEBP", "HEIF", "AVIF", "TIFF", "GIF", "BMP")
_READABLE = "a JPEG, PNG, WebP or HEIC photo"

# The header is checked against MAX_PIXELS below, so Pillow's own milder warning adds nothing.
warnings.filterwarnings("ignore", category=Image.DecompressionBombWarning)
# Damaged metadata is left out; a warning of a library says nothing to a landlord.
warnings.filterwarnings("ignore", category=UserWarning, module=r"PIL\.")

_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True)
class CameraExposure:
    """How the camera exposed the photo [2]_.

    Attributes
    ----------
    seconds, f_number, iso
        Exposure time [s], aperture as N of f/N, ISO speed.
    flash
        True if a flash fired, None where the file does not say.
    """

    seconds: float
    f_number: float
    iso: float
    flash: bool | None = None


@dataclass(frozen=True)
class DecodedPhoto:
    """Upright sRGB pixels, the size of the upright original [px], and the camera's exposure.

    ``picture`` is the part of the original that ``rgb`` shows, as shares of its width and height
    (left, top, right, bottom): less than all of it once plain bars were left out.
    """

    rgb: ByteArray
    width_px: int
    height_px: int
    camera: CameraExposure | None = None
    picture: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0)


def source_name(source: PhotoSource, name: str | None = None) -> str:
    """The name to show for a photo."""
    if name is not None:
        return name
    return "photo" if isinstance(source, bytes) else Path(source).name


def decode(
    source: PhotoSource, *, longest_px: int | None = None, name: str | None = None
) -> DecodedPhoto:
    """Decode a photo.

    Parameters
    ----------
    source
        Path of a file, or its bytes.
    longest_px
        The longest side wanted [px]; a smaller photo keeps its size. None decodes at full size.
    name
        What to call the photo in messages; the file's name by default.

    Raises
    ------
    InputError
        One sentence: what is wrong with the file and how to mend it.
    """
    shown = source_name(source, name)
    stream = _open_bytes(source, shown)
    try:
        with _open_image(stream, shown) as image:
            _check_size(image, shown)
            return _decode(image, longest_px)
    except InputError:
        raise
    except MemoryError as error:
        raise InputError(
            f"{shown}: there is not enough memory to open this photo; save a smaller copy."
        ) from error
    except Exception as error:  # a hostile file can fail anywhere in a decoder
        text = str(error).lower()
        if "truncated" in text or "unexpected end" in text or "not enough" in text:
            raise InputError(
                f"{shown}: the file is cut short, so part of the photo is missing; copy or "
                f"download it again."
            ) from error
        raise InputError(
            f"{shown}: the photo is damaged and cannot be opened; copy or download it again, or "
            f"save it as JPEG."
        ) from error


def load_photo(
    path: PhotoSource, *, longest_px: int | None = None, name: str | None = None
) -> ByteArray:
    """Upright 8-bit sRGB pixels (h, w, 3) of a photo; see `decode` for arguments and errors."""
    return decode(path, longest_px=longest_px, name=name).rgb


def thumbnail_jpeg(path: PhotoSource, width: int, *, quality: int = 82) -> bytes:
    """A small upright sRGB JPEG, `width` pixels wide at most, without any metadata.

    Raises
    ------
    InputError
        as `decode`.
    ValueError
        when `width` is not between 1 and 4096.
    """
    if not 1 <= width <= 4096:
        raise ValueError(f"width must be between 1 and 4096 px: {width}")
    photo = decode(path, longest_px=_longest_for_width(path, width))
    image = Image.fromarray(photo.rgb)
    if image.width > width:
        height = max(1, round(image.height * width / image.width))
        image = image.resize((width, height), Image.Resampling.BILINEAR)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()


def _longest_for_width(source: PhotoSource, width: int) -> int:
    """A longest side that leaves at least `width` for a photo that may stand upright."""
    shown = source_name(source)
    with _open_image(_open_bytes(source, shown), shown) as image:
        long, short = max(image.size), max(1, min(image.size))
    return min(max(width, int(np.ceil(width * long / short))), 16_384)


def _open_bytes(source: PhotoSource, shown: str) -> io.BytesIO | Path:
    if isinstance(source, bytes):
        size, stream = len(source), io.BytesIO(source)
        result: io.BytesIO | Path = stream
    else:
        result = Path(source)
        try:
            folder = result.is_dir()
            size = result.stat().st_size
        except (OSError, ValueError) as error:
            raise InputError(
                f"{shown}: the file cannot be found or opened; check its name and place."
            ) from error
        if folder:
            raise InputError(
                f"{shown}: this is a folder, not a photo; give the photos in it, like "
                f"{shown.rstrip('/')}/*.jpg."
            )
    if size == 0:
        raise InputError(f"{shown}: the file is empty (0 bytes); copy or download it again.")
    if size > MAX_BYTES:
        raise InputError(
            f"{shown}: the file has {size / 1e6:.0f} MB and the limit is {MAX_BYTES / 1e6:.0f} MB; "
            f"save a smaller copy."
        )
    return result


@lru_cache(maxsize=1)
def _register_heif() -> None:
    import pillow_heif

    pillow_heif.register_heif_opener(thumbnails=False)


def _head(stream: io.BytesIO | Path) -> bytes:
    if isinstance(stream, Path):
        with stream.open("rb") as file:
            return file.read(16)
    return stream.getbuffer()[:16].tobytes()


def _open_image(stream: io.BytesIO | Path, shown: str) -> Image.Image:
    try:
        head = _head(stream)
        if head[4:8] == b"ftyp":  # HEIC's container; its reader loads only when it is needed
            _register_heif()
        known = [name for name in FORMATS if name in _formats()]
        return Image.open(stream, formats=known)
    except UnidentifiedImageError as error:
        raise InputError(
            f"{shown}: what is inside is not {_READABLE}, whatever its name ends in; save the "
            f"photo again as JPEG."
        ) from error
    except Image.DecompressionBombError as error:
        raise InputError(
            f"{shown}: the photo has more than {MAX_PIXELS / 1e6:.0f} million pixels; save a "
            f"smaller copy."
        ) from error
    except PermissionError as error:
        raise InputError(
            f"{shown}: the file may not be read; change its permissions or copy it elsewhere."
        ) from error
    except Exception as error:  # header parsers of hostile files raise all kinds
        raise InputError(
            f"{shown}: the photo is damaged and cannot be opened; copy or download it again, or "
            f"save it as JPEG."
        ) from error


def _formats() -> set[str]:
    Image.preinit()
    if "AVIF" not in Image.OPEN or "WEBP" not in Image.OPEN:
        Image.init()
    return set(Image.OPEN)


def _check_size(image: Image.Image, shown: str) -> None:
    width, height = image.size
    if width * height > MAX_PIXELS:
        raise InputError(
            f"{shown}: the photo has {width * height / 1e6:.0f} million pixels and the limit is "
            f"{MAX_PIXELS / 1e6:.0f} million; save a smaller copy."
        )
    short, long = min(width, height), max(width, height)
    if short < MIN_SIDE_PX:
        raise InputError(
            f"{shown}: the picture is only {width} × {height} pixels, too small to see a room; "
            f"use the original photo."
        )
    if long > MAX_ASPECT * short:
        raise InputError(
            f"{shown}: the picture is a strip of {width} × {height} pixels, not a photo of a "
            f"room; use the original photo."
        )


def _decode(image: Image.Image, longest_px: int | None) -> DecodedPhoto:
    width, height = image.size
    orientation, camera = _exif(image)
    if longest_px is not None and max(width, height) > longest_px:
        scale = longest_px / max(width, height)
        target = (max(1, round(width * scale)), max(1, round(height * scale)))
        image.draft(None, target)
        reduced: Image.Image = _eight_bits(image)
        if reduced.size != target:
            reduced = _smaller(reduced, target)
    else:
        reduced = _eight_bits(image)
    upright = _to_srgb(reduced, image.info.get("icc_profile"))
    if orientation in _TURNS:
        upright = upright.transpose(_TURNS[orientation])
        if orientation >= 5:
            width, height = height, width
    return DecodedPhoto(np.asarray(upright, dtype=np.uint8), width, height, camera)


def _smaller(image: Image.Image, size: tuple[int, int]) -> Image.Image:
    """Mean over areas; OpenCV does it several times faster than Pillow."""
    pixels = cv2.resize(np.asarray(image), size, interpolation=cv2.INTER_AREA)
    return Image.fromarray(pixels, image.mode)


def _eight_bits(image: Image.Image) -> Image.Image:
    """Eight bits a channel, no palette and no transparency (white shows through)."""
    image.load()
    mode = image.mode
    if mode in {"RGB", "L", "CMYK"} and "transparency" not in image.info:
        return image
    if mode.startswith("I;16"):
        return Image.fromarray((np.asarray(image) >> 8).astype(np.uint8))
    if mode in {"I", "F"}:
        values = np.nan_to_num(np.asarray(image, dtype=np.float64))
        top = values.max(initial=0.0)
        full = 255.0 if 1.0 < top <= 255.0 else (1.0 if top <= 1.0 else 65_535.0)
        return Image.fromarray((np.clip(values / full, 0, 1) * 255).astype(np.uint8))
    if mode in {"RGBA", "LA", "PA", "RGBa", "La"} or "transparency" in image.info:
        seen = image.convert("RGBA")
        white = Image.new("RGBA", seen.size, (255, 255, 255, 255))
        return Image.alpha_composite(white, seen).convert("RGB")
    return image.convert("RGB")


@lru_cache(maxsize=8)
def _transform(profile: bytes, mode: str) -> Any:
    """Transform of a colour profile into sRGB; None if the profile is sRGB's own."""
    source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    if "srgb" in ImageCms.getProfileDescription(source).lower() and mode == "RGB":
        return None
    return ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), mode, "RGB")


def _to_srgb(image: Image.Image, profile: object) -> Image.Image:
    if isinstance(profile, bytes) and profile:
        try:
            transform = _transform(profile, image.mode)
            if transform is not None:
                converted = ImageCms.applyTransform(image, transform)
                if converted is not None:
                    return converted
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a broken or foreign profile: show the pixels as they are
    return image if image.mode == "RGB" else image.convert("RGB")


def _exif(image: Image.Image) -> tuple[int, CameraExposure | None]:
    """Orientation (1–8) and exposure; whatever is missing or damaged is left out."""
    try:
        exif = image.getexif()
        orientation = int(exif.get(ExifTags.Base.Orientation, 1))
    except Exception:  # metadata must never stop a photo from being read
        return 1, None
    try:
        details = exif.get_ifd(ExifTags.IFD.Exif)
        number: Callable[[int], float] = lambda tag: _number(details.get(tag))  # noqa: E731
        seconds = number(ExifTags.Base.ExposureTime)
        aperture = number(ExifTags.Base.FNumber)
        iso = number(ExifTags.Base.ISOSpeedRatings)
        flash = details.get(ExifTags.Base.Flash)
    except Exception:  # as above
        return orientation, None
    sane = 1e-6 < seconds < 600 and 0.5 < aperture < 100 and 1 <= iso < 1e7
    if not sane:
        return orientation, None
    fired = bool(flash & 1) if isinstance(flash, int) else None
    return orientation, CameraExposure(seconds, aperture, iso, fired)


def _number(value: Any) -> float:
    if isinstance(value, tuple | list):
        value = value[0] if value else None
    return float("nan") if value is None else float(value)
