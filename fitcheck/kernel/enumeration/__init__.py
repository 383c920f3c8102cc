"""Exact enumeration of gear-set combinations, output-sensitive and in one fixed order.

`rows` and `count` are plain Python, the faster way up to a few hundred sets a stage; the module
`fitcheck.kernel.enumeration.arrays` gives the same rows as numpy columns for large catalogues.
"""

from __future__ import annotations

from fitcheck.kernel.enumeration.counting import count
from fitcheck.kernel.enumeration.plain import rows
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

__all__ = [
    "Choice",
    "Counts",
    "Item",
    "Joint",
    "Problem",
    "Row",
    "Whole",
    "Window",
    "count",
    "rows",
]
