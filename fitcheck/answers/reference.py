"""The reference of JSON answers, docs/json.md, made from their schemas and the demo catalogue.

`python -m fitcheck.answers.reference --write` writes it; without `--write` it only says
whether the committed file is in step. It is run in a checkout, where the demo is ./catalog.
"""

from __future__ import annotations

import contextlib
import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from fitcheck.answers.finding import render_json_lines
from fitcheck.answers.identify import identify_answer
from fitcheck.answers.machine import Header
from fitcheck.answers.match import match_answer
from fitcheck.answers.road import road_answer
from fitcheck.answers.schemas import ANSWERS, output_schemas, schema_of
from fitcheck.answers.shelf import stock_answer
from fitcheck.answers.why import why_answer
from fitcheck.catalogue.reader import load
from fitcheck.kernel.teeth import read_train
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.identify import identify
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.road.comparing import compare
from fitcheck.services.shelf.stock import StockFilter, stock
from fitcheck.services.upkeep.checking import check_paths

_ROOT = Path(__file__).parents[2]
DOCUMENT = _ROOT / "docs" / "json.md"

_MACHINE = "dunlin-ten"
_COUNTED = "15/46 14/54"
_SETS = ("MA-1545", "SA-107")
_CHOICE = "GW-20-108"
_FAULTY = "tests/data/faulty-catalog/machines/dunlin-50.yaml"

_STOCK = StockFilter(place="drawer F2", low=0)

_OPENING = """\
# JSON answers

`match`, `why`, `road`, `identify`, `options`, `import` and the commands of `shelf` answer with
`--format json`: one object on stdout, UTF-8, nothing else. Remarks for people, such as which
catalogue is used, go to stderr. `check` writes its findings as JSON lines. Each shape has a JSON
Schema (draft 2020-12) in `schemas/`, which describes exactly what this version writes.

This page is made from those schemas and the demo catalogue by
`python -m fitcheck.answers.reference --write`; a test holds every example to what the command
prints today.

## What stays

- `schema_version` (`version` in a finding) is 1. It rises when a member changes its meaning, its
  type or its words, or goes away; never for a new member. So read the members you know and leave
  the others alone.
- Every member listed here is always there, except the stages a train does not have and what says
  *only where* it is asked. What is not known is `null`, never left out; a list with nothing in
  it is empty.
- The order of `combinations` is part of the promise: road-speed change falling, then pairs, then
  price, then ids. Equal reductions share a `rank`, and the next rank counts them all: 1, 1, 3.
  Where `road.rank` names a figure of the road, that figure, taken to four decimals, comes first,
  and equal figures share a rank.
- The sentences in `notes`, `remarks`, `reason`, `reading`, `advice` and `questions` are for people
  and may be reworded at any time. Ids, words of a fixed list and figures are for programs.
- `fits + unproven + ruled_out = all_choices`, always. `listed` counts what passes window and
  filters; `combinations` is shorter than that only where `top` cuts it.

## Exact and decimal

Tooth counts are whole numbers, so every ratio and percentage is a fraction. It is given exact, as
`"n/d"` in lowest terms with the sign in front, and as a decimal, rounded once to six places, half
away from zero:

- a ratio or an edge of a band is an object, `{"exact": "253/21", "decimal": 12.047619}`;
- a change in a row is two members, `road_speed_change_percent` and `road_speed_change_exact`.

Bands, windows and ranks go by the exact figure, edges inside. A decimal may show an edge that the
exact figure only comes near: compare the exact one, for example with Python's
`fractions.Fraction`. `road_speed_change_*` and `reduction_change_*` are two figures for one change:
a 30 % rise in road speed is a 23 % drop in reduction.

What `road` predicts is physics, not exact: a figure is an object with `value`, `low` and `high`,
rounded to four decimals. `low` to `high` is what the spread of the inputs leaves; each input is
in `inputs` with its kind, spread and source. A time without end has `null` for `high`.

A price is a number in `price` and the same as text in `price_exact`, with at least two decimals;
read the text where cents matter. All three of `price`, `price_exact` and `currency` are `null` in a
combination where the price of a set is not known or its sets are priced in several currencies;
`gear_sets` says what each set costs. Prices in another currency than the answer's `currency` are
ordered as unknown ones are.

Money of the shelf is an object, `{"amount": 61.5, "exact": "61.50"}`, or `null`; its currency is
that of the gear set, in `currency` beside it. All money of `shelf plan` is in its one `currency`.
"""

_ROWS = """\
## CSV and Markdown

`--format csv` and `--format markdown` give a row for each combination, in the same order; those
that make the machine shorter come last, without a rank. `identify` gives a row for each factory
train. CSV is UTF-8 with a line of column names, comma, RFC 4180 quotes and bare line feeds.
Figures are plain numbers with six decimals and a decimal point; percentages have no percent
sign. What is not known is empty. Columns of the road and the law, with three decimals, are there
where they are asked for; `road` and `match --road` name them alike.

`road` gives a row for each gearing, the machine as it is now first, with the unit of every figure
in its heading. Its predicted figures have three decimals in CSV, and the ends of each range follow
as `_low` and `_high`; a speed never reached, or a range without end, is an empty cell.

Text that begins with `=`, `+`, `-` or `@`, also after blanks, has an apostrophe in front, so that
a spreadsheet does not take it for a formula; tabs and line breaks inside text become spaces. A
figure of fitcheck's own, such as a change of `-5.25`, is written as it is, sign and all: where a
cell comes from decides whether it is text or a figure, never how it looks. Even so, some
spreadsheets take `12/49` for a date and the part numbers `15E3` and `0021` for numbers when a CSV
file is opened by double click: import those columns as text.

`shelf list`, `shelf history` and `shelf count` give a row for each entry, line and part; money is
plain figures in the `currency` beside them. What `shelf list --format csv` writes can be corrected
in a spreadsheet and given to `shelf count`, which takes the apostrophe off again.

`shelf gaps` gives a row for each way to close a gap, and one row for a machine without any;
`shelf plan` one for each set to buy. Several ids in one cell have a semicolon between them.

`import` gives a row for each row of the list, in its order, and then one for each entry that the
list no longer has.

In Markdown, `|`, backslashes, `<`, `>`, `&` and marks of emphasis in text are escaped; figures are
rounded as in the table on screen.

## DataFrame

`fitcheck.combinations_frame(result)` gives the same rows as a pandas DataFrame; its docstring lists
the columns and their dtypes.
"""


def json_reference() -> str:
    """The whole document, in Markdown, ending in a line break."""
    schemas = output_schemas()
    examples = _examples()
    definitions: dict[str, Any] = {}
    shapes: dict[str, Any] = {}
    schema_of(Header, shapes)
    common = shapes["Header"]["properties"]
    common["answer"]["enum"] = list(ANSWERS)
    parts = [_OPENING, "## What every answer begins with\n", _table({"properties": common})]
    for name, schema in schemas.items():
        answer = name.split(".", 1)[0]
        if answer == "finding":
            continue
        definitions |= schema["$defs"]
        command, _ = ANSWERS[answer]
        parts.append(f"## {answer}\n\n`fitcheck {command} ... --format json`, `schemas/{name}`.\n")
        own = {k: v for k, v in schema["properties"].items() if k not in common}
        parts.append(_table({"properties": own}, definitions))
        parts += [_example(command, data) for command, data in examples.get(answer, {}).items()]
    parts.append("## Shapes they share\n")
    for title, definition in sorted(definitions.items()):
        if title == "RankedCombination":
            continue  # a combination with a rank, said there
        parts.append(f"### {title}\n\n{definition['description']}\n")
        if title == "Combination":
            parts.append("In a list it is a **RankedCombination**, with these members more:\n")
            ranked = definitions["RankedCombination"]["properties"]
            more = {key: ranked[key] for key in ranked if key not in definition["properties"]}
            parts.append(_table({"properties": more}, definitions) + "\nAnd:\n")
        parts.append(_table(definition, definitions))
    finding = schemas["finding.schema.json"]
    parts.append(f"## check\n\n`schemas/finding.schema.json`. {finding['description']}\n")
    parts.append(_table(finding))
    parts.append(_fenced(f"fitcheck check {_FAULTY} --format jsonl", _finding_lines()))
    parts.append(_ROWS)
    return "\n".join(parts)


def _examples() -> dict[str, dict[str, Any]]:
    """Commands and what they answer today, by the answer's name."""
    with contextlib.chdir(_ROOT):
        catalogue = load(_ROOT / "catalog")
        subject = subject_of(catalogue, _MACHINE)
        found = match(subject, Request(top=1, taller_only=True))
        told = explain(subject, _SETS)
        choice = combine(subject, [find_set(catalogue, _CHOICE)])
        drive = road_answer(compare(subject, [choice]))
        pairs = read_train(_COUNTED)
        trains = identify_answer(catalogue, pairs, None, identify(catalogue, pairs))
        top = f"fitcheck match {_MACHINE} --top 1 --taller-only --format json"
        asked = Request(top=1, taller_only=True, show_road=True, lawful=True)
        lawful = f"fitcheck match {_MACHINE} --road --lawful --top 1 --taller-only --format json"
        law = match_answer(match(subject, asked))["law"]
        road = f"fitcheck road {_MACHINE} {_CHOICE} --format json"
        listed = "fitcheck shelf list --place 'drawer F2' --low 0 --format json"
        why = f"fitcheck why {_MACHINE} {' '.join(_SETS)} --format json"
        return {
            "match": {top: match_answer(found), f"{lawful}  # .law": law},
            "why": {f"{why}  # .calculation": why_answer(told)["calculation"]},
            "road": {f"{road}  # .before.top": drive["before"]["top"]},
            "identify": {f"fitcheck identify {_COUNTED} --format json": trains},
            "shelf-list": {listed: stock_answer(catalogue, stock(catalogue, _STOCK))},
        }


def _finding_lines() -> str:
    with contextlib.chdir(_ROOT):
        return render_json_lines(check_paths([_FAULTY]).findings).rstrip("\n")


def _example(command: str, data: Any) -> str:
    return _fenced(command, json.dumps(data, ensure_ascii=False, indent=2))


def _fenced(command: str, shown: str) -> str:
    return f"```console\n$ {command}\n```\n\n```json\n{shown}\n```\n"


def _table(schema: Mapping[str, Any], definitions: Mapping[str, Any] | None = None) -> str:
    rows = _rows(schema, "", definitions or {})
    return "\n".join(["| member | holds | meaning |", "|---|---|---|", *rows]) + "\n"


def _rows(schema: Mapping[str, Any], prefix: str, definitions: Mapping[str, Any]) -> Iterator[str]:
    for name, member in schema.get("properties", {}).items():
        referred = definitions.get(member.get("$ref", "").rsplit("/", 1)[-1], {})
        meaning = member.get("description", referred.get("description", ""))
        yield f"| `{prefix}{name}` | {_holds(member)} | {meaning} |"
        for inner in (member, *member.get("anyOf", ())):
            yield from _rows(inner, f"{prefix}{name}.", definitions)
            yield from _rows(inner.get("items", {}), f"{prefix}{name}[].", definitions)


def _holds(schema: Mapping[str, Any]) -> str:
    """What a member holds, in words."""
    if "$ref" in schema:
        title = schema["$ref"].rsplit("/", 1)[-1]
        return f"[{title}](#{title.lower().removeprefix('ranked')})"
    if "const" in schema:
        return f"`{json.dumps(schema['const'])}`"
    if "enum" in schema:
        return ", ".join(f"`{json.dumps(word)}`" for word in schema["enum"])
    if "anyOf" in schema:
        return " or ".join(_holds(choice) for choice in schema["anyOf"])
    kinds = schema.get("type", "object")
    return " or ".join(
        _kind(kind, schema) for kind in ([kinds] if isinstance(kinds, str) else kinds)
    )


def _kind(kind: str, schema: Mapping[str, Any]) -> str:
    if kind == "array":
        return f"list of {_holds(schema['items'])}"
    if kind == "object" and isinstance(schema.get("additionalProperties"), dict):
        return f"object of id to {_holds(schema['additionalProperties'])}"
    words = {"string": "text", "integer": "whole number", "boolean": "true or false"}
    return words.get(kind, f"`{kind}`" if kind == "null" else kind)


def write_or_compare(
    module: str, document: Path, make: Callable[[], str], arguments: Sequence[str] | None = None
) -> int:
    """Write a page with `--write`, else say on stderr whether the committed one is in step.

    Args:
        module: what follows `python -m` to come here.
        document: the page's file.
        make: gives the page's text.
        arguments: words of the command line; left out: those of this process.

    Returns:
        The exit code: 0 written or in step, 1 out of step, 2 wrong use.
    """
    asked = sys.argv[1:] if arguments is None else list(arguments)
    if asked not in ([], ["--write"]):
        print(f"usage: python -m {module} [--write]", file=sys.stderr)
        return 2
    text = make()
    if asked:
        document.parent.mkdir(exist_ok=True)
        document.write_text(text, encoding="utf-8", newline="\n")
        return 0
    if document.is_file() and document.read_text(encoding="utf-8") == text:
        return 0
    print(f"{document} is out of step: run python -m {module} --write", file=sys.stderr)
    return 1


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the document with `--write`, else say whether it is in step; 0 where it is."""
    return write_or_compare("fitcheck.answers.reference", DOCUMENT, json_reference, arguments)


if __name__ == "__main__":
    sys.exit(main())
