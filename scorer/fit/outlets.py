"""Spacing of receptacle outlets along walls and counters.

An addition or change of wiring is work for a licensed electrician under the local code.

References
----------
.. [1] NFPA 70 (National Electrical Code) 210.52(A): no point of a wall 2 ft wide or more further
   than 6 ft from an outlet in that space, which may turn a corner; 210.52(C)(1): an outlet at each
   counter 12 in wide or more, and no point further than 24 in from one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from scorer.fit.geometry import uncovered
from scorer.fit.kitchen import counter_stretches
from scorer.fit.room_plan import (
    HAIR_IN,
    SIDES,
    FitCheck,
    FitResult,
    RoomPlan,
    Side,
    at_most,
    result_of,
)

WALL_REACH_IN = 72.0
WALL_COUNTS_FROM_IN = 24.0
COUNTER_REACH_IN = 24.0
COUNTER_COUNTS_FROM_IN = 12.0
"""Reach of an outlet, and from which width on a wall or counter needs one [in] [1]_."""

NEC_WALL = "NFPA 70, 210.52(A)"
NEC_COUNTER = "NFPA 70, 210.52(C)(1)"


def outlet_spacing(plan: RoomPlan) -> FitResult:
    """Check the furthest point of every wall and counter from its nearest outlet.

    Wall space is broken by doors and cased openings, not by windows; distance is measured along one
    stretch of wall. Corners are not turned, which is on the safe side; a stretch that reaches no
    corner needs an outlet of its own, however short.
    """
    checks: list[FitCheck] = []
    for wall in SIDES:
        outlets = [o.offset_in for o in plan.outlets if o.wall == wall and not o.counter]
        walls = [s for s in _wall_stretches(plan, wall) if s[1] - s[0] >= WALL_COUNTS_FROM_IN]
        on_counter = [o.offset_in for o in plan.outlets if o.wall == wall and o.counter]
        counters = [
            s for s in counter_stretches(plan, wall) if s[1] - s[0] >= COUNTER_COUNTS_FROM_IN
        ]
        for kind, stretches, there, reach, guideline in (
            ("wall", walls, outlets, WALL_REACH_IN, NEC_WALL),
            ("counter", counters, on_counter, COUNTER_REACH_IN, NEC_COUNTER),
        ):
            for start, end in stretches:
                what = _what(f"{wall} {kind}", stretches, start, end, there)
                far = furthest(start, end, there)
                check = at_most(f"{kind} outlets", far, reach, "in", guideline, what)
                alone = start > HAIR_IN and end < plan.wall_in(wall) - HAIR_IN
                if alone and not _inside(start, end, there):
                    check = _needs_one(check, far)
                checks.append(check)
    return result_of("outlet spacing", tuple(checks))


def _needs_one(check: FitCheck, length_in: float) -> FitCheck:
    """The check of a stretch that reaches no corner, so that no outlet round one can serve it."""
    what, _, _ = check.sentence.partition(":")
    sentence = f"{what}: {round(length_in, 1):g} in; the guideline asks for one there."
    return check.model_copy(update={"verdict": "fails", "limit": 0.0, "sentence": sentence})


def _what(
    name: str,
    stretches: Sequence[tuple[float, float]],
    start: float,
    end: float,
    outlets: Iterable[float],
) -> str:
    """What is measured; which stretch, where there are several; whether there is an outlet."""
    which = f" ({start:g} to {end:g} in)" if len(stretches) > 1 else ""
    if _inside(start, end, outlets):
        return f"Furthest point of the {name}{which} from an outlet"
    return f"Length of the {name}{which}, which has no outlet"


def furthest(start: float, end: float, outlets: list[float]) -> float:
    """Distance of the point of a stretch that lies furthest from any outlet on it [in].

    The whole length where there is no outlet.
    """
    inside = _inside(start, end, outlets)
    if not inside:
        return end - start
    halves = [(b - a) / 2.0 for a, b in pairwise(inside)]
    return max(inside[0] - start, end - inside[-1], *halves, 0.0)


def _inside(start: float, end: float, outlets: Iterable[float]) -> list[float]:
    return sorted(outlet for outlet in outlets if start <= outlet <= end)


def _wall_stretches(plan: RoomPlan, wall: Side) -> list[tuple[float, float]]:
    """Wall between doors and openings, fixed cabinets and appliances taken out: (start, end)."""
    taken = [
        (o.offset_in, o.offset_in + o.width_in)
        for o in plan.openings
        if o.wall == wall and o.kind != "window"
    ]
    taken += [(c.offset_in, c.offset_in + c.length_in) for c in plan.cabinets if c.wall == wall]
    taken += [(a.offset_in, a.offset_in + a.width_in) for a in plan.appliances if a.wall == wall]
    return uncovered(0.0, plan.wall_in(wall), taken)
