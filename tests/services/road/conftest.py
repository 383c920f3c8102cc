"""One small machine whose every road figure can be worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from fitcheck.services.counter.subject import Subject, subject_of

MakeSubject = Callable[..., Subject]

FAMILY: dict[str, Any] = {
    "name": "Knot",
    "displacement_cm3": 50,
    "housings": {"short": {"name": "short case"}},
    "stages": {"single": {}},
    "factory_trains": [{"housing": "short", "wheel_size_in": 10, "pairs": {"single": "10/100"}}],
}
MACHINE: dict[str, Any] = {
    "name": "it",
    "family": "knot",
    "housing": "short",
    "pairs": {"single": "10/100"},
    "wheel_size_in": 10,
    "roll_out_mm": 1200,
    "tune": "stock",
    "engine": {"peak_power_kw": 3, "peak_power_rpm": 7000, "rev_limit_rpm": 9000},
    "variator": {"low_ratio": 2.5, "high_ratio": 0.9, "shift_rpm": 6500, "engage_rpm": 3500},
    "masses": {"running_order_kg": 85, "rider_kg": 80},
}
TUNES: dict[str, Any] = {
    "stock": {"name": "standard engine", "low": 10, "high": 15},
    "pipe": {"name": "pipe", "low": 10, "high": 15, "power_factor": 1.1, "rpm_factor": 1.05},
    "kit": {"name": "kit", "low": 15, "high": 25, "power_factor": 1.65, "rpm_factor": 1.155},
}
CLASSES: dict[str, Any] = {
    "slow": {
        "name": "slow class",
        "place": "Marsh",
        "max_speed_km_h": 45,
        "max_displacement_cm3": 50,
        "max_power_w": 4000,
        "source": "a rule",
        "date": "2026-01-01",
    },
    "free": {"name": "free class", "place": "Marsh", "source": "a rule", "date": "2026-01-01"},
}


def without(record: dict[str, Any], *names: str, **instead: Any) -> dict[str, Any]:
    """A record with some fields left out and others in their place."""
    return {key: value for key, value in record.items() if key not in names} | instead


def gear_set(teeth: str, number: str) -> dict[str, Any]:
    return {
        "supplier": "marram",
        "part_number": number,
        "pairs": {"single": teeth},
        "fits": [{"family": "knot", "housings": ["short"]}],
    }


@pytest.fixture(scope="session")
def make(load_records) -> MakeSubject:
    """The machine `it`, with other fields for it or its family, and other records."""

    def run(
        machine: dict[str, Any] | None = None,
        family: dict[str, Any] | None = None,
        **kinds: dict[str, Any],
    ) -> Subject:
        records = {
            "family": {"knot": FAMILY if family is None else family},
            "machine": {"it": MACHINE if machine is None else machine},
            "tune": TUNES,
            "vehicle-class": CLASSES,
            "supplier": {"marram": {"name": "Marram"}},
            "gear-set": {
                "MA-94": gear_set("10/94", "94"),
                "MA-88": gear_set("10/88", "88"),
                "MA-80": gear_set("10/80", "80"),
                "MA-60": gear_set("10/60", "60"),
                "MA-115": gear_set("10/115", "115"),
            },
        }
        records |= {kind.replace("_", "-"): each for kind, each in kinds.items()}
        return subject_of(load_records(records), "it")

    return run


@pytest.fixture(scope="session")
def it(make) -> Subject:
    return make()
