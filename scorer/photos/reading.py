"""What was measured in one photo: the record that ``value-add read`` prints."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from scorer.records import Probability, Range, Record

Tone = Literal["dark", "mid", "light"]


class Colour(Record):
    """A colour: sRGB hex, CIE L*a*b* (D65), nearest ISCC-NBS name."""

    hex: str = Field(pattern="^#[0-9a-f]{6}$")
    name: str
    lab: tuple[float, float, float]


class DominantColour(Record):
    """One cluster of the photo's colours; ``share`` is the part of the frame [0–1]."""

    hex: str
    name: str
    share: Probability


class RoomGuess(Record):
    """Room kind (``kitchen``, ``bathroom``, ``bedroom``, ``front``, … or ``unsure``).

    ``seen`` is what the network alone makes of the photo, whatever its name says: the chance of
    each kind that it knows, and of ``unsure`` [0–1].
    """

    kind: str
    probability: Probability
    seen: dict[str, Probability] = Field(default_factory=dict)


class Exposure(Record):
    """How the photo was exposed. ``mean_lightness`` is L* [0–100] of the mean linear luminance;
    clipped shares are parts of the frame at or beyond the sensor's ends [0–1]."""

    kind: Literal["dark", "ok", "bright"]
    dark_probability: Probability
    mean_lightness: float
    mean_luminance: Probability
    clipped_bright_share: Probability
    clipped_dark_share: Probability


class Light(Record):
    """How light the room is. Illuminance [lx] only where the photo's EXIF allows an estimate."""

    kind: Literal["dim", "ok", "bright"]
    dim_probability: Probability
    window_share: Probability | None = None
    blown_window_share: Probability | None = None
    scene_luminance_cd_m2: Range | None = None
    illuminance_lux: Range | None = None


class ToneProbability(Record):
    """Sums to 1."""

    dark: Probability
    mid: Probability
    light: Probability


class Wall(Record):
    """The wall as a surface, lighting discounted.

    Attributes
    ----------
    fraction
        Part of the frame that is wall [0–1].
    lrv
        Light reflectance value [0–100], 5th to 95th percentile as low and high.
    reference
        What stood for white: ``ceiling``, ``trim``, ``fixture``, ``bright neutral`` or ``photo``.
    colour, bold_probability
        None in a black-and-white photo.
    covered_probability
        Chance that most of the wall is tile, stone, panels or paper and not plain paint [0–1].
    region
        Bounding box of the wall pixels, as shares of width and height (left, top, right, bottom).
    """

    fraction: Probability
    tone: Tone | None = None
    tone_probability: ToneProbability | None = None
    lrv: Range | None = None
    colour: Colour | None = None
    bold_probability: Probability | None = None
    reference: str | None = None
    covered_probability: Probability | None = None
    region: tuple[float, float, float, float] | None = None


class Finish(Record):
    """Hint whether kitchen or bathroom finishes are dated."""

    dated_probability: Probability


class FloorCover(Record):
    """Floor covering seen (``carpet``, ``wood``, ``tile`` or ``other``)."""

    kind: str
    probability: Probability
    fraction: Probability


class Cabinets(Record):
    """Tone of cabinet fronts seen (``white``, ``light_wood``, ``dark_wood``, …)."""

    tone: str
    probability: Probability
    fraction: Probability


class Trust(Record):
    """Why this photo should be trusted less; ``reasons`` are plain words.

    ``picture`` is what was measured where plain bars around it were left out, as shares of width
    and height (left, top, right, bottom); None where there are no bars.
    """

    width_px: int
    height_px: int
    tilt_degrees: float | None = None
    picture: tuple[float, float, float, float] | None = None
    reasons: tuple[str, ...] = ()


class Reading(Record):
    """Everything measured in one photo; a figure that could not be had is None.

    Attributes
    ----------
    file
        The name as it was given.
    error
        One sentence if the photo could not be read, else None; then all else is None.
    sharpness
        Variance of the Laplacian of L* at the analysis size [L*²] [1]_.
    content_hash
        64-bit perceptual hash as 16 hex digits; near-duplicates differ in few bits [2]_.
    seconds
        Time the reading took [s].

    References
    ----------
    .. [1] J. L. Pech-Pacheco et al., "Diatom autofocusing in brightfield microscopy: a comparative
       study", ICPR 2000.
    .. [2] N. Krawetz, "Looks Like It", 2011.
    """

    file: str
    error: str | None = None
    room: RoomGuess | None = None
    exposure: Exposure | None = None
    light: Light | None = None
    wall: Wall | None = None
    finish: Finish | None = None
    floor: FloorCover | None = None
    cabinets: Cabinets | None = None
    dominant: tuple[DominantColour, ...] = ()
    sharpness: float | None = None
    content_hash: str | None = None
    trust: Trust | None = None
    seconds: float | None = None
