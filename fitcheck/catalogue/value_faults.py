"""Values that a model refuses: numbers, teeth, dates, fields that disagree."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode
from fitcheck.catalogue.places import RecordPlace, expected_at, model_at
from fitcheck.catalogue.problems import shown
from fitcheck.diagnostics.finding import Finding, Related
from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, TeethError

_KEY = "[key]"
"""The last step of pydantic's location where a key of a mapping was refused."""


class Fault:
    """One of pydantic's errors, with what the file holds at its place.

    Attributes:
        place: the record in its file.
        on_key: whether a key of a mapping was refused, not a value.
        loc: steps under the record that lead to the value or key.
        type: pydantic's name for the error.
        context: its details, such as the limit that was passed.
        input: the value refused.
        message: what pydantic says.
        name: the field as a sentence begins with it.
        node: what stands there, or None.
    """

    def __init__(self, place: RecordPlace, error: Mapping[str, Any]) -> None:
        loc: tuple[str | int, ...] = tuple(error["loc"])
        self.place = place
        self.on_key = bool(loc) and loc[-1] == _KEY
        self.loc = loc[:-1] if self.on_key else loc
        self.type: str = error["type"]
        self.context: Mapping[str, Any] = error.get("ctx", {})
        self.input: Any = error.get("input")
        self.message: str = error["msg"]
        self.name = place.name(self.loc)
        self.node = place.node(self.loc)

    @property
    def raw(self) -> str:
        """The value as it stands in the file, in a few characters."""
        if self.on_key:
            return shown(str(self.loc[-1]))
        if isinstance(self.node, ScalarNode):
            return shown(self.node.text)
        return {MapNode: "a mapping", ListNode: "a list"}.get(type(self.node), "nothing")

    @property
    def raw_kind(self) -> str:
        """What stands there, in words with an article."""
        if isinstance(self.node, MapNode | ListNode):
            return self.raw
        if isinstance(self.input, bool):
            return f"the truth value {self.raw}"
        if isinstance(self.input, int | Decimal):
            return f"the number {self.raw}"
        if self.input is None:
            return "nothing"
        return f"the text {self.raw!r}"

    def finding(
        self,
        code: str,
        message: str,
        advice: str | None = None,
        *,
        suggestion: str | None = None,
        loc: tuple[str | int, ...] | None = None,
    ) -> Finding:
        """A finding about the value, or the key, at this fault's place or at `loc`."""
        return self.place.finding(
            code,
            message,
            self.loc if loc is None else loc,
            key=self.on_key,
            advice=advice,
            suggestion=suggestion,
        )


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
    """A value that must be a number; what it surely means is offered."""
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


_DAY_FIRST = re.compile(r"([0-9]{1,2})\.\s?([0-9]{1,2})\.\s?([0-9]{4})")


def explain_refusal(fault: Fault) -> Finding:
    """A value that its own reader refused, or a record whose fields do not agree."""
    error = fault.context.get("error")
    if isinstance(error, TeethError):
        return _teeth(fault, error)
    expected = expected_at(fault.place.model, fault.loc)
    if expected is dt.date:
        return bad_date(fault)
    if isinstance(fault.node, MapNode) or not fault.loc:
        return _disagreement(fault, str(error))
    return other(fault)


def _teeth(fault: Fault, error: TeethError) -> Finding:
    message, _, advice = str(error).rpartition("; ")  # the counts quoted may hold one too
    node, loc = fault.node, fault.loc
    if isinstance(node, MapNode):
        message, advice = "a mapping is no pair of tooth counts", "write 15/38, for example"
    if isinstance(node, ListNode) and len(node.items) == 2:
        odd = [at for at, item in enumerate(node.items) if not _is_count(item)]
        if len(odd) == 1:
            loc = (*loc, odd[0])
            item = node.items[odd[0]]
            if isinstance(item, ScalarNode) and not (
                isinstance(item.value, int) and not isinstance(item.value, bool)
            ):
                message = f"a tooth count is a whole number, not {shown(item.text)!r}"
    return fault.finding("FC108", message, advice or "count again", loc=loc)


def _is_count(node: Node) -> bool:
    if not isinstance(node, ScalarNode) or isinstance(node.value, bool):
        return False
    return isinstance(node.value, int) and MIN_TEETH <= node.value <= MAX_TEETH


def bad_date(fault: Fault) -> Finding:
    """A date in another form, or one that no calendar has."""
    suggestion = None
    found = _DAY_FIRST.fullmatch(fault.raw.strip())
    if found is not None:
        day, month, year = (int(part) for part in found.groups())
        try:
            suggestion = dt.date(year, month, day).isoformat()
        except ValueError:
            suggestion = None
    error = fault.context.get("error")
    calendar = error is not None and "calendar" in str(error)
    return fault.finding(
        "FC112",
        str(error) if calendar else f"{fault.name} must be a date, not {fault.raw_kind}",
        "look at a calendar"
        if calendar
        else f"write {suggestion or 'year-month-day, such as 2026-03-31'}",
        suggestion=suggestion,
    )


def _disagreement(fault: Fault, message: str) -> Finding:
    """A model's own check over several fields: point at the one that stands last."""
    place = fault.place
    owner = model_at(place.model, fault.loc)
    named = re.findall(r"[a-z][a-z0-9_]*", message)
    fields = [] if owner is None else [name for name in owner.model_fields if name in named]
    places = sorted(
        (
            (place.source.span(place.path((*fault.loc, name)), key=True), name)
            for name in fields
            if place.node((*fault.loc, name)) is not None
        ),
        key=lambda pair: pair[0],
    )
    # One semicolon parts the fault from what to do; more of them belong to the sentence.
    sentence, _, advice = message.partition("; ") if message.count("; ") == 1 else (message, "", "")
    if not places:
        return place.finding(
            "FC113", sentence, fault.loc, span=place.owner_span(fault.loc), advice=advice or None
        )
    loc = (*fault.loc, places[-1][1])
    inner = place.node(loc)
    children = [key for key in named if isinstance(inner, MapNode) and key in inner.entries]
    if len(set(children)) == 1:
        loc = (*loc, children[0])
    return place.finding(
        "FC113",
        sentence,
        loc,
        key=True,
        advice=advice or "correct one of them",
        related=tuple(Related(span, f"{name} stands here") for span, name in places[:-1]),
    )


def other(fault: Fault) -> Finding:
    """Whatever has no words of its own."""
    error = fault.context.get("error")
    said = str(error) if error is not None else fault.message
    return fault.finding("FC104", f"{fault.name}: {shown(said, 200)}", "correct the value")
