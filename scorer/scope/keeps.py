"""What is sound and stays: the cheapest work is the work that is not done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from scorer.conditions.checklist import load_conditions
from scorer.conditions.finding import Finding
from scorer.scope.plan import Keep
from scorer.upgrades.option import Option

DEAR_RUNGS = frozenset({"replace", "add"})
TOO_DARK = "photo_too_dark"


def find_keeps(
    findings: Iterable[Finding], options: Sequence[Option], chosen: Sequence[Option]
) -> tuple[Keep, ...]:
    """Sound findings, and things that are cleaned, mended or painted where they could be replaced.

    ``saves_usd`` is what the cheapest replacement on the same ladder would cost more than what is
    done; None for a sound finding, of which nothing tells what replacing would cost. What only a
    photo too dark to judge shows as sound is not said to be kept.
    """
    conditions = load_conditions()
    findings = list(findings)
    dark = {f.room for f in findings if f.condition == TOO_DARK and not f.rejected}
    keeps = []
    for finding in findings:
        condition = conditions.get(finding.condition)
        if finding.rejected or condition is None or condition.polarity != "sound":
            continue
        if finding.by_person or finding.room not in dark:
            keeps.append(Keep(room=finding.room, label=condition.label))
    for option in chosen:
        if option.rung in DEAR_RUNGS:
            continue
        dearer = [
            mate
            for mate in options
            if (mate.room, mate.ladder) == (option.room, option.ladder)
            and mate.rung in DEAR_RUNGS
            and mate.cost_usd.typical > option.cost_usd.typical
        ]
        if dearer:
            mate = min(dearer, key=lambda o: o.cost_usd.typical)
            keeps.append(
                Keep(
                    room=option.room,
                    label=f"{option.label}, instead of “{mate.label}”",
                    saves_usd=mate.cost_usd.typical - option.cost_usd.typical,
                )
            )
    return tuple(dict.fromkeys(keeps))
