"""The reference of catalogue fields, docs/fields.md, made from the schemas.

`python -m fitcheck.screens.reference.fields --write` writes it; without `--write` it only says
whether the committed file is in step.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from fitcheck.answers.reference import write_or_compare
from fitcheck.catalogue.schema import schemas

_MODULE = "fitcheck.screens.reference.fields"
DOCUMENT = Path(__file__).parents[3] / "docs" / "fields.md"

_Schema = Mapping[str, Any]


def field_reference() -> str:
    """The whole document, in Markdown, ending in a line break."""
    opening = (
        "# Catalogue fields\n\n"
        "Every field of every kind of catalogue file, made from the models by "
        "`python -m fitcheck.screens.reference.fields --write`. A field in **bold** must be given. "
        "An editor that reads the schema named on a file's first line shows the same words while "
        "you type. [catalogue-format.md](catalogue-format.md) says how the files belong together."
    )
    parts = [opening]
    for name, schema in schemas().items():
        kind = name.removesuffix(".schema.json")
        defs: Mapping[str, _Schema] = schema.get("$defs", {})
        record = defs[_name(schema["properties"]["records"]["additionalProperties"])]
        parts.append(f"## kind: {kind}\n\n{record.get('description', '')}")
        parts.append("\n".join(_table(record, defs)))
        told = {record["title"]}
        for inner in _inner(record, defs):
            if inner["title"] not in told:
                told.add(inner["title"])
                parts.append(f"### {inner['title']}\n\n{inner.get('description', '')}")
                parts.append("\n".join(_table(inner, defs)))
    return "\n\n".join(parts) + "\n"


def _name(schema: _Schema) -> str:
    return str(schema["$ref"]).rsplit("/", 1)[-1]


def _table(record: _Schema, defs: Mapping[str, _Schema]) -> Iterator[str]:
    yield "| field | holds | meaning | example |"
    yield "|---|---|---|---|"
    required = set(record.get("required", ()))
    for field, schema in record.get("properties", {}).items():
        shown = f"**`{field}`**" if field in required else f"`{field}`"
        example = schema.get("examples", [None])[0]
        code = "" if example is None else f"`{json.dumps(example, ensure_ascii=False)}`"
        cells = (shown, _holds(schema, defs), str(schema.get("description", "")), code)
        yield "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _holds(schema: _Schema, defs: Mapping[str, _Schema]) -> str:
    if "$ref" in schema:
        return str(defs[_name(schema)]["title"]).lower()
    if "enum" in schema:
        return " or ".join(f"`{value}`" for value in schema["enum"] if value is not None)
    if "anyOf" in schema:
        return _holds(next(part for part in schema["anyOf"] if part.get("type") != "null"), defs)
    types = schema["type"]
    kind = types if isinstance(types, str) else next(t for t in types if t != "null")
    if kind == "array":
        return f"list of {_holds(schema['items'], defs)}"
    if kind == "object":
        return _mapping(schema, defs)
    words = {"string": "text", "integer": "whole number", "number": "number"}
    return words[kind] + _limits(schema)


def _mapping(schema: _Schema, defs: Mapping[str, _Schema]) -> str:
    if "properties" in schema:
        inner = next(iter(schema["properties"].values()))
        return f"by {', '.join(schema['properties'])}: {_holds(inner, defs)}"
    return f"by id: {_holds(schema['additionalProperties'], defs)}"


def _limits(schema: _Schema) -> str:
    if schema.get("format") == "date":
        return " (a date)"
    limits = []
    if "exclusiveMinimum" in schema:
        limits.append(f"over {_plain(schema['exclusiveMinimum'])}")
    if "minimum" in schema:
        limits.append(f"from {_plain(schema['minimum'])}")
    if "maximum" in schema:
        limits.append(f"up to {_plain(schema['maximum'])}")
    return f", {' '.join(limits)}" if limits else ""


def _plain(value: float) -> str:
    return f"{value:,.10g}"


def _inner(record: _Schema, defs: Mapping[str, _Schema]) -> Iterator[_Schema]:
    """Records inside a record, in the order of its fields, each with its own inner ones."""
    for reference in _references(record.get("properties", {})):
        inner = defs[reference]
        if inner.get("type") == "object":
            yield inner
            yield from _inner(inner, defs)


def _references(schema: Any) -> Iterator[str]:
    if isinstance(schema, Mapping):
        if "$ref" in schema:
            yield _name(schema)
        for value in schema.values():
            yield from _references(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from _references(value)


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the document with `--write`, else say whether it is in step; 0 where it is."""
    return write_or_compare(
        "fitcheck.screens.reference.fields", DOCUMENT, field_reference, arguments
    )


if __name__ == "__main__":
    sys.exit(main())
