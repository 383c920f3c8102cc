"""Machine: one customer's scooter as it stands in the shop."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import ConfigDict, Field, model_validator

from fitcheck.model.fields import (
    STAGES,
    Id,
    Inches,
    Positive,
    Record,
    RollOut,
    Stage,
    Teeth,
    Text,
)

__all__ = ["Engine", "Machine", "Masses", "TorquePoint", "Variator"]


def _needs(given: str, other: str) -> dict[str, Any]:
    """JSON Schema for: where one number is given, and not left empty, so is the other."""
    number = {"type": "number"}
    return {
        "if": {"required": [given], "properties": {given: number}},
        "then": {"required": [other], "properties": {other: number}},
    }


class TorquePoint(Record):
    """One full-throttle point of the engine."""

    rpm: Annotated[Positive, Field(le=30000)] = Field(
        description="Engine speed, 1/min.", examples=[7500]
    )
    power_kw: Annotated[Positive, Field(le=200)] = Field(
        description="Power at the crankshaft, kW.", examples=[3.2]
    )


class Engine(Record):
    """What is known of the engine; peak power and its speed belong together."""

    model_config = ConfigDict(
        json_schema_extra={
            "allOf": [
                _needs("peak_power_kw", "peak_power_rpm"),
                _needs("peak_power_rpm", "peak_power_kw"),
            ]
        }
    )

    peak_power_kw: Annotated[Positive, Field(le=200)] | None = Field(
        None, description="Peak power at the crankshaft, kW.", examples=[3.4]
    )
    peak_power_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Engine speed of peak power, 1/min.", examples=[7250]
    )
    rev_limit_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Highest engine speed, 1/min.", examples=[9500]
    )
    points: list[TorquePoint] = Field(
        default=[],
        description="Full-throttle points, rising rpm.",
        examples=[[{"rpm": 6000, "power_kw": 2.6}, {"rpm": 7250, "power_kw": 3.4}]],
    )

    @model_validator(mode="after")
    def _power_has_its_rpm(self) -> Engine:
        if (self.peak_power_kw is None) != (self.peak_power_rpm is None):
            raise ValueError("peak_power_kw and peak_power_rpm belong together; give both or none")
        return self


class Variator(Record):
    """Stepless belt variator; ratios as driven over driver, no unit."""

    low_ratio: Annotated[Positive, Field(le=10)] = Field(
        description="Starting ratio, the largest; no unit.", examples=[2.6]
    )
    high_ratio: Annotated[Positive, Field(le=10)] = Field(
        description="Top ratio, the smallest; no unit.", examples=[0.8]
    )
    shift_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Engine speed held while shifting, 1/min.", examples=[7000]
    )
    engage_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Engine speed at which the clutch grips, 1/min.", examples=[3500]
    )

    @model_validator(mode="after")
    def _low_is_larger(self) -> Variator:
        if self.low_ratio <= self.high_ratio:
            raise ValueError(
                f"low_ratio ({self.low_ratio}) is the starting ratio and is larger than high_ratio "
                f"({self.high_ratio}); are they swapped?"
            )
        return self


class Masses(Record):
    """Masses of machine and load, kg."""

    running_order_kg: Annotated[Positive, Field(ge=20, le=1000)] | None = Field(
        None, description="Machine with fuel and oil, without rider, kg.", examples=[82]
    )
    rider_kg: Annotated[Positive, Field(ge=20, le=300)] | None = Field(
        None, description="Rider and load, kg.", examples=[75]
    )


class Machine(Record):
    """One customer's scooter: family, housing and counted teeth are what matter."""

    name: Text = Field(description="What the counter calls it.", examples=["Rosa's Dunlin Ten"])
    family: Id = Field(description="Id of the engine family.", examples=["dunlin-50"])
    housing: Id | None = Field(
        None,
        description="Id of the family's housing; left out: not looked at yet.",
        examples=["short"],
    )
    pairs: Annotated[dict[Stage, Teeth], Field(min_length=1)] = Field(
        description="Teeth counted, by stage; at least one stage.",
        examples=[{"primary": "14/45", "secondary": "13/48"}],
    )
    wheel_size_in: Inches | None = Field(
        None, description="Rim size of the driven wheel, whole inches.", examples=[10]
    )
    tyre: Id | None = Field(
        None, description="Id of the tyre on the driven wheel.", examples=["t-350-10"]
    )
    roll_out_mm: RollOut | None = Field(
        None,
        description="Distance per turn of the driven wheel, measured with the rider on, mm.",
        examples=[1310],
    )
    tune: Id | None = Field(
        None, description="Id of the engine's state of tune.", examples=["stock"]
    )
    vehicle_class: Id | None = Field(
        None, description="Id of the class the machine is registered in.", examples=["l1e-b"]
    )
    engine: Engine = Field(
        default=Engine(),
        description="Engine data, where known.",
        examples=[{"peak_power_kw": 3.4, "peak_power_rpm": 7250}],
    )
    variator: Variator | None = Field(
        None,
        description="Belt variator, where known.",
        examples=[{"low_ratio": 2.6, "high_ratio": 0.8}],
    )
    masses: Masses = Field(
        default=Masses(),
        description="Masses, where known.",
        examples=[{"running_order_kg": 82, "rider_kg": 75}],
    )
    notes: Text | None = Field(
        None,
        description="Anything worth knowing; shown, never judged.",
        examples=["Casing stamped mid, short lid fitted."],
    )

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Stages of the counted train from input shaft to wheel."""
        return tuple(stage for stage in STAGES if stage in self.pairs)
