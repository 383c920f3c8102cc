"""The smaller records: variator kit, tune, vehicle class, supplier, shelf entry."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, model_validator

from fitcheck.model.fields import (
    Count,
    Currency,
    Date,
    Discount,
    Id,
    Money,
    Percent,
    Positive,
    Record,
    Stage,
    Text,
    notes_field,
)
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
    notes: Text | None = notes_field("Needs the wider belt.")

    @model_validator(mode="after")
    def _low_is_larger(self) -> VariatorKit:
        check_ratios(self.low_ratio, self.high_ratio)
        return self


class Tune(Record):
    """A state of tune and the band of road-speed change it tolerates."""

    name: Text = Field(description="What the counter calls it.", examples=["standard engine"])
    low: Percent = Field(
        description="Least road-speed change worth the work, percent.", examples=[10]
    )
    high: Percent = Field(
        description="Greatest road-speed change the engine can pull, percent; the edge is inside.",
        examples=[15],
    )
    stretch: Percent | None = Field(
        None,
        description="Greatest road-speed change a careful build may go to, percent.",
        examples=[17],
    )
    power_factor: Annotated[Positive, Field(ge=0.3, le=5)] = Field(
        Decimal(1),
        description="Power over that of the factory engine, no unit; used where only factory "
        "figures are known. Default: 1.",
        examples=[1.08],
    )
    rpm_factor: Annotated[Positive, Field(ge=0.5, le=2)] = Field(
        Decimal(1),
        description="Engine speed of peak power over that of the factory engine, no unit; used "
        "where only factory figures are known. Default: 1.",
        examples=[1.05],
    )
    notes: Text | None = notes_field()

    @model_validator(mode="after")
    def _edges_rise(self) -> Tune:
        if self.low > self.high:
            raise ValueError(f"low ({self.low}) is over high ({self.high}); are they swapped?")
        if self.stretch is not None and self.stretch < self.high:
            raise ValueError(f"stretch ({self.stretch}) is under high ({self.high})")
        return self


class VehicleClass(Record):
    """A legal class of vehicle and its ceilings; local law decides."""

    name: Text = Field(description="Name of the class.", examples=["L1e-B"])
    place: Text = Field(description="Where it applies.", examples=["European Union"])
    max_displacement_cm3: Positive | None = Field(
        None, description="Greatest displacement, cm3.", examples=[50]
    )
    max_speed_km_h: Positive | None = Field(
        None, description="Greatest design speed, km/h.", examples=[45]
    )
    max_power_w: Positive | None = Field(
        None, description="Greatest net power, W.", examples=[4000]
    )
    max_power_per_mass_w_kg: Positive | None = Field(
        None, description="Greatest power over mass in running order, W/kg.", examples=[200]
    )
    max_mass_kg: Annotated[Positive, Field(le=10000)] | None = Field(
        None, description="Greatest mass in running order, kg.", examples=[270]
    )
    min_overall_reduction: Annotated[Positive, Field(gt=1, le=100)] | None = Field(
        None,
        description="Least overall reduction in the highest speed: primary times gearbox times "
        "final drive; no unit.",
        examples=[6],
    )
    needs: Text | None = Field(
        None,
        description="What else the class asks for, in words; shown, never judged.",
        examples=["Pedals; seat at most 700 mm high."],
    )
    source: Text = Field(
        description="The rule it is taken from.",
        examples=["Regulation (EU) No 168/2013, Annex I"],
    )
    date: Date = Field(
        description="Date of the text read, or the day it was read where the text has none, "
        "year-month-day.",
        examples=["2026-03-31"],
    )
    read_from: Literal["text", "copy"] = Field(
        "text",
        description="text: the rule itself was read; copy: other pages that quote or retell it.",
    )
    notes: Text | None = notes_field()


ListField = Literal[
    "part_number",
    "name",
    "teeth",
    "stage",
    "models",
    "wheel_size",
    "housing",
    "price",
    "availability",
    "notes",
]
"""The fields a column of a supplier's list may be."""


class ListMapping(Record):
    """Which column of a supplier's list is what, and how it writes."""

    columns: dict[ListField, Text] = Field(
        default={},
        description="Our field to the heading of the list's column. Teeth may stand in two "
        "columns, one for pinion and wheel each or one for each stage: both headings, joined by "
        "` + `.",
        examples=[
            {"part_number": "Art. no.", "teeth": "Z", "price": "EUR net"},
            {"part_number": "Art. no.", "teeth": "Z1 + Z2"},
        ],
        json_schema_extra={
            "properties": {
                "part_number": {"description": "Heading of the column of part numbers."},
                "name": {"description": "Heading of the column of the supplier's words."},
                "teeth": {
                    "description": "Heading of the column of tooth counts, or of two columns read "
                    "together: `Z1 + Z2`."
                },
                "stage": {"description": "Heading of the column that names the stage."},
                "models": {"description": "Heading of the column of model words."},
                "wheel_size": {"description": "Heading of the column of rim sizes, inches."},
                "housing": {"description": "Heading of the column that names the housing."},
                "price": {"description": "Heading of the column of prices."},
                "availability": {"description": "Heading of the column of stock or delivery."},
                "notes": {"description": "Heading of the column of the supplier's remarks."},
            }
        },
    )
    encoding: Text | None = Field(
        None,
        description="Encoding of its text files, where they do not say it themselves.",
        examples=["iso8859-15", "cp1252"],
    )
    decimal_mark: Literal[".", ","] = Field(".", description="Decimal mark of its prices.")
    stage_words: dict[Text, Stage] = Field(
        default={},
        description="The list's words for a stage, each to our word.",
        examples=[{"1st gear pair": "primary", "final": "secondary"}],
    )
    model_words: dict[Text, Id | None] = Field(
        default={},
        description="The list's words for a model or an engine, each to the id of the family; to "
        "null for none of ours.",
        examples=[{"DN50 sport": "dunlin-50", "Snipe Classic": None}],
    )
    housing_words: dict[Text, Text | None] = Field(
        default={},
        description="The list's words for a housing, each to the id of a housing of the family it "
        "stands beside, to several ids with commas between, or to `all`; to null for one that says "
        "nothing. With a family's id in brackets for that family.",
        examples=[{"small case": "short", "type C (dunlin-50)": "mid, long"}],
    )
    words: dict[Text, Text] = Field(
        default={},
        description="Other words of the list, each to what it says: `harmless`; `always harmless` "
        "where it says nothing in any supplier's list; `left out` where no such row is taken; or "
        "the id of the stage, the housing or the family that it means.",
        examples=[{"Losversand": "harmless", "B-Ware": "left out", "Typ K": "short"}],
    )
    list_name: Text | None = Field(
        None,
        description="What its list is called in the source of entries; keeps one name for lists "
        "that come again and again.",
        examples=["Marram list"],
    )
    settled: dict[Text, Text] = Field(
        default={},
        description="Other questions a list raised, each to its answer, so that it is not asked "
        "again while the list says the same.",
        examples=[{"price of 1544, '1.234'": "1234"}],
    )


class Supplier(Record):
    """Who sells gear sets, and how its list reads."""

    name: Text = Field(description="Name of the supplier.", examples=["Marram"])
    currency: Currency = Field(
        "EUR",
        description="ISO 4217 code of its prices, where a set or its file names no other.",
        examples=["EUR"],
    )
    discount_percent: Discount | None = Field(
        None,
        description="What the shop gets off its list prices, percent; buying is planned by it "
        "where no cost is on the shelf. Selling prices are as listed.",
        examples=[35],
    )
    id_prefix: Annotated[Text, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")] | None = Field(
        None,
        description="What ids of new entries begin with. Default: as those on file do, else "
        "letters of the supplier's id.",
        examples=["MA-"],
    )
    list_mapping: ListMapping | None = Field(
        None,
        description="How its price list reads.",
        examples=[{"columns": {"part_number": "Art. no.", "teeth": "Z"}, "decimal_mark": ","}],
    )
    notes: Text | None = notes_field()


class ShelfEntry(Record):
    """What the shop itself holds of one gear set; the record's id is the set's id."""

    quantity: Count = Field(description="Pieces on the shelf, a whole number.", examples=[2])
    place: Text | None = Field(None, description="Where it lies.", examples=["drawer B4"])
    cost: Money | None = Field(
        None,
        description="What the shop paid for a piece, in the set's currency, decimal point.",
        examples=[41.5],
    )
    price: Money | None = Field(
        None,
        description="The shop's selling price for a piece, in the set's currency, decimal point.",
        examples=[69],
    )


class LedgerEnd(Record):
    """The ledger's last line when a move wrote this file; check sees by it whether one is missing.

    fitcheck keeps it.
    """

    line: Annotated[int, Field(ge=1)] = Field(
        description="Number of the line, from 1.", examples=[66]
    )
    sum: Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")] = Field(
        description="Check sum of the line, 32 hex digits.",
        examples=["69fdce9fbde1dfc9d08c9e53975701ad"],
    )
