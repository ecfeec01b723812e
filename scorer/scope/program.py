"""The choice of options as a mixed-integer linear program, solved exactly by HiGHS.

Variables: one 0–1 variable per option; per option of a room with several, the share to which it is
the room's best (its lift counts in full, see :mod:`scorer.scope.lift`); per hold that work would
disturb, whether its allowance falls due; and the lift that is lost to the rent ceiling.
"""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from scorer.scope.labour import spare_hours
from scorer.scope.lift import SHARE_OF_FURTHER
from scorer.scope.plan import Hold
from scorer.scope.worth import AS_IS, Present, always_due, expected_allowance, worth_of
from scorer.settings import Settings
from scorer.upgrades.option import Option

Floats = npt.NDArray[np.float64]
Row = tuple[dict[int, float], float, float]
"""Coefficients by column, and the least and the most that they may come to."""
TIME_LIMIT_SECONDS = 20.0
_SILENCE = threading.Lock()


@dataclass
class Program:
    """Options, limits and links as arrays; columns are x (options), y (best shares), h (holds), w.

    Attributes
    ----------
    lift, cost, lasting_cost, lost_rent
        Coefficients of the expected lift [$/month] and of the expected costs [$] per column.
    """

    options: tuple[Option, ...]
    holds: tuple[Hold, ...]
    lift: Floats
    cost: Floats
    lasting_cost: Floats
    lost_rent: Floats
    upper: Floats
    rows: list[Row] = field(default_factory=list)

    @property
    def columns(self) -> int:
        """Number of variables."""
        return len(self.lift)

    def solve(
        self, gain: Floats, at_least: Sequence[tuple[dict[int, float], float]] = ()
    ) -> frozenset[str] | None:
        """Ids of the options that make ``gain`` largest; None if the demands can't all be met.

        Parameters
        ----------
        gain
            Coefficient of every column in what is made largest.
        at_least
            Further rows: coefficients by column, and the least that they must come to.
        """
        if not self.options:
            return None if at_least else frozenset()
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        rows = [*self.rows, *((row, least, np.inf) for row, least in at_least)]
        data = [value for row, _, _ in rows for value in row.values()]
        column = [place for row, _, _ in rows for place in row]
        line = [i for i, (row, _, _) in enumerate(rows) for _ in row]
        matrix = csr_array((data, (line, column)), shape=(len(rows), self.columns))
        whole = np.zeros(self.columns, dtype=np.int64)
        whole[: len(self.options)] = 1
        with quiet_stdout():
            result = milp(
                -gain,
                integrality=whole,
                bounds=Bounds(np.zeros(self.columns), self.upper),
                constraints=LinearConstraint(
                    matrix,
                    np.array([low for _, low, _ in rows]),
                    np.array([high for _, _, high in rows]),
                ),
                options={"mip_rel_gap": 0.0, "time_limit": TIME_LIMIT_SECONDS},
            )
        if result.x is None:
            return None
        taken = np.round(result.x[: len(self.options)]) == 1
        return frozenset(o.id for o, yes in zip(self.options, taken, strict=True) if yes)


def build_program(
    options: Sequence[Option],
    holds: Sequence[Hold],
    settings: Settings,
    *,
    barred: Collection[str] = (),
    present: Present = AS_IS,
) -> Program:
    """The program for these options.

    Parameters
    ----------
    barred
        Ids that must not be chosen.
    present
        Rent lost while the work lasts, and the ceiling of the lift.
    """
    ceiling_usd = present.lift_ceiling_usd
    count = len(options)
    place = {option.id: i for i, option in enumerate(options)}
    worth = [worth_of(option, settings, present) for option in options]
    shared = [group for group in _by_room(options) if len(group) > 1]
    best_of = {i: count + k for k, i in enumerate(i for group in shared for i in group)}
    due = [h for h in holds if not always_due(h) and expected_allowance(h) > 0]
    due_at = {hold.id: count + len(best_of) + k for k, hold in enumerate(due)}
    over = count + len(best_of) + len(due)
    columns = over + 1

    lift, cost, lasting, lost = (np.zeros(columns) for _ in range(4))
    cash, hours = np.zeros(columns), np.zeros(columns)
    upper = np.ones(columns)
    for i, figures in enumerate(worth):
        alone = i not in best_of
        lift[i] = figures.lift_usd * (1.0 if alone else SHARE_OF_FURTHER)
        if not alone:
            lift[best_of[i]] = figures.lift_usd * (1.0 - SHARE_OF_FURTHER)
        cost[i], lasting[i] = figures.cost_usd, figures.lasting_cost_usd
        lost[i] = figures.lost_rent_usd
        cash[i], hours[i] = figures.cash_usd, figures.own_hours
    for hold in due:
        allowance = expected_allowance(hold)
        for array in (cost, lasting, cash):
            array[due_at[hold.id]] = allowance
    lift[over] = -1.0
    upper[over] = np.inf if ceiling_usd is not None else 0.0
    for i, option in enumerate(options):
        if option.id in barred or any(need not in place for need in option.needs):
            upper[i] = 0.0

    fixed = sum(expected_allowance(h) for h in holds if always_due(h))
    program = Program(tuple(options), tuple(holds), lift, cost, lasting, lost, upper)
    program.rows += [
        (_sparse(cash), -np.inf, max(0.0, settings.budget_usd - fixed)),
        (_sparse(hours), -np.inf, spare_hours(settings)),
        *_one_best(shared, best_of),
        *_links(options, place),
        *_allowances(due, due_at, place),
    ]
    if ceiling_usd is not None:
        program.rows.append((_sparse(lift), -np.inf, max(0.0, ceiling_usd)))
    return program


def _sparse(row: Floats) -> dict[int, float]:
    return {int(i): float(row[i]) for i in np.flatnonzero(row)}


def _one_best(shared: Sequence[Sequence[int]], best_of: Mapping[int, int]) -> Iterator[Row]:
    """Of a room's options at most one counts as its best, and only where it is chosen."""
    for group in shared:
        yield {best_of[i]: 1.0 for i in group}, -np.inf, 1.0
        for i in group:
            yield {best_of[i]: 1.0, i: -1.0}, -np.inf, 0.0


def _links(options: Sequence[Option], place: Mapping[str, int]) -> Iterator[Row]:
    """One rung of a ladder, no two options that exclude each other, none without what it needs."""
    for group in ladders(options):
        yield dict.fromkeys(group, 1.0), -np.inf, 1.0
    for a, b in _excluding(options, place):
        yield {a: 1.0, b: 1.0}, -np.inf, 1.0
    for i, option in enumerate(options):
        for need in option.needs:
            if need in place:
                yield {i: 1.0, place[need]: -1.0}, -np.inf, 0.0


def _allowances(
    due: Sequence[Hold], due_at: Mapping[str, int], place: Mapping[str, int]
) -> Iterator[Row]:
    """A hold's allowance falls due with what it stops, unless something chosen clears it."""
    for hold in due:
        clearing = {place[option]: -1.0 for option in hold.cleared_by if option in place}
        for option in hold.stops:
            if option in place and place[option] not in clearing:
                yield {place[option]: 1.0, due_at[hold.id]: -1.0, **clearing}, -np.inf, 0.0


def _by_room(options: Sequence[Option]) -> list[list[int]]:
    rooms: dict[str, list[int]] = {}
    for i, option in enumerate(options):
        if option.rent_month_usd.typical * option.certainty > 0:
            rooms.setdefault(option.room, []).append(i)
    return list(rooms.values())


def ladders(options: Sequence[Option]) -> list[list[int]]:
    """Places of the options that share a ladder in one room, where there are several."""
    groups: dict[tuple[str, str], list[int]] = {}
    for i, option in enumerate(options):
        groups.setdefault((option.room, option.ladder), []).append(i)
    return [group for group in groups.values() if len(group) > 1]


def _excluding(options: Sequence[Option], place: Mapping[str, int]) -> list[tuple[int, int]]:
    pairs = set()
    for i, option in enumerate(options):
        for other in option.excludes:
            j = place.get(other)
            if j is None or j == i:
                continue
            mate = options[j]
            if (mate.room, mate.ladder) != (option.room, option.ladder):
                pairs.add((min(i, j), max(i, j)))
    return sorted(pairs)


@contextmanager
def quiet_stdout() -> Iterator[None]:
    """Keep the solver's stray lines off standard output, which may be somebody's JSON.

    HiGHS prints them from C, past ``sys.stdout``, so the file descriptor itself is turned away for
    the moment of the solve; where there is none (no console) nothing is done.
    """
    with _SILENCE:
        try:
            sys.stdout.flush()
            kept = os.dup(1)
        except (OSError, ValueError, AttributeError):
            yield
            return
        sink = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(sink, 1)
            yield
        finally:
            os.dup2(kept, 1)
            os.close(kept)
            os.close(sink)
