"""The better of the exact and the greedy purchase, and how far from the optimum it may be.

The exact one is found by integer programming: scipy's `milp`, that is HiGHS, where it is
installed. First the whole is asked (`programme`). Where the time for that runs out, the parts that
have no item in common are asked one by one (`by_parts`), which bounds better where items serve
only together. A purchase is counted again in whole numbers, whatever the solver's floats say.
"""

from __future__ import annotations

import importlib.util
import time
from dataclasses import dataclass
from typing import Literal

from fitcheck.kernel.coverage.by_parts import parts_of, solve_by_parts
from fitcheck.kernel.coverage.greedy import greedy, tidy_items, upper_bound
from fitcheck.kernel.coverage.problem import Coverage, Purchase, reduce_coverage
from fitcheck.kernel.coverage.programme import Programme

_FOR_THE_WHOLE = 0.3
"""Share of the time in which the whole is asked, before its parts are."""


@dataclass(frozen=True, slots=True)
class _Solved:
    """What the solver found.

    Attributes:
        purchase: the best purchase, counted again: that known, or a better one.
        bound: a weight that no purchase within the budget exceeds.
        cheapest: whether no other purchase of this weight costs less.
        ended: whether the solver came to an end; else the time ran out.
    """

    purchase: Purchase
    bound: int
    cheapest: bool
    ended: bool


def solver_installed() -> bool:
    """Whether scipy, which brings the solver, is there."""
    try:
        return importlib.util.find_spec("scipy") is not None
    except ValueError:  # a module that was blocked on purpose
        return False


def _solve(coverage: Coverage, known: Purchase, bound: int, time_limit_s: float) -> _Solved:
    """Look for the purchase of the most weight, and of those for the cheapest.

    Args:
        coverage: the problem, best reduced before.
        known: a purchase within the budget; where it has the weight of `bound`, only a cheaper one
            is looked for.
        bound: a weight known not to be exceeded.
        time_limit_s: seconds the solver may take in all.

    Raises:
        ImportError: scipy is not installed.
    """
    if not coverage.ways:
        return _Solved(coverage.purchase(()), 0, cheapest=True, ended=True)
    ends = time.monotonic() + time_limit_s
    model = Programme(coverage)
    best, ended = known, True
    if known.weight < bound:
        parts = parts_of(coverage)
        share = _FOR_THE_WHOLE if len(parts) > 1 else 1.0
        found, least, ended = model.most_weight(bound, time_limit_s * share)
        best = _better(coverage, best, found)
        bound = max(best.weight, min(bound, least))
        if not ended and best.weight < bound:
            best, bound = solve_by_parts(coverage, parts, best, bound, ends)
            ended = best.weight == bound
    if not ended:
        return _Solved(best, bound, cheapest=False, ended=False)
    cheaper, proved, ended = model.least_price(best, ends - time.monotonic())
    return _Solved(_better(coverage, best, cheaper), bound, cheapest=proved, ended=ended)


def _better(coverage: Coverage, known: Purchase, items: list[int] | None) -> Purchase:
    """The better of a purchase and of what the solver found, which may be over by its tolerance."""
    if items is None:
        return known
    found = coverage.purchase(items)
    return (
        min(known, found, key=lambda each: each.rank) if found.price <= coverage.budget else known
    )


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
    smaller = reduce_coverage(coverage)
    problem = smaller.coverage
    quick = greedy(problem)
    bound = upper_bound(problem, quick.weight)
    solver = solver_installed() if use_solver is None else use_solver
    best, cheapest, ended = quick, quick.price == 0 and quick.weight == bound, True
    method: Literal["exact", "greedy"] = "greedy"
    if solver:
        solved = _solve(problem, quick, bound, time_limit_s)
        bound, ended = solved.bound, solved.ended
        exact = tidy_items(problem, solved.purchase.items)
        best = min(exact, quick, key=lambda purchase: purchase.rank)
        cheapest = solved.cheapest and best.price == exact.price
        if cheapest or exact.rank < quick.rank:
            method = "exact"
    return Answer(
        purchase=coverage.purchase(smaller.original(best.items)),
        method=method,
        greedy=coverage.purchase(smaller.original(quick.items)),
        bound=bound,
        cheapest=cheapest,
        solver=solver,
        ended=ended,
        singles_only=problem.singles_only,
    )
