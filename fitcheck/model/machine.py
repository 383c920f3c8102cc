"""Machine: one customer's scooter as it stands in the shop."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field, model_validator

from fitcheck.model.fields import (
    STAGES,
    ClassId,
    FamilyId,
    HousingId,
    Inches,
    Positive,
    Record,
    RollOut,
    Stage,
    Teeth,
    Text,
    TuneId,
    TyreId,
    notes_field,
)
from fitcheck.model.powertrain import (
    ONE_DRIVE,
    Engine,
    FixedRatio,
    RunningOrder,
    Variator,
    check_one_drive,
)
from fitcheck.model.tyre import ONE_TYRE


class Masses(Record):
    """Masses of machine and load, kg."""

    running_order_kg: RunningOrder | None = Field(
        None, description="Machine with fuel and oil, without rider, kg.", examples=[82]
    )
    rider_kg: Annotated[Positive, Field(ge=20, le=300)] | None = Field(
        None, description="Rider and load, kg.", examples=[75]
    )


class Machine(Record):
    """One customer's scooter: family, housing and counted teeth are what matter."""

    model_config = ConfigDict(json_schema_extra={"allOf": [ONE_DRIVE, ONE_TYRE]})

    name: Text = Field(description="What the counter calls it.", examples=["Rosa's Dunlin Ten"])
    family: FamilyId = Field(description="Id of the engine family.", examples=["dunlin-50"])
    housing: HousingId | None = Field(
        None,
        description="Id of the family's housing. Leave it out while nobody has looked.",
        examples=["short"],
    )
    pairs: Annotated[dict[Stage, Teeth], Field(min_length=1)] = Field(
        description="Teeth counted, by stage; at least one stage.",
        examples=[{"primary": "14/45", "secondary": "13/48"}],
    )
    idler_seats: list[Text] = Field(
        default=[],
        description="Idler seats measured on this machine, in order, in the family's codes: one "
        "for a two-stage train, two for three stages; '?' for one not measured. They override "
        "the family's.",
        examples=[["ST-14"]],
    )
    wheel_size_in: Inches | None = Field(
        None, description="Rim size of the driven wheel, whole inches.", examples=[10]
    )
    tyre: TyreId | None = Field(
        None, description="Id of the tyre on the driven wheel.", examples=["t-350-10"]
    )
    tyre_size: Text | None = Field(
        None,
        description="Size on the sidewall of the driven wheel's tyre, where the catalogue lacks "
        "that tyre.",
        examples=["120/70-12 51L"],
    )
    roll_out_mm: RollOut | None = Field(
        None,
        description="Distance per turn of the driven wheel, measured with the rider on, mm.",
        examples=[1310],
    )
    tune: TuneId | None = Field(
        None, description="Id of the engine's state of tune.", examples=["stock"]
    )
    vehicle_class: ClassId | None = Field(
        None, description="Id of the class the machine is registered in.", examples=["l1e-b"]
    )
    engine: Engine = Field(
        default=Engine(),
        description="Engine as it stands, in the machine's own tune, where known.",
        examples=[{"peak_power_kw": 3.4, "peak_power_rpm": 7250}],
    )
    variator: Variator | None = Field(
        None,
        description="Belt variator, where known.",
        examples=[{"low_ratio": 2.6, "high_ratio": 0.8}],
    )
    fixed_ratio: FixedRatio | None = Field(
        None,
        description="The one ratio between engine and gearbox input, driven over driver, of a "
        "machine without a variator; no unit.",
        examples=[3.2],
    )
    masses: Masses = Field(
        default=Masses(),
        description="Masses, where known.",
        examples=[{"running_order_kg": 82, "rider_kg": 75}],
    )
    drag_area_m2: Annotated[Positive, Field(ge=0.1, le=2)] | None = Field(
        None,
        description="Drag coefficient times frontal area with the rider up, m2. Default: by the "
        "loaded mass.",
        examples=[0.52],
    )
    rolling_coefficient: Annotated[Positive, Field(ge=0.003, le=0.1)] | None = Field(
        None,
        description="Rolling resistance over weight, no unit. Default: by the loaded mass.",
        examples=[0.018],
    )
    notes: Text | None = notes_field("Casing stamped mid, short lid fitted.")

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Stages of the counted train from input shaft to wheel."""
        return tuple(stage for stage in STAGES if stage in self.pairs)

    @model_validator(mode="after")
    def _one_drive(self) -> Machine:
        check_one_drive(self.fixed_ratio, self.variator)
        return self

    @model_validator(mode="after")
    def _one_tyre(self) -> Machine:
        if self.tyre is not None and self.tyre_size is not None:
            raise ValueError(
                "tyre and tyre_size are both given; tyre_size is for a tyre that is not in the "
                "catalogue"
            )
        return self
