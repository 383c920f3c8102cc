"""The answer of `identify` as rows: one factory train a row, most likely first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fitcheck.kernel.gearing import overall_reduction
from fitcheck.report.cells import Cell, Figure, csv_text, markdown_text
from fitcheck.report.figures import decimal_text
from fitcheck.report.identify_json import slip_word
from fitcheck.services.identify import Candidate

__all__ = ["as_csv", "as_markdown"]


def as_csv(candidates: Sequence[Candidate]) -> str:
    """The candidates as CSV, lines ending in a line feed."""
    columns = [
        "slip",
        "family",
        "housing",
        "wheel_size_in",
        "factory_train",
        "overall_reduction",
        "models",
        "reading",
        "check",
    ]
    return csv_text(columns, _rows(candidates, 6))


def as_markdown(candidates: Sequence[Candidate]) -> str:
    """The candidates as a Markdown table."""
    columns = [
        "slip",
        "family",
        "housing",
        "wheel",
        "factory train",
        "overall reduction",
        "models",
        "reading",
        "check",
    ]
    return markdown_text(columns, _rows(candidates, 4))


def _rows(candidates: Sequence[Candidate], places: int) -> Iterator[list[Cell]]:
    for one in candidates:
        train, stages = one.factory_train, one.family.record.train_stages
        pairs = [train.pairs[stage] for stage in stages]
        yield [
            slip_word(one.slip),
            one.family.id,
            train.housing,
            Figure(train.wheel_size_in),
            ", ".join(map(str, pairs)),
            Figure(decimal_text(overall_reduction(pairs), places)),
            ", ".join(train.models),
            one.reading,
            one.check,
        ]
