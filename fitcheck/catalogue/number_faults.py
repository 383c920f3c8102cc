"""Numbers that a model refuses: no number at all, out of range, or no ordinary one."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.fault import Fault
from fitcheck.catalogue.nodes import ScalarNode
from fitcheck.diagnostics.finding import Finding

NUMBER_TYPES = ("int_type", "float_type", "decimal_type", "is_instance_of")
"""Pydantic's names for a value that is no number."""

BOUNDS = {
    "greater_than": ("gt", "over"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "under"),
    "less_than_equal": ("le", "at most"),
}
"""Pydantic's names for a number out of range: the key of the limit, and the words before it."""

_MEASURE = re.compile(r"\D{0,4}?([-+]?[0-9][0-9_]*(?:[.,][0-9]+)?)\s*[^0-9]{0,12}")


def no_number(fault: Fault) -> Finding:
    """A value that is to be a number; what it surely means is offered."""
    whole = fault.type == "int_type"
    kind = "a whole number" if whole else "a number"
    advice, suggestion = f"write {kind}", None
    node = fault.node
    if isinstance(node, ScalarNode) and isinstance(fault.input, str | Decimal):
        suggestion = _number_in(node, whole)
        if suggestion is not None:
            how = "without quotes" if suggestion == node.text.strip() else "without anything else"
            advice = f"write {suggestion}, {how}"
            if "," in node.text and "." in suggestion:
                advice = f"write {suggestion}, with a point"
    return fault.finding(
        "FC104",
        f"{fault.name} must be {kind}, not {fault.raw_kind}",
        advice,
        suggestion=suggestion,
    )


def _number_in(node: ScalarNode, whole: bool) -> str | None:
    found = _MEASURE.fullmatch(node.text.strip()) if len(node.text) < 40 else None
    if found is None:
        return None
    number = found.group(1).replace(",", ".").replace("_", "")
    if whole and "." in number:
        head, _, tail = number.partition(".")
        return head if not tail.strip("0") else None
    return number


def out_of_range(fault: Fault) -> Finding:
    """A number beyond a limit of its field."""
    if isinstance(fault.input, Decimal | float) and not Decimal(fault.input).is_finite():
        return not_finite(fault)
    key, words = BOUNDS[fault.type]
    limit = fault.context.get(key)
    return fault.finding(
        "FC107",
        f"{fault.name} is {fault.raw}; it must be {words} {_plain(limit)}",
        "check the digits, the decimal point and the unit",
    )


def _plain(limit: Any) -> str:
    # Limits of a Decimal field arrive as the text "Decimal('500')".
    found = re.search(r"[-+]?[0-9]+(?:\.[0-9]+)?", str(limit))
    return str(limit) if found is None else f"{Decimal(found.group()).normalize():f}"


def not_finite(fault: Fault) -> Finding:
    """Infinity, or no number by name."""
    return fault.finding(
        "FC107", f"{fault.name} must be an ordinary number, not {fault.raw}", "write the number"
    )
