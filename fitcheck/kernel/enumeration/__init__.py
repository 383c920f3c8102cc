"""Exact enumeration of gear-set combinations, output-sensitive and in one fixed order.

`rows` and `count` are plain Python: to hand out rows one by one, that is the faster way up to
millions of them. `columns` gives the same rows as numpy columns, many times faster where no row
has to become a Python object.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitcheck.kernel.enumeration.plain import count, rows
from fitcheck.kernel.enumeration.problem import (
    Choice,
    Counts,
    Item,
    Joint,
    Problem,
    Row,
    Whole,
    Window,
)

if TYPE_CHECKING:
    from typing import Unpack

    from fitcheck.kernel.enumeration.problem import Filters
    from fitcheck.kernel.enumeration.table import Table

__all__ = [
    "Choice",
    "Counts",
    "Item",
    "Joint",
    "Problem",
    "Row",
    "Whole",
    "Window",
    "columns",
    "count",
    "rows",
]


def columns(
    problem: Problem,
    window: Window = (None, None),
    *,
    threads: int = 1,
    **filters: Unpack[Filters],
) -> Table:
    """List the combinations of `rows`, in the same order, as numpy columns.

    Args:
        problem: the choices.
        window: overall reductions wanted, both edges inclusive.
        threads: threads that make rows where all are asked for, at whatever price.
        filters: as for `rows`.

    Raises:
        ValueError: `top` is negative.
    """
    # Numpy takes a tenth of a second to load, which only long lists are worth.
    from fitcheck.kernel.enumeration.layout import lay_out  # noqa: PLC0415
    from fitcheck.kernel.enumeration.table import table  # noqa: PLC0415

    return table(lay_out(problem), window, threads=threads, **filters)
