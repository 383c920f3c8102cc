"""JSON Schema members of the answer of `intake`."""

from __future__ import annotations

from typing import get_args

from fitcheck.model.fields import STAGE_DESCRIPTIONS, STAGES
from fitcheck.report.schema_building import (
    Schema,
    list_of,
    members,
    nullable,
    text,
    whole,
    words,
    yes_no,
)
from fitcheck.services.intake.headings import FIELDS, Sureness
from fitcheck.services.intake.outcomes import OUTCOMES, Asks
from fitcheck.services.intake.wording import Availability

__all__ = ["intake_members"]

_MEANINGS = {
    "new": "an entry is made.",
    "changed": "an entry is changed.",
    "unchanged": "the catalogue says the same.",
    "review": "a person must answer first.",
    "unreadable": "a cell makes no sense.",
    "ignored": "no article of ours.",
}
_NAME: Schema = {"type": "string", "minLength": 1}


def intake_members() -> dict[str, Schema]:
    """Members of an answer of `intake`, those all answers begin with left out."""
    return {
        "list": _list(),
        "columns": list_of(_column(), "The columns recognised, by sheet."),
        "mapping": nullable(
            members(
                "How the list reads.",
                {
                    "proposed": yes_no(
                        "Whether its columns were found, not read from the supplier's file."
                    ),
                    "columns": {
                        "description": "Our field to the heading of the list's column.",
                        "type": "object",
                        "propertyNames": {"enum": list(FIELDS)},
                        "additionalProperties": _NAME,
                    },
                    "decimal_mark": words("Decimal mark of its prices.", [".", ","]),
                },
            )
        ),
        "counts": members(
            "How many rows end how; the six outcomes add up to `rows`.",
            {
                "rows": whole("Rows of the list, all sheets, blank ones included."),
                **{each: whole(f"Rows where {_MEANINGS[each]}") for each in OUTCOMES},
                "gone": whole("Entries that came from this list and are no longer in it."),
            },
        ),
        "rows": list_of(_row(), "Every row of every sheet, in order, each with one outcome."),
        "gone": list_of(
            members(
                "An entry that came from a list of the supplier and is not in this one.",
                {
                    "set": text("Its id."),
                    "part_number": text("Its number."),
                    "list": text("The list it came from."),
                    "same_list": yes_no("Whether that is this list, by name."),
                },
            ),
            "Told, never deleted.",
        ),
        "questions": list_of(_question(), "What is open, each question once."),
        "unused_answers": list_of(_NAME, "Keys of answers to what this list does not ask."),
        "written": nullable(
            list_of(_NAME, "Files that were written; null where nothing was to be.")
        ),
        "diff": nullable(text("What writing changes, as a unified diff; null if not asked.")),
    }


def _list() -> Schema:
    return members(
        "The list.",
        {
            "path": text("The file, as given."),
            "kind": words("What it is.", ["csv", "xlsx", "xls", "ods"]),
            "name": text("What entries say they come from."),
            "date": {"description": "The date entries bear.", "type": "string", "format": "date"},
            "supplier": text("Id of the supplier."),
            "notes": list_of(
                members(
                    "Something found out about the file.",
                    {
                        "topic": text("A word or two."),
                        "text": text("One sentence."),
                        "sure": yes_no("False where another reading is possible."),
                    },
                ),
                "What was found out.",
            ),
        },
    )


def _column() -> Schema:
    return members(
        "One column of the list.",
        {
            "sheet": nullable(text("Name of the sheet; null for a text file.")),
            "header_rows": list_of(whole("A row number.", 1), "Rows of the header."),
            "field": words("What it holds.", FIELDS),
            "heading": text("Its heading."),
            "sureness": words("How sure that is.", get_args(Sureness)),
            "reason": text("One sentence."),
        },
    )


def _row() -> Schema:
    claim = members(
        "What the list itself states.",
        {
            "family": text("Id of the family."),
            "housings": list_of(_NAME, "Ids of its housings; none where nobody says which."),
        },
    )
    fields = members(
        "What is written of a new entry; of a changed one what is written anew.",
        {
            "name": nullable(text("The supplier's words.")),
            "pairs": {
                "description": "Tooth counts by stage, driver/driven.",
                "type": "object",
                "properties": {
                    stage: text(STAGE_DESCRIPTIONS[stage], pattern="^[1-9][0-9]*/[1-9][0-9]*$")
                    for stage in STAGES
                },
                "additionalProperties": False,
            },
            "fits": list_of(claim, "Family and housings, where the list names both."),
            "models": list_of(_NAME, "Model words: information, no proof."),
            "wheel_size_in": nullable(whole("Rim size listed, inches.", 4)),
            "price": nullable(text("Price, exact.", pattern=r"^[0-9]+(\.[0-9]+)?$")),
            "currency": nullable(text("ISO 4217 code.", pattern="^[A-Z]{3}$")),
            "availability": nullable(words("The supplier's stock.", get_args(Availability))),
        },
    )
    change = members(
        "One field that the list has otherwise.",
        {
            "field": text("Which."),
            "old": nullable(text("What the catalogue has; null where nothing.")),
            "new": text("What the list has."),
            "loud": yes_no("Whether it must not be overlooked: teeth, stages, price, claims."),
        },
    )
    return members(
        "One row.",
        {
            "sheet": nullable(text("Name of the sheet; null for a text file.")),
            "row": whole("Its number.", 1),
            "address": text("Where it stands, such as `Prices!12`."),
            "outcome": words("; ".join(f"{k}: {v[:-1]}" for k, v in _MEANINGS.items()), OUTCOMES),
            "part_number": nullable(text("The supplier's number, where read.")),
            "set": nullable(text("Id of the entry there is, or is to be made.")),
            "fields": fields,
            "changes": list_of(change, "Of a changed entry."),
            "reason": nullable(text("One sentence.")),
            "cell": nullable(text("The cell that cannot be read.")),
            "kind": nullable(text("What an ignored row is: title, blank, repeat and so on.")),
            "same_as": nullable(text("The row it repeats.")),
            "questions": list_of(_NAME, "Keys of the questions it raises."),
            "notes": list_of(_NAME, "What else to know."),
        },
    )


def _question() -> Schema:
    return members(
        "Something only a person can say.",
        {
            "key": text("What tells it from others."),
            "asks": words("Its kind.", get_args(Asks)),
            "about": text("The words of the list it is about."),
            "text": text("The question."),
            "choices": list_of(_NAME, "What it may be."),
            "where": list_of(_NAME, "The first cells that raise it."),
            "rows": whole("How many rows raise it.", 1),
        },
    )
