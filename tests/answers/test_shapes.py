"""Shapes are filled by the names of their members, and a mistake does not pass.

That each answer holds to its schema is tested with the answers; here every part of one is read of
a real object, so that a member that names what is not there is found.
"""

from __future__ import annotations

import json
import shutil
import types
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, NotRequired, TypedDict, get_args, get_type_hints, is_typeddict

import pytest
from jsonschema import Draft202012Validator

from fitcheck.answers import gaps, price_lists, shapes
from fitcheck.answers.finding import FindingLine, render_json_lines
from fitcheck.answers.schemas import ANSWERS
from fitcheck.answers.shapes import ITSELF, At, By, Exact, ExactMoney, fill
from fitcheck.cli.main import cli
from fitcheck.services.price_lists.month import PriceChange
from fitcheck.services.price_lists.outcomes import Change, Gone
from fitcheck.services.shelf.demands import Unjudged
from fitcheck.services.upkeep.checking import check_paths
from tests.conftest import answer_schemas

ROOT = Path(__file__).parents[2]


class _Inner(TypedDict):
    km_h: float


class _Sample(TypedDict):
    name: Annotated[str | None, At("entry.name")]
    ratio: Exact
    price: float | None
    price_exact: Annotated[ExactMoney | None, At("price")]
    inner: Annotated[_Inner, ITSELF]
    many: Annotated[list[_Inner], At("others")]
    teeth: Annotated[str, By(lambda pair: "/".join(map(str, pair)))]
    extra: NotRequired[float]


class _Strict(TypedDict):
    id: Annotated[str, At("entry.id")]


@dataclass
class _Source:
    entry: Any = None
    ratio: Fraction = Fraction(1, 3)
    price: Decimal | None = Decimal("61.5")
    km_h: float = 45.123456
    teeth: tuple[int, int] = (15, 46)
    others: tuple[Any, ...] = ()


def test_members_are_read_and_written_as_their_types_ask() -> None:
    source = _Source(others=(types.SimpleNamespace(km_h=-0.00001),))
    assert fill(_Sample, source) == {
        "name": None,
        "ratio": {"exact": "1/3", "decimal": 0.333333},
        "price": 61.5,
        "price_exact": "61.50",
        "inner": {"km_h": 45.1235},
        "many": [{"km_h": 0.0}],
        "teeth": "15/46",
    }


def test_given_members_come_in_the_place_of_the_shape_and_an_empty_text_is_null() -> None:
    found = fill(_Sample, _Source(), name="", extra=Fraction(1, 8), many=[{"km_h": 1}])
    assert list(found) == list(_Sample.__annotations__)
    assert (found["name"], found["extra"], found["many"]) == (None, 0.125, [{"km_h": 1}])


def test_what_is_not_there_or_must_not_be_null_is_an_error() -> None:
    with pytest.raises(AttributeError):
        fill(_Inner, object())
    with pytest.raises(AttributeError):  # its type allows no null
        fill(_Strict, _Source())
    with pytest.raises(TypeError, match="lacks \\['other'\\]"):
        fill(_Sample, _Source(), other=1)


def parts_of(hint: Any) -> Iterator[type]:
    """Every shape that an answer is made of."""
    if is_typeddict(hint):
        yield hint
        for member in get_type_hints(hint, include_extras=True).values():
            yield from parts_of(member)
    for inner in get_args(hint):
        yield from parts_of(inner)


# Built whole by a function, for the figures in them are of several objects or of a mapping.
BY_HAND = {
    *("machine._Tool", "identify._Counted", "why._Calculation", "match._LawMember"),
    *("combination._ListedElsewhere", "road._EngineSpeed", "moves._Worth", "moves._Sets"),
    *("shapes.Exact", "shapes.Money", "shapes.Place", "shapes.Pairs"),
    *("price_lists._Pairs", "price_lists._Fields", "price_lists._Claim"),
    *("price_lists._Counts", "gaps._Counts", "moves._Counts", "search._Counts"),
    *("match.MatchAnswer", "match.OptionsAnswer", "match._Group", "identify.IdentifyAnswer"),
}


def name_of(shape: type) -> str:
    return f"{shape.__module__.rpartition('.')[2]}.{shape.__name__}"


LIST = "--supplier marram --new-columns --date 2026-12-01"
COMMANDS = (
    "match dunlin-ten --band any --all --margins --road --lawful",
    "match dunlin-ten --road --lawful --max-price 50",
    "why dunlin-ten MA-1545 SA-107 --margins",
    "road dunlin-ten MA-1545 MA-1545+SA-107 GW-20-108",
    "options redshank-50 --top 1",
    "match dunlin-ten --list tests/data/lists/marram-2026-06.csv",
    "identify 15/47 14/54",
    f"import tests/data/lists/arrowgrass-2026-01.csv {LIST}",
    f"import tests/data/lists/arrowgrass-2026-02.xlsx {LIST}",
    "shelf list",
    "shelf gaps --lawful --families --family sanderling-50",
    "shelf gaps --family sanderling-50",
    "shelf plan --budget 100",
)
ON_THE_SHELF = (
    "shelf receive MA-1545 3 --cost 30",
    "shelf list",
    "shelf count counted.csv",
    "shelf history MA-1545",
)


def test_every_shape_is_read_of_what_a_service_returns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    seen: set[str] = set()
    members = shapes._members

    def note(shape: type) -> Any:
        seen.add(name_of(shape))
        return members(shape)

    monkeypatch.setattr(shapes, "_members", note)
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    rows = "part,counted,cost\nMA-1545,7,31.5\nMA-1540,1,\nGW-20-103,0,\n"
    (tmp_path / "counted.csv").write_text(rows, encoding="utf-8")
    judges = answer_schemas()
    for folder, commands in ((ROOT, COMMANDS), (tmp_path, ON_THE_SHELF)):
        monkeypatch.chdir(folder)
        for command in commands:
            words = [*command.split(), "--catalog", "catalog", "--format", "json"]
            cli.main(words, prog_name="fitcheck", standalone_mode=False)
            if "receive" in words:  # and then a hand edits the file
                shelf = tmp_path / "catalog" / "shelf.yaml"
                text = shelf.read_text("utf-8")
                shelf.write_text(text.replace("GW-20-103: {quantity: 1", "GW-20-103: {quantity: 9"))
            answer = json.loads(capsysbinary.readouterr().out)
            judge = Draft202012Validator(judges[f"{answer['answer']}.output.schema.json"])
            assert [each.message for each in judge.iter_errors(answer)] == [], command
    # What no command of the demo gives.
    fill(gaps.Unjudged, Unjudged("bare", "Bare", "knot", "it has no tune"))
    fill(price_lists._Change, Change("price", "61.50", "62.00", loud=True))
    fill(price_lists._PriceChange, PriceChange("A-1", None, Decimal(62), "EUR"))
    fill(price_lists._Sold, Gone("A-1", "1", "Spring list", same_list=True), pieces=2)
    render_json_lines(check_paths([str(ROOT / "tests/data/faulty-catalog")]).findings)

    answers = [FindingLine, *(declared for _, declared in ANSWERS.values())]
    known = {name_of(part) for declared in answers for part in parts_of(declared)}
    assert known - seen == BY_HAND
    assert not BY_HAND & seen, "filled today: take it out of the list"
