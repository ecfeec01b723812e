"""What photos and facts suggest, before anybody has been there.

Each threshold is a probability that the readings give; they are calibrated on labelled photos
(``tests/measure``), so a threshold of one half means "more likely than not".
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Evidence, Finding
from scorer.listing.listing import Listing
from scorer.photos.reading import Reading
from scorer.rooms import WHOLE_HOME, Room, RoomKind

LIKELY = 0.5
"""A condition is suggested from this probability on [0–1]."""
PHOTO_DARK_AT = 0.5
"""A photo is called dark from this probability on [0–1]."""
ACCENT_STRONG, ACCENT_PLAIN = 0.6, 0.3
"""One photo above and one below: one wall of the room has a strong colour, the others not [0–1]."""
LEAST_WALL = 0.03
"""Share of the frame below which a wall, floor or cabinet reading says too little [0–1]."""
CARPET_WORN_SHARE = 0.5
"""Chance that a carpet seen in a photo is worn; a photo cannot tell, so neither yes nor no."""
COVERED_AT = 0.25
"""Walls are worth a look from this chance of tile, panels or paper on [0–1]. Of 335 labelled photos
of houses that the model had not seen, 21 reach it: on 18 most of the wall is no paint, on 2 a
part."""
TILED = frozenset({RoomKind.BATHROOM, RoomKind.KITCHEN})
"""Rooms where a part of the wall is often tile: 23 of 217 labelled photos, beside 6 all of tile."""
LESS_TRUST = 0.5
"""Weight of a photo that gives a reason to be trusted less, against 1."""
WALL_SEVERE_LRV, WALL_PLAIN_LRV = 10.0, 18.0
"""Below: severity 3 and 2 of a dark wall [LRV]; 18 is photographic mid-grey, 10 common practice."""
REMODELED_ODDS = 0.25
"""Odds of a dated or worn finish where the listing's ``PropertyCondition`` says UpdatedRemodeled
(RESO Data Dictionary 2.0), over those from the photos alone; common practice, no source."""
AGE_OF_FINISH = frozenset({"dated_kitchen", "dated_bathroom", "worn_carpet"})
LEAD_BEFORE_YEAR = 1978
"""Housing built before is treated as holding lead paint; later housing is outside the rule (40 CFR
745 subpart E, 745.80)."""
ASBESTOS_UP_TO_YEAR = 1980
"""Floors and sprayed ceilings put in no later are presumed to hold asbestos (29 CFR 1926.1101)."""

Shot = tuple[Reading, Room]
_Reader = Callable[[Reading], tuple[float, float, str] | None]


def suggest(
    readings: Iterable[tuple[Reading, Room | None]],
    listing: Listing,
    painted: Collection[str] = (),
) -> tuple[Finding, ...]:
    """Findings that photos and facts suggest, for a person to confirm or reject.

    Near-duplicate photos of one room count once. A probability of a room is the mean over its
    photos, weighed by how much of the frame shows the thing and by the photo's trust.

    Parameters
    ----------
    readings
        Each photo's reading with the room that it shows; None where the room is not known, which
        leaves the photo out.
    painted
        Rooms whose walls are plain paint, as a person said there: what the photos show of tile,
        panels or paper takes nothing from the chance that paint would help.

    Returns
    -------
    tuple of Finding
        One per room and condition, in the order of the rooms; certainty is the probability that
        the condition is there [0–1].
    """
    by_room: dict[str, list[Shot]] = defaultdict(list)
    for reading, room in readings:
        if room is not None and reading.error is None:
            by_room[room.name].append((reading, room))
    findings = [
        finding
        for shots in by_room.values()
        for finding in _of_room(
            shots[0][1],
            _different([reading for reading, _ in shots]),
            painted=shots[0][1].name in painted,
        )
    ]
    if _said_remodeled(listing):
        findings = [kept for f in findings if (kept := _if_remodeled(f)) is not None]
    return (*findings, *_from_facts(listing))


def _said_remodeled(listing: Listing) -> bool:
    said = listing.other.get("PropertyCondition", "").replace(" ", "").lower()
    return "updatedremodeled" in said or "updated/remodeled" in said


def _if_remodeled(finding: Finding) -> Finding | None:
    """The finding with the listing's word weighed in; None where it is no longer likely."""
    if finding.condition not in AGE_OF_FINISH:
        return finding
    odds = REMODELED_ODDS * finding.certainty / max(1.0 - finding.certainty, 1e-9)
    certainty = odds / (1.0 + odds)
    if certainty < LIKELY:
        return None
    said = Evidence(source="facts", figure="the listing says updated or remodeled")
    return finding.model_copy(
        update={"certainty": certainty, "evidence": (*finding.evidence, said)}
    )


def _different(readings: Sequence[Reading]) -> list[Reading]:
    """One photo of each group of near-duplicates: the largest of the most trusted."""
    from scorer.photos.likeness import group_duplicates

    best: dict[str, Reading] = {}
    group_of = {file: group[0] for group in group_duplicates(readings) for file in group}
    for reading in readings:
        key = group_of.get(reading.file, reading.file)
        if key not in best or _worth(reading) > _worth(best[key]):
            best[key] = reading
    return list(best.values())


def _worth(reading: Reading) -> tuple[float, int, float]:
    """A smaller copy of a photo is sharper, pixel for pixel, and shows less: size goes first."""
    size = reading.trust.width_px * reading.trust.height_px if reading.trust is not None else 0
    return _trust(reading), size, reading.sharpness or 0.0


def _trust(reading: Reading) -> float:
    return LESS_TRUST if reading.trust is not None and reading.trust.reasons else 1.0


def _of_room(room: Room, readings: Sequence[Reading], painted: bool) -> Iterable[Finding]:
    def paint(read: _Reader) -> _Reader:
        return read if painted else _if_paint(read, room)

    found = [
        _suggestion(
            room,
            "dark_walls",
            readings,
            paint(_dark_wall),
            severity=_dark_severity(readings),
        ),
        *_bold_walls(room, readings, paint(_bold)),
        _suggestion(room, "walls_light_neutral", readings, paint(_light_wall)),
        _suggestion(room, "walls_covered", readings, _covered, at=COVERED_AT),
        _suggestion(room, "dim_room", readings, _dim),
        _dark_photo(room, readings),
        _suggestion(room, "worn_carpet", readings, _worn_carpet, at=LIKELY * CARPET_WORN_SHARE),
        _suggestion(room, "carpet_in_wet_room", readings, _carpet),
        _suggestion(room, "dark_cabinets", readings, _dark_cabinets),
    ]
    if room.kind in {RoomKind.KITCHEN, RoomKind.BATHROOM}:
        # Finishes that are not dated need not be done up: only a person can say that they are.
        found.append(_suggestion(room, f"dated_{room.kind.value}", readings, _dated))
    return [finding for finding in found if finding is not None]


def _suggestion(
    room: Room,
    condition: str,
    readings: Sequence[Reading],
    read: _Reader,
    *,
    at: float = LIKELY,
    severity: int | None = None,
) -> Finding | None:
    """A finding where the weighed mean of what ``read`` gives reaches ``at``."""
    row = load_conditions()[condition]
    if room.kind not in row.room_kinds:
        return None
    seen = [(reading, value) for reading in readings if (value := read(reading)) is not None]
    weight = sum(value[1] * _trust(reading) for reading, value in seen)
    if not seen or weight <= 0:
        return None
    certainty = sum(v[0] * v[1] * _trust(reading) for reading, v in seen) / weight
    if certainty < at:
        return None
    return Finding(
        room=room.name,
        condition=condition,
        severity=row.default_severity if severity is None else severity,
        certainty=min(1.0, max(0.0, certainty)),
        evidence=tuple(_evidence(reading, value[2]) for reading, value in seen),
    )


def _evidence(reading: Reading, figure: str) -> Evidence:
    if reading.trust is not None and reading.trust.reasons:
        figure += f"; less sure: {', '.join(reading.trust.reasons)}"
    return Evidence(source="photo", photo=reading.file, figure=figure)


# Each reader gives the probability, its weight and the figure behind it, or None if not seen.


def _lrv_text(reading: Reading) -> str:
    wall = reading.wall
    if wall is None or wall.lrv is None:
        return "wall reflectance not known"
    text = f"wall LRV {wall.lrv.typical:.0f} ({wall.lrv.low:.0f}–{wall.lrv.high:.0f})"
    return f"{text}, reference {wall.reference}" if wall.reference else text


def _dark_wall(reading: Reading) -> tuple[float, float, str] | None:
    wall = reading.wall
    if wall is None or wall.tone_probability is None or wall.fraction < LEAST_WALL:
        return None
    probability = wall.tone_probability.dark
    return probability, wall.fraction, f"{_lrv_text(reading)}, dark {probability:.0%}"


def _light_wall(reading: Reading) -> tuple[float, float, str] | None:
    wall = reading.wall
    if wall is None or wall.tone_probability is None or wall.fraction < LEAST_WALL:
        return None
    if wall.bold_probability is None:  # black and white: light, but who knows whether neutral
        return None
    probability = wall.tone_probability.light * (1.0 - wall.bold_probability)
    return probability, wall.fraction, f"{_lrv_text(reading)}, light and neutral {probability:.0%}"


def _bold(reading: Reading) -> tuple[float, float, str] | None:
    wall = reading.wall
    if wall is None or wall.bold_probability is None or wall.fraction < LEAST_WALL:
        return None
    colour = f"wall {wall.colour.name} {wall.colour.hex}, " if wall.colour else ""
    probability = wall.bold_probability
    return probability, wall.fraction, f"{colour}strong colour {probability:.0%}"


def _if_paint(read: _Reader, room: Room) -> _Reader:
    """The reader's probability times that of plain paint: other walls want other work.

    Block and panels in a basement are painted as well, so there it is only said.
    """

    def read_paint(reading: Reading) -> tuple[float, float, str] | None:
        value = read(reading)
        if value is None:
            return None
        probability, weight, figure = value
        covered = _covered_chance(reading)
        if covered >= COVERED_AT:
            figure += f"; {covered:.0%} likely not plain paint (tile, panels, paper): look first"
        elif room.kind in TILED:
            figure += "; where it is paint, not tile"
        paint = 1.0 if room.kind is RoomKind.BASEMENT else 1.0 - covered
        return probability * paint, weight, figure

    return read_paint


def _covered_chance(reading: Reading) -> float:
    return (reading.wall.covered_probability or 0.0) if reading.wall is not None else 0.0


def _covered(reading: Reading) -> tuple[float, float, str] | None:
    wall = reading.wall
    if wall is None or wall.covered_probability is None or wall.fraction < LEAST_WALL:
        return None
    covered = wall.covered_probability
    figure = f"fine pattern all over the wall, {covered:.0%} likely tile, panels or paper"
    if covered >= COVERED_AT and wall.tone_probability is not None:
        seen = (("dark", wall.tone_probability.dark), ("strong colour", wall.bold_probability))
        said = [f"{what} {chance:.0%}" for what, chance in seen if (chance or 0.0) >= LIKELY]
        if said:
            figure += f"; {', '.join(said)}: worth a coat only if it is paint"
    return covered, wall.fraction, figure


def _dark_severity(readings: Sequence[Reading]) -> int:
    """Severity from the wall's reflectance, the median over the photos."""
    values = sorted(r.wall.lrv.typical for r in readings if r.wall and r.wall.lrv)
    if not values:
        return load_conditions()["dark_walls"].default_severity
    lrv = values[len(values) // 2]
    return 3 if lrv < WALL_SEVERE_LRV else 2 if lrv < WALL_PLAIN_LRV else 1


def _bold_walls(room: Room, readings: Sequence[Reading], bold: _Reader) -> list[Finding | None]:
    seen = [value[0] for reading in readings if (value := bold(reading)) is not None]
    mixed = len(seen) > 1 and max(seen) >= ACCENT_STRONG and min(seen) <= ACCENT_PLAIN
    if mixed and room.kind in load_conditions()["accent_wall"].room_kinds:
        strong = [r for r in readings if (v := bold(r)) is not None and v[0] >= ACCENT_STRONG]
        return [_suggestion(room, "accent_wall", strong, bold)]
    return [_suggestion(room, "bold_walls", readings, bold)]


def _dim(reading: Reading) -> tuple[float, float, str] | None:
    if reading.light is None:
        return None
    light = reading.light
    lux = light.illuminance_lux
    known = f", about {lux.typical:.0f} lx ({lux.low:.0f}–{lux.high:.0f})" if lux else ""
    return light.dim_probability, 1.0, f"room dim {light.dim_probability:.0%}{known}"


def _dark_photo(room: Room, readings: Sequence[Reading]) -> Finding | None:
    """A note to look, where every photo of the room is dark."""
    exposed = [r for r in readings if r.exposure is not None]
    if not exposed or any(
        r.exposure is not None and r.exposure.dark_probability < PHOTO_DARK_AT for r in exposed
    ):
        return None
    return _suggestion(room, "photo_too_dark", exposed, _exposure)


def _exposure(reading: Reading) -> tuple[float, float, str] | None:
    exposure = reading.exposure
    if exposure is None:
        return None
    wall = f"; {_lrv_text(reading)}" if reading.wall and reading.wall.lrv else ""
    figure = f"photo dark {exposure.dark_probability:.0%}, mean L* {exposure.mean_lightness:.0f}"
    return exposure.dark_probability, 1.0, figure + wall


def _carpet(reading: Reading) -> tuple[float, float, str] | None:
    floor = reading.floor
    if floor is None or floor.fraction < LEAST_WALL:
        return None
    probability = floor.probability if floor.kind == "carpet" else 0.0
    return probability, floor.fraction, f"floor seen as {floor.kind} {floor.probability:.0%}"


def _worn_carpet(reading: Reading) -> tuple[float, float, str] | None:
    carpet = _carpet(reading)
    if carpet is None:
        return None
    return carpet[0] * CARPET_WORN_SHARE, carpet[1], f"{carpet[2]}; wear not visible"


def _dark_cabinets(reading: Reading) -> tuple[float, float, str] | None:
    fronts = reading.cabinets
    if fronts is None or fronts.fraction < LEAST_WALL:
        return None
    probability = fronts.probability if fronts.tone.startswith("dark") else 0.0
    tone = fronts.tone.replace("_", " ")
    return probability, fronts.fraction, f"cabinet fronts {tone} {fronts.probability:.0%}"


def _dated(reading: Reading) -> tuple[float, float, str] | None:
    if reading.finish is None:
        return None
    probability = reading.finish.dated_probability
    return probability, 1.0, f"finishes dated {probability:.0%}"


def _from_facts(listing: Listing) -> tuple[Finding, ...]:
    year = listing.year_built
    if year is None:
        return (_fact("year_built_unknown", "year built not given"),)
    found = []
    if year < LEAD_BEFORE_YEAR:
        found.append(_fact("built_before_1978", f"built {year}, before {LEAD_BEFORE_YEAR}"))
    if year <= ASBESTOS_UP_TO_YEAR:
        found.append(_fact("built_by_1980", f"built {year}, up to {ASBESTOS_UP_TO_YEAR}"))
    return tuple(found)


def _fact(condition: str, figure: str) -> Finding:
    return Finding(
        room=WHOLE_HOME,
        condition=condition,
        severity=load_conditions()[condition].default_severity,
        certainty=1.0,
        evidence=(Evidence(source="facts", figure=figure),),
    )
