"""Three reasons in plain words why a home stands where it stands."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from scorer.conditions.finding import Finding
from scorer.money.outcome import Outcome
from scorer.photos.reading import Reading
from scorer.scope.plan import Hold, Scope
from scorer.shortlist.result import Unseen
from scorer.shortlist.score import PAYING_FAMILIES, STRONG_CANDIDATE_FAMILIES
from scorer.upgrades.option import Family, Option

HOW_MANY = 3
SURE_ENOUGH = 0.6
"""Below this certainty a condition is said with "perhaps"; common practice, no source."""

_WORDS: dict[Family, str] = {
    "kitchen": "kitchen",
    "paint": "paint",
    "bathroom": "bathroom",
    "flooring": "flooring",
    "safety": "safety",
    "outside": "outside",
    "other": "other work",
}


def three_reasons(
    options: Sequence[Option],
    scope: Scope,
    outcome: Outcome,
    unseen: Sequence[Unseen],
    shown: Sequence[Family],
    condition_labels: Mapping[str, str],
    not_judged: str | None = None,
) -> tuple[str, ...]:
    """The reasons that matter most, best first; at most three, at least one.

    First what the money would be spent on, by rent lift times certainty; then, where there is room,
    what would stop the work, what the photos don't show, and how soon the work pays back.

    Parameters
    ----------
    shown
        Families of work that the home likely shows (:func:`scorer.shortlist.score.families_shown`).
    condition_labels
        Words for a condition, by its id.
    not_judged
        Why nothing could be judged (:func:`why_not_judged`), which then comes first; None
        otherwise.
    """
    reasons: list[str] = [] if not_judged is None else [not_judged]
    chosen = scope.options or ()
    groups = _by_worth(chosen if chosen else options)
    if len(shown) >= STRONG_CANDIDATE_FAMILIES:
        names = _joined(_WORDS[f] for f in shown)
        many = "all four" if len(shown) == len(PAYING_FAMILIES) else f"{len(shown)} of the four"
        reasons.append(f"Shows {many} kinds of work that pay most: {names}.")
    if groups and not chosen and not_judged is None:
        reasons.append("Nothing that was seen earns its cost within your limits.")
    verb = "To do" if chosen else "Could be done"
    for group in groups[: HOW_MANY - len(reasons)]:
        reasons.append(_work_sentence(group, condition_labels, verb))
    if not groups and not_judged is None:
        reasons.append("Little left to add: nothing was seen that cheap work would lift.")
    fillers = [f"Look first: {words}." for words in look_first(scope.holds)]
    fillers += [item.sentence for item in unseen]
    if outcome.payback_months is not None and chosen:
        fillers.append(f"Pays back in about {outcome.payback_months.p50:.0f} months.")
    reasons += fillers[: HOW_MANY - len(reasons)]
    return tuple(reasons[:HOW_MANY])


def look_first(holds: Iterable[Hold]) -> tuple[str, ...]:
    """What must be looked at before work, each thing once, with the rooms where."""
    rooms: dict[str, list[str]] = {}
    for hold in holds:
        rooms.setdefault(hold.label, []).append(hold.room)
    return tuple(f"{label} ({_joined(where)})" for label, where in rooms.items())


def why_not_judged(
    readings: Sequence[Reading], photo_rooms: Collection[str], findings: Iterable[Finding]
) -> str | None:
    """Why nothing can be said of a home, and what to do; None where anything could be judged.

    Parameters
    ----------
    readings
        One for each photo.
    photo_rooms
        Names of the photos whose room is known.
    findings
        What photos, facts and a person's tags gave; facts alone judge no room.
    """
    if any(e.source != "facts" for finding in findings for e in finding.evidence):
        return None
    usable = [reading.file for reading in readings if reading.error is None]
    if any(name in photo_rooms for name in usable):
        return None
    tag = "or tag what you find at the viewing"
    if not readings:
        return f"Nothing could be judged: there is no photo of this home. Add photos, {tag}."
    if not usable:
        what, them = f"none of its {len(readings)} photos could", "them"
        if len(readings) == 1:
            what, them = "its only photo could not", "it"
        return f"Nothing could be judged: {what} be read. Save {them} again or add others, {tag}."
    return (
        "Nothing could be judged: no photo shows a room that could be told. Put the room into the "
        f"file's name, as in “bedroom 2.jpg”, {tag}."
    )


def _worth(options: Iterable[Option]) -> float:
    return sum(o.certainty * o.rent_month_usd.typical for o in options)


def _by_worth(options: Sequence[Option]) -> list[list[Option]]:
    """Options by family, best earner first; a family that earns nothing is left out.

    Of one ladder in one room only the first option counts (a scope holds one anyway).
    """
    groups: dict[Family, dict[tuple[str, str], Option]] = {}
    for option in options:
        groups.setdefault(option.family, {}).setdefault((option.room, option.ladder), option)
    found = [list(group.values()) for group in groups.values()]
    return sorted((g for g in found if _worth(g) > 0), key=_worth, reverse=True)


def _work_sentence(group: Sequence[Option], condition_labels: Mapping[str, str], verb: str) -> str:
    best = sorted(group, key=lambda option: -_worth([option]))
    rooms = list(dict.fromkeys(o.room for o in best))
    sure: dict[str, float] = {}
    for option in best:
        for condition in option.reasons:
            sure[condition] = max(sure.get(condition, 0.0), option.certainty)
    labels = [
        ("" if certainty >= SURE_ENOUGH else "perhaps ")
        + condition_labels.get(condition, condition.replace("_", " ")).lower()
        for condition, certainty in list(sure.items())[:3]
    ]
    work = "; ".join(list(dict.fromkeys(_lower_first(o.label) for o in best))[:2])
    cost = sum(o.cost_usd.typical for o in group)
    lift = sum(o.rent_month_usd.typical for o in group)
    where = rooms[:3] if len(rooms) <= 3 else [*rooms[:2], f"{len(rooms) - 2} more rooms"]
    return (
        f"{_upper_first(_joined(where))}: {_joined(labels)}. {verb}: {work}; about "
        f"${cost:,.0f}, may add about ${lift:,.0f} a month."
    )


def _upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower_first(text: str) -> str:
    return text if text[:2].isupper() else text[:1].lower() + text[1:]


def _joined(words: Iterable[str]) -> str:
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"
