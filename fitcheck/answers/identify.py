"""The answer of `identify`: factory trains that explain the counts, most likely first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, TypedDict

from fitcheck.answers.machine import FactoryTrain, Header, factory_train, header
from fitcheck.answers.shapes import At, By, Exact, More, Size, exact, fill, words
from fitcheck.answers.tables import COUNT, RATIO, Column, Table
from fitcheck.catalogue.reader import Catalogue
from fitcheck.kernel.gearing import overall_reduction
from fitcheck.kernel.teeth import Pair
from fitcheck.services.counter.identify import Candidate, Slip


def _slip_word(slip: Slip) -> str:
    """The word for a slip in JSON and CSV, such as `stages-swapped`."""
    return slip.name.lower().replace("_", "-")


class _Counted(TypedDict):
    """What was counted."""

    pairs: Annotated[
        list[Annotated[str, More(description="One pair, driver/driven.")]],
        More(minItems=1, maxItems=3),
    ]
    """In the order counted."""
    reduction: Exact
    """Their overall reduction."""
    wheel_size_in: Size | None
    """Rim size given, inches."""


class _Explained(TypedDict):
    slip: Annotated[str, words(map(_slip_word, Slip)), By(_slip_word)]
    """What would have had to go wrong; exact: nothing."""
    family: Annotated[str, At("family.id")]
    """Id of the engine family."""
    family_name: Annotated[str, At("family.record.name")]
    """Name of the engine family."""


class _Reading(TypedDict):
    reading: str
    """How the counts are explained."""
    check: str | None
    """What to count or look at again."""
    sets: list[str]
    """Ids of gear sets that would explain a changed stage."""
    command: str
    """The command line that lists what fits, should this reading be right."""


class _Candidate(_Explained, FactoryTrain, _Reading):
    """One factory train that explains the counts."""


class IdentifyAnswer(Header):
    """One answer of `identify`."""

    counted: _Counted
    candidates: list[_Candidate]
    """Exact trains first, then by how likely the slip is."""


def identify_answer(
    catalogue: Catalogue,
    pairs: Sequence[Pair],
    wheel_size_in: int | None,
    candidates: Sequence[Candidate],
) -> IdentifyAnswer:
    """One answer of `identify` as plain data for `json.dumps`."""
    return {
        **header("identify", catalogue),
        "counted": {
            "pairs": [str(pair) for pair in pairs],
            "reduction": exact(overall_reduction(pairs)),
            "wheel_size_in": wheel_size_in,
        },
        "candidates": [
            fill(_Candidate, one, **factory_train(one.family, one.train)) for one in candidates
        ],
    }


def identify_table(candidates: Sequence[Candidate]) -> Table:
    """One factory train a row, most likely first."""
    return Table(_COLUMNS, candidates)


def _pairs(one: Candidate) -> list[Pair]:
    return [one.factory_train.pairs[stage] for stage in one.family.record.train_stages]


_COLUMNS = (
    Column("slip", value=lambda one: _slip_word(one.slip)),
    Column("family", value="family.id"),
    Column("housing", value="factory_train.housing"),
    Column("wheel_size_in", "wheel", "factory_train.wheel_size_in", COUNT),
    Column("factory_train", value=lambda one: ", ".join(map(str, _pairs(one)))),
    Column("overall_reduction", value=lambda one: overall_reduction(_pairs(one)), kind=RATIO),
    Column("models", value=lambda one: ", ".join(one.factory_train.models)),
    Column("reading"),
    Column("check"),
    Column("command"),
)
