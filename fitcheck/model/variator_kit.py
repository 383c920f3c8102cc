"""Variator kit: another belt variator, sold under one part number."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from fitcheck.model.fields import Currency, Id, Money, Record, Text
from fitcheck.model.gear_set import SetSource
from fitcheck.model.powertrain import Rpm, VariatorRatio, check_ratios


class VariatorKit(Record):
    """A belt variator sold under one part number, with the ratios it gives."""

    supplier: Id = Field(
        description="Id of the supplier; may stand once under defaults.", examples=["marram"]
    )
    part_number: Text = Field(
        description="The supplier's number, as text: quote it where it is all digits.",
        examples=["7105", "MA-V-105"],
    )
    aliases: list[Text] = Field(
        default=[], description="Other numbers for the same part.", examples=[["7105-B"]]
    )
    name: Text | None = Field(
        None, description="The supplier's words for it.", examples=["Variator with steeper ramps"]
    )
    fits: Annotated[list[Id], Field(min_length=1)] = Field(
        description="Ids of the engine families the supplier sells it for; at least one.",
        examples=[["dunlin-50"]],
    )
    low_ratio: VariatorRatio = Field(
        description="Starting ratio it gives, driven over driver, the largest; no unit.",
        examples=[2.9],
    )
    high_ratio: VariatorRatio = Field(
        description="Top ratio it gives, driven over driver, the smallest; no unit.",
        examples=[0.85],
    )
    shift_rpm: Rpm | None = Field(
        None,
        description="Engine speed held while shifting with the rollers in the parcel, 1/min.",
        examples=[6400],
    )
    price: Money | None = Field(
        None,
        description="Selling price in the currency given, decimal point, no sign.",
        examples=[89.9],
    )
    currency: Currency = Field(
        default_factory=lambda: "EUR",
        description="ISO 4217 code of the price's currency. Default: the supplier's.",
        examples=["EUR"],
    )
    source: SetSource = Field(
        default=SetSource(),
        description="Where the entry comes from.",
        examples=[{"list": "Marram spring list", "row": 42, "date": "2026-03-31"}],
    )
    notes: Text | None = Field(
        None,
        description="Anything worth knowing; shown, never judged.",
        examples=["Needs the wider belt."],
    )

    @model_validator(mode="after")
    def _low_is_larger(self) -> VariatorKit:
        check_ratios(self.low_ratio, self.high_ratio)
        return self
