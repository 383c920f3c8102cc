"""Codes of tyres: sizes that cannot be read, and figures that contradict them."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.example_files import of_kind


def _tyre(fields: str) -> dict[str, str]:
    return of_kind("tyre", "tyres/more.yaml", f"t-1: {{{fields}}}")


TYRE_CODES: tuple[Code, ...] = (
    Code(
        "FC291",
        "unreadable-tyre-size",
        "warning",
        "A tyre's size cannot be read.",
        "Neither can its roll-out be worked out or held against the rule, nor is it found by its "
        "size.",
        bad=_tyre("size: 120/700-12, wheel_size_in: 12, roll_out_mm: 1436, basis: counted"),
        good=_tyre("size: 120/70-12, wheel_size_in: 12, roll_out_mm: 1436, basis: counted"),
    ),
    Code(
        "FC292",
        "tyre-size-unlike-rim",
        "warning",
        "A tyre's size names another rim than the record does.",
        "The roll-out by rule is that of another wheel, and the tyre is offered for machines on "
        "which it does not go.",
        bad=_tyre("size: 120/70-12, wheel_size_in: 13"),
        good=_tyre("size: 120/70-12, wheel_size_in: 12"),
    ),
    Code(
        "FC293",
        "roll-out-far-from-rule",
        "warning",
        "A roll-out is far from what the rule gives for the tyre's size.",
        "Makes and wear account for some percent, no more; every road speed is off by as much.",
        bad=_tyre("size: 120/70-12, wheel_size_in: 12, roll_out_mm: 1236, basis: counted"),
        good=_tyre("size: 120/70-12, wheel_size_in: 12, roll_out_mm: 1436, basis: counted"),
    ),
    Code(
        "FC294",
        "speed-symbol-unlike-size",
        "warning",
        "A tyre's speed symbol or load index differs from the one in its size.",
        "One of them is wrong, and a tyre may be held to be made for speeds that it is not.",
        bad=_tyre("size: 120/70-12 51L, wheel_size_in: 12, speed_symbol: P"),
        good=_tyre("size: 120/70-12 51L, wheel_size_in: 12, speed_symbol: L"),
    ),
)
"""Codes FC29x."""
