"""Which final-drive gear sets fit a scooter, what each does, and whether its engine tolerates it.

The library in a few steps::

    import fitcheck

    catalogue = fitcheck.load("catalog")
    findings = fitcheck.check(catalogue)
    subject = fitcheck.subject_of(catalogue, "dunlin-ten")
    result = fitcheck.match(subject, fitcheck.Request(top=20))
    told = fitcheck.explain(subject, result.combinations[0].sets)
    report = fitcheck.road(subject, result.combinations[:2])

Names are imported when they are first used, so that importing the package stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.answers.frames import combinations_frame
    from fitcheck.answers.long_frame import long_frame
    from fitcheck.answers.match import match_answer
    from fitcheck.catalogue.reader import Catalogue, Entry, catalogue_of, load
    from fitcheck.diagnostics.finding import Finding, Span
    from fitcheck.errors import FitcheckError, UnreadableError, UsageError
    from fitcheck.kernel.teeth import Pair, read_pair
    from fitcheck.model.family import Family
    from fitcheck.model.gear_set import GearSet
    from fitcheck.model.machine import Machine
    from fitcheck.model.trade import ShelfEntry, Supplier, Tune, VariatorKit, VehicleClass
    from fitcheck.model.tyre import Tyre
    from fitcheck.rules.answers import Answer, Datum, Evidence, Verdict
    from fitcheck.rules.setting import Setting
    from fitcheck.services.counter.identify import Candidate, identify
    from fitcheck.services.counter.lookup import find_set
    from fitcheck.services.counter.match import Match, match
    from fitcheck.services.counter.request import Request
    from fitcheck.services.counter.subject import Subject, subject_from_counts, subject_of
    from fitcheck.services.counter.why import Explanation, explain
    from fitcheck.services.road.comparing import compare as road
    from fitcheck.services.road.figures import RoadAsked
    from fitcheck.services.road.results import RoadReport
    from fitcheck.services.upkeep.checking import check_catalogue as check

__version__ = "0.1.0"

_NAMES = {
    "fitcheck.answers.frames": "combinations_frame",
    "fitcheck.answers.long_frame": "long_frame",
    "fitcheck.answers.match": "match_answer",
    "fitcheck.catalogue.reader": "Catalogue Entry catalogue_of load",
    "fitcheck.diagnostics.finding": "Finding Span",
    "fitcheck.errors": "FitcheckError UnreadableError UsageError",
    "fitcheck.kernel.teeth": "Pair read_pair",
    "fitcheck.model.family": "Family",
    "fitcheck.model.gear_set": "GearSet",
    "fitcheck.model.machine": "Machine",
    "fitcheck.model.trade": "ShelfEntry Supplier Tune VariatorKit VehicleClass",
    "fitcheck.model.tyre": "Tyre",
    "fitcheck.rules.answers": "Answer Datum Evidence Verdict",
    "fitcheck.rules.setting": "Setting",
    "fitcheck.services.counter.identify": "Candidate identify",
    "fitcheck.services.counter.lookup": "find_set",
    "fitcheck.services.counter.match": "Match match",
    "fitcheck.services.counter.request": "Request",
    "fitcheck.services.counter.subject": "Subject subject_from_counts subject_of",
    "fitcheck.services.counter.why": "Explanation explain",
    "fitcheck.services.road.figures": "RoadAsked",
    "fitcheck.services.road.results": "RoadReport",
}
"""The public names by the module that defines them."""

_HOMES = {name: (module, name) for module, names in _NAMES.items() for name in names.split()}
_HOMES["check"] = ("fitcheck.services.upkeep.checking", "check_catalogue")
_HOMES["road"] = ("fitcheck.services.road.comparing", "compare")

__all__ = [
    "Answer",
    "Candidate",
    "Catalogue",
    "Datum",
    "Entry",
    "Evidence",
    "Explanation",
    "Family",
    "Finding",
    "FitcheckError",
    "GearSet",
    "Machine",
    "Match",
    "Pair",
    "Request",
    "RoadAsked",
    "RoadReport",
    "Setting",
    "ShelfEntry",
    "Span",
    "Subject",
    "Supplier",
    "Tune",
    "Tyre",
    "UnreadableError",
    "UsageError",
    "VariatorKit",
    "VehicleClass",
    "Verdict",
    "catalogue_of",
    "check",
    "combinations_frame",
    "explain",
    "find_set",
    "identify",
    "load",
    "long_frame",
    "match",
    "match_answer",
    "read_pair",
    "road",
    "subject_from_counts",
    "subject_of",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'fitcheck' has no attribute {name!r}")
    module, own = _HOMES[name]
    value = getattr(import_module(module), own)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
