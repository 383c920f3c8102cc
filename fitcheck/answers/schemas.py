"""JSON Schemas of everything the tool writes as JSON."""

from __future__ import annotations

from fitcheck.answers.finding import finding_schema
from fitcheck.answers.identify import IdentifyAnswer
from fitcheck.answers.intake import IntakeAnswer
from fitcheck.answers.match import MatchAnswer, OptionsAnswer
from fitcheck.answers.road import RoadAnswer
from fitcheck.answers.schema import Schema, file_schema
from fitcheck.answers.why import WhyAnswer

__all__ = ["ANSWERS", "output_schemas"]

ANSWERS: dict[str, tuple[str, type]] = {
    "match": ("match", MatchAnswer),
    "why": ("why", WhyAnswer),
    "identify": ("identify", IdentifyAnswer),
    "options": ("options", OptionsAnswer),
    "road": ("road", RoadAnswer),
    "intake": ("intake", IntakeAnswer),
}
"""Each answer by its name: the command that gives it, and its class."""


def output_schemas() -> dict[str, Schema]:
    """The schema of every JSON answer and of one line of findings, by file name."""
    found = {
        f"{name}.output.schema.json": file_schema(
            name, f"Answer of `fitcheck {command} --format json`", declared
        )
        for name, (command, declared) in ANSWERS.items()
    }
    return found | {"finding.schema.json": finding_schema()}
