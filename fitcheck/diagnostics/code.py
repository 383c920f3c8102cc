"""What one diagnostic code is: its name, severity, reason and examples."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Example = Mapping[str, str]
"""File name inside a catalogue folder to its text."""


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of finding; never reused for another.

    Attributes:
        code: FC0xx reading, FC1xx one record, FC2xx the whole catalogue, FC3xx the
            shelf's ledger.
        name: the fault in words, such as `unknown-field`.
        severity: error (certainly wrong), warning (probably wrong), advice (worth knowing).
        title: one sentence saying what was found.
        why: why it matters to the shop, one or two sentences.
        bad: files that give this finding; laid over the base example of `examples.py`.
        good: the same files put right.
    """

    code: str
    name: str
    severity: Literal["error", "warning", "advice"]
    title: str
    why: str
    bad: Example
    good: Example
