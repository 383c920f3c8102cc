"""The schemas of JSON answers: sound, in step with the committed files, and tight.

Judge from outside: the meta-schema of JSON Schema draft 2020-12 as the library `jsonschema`
carries it, and its validator.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fitcheck.answers.finding import render_json_lines
from fitcheck.answers.match import match_answer
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.catalogue.schema import schemas
from fitcheck.rules.checks import check
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from tests.conftest import answer_schemas, some

FOLDER = Path(__file__).parents[2] / "schemas"
ALL = answer_schemas()


@pytest.mark.parametrize("name", ALL)
def test_committed_schema_is_in_step(name: str) -> None:
    text = json.dumps(ALL[name], indent=2, ensure_ascii=False) + "\n"
    assert (FOLDER / name).read_bytes() == text.encode(), "run `fitcheck schema --write`"


def test_no_schema_of_a_catalogue_file_has_the_same_name() -> None:
    assert not set(ALL) & set(schemas())


@pytest.mark.parametrize("name", some(list(ALL), 4))
def test_each_is_a_valid_schema_of_its_dialect(name: str) -> None:
    schema = ALL[name]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"].endswith("/" + name)
    Draft202012Validator.check_schema(schema)


def properties(node: Any, where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(node, dict):
        for name, member in node.get("properties", {}).items():
            yield f"{where}.{name}", member
        for key, child in node.items():
            yield from properties(child, f"{where}/{key}")


@pytest.mark.parametrize("name", ALL)
def test_every_member_says_what_it_is(name: str) -> None:
    defs = ALL[name].get("$defs", {})
    for where, member in properties(ALL[name]):
        own = "description" in member
        referred = "$ref" in member and "description" in defs[member["$ref"].rsplit("/", 1)[-1]]
        assert own or referred, where


@pytest.mark.parametrize("name", ALL)
def test_every_definition_is_used_and_every_reference_leads_somewhere(name: str) -> None:
    text = json.dumps(ALL[name])
    for title in ALL[name].get("$defs", {}):
        assert f'"#/$defs/{title}"' in text, title
    for reference in set(text.split('"#/$defs/')[1:]):
        assert reference.split('"', 1)[0] in ALL[name]["$defs"]


@pytest.mark.parametrize("folder", ["catalog", "tests/data/faulty-catalog"])
def test_every_line_of_findings_holds_to_its_schema(folder: str) -> None:
    judge = Draft202012Validator(ALL["finding.schema.json"])
    catalogue = load(FOLDER.parent / folder)
    lines = render_json_lines([*catalogue.findings, *check(catalogue)]).splitlines()
    assert lines
    for line in lines:
        assert [each.message for each in judge.iter_errors(json.loads(line))] == []


def faults(data: Any) -> Iterator[tuple[str, Any]]:
    """The same data with one member gone, one too many, or one of another type, each place once."""
    if isinstance(data, dict):
        for key in data:
            yield f"without {key}", {k: v for k, v in data.items() if k != key}
            for what, child in faults(data[key]):
                yield f"{key}: {what}", {**data, key: child}
        yield "one member more", {**data, "more": 1}
    elif isinstance(data, list):
        for number, each in enumerate(data):
            for what, child in faults(each):
                yield f"[{number}]: {what}", [*data[:number], child, *data[number + 1 :]]
    else:
        yield f"an object for {data!r}", {"object": True}


def test_a_member_too_few_too_many_or_of_another_type_is_refused(demo: Catalogue) -> None:
    result = match(subject_of(demo, "dunlin-ten"), Request(top=1, taller_only=True))
    data = match_answer(result)
    judge = Draft202012Validator(ALL["match.output.schema.json"])
    assert judge.is_valid(data)
    passed = [what for what, broken in faults(data) if judge.is_valid(broken)]
    # Which sets and stages there are is the catalogue's; a pair of a stage may be missing.
    free = {"gear_sets: without", "pairs: without"}
    assert [what for what in passed if not any(word in what for word in free)] == []
    assert len(list(faults(data))) > 150
