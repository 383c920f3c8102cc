"""Engine family: shafts, bearings and centre distances shared by several models."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import (
    STAGES,
    ClassId,
    HousingId,
    Id,
    Inches,
    Millimetres,
    Percent,
    Positive,
    Record,
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

TRAIN_STAGES: dict[int, tuple[Stage, ...]] = {
    1: ("single",),
    2: ("primary", "secondary"),
    3: ("primary", "secondary", "tertiary"),
}
"""The stages of a train of one, two or three, from input shaft to wheel."""


class FamilyStage(Record):
    """One stage as the family's casing fixes it; what is not known is left out."""

    centre_distance_mm: Millimetres | None = Field(
        None, description="Centre distance of the two shafts of this stage, mm.", examples=[48.0]
    )
    tolerance_mm: Millimetres | None = Field(
        None,
        description="Largest difference, mm, between this centre distance and the working centre "
        "distance of a pair that still runs well. Default: js8 of ISO 286 for the distance.",
        examples=[0.02],
    )
    max_tip_diameter_mm: Millimetres | None = Field(
        None,
        description="Largest tip diameter of the driven gear that the casing clears, mm.",
        examples=[80.0],
    )
    driver_hand: Literal["left", "right", "spur"] | None = Field(
        None,
        description="Hand of the helix on the factory driver, which sets the side of the thrust; "
        "spur: straight teeth.",
    )


class Housing(Record):
    """A variant of the family's gearbox casing."""

    name: Text = Field(description="What the counter calls it.", examples=["short case"])
    aliases: list[Text] = Field(
        default=[],
        description="Other words for it, in lists and talk.",
        examples=[["short box", "ten-inch case"]],
    )
    max_tip_diameter_mm: dict[Stage, Millimetres] = Field(
        default={},
        description="Largest tip diameter of the driven gear by stage, mm, where this housing "
        "clears another than the family.",
        examples=[{"primary": 78.5}],
    )
    notes: Text | None = notes_field("The rib behind the idler was filed down on early castings.")


class FamilyInterfaces(Record):
    """How gears seat on the family's shafts; codes of the shop's own making."""

    input_shaft_end: Text | None = Field(
        None, description="End of the input shaft that carries the input pinion.", examples=["D13"]
    )
    idler_seats: list[Text] = Field(
        default=[],
        description="Seat of each stage's factory wheel on the next pinion's shaft, in order: one "
        "for a two-stage train, two for three stages.",
        examples=[["ST-14"]],
    )
    output_shaft_end: Text | None = Field(
        None, description="End of the output shaft that carries the final wheel.", examples=["H17"]
    )
    bearings: list[Text] = Field(
        default=[],
        description="Bearings of the gearbox shafts, by their trade numbers, quoted.",
        examples=[["6202", "6203"]],
    )


class FactoryTrain(Record):
    """The gears a model has from the factory."""

    housing: HousingId = Field(description="Id of a housing of this family.", examples=["short"])
    wheel_size_in: Inches = Field(
        description="Rim size of the driven wheel, whole inches.", examples=[10]
    )
    pairs: dict[Stage, Teeth] = Field(
        description="Tooth counts by stage, for every stage of the family.",
        examples=[{"primary": "14/45", "secondary": "13/48"}],
        min_length=1,
    )
    models: list[Text] = Field(
        default=[],
        description="Models sold with this train, in the words of lists and talk.",
        examples=[["Dunlin Ten", "Dunlin Ten S"]],
    )
    tyre: TyreId | None = Field(
        None,
        description="Id of the factory tyre on the driven wheel.",
        examples=["t-350-10"],
    )


class BandEdges(Record):
    """A family's own band for one tune; what is left out keeps the tune's edge."""

    low: Percent | None = Field(
        None, description="Least road-speed change worth the work, percent.", examples=[8]
    )
    high: Percent | None = Field(
        None,
        description="Greatest road-speed change the engine can pull, percent; the edge is inside.",
        examples=[12.5],
    )
    stretch: Percent | None = Field(
        None,
        description="Greatest road-speed change a careful build may go to, percent.",
        examples=[15],
    )


class Family(Record):
    """One engine whose gearbox shafts, bearings and centre distances several models share.

    Engine, variator, ratio and mass are factory figures, in stock tune: they stand in where a
    machine has none of its own.
    """

    model_config = ConfigDict(json_schema_extra={"allOf": [ONE_DRIVE]})

    name: Text = Field(description="Name of the engine family.", examples=["Dunlin 50"])
    aliases: list[Text] = Field(
        default=[],
        description="Other names in lists and talk, model names included.",
        examples=[["Dunlin 2", "D50"]],
    )
    displacement_cm3: Positive | None = Field(
        None, description="Displacement as made, cm3.", examples=[49.4]
    )
    cycle: Literal["two-stroke", "four-stroke"] | None = Field(
        None, description="How many strokes make one working cycle of the engine."
    )
    housings: Annotated[dict[Id, Housing], Field(min_length=1)] = Field(
        description="Gearbox casings of this family, by id; at least one.",
        examples=[{"short": {"name": "short case"}}],
    )
    stages: Annotated[dict[Stage, FamilyStage], Field(min_length=1)] = Field(
        description="The stages of this family's trains: single; primary and secondary; or these "
        "and tertiary.",
        examples=[
            {"primary": {"centre_distance_mm": 48.0}, "secondary": {"centre_distance_mm": 52.0}}
        ],
        json_schema_extra={
            "dependentRequired": {
                "primary": ["secondary"],
                "secondary": ["primary"],
                "tertiary": ["primary", "secondary"],
            },
            "if": {"required": ["single"]},
            "then": {"maxProperties": 1},
        },
    )
    interfaces: FamilyInterfaces = Field(
        default=FamilyInterfaces(),
        description="Shaft ends, seats and bearings, where known.",
        examples=[{"input_shaft_end": "D13", "idler_seats": ["ST-14"]}],
    )
    factory_trains: list[FactoryTrain] = Field(
        default=[],
        description="The factory trains of the models, by housing and wheel size.",
        examples=[
            [
                {
                    "housing": "short",
                    "wheel_size_in": 10,
                    "pairs": {"primary": "14/45", "secondary": "13/48"},
                }
            ]
        ],
    )
    bands: dict[TuneId, BandEdges] = Field(
        default={},
        description="Bands by id of a tune, where this family narrows or widens the tune's own.",
        examples=[{"stock": {"high": 12.5}}],
    )
    engine: Engine = Field(
        default=Engine(),
        description="Factory engine, in stock tune, where known.",
        examples=[{"peak_power_kw": 3.4, "peak_power_rpm": 7250}],
    )
    variator: Variator | None = Field(
        None,
        description="Belt variator from the factory, where known.",
        examples=[{"low_ratio": 2.6, "high_ratio": 0.8}],
    )
    fixed_ratio: FixedRatio | None = Field(
        None,
        description="The one ratio between engine and gearbox input, driven over driver, of a "
        "family without a variator; no unit.",
        examples=[3.2],
    )
    running_order_kg: RunningOrder | None = Field(
        None,
        description="Mass of the usual model with fuel and oil, without rider, kg.",
        examples=[82],
    )
    vehicle_class: ClassId | None = Field(
        None,
        description="Id of the class its models are approved in. Leave it out where they differ, "
        "or it is not known.",
        examples=["l1e-b"],
    )
    notes: Text | None = notes_field("Later castings carry the larger idler bearing.")

    @property
    def train_stages(self) -> tuple[Stage, ...]:
        """The stages of this family's trains from input shaft to wheel."""
        return tuple(stage for stage in STAGES if stage in self.stages)

    def train_pairs(self, train: FactoryTrain) -> tuple[Pair, ...] | None:
        """The pairs of a factory train in order; None where one is missing or of no stage here."""
        if train.pairs.keys() != self.stages.keys():
            return None
        return tuple(train.pairs[stage] for stage in self.train_stages)

    @model_validator(mode="after")
    def _stages_make_a_train(self) -> Family:
        if self.train_stages != TRAIN_STAGES.get(len(self.train_stages)):
            raise ValueError(
                "the stages of a train are single; primary and secondary; or primary, secondary "
                f"and tertiary; not {' and '.join(self.train_stages)}"
            )
        return self

    @model_validator(mode="after")
    def _one_drive(self) -> Family:
        check_one_drive(self.fixed_ratio, self.variator)
        return self
