"""Choose the work within budget, hours and weeks, hold what must be looked at, put it in order."""

from scorer.scope.planning import plan_scope, view_budgets

__all__ = ["plan_scope", "view_budgets"]
