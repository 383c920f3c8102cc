"""Very long lists as a pandas DataFrame, by columns from the enumeration to the frame.

`combinations_frame` has all there is to know of each combination; here a catalogue of thousands
of sets a stage gives its millions of rows in the time it takes to write them down.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from fitcheck.errors import UsageError
from fitcheck.kernel.enumeration import columns
from fitcheck.kernel.gearing import road_speed_change
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.request import Request, question
from fitcheck.services.counter.subject import BandVerdict, Subject

if TYPE_CHECKING:
    import pandas as pd

    from fitcheck.kernel.enumeration.table import Table

_FITS = [Verdict.UNPROVEN.value, Verdict.FITS.value]


def long_frame(
    subject: Subject, request: Request | None = None, *, threads: int = 1
) -> pd.DataFrame:
    """Every combination that `match` would list, a row each, in the same order.

    Args:
        subject: a machine.
        request: what to list, as for `match`.
        threads: threads that make the rows.

    Returns:
        A frame with these columns:

        - ``rank`` (int64): 1 for the most road speed, shared by equal reductions.
        - for each stage ``<stage>_set`` (category): id of the set, NA where the pair stays; a set
          of the whole train stands in each.
        - for each stage ``<stage>`` (category): tooth counts, such as ``15/38``.
        - ``driven``, ``driver`` (int64): the overall reduction is driven / driver, not reduced.
        - ``road_speed_change_percent`` (float64): the exact figure, rounded once.
        - ``band`` (category): shorter, below, in, stretch, over, none; judged exactly.
        - ``fit`` (ordered category): unproven < fits.
        - ``evidence`` (ordered category): none < stated < computed < measured.
        - ``price`` (float64): NaN where it is not known or in another currency than most.

    Raises:
        UsageError: the road or the law is asked.
    """
    import pandas as pd  # noqa: PLC0415 - heavy, and only long lists need it

    request = request if request is not None else Request()
    if request.on_road:
        raise UsageError(
            "a long frame holds nothing about the road and the law; ask match, and "
            "combinations_frame of its answer"
        )
    asked = question(Choices.of(subject), request)
    found = columns(
        asked.problem,
        asked.window,
        threads=threads,
        top=request.top,
        max_price=asked.max_price,
        max_sets=request.max_sets,
        min_grade=asked.min_grade,
    )
    changes, ranks = _runs(subject, found)
    price = pd.Series(found.price, dtype="float64")
    return pd.DataFrame(
        {
            "rank": _spread(found, ranks, "int64"),
            **_sets(subject, found),
            **_reductions(subject, found, changes),
            **_fit(found),
            "price": price.where(price >= 0) / 10**asked.places,
        }
    )


def _runs(subject: Subject, found: Table) -> tuple[list[Fraction], list[int]]:
    """For each run of equal pairs its exact road-speed change and its rank."""
    ratios = list(zip(found.numerator.tolist(), found.denominator.tolist(), strict=True))
    changes = [
        road_speed_change(subject.reduction, Fraction(*ratio), Fraction(1), subject.roll_out_ratio)
        for ratio in ratios
    ]
    starts = found.start.tolist()
    ranks = [1] if changes else []
    for (before, after), start in zip(pairwise(changes), starts[1:], strict=False):
        ranks.append(ranks[-1] if before == after else start + 1)
    return changes, ranks


def _spread(found: Table, values: Sequence[object], dtype: str) -> Any:
    """A value for each run as one for each row."""
    import pandas as pd  # noqa: PLC0415

    series: Any = pd.Series(values, dtype=dtype)
    return series.repeat(found.start[1:] - found.start[:-1]).array


def _sets(subject: Subject, found: Table) -> dict[str, Any]:
    """For each stage the set and the tooth counts of each row."""
    named: dict[str, Any] = {}
    for stage, places, row in zip(subject.stages, found.layout.places, found.rows, strict=True):
        names = [place.item.id or None for place in places]
        named[f"{stage}_set"] = _category(names).take(row)
        named[stage] = _category([str(place.choice.pair) for place in places]).take(row)
    return named


def _reductions(subject: Subject, found: Table, changes: Sequence[Fraction]) -> dict[str, Any]:
    """The reduction of each row, how it changes the road speed, and what the band says of it."""
    length = found.start[1:] - found.start[:-1]
    band = subject.band
    verdicts = [
        (BandVerdict.NONE if band is None else band.verdict(change)).value for change in changes
    ]
    return {
        "driven": found.numerator.repeat(length),
        "driver": found.denominator.repeat(length),
        "road_speed_change_percent": _spread(
            found, [float(change) for change in changes], "float64"
        ),
        "band": _category(verdicts, [verdict.value for verdict in BandVerdict]).repeat(length),
    }


def _fit(found: Table) -> dict[str, Any]:
    """What each row's grade says."""
    evidence = [each.word for each in sorted(Evidence)]
    return {
        "fit": _category(_FITS[:1] + _FITS[1:] * 3, _FITS, ordered=True).take(found.grades),
        "evidence": _category(evidence, evidence, ordered=True).take(found.grades),
    }


def _category(
    words: Sequence[str | None], known: Sequence[str] | None = None, *, ordered: bool = False
) -> Any:
    import pandas as pd  # noqa: PLC0415

    categorical: Any = pd.Categorical
    if known is None:
        known = sorted({word for word in words if word is not None})
    return categorical(list(words), categories=known, ordered=ordered)
