"""What the money may earn, with its uncertainty."""

from __future__ import annotations

from scorer.records import Probability, Quantiles, Record


class Driver(Record):
    """How much one input matters: rank correlation with the net gain [-1–1]."""

    name: str
    correlation: float


class Outcome(Record):
    """Returns of one scope as percentiles of the draws.

    Attributes
    ----------
    cost_usd
        Work, own labour at its value, allowances of holds where they are there, and what rooms
        that nobody has seen may hide [$].
    rent_lift_month_usd
        [$/month], after the overlap between upgrades and the comps' ceiling.
    payback_months
        Cost over monthly lift [months]; None where more than one draw in ten never pays back, or
        nothing is spent.
    return_on_cost
        Yearly lift, vacancy off, over cost [1/year].
    value_created_usd
        Yearly lift, vacancy off, at the cap rate [$]. An estimate, not an appraisal.
    net_gain_usd
        Rent lift over the holding time, vacancy and the rent lost during the work off, less the
        part of the cost that the holding time uses up [$]: work that wears out sooner is paid for
        again, work that outlasts it gives part of its cost back
        (:func:`scorer.scope.worth.lasting_share`).
    lost_rent_usd
        Rent not earned while the work lasts [$], the middle of the draws; zero if the present rent
        is not known.
    most_to_pay_usd
        Price at which the target return is just met [$]; None if the rent is not known.
    payback_within_limit
        Probability that payback comes within the user's limit [0–1].
    drivers
        Inputs by how much they matter, largest first.
    """

    cost_usd: Quantiles
    rent_lift_month_usd: Quantiles
    payback_months: Quantiles | None
    return_on_cost: Quantiles | None
    value_created_usd: Quantiles
    net_gain_usd: Quantiles
    lost_rent_usd: float
    most_to_pay_usd: float | None
    payback_within_limit: Probability
    drivers: tuple[Driver, ...] = ()
