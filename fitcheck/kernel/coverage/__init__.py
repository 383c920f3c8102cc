"""Coverage within a budget: the exact answer where a solver is there, greedy, and a bound."""

from __future__ import annotations

from fitcheck.kernel.coverage.answer import Answer, best_purchase, solver_installed
from fitcheck.kernel.coverage.greedy import GREEDY_SHARE
from fitcheck.kernel.coverage.problem import Coverage, Purchase, Way, minimal_ways

__all__ = [
    "GREEDY_SHARE",
    "Answer",
    "Coverage",
    "Purchase",
    "Way",
    "best_purchase",
    "minimal_ways",
    "solver_installed",
]
