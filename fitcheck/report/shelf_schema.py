"""JSON Schema members of the answers of `shelf`."""

from __future__ import annotations

from typing import get_args

from fitcheck.catalogue.ledger import ACTIONS
from fitcheck.report.schema_building import (
    Schema,
    list_of,
    members,
    nullable,
    number,
    ref,
    text,
    whole,
    words,
    yes_no,
)
from fitcheck.services.shelf.stocktake import Outcome

__all__ = ["SHELF_ANSWERS", "SHELF_DEFINITIONS"]

_NAME: Schema = {"type": "string", "minLength": 1}
_WHOLE: Schema = {"type": "integer"}


def _money(description: str) -> Schema:
    return nullable(ref("Money", description))


_PART: dict[str, Schema] = {
    "part": text("Id of the gear set, which is that of its entry on the shelf."),
    "part_number": nullable(
        text("The supplier's number; null where the catalogue no longer knows the part.")
    ),
    "supplier": nullable(text("Id of its supplier; null likewise.")),
    "currency": nullable(text("ISO 4217 code of its money; null likewise.", pattern="^[A-Z]{3}$")),
}

_HELD: dict[str, Schema] = {
    "quantity": whole("Pieces."),
    "shelf_place": nullable(text("Where it lies.")),
    "cost": _money("What was paid last for a piece; null where nobody wrote it down."),
    "price": _money("The shop's selling price for a piece; null where there is none."),
}

_SETS: Schema = {
    "description": "Place, cost and price as far as they are set anew; null takes one away.",
    "type": "object",
    "properties": {
        "shelf_place": nullable(text("Where it lies from then on.")),
        "cost": _money("What a piece cost."),
        "price": _money("The selling price from then on."),
    },
    "additionalProperties": False,
}

_LINE: dict[str, Schema] = {
    "seq": whole("Number of the line in its ledger, from 1.", 1),
    "time": text(
        "When, UTC.",
        pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$",
        examples=["2026-11-25T14:03:09Z"],
    ),
    "action": words(
        "What was done; open: what the file said when the ledger began; count: a stock-take; "
        "close: taken out of the shelf file.",
        ACTIONS,
    ),
    "change": {"description": "Pieces more, or less where below zero.", **_WHOLE},
    "quantity_after": whole("Pieces on the shelf after it."),
    "sets": _SETS,
    "reason": nullable(text("Why.")),
    "by": nullable(text("Who.")),
}

SHELF_DEFINITIONS: dict[str, Schema] = {
    "Money": members(
        "An amount of money in the currency beside it.",
        {
            "amount": number("The amount."),
            "exact": text(
                "The same as text, exact to the last decimal.",
                pattern=r"^-?[0-9]+\.[0-9]{2,}$",
                examples=["61.50"],
            ),
        },
    ),
    "Held": members("What the shelf holds of a part.", _HELD),
    "LedgerLine": members("One line of a ledger.", _LINE),
}

_REMARKS = list_of(_NAME, "What else to know, a sentence each; for people.")


def _list() -> tuple[str, dict[str, Schema]]:
    entry = members(
        "One entry of the shelf.",
        {
            **_PART,
            "families": list_of(
                _NAME, "Ids of the families it is vouched or listed for; a listing proves no fit."
            ),
            "pairs": nullable(ref("Pairs", "Tooth counts; null where the part is not known.")),
            "status": nullable(
                words(
                    "retired: kept on file, no longer matched; null where it is not known.",
                    ("active", "retired"),
                )
            ),
            **_HELD,
            "value_at_cost": _money("Pieces times cost; null where the cost is not known."),
            "value_at_price": _money("Pieces times price; null where there is no price."),
            "place": ref("Place", "Where its entry stands in the shelf file."),
        },
    )
    total = members(
        "What the entries of one currency add up to.",
        {
            "currency": nullable(text("ISO 4217 code; null: of parts that are not known.")),
            "entries": whole("How many entries."),
            "pieces": whole("How many pieces."),
            "at_cost": ref("Money", "Sum of value_at_cost over those where it is known."),
            "pieces_without_cost": whole("Pieces that sum leaves out."),
            "at_price": ref("Money", "Sum of value_at_price over those where it is known."),
            "pieces_without_price": whole("Pieces that sum leaves out."),
        },
    )
    difference = members(
        "A part on which the shelf file and its ledger do not agree.",
        {
            "part": text("Its id."),
            "ledger": nullable(ref("Held", "What the ledger adds up to; null: nothing of it.")),
            "shelf_file": nullable(ref("Held", "What the file says; null: it has no entry.")),
            "fields": list_of(_NAME, "Names of the fields that differ."),
        },
    )
    return "Answer of `fitcheck shelf list --format json`", {
        "filters": members(
            "What was asked for.",
            {
                "supplier": nullable(text("Id of the only supplier.")),
                "family": nullable(text("Id of the only family.")),
                "place": nullable(text("Words of a place, or their beginnings.")),
                "low": nullable(whole("The most pieces.")),
            },
        ),
        "entries": list_of(entry, "In the order of the shelf file."),
        "totals": list_of(total, "By currency."),
        "all_entries": whole("Entries of the shelf, whatever was asked for."),
        "differences": list_of(difference, "Edits by hand since the last move, of all entries."),
    }


def _history() -> tuple[str, dict[str, Schema]]:
    return "Answer of `fitcheck shelf history --format json`", {
        "part": nullable(members("The part asked for; null: all.", _PART)),
        "lines": list_of(
            members(
                "One line.",
                {**_PART, **_LINE, "place": ref("Place", "Where it stands in the ledger.")},
            ),
            "Oldest first.",
        ),
        "all_lines": whole("Lines there are of what was asked for, before --last cuts them."),
    }


def _move() -> tuple[str, dict[str, Schema]]:
    title = "Answer of `fitcheck shelf receive`, `issue`, `price` and `place` with --format json"
    return title, {
        **_PART,
        "before": nullable(ref("Held", "What was held; null: the part had no entry.")),
        "after": ref("Held", "What is held now."),
        "line": ref("LedgerLine", "Its line in the ledger."),
        "remarks": _REMARKS,
    }


def _count() -> tuple[str, dict[str, Schema]]:
    row = members(
        "What the stock-take does to one part.",
        {
            **_PART,
            "where": nullable(text("File and row of the count; null where it was not counted.")),
            "ledger": nullable(ref("Held", "What the ledger says; null: nothing of it.")),
            "shelf_file": nullable(ref("Held", "What the shelf file says; null: no entry.")),
            "counted": nullable(ref("Held", "What both are to say; null: no entry.")),
            "change": {"description": "Pieces more or less than the ledger says.", **_WHOLE},
            "outcome": words(
                "new: had no entry; details: only place, cost or price; file: the ledger was right "
                "and the file edited by hand; gone: is out of the file.",
                get_args(Outcome),
            ),
            "sets": _SETS,
            "value_at_cost": _money("The change times the last cost; null where not known."),
        },
    )
    outcomes = {word: whole(f"Rows with the outcome {word}.") for word in get_args(Outcome)}
    return "Answer of `fitcheck shelf count --format json`", {
        "written": yes_no("Whether it was carried out; else this is the plan."),
        "rows": list_of(row, "Parts counted, in the list's order; then others that change."),
        "counts": members(
            "How many rows of each outcome.",
            {
                **outcomes,
                "not_counted": whole("Parts not counted, which stay as they are."),
            },
        ),
        "worth_at_cost": list_of(
            members(
                "What the differences in one currency add up to.",
                {
                    "currency": nullable(text("ISO 4217 code; null: of parts that are not known.")),
                    "amount": ref("Money", "At last cost; below zero where pieces are missing."),
                },
            ),
            "What all differences are worth at the last cost, by currency.",
        ),
        "pieces_without_cost": whole("Pieces more or fewer whose cost is not known."),
        "lines": list_of(ref("LedgerLine"), "Its lines in the ledger; empty for a plan."),
        "remarks": _REMARKS,
    }


SHELF_ANSWERS = {
    "shelf-list": _list,
    "shelf-history": _history,
    "shelf-move": _move,
    "shelf-count": _count,
}
"""The answers, each with its title and the members behind those that every answer begins with."""
