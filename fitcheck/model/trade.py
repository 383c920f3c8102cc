"""The smaller records: tune, vehicle class, tyre, supplier, shelf entry."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from fitcheck.model.fields import (
    Count,
    Date,
    Inches,
    Millimetres,
    Money,
    Percent,
    Positive,
    Record,
    Text,
)

__all__ = ["ListMapping", "ShelfEntry", "Supplier", "Tune", "Tyre", "VehicleClass"]


class Tune(Record):
    """A state of tune and the band of road-speed change it tolerates."""

    name: Text = Field(description="What the counter calls it.", examples=["standard engine"])
    low: Percent = Field(
        description="Least road-speed change worth the work, percent.", examples=[10]
    )
    high: Percent = Field(
        description="Greatest the engine pulls, percent; the edge is inside.", examples=[15]
    )
    stretch: Percent | None = Field(
        None, description="Up to here a careful build may go, percent.", examples=[17]
    )
    notes: Text | None = Field(None, description="Anything worth knowing; shown, never judged.")

    @model_validator(mode="after")
    def _edges_rise(self) -> Tune:
        if self.low > self.high:
            raise ValueError(f"low ({self.low}) is over high ({self.high}); are they swapped?")
        if self.stretch is not None and self.stretch < self.high:
            raise ValueError(f"stretch ({self.stretch}) is under high ({self.high})")
        return self


class VehicleClass(Record):
    """A legal class and its ceilings; local law decides."""

    name: Text = Field(description="Name of the class.", examples=["L1e-B"])
    place: Text = Field(description="Where it applies.", examples=["European Union"])
    max_displacement_cm3: Positive | None = Field(None, description="Greatest displacement, cm3.")
    max_speed_km_h: Positive | None = Field(None, description="Greatest design speed, km/h.")
    max_power_w: Positive | None = Field(None, description="Greatest net power, W.")
    max_power_per_mass_w_kg: Positive | None = Field(
        None, description="Greatest power over mass in running order, W/kg."
    )
    source: Text = Field(description="The rule it is taken from.")
    date: Date = Field(description="Date of the text read.")
    notes: Text | None = Field(None, description="Anything worth knowing; shown, never judged.")


class Tyre(Record):
    """A tyre on the driven wheel."""

    size: Text = Field(description="Size as written on the sidewall.", examples=["3.50-10"])
    wheel_size_in: Inches = Field(description="Rim size, inches.", examples=[10])
    roll_out_mm: Millimetres = Field(description="Distance per wheel turn, mm.", examples=[1310])
    basis: Literal["counted", "catalogue", "standard", "estimate"] = Field(
        description="Where the roll-out comes from."
    )
    source: Text | None = Field(None, description="Rule, table or hand it comes from.")


class ListMapping(Record):
    """Which column of a supplier's list is what."""

    columns: dict[
        Literal[
            "part_number",
            "name",
            "teeth",
            "stage",
            "models",
            "wheel_size",
            "housing",
            "price",
            "availability",
        ],
        Text,
    ] = Field(default={}, description="Our field to the list's column heading.")
    decimal_mark: Literal[".", ","] = Field(".", description="Decimal mark of its prices.")
    stage_words: dict[Text, Literal["primary", "secondary", "tertiary", "single"]] = Field(
        default={}, description="The list's words for a stage."
    )


class Supplier(Record):
    """Who sells gear sets, and how its list reads."""

    name: Text = Field(description="Name of the supplier.", examples=["Marram"])
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")] = Field(
        "EUR", description="ISO 4217 code of its prices."
    )
    list_mapping: ListMapping | None = Field(None, description="How its price list reads.")
    notes: Text | None = Field(None, description="Anything worth knowing; shown, never judged.")


class ShelfEntry(Record):
    """What the shop itself holds of one gear set; the record's id is the set's id."""

    quantity: Count = Field(description="Pieces on the shelf.")
    place: Text | None = Field(None, description="Where it lies.", examples=["drawer B4"])
    cost: Money | None = Field(None, description="What the shop paid, decimal.")
    price: Money | None = Field(None, description="The shop's selling price, decimal.")
