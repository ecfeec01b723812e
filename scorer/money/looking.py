"""What to look at next: which open question would change the decision, or narrow it, the most.

The decision is to take this home's plan or to do something else that gains ``alternative_usd`` (by
default nothing). Looking at one thing before deciding is worth the expected value of perfect
information about that one thing [1]_:

.. math:: E_q\\left[\\max(E[G \\mid q], a)\\right] - \\max(E[G], a)

It is never negative, and zero where no answer would change the decision; then the share of the
gain's variance that the answer would take away, :math:`Var(E[G|q]) / Var(G)`, puts the questions in
order. What a better plan would make of the answer is not counted, so the worth is a lower bound.

References
----------
.. [1] H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory, Harvard 1961.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal
from zlib import crc32

import numpy as np

from scorer.conditions.checklist import load_conditions, load_holds
from scorer.conditions.finding import Finding
from scorer.conditions.findings import OpenQuestion, open_questions
from scorer.listing.listing import Listing
from scorer.money.chances import load_hidden_chances, load_unseen_kinds
from scorer.money.draws import Draws, Floats, cause_of, draw_scope, split_quantile
from scorer.records import Probability, Range, Record
from scorer.rooms import RoomKind
from scorer.scope.plan import Scope
from scorer.settings import Settings

SURE = 0.999
Why = Literal["uncertain finding", "what would stop the work", "not seen", "not asked"]


class Look(Record):
    """One thing to look at.

    Attributes
    ----------
    room, label, question
        Where (several rooms with commas between), what, and what to ask or do there.
    why
        ``uncertain finding`` (a photo suggests it), ``what would stop the work`` (a hold not
        sure), ``not asked`` (only a person can tell, and it would stop work) or ``not seen`` (a
        room without a photo).
    chance
        That it is there [0–1].
    worth_usd
        What knowing it before deciding is worth [$].
    narrows
        Share of the uncertainty of the gain that the answer would take away [0–1].
    """

    room: str
    label: str
    question: str
    why: Why
    chance: Probability
    worth_usd: float
    narrows: Probability


def what_to_look_at(
    drawn: Draws,
    findings: Sequence[Finding],
    room_kinds: Mapping[str, RoomKind],
    settings: Settings,
    *,
    alternative_usd: float = 0.0,
    most: int = 12,
) -> tuple[Look, ...]:
    """Open questions, the one that is worth most first.

    Parameters
    ----------
    drawn
        Draws of the home's scope, its unseen rooms included
        (:func:`scorer.money.draws.draw_scope`).
    findings
        All findings, rejected ones too: what a person has answered is not asked again.
    room_kinds
        Kind of every room by its name.
    alternative_usd
        Net gain of the best thing to do instead, another home for example [$].
    """
    looks = [
        *_uncertain(drawn, alternative_usd),
        *_holds(drawn, alternative_usd),
        *_not_asked(drawn, findings, room_kinds, settings, alternative_usd),
        *_not_seen(drawn, room_kinds, settings, alternative_usd),
    ]
    looks.sort(key=lambda look: (-round(look.worth_usd), -look.narrows, look.room, look.label))
    return tuple(looks[:most])


def look_next(
    scope: Scope,
    listing: Listing,
    findings: Sequence[Finding],
    room_kinds: Mapping[str, RoomKind],
    settings: Settings,
    monthly_rent: Range | None = None,
    *,
    unseen: Mapping[str, RoomKind] | None = None,
    alternative_usd: float = 0.0,
) -> tuple[Look, ...]:
    """:func:`what_to_look_at` for a scope that has not been drawn yet."""
    drawn = draw_scope(scope, listing.home, settings, monthly_rent, unseen=unseen)
    kinds = {**room_kinds, **(unseen or {})}
    return what_to_look_at(drawn, findings, kinds, settings, alternative_usd=alternative_usd)


def worth_of_knowing(gain: Floats, answer: Floats, alternative_usd: float) -> tuple[float, float]:
    """Worth of knowing which of a few answers holds [$], and the share of variance it takes away.

    Parameters
    ----------
    gain
        Net gain, draw by draw [$].
    answer
        The answer in each draw; draws with the same number have the same answer.
    """
    best = mean_square = 0.0
    mean = float(gain.mean())
    for value in np.unique(answer):
        same = answer == value
        share, known = float(same.mean()), float(gain[same].mean())
        best += share * max(known, alternative_usd)
        mean_square += share * (known - mean) ** 2
    variance = float(gain.var())
    narrows = mean_square / variance if variance > 0 else 0.0
    return max(0.0, best - max(mean, alternative_usd)), min(1.0, narrows)


def _uncertain(drawn: Draws, alternative: float) -> list[Look]:
    """Findings that photos suggest, each once, however many options it calls for."""
    conditions = load_conditions()
    looks, seen = [], set()
    for i, option in enumerate(drawn.scope.options):
        cause = cause_of(option)
        if option.certainty >= SURE or cause in seen:
            continue
        seen.add(cause)
        present = drawn.present[:, i].astype(np.float64)
        worth, narrows = worth_of_knowing(drawn.net_gain_usd, present, alternative)
        known = [conditions[c] for c in option.reasons if c in conditions]
        names = [condition.label for condition in known] or [option.label]
        looks.append(
            Look(
                room=option.room,
                label=" or ".join(names[:2]),
                question=known[0].question if known else "",
                why="uncertain finding",
                chance=option.certainty,
                worth_usd=worth,
                narrows=narrows,
            )
        )
    return looks


def _holds(drawn: Draws, alternative: float) -> list[Look]:
    """What a hold costs is known once somebody has looked, so its whole cost is the answer."""
    looks = []
    for i, hold in enumerate(drawn.scope.holds):
        cost = drawn.hold_cost[:, i]
        if not cost.any():
            continue
        edges = np.unique(np.quantile(cost, np.linspace(0, 1, 9)[1:-1]))
        answer = np.digitize(cost, edges).astype(np.float64)
        worth, narrows = worth_of_knowing(drawn.net_gain_usd, answer, alternative)
        looks.append(
            Look(
                room=hold.room,
                label=hold.label,
                question=f"Have it looked at by: {hold.who}.",
                why="what would stop the work",
                chance=hold.probability,
                worth_usd=worth,
                narrows=narrows,
            )
        )
    return looks


def _not_asked(
    drawn: Draws,
    findings: Sequence[Finding],
    room_kinds: Mapping[str, RoomKind],
    settings: Settings,
    alternative: float,
) -> list[Look]:
    """Questions that nobody has asked, the same one of several rooms together."""
    conditions, kinds, chances = load_conditions(), load_holds(), load_hidden_chances()
    known = {(f.room, conditions[f.condition].hold) for f in findings if f.condition in conditions}
    known |= {(hold.room, hold.kind) for hold in drawn.scope.holds}
    asked: dict[str, list[OpenQuestion]] = {}
    for question in open_questions(findings, room_kinds):
        hold = conditions[question.condition].hold
        if question.known or hold is None or (question.room, hold) in known:
            continue
        known.add((question.room, hold))
        asked.setdefault(question.condition, []).append(question)
    looks = []
    for condition, questions in asked.items():
        kind = kinds[str(conditions[condition].hold)]
        chance = chances.get(kind.id, 0.0)
        rooms = [question.room for question in questions]
        change = np.zeros(len(drawn.net_gain_usd))
        for room in rooms:
            name = f"{room}-{condition}"
            change -= _sometimes(chance, kind.allowance_usd, drawn, settings, name)
        worth, narrows = _worth_of_change(drawn.net_gain_usd, change, alternative)
        looks.append(
            Look(
                room=", ".join(rooms),
                label=questions[0].label,
                question=questions[0].question,
                why="not asked",
                chance=1.0 - (1.0 - chance) ** len(rooms),
                worth_usd=worth,
                narrows=narrows,
            )
        )
    return looks


def _not_seen(
    drawn: Draws,
    room_kinds: Mapping[str, RoomKind],
    settings: Settings,
    alternative: float,
) -> list[Look]:
    """Seeing a room tells what trouble it hides and what cheap work there would earn."""
    looks = []
    for room, trouble in drawn.unseen_cost.items():
        kind = room_kinds.get(room, RoomKind.WHOLE_HOME)
        row = load_unseen_kinds()[kind]
        work = _sometimes(row.chance_work, row.gain_usd, drawn, settings, f"{room}-gain")
        without = drawn.net_gain_usd + trouble  # independent of the room but for the price level
        worth, narrows = _worth_of_change(without, work - trouble, alternative)
        looks.append(
            Look(
                room=room,
                label=f"{kind.label} not seen",
                question="See it, and tag what is there.",
                why="not seen",
                chance=row.chance_trouble,
                worth_usd=worth,
                narrows=narrows,
            )
        )
    return looks


def _sometimes(
    chance: float, amount_usd: Range, drawn: Draws, settings: Settings, name: str
) -> Floats:
    """Amount [$] in the draws where it is there, else zero; independent of everything else."""
    random = np.random.default_rng(np.random.SeedSequence([settings.seed, crc32(name.encode())]))
    draws = len(drawn.net_gain_usd)
    amount = split_quantile([amount_usd], random.standard_normal((draws, 1)))[:, 0]
    return np.asarray(amount * (random.random(draws) < chance))


def _worth_of_change(gain: Floats, change: Floats, alternative: float) -> tuple[float, float]:
    """As :func:`worth_of_knowing`, for a change of the gain that is independent of it."""
    mean = float(gain.mean())
    best = float(np.maximum(mean + change, alternative).mean())
    worth = max(0.0, best - max(mean + float(change.mean()), alternative))
    variance = float(gain.var() + change.var())
    return worth, float(change.var()) / variance if variance > 0 else 0.0
