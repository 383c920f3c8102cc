"""JSON Schemas (draft 2020-12) of everything the tool writes as JSON, from what declares it."""

from __future__ import annotations

import ast
import inspect
import sys
import textwrap
from functools import cache
from itertools import pairwise
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, NotRequired, get_args, get_origin, get_type_hints

from fitcheck.answers.finding import FindingLine
from fitcheck.answers.gaps import GapsAnswer
from fitcheck.answers.identify import IdentifyAnswer
from fitcheck.answers.match import MatchAnswer, OptionsAnswer
from fitcheck.answers.moves import CountAnswer, HistoryAnswer, MoveAnswer
from fitcheck.answers.plan import PlanAnswer
from fitcheck.answers.price_lists import ImportAnswer
from fitcheck.answers.road import RoadAnswer
from fitcheck.answers.shapes import More
from fitcheck.answers.shelf import StockAnswer
from fitcheck.answers.why import WhyAnswer
from fitcheck.catalogue.schema import BASE, DIALECT

Schema = dict[str, Any]

_PLAIN = {str: "string", int: "integer", float: "number", bool: "boolean"}
_NOTHING = More()

ANSWERS: dict[str, tuple[str, type]] = {
    "match": ("match", MatchAnswer),
    "why": ("why", WhyAnswer),
    "road": ("road", RoadAnswer),
    "identify": ("identify", IdentifyAnswer),
    "options": ("options", OptionsAnswer),
    "import": ("import", ImportAnswer),
    "shelf-list": ("shelf list", StockAnswer),
    "shelf-history": ("shelf history", HistoryAnswer),
    "shelf-move": ("shelf receive", MoveAnswer),
    "shelf-count": ("shelf count", CountAnswer),
    "shelf-gaps": ("shelf gaps", GapsAnswer),
    "shelf-plan": ("shelf plan", PlanAnswer),
}
"""Each answer by its name: the command that gives it, and its class."""

_ASKED = {
    "shelf-move": "`fitcheck shelf receive`, `issue`, `price` and `place` with --format json",
}
"""What asks for an answer that several commands give alike."""


def output_schemas() -> dict[str, Schema]:
    """The schema of every JSON answer and of one line of findings, by file name."""
    found = {
        f"{name}.output.schema.json": _answer_schema(
            name,
            "Answer of " + _ASKED.get(name, f"`fitcheck {command} --format json`"),
            declared,
        )
        for name, (command, declared) in ANSWERS.items()
    }
    finding = "finding.schema.json"
    found[finding] = _file(finding, "One finding", _object(FindingLine, {}))
    return found


def _answer_schema(answer: str, title: str, declared: type) -> Schema:
    """The schema file of an answer.

    Args:
        answer: its name, as in its member `answer`.
        title: what it describes.
        declared: the class of the answer.
    """
    definitions: dict[str, Schema] = {}
    body = _object(declared, definitions)
    body["properties"]["answer"] = {
        "description": body["properties"]["answer"]["description"],
        "const": answer,
    }
    body["description"] = f"{title}; docs/json.md tells more."
    body["$defs"] = dict(sorted(definitions.items()))
    return _file(f"{answer}.output.schema.json", title, body)


def _file(name: str, title: str, body: Schema) -> Schema:
    return {"$schema": DIALECT, "$id": f"{BASE}{name}", "title": title, **body}


def schema_of(  # noqa: PLR0911 - a case for each kind of type
    hint: Any, definitions: dict[str, Schema]
) -> Schema:
    """The schema of a type; what it refers to is put into the definitions."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is NotRequired:
        return schema_of(arguments[0], definitions)
    if origin is Annotated:
        schema = schema_of(arguments[0], definitions)
        for more in hint.__metadata__:
            if isinstance(more, More):
                schema = _with(schema, more.said)
        return schema
    if NoneType in arguments:
        (inner,) = [each for each in arguments if each is not NoneType]
        return _or_null(schema_of(inner, definitions))
    if origin is UnionType:
        return {"type": [_PLAIN[each] for each in arguments]}
    if origin is Literal:
        return {"type": "string", "enum": list(arguments)}
    if origin is list:
        return {"type": "array", "items": schema_of(arguments[0], definitions)}
    if origin is dict:
        return {"type": "object", "additionalProperties": schema_of(arguments[1], definitions)}
    if hint in _PLAIN:
        return {"type": _PLAIN[hint]}
    if hint.__name__.startswith("_"):
        return _object(hint, definitions)
    if hint.__name__ not in definitions:
        definitions[hint.__name__] = {}  # it may refer to itself
        definitions[hint.__name__] = _object(hint, definitions)
    return {"$ref": f"#/$defs/{hint.__name__}"}


def _with(schema: Schema, more: Schema) -> Schema:
    if "const" in more:
        return {key: value for key, value in schema.items() if key != "type"} | more
    return schema | more


def _or_null(schema: Schema) -> Schema:
    if isinstance(schema.get("type"), str):
        widened = schema | {"type": [schema["type"], "null"]}
        if "enum" in schema:
            widened["enum"] = [*schema["enum"], None]
        return widened
    description = {"description": schema["description"]} if "description" in schema else {}
    inner = {key: value for key, value in schema.items() if key != "description"}
    return description | {"anyOf": [inner, {"type": "null"}]}


def _object(declared: Any, definitions: dict[str, Schema]) -> Schema:
    """An object whose members are all always there, but for those on request, and no others."""
    told = _docstrings(declared)
    hints = get_type_hints(declared, include_extras=True)
    properties = {
        name: _described(schema_of(hint, definitions), told.get(name))
        for name, hint in hints.items()
    }
    needed = [name for name, hint in hints.items() if get_origin(hint) is not NotRequired]
    return {
        "description": " ".join((declared.__doc__ or "").split()),
        "type": "object",
        "properties": properties,
        **({"required": needed} if needed else {}),
        **getattr(declared, "more", _NOTHING).said,
        "additionalProperties": False,
    }


def _described(schema: Schema, told: str | None) -> Schema:
    described = {} if told is None else {"description": told}
    return described | schema | described


@cache
def _docstrings(declared: type) -> dict[str, str]:
    """Member to the docstring under it, those of the classes it is built on first."""
    module = sys.modules[declared.__module__]
    try:
        (node,) = ast.parse(textwrap.dedent(inspect.getsource(declared))).body
    except (OSError, SyntaxError):
        return {}
    if not isinstance(node, ast.ClassDef):  # declared by a call: its members carry their own
        return {}
    found: dict[str, str] = {}
    for base in reversed(node.bases):
        built_on = getattr(module, ast.unparse(base), None)
        if isinstance(built_on, type):
            found |= _docstrings(built_on)
    for member, text in pairwise(node.body):
        if (
            isinstance(member, ast.AnnAssign)
            and isinstance(member.target, ast.Name)
            and isinstance(text, ast.Expr)
            and isinstance(text.value, ast.Constant)
        ):
            found[member.target.id] = " ".join(str(text.value.value).split())
    return found
