"""What the work costs and earns, and how sure that is."""

from scorer.money.uncertainty import outcome_of

__all__ = ["outcome_of"]
