"""Faults of one record: what the models refuse, said in words and pointed at exactly."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from fitcheck.catalogue.annotations import expected_at, field_example, field_help, model_at
from fitcheck.catalogue.ids import ID_PATTERN, MAX_ID_LENGTH, bad_id_words
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode
from fitcheck.catalogue.places import RecordPlace
from fitcheck.catalogue.problems import shown
from fitcheck.diagnostics.finding import Finding, Related
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, TeethError

__all__ = ["faults_of"]

_KEY = "[key]"
_NUMBER_TYPES = frozenset({"int_type", "float_type", "decimal_type", "is_instance_of"})
_BOUNDS = {
    "greater_than": ("gt", "over"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "under"),
    "less_than_equal": ("le", "at most"),
}
_CURRENCY_PATTERN = r"^[A-Z]{3}$"
_MEASURE = re.compile(r"\D{0,4}?([-+]?[0-9][0-9_]*(?:[.,][0-9]+)?)\s*[^0-9]{0,12}")
_DAY_FIRST = re.compile(r"([0-9]{1,2})\.\s?([0-9]{1,2})\.\s?([0-9]{4})")


class _Fault:
    """One of pydantic's errors, with what the file holds at its place."""

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
        return self.place.finding(
            code,
            message,
            self.loc if loc is None else loc,
            key=self.on_key,
            advice=advice,
            suggestion=suggestion,
        )


def faults_of(place: RecordPlace, error: ValidationError) -> list[Finding]:
    """The findings that a refused record gives, one for each fault, in pydantic's order."""
    faults = [_Fault(place, each) for each in error.errors(include_url=False, include_context=True)]
    findings: list[Finding] = []
    renamed: set[tuple[tuple[str | int, ...], str]] = set()
    for fault in faults:
        if fault.type == "extra_forbidden":
            finding = _unknown_field(fault)
            if finding.suggestion is not None:
                renamed.add((fault.loc[:-1], finding.suggestion))
            findings.append(finding)
    for fault in faults:
        if fault.type == "extra_forbidden":
            continue
        if fault.type == "missing" and (fault.loc[:-1], str(fault.loc[-1])) in renamed:
            continue  # the mistyped field is reported; its right name is offered there
        if fault.type == "too_short" and fault.input:
            continue  # the entries are there, and each was refused for its own reason
        findings.append(_translate(fault))
    return findings


def _translate(fault: _Fault) -> Finding:
    if fault.input is None and fault.type != "missing" and not fault.on_key:
        return _nothing_given(fault)
    handler = _HANDLERS.get(fault.type)
    if handler is None and fault.type in _BOUNDS:
        handler = _out_of_range
    if handler is None and fault.type in _NUMBER_TYPES:
        handler = _no_number
    return (handler or _other)(fault)


# -- fields -----------------------------------------------------------------------------------


def _unknown_field(fault: _Fault) -> Finding:
    owner = model_at(fault.place.model, fault.loc[:-1])
    known = [] if owner is None else list(owner.model_fields)
    word = str(fault.loc[-1])
    present = fault.place.node(fault.loc[:-1])
    taken = present.entries if isinstance(present, MapNode) else {}
    near = nearest(word, [name for name in known if name not in taken] or known)
    holder = fault.place.name(fault.loc[:-1]) if len(fault.loc) > 1 else "this kind of record"
    return fault.place.finding(
        "FC102",
        f"{holder} has no field {shown(word)!r}",
        fault.loc,
        key=True,
        advice=f"did you mean {near}?" if near else f"the fields are {or_list(known, 12)}",
        suggestion=near,
    )


def _missing(fault: _Fault) -> Finding:
    place, owner = fault.place, fault.loc[:-1]
    about = field_help(place.model, fault.loc)
    holder = f" in {place.name(owner)}" if owner else ""
    return place.finding(
        "FC103",
        f"{shown(str(fault.loc[-1]))} is missing{holder}",
        fault.loc,
        span=place.owner_span(owner),
        advice=f"add it: {about[0].lower()}{about[1:].rstrip('.')}" if about else "add it",
    )


def _nothing_given(fault: _Fault) -> Finding:
    return fault.finding(
        "FC115",
        f"{fault.name} is left empty",
        "write its value, or take the line out if the field may be left out",
    )


def _too_short(fault: _Fault) -> Finding:
    if isinstance(fault.input, str):
        return _no_text(fault)
    return fault.finding("FC115", f"{fault.name} is empty", "give at least one entry")


# -- texts ------------------------------------------------------------------------------------


def _text_expected(fault: _Fault) -> Finding:
    node = fault.node
    if isinstance(node, ScalarNode) and node.plain:
        what = "the truth value" if isinstance(fault.input, bool) else "the number"
        quoted = f'"{node.text}"'
        value = _spoken(fault.input)
        return fault.finding(
            "FC105",
            f"{fault.name} is a text, but {fault.raw} without quotes is {what} {shown(value)}",
            f"put quotes round it: {shown(quoted)}",
            suggestion=quoted,
        )
    return fault.finding(
        "FC104", f"{fault.name} is to be a text, not {fault.raw_kind}", "write one text, in quotes"
    )


def _spoken(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def _pattern(fault: _Fault) -> Finding:
    pattern = fault.context.get("pattern")
    if pattern == ID_PATTERN:
        return _bad_id(fault)
    if pattern == _CURRENCY_PATTERN:
        upper = str(fault.input).strip().upper()
        return fault.finding(
            "FC111",
            f"{fault.name} is three capital letters (ISO 4217), not {fault.raw!r}",
            "write the currency's code, such as EUR",
            suggestion=upper if re.fullmatch("[A-Z]{3}", upper) else None,
        )
    return _no_text(fault)


def _no_text(fault: _Fault) -> Finding:
    return fault.finding(
        "FC111",
        f"{'a key of ' if fault.on_key else ''}{_holder(fault)} holds no text",
        "write the text, or take the line out if the field may be left out",
    )


def _holder(fault: _Fault) -> str:
    return fault.place.name(fault.loc[:-1]) if fault.on_key else fault.name


def _too_long(fault: _Fault) -> Finding:
    limit = fault.context.get("max_length")
    code = "FC109" if limit == MAX_ID_LENGTH else "FC111"
    return fault.finding(
        code,
        f"{fault.name} has {len(str(fault.input))} characters, {limit} are the most",
        "shorten it",
    )


def _bad_id(fault: _Fault) -> Finding:
    text = str(fault.loc[-1]) if fault.on_key else str(fault.input)
    message, advice, suggestion = bad_id_words(text)
    return fault.finding("FC109", message, advice, suggestion=suggestion)


def _word(fault: _Fault) -> Finding:
    words = re.findall(r"'([^']*)'", str(fault.context.get("expected", "")))
    text = fault.raw if fault.node is not None or fault.on_key else str(fault.input)
    given = str(fault.loc[-1]) if fault.on_key else text
    near = nearest(given, words)
    if fault.on_key:
        message = f"{given!r} is no key of {_holder(fault)}"
    elif isinstance(fault.node, ScalarNode):
        message = f"{fault.name} cannot be {text!r}"
    else:
        message = f"{fault.name} is to be one word, not {fault.raw_kind}"
    return fault.finding("FC106", message, f"write {or_list(words, 12)}", suggestion=near)


# -- numbers ----------------------------------------------------------------------------------


def _no_number(fault: _Fault) -> Finding:
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
        f"{fault.name} is to be {kind}, not {fault.raw_kind}",
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


def _out_of_range(fault: _Fault) -> Finding:
    if isinstance(fault.input, Decimal | float) and not Decimal(fault.input).is_finite():
        return _not_finite(fault)
    key, words = _BOUNDS[fault.type]
    limit = fault.context.get(key)
    return fault.finding(
        "FC107",
        f"{fault.name} is {fault.raw}; it is to be {words} {_plain(limit)}",
        "check the digits, the decimal point and the unit",
    )


def _plain(limit: Any) -> str:
    # Limits of a Decimal field arrive as the text "Decimal('500')".
    found = re.search(r"[-+]?[0-9]+(?:\.[0-9]+)?", str(limit))
    return str(limit) if found is None else f"{Decimal(found.group()).normalize():f}"


def _not_finite(fault: _Fault) -> Finding:
    return fault.finding(
        "FC107", f"{fault.name} is to be an ordinary number, not {fault.raw}", "write the number"
    )


# -- mappings, lists --------------------------------------------------------------------------


def _map_expected(fault: _Fault) -> Finding:
    if fault.type == "dict_type":
        advice = "write keys below it, indented, each with a colon and its value"
        example = field_example(fault.place.model, fault.loc)
        if isinstance(example, dict):
            inner = ", ".join(f"{key}: {value}" for key, value in example.items())
            advice = f"write it like {{{inner}}}"
    else:
        owner = model_at(fault.place.model, fault.loc)
        fields = [] if owner is None else list(owner.model_fields)
        advice = f"write its fields below it, indented: {or_list(fields)}"
    return fault.finding(
        "FC104", f"{fault.name} is to hold fields of its own, not {fault.raw_kind}", advice
    )


def _list_expected(fault: _Fault) -> Finding:
    suggestion = f"[{fault.node.text}]" if isinstance(fault.node, ScalarNode) else None
    advice = f"write {shown(suggestion)}" if suggestion else "begin each item with a dash"
    return fault.finding(
        "FC104",
        f"{fault.name} is to be a list, not {fault.raw_kind}",
        advice,
        suggestion=suggestion,
    )


# -- values with a reader of their own ----------------------------------------------------------


def _refused(fault: _Fault) -> Finding:
    error = fault.context.get("error")
    if isinstance(error, TeethError):
        return _teeth(fault, error)
    expected = expected_at(fault.place.model, fault.loc)
    if expected is dt.date:
        return _date(fault)
    if isinstance(fault.node, MapNode) or not fault.loc:
        return _disagreement(fault, str(error))
    return _other(fault)


def _teeth(fault: _Fault, error: TeethError) -> Finding:
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


def _date(fault: _Fault) -> Finding:
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
        str(error) if calendar else f"{fault.name} is to be a date, not {fault.raw_kind}",
        "look at a calendar"
        if calendar
        else f"write {suggestion or 'year-month-day, such as 2026-03-31'}",
        suggestion=suggestion,
    )


def _disagreement(fault: _Fault, message: str) -> Finding:
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
    if not places:
        return place.finding("FC113", message, fault.loc, span=place.owner_span(fault.loc))
    loc = (*fault.loc, places[-1][1])
    inner = place.node(loc)
    children = [key for key in named if isinstance(inner, MapNode) and key in inner.entries]
    if len(set(children)) == 1:
        loc = (*loc, children[0])
    # One semicolon parts the fault from what to do; more of them belong to the sentence.
    sentence, _, advice = message.partition("; ") if message.count("; ") == 1 else (message, "", "")
    return place.finding(
        "FC113",
        sentence,
        loc,
        key=True,
        advice=advice or "put one of them right",
        related=tuple(Related(span, f"{name} stands here") for span, name in places[:-1]),
    )


def _other(fault: _Fault) -> Finding:
    error = fault.context.get("error")
    said = str(error) if error is not None else fault.message
    return fault.finding("FC104", f"{fault.name}: {shown(said, 200)}", "put the value right")


_HANDLERS: dict[str, Callable[[_Fault], Finding]] = {
    "missing": _missing,
    "string_type": _text_expected,
    "string_pattern_mismatch": _pattern,
    "string_too_short": _too_short,
    "string_too_long": _too_long,
    "too_short": _too_short,
    "literal_error": _word,
    "finite_number": _not_finite,
    "dict_type": _map_expected,
    "model_type": _map_expected,
    "list_type": _list_expected,
    "date_type": _date,
    "value_error": _refused,
}
