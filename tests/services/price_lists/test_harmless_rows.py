"""Rows of the trade in five languages: what is harmless is taken, what is not is asked.

The rows are in harmless_rows.tsv; common practice of the trade, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.services.price_lists.conftest import Shop

LANGUAGES = ("en", "de", "it", "fr", "es")
_HEAD = "Art. no.;Text;Teeth;Stage;Models;Case;Price;Stock;Remarks;Info"
_PLAIN = {"name": "Gear set", "teeth": "15/44", "stage": "primary", "models": "Dunlin Ten"}
_FIELDS = (*_PLAIN, "housing", "price", "stock", "remark", "unread")


def _cases(path: Path, language: str) -> list[tuple[str, str, str]]:
    """What becomes of it, the field and its text, of each row of a language."""
    lines = path.read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return [(does, field, text) for of, does, field, text in rows if of == language]


def _line(number: str, field: str, text: str) -> str:
    row = {**_PLAIN, "price": "50", field: text}
    return ";".join([number, *(row.get(each, "") for each in _FIELDS)])


def unexpected(shop: Shop, path: Path, language: str) -> list[str]:
    """The rows of a language of which another thing becomes than the table says."""
    cases = _cases(path, language)
    inside = [case for case in cases if case[1] != "heading"]
    lines = [_line(f"A-{at}", field, text) for at, (_, field, text) in enumerate(inside)]
    rows = list(shop.plan("\n".join([_HEAD, *lines]) + "\n").rows[1:])
    headed = [case for case in cases if case[1] == "heading"]
    for _, field, text in headed:
        plan = shop.plan(f"{_HEAD}\n;{text};;;;;;;;\n{_line('A-1', field, '')}\n")
        rows.append(plan.rows[-1])
    return [
        f"{does} {field} {text!r}: {row.outcome} {row.reason}"
        for (does, field, text), row in zip([*inside, *headed], rows, strict=True)
        if (row.outcome == "new") != (does == "taken")
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_harmless_is_taken_and_what_is_not_is_asked(untouched: Shop, language: str) -> None:
    assert unexpected(untouched, Path(__file__).with_name("harmless_rows.tsv"), language) == []
