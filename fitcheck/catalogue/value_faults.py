"""Values with a reader of their own that a model refuses: teeth, dates, fields that disagree."""

from __future__ import annotations

import datetime as dt
import re

from fitcheck.catalogue.annotations import expected_at, model_at
from fitcheck.catalogue.fault import Fault
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode
from fitcheck.catalogue.problems import shown
from fitcheck.diagnostics.finding import Finding, Related
from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, TeethError

_DAY_FIRST = re.compile(r"([0-9]{1,2})\.\s?([0-9]{1,2})\.\s?([0-9]{4})")


def refused(fault: Fault) -> Finding:
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
        advice=advice or "put one of them right",
        related=tuple(Related(span, f"{name} stands here") for span, name in places[:-1]),
    )


def other(fault: Fault) -> Finding:
    """Whatever has no words of its own."""
    error = fault.context.get("error")
    said = str(error) if error is not None else fault.message
    return fault.finding("FC104", f"{fault.name}: {shown(said, 200)}", "put the value right")
