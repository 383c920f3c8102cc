"""Faults of one record: what the models refuse, said in words and pointed at exactly."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from fitcheck.catalogue.nodes import MapNode, ScalarNode
from fitcheck.catalogue.places import RecordPlace, expected_at, field_example, field_help, model_at
from fitcheck.catalogue.problems import bad_id_words, shown
from fitcheck.catalogue.value_faults import (
    BOUNDS,
    NUMBER_TYPES,
    Fault,
    bad_date,
    explain_refusal,
    no_number,
    not_finite,
    other,
    out_of_range,
)
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.model.fields import ID_PATTERN, MAX_ID_LENGTH, is_id

_CURRENCY_PATTERN = r"^[A-Z]{3}$"


def faults_of(place: RecordPlace, error: ValidationError) -> list[Finding]:
    """The findings that a refused record gives, one for each fault, in pydantic's order."""
    faults = [Fault(place, each) for each in error.errors(include_url=False, include_context=True)]
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


def _translate(fault: Fault) -> Finding:
    if fault.input is None and fault.type != "missing" and not fault.on_key:
        return _nothing_given(fault)
    return _HANDLERS.get(fault.type, other)(fault)


# -- fields -----------------------------------------------------------------------------------


def _unknown_field(fault: Fault) -> Finding:
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


def _missing(fault: Fault) -> Finding:
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


def _nothing_given(fault: Fault) -> Finding:
    return fault.finding(
        "FC115",
        f"{fault.name} is left empty",
        "write its value, or take the line out if the field may be left out",
    )


def _too_short(fault: Fault) -> Finding:
    if isinstance(fault.input, str):
        return _no_text(fault)
    return fault.finding("FC115", f"{fault.name} is empty", "give at least one entry")


# -- texts ------------------------------------------------------------------------------------


def _text_expected(fault: Fault) -> Finding:
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
        "FC104", f"{fault.name} must be a text, not {fault.raw_kind}", "write one text, in quotes"
    )


def _spoken(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def _pattern(fault: Fault) -> Finding:
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


def _no_text(fault: Fault) -> Finding:
    return fault.finding(
        "FC111",
        f"{'a key of ' if fault.on_key else ''}{_holder(fault)} holds no text",
        "write the text, or take the line out if the field may be left out",
    )


def _holder(fault: Fault) -> str:
    return fault.place.name(fault.loc[:-1]) if fault.on_key else fault.name


def _too_long(fault: Fault) -> Finding:
    limit = fault.context.get("max_length")
    code = "FC109" if limit == MAX_ID_LENGTH else "FC111"
    return fault.finding(
        code,
        f"{fault.name} has {len(str(fault.input))} characters, {limit} are the most",
        "shorten it",
    )


def _bad_id(fault: Fault) -> Finding:
    text = str(fault.loc[-1]) if fault.on_key else str(fault.input)
    message, advice, suggestion = bad_id_words(text)
    if not fault.on_key:
        # It names another record, whose id nobody can tell from a name alone.
        message = f"{shown(text)!r} is no id, and a record is named by its id, not by its name"
        advice = "write the id that stands before the colon where the record begins"
        suggestion = None
    return fault.finding("FC109", message, advice, suggestion=suggestion)


def _flow(value: object) -> str:
    """A plain value as YAML in one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return str(value)


def _word(fault: Fault) -> Finding:
    words = re.findall(r"'([^']*)'", str(fault.context.get("expected", "")))
    text = fault.raw if fault.node is not None or fault.on_key else str(fault.input)
    given = str(fault.loc[-1]) if fault.on_key else text
    near = nearest(given, words)
    if fault.on_key:
        message = f"{given!r} is no key of {_holder(fault)}"
    elif isinstance(fault.node, ScalarNode):
        message = f"{fault.name} cannot be {text!r}"
    else:
        message = f"{fault.name} must be one word, not {fault.raw_kind}"
    return fault.finding("FC106", message, f"write {or_list(words, 12)}", suggestion=near)


# -- mappings, lists --------------------------------------------------------------------------


def _map_expected(fault: Fault) -> Finding:
    if fault.type == "dict_type":
        advice = "write keys below it, indented, each with a colon and its value"
        example = field_example(fault.place.model, fault.loc)
        if isinstance(example, dict):
            advice = f"write it like {_flow(_keyed_by(fault) or example)}"
    else:
        owner = model_at(fault.place.model, fault.loc)
        fields = [] if owner is None else list(owner.model_fields)
        advice = f"write its fields below it, indented: {or_list(fields)}"
    return fault.finding(
        "FC104", f"{fault.name} must hold fields of its own, not {fault.raw_kind}", advice
    )


def _keyed_by(fault: Fault) -> dict[str, dict[str, str]] | None:
    """A list of names as the mapping it was to be, where what stands behind a name may be empty."""
    names = fault.input
    if not isinstance(names, list) or not names:
        return None
    if not all(isinstance(name, str) and is_id(name) for name in names):
        return None
    owner = model_at(fault.place.model, (*fault.loc, names[0]))
    if owner is None or any(field.is_required() for field in owner.model_fields.values()):
        return None
    return {name: {} for name in names}


def _list_expected(fault: Fault) -> Finding:
    suggestion = f"[{fault.node.text}]" if isinstance(fault.node, ScalarNode) else None
    item = expected_at(fault.place.model, (*fault.loc, 0))
    if item is not str:
        # What was written is no item either, so a bracket round it would only move the fault.
        suggestion = None
    advice = f"write {shown(suggestion)}" if suggestion else "begin each item with a dash"
    example = field_example(fault.place.model, fault.loc)
    if suggestion is None and example:
        advice += f", such as: - {_flow(example[0])}"
    return fault.finding(
        "FC104",
        f"{fault.name} must be a list, not {fault.raw_kind}",
        advice,
        suggestion=suggestion,
    )


_HANDLERS: dict[str, Callable[[Fault], Finding]] = {
    "missing": _missing,
    "string_type": _text_expected,
    "string_pattern_mismatch": _pattern,
    "string_too_short": _too_short,
    "string_too_long": _too_long,
    "too_short": _too_short,
    "literal_error": _word,
    **dict.fromkeys(NUMBER_TYPES, no_number),
    **dict.fromkeys(BOUNDS, out_of_range),
    "finite_number": not_finite,
    "dict_type": _map_expected,
    "model_type": _map_expected,
    "list_type": _list_expected,
    "date_type": bad_date,
    "value_error": explain_refusal,
}
