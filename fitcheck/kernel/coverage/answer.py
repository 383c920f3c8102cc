"""The better of the exact and the greedy purchase, and how far from the optimum it may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fitcheck.kernel.coverage.bounds import upper_bound
from fitcheck.kernel.coverage.exact import solve, solver_installed
from fitcheck.kernel.coverage.greedy import greedy, tidied
from fitcheck.kernel.coverage.problem import Coverage, Purchase
from fitcheck.kernel.coverage.reduction import reduced


@dataclass(frozen=True, slots=True)
class Answer:
    """A purchase and what is known of its quality.

    Attributes:
        purchase: the better of the two.
        method: `exact` where the solver's purchase is given, `greedy` where the greedy one is.
        greedy: the greedy purchase.
        bound: a weight that no purchase within the budget exceeds.
        cheapest: whether no other purchase of this weight is known to cost less: proved.
        solver: whether the solver was there to ask.
        ended: whether the search came to its end; else the time for it ran out.
        singles_only: whether one item always suffices, so that the greedy promise holds.
    """

    purchase: Purchase
    method: Literal["exact", "greedy"]
    greedy: Purchase
    bound: int
    cheapest: bool
    solver: bool
    ended: bool
    singles_only: bool

    @property
    def optimal(self) -> bool:
        """Whether no purchase within the budget serves more: proved."""
        return self.purchase.weight == self.bound


def best_purchase(
    coverage: Coverage, time_limit_s: float = 30.0, *, use_solver: bool | None = None
) -> Answer:
    """Buy for the most weight within the budget; of equals the cheaper, then the first items.

    Args:
        coverage: the problem.
        time_limit_s: seconds the solver may take.
        use_solver: False leaves the solver out; None asks it where it is installed.

    Raises:
        ImportError: the solver is asked for and not installed.
    """
    smaller = reduced(coverage)
    problem = smaller.coverage
    quick = greedy(problem)
    bound = upper_bound(problem, quick.weight)
    solver = solver_installed() if use_solver is None else use_solver
    best, cheapest, ended = quick, quick.price == 0 and quick.weight == bound, True
    method: Literal["exact", "greedy"] = "greedy"
    if solver:
        solved = solve(problem, quick, bound, time_limit_s)
        bound, ended = solved.bound, solved.ended
        exact = tidied(problem, solved.purchase.items)
        best = min(exact, quick, key=lambda purchase: purchase.rank)
        cheapest = solved.cheapest and best.price == exact.price
        if cheapest or exact.rank < quick.rank:
            method = "exact"
    return Answer(
        coverage.purchase(smaller.original(best.items)),
        method,
        coverage.purchase(smaller.original(quick.items)),
        bound,
        cheapest,
        solver,
        ended,
        problem.singles_only,
    )
