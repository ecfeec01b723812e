"""Choose the work within budget, hours and weeks, hold what must be looked at, put it in order."""

from scorer.scope.planning import ScopeInput, plan_scope, view_budgets

__all__ = ["ScopeInput", "plan_scope", "view_budgets"]
