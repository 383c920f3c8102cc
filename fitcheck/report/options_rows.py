"""The answer of `options` as rows: where a choice starts from, then the choice as in `match`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fitcheck.model.fields import Stage
from fitcheck.report import match_rows
from fitcheck.report.cells import Cell, Figure, csv_text, markdown_text
from fitcheck.services.options import OptionGroup
from fitcheck.services.request import Request

__all__ = ["as_csv", "as_markdown"]


def as_csv(groups: Sequence[OptionGroup]) -> str:
    """Every choice of every group as CSV, lines ending in a line feed."""
    columns = ["family", "housing", "wheel_size_in", "factory_train", "tune"]
    stages, request = _stages(groups), _request(groups)
    return csv_text([*columns, *match_rows.csv_columns(stages, request)], _csv_rows(groups, stages))


def as_markdown(groups: Sequence[OptionGroup]) -> str:
    """Every choice of every group as one Markdown table."""
    columns = ["family", "housing", "wheel", "factory train", "tune"]
    stages, request = _stages(groups), _request(groups)
    return markdown_text(
        [*columns, *match_rows.markdown_columns(stages, request)], _markdown_rows(groups)
    )


def _stages(groups: Sequence[OptionGroup]) -> tuple[Stage, ...]:
    return groups[0].result.subject.stages if groups else ()


def _request(groups: Sequence[OptionGroup]) -> Request:
    return groups[0].result.request if groups else Request()


def _csv_rows(groups: Sequence[OptionGroup], stages: Sequence[Stage]) -> Iterator[list[Cell]]:
    for group in groups:
        start = _start(group)
        for rank, one in match_rows.listed(group.result):
            yield [*start, *match_rows.csv_cells(one, rank, stages, group.result.request)]


def _markdown_rows(groups: Sequence[OptionGroup]) -> Iterator[list[Cell]]:
    for group in groups:
        start = _start(group)
        for rank, one in match_rows.listed(group.result):
            yield [*start, *match_rows.markdown_cells(one, rank, group.result)]


def _start(group: OptionGroup) -> list[Cell]:
    train = group.factory_train
    return [
        group.family.id,
        train.housing,
        Figure(train.wheel_size_in),
        ", ".join(map(str, group.result.subject.pairs)),
        group.tune.id,
    ]
