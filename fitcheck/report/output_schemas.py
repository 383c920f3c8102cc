"""JSON Schemas (draft 2020-12) of everything the tool writes as JSON."""

from __future__ import annotations

from typing import Any

from fitcheck.model.fields import STAGES
from fitcheck.model.kinds import KINDS
from fitcheck.report.findings.jsonlines import VERSION
from fitcheck.report.identify_json import slip_word
from fitcheck.report.intake_schema import intake_members
from fitcheck.report.planning_schema import PLANNING_ANSWERS, PLANNING_DEFINITIONS
from fitcheck.report.road_schema import ROAD_DEFINITIONS, road_members
from fitcheck.report.schema_building import (
    Schema,
    list_of,
    members,
    nullable,
    number,
    ref,
    text,
    whole,
    words,
    yes_no,
)
from fitcheck.report.schema_parts import (
    DEFINITIONS,
    EVIDENCE,
    IF_ASKED,
    TRAIN,
    VERDICT,
    header_members,
    result_members,
)
from fitcheck.report.shelf_schema import SHELF_ANSWERS, SHELF_DEFINITIONS
from fitcheck.rules.fit import RULES
from fitcheck.services.identify import Slip

__all__ = ["output_schemas"]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_BASE = "https://fitcheck.example/schemas/"
_DEFINITIONS = DEFINITIONS | ROAD_DEFINITIONS | SHELF_DEFINITIONS | PLANNING_DEFINITIONS
_SHELF_ANSWERS = SHELF_ANSWERS | PLANNING_ANSWERS


def output_schemas() -> dict[str, Schema]:
    """The schema of every JSON answer and of one line of findings, by file name."""
    answers = {
        "match": _match(),
        "why": _why(),
        "road": _road(),
        "identify": _identify(),
        "options": _options(),
        "intake": _intake(),
        **{name: _shelf(name) for name in _SHELF_ANSWERS},
    }
    found = {
        f"{answer}.output.schema.json": _file(f"{answer}.output.schema.json", title, properties)
        for answer, (title, properties) in answers.items()
    }
    found["finding.schema.json"] = _finding()
    return found


def _file(name: str, title: str, properties: dict[str, Schema]) -> Schema:
    body = members(f"{title}; docs/json.md tells more.", properties, if_asked=IF_ASKED)
    needed: dict[str, Schema] = {}
    _collect(body, needed)
    return {
        "$schema": _DIALECT,
        "$id": _BASE + name,
        "title": title,
        **body,
        "$defs": dict(sorted(needed.items())),
    }


def _collect(node: Any, needed: dict[str, Schema]) -> None:
    """Gather the definitions that a schema refers to, and those that they refer to."""
    if isinstance(node, list):
        for each in node:
            _collect(each, needed)
    elif isinstance(node, dict):
        name = str(node.get("$ref", "")).removeprefix("#/$defs/")
        if name and name not in needed:
            needed[name] = _DEFINITIONS[name]
            _collect(_DEFINITIONS[name], needed)
        for each in node.values():
            _collect(each, needed)


def _gear_sets() -> Schema:
    return {
        "description": "Every gear set the combinations name, once, by id.",
        "type": "object",
        "additionalProperties": ref("GearSet"),
    }


def _match() -> tuple[str, dict[str, Schema]]:
    return "Answer of `fitcheck match --format json`", {
        **header_members("match"),
        "machine": ref("Machine"),
        **result_members(),
        "gear_sets": _gear_sets(),
    }


def _why() -> tuple[str, dict[str, Schema]]:
    hand = r"^[0-9]+\.[0-9]{2}$"
    train = members(
        "A train worked by hand.",
        {
            "stages": list_of(
                members(
                    "One stage.",
                    {
                        "stage": words("The stage.", STAGES),
                        "pair": text("Its tooth counts, driver/driven."),
                        "reduction": ref("Exact", "Driven over driver."),
                        "cut": text("The same cut, not rounded, at two decimals.", pattern=hand),
                    },
                ),
                "From input shaft to wheel.",
                minItems=1,
                maxItems=3,
            ),
            "reduction": ref("Exact", "Overall reduction."),
            "by_hand": members(
                "As with paper and a pocket calculator.",
                {
                    "product": text(
                        "Product of the cut figures, cut after each step.", pattern=hand
                    ),
                    "exact_cut": text("The exact overall reduction, cut once.", pattern=hand),
                    "agrees": yes_no("Whether the two are the same."),
                },
            ),
        },
    )
    datum = members(
        "A value in the catalogue that the rule looked at.",
        {
            "kind": words("Kind of the record.", KINDS),
            "id": text("Id of the record."),
            "text": text("The value in words."),
            "place": ref("Place", "Where it stands."),
        },
    )
    rule = members(
        "The answer of one rule of fit.",
        {
            "rule": words("Id of the rule.", RULES),
            "asks": text("What it asks, one sentence."),
            "set": nullable(
                text("Id of the set it is about; null where it is about the gears of two parts.")
            ),
            "subject": nullable(text("The stage or the two gears it is about.")),
            "fit": VERDICT,
            "evidence": EVIDENCE,
            "reason": text("One sentence."),
            "measure": nullable(text("What to measure or ask to settle an unproven answer.")),
            "data": list_of(datum, "What it rests on."),
        },
    )
    sentence = {"type": "string"}
    return "Answer of `fitcheck why --format json`", {
        **header_members("why"),
        "machine": ref("Machine"),
        "band": nullable(ref("Band", "Null where no tune is given.")),
        "combination": ref("Combination"),
        "calculation": members(
            "The arithmetic, before and after.",
            {
                "now": train | {"description": "The train as it is."},
                "then": train | {"description": "The train with the sets fitted."},
            },
        ),
        "rules": list_of(rule, "Every rule's answer, set by set, then between the gears."),
        "questions": list_of(sentence, "What would settle what is unproven."),
        "advice": list_of(sentence, "What is worth knowing though it decides no fit."),
        "retired": list_of(sentence, "Sets that are kept on file but no longer sold."),
        "stock": list_of(sentence, "Where each set is to be had: on the shelf, or from whom."),
        "gear_sets": _gear_sets(),
    }


def _road() -> tuple[str, dict[str, Schema]]:
    return "Answer of `fitcheck road --format json`", {
        **header_members("road"),
        **road_members(),
        "gear_sets": _gear_sets(),
    }


def _identify() -> tuple[str, dict[str, Schema]]:
    candidate = members(
        "One factory train that explains the counts.",
        {
            "slip": words(
                "What would have had to go wrong; exact: nothing.",
                [slip_word(slip) for slip in Slip],
            ),
            "family": text("Id of the engine family."),
            "family_name": text("Name of the engine family."),
            **TRAIN,
            "reading": text("How the counts are explained."),
            "check": nullable(text("What to count or look at again.")),
            "sets": list_of(
                {"type": "string"}, "Ids of gear sets that would explain a changed stage."
            ),
        },
    )
    return "Answer of `fitcheck identify --format json`", {
        **header_members("identify"),
        "counted": members(
            "What was counted.",
            {
                "pairs": list_of(
                    text("One pair, driver/driven."),
                    "In the order counted.",
                    minItems=1,
                    maxItems=3,
                ),
                "reduction": ref("Exact", "Their overall reduction."),
                "wheel_size_in": nullable(whole("Rim size given, inches.", 1)),
            },
        ),
        "candidates": list_of(candidate, "Exact trains first, then by how likely the slip is."),
    }


def _options() -> tuple[str, dict[str, Schema]]:
    group = members(
        "The choices for one factory train under one tune.",
        {
            "factory_train": ref("FactoryTrain"),
            "tune": text("Id of the tune."),
            "tune_name": text("Name of the tune."),
            **result_members(),
        },
        if_asked=IF_ASKED,
    )
    return "Answer of `fitcheck options --format json`", {
        **header_members("options"),
        "family": members(
            "The engine family.",
            {
                "id": text("Its id."),
                "name": text("Its name."),
                "displacement_cm3": nullable(number("Displacement as made, cm³.")),
                "place": ref("Place", "Where its record stands."),
            },
        ),
        "groups": list_of(group, "By factory train, then by tune."),
        "gear_sets": _gear_sets(),
    }


def _intake() -> tuple[str, dict[str, Schema]]:
    title = "Answer of `fitcheck intake --format json`"
    return title, {**header_members("intake"), **intake_members()}


def _shelf(name: str) -> tuple[str, dict[str, Schema]]:
    title, properties = _SHELF_ANSWERS[name]()
    return title, {**header_members(name), **properties}


def _finding() -> Schema:
    place = [{"$ref": "#/$defs/Place"}]
    properties: dict[str, Schema] = {
        "version": {"description": "Version of this shape.", "const": VERSION},
        "code": text(
            "Code of the kind of finding; docs/diagnostics.md lists them.",
            pattern="^FC[0-9]{3}$",
            examples=["FC102"],
        ),
        "name": text(
            "The code in words.",
            pattern="^[a-z0-9]+(?:-[a-z0-9]+)*$",
            examples=["unknown-field"],
        ),
        "severity": words(
            "error: certainly wrong; warning: probably wrong; advice: worth knowing.",
            ["error", "warning", "advice"],
        ),
        "message": text("One sentence saying what is wrong."),
        "record": nullable(text("Id of the record, if any.")),
        "field": {
            "description": "Keys and list positions, from 0, that lead to the value inside the "
            "file.",
            "type": "array",
            "items": {"type": ["string", "integer"]},
            "examples": [["records", "MA-1544", "fits", 0, "family"]],
        },
        "related": list_of(
            {
                "type": "object",
                "allOf": place,
                "properties": {"label": text("Why it is named.")},
                "required": ["label"],
                "unevaluatedProperties": False,
            },
            "Other places that have to do with it.",
        ),
        "help": nullable(text("What to do, if there is more to say.")),
        "suggestion": nullable(text("A near match to put in place of the value, if there is one.")),
        "fingerprint": text(
            "Stays the same when the finding moves to another line.", pattern="^[0-9a-f]{20}$"
        ),
    }
    corners = {
        "path": text("The file, with forward slashes."),
        "line": whole("First line.", 1),
        "column": whole("First column.", 1),
        "end_line": whole("Last line.", 1),
        "end_column": whole("Column after the last character.", 1),
    }
    return {
        "$schema": _DIALECT,
        "$id": _BASE + "finding.schema.json",
        "title": "One finding",
        "description": "One line of `fitcheck check --format jsonl`: one thing wrong with the "
        "data. Places count lines and columns from 1, columns in code points; the end is "
        "exclusive.",
        "type": "object",
        "allOf": place,
        "properties": properties,
        "required": list(properties),
        "unevaluatedProperties": False,
        "$defs": {
            "Place": {"type": "object", "properties": corners, "required": list(corners)},
        },
    }
