"""Gear set: what is sold under one part number."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from fitcheck.model.fields import (
    STAGES,
    AngleDeg,
    Count,
    Date,
    Id,
    Inches,
    Millimetres,
    Money,
    Number,
    Record,
    Stage,
    Teeth,
    Text,
)

__all__ = ["FitClaim", "GearSet", "Listing", "Member", "PairGeometry", "SetInterfaces", "SetSource"]

Member = Literal["driver", "driven"]

MEASURABLE = (
    "pairs",
    "geometry",
    "input_shaft_end",
    "pinion_seat",
    "wheel_seat",
    "output_shaft_end",
    "bearings",
)
Measurable = Literal[
    "pairs",
    "geometry",
    "input_shaft_end",
    "pinion_seat",
    "wheel_seat",
    "output_shaft_end",
    "bearings",
]


class FitClaim(Record):
    """A statement that the set fits one family, in named housings, and who makes it."""

    family: Id = Field(description="Id of the engine family.")
    housings: list[Id] = Field(
        default=[], description="Housings stated; left out: nobody says which, so it stays open."
    )
    evidence: Literal["stated", "measured"] = Field(
        "stated",
        description="stated: the supplier says so for this family and these housings; measured: "
        "tried in the shop.",
    )


class Listing(Record):
    """What the supplier's list files the set under: information, never proof."""

    models: list[Text] = Field(default=[], description="Model words of the list.")
    wheel_size_in: Inches | None = Field(
        None, description="Wheel size of the listed model, inches."
    )


class PairGeometry(Record):
    """Geometry of one pair as ISO 21771 names it."""

    normal_module_mm: Annotated[Number, Field(gt=0.2, le=10)] = Field(
        description="Normal module, mm.", examples=[1.5]
    )
    helix_angle_deg: AngleDeg = Field(
        description="Helix angle at the reference cylinder, degrees; 0 for spur gears.",
        examples=[20],
    )
    pressure_angle_deg: Annotated[AngleDeg, Field(ge=10, le=30)] = Field(
        20.0, description="Normal pressure angle, degrees."
    )
    driver_hand: Literal["left", "right"] | None = Field(
        None, description="Hand of the driver's helix; the driven gear has the other hand."
    )
    face_width_mm: Millimetres | None = Field(
        None, description="Common face width, mm.", examples=[14]
    )
    profile_shift_sum: Annotated[Number, Field(ge=-5, le=5)] | None = Field(
        None,
        description="Sum of the profile shift coefficients x1 + x2, in normal modules.",
        examples=[0.0752],
    )
    driver_profile_shift: Annotated[Number, Field(ge=-3, le=3)] | None = Field(
        None, description="Profile shift coefficient of the driver, in normal modules."
    )
    driven_tip_diameter_mm: Millimetres | None = Field(
        None, description="Tip diameter of the driven gear if it was measured, mm."
    )


class SetInterfaces(Record):
    """What the set needs from the shafts around it and brings to them."""

    input_shaft_end: Text | None = Field(
        None, description="Input shaft end the input pinion needs.", examples=["D13"]
    )
    pinion_seat: Text | None = Field(
        None, description="Seat this pair's pinion shaft offers to the wheel of the stage before."
    )
    wheel_seat: Text | None = Field(
        None,
        description="Seat this pair's wheel needs on the pinion shaft of the next stage.",
        examples=["ST-14"],
    )
    output_shaft_end: Text | None = Field(
        None, description="Output shaft end the final wheel needs."
    )
    bearings: list[Text] = Field(default=[], description="Bearings the shafts of the set need.")


class SetSource(Record):
    """Where the entry comes from."""

    list: Text | None = Field(None, description="Name of the supplier's list.")
    row: Count | None = Field(None, description="Row in that list.")
    date: Date | None = Field(None, description="Date of the list or of the entry.")


class GearSet(Record):
    """What is sold under one part number: one pair, or all the pairs of a train."""

    supplier: Id = Field(description="Id of the supplier; may stand once under defaults.")
    part_number: Text = Field(
        description="The supplier's number, as text: quote it where it is all digits."
    )
    aliases: list[Text] = Field(default=[], description="Other numbers for the same part.")
    name: Text | None = Field(None, description="The supplier's words for it.")
    pairs: Annotated[dict[Stage, Teeth], Field(min_length=1)] = Field(
        description="Tooth counts of each stage the set holds.", examples=[{"primary": "15/44"}]
    )
    fits: list[FitClaim] = Field(
        default=[], description="Families and housings somebody vouches for."
    )
    listed_for: Listing = Field(
        default=Listing(), description="What the list files it under: information, never proof."
    )
    geometry: dict[Stage, PairGeometry] = Field(
        default={}, description="Geometry by stage, where known."
    )
    interfaces: SetInterfaces = Field(
        default=SetInterfaces(), description="Shaft ends, seats and bearings, where known."
    )
    measured: list[Measurable] = Field(
        default=[], description="Which of these data were measured in the shop."
    )
    members: dict[Stage, list[Member]] = Field(
        default={},
        description="Gears in the parcel, where it does not hold both gears of each pair.",
    )
    also_needs: list[Text] = Field(
        default=[], description="What else the job needs: gasket, seals, oil."
    )
    price: Money | None = Field(None, description="Selling price, decimal.", examples=[64.9])
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")] = Field(
        "EUR", description="ISO 4217 currency code."
    )
    availability: Literal["in-stock", "to-order", "discontinued", "unknown"] = Field(
        "unknown", description="What the supplier says of its own stock."
    )
    status: Literal["active", "retired"] = Field(
        "active", description="A retired set is kept and shown, never matched."
    )
    successor: Id | None = Field(
        None, description="Id of the set that takes a retired one's place."
    )
    source: SetSource = Field(default=SetSource(), description="Where the entry comes from.")
    notes: Text | None = Field(None, description="Anything worth knowing; shown, never judged.")

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Stages the set holds, from input shaft to wheel."""
        return tuple(stage for stage in STAGES if stage in self.pairs)

    @model_validator(mode="after")
    def _geometry_belongs_to_a_pair(self) -> GearSet:
        for name, given in (("geometry", self.geometry), ("members", self.members)):
            for stage in given:
                if stage not in self.pairs:
                    raise ValueError(f"{name} is given for {stage}, a stage the set does not hold")
        return self
