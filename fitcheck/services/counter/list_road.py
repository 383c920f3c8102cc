"""Rows of a list on the road: judged by the class of the machine, ranked by what they really do.

Rows come in the order of the enumeration, reduction by reduction, and are worked out so many
reductions at a time; of a long list only the top is kept.
"""

from __future__ import annotations

import heapq
import math
from collections import Counter, deque
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from itertools import islice
from operator import attrgetter

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.enumeration import Row
from fitcheck.model.trade import VehicleClass
from fitcheck.services.counter.request import RankBy, Request
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import (
    PULL_ORDER,
    ClassAnswer,
    LawfulAnswer,
    RoadAsked,
    RoadRow,
    RoadSide,
    Seen,
    Selection,
)
from fitcheck.services.road.lawful import (
    Standing,
    class_answer,
    class_of,
    judges_gearing,
    needed_class,
)
from fitcheck.services.road.rows import RoadRows

_REDUCTIONS = 4096
"""Reductions worked out at a time, so that a list of millions needs little memory."""

_ROWS = 65536
"""Rows held back until theirs are."""

_PLACES = 4
"""Decimals by which figures rank, in km/h, N and s: far under what anyone feels, far over what
rounding leaves. Equal figures, such as a top speed that the gearing does not change, so tie."""


_Key = tuple[float, ...]


class RoadList:
    """The road side of one list.

    Attributes:
        needs_all: whether every row is to be looked at before the first is known, or to count.
    """

    def __init__(self, subject: Subject, request: Request) -> None:
        """Set up the model, if one is needed.

        Raises:
            UsageError: no class is known and one is needed, or the model lacks an input.
        """
        self._request = request
        asked = request.road if request.road is not None else RoadAsked()
        if request.lawful:
            vehicle_class: Entry[VehicleClass] | None = needed_class(subject, asked.vehicle_class)
        else:
            vehicle_class = asked.vehicle_class or class_of(subject)
        self._model: RoadRows | None = None
        self._class_alone: ClassAnswer | None = None
        try:
            self._model = RoadRows(subject, asked, vehicle_class=vehicle_class)
        except UsageError:
            # A class that no gears can break needs no model to be judged by.
            if request.show_road or vehicle_class is None or judges_gearing(vehicle_class.record):
                raise
            size = subject.family.record.displacement_cm3
            standing = Standing(None if size is None else float(size))
            self._class_alone = class_answer(vehicle_class, None, standing=standing)
        self._known: tuple[dict[Fraction, RoadRow], dict[Fraction, ClassAnswer]] = {}, {}
        self.needs_all = request.lawful or request.rank != "change"
        self._vehicle_class = vehicle_class

    def select(self, found: Iterable[Row], top: int | None) -> Selection:
        """Drop what the class drops, order the rest as asked, keep so many.

        Args:
            found: rows, reduction rising.
            top: at most so many; None for all.
        """
        rank = self._request.rank
        tally: Counter[str] = Counter()
        passing = self._pass_rows(found, tally)
        if rank == "change":
            seen = list(islice(passing, top))
        elif top is None:
            seen = sorted(passing, key=attrgetter("key"))
        else:
            seen = heapq.nsmallest(top, passing, key=attrgetter("key"))  # stable, as sorting is
        deque(passing, maxlen=0)  # what is left is counted
        return Selection(self._complete(seen), tally["passed"], tally["dropped"])

    def _pass_rows(self, found: Iterable[Row], tally: Counter[str]) -> Iterator[Seen]:
        for row, road, lawful in self._judge(found):
            if lawful is not None and self._drops(lawful):
                tally["dropped"] += 1
                continue
            tally["passed"] += 1
            yield Seen(row, road, lawful, () if road is None else _key(road, self._request.rank))

    def _drops(self, lawful: ClassAnswer) -> bool:
        request = self._request
        if not request.lawful:
            return False
        if request.proven_only:
            return lawful.answer is not LawfulAnswer.WITHIN or bool(lawful.others)
        return lawful.answer is LawfulAnswer.OVER

    def _judge(
        self, found: Iterable[Row]
    ) -> Iterator[tuple[Row, RoadRow | None, ClassAnswer | None]]:
        """Rows with what the order and the filter need."""
        if not self.needs_all:
            yield from ((row, None, None) for row in found)
            return
        for chunk in _chunks(found):
            roads, answers = self._work_out([reduction for reduction, _ in chunk])
            for reduction, rows in chunk:
                road = roads.get(reduction)
                lawful = answers.get(reduction, self._class_alone)
                yield from ((row, road, lawful) for row in rows)

    def _work_out(
        self, wanted: list[Fraction]
    ) -> tuple[dict[Fraction, RoadRow], dict[Fraction, ClassAnswer]]:
        """What is known of each reduction; of the chunk before, none is worked out again."""
        if self._model is None:
            return {}, {}
        roads, answers = self._known
        fresh = [each for each in wanted if each not in roads and each not in answers]
        if self._request.rank == "change":
            answers = answers | self._model.lawful(fresh)
        else:
            roads = roads | self._model.rows(fresh)
            judged = {each: row.lawful for each, row in roads.items() if row.lawful is not None}
            answers = answers | judged
        self._known = (
            {each: roads[each] for each in wanted if each in roads},
            {each: answers[each] for each in wanted if each in answers},
        )
        return self._known

    def _complete(self, seen: list[Seen]) -> list[Seen]:
        """The rows that are shown with all that is told of them."""
        model = self._model
        if not self._request.show_road or model is None or self._request.rank != "change":
            return seen
        judged = not self._request.lawful
        roads = model.rows((one.row.reduction for one in seen), judged=judged)
        completed = []
        for one in seen:
            road = roads[one.row.reduction]
            lawful = road.lawful if judged else one.lawful
            completed.append(Seen(one.row, replace(road, lawful=lawful), lawful, one.key))
        return completed

    @cached_property
    def side(self) -> RoadSide:
        """What is told of the list as a whole."""
        model = self._model
        if model is None:
            return RoadSide(None, self._vehicle_class, self._class_alone)
        now = model.now() if self._request.show_road else None
        lawful = model.lawful_now() if now is None else now.lawful
        return RoadSide(
            now=now,
            vehicle_class=self._vehicle_class,
            lawful_now=lawful,
            notes=model.notes,
            calibrated=model.calibrated,
        )


def _key(road: RoadRow, rank: RankBy) -> _Key:
    """What ranks first is least."""
    top = -round(road.top.value, _PLACES)
    if rank == "start-off":
        return (-round(road.start_force.value, _PLACES),)
    if rank == "0-45":
        return (math.inf if road.time_45 is None else round(road.time_45, _PLACES),)
    if rank == "verdict":
        return (PULL_ORDER.index(road.verdict), top)
    return (top,)


def _chunks(found: Iterable[Row]) -> Iterator[list[tuple[Fraction, list[Row]]]]:
    """Rows by reduction, so many reductions at a time; a reduction of very many rows goes on."""
    chunk: list[tuple[Fraction, list[Row]]] = []
    held = 0
    for row in found:
        if chunk and row.reduction == chunk[-1][0]:
            chunk[-1][1].append(row)
        else:
            if len(chunk) == _REDUCTIONS:
                yield chunk
                chunk, held = [], 0
            chunk.append((row.reduction, [row]))
        held += 1
        if held == _ROWS:
            yield chunk
            chunk, held = [], 0
    if chunk:
        yield chunk
