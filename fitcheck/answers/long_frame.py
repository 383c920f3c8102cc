"""Very long lists as a pandas DataFrame, by columns from the enumeration to the frame.

`combinations_frame` tells all there is to know of each combination; here a catalogue of thousands
of sets a stage gives its millions of rows in the time it takes to write them down.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from fitcheck.errors import UsageError
from fitcheck.kernel.gearing import road_speed_change
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.request import Question, Request, question
from fitcheck.services.counter.subject import BandVerdict, Subject

if TYPE_CHECKING:
    import pandas as pd

    from fitcheck.kernel.enumeration.columns import Table

_FITS = [Verdict.UNPROVEN.value, Verdict.FITS.value]


def long_frame(
    subject: Subject, request: Request | None = None, *, threads: int = 1
) -> pd.DataFrame:
    """Every combination that `match` would list, a row each, in the same order.

    Args:
        subject: a machine with a train of two stages.
        request: what to list, as for `match`.
        threads: threads that make the rows.

    Returns:
        A frame with these columns:

        - ``rank`` (int64): 1 for the most road speed, shared by equal reductions.
        - for each stage ``<stage>_set`` (category): id of the set, NA where the pair stays; a set
          of the whole train stands in both.
        - for each stage ``<stage>`` (category): tooth counts, such as ``15/38``.
        - ``driven``, ``driver`` (int64): the overall reduction is driven / driver, not reduced.
        - ``road_speed_change_percent`` (float64): the exact figure, rounded once.
        - ``band`` (category): shorter, below, in, stretch, over, none; judged exactly.
        - ``fit`` (ordered category): unproven < fits.
        - ``evidence`` (ordered category): none < stated < computed < measured.
        - ``price`` (float64): NaN where it is not known or in another currency than most.

    Raises:
        ValueError: the train has not two stages, or its prices do not fit 64-bit columns.
        UsageError: the road or the law is asked.
    """
    import pandas as pd  # noqa: PLC0415 - heavy, and only long lists need it

    from fitcheck.kernel.enumeration.arrays import grades, table  # noqa: PLC0415
    from fitcheck.kernel.enumeration.columns import lay_out  # noqa: PLC0415

    request = request if request is not None else Request()
    if request.on_road:
        raise UsageError(
            "a long frame tells nothing of the road and the law; ask match, and combinations_frame "
            "of its answer"
        )
    asked = question(Choices.of(subject), request)
    layout = lay_out(asked.problem)
    (left, right), joint = layout.stages, asked.problem.joints[0]
    found = table(
        left,
        right,
        joint,
        asked.window,
        wholes=layout.wholes,
        top=request.top,
        max_price=asked.max_price,
        max_sets=request.max_sets,
        min_grade=asked.min_grade,
        threads=threads,
    )
    grade = grades(left, right, joint, found, layout.wholes)
    length = found.start[1:] - found.start[:-1]
    changes, ranks = _runs(subject, found)
    band = subject.band
    verdicts = [
        (BandVerdict.NONE if band is None else band.verdict(change)).value for change in changes
    ]

    def spread(values: Sequence[object], dtype: str) -> Any:
        """A value for each run as one for each row."""
        series: Any = pd.Series(values, dtype=dtype)
        return series.repeat(length).array

    whole = found.left < 0
    columns: dict[str, Any] = {"rank": spread(ranks, "int64")}
    for place, stage in enumerate(subject.stages):
        sources = layout.sources[place]
        index = (found.left, found.right)[place].astype("int64")
        # Sets of the whole train are numbered after the stage's own.
        index[whole] = found.right[whole] + len(sources)
        names, teeth = _words(asked, place, sources, layout.whole_sources)
        columns[f"{stage}_set"] = _category(names).take(index)
        columns[stage] = _category(teeth).take(index)
    columns["driven"] = found.numerator.repeat(length)
    columns["driver"] = found.denominator.repeat(length)
    columns["road_speed_change_percent"] = spread([float(change) for change in changes], "float64")
    columns["band"] = _category(verdicts, [verdict.value for verdict in BandVerdict]).repeat(length)
    evidence = [each.word for each in sorted(Evidence)]
    columns["fit"] = _category(_FITS[:1] + _FITS[1:] * 3, _FITS, ordered=True).take(grade)
    columns["evidence"] = _category(evidence, evidence, ordered=True).take(grade)
    price = pd.Series(found.price, dtype="float64")
    columns["price"] = price.where(price >= 0) / 10**asked.places
    return pd.DataFrame(columns)


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


def _words(
    asked: Question,
    place: int,
    sources: Sequence[tuple[int, int]],
    whole_sources: Sequence[tuple[int, int]],
) -> tuple[list[str | None], list[str | None]]:
    """The ids and tooth counts of a stage's columns, then of the whole-train sets."""
    choices = asked.problem.stages[place]
    names: list[str | None] = [choices[i].items[at].id or None for i, at in sources]
    teeth: list[str | None] = [str(choices[i].pair) for i, _ in sources]
    for i, at in whole_sources:
        whole = asked.problem.wholes[i]
        names.append(whole.items[at].id)
        teeth.append(str(whole.pairs[place]))
    return names, teeth


def _category(
    words: Sequence[str | None], known: Sequence[str] | None = None, *, ordered: bool = False
) -> Any:
    import pandas as pd  # noqa: PLC0415

    categorical: Any = pd.Categorical
    if known is None:
        known = sorted({word for word in words if word is not None})
    return categorical(list(words), categories=known, ordered=ordered)
