"""The JSON Schemas of the catalogue files: in step, sound, described, and one with the models.

Judges from outside: JSON Schema draft 2020-12 as the reference library `jsonschema` carries it
(the dialect's own meta-schema and its validator).
"""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from fitcheck.catalogue.reader import read_records
from fitcheck.catalogue.schema import compare, file_name, schemas, write_schemas
from fitcheck.model.fields import STAGES
from fitcheck.model.kinds import KINDS
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "data" / "sample-catalog"
FILES = sorted([*SAMPLE.rglob("*.yaml"), *(ROOT / "catalog").rglob("*.yaml")])
ALL = schemas()

Steps = tuple[str | int, ...]


# ---------------------------------------------------------------- the schemas themselves


def test_committed_schemas_are_in_step() -> None:
    assert compare(ROOT / "schemas") == [], "run `fitcheck schema --write` and commit schemas/"


def test_compare_names_stale_and_missing_files_and_no_others(tmp_path: Path) -> None:
    written = write_schemas(tmp_path)
    assert [path.name for path in written] == [file_name(kind) for kind in KINDS]
    (tmp_path / "match.schema.json").write_text("{}")
    assert compare(tmp_path) == []
    (tmp_path / "tune.schema.json").write_text("{}")
    (tmp_path / "shelf.schema.json").unlink()
    assert compare(tmp_path) == ["tune.schema.json", "shelf.schema.json"]


def _offered(schema: dict[str, Any], model: str, field: str) -> Any:
    properties = schema["$defs"][model]["properties"][field]
    return properties.get("examples") or properties.get("items", {}).get("examples")


def test_a_shop_is_offered_its_own_ids_and_no_word_of_the_demo() -> None:
    ids = {kind: [f"own-{kind}"] for kind in (*KINDS, "housing")}
    own = schemas(ids)
    refers = {
        ("machine", "Machine"): ("family", "housing", "tyre", "tune", "vehicle_class"),
        ("gear-set", "GearSet"): ("supplier", "successor"),
        ("gear-set", "FitClaim"): ("family", "housings"),
        ("family", "FactoryTrain"): ("housing", "tyre"),
        ("family", "Family"): ("vehicle_class",),
        ("variator", "VariatorKit"): ("supplier", "fits"),
    }
    other = {"housings": "housing", "vehicle_class": "vehicle-class", "successor": "gear-set"}
    other["fits"] = "family"
    for (kind, model), fields in refers.items():
        for field in fields:
            wanted = ids[other.get(field, field)]
            assert _offered(own[file_name(kind)], model, field) == wanted, (model, field)
    shelf = own["shelf.schema.json"]["properties"]["records"]
    assert shelf["propertyNames"]["examples"] == ids["gear-set"]
    text = json.dumps(own).lower()
    assert not [word for word in ("dunlin", "marram", "t-350", "refers to") if word in text]
    assert "refers to" not in json.dumps(schemas())


def test_own_ids_that_came_or_went_put_no_schema_out_of_step(tmp_path: Path) -> None:
    write_schemas(tmp_path, schemas({"family": ["knot-50"]}))
    now = schemas({"family": ["knot-50", "stint-50"]})
    assert "machine.schema.json" in compare(tmp_path, now)
    assert compare(tmp_path, now, examples=False) == []
    del now["machine.schema.json"]["required"]
    (tmp_path / "tune.schema.json").write_text("{", encoding="utf-8")
    stale = compare(tmp_path, now, examples=False)
    assert stale == ["machine.schema.json", "tune.schema.json"]


def test_writing_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    first = [path.read_bytes() for path in write_schemas(tmp_path / "a")]
    assert first == [path.read_bytes() for path in write_schemas(tmp_path / "b")]
    assert all(text.endswith(b"}\n") and b"\r" not in text for text in first)


@pytest.mark.parametrize("name", ALL)
def test_each_is_a_valid_schema_of_its_dialect(name: str) -> None:
    schema = ALL[name]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"].endswith("/" + name)
    Draft202012Validator.check_schema(schema)


def subschemas(node: Any, where: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every schema that describes a value; those of if, then and else only bind."""
    yield where, node
    for keyword in ("properties", "$defs"):
        for name, child in node.get(keyword, {}).items():
            yield from subschemas(child, (*where, keyword, name))
    for keyword in ("items", "additionalProperties", "propertyNames"):
        if isinstance(node.get(keyword), dict):
            yield from subschemas(node[keyword], (*where, keyword))
    for number, child in enumerate(node.get("anyOf", ())):
        yield from subschemas(child, (*where, "anyOf", str(number)))


@pytest.mark.parametrize("name", ALL)
def test_every_value_is_described_and_every_map_closed(name: str) -> None:
    for where, node in subschemas(ALL[name]):
        if set(node) != {"$ref"}:
            assert node.get("description", "").strip().endswith("."), where
        if node.get("type") == "object":
            closed = node["additionalProperties"] is False
            assert closed or "propertyNames" in node, where


@pytest.mark.parametrize("name", ALL)
def test_every_field_has_a_title_and_a_valid_example(name: str) -> None:
    defs = ALL[name]["$defs"]
    for where, node in subschemas({"$defs": defs}):
        if where[-2:-1] != ("properties",):
            continue
        assert node["title"], where
        keyed_by_known_words = where[-1] in STAGES or "columns" in where
        assert keyed_by_known_words or "enum" in node or node["examples"], where
        judge = Draft202012Validator(node | {"$defs": defs})
        for example in node.get("examples", ()):
            assert [error.message for error in judge.iter_errors(example)] == [], where


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("_mm", "mm"),
        ("_kw", "kW"),
        ("_rpm", "1/min"),
        ("_deg", "degrees"),
        ("_kg", "kg"),
        ("_in", "inches"),
        ("_cm3", "cm3"),
        ("_km_h", "km/h"),
        ("power_w", "W"),
    ],
)
def test_descriptions_name_the_unit(unit: str, words: str) -> None:
    found = 0
    for schema in ALL.values():
        for where, node in subschemas(schema):
            if where and where[-1].endswith(unit):
                assert words in node["description"], where
                found += 1
    assert found


# ---------------------------------------------------------------- one with the models


@cache
def validator(kind: str) -> Draft202012Validator:
    return Draft202012Validator(ALL[file_name(kind)])


@cache
def plain_text(path: Path) -> str:
    """The file as an editor's YAML 1.2 reader hands it on, as JSON: no dates in the core schema."""
    yaml = YAML(typ="safe", pure=True)
    yaml.version = (1, 2)
    return json.dumps(yaml.load(path.read_text(encoding="utf-8")), default=str)


def plain(path: Path) -> Any:
    return json.loads(plain_text(path))


def schema_refuses(document: Any, kind: str) -> bool:
    return not validator(kind).is_valid(document)


def reader_refuses(document: Any, folder: Path) -> list[str]:
    """The errors of our reader and models on the document as a file; JSON is YAML."""
    path = folder / "changed.yaml"
    path.write_text(json.dumps(document), encoding="utf-8")
    _, findings = read_records(path)
    return [f"{f.code} {f.message}" for f in findings if f.severity == "error"]


@pytest.mark.parametrize("path", some(FILES, 12), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_valid_files_pass_both(path: Path) -> None:
    document = plain(path)
    assert [e.message for e in validator(document["kind"]).iter_errors(document)] == []
    _, findings = read_records(path)
    assert [f"{found.span} {found.message}" for found in findings] == []


def places(node: Any, where: Steps = ()) -> Iterator[Steps]:
    yield where
    if isinstance(node, dict | list):
        for step, child in node.items() if isinstance(node, dict) else enumerate(node):
            yield from places(child, (*where, step))


def at(document: Any, where: Steps) -> Any:
    for step in where:
        document = document[step]
    return document


@dataclass(frozen=True)
class Change:
    """One value set, or one key taken away or renamed, in a document."""

    where: Steps
    how: Literal["set", "drop", "rename"] = "set"
    value: Any = None

    def of(self, document: Any) -> Any:
        if not self.where:
            return self.value
        document = copy.deepcopy(document)
        holder, step = at(document, self.where[:-1]), self.where[-1]
        if self.how == "set" and isinstance(holder, list) and step == len(holder):
            holder.append(self.value)
        elif self.how == "set":
            holder[step] = self.value
        elif self.how == "drop":
            del holder[step]
        else:
            holder[self.value] = holder.pop(step)
        return document


VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 3, 7.5, 20, 31, 46, -99.5, 501, 40_000, 10**7, "", " ", "x", "1",
    "a" * 61, "a b", "a" * 2001, "eur", "left", "spur", "driver", "primary", "15/38", "4/30",
    "15/201", "15:38:40", "2026-02-28", "2026-13-01", "26-01-01", [], ["x"], ["x", 1], [None],
    [15, 38], [4, 38], [15, 38, 40], [15, "38"], {}, {"x": 1}, {"primary": "15/38"},
    {"single": "15/38"}, {"primary": ["driver"]},
)  # fmt: skip
"""Put in turn in the place of every value: wrong types, ranges, words, patterns and lengths."""


def changes(document: Any) -> Iterator[Change]:
    """Every change of one thing in a document: values, keys dropped, misspelt or added."""
    for where in places(document):
        value = at(document, where)
        for other in VALUES:
            if json.dumps(other) != json.dumps(value):
                yield Change(where, value=other)
        if where and isinstance(where[-1], str):
            yield Change(where, "drop")
            for name in (where[-1] + "x y", "9" + where[-1], "", "secondary"):
                if name not in at(document, where[:-1]):
                    yield Change(where, "rename", name)
        if isinstance(value, dict):
            for name in ("unknown", "notes", "single", "tertiary", "geometry", "defaults"):
                if name not in value:
                    yield Change((*where, name), value="word")
        if isinstance(value, list):
            for other in (None, 5, "word", {}):
                yield Change((*where, len(value)), value=other)


SEED, SAMPLE_SIZE = 20261125, 600 if EXPLORE else 50
BEYOND_A_SCHEMA = re.compile(
    "reduces nothing|is over high|is under high|no day of the calendar|starting ratio"
    "|is over shift_rpm|points do not rise|gives no roll-out"
)
"""Two values weighed against each other, and the lengths of months: only the models do that."""


@pytest.mark.parametrize("kind", KINDS)
def test_schema_and_models_refuse_the_same_changes(kind: str, tmp_path: Path) -> None:
    """For changes of every kind anywhere in the sample: refused by both, or taken by both."""
    samples = [plain(path) for path in sorted(SAMPLE.rglob("*.yaml"))]
    candidates = [
        (document, change)
        for document in samples
        if document["kind"] == kind
        for change in changes(document)
    ]
    chosen = random.Random(SEED).sample(candidates, min(SAMPLE_SIZE, len(candidates)))
    refused, taken, quarrels = 0, 0, []
    for document, change in chosen:
        after = change.of(document)
        by_schema, said = schema_refuses(after, kind), reader_refuses(after, tmp_path)
        refused += by_schema and bool(said)
        taken += not by_schema and not said
        if by_schema != bool(said) and not any(BEYOND_A_SCHEMA.search(word) for word in said):
            quarrels.append(f"{change}: schema {by_schema}, models {said}")
    assert quarrels == []
    assert refused >= SAMPLE_SIZE / 4
    assert taken >= SAMPLE_SIZE / 120


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("family", Change(("records", "sanderling-50", "stages", "primary"), value={})),
        ("family", Change(("records", "dunlin-50", "stages", "primary"), "drop")),
        ("family", Change(("records", "dunlin-50", "stages", "secondary"), "drop")),
        ("family", Change(("records", "turnstone-70", "stages", "secondary"), "drop")),
        ("family", Change(("records", "dunlin-50", "factory_trains", 0, "pairs"), value={})),
        ("machine", Change(("records", "kestrel-lane-7", "engine", "peak_power_rpm"), "drop")),
        ("machine", Change(("records", "kestrel-lane-7", "engine", "peak_power_kw"), "drop")),
        ("machine", Change(("records", "kestrel-lane-7", "engine", "peak_power_kw"), value=None)),
        ("gear-set", Change(("defaults", "supplier"), "drop")),
        ("gear-set", Change(("defaults",), "drop")),
        ("gear-set", Change(("defaults", "price"), value=10)),
        ("gear-set", Change(("records", "MA-1543", "geometry"), "drop")),
        ("gear-set", Change(("records", "MA-1543", "pairs"), value={"secondary": "15/38"})),
        ("gear-set", Change(("records", "MA-1445", "pairs"), value={"single": "15/38"})),
        ("tune", Change(("defaults",), value={})),
    ],
)
def test_rules_across_fields(kind: str, change: Change, tmp_path: Path) -> None:
    """Stages that make a train, data that belong together, a supplier here or in defaults."""
    document = next(d for d in map(plain, sorted(SAMPLE.rglob("*.yaml"))) if is_of(d, kind, change))
    after = change.of(document)
    harmless = change == Change(("records", "MA-1543", "geometry"), "drop")
    assert schema_refuses(after, kind) is not harmless
    assert bool(reader_refuses(after, tmp_path)) is not harmless


def is_of(document: Any, kind: str, change: Change) -> bool:
    ids_there = change.where[0] != "records" or change.where[1] in document["records"]
    with_defaults = kind != "gear-set" or "defaults" in document
    return bool(document["kind"] == kind and ids_there and with_defaults)
