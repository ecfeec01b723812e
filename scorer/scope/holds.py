"""What must be looked at before the work over it may start."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from scorer.conditions.checklist import HoldKind, load_conditions, load_holds
from scorer.conditions.finding import Finding
from scorer.conditions.suggesting import LEAD_BEFORE_YEAR
from scorer.listing.listing import Listing
from scorer.records import Range
from scorer.rooms import WHOLE_HOME, Room
from scorer.scope.plan import Hold
from scorer.upgrades.option import Option

SAFE_WHILE_LEFT_ALONE = frozenset({"lead_paint", "suspect_asbestos"})
"""Kinds that may stay as they are while sound and undisturbed (40 CFR 745 subpart E speaks of
renovation that disturbs paint; 29 CFR 1926.1101 of work that disturbs the material)."""

YEAR_UNKNOWN = "year_built_unknown"
OLD_ENOUGH_FOR = {"lead_paint": "built_before_1978", "suspect_asbestos": "built_by_1980"}
"""Kinds that the year built starts, and the condition that says so."""

LEAK, STAINED_CEILING = "water_leak", frozenset({"ceiling_stain", "ceiling_wet"})
"""A leak may have stained the ceiling of the room below it. Which room that is is not known, so
work on every stained ceiling waits (common practice, no source)."""

UNKNOWN_YEAR_CHANCE = 0.55
"""Chance that a rental of unknown year is that old [0–1]: about 55 % of rented homes in the United
States are from before 1980 (American Housing Survey 2021, from memory)."""


def find_holds(
    findings: Iterable[Finding],
    options: Sequence[Option],
    rooms: Iterable[Room] = (),
    listing: Listing | None = None,
) -> tuple[Hold, ...]:
    """Holds that the findings start, each with the options that wait for it.

    A finding starts a hold where the checklist says so at its severity. A hold that reaches the
    whole home, or was found in no one room, stops work in every room; otherwise only in its own. A
    leak stops the work on stained ceilings elsewhere as well, one of which may lie below it.
    An option waits if it names the kind of hold in ``held_by``. Findings of the same kind and
    place make one hold; its probability is that of the surest. But where work on offer puts one of
    them right and not another, each has a hold of its own: a new trap below the sink mends no drain
    of the tub. Where the year built is not known, old paint and old material are presumed, with the
    chance that a rental is that old, until a person says more.

    Parameters
    ----------
    findings
        Rejected ones are left out.
    options
        All options of the home.
    rooms
        The home's rooms; fixes the order of the holds.
    listing
        Facts. A lead-paint hold is left out where the year built says it cannot be, unless a
        person tagged what started it.

    Returns
    -------
    tuple of Hold
        Whole-home holds first, then room by room.
    """
    conditions, kinds = load_conditions(), load_holds()
    findings = list(findings)
    started: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        condition = conditions.get(finding.condition)
        if finding.rejected or condition is None or not condition.holds_at(finding.severity):
            continue
        kind = kinds[str(condition.hold)]
        if _ruled_out(kind, finding, listing):
            continue
        room = WHOLE_HOME if kind.reach == "home" else finding.room
        started.setdefault((room, kind.id), []).append(finding)
    for kind_id, finding in _of_unknown_year(findings):
        started.setdefault((WHOLE_HOME, kind_id), []).append(finding)
    place = {WHOLE_HOME: -1, **{room.name: i for i, room in enumerate(rooms)}}
    order = {identifier: i for i, identifier in enumerate(kinds)}
    keys = sorted(started, key=lambda key: (place.get(key[0], len(place)), order[key[1]]))
    return tuple(
        hold
        for room, kind in keys
        for hold in _holds(room, kinds[kind], started[room, kind], options)
    )


def _of_unknown_year(findings: Sequence[Finding]) -> list[tuple[str, Finding]]:
    """Kinds that a home of unknown year may have, unless a person said more of its age."""
    said = {finding.condition for finding in findings}
    unknown = [f for f in findings if f.condition == YEAR_UNKNOWN and not f.rejected]
    chance = {"certainty": UNKNOWN_YEAR_CHANCE}
    return [
        (kind, finding.model_copy(update=chance))
        for finding in unknown[:1]
        for kind, condition in OLD_ENOUGH_FOR.items()
        if condition not in said
    ]


def _ruled_out(kind: HoldKind, finding: Finding, listing: Listing | None) -> bool:
    if kind.id != "lead_paint" or listing is None or listing.year_built is None:
        return False
    return listing.year_built >= LEAD_BEFORE_YEAR and not finding.by_person


def _holds(
    room: str, kind: HoldKind, findings: Sequence[Finding], options: Sequence[Option]
) -> list[Hold]:
    """One hold, or one for each set of options that puts some of the findings right."""
    everywhere = room == WHOLE_HOME
    here = [o for o in options if everywhere or o.room in {room, WHOLE_HOME}]
    stops = tuple(
        o.id
        for o in options
        if kind.id in o.held_by and (everywhere or o.room == room or _may_lie_below(kind, o))
    )
    causes: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        cures = tuple(o.id for o in here if o.upgrade in kind.cleared_by and _cures(o, finding))
        causes.setdefault(cures, []).append(finding)
    return [
        _hold(room, kind, causes[cures], stops, cures, number if len(causes) > 1 else None)
        for number, cures in enumerate(sorted(causes))  # what nothing on offer cures comes first
    ]


def _may_lie_below(kind: HoldKind, option: Option) -> bool:
    return kind.id == LEAK and not STAINED_CEILING.isdisjoint(option.reasons)


def _cures(option: Option, finding: Finding) -> bool:
    return finding.condition in option.reasons and option.room in {finding.room, WHOLE_HOME}


def _hold(
    room: str,
    kind: HoldKind,
    findings: Sequence[Finding],
    stops: tuple[str, ...],
    cleared_by: tuple[str, ...],
    number: int | None,
) -> Hold:
    """A hold; of several of a kind in one place, each says what it is about."""
    identifier, label = f"{room}: {kind.id}", kind.label
    if all(finding.condition == YEAR_UNKNOWN for finding in findings):
        label = f"Year built not known: {kind.label.partition(': ')[2]}"
    if number is not None:
        conditions = dict.fromkeys(finding.condition for finding in findings)
        names = (load_conditions()[condition].label for condition in conditions)
        label = f"{kind.label} ({'; '.join(names)})"
        identifier = f"{identifier}, {', '.join(conditions)}" if number else identifier
    return Hold(
        id=identifier,
        kind=kind.id,
        room=room,
        label=label,
        who=kind.who,
        stops=stops,
        cleared_by=cleared_by,
        probability=max(finding.certainty for finding in findings),
        only_if_disturbed=kind.id in SAFE_WHILE_LEFT_ALONE,
        allowance_usd=kind.allowance_usd,
        caution=kind.caution,
        source=kind.source,
    )


def holds_of_scope(holds: Iterable[Hold], chosen: Iterable[Option]) -> tuple[Hold, ...]:
    """The holds as they concern the chosen options.

    ``stops`` and ``cleared_by`` are narrowed to what was chosen. Where the scope itself clears a
    hold its allowance is zero. Dropped is what stops nothing here and either is safe while left
    alone or is cleared by the scope.
    """
    ids = {option.id for option in chosen}
    kept = []
    for hold in holds:
        stops = tuple(i for i in hold.stops if i in ids)
        clearing = tuple(i for i in hold.cleared_by if i in ids)
        if not stops and (hold.only_if_disturbed or clearing):
            continue
        allowance = Range.exactly(0.0) if clearing else hold.allowance_usd
        kept.append(
            hold.model_copy(
                update={"stops": stops, "cleared_by": clearing, "allowance_usd": allowance}
            )
        )
    return tuple(kept)
