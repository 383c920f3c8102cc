"""JSON Schemas of the catalogue's files, made from the models of their records.

An editor reads them for completion and hover help. They are built from the type hints of the
models and not by pydantic, so that the text is the same under every version of it and so that
a mapping with known keys lists them with their meaning.
"""

from __future__ import annotations

import json
import types
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from inspect import cleandoc
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import StringConstraints, WithJsonSchema
from pydantic.fields import FieldInfo

from fitcheck.catalogue.shape import LEDGER_KEY
from fitcheck.model.fields import STAGE_DESCRIPTIONS, Id, Record, RefersTo, SetId
from fitcheck.model.kinds import DEFAULTABLE, KINDS
from fitcheck.model.trade import LedgerEnd

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
BASE = "https://fitcheck.example/schemas/"

_REFERS = "refers to"
"""Key, in a schema that is not ready yet, of the kind of record whose id a value is."""

_UNITS = {
    "_per_mass_w_kg": " per mass (W/kg)",
    "_km_h": " (km/h)",
    "_cm3": " (cm³)",
    "_deg": " (degrees)",
    "_rpm": " (1/min)",
    "_nm": " (Nm)",
    "_m2": " (m²)",
    "_mm": " (mm)",
    "_in": " (inches)",
    "_kg": " (kg)",
    "_kw": " (kW)",
    "_w": " (W)",
}
"""Endings of field names and how they read in a title; the longest first where they overlap."""

_LIMITS = {
    "ge": "minimum",
    "gt": "exclusiveMinimum",
    "le": "maximum",
    "lt": "exclusiveMaximum",
}
_LENGTHS = {
    "string": ("minLength", "maxLength"),
    "array": ("minItems", "maxItems"),
    "object": ("minProperties", "maxProperties"),
}


def file_name(kind: str) -> str:
    """Name of the schema file of a kind, such as `gear-set.schema.json`."""
    return f"{kind}.schema.json"


Ids = Mapping[str, Sequence[str]]
"""The ids a shop has, by kind of record; its housings as `housing`."""


def schemas(ids: Ids | None = None) -> dict[str, Schema]:
    """The JSON Schema (draft 2020-12) of a catalogue file, by file name, one for each kind.

    Args:
        ids: what an editor suggests where a field holds the id of another record; words of the demo
            are no examples then. None: the demo's words are.
    """
    return {
        file_name(kind): _settle_examples(_file_schema(kind, model), ids)
        for kind, model in KINDS.items()
    }


def _settle_examples(schema: Any, ids: Ids | None) -> Any:
    """A schema without the notes of what ids refer to; with a shop's own ids as examples."""
    if isinstance(schema, list):
        return [_settle_examples(each, ids) for each in schema]
    if not isinstance(schema, dict):
        return schema
    settled = {k: _settle_examples(v, ids) for k, v in schema.items() if k != _REFERS}
    if ids is None:
        return settled
    examples = settled.get("examples")
    if isinstance(examples, list) and not all(isinstance(each, int | float) for each in examples):
        del settled["examples"]
    own = ids.get(schema.get(_REFERS, ""))
    return settled | {"examples": list(own)} if own else settled


def write_schemas(folder: Path, named: Mapping[str, Schema] | None = None) -> list[Path]:
    """Write schemas into a folder, made where missing; other files there stay.

    Args:
        folder: where to.
        named: file name to schema. Default: those of the catalogue's kinds.

    Returns:
        The files written, in the order given.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, text in _texts(named):
        path = folder / name
        path.write_text(text, encoding="utf-8", newline="\n")
        written.append(path)
    return written


def compare(
    folder: Path, named: Mapping[str, Schema] | None = None, *, examples: bool = True
) -> list[str]:
    """Names of the schema files that are missing or out of step; other files do not count.

    Args:
        folder: where they are.
        named: file name to schema. Default: those of the catalogue's kinds.
        examples: whether examples count; a shop's own ids come and go.
    """
    stale = []
    for name, text in _texts(named):
        path = folder / name
        there = path.read_bytes().decode("utf-8", "replace") if path.is_file() else ""
        if there != text and (examples or _without_examples(there) != _without_examples(text)):
            stale.append(name)
    return stale


def _without_examples(text: str) -> Any:
    try:
        return _settle_examples(json.loads(text), {})
    except ValueError:
        return None


def _texts(named: Mapping[str, Schema] | None) -> Iterator[tuple[str, str]]:
    for name, schema in (schemas() if named is None else named).items():
        yield name, json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


# ---------------------------------------------------------------- the file around the records


def _file_schema(kind: str, model: type[Record]) -> Schema:
    defs: dict[str, Schema] = {}
    record = _reference(model, defs)
    defaultable = DEFAULTABLE.get(kind, ())
    definition = defs[model.__name__]
    deferred = [name for name in definition.get("required", ()) if name in defaultable]
    definition["required"] = [n for n in definition.get("required", ()) if n not in defaultable]

    properties: Schema = {
        "kind": {
            "title": "Kind",
            "description": f"What the records of this file are; here always {kind}.",
            "const": kind,
        }
    }
    if defaultable:
        properties["defaults"] = {
            "title": "Defaults",
            "description": "Fields given once for all records of this file; a record that gives "
            f"one itself keeps its own. Allowed: {', '.join(defaultable)}.",
            "type": "object",
            "properties": {name: definition["properties"][name] for name in defaultable},
            "additionalProperties": False,
        }
    if kind == "shelf":
        properties[LEDGER_KEY] = _record_schema(LedgerEnd, defs)
    properties["records"] = {
        "title": "Records",
        "description": f"The records by id: {_sentence(model)} An id is unique among all "
        f"{kind} records of the catalogue, capitals or not.",
        "type": ["object", "null"],
        "propertyNames": _walk(SetId if kind == "shelf" else Id, defs),
        "additionalProperties": record,
    }
    schema: Schema = {
        "$schema": DIALECT,
        "$id": BASE + file_name(kind),
        "title": f"Catalogue file of kind {kind}",
        "description": f"{_sentence(model)} Lines that start with # are comments and are kept.",
        "type": "object",
        "properties": properties,
        "required": ["kind", "records"],
        "additionalProperties": False,
    }
    if deferred:
        # Required in each record unless the file gives it once for all.
        schema["allOf"] = [_required_here_or_in_defaults(name) for name in deferred]
    schema["$defs"] = dict(sorted(defs.items()))
    return schema


def _required_here_or_in_defaults(name: str) -> Schema:
    return {
        "if": {"required": ["defaults"], "properties": {"defaults": {"required": [name]}}},
        "else": {"properties": {"records": {"additionalProperties": {"required": [name]}}}},
    }


# ---------------------------------------------------------------- one record


def _reference(model: type[Record], defs: dict[str, Schema]) -> Schema:
    name = model.__name__
    if name not in defs:
        defs[name] = {}
        defs[name].update(_record_schema(model, defs))
    return {"$ref": f"#/$defs/{name}"}


def _record_schema(model: type[Record], defs: dict[str, Schema]) -> Schema:
    hints = get_type_hints(model, include_extras=True)
    properties: Schema = {}
    for name, info in model.model_fields.items():
        own: Schema = {"title": _title(name)}
        if info.description:
            own["description"] = info.description
        schema = own | {k: v for k, v in _walk(hints[name], defs).items() if k not in own}
        for limit in info.metadata:
            _limit(schema, limit)
        schema = {key: _plain(value) for key, value in schema.items()}
        if isinstance(info.default, (str, int, float, Decimal)):
            schema["default"] = _plain(info.default)
        if info.examples:
            schema["examples"] = list(info.examples)
        _merge(schema, info.json_schema_extra)
        properties[name] = schema
    schema = {
        "title": _title(_words(model.__name__)),
        "description": _sentence(model),
        "type": "object",
        "properties": properties,
        "additionalProperties": False,
    }
    required = [name for name, info in model.model_fields.items() if info.is_required()]
    if required:
        schema["required"] = required
    _merge(schema, model.model_config.get("json_schema_extra"))
    return schema


def _walk(hint: Any, defs: dict[str, Schema]) -> Schema:
    """The schema of one type hint; the definitions it needs are added to `defs`."""
    origin, args = get_origin(hint), get_args(hint)
    schema: Schema
    if origin is Annotated:
        schema = _annotated(args[0], args[1:], defs)
    elif origin in {Union, types.UnionType}:
        (inner,) = (arg for arg in args if arg is not types.NoneType)
        schema = _or_null(_walk(inner, defs))
    elif origin is Literal:
        schema = {"type": "string", "enum": list(args)}
    elif origin is list:
        schema = {"type": "array", "items": _described(_walk(args[0], defs))}
    elif origin is dict:
        schema = _mapping(args[0], _walk(args[1], defs), defs)
    elif isinstance(hint, type) and issubclass(hint, Record):
        schema = _reference(hint, defs)
    else:
        schema = {"type": {str: "string", int: "integer"}[hint]}
    return schema


def _annotated(base: Any, notes: tuple[Any, ...], defs: dict[str, Schema]) -> Schema:
    given = next((note.json_schema for note in notes if isinstance(note, WithJsonSchema)), None)
    if given is not None and "title" in given:
        name = "".join(word.capitalize() for word in given["title"].split())
        defs[name] = dict(given)
        return {"$ref": f"#/$defs/{name}"}
    schema = dict(given) if given is not None else _walk(base, defs)
    for note in notes:
        if isinstance(note, FieldInfo):
            if note.description:
                schema["description"] = note.description
            for limit in note.metadata:
                _limit(schema, limit)
        elif isinstance(note, StringConstraints):
            _limit(schema, note)
        elif isinstance(note, RefersTo):
            schema[_REFERS] = note.kind
    return {key: _plain(value) for key, value in schema.items()}


def _limit(schema: Schema, limit: Any) -> None:
    """Narrow a schema by one constraint; of two like limits the tighter one stays."""
    for attribute, keyword in _LIMITS.items():
        bound = getattr(limit, attribute, None)
        if bound is not None:
            tighter = max if attribute[0] == "g" else min
            schema[keyword] = tighter(bound, schema.get(keyword, bound))
    lengths = _LENGTHS.get(str(schema.get("type")), ())
    for attribute, keyword in zip(("min_length", "max_length"), lengths, strict=False):
        bound = getattr(limit, attribute, None)
        if bound is not None:
            schema[keyword] = bound
    pattern = getattr(limit, "pattern", None)
    if pattern is not None:
        schema["pattern"] = pattern


def _or_null(schema: Schema) -> Schema:
    """The same, or nothing after the colon: a key whose value is left empty."""
    kind = schema.get("type")
    if not isinstance(kind, str):
        return {"anyOf": [schema, {"type": "null", "description": "Left empty: not known."}]}
    widened = schema | {"type": [kind, "null"]}
    if "enum" in schema:
        widened["enum"] = [*schema["enum"], None]
    return widened


def _mapping(key: Any, value: Schema, defs: dict[str, Schema]) -> Schema:
    if get_origin(key) is Literal:
        properties = {}
        for name in get_args(key):
            meaning = STAGE_DESCRIPTIONS.get(name)
            words = {"title": _title(name)} | ({"description": meaning} if meaning else {})
            properties[name] = words | {k: v for k, v in value.items() if k not in words}
        return {"type": "object", "properties": properties, "additionalProperties": False}
    return {
        "type": "object",
        "propertyNames": _walk(key, defs),
        "additionalProperties": _described(value),
    }


def _described(schema: Schema) -> Schema:
    """A schema with a description, for an item of a list or a value of a mapping."""
    if "$ref" in schema or "description" in schema:
        return schema
    words = [str(word) for word in schema.get("enum", ())]
    return {"description": f"One of {', '.join(words)}." if words else "A list."} | schema


def _merge(schema: Schema, extra: Any) -> None:
    if not isinstance(extra, Mapping):
        return
    for key, value in extra.items():
        if isinstance(value, Mapping) and isinstance(schema.get(key), dict):
            _merge(schema[key], value)
        else:
            schema[key] = value


# ---------------------------------------------------------------- words and numbers


def _plain(value: Any) -> Any:
    """A bound as a plain number of JSON, whole where it is whole."""
    if isinstance(value, (Decimal, float)):
        return int(value) if value == int(value) else float(value)
    return value


def _sentence(model: type[Record]) -> str:
    return cleandoc(model.__doc__ or "").split("\n\n")[0].replace("\n", " ")


def _words(name: str) -> str:
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip()


def _title(name: str) -> str:
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            name = name.removesuffix(ending) + unit
            break
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]
