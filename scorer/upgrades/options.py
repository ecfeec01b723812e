"""From findings to options: which upgrades they call for, and what each would take in its room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import prod

from scorer.conditions.finding import Finding
from scorer.records import Range
from scorer.rooms import WHOLE_HOME, Room, RoomKind
from scorer.settings import Settings
from scorer.upgrades.option import Family, Option, sums_of
from scorer.upgrades.pricebook import PriceBook
from scorer.upgrades.pricing import price_lines
from scorer.upgrades.spread import product
from scorer.upgrades.upgrade import RUNG_ORDER, Trigger, Upgrade

WHOLE_HOME_NAMES = (WHOLE_HOME, RoomKind.WHOLE_HOME.value)

SURE_ENOUGH_TO_KEEP = 0.5
"""A sound finding rules out what it keeps from this certainty on (common practice, no source)."""

SLIGHT_SHARE = 0.6
"""Curing a slight fault earns this share of what curing a plain one does (our own assumption, no
published source)."""


def build_options(
    findings: Sequence[Finding],
    rooms: Sequence[Room],
    catalogue: Sequence[Upgrade],
    price_book: PriceBook,
    settings: Settings,
    monthly_rent_usd: Range,
) -> tuple[Option, ...]:
    """Options of one home, room by room in the order of the catalogue.

    An upgrade becomes an option in a room where a finding calls for it and no sound finding keeps
    what is there. Its certainty is :math:`1 - \\prod(1 - c_i)` over the findings that call for it,
    taken as independent. Its cost is the sum of take-off times price book, never a lump, but for
    allowances.

    Its rent effect is the catalogue's percentage of the monthly rent, in full from a plain fault
    (severity 2) or from the gravest that it cures, :data:`SLIGHT_SHARE` of it below. A dearer rung
    earns at least what the cheaper ones in the same room do. The rent effect is what comes about
    if the fault is there: certainty is kept beside it, and whoever adds up options weighs by it.

    Parameters
    ----------
    findings
        Suggested and tagged; rejected ones call for nothing.
    rooms
        All rooms of the home; a finding in a room that is not among them is left out, but for the
        whole home, which is added where it is missing.
    catalogue, price_book, settings
        What can be done, what it costs, and the user's place, prices and hour.
    monthly_rent_usd
        Present rent, or an estimate of it [$/month].

    Raises
    ------
    InputError
        If the price book lacks a row that an upgrade needs.
    """
    by_room: dict[str, list[Finding]] = {}
    for finding in findings:
        if not finding.rejected:
            by_room.setdefault(finding.room, []).append(finding)
    options = []
    for room in _with_whole_home(rooms, by_room):
        found = by_room.get(room.name, [])
        for upgrade in catalogue if found else ():
            called = called_by(upgrade, room, found)
            if called:
                option = _option(
                    upgrade, room, called, found, price_book, settings, monthly_rent_usd
                )
                options.append(option)
    return _linked(_rising(options), {upgrade.id: upgrade for upgrade in catalogue})


def called_by(upgrade: Upgrade, room: Room, found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in a room that call for an upgrade; none where it is not offered or ruled out."""
    if room.kind not in upgrade.rooms:
        return ()
    found = [f for f in found if not f.rejected and f.room == room.name]
    if any(f.condition in upgrade.keeps and f.certainty >= SURE_ENOUGH_TO_KEEP for f in found):
        return ()
    return tuple(f for f in found if any(t.matches(f) for t in upgrade.triggers))


def _with_whole_home(rooms: Sequence[Room], found: Iterable[str]) -> list[Room]:
    known = {room.name for room in rooms}
    if any(room.kind is RoomKind.WHOLE_HOME for room in rooms):
        return list(rooms)
    names = [name for name in found if name in WHOLE_HOME_NAMES and name not in known]
    return [*rooms, *(Room(name=name, kind=RoomKind.WHOLE_HOME) for name in names)]


def _option(
    upgrade: Upgrade,
    room: Room,
    called: Sequence[Finding],
    found: Sequence[Finding],
    price_book: PriceBook,
    settings: Settings,
    monthly_rent_usd: Range,
) -> Option:
    lines = price_lines(upgrade, room, {f.condition for f in found}, price_book, settings)
    share = max(severity_share(f, t) for f in called for t in upgrade.triggers if t.matches(f))
    return Option(
        id=option_id(room.name, upgrade.id),
        room=room.name,
        room_kind=room.kind,
        upgrade=upgrade.id,
        label=upgrade.label,
        ladder=upgrade.ladder,
        rung=upgrade.rung,
        family=_family(upgrade, room),
        lines=lines,
        **sums_of(lines)._asdict(),
        rent_month_usd=product(upgrade.rent_percent, monthly_rent_usd).scaled(share / 100.0),
        certainty=1.0 - prod(1.0 - f.certainty for f in called),
        reasons=tuple(dict.fromkeys(f.condition for f in called)),
        held_by=upgrade.held_by,
        stage=upgrade.stage,
        drying_hours=upgrade.drying_hours,
        durability_years=upgrade.durability_years,
        required=upgrade.required,
        cautions=upgrade.cautions,
        source=upgrade.source,
    )


def _family(upgrade: Upgrade, room: Room) -> Family:
    """Work on cabinets and sinks counts as kitchen work in a kitchen only."""
    if upgrade.family != "kitchen" or room.kind is RoomKind.KITCHEN:
        return upgrade.family
    return "bathroom" if room.kind is RoomKind.BATHROOM else "other"


def option_id(room: str, upgrade: str) -> str:
    """Id of an upgrade in a room."""
    return f"{room}: {upgrade}"


def severity_share(finding: Finding, trigger: Trigger) -> float:
    """Share of an upgrade's full rent effect that curing this fault earns [0–1]."""
    return 1.0 if finding.severity >= min(2, trigger.max_severity) else SLIGHT_SHARE


def cheaper_rungs(option: Option, options: Iterable[Option]) -> tuple[Option, ...]:
    """Options on the same ladder in the same room that stand on a lower rung."""
    place = RUNG_ORDER.index(option.rung)
    return tuple(
        other
        for other in options
        if (other.room, other.ladder) == (option.room, option.ladder)
        and RUNG_ORDER.index(other.rung) < place
    )


def _rising(options: Sequence[Option]) -> list[Option]:
    """A dearer rung earns at least what each cheaper rung in the same room earns."""
    ladders: dict[tuple[str, str], list[Option]] = {}
    for option in options:
        ladders.setdefault((option.room, option.ladder), []).append(option)
    raised = []
    for option in options:
        mates = ladders[option.room, option.ladder]
        rents = [option.rent_month_usd, *(o.rent_month_usd for o in cheaper_rungs(option, mates))]
        best = Range(
            low=max(r.low for r in rents),
            typical=max(r.typical for r in rents),
            high=max(r.high for r in rents),
        )
        raised.append(option.model_copy(update={"rent_month_usd": best}))
    return raised


def _linked(options: Sequence[Option], catalogue: Mapping[str, Upgrade]) -> tuple[Option, ...]:
    """Options with what they need, follow and exclude as option ids.

    Names of upgrades mean the same room, or the whole home. A needed upgrade that nothing called
    for is not an option here: what it would mend is in order, so the need is met. Exclusion holds
    both ways.
    """
    by_room: dict[str, dict[str, Option]] = {}
    home: dict[str, Option] = {}
    for option in options:
        by_room.setdefault(option.room, {})[option.upgrade] = option
        if option.room_kind is RoomKind.WHOLE_HOME:
            home[option.upgrade] = option
    linked = []
    for option in options:
        upgrade = catalogue[option.upgrade]
        mates = {**home, **by_room[option.room]}
        excluded = [
            other.id
            for other in mates.values()
            if other.id != option.id
            and (
                (other.room == option.room and other.ladder == option.ladder)
                or other.upgrade in upgrade.excludes
                or option.upgrade in catalogue[other.upgrade].excludes
            )
        ]
        linked.append(
            option.model_copy(
                update={
                    "excludes": tuple(excluded),
                    "needs": tuple(mates[n].id for n in upgrade.needs if n in mates),
                    "after": tuple(mates[n].id for n in upgrade.after if n in mates),
                }
            )
        )
    return tuple(linked)
