"""Which final-drive gear sets fit a scooter, what each does, and whether its engine tolerates it.

The library in four steps::

    import fitcheck

    catalogue = fitcheck.load("catalog")
    findings = fitcheck.check(catalogue)
    subject = fitcheck.subject_of(catalogue, "dunlin-ten")
    result = fitcheck.match(subject, fitcheck.Request(top=20))

Names are imported when they are first used, so that importing the package stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue, load
    from fitcheck.errors import FitcheckError, UnreadableError, UsageError
    from fitcheck.kernel.teeth import Pair, read_pair
    from fitcheck.report.frames import combinations_frame
    from fitcheck.rules.checks import check
    from fitcheck.services.explain import explain
    from fitcheck.services.identify import identify
    from fitcheck.services.matching import Match, Request, match
    from fitcheck.services.subject import Subject, subject_from_counts, subject_of

__version__ = "0.1.0"

_HOMES = {
    "Catalogue": "fitcheck.catalogue.reader",
    "FitcheckError": "fitcheck.errors",
    "Match": "fitcheck.services.matching",
    "Pair": "fitcheck.kernel.teeth",
    "Request": "fitcheck.services.matching",
    "Subject": "fitcheck.services.subject",
    "UnreadableError": "fitcheck.errors",
    "UsageError": "fitcheck.errors",
    "check": "fitcheck.rules.checks",
    "combinations_frame": "fitcheck.report.frames",
    "explain": "fitcheck.services.explain",
    "identify": "fitcheck.services.identify",
    "load": "fitcheck.catalogue.reader",
    "match": "fitcheck.services.matching",
    "read_pair": "fitcheck.kernel.teeth",
    "subject_from_counts": "fitcheck.services.subject",
    "subject_of": "fitcheck.services.subject",
}

__all__ = [
    "Catalogue",
    "FitcheckError",
    "Match",
    "Pair",
    "Request",
    "Subject",
    "UnreadableError",
    "UsageError",
    "check",
    "combinations_frame",
    "explain",
    "identify",
    "load",
    "match",
    "read_pair",
    "subject_from_counts",
    "subject_of",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'fitcheck' has no attribute {name!r}")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
