"""Coverage within a budget as a mixed-integer programme, for scipy's `milp`, that is HiGHS.

Variables: one for each item (bought or not), one for each demand (served or not), and for ways of
several items one for each centre: an item together with what it asks for. A centre counts only
where the item is bought, and only where one of the ways that remain after it is; so a demand with
thirty primary sets and thirty secondary ones needs thirty variables and not nine hundred, and the
relaxation is tighter as well, since all ways through one item share it.

The solver works in floats, so what it claims is widened by what its tolerances allow.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import reduce
from typing import TYPE_CHECKING, Any

from fitcheck.kernel.coverage.problem import Coverage, Purchase, Way

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

_TOLERANCE = 1e-6
"""Feasibility and integrality tolerance of the solver, as it comes."""

_NET_GAP = 1e-3
"""So near to the best a part is asked for, in shares of it."""


class Programme:
    """The matrix of one problem; columns are items, then centres, then demands."""

    def __init__(self, coverage: Coverage) -> None:
        self._coverage = coverage
        self._rows: list[int] = []
        self._columns: list[int] = []
        self._values: list[int] = []
        self._height = 0
        self._width = len(coverage.prices)
        self._centres: dict[tuple[int, frozenset[Way]], int] = {}
        reached = [self._terms(ways) for ways in coverage.ways]
        self._demands = range(self._width, self._width + len(reached))
        self._width += len(reached)
        for demand, terms in zip(self._demands, reached, strict=True):
            self._row([(demand, 1), *((term, -1) for term in terms)])
        self._unit = reduce(math.gcd, coverage.prices, 0) or 1
        self._scaled = [price // self._unit for price in coverage.prices]
        self._weight_unit = reduce(math.gcd, coverage.weights, 0) or 1
        self._weights = [weight // self._weight_unit for weight in coverage.weights]

    def _row(self, entries: Iterable[tuple[int, int]]) -> None:
        for column, value in entries:
            self._rows.append(self._height)
            self._columns.append(column)
            self._values.append(value)
        self._height += 1

    def _terms(self, ways: Iterable[Way]) -> list[int]:
        """Columns of which at least one is 1 where one of the ways is bought."""
        terms = [way[0] for way in ways if len(way) == 1]
        rest = [way for way in ways if len(way) > 1]
        while rest:
            counted = Counter(item for way in rest for item in way)
            centre = min(counted, key=lambda item: (-counted[item], item))
            beyond = [
                tuple(item for item in way if item != centre) for way in rest if centre in way
            ]
            rest = [way for way in rest if centre not in way]
            terms.append(self._centre(centre, beyond))
        return terms

    def _centre(self, item: int, beyond: Sequence[Way]) -> int:
        key = (item, frozenset(beyond))
        if key not in self._centres:
            terms = self._terms(beyond)
            column = self._centres[key] = self._width
            self._width += 1
            self._row([(column, 1), (item, -1)])
            self._row([(column, 1), *((term, -1) for term in terms)])
        return self._centres[key]

    def most_weight(self, bound: int, time_limit_s: float) -> tuple[list[int] | None, int, bool]:
        """Items of the most weight found, a weight that cannot be exceeded, and whether it ended.

        Where it did not, the time ran out.
        """
        total = sum(self._weights)
        most = max(1, bound // self._weight_unit)
        slack = _TOLERANCE * (total + 1)
        objective = [0.0] * self._width
        for column, weight in zip(self._demands, self._weights, strict=True):
            objective[column] = -float(weight)
        # Weights are whole, so a gap under one is none: there the search may stop.
        gap = max(0.0, 1 - 2 * slack - 1e-3) / most
        result = self._milp(objective, self._coverage.budget, [], gap, time_limit_s)
        dual = getattr(result, "mip_dual_bound", None)
        least = bound
        if dual is not None and math.isfinite(dual):
            least = min(bound, math.floor(-dual + slack) * self._weight_unit)
        return self._bought(result), least, getattr(result, "status", None) == 0

    def most_beyond(
        self, rate: float, time_limit_s: float, *, relaxed: bool = False
    ) -> tuple[set[Purchase], float]:
        """Look for the most weight beyond a rate times the price.

        Args:
            rate: weight that a unit of money must bring.
            time_limit_s: seconds.
            relaxed: let items be bought in part: a quick bound, and no purchase.

        Returns:
            The purchase found, where one was; and what none within the budget can exceed.
        """
        prices, weights = self._coverage.prices, self._coverage.weights
        objective = [0.0] * self._width
        objective[: len(prices)] = [rate * price for price in prices]
        for column, weight in zip(self._demands, weights, strict=True):
            objective[column] = -float(weight)
        result = self._milp(
            objective, self._coverage.budget, [], _NET_GAP, time_limit_s, relaxed=relaxed
        )
        most = float(sum(weights))
        dual = getattr(result, "mip_dual_bound", None)
        if relaxed:
            dual = result.fun if getattr(result, "status", None) == 0 else None
        if dual is not None and math.isfinite(dual):
            most = min(most, max(0.0, -dual) + _TOLERANCE * (1 + most + rate * sum(prices)))
        items = None if relaxed else self._bought(result)
        found = set() if items is None else {self._coverage.purchase(items)}
        return {each for each in found if each.price <= self._coverage.budget}, most

    def least_price(
        self, known: Purchase, time_limit_s: float
    ) -> tuple[list[int] | None, bool, bool]:
        """Items that serve as much for the least money, whether proved, and whether it ended.

        Where it did not, the time ran out.
        """
        if known.price == 0 or not known.items:
            return None, True, True
        if time_limit_s <= 0:
            return None, False, False
        objective = [0.0] * self._width
        objective[: len(self._scaled)] = [float(price) for price in self._scaled]
        worth = list(zip(self._demands, self._weights, strict=True))
        asked = known.weight // self._weight_unit
        # Prices are whole too. What is known is the budget now, so that the gap is under one.
        gap = 0.999 / (known.price // self._unit)
        result = self._milp(objective, known.price, [(worth, asked - 0.5)], gap, time_limit_s)
        items = self._bought(result)
        proved = ended = getattr(result, "status", None) == 0
        if items is not None:
            found = self._coverage.purchase(items)
            if found.weight < known.weight or found.price > known.price:
                items, proved = None, False
        return items, proved, ended

    def _milp(
        self,
        objective: Sequence[float],
        budget: int,
        at_least: Sequence[tuple[Sequence[tuple[int, int]], float]],
        gap: float,
        time_limit_s: float,
        *,
        relaxed: bool = False,
    ) -> Any:
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - an extra

        matrix, upper = self._matrix(budget, at_least)
        integer = [0 if relaxed else 1] * len(self._coverage.prices)
        integer += [0] * (self._width - len(integer))
        return milp(
            objective,
            constraints=LinearConstraint(matrix, -math.inf, upper),
            integrality=integer,
            bounds=Bounds(0, 1),
            options={"time_limit": max(time_limit_s, 0.1), "mip_rel_gap": gap},
        )

    def _matrix(
        self, budget: int, at_least: Sequence[tuple[Sequence[tuple[int, int]], float]]
    ) -> tuple[csr_matrix, list[float]]:
        from scipy.sparse import csr_matrix  # noqa: PLC0415 - an extra

        rows, columns = list(self._rows), list(self._columns)
        values = list(map(float, self._values))
        upper = [0.0] * self._height
        limits: list[tuple[Sequence[tuple[int, int]], float]] = [
            (list(enumerate(self._scaled)), float(budget // self._unit))
        ]
        limits += [([(column, -value) for column, value in row], -edge) for row, edge in at_least]
        for row, edge in limits:
            rows += [len(upper)] * len(row)
            columns += [column for column, _ in row]
            values += [float(value) for _, value in row]
            upper.append(edge)
        shape = (len(upper), self._width)
        return csr_matrix((values, (rows, columns)), shape=shape), upper

    def _bought(self, result: Any) -> list[int] | None:
        point = getattr(result, "x", None)
        if point is None:
            return None
        return [item for item in range(len(self._coverage.prices)) if point[item] > 0.5]
