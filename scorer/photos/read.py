"""Read one photo: everything that is measured in it, in one record."""

from __future__ import annotations

import time

import cv2
import numpy as np

from scorer.errors import InputError
from scorer.photos.border import without_bars
from scorer.photos.calibration import calibration
from scorer.photos.colour import ByteArray, bytes_to_lab, lightness
from scorer.photos.decode import PhotoSource, decode, source_name
from scorer.photos.finish import read_finish
from scorer.photos.light import (
    light_features,
    network_light,
    room_illuminance,
    scene_luminance,
    window_shares,
)
from scorer.photos.likeness import content_hash
from scorer.photos.names import dominant_colours
from scorer.photos.quality import is_black_and_white, sharpness, trust
from scorer.photos.reading import (
    Cabinets,
    Exposure,
    FloorCover,
    Light,
    Reading,
    RoomGuess,
    Wall,
)
from scorer.photos.scene import ANALYSIS_PX, CABINET, FLOOR, Scene, build_scene
from scorer.photos.see import see
from scorer.photos.wall_cover import cover_calibration, covered_probability
from scorer.photos.walls import read_wall, wall_mask
from scorer.rooms import RoomKind

_METHOD = 3
ALGORITHM_VERSION = f"{_METHOD}.{cover_calibration().version}.{calibration().version}"
"""Changes whenever the same photo may give another reading; stored readings carry it."""

UNSURE = "unsure"
_HINT_PROBABILITY = 0.99  # a listing's own word for the room is seldom wrong; common practice
_SEEN = 0.02  # a surface that fills less of the frame is not judged
Box = tuple[float, float, float, float]
_OUTSIDE = {RoomKind.FRONT, RoomKind.DECK}
_CABINET_TONES = {"lightwood": "light_wood", "midwood": "mid_wood", "darkwood": "dark_wood"}


def read_photo(
    path_or_bytes: PhotoSource, *, name: str | None = None, room_kind_hint: str | None = None
) -> Reading:
    """Measure one photo.

    Parameters
    ----------
    path_or_bytes
        A file, or its bytes.
    name
        The name the reading carries; the path as it was given by default.
    room_kind_hint
        What the listing or the file's name says that the photo shows (a `RoomKind`).

    Returns
    -------
    Reading
        Never raises for a bad file: `Reading.error` then holds one sentence.
    """
    return _read(path_or_bytes, name, room_kind_hint)[0]


def read_photo_and_surfaces(
    path_or_bytes: PhotoSource, *, name: str | None = None, room_kind_hint: str | None = None
) -> tuple[Reading, ByteArray | None]:
    """As `read_photo`, with the surface codes (0 unknown, 1 wall … 9 mirror) of every pixel.

    The codes have the size of the upright photo; None where the photo could not be read.
    """
    reading, scene = _read(path_or_bytes, name, room_kind_hint)
    return reading, None if scene is None else pixel_codes(scene)


def _read(
    source: PhotoSource, name: str | None, room_kind_hint: str | None
) -> tuple[Reading, Scene | None]:
    started = time.perf_counter()
    shown = name if name is not None else _shown(source)
    try:
        scene = open_scene(source, name=name)
    except InputError as error:
        return Reading(file=shown, error=str(error), seconds=_since(started)), None
    reading = read_scene(scene, file=shown, room_kind_hint=room_kind_hint)
    return reading.model_copy(update={"seconds": _since(started)}), scene


def open_scene(path_or_bytes: PhotoSource, *, name: str | None = None) -> Scene:
    """Decode a photo, leave out plain bars around it and find its surfaces.

    Raises
    ------
    InputError
        One sentence: what is wrong with the file and how to mend it.
    """
    photo = decode(path_or_bytes, longest_px=ANALYSIS_PX, name=source_name(path_or_bytes, name))
    photo = without_bars(photo)
    return build_scene(photo, see(photo.rgb))


def read_scene(scene: Scene, *, file: str, room_kind_hint: str | None = None) -> Reading:
    """Measure a photo whose surfaces have been found."""
    photo = scene.photo
    grey = np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    l_star = np.ascontiguousarray(bytes_to_lab(photo.rgb)[..., 0])
    room = guess_room(scene, room_kind_hint)
    seen = guess_room(scene, None)
    # Where the name may be wrong, what either room would need is measured.
    outside = room.kind in _OUTSIDE and (seen.kind in _OUTSIDE or seen.kind == UNSURE)
    features = light_features(scene) | network_light(scene)
    wall = read_wall(scene)
    colourless = is_black_and_white(photo.rgb)
    if colourless and wall is not None:
        wall = wall.model_copy(update={"colour": None, "bold_probability": None})
    if outside and wall is not None:  # siding is no wall to paint with a roller indoors
        wall = Wall(fraction=wall.fraction)
    elif wall is not None and wall.tone is not None:
        covered = covered_probability(grey, wall_mask(scene))
        wall = wall.model_copy(update={"covered_probability": covered})
    if wall is not None and wall.region is not None:
        wall = wall.model_copy(update={"region": _in_the_photo(wall.region, photo.picture)})
    return Reading(
        file=file,
        room=room,
        exposure=_exposure(scene, features),
        light=None if outside else _light(scene, features),
        wall=wall,
        finish=read_finish(scene, room) or read_finish(scene, seen),
        floor=None if outside else _floor(scene),
        cabinets=None if outside else _cabinets(scene),
        dominant=dominant_colours(photo.rgb),
        sharpness=round(sharpness(l_star), 2),
        content_hash=content_hash(photo.rgb),
        trust=trust(
            photo.width_px, photo.height_px, grey, l_star, photo.picture, colourless=colourless
        ),
    )


def pixel_codes(scene: Scene) -> ByteArray | None:
    """Most probable surface code of each pixel, at the size of the upright photo; bars are 0."""
    if scene.surfaces is None:
        return None
    height, width = scene.photo.rgb.shape[:2]
    best = np.zeros((height, width), np.uint8)
    highest = np.zeros((height, width), np.float32)
    for code, layer in enumerate(scene.probability):
        fine = cv2.resize(layer, (width, height), interpolation=cv2.INTER_LINEAR)
        best[fine > highest] = code
        np.maximum(highest, fine, out=highest)
    photo = scene.photo
    codes = np.zeros((photo.height_px, photo.width_px), np.uint8)
    left, right = (round(share * photo.width_px) for share in photo.picture[::2])
    top, bottom = (round(share * photo.height_px) for share in photo.picture[1::2])
    inside = codes[top:bottom, left:right]
    inside[:] = cv2.resize(best, inside.shape[::-1], interpolation=cv2.INTER_NEAREST)
    return codes


def _in_the_photo(region: Box, picture: Box) -> Box:
    """A box in the picture inside its bars as a box in the whole photo, all in shares."""
    left, top, right, bottom = picture
    wide, tall = right - left, bottom - top
    a, b, c, d = region
    return (
        round(left + a * wide, 4),
        round(top + b * tall, 4),
        round(left + c * wide, 4),
        round(top + d * tall, 4),
    )


def guess_room(scene: Scene, hint: str | None) -> RoomGuess:
    """The listing's word for the room, else the network's guess, else ``unsure``."""
    answers = scene.surfaces.heads.get("room", {}) if scene.surfaces is not None else {}
    seen = {kind: round(min(max(value, 0.0), 1.0), 4) for kind, value in answers.items()}
    if hint:
        return RoomGuess(kind=str(hint), probability=_HINT_PROBABILITY, seen=seen)
    if not seen:
        return RoomGuess(kind=UNSURE, probability=0.0)
    best = max(seen, key=lambda kind: seen[kind])
    return RoomGuess(kind=best, probability=seen[best], seen=seen)


def _exposure(scene: Scene, features: dict[str, float]) -> Exposure:
    models = calibration().models
    dark = models["photo_dark"].probability(features)
    bright = models["photo_bright"].probability(features)
    mean = float(scene.luminance.mean(dtype=np.float64))
    return Exposure(
        kind="dark" if dark >= 0.5 else "bright" if bright >= 0.5 else "ok",
        dark_probability=round(dark, 4),
        mean_lightness=round(float(lightness(mean)), 2),
        mean_luminance=round(min(mean, 1.0), 5),
        clipped_bright_share=round(float(scene.clipped.mean()), 4),
        clipped_dark_share=round(float(scene.black.mean()), 4),
    )


def _light(scene: Scene, features: dict[str, float]) -> Light:
    models = calibration().models
    dim = models["room_dim"].probability(features)
    bright = models["room_bright"].probability(features)
    window, blown = window_shares(scene)
    camera = scene.photo.camera
    mean = float(scene.luminance.mean(dtype=np.float64))
    return Light(
        kind="dim" if dim >= 0.5 else "bright" if bright >= 0.5 else "ok",
        dim_probability=round(dim, 4),
        window_share=window,
        blown_window_share=blown,
        scene_luminance_cd_m2=scene_luminance(camera, mean) if camera else None,
        illuminance_lux=room_illuminance(camera, mean) if camera else None,
    )


def _floor(scene: Scene) -> FloorCover | None:
    answers = scene.surfaces.heads.get("floor", {}) if scene.surfaces is not None else {}
    fraction = float(scene.mask(FLOOR).mean())
    if not answers or fraction < _SEEN:
        return None
    best = max(answers, key=lambda kind: answers[kind])
    return FloorCover(kind=best, probability=round(answers[best], 4), fraction=round(fraction, 4))


def _cabinets(scene: Scene) -> Cabinets | None:
    answers = scene.surfaces.heads.get("cabinets", {}) if scene.surfaces is not None else {}
    answers = {tone: p for tone, p in answers.items() if tone != "none"}
    fraction = float(scene.mask(CABINET).mean())
    total = sum(answers.values())
    if total <= 0 or fraction < _SEEN:
        return None
    best = max(answers, key=lambda tone: answers[tone])
    return Cabinets(
        tone=_CABINET_TONES.get(best, best),
        probability=round(min(answers[best] / total, 1.0), 4),
        fraction=round(fraction, 4),
    )


def _shown(source: PhotoSource) -> str:
    return "photo" if isinstance(source, bytes) else str(source)


def _since(started: float) -> float:
    return round(time.perf_counter() - started, 4)
