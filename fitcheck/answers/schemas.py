"""JSON Schemas of everything the tool writes as JSON."""

from __future__ import annotations

from fitcheck.answers.finding import finding_schema
from fitcheck.answers.gaps import GapsAnswer
from fitcheck.answers.identify import IdentifyAnswer
from fitcheck.answers.match import MatchAnswer, OptionsAnswer
from fitcheck.answers.moves import CountAnswer, HistoryAnswer, MoveAnswer
from fitcheck.answers.plan import PlanAnswer
from fitcheck.answers.price_lists import IntakeAnswer
from fitcheck.answers.road import RoadAnswer
from fitcheck.answers.schema import Schema, file_schema
from fitcheck.answers.shelf import StockAnswer
from fitcheck.answers.why import WhyAnswer

ANSWERS: dict[str, tuple[str, type]] = {
    "match": ("match", MatchAnswer),
    "why": ("why", WhyAnswer),
    "road": ("road", RoadAnswer),
    "identify": ("identify", IdentifyAnswer),
    "options": ("options", OptionsAnswer),
    "intake": ("intake", IntakeAnswer),
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
        f"{name}.output.schema.json": file_schema(
            name,
            "Answer of " + _ASKED.get(name, f"`fitcheck {command} --format json`"),
            declared,
        )
        for name, (command, declared) in ANSWERS.items()
    }
    return found | {"finding.schema.json": finding_schema()}
