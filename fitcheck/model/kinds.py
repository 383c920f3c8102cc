"""The kinds of catalogue file, and the record each holds."""

from __future__ import annotations

from types import MappingProxyType

from fitcheck.model.family import Family
from fitcheck.model.fields import Record
from fitcheck.model.gear_set import GearSet
from fitcheck.model.machine import Machine
from fitcheck.model.trade import ShelfEntry, Supplier, Tune, VariatorKit, VehicleClass
from fitcheck.model.tyre import Tyre

KINDS: MappingProxyType[str, type[Record]] = MappingProxyType(
    {
        "family": Family,
        "gear-set": GearSet,
        "machine": Machine,
        "tune": Tune,
        "vehicle-class": VehicleClass,
        "tyre": Tyre,
        "supplier": Supplier,
        "shelf": ShelfEntry,
        "variator": VariatorKit,
    }
)
"""A file's `kind` to the model of its records."""

DEFAULTABLE: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {
        "gear-set": ("supplier", "currency", "source", "also_needs", "availability"),
        "variator": ("supplier", "currency", "source"),
    }
)
"""Fields that a file may give once for all its records, under `defaults`."""
