"""Small pieces of JSON Schema, so that a schema of an answer reads like the answer."""

from __future__ import annotations

from collections.abc import Container, Iterable
from typing import Any

__all__ = [
    "Schema",
    "list_of",
    "members",
    "nullable",
    "number",
    "ref",
    "text",
    "whole",
    "words",
    "yes_no",
]

Schema = dict[str, Any]


def members(
    description: str, properties: dict[str, Schema], if_asked: Container[str] = ()
) -> Schema:
    """An object whose members are all always there, but for some, and no others."""
    return {
        "description": description,
        "type": "object",
        "properties": properties,
        "required": [name for name in properties if name not in if_asked],
        "additionalProperties": False,
    }


def text(description: str, **more: Any) -> Schema:
    """A string."""
    return {"description": description, "type": "string", **more}


def whole(description: str, minimum: int = 0) -> Schema:
    """A whole number."""
    return {"description": description, "type": "integer", "minimum": minimum}


def number(description: str, **more: Any) -> Schema:
    """A number."""
    return {"description": description, "type": "number", **more}


def yes_no(description: str) -> Schema:
    """True or false."""
    return {"description": description, "type": "boolean"}


def list_of(items: Schema, description: str, **more: Any) -> Schema:
    """A list."""
    return {"description": description, "type": "array", "items": items, **more}


def ref(name: str, description: str | None = None) -> Schema:
    """A definition of this file."""
    return ({} if description is None else {"description": description}) | {
        "$ref": f"#/$defs/{name}"
    }


def nullable(schema: Schema) -> Schema:
    """The same, or null."""
    if isinstance(schema.get("type"), str):
        widened = schema | {"type": [schema["type"], "null"]}
        if "enum" in schema:
            widened["enum"] = [*schema["enum"], None]
        return widened
    description = {"description": schema["description"]} if "description" in schema else {}
    inner = {key: value for key, value in schema.items() if key != "description"}
    return description | {"anyOf": [inner, {"type": "null"}]}


def words(description: str, values: Iterable[str]) -> Schema:
    """One of several words."""
    return {"description": description, "type": "string", "enum": list(values)}
