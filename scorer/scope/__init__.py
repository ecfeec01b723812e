"""Choose the work within budget, hours and weeks, hold what must be looked at, put it in order."""

from scorer.scope.planning import plan_scope

__all__ = ["plan_scope"]
