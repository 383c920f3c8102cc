"""Gear set: what is sold under one part number."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, model_validator

from fitcheck.model.fields import (
    STAGES,
    AngleDeg,
    Count,
    Currency,
    Date,
    FamilyId,
    HousingId,
    Inches,
    Lines,
    Millimetres,
    Money,
    Number,
    Record,
    SetId,
    Stage,
    SupplierId,
    Teeth,
    Text,
    notes_field,
)

Member = Literal["driver", "driven"]

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

    family: FamilyId = Field(description="Id of the engine family.", examples=["dunlin-50"])
    housings: list[HousingId] = Field(
        default=[],
        description="Ids of the housings stated. Leave it out where nobody says which.",
        examples=[["short", "mid"]],
    )
    evidence: Literal["stated", "measured"] = Field(
        "stated",
        description="stated: the supplier says so for this family and these housings; measured: "
        "tried in the shop.",
    )


class Listing(Record):
    """What the supplier's list files the set under: information, never proof."""

    models: list[Text] = Field(
        default=[], description="Model words of the list.", examples=[["Dunlin Twelve"]]
    )
    wheel_size_in: Inches | None = Field(
        None,
        description="Rim size of the listed model's driven wheel, whole inches.",
        examples=[12],
    )


class PairGeometry(Record):
    """Geometry of one pair as ISO 21771 names it; lengths in mm, angles in degrees."""

    normal_module_mm: Annotated[Number, Field(gt=0.2, le=10)] = Field(
        description="Normal module, mm; over 0.2.", examples=[1.5]
    )
    helix_angle_deg: AngleDeg = Field(
        description="Helix angle at the reference cylinder, degrees; 0 for spur gears.",
        examples=[20],
    )
    pressure_angle_deg: Annotated[AngleDeg, Field(ge=10, le=30)] = Field(
        20.0,
        description="Normal pressure angle, degrees. Default: 20 (ISO 53), which is reported.",
        examples=[20],
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
        None,
        description="Profile shift coefficient of the driver, x1, in normal modules.",
        examples=[0.288],
    )
    driven_tip_diameter_mm: Millimetres | None = Field(
        None,
        description="Tip diameter of the driven gear, mm, if it was measured.",
        examples=[77.4],
    )


class SetInterfaces(Record):
    """What the set needs from the shafts around it and brings to them; codes of the shop's own."""

    input_shaft_end: Text | None = Field(
        None, description="Input shaft end the input pinion needs.", examples=["D13"]
    )
    pinion_seat: Text | None = Field(
        None,
        description="Seat this pair's pinion shaft offers to the wheel of the stage before.",
        examples=["ST-14"],
    )
    wheel_seat: Text | None = Field(
        None,
        description="Seat this pair's wheel needs on the pinion shaft of the next stage.",
        examples=["ST-14"],
    )
    output_shaft_end: Text | None = Field(
        None, description="Output shaft end the final wheel needs.", examples=["H17"]
    )
    bearings: list[Text] = Field(
        default=[],
        description="Bearings the shafts of the set need, by their trade numbers, quoted.",
        examples=[["6202", "6203"]],
    )


class SetSource(Record):
    """Where the entry comes from."""

    list: Text | None = Field(
        None, description="Name of the supplier's list.", examples=["Marram spring list"]
    )
    sheet: Text | None = Field(
        None, description="Sheet of that list, where it is a workbook.", examples=["Prices"]
    )
    row: Count | None = Field(None, description="Row in that list or sheet.", examples=[42])
    date: Date | None = Field(
        None,
        description="Date of the list or of the entry, year-month-day.",
        examples=["2026-03-31"],
    )


def _only_for_stages_held() -> dict[str, Any]:
    """JSON Schema for: geometry and members are given only for stages under `pairs`."""
    return {
        "allOf": [
            {
                "if": {"required": [name], "properties": {name: {"required": [stage]}}},
                "then": {"properties": {"pairs": {"required": [stage]}}},
            }
            for name in ("geometry", "members")
            for stage in STAGES
        ]
    }


class GearSet(Record):
    """What is sold under one part number: one pair, or all the pairs of a train."""

    model_config = ConfigDict(json_schema_extra=_only_for_stages_held())

    supplier: SupplierId = Field(
        description="Id of the supplier; may stand once under defaults.", examples=["marram"]
    )
    part_number: Text = Field(
        description="The supplier's number, as text: quote it where it is all digits.",
        examples=["1544", "MA-1544"],
    )
    aliases: list[Text] = Field(
        default=[], description="Other numbers for the same part.", examples=[["1544-B"]]
    )
    name: Text | None = Field(
        None, description="The supplier's words for it.", examples=["Primary set, taller"]
    )
    pairs: Annotated[dict[Stage, Teeth], Field(min_length=1)] = Field(
        description="Tooth counts of each stage the set holds; at least one.",
        examples=[{"primary": "15/44"}],
    )
    fits: list[FitClaim] = Field(
        default=[],
        description="Families and housings that somebody confirms.",
        examples=[[{"family": "dunlin-50", "housings": ["short", "mid"]}]],
    )
    listed_for: Listing = Field(
        default=Listing(),
        description="What the list files it under: information, never proof.",
        examples=[{"models": ["Dunlin Twelve"], "wheel_size_in": 12}],
    )
    geometry: dict[Stage, PairGeometry] = Field(
        default={},
        description="Geometry by stage, where known; only for stages the set holds.",
        examples=[{"primary": {"normal_module_mm": 1.5, "helix_angle_deg": 20}}],
    )
    interfaces: SetInterfaces = Field(
        default=SetInterfaces(),
        description="Shaft ends, seats and bearings, where known.",
        examples=[{"wheel_seat": "ST-14"}],
    )
    measured: list[Measurable] = Field(
        default=[],
        description="Which of these data were measured in the shop.",
        examples=[["pairs", "wheel_seat"]],
    )
    members: dict[Stage, list[Member]] = Field(
        default={},
        description="Gears in the parcel by stage, where it does not hold both gears of each pair.",
        examples=[{"primary": ["driven"]}],
    )
    also_needs: list[Text] = Field(
        default=[],
        description="What else the job needs: gasket, seals, oil.",
        examples=[["gearbox gasket", "0.12 l gear oil"]],
    )
    price: Money | None = Field(
        None,
        description="Selling price in the currency given, decimal point, no sign.",
        examples=[64.9],
    )
    currency: Currency = Field(
        default_factory=lambda: "EUR",
        description="ISO 4217 code of the price's currency. Default: the supplier's.",
        examples=["EUR"],
    )
    availability: Literal["in-stock", "to-order", "out-of-stock", "discontinued", "unknown"] = (
        Field("unknown", description="What the supplier says of its own stock.")
    )
    status: Literal["active", "retired"] = Field(
        "active", description="A retired set is kept and shown, never matched."
    )
    successor: SetId | None = Field(
        None,
        description="Id of the set that takes a retired one's place.",
        examples=["MA-1546"],
    )
    source: SetSource = Field(
        default=SetSource(),
        description="Where the entry comes from.",
        examples=[{"list": "Marram spring list", "row": 42, "date": "2026-03-31"}],
    )
    notes: Lines | None = notes_field("Needs the idler shim of the long case.")

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
