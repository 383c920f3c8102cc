"""How far a tyre rolls in one turn, how surely that is known, and the speed it is made for.

A roll-out by rule from the size stands until the catalogue has the tyre; that stands until somebody
has rolled the wheel out. Each carries its kind and its spread.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import ceil

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.tyres import (
    ROLL_OUT_KINDS,
    SPEED_SYMBOLS_KM_H,
    SPREAD_PERCENT,
    RollOutKind,
    TyreError,
    TyreSize,
    overall_diameter_mm,
    read_size,
    roll_out_kind,
    rolling_circumference_mm,
    rule_spread_percent,
)
from fitcheck.model.machine import Machine
from fitcheck.model.tyre import Tyre, size_or_none
from fitcheck.services.counter.lookup import find_tyre

_SOURCES: dict[RollOutKind, str] = {
    "counted": "counted on the floor",
    "catalogue": "a maker's catalogue",
    "standard": "a standard's rule",
    "approximate": "an approximation from the inch size",
    "estimate": "an estimate",
}


@dataclass(frozen=True, slots=True)
class RollOut:
    """A distance per wheel turn and what is known of it.

    Attributes:
        mm: distance per wheel turn, mm, exact as given.
        kind: how it is known.
        spread_percent: how far the true one may lie to either side, percent.
        source: where it comes from, in words.
        tyre_name: what the tyre is called: id and size, or its size; None where it has no name.
        speed_symbol: speed symbol of that tyre, or None where it is not known.
        max_speed_km_h: the greatest speed that symbol vouches for, or None.
        by_rule: whether it was worked out here from the size.
    """

    mm: Fraction
    kind: RollOutKind
    spread_percent: Fraction
    source: str
    tyre_name: str | None = None
    speed_symbol: str | None = None
    max_speed_km_h: int | None = None
    by_rule: bool = False


@dataclass(frozen=True, slots=True)
class NamedTyre:
    """A tyre as somebody named it: by its id in the catalogue, or by its size.

    Attributes:
        entries: the catalogue's tyres it may be, the best known roll-out first.
        size: its size, or None where that cannot be read.
        by_size: whether it was named by its size.
    """

    entries: tuple[Entry[Tyre], ...]
    size: TyreSize | None
    by_size: bool

    @classmethod
    def of(cls, entry: Entry[Tyre]) -> NamedTyre:
        """A tyre of the catalogue."""
        return cls((entry,), entry.record.read, by_size=False)

    @property
    def best(self) -> RollOut | None:
        """Its best known roll-out, or None."""
        return next(iter(self.roll_outs), None)

    @property
    def rim_in(self) -> int | None:
        """The rim it goes on, inches."""
        if self.entries:
            return self.entries[0].record.wheel_size_in
        return None if self.size is None else self.size.rim_code

    @property
    def rule(self) -> RollOut | None:
        """Its roll-out by rule, where its size can be read."""
        if self.size is None:
            return None
        symbol = self.size.speed_symbol
        if symbol is None and self.entries:
            symbol = self.entries[0].record.symbol
        name = str(self.size) if self.by_size else _name(self.entries[0])
        return _with_symbol(_by_rule(self.size, name), symbol)

    @property
    def roll_outs(self) -> tuple[RollOut, ...]:
        """Its roll-outs as known to the catalogue, the best first; by rule where it has none."""
        found = [_of_entry(entry) for entry in self.entries]
        if self.by_size and self.size is not None and self.size.speed_symbol is not None:
            found = [_with_symbol(each, self.size.speed_symbol) for each in found]
        if not found and self.rule is not None:
            found = [self.rule]
        return tuple(found)


def measured_roll_out(
    mm: Fraction, source: str = "measured", tyre: NamedTyre | None = None
) -> RollOut:
    """A roll-out counted on the floor, of a tyre where one is known."""
    counted = RollOut(mm, "counted", SPREAD_PERCENT["counted"], source)
    like = None if tyre is None else tyre.best
    if like is None:
        return counted
    return replace(
        counted,
        tyre_name=like.tyre_name,
        speed_symbol=like.speed_symbol,
        max_speed_km_h=like.max_speed_km_h,
    )


def name_tyre(catalogue: Catalogue, name: str) -> NamedTyre:
    """The tyre of an id or of a size as on the sidewall.

    A size that the catalogue has is the catalogue's tyre; another one is taken by rule.

    Raises:
        UsageError: no such id, or no size that can be read.
    """
    if name[:1].isalpha() or not name.strip():
        return NamedTyre.of(find_tyre(catalogue, name))
    try:
        size = read_size(name)
    except TyreError as error:
        raise UsageError(f"tyre size: {error}") from None
    return NamedTyre(_of_size(catalogue, size), size, by_size=True)


def tyre_of(catalogue: Catalogue, machine: Machine) -> NamedTyre | None:
    """The tyre on a machine's record; None where there is none, or nothing is known of it."""
    if machine.tyre is not None:
        entry = catalogue.tyres.get(machine.tyre)
        return None if entry is None else NamedTyre.of(entry)
    size = size_or_none(machine.tyre_size)
    return None if size is None else NamedTyre(_of_size(catalogue, size), size, by_size=True)


def roll_out_of(
    catalogue: Catalogue,
    machine: Machine | None,
    given_mm: Fraction | None = None,
    given_size: str | None = None,
) -> RollOut | None:
    """How far a machine's driven wheel goes in one turn, by the best that is known.

    What is given overrides the record; in each, a measure overrides the catalogue's tyre, and that
    the rule for the size.

    Args:
        catalogue: where tyres are looked up.
        machine: the machine's record, or None where there is none.
        given_mm: distance per wheel turn as measured just now, mm.
        given_size: size of the tyre that is on now, or its id in the catalogue.

    Returns:
        The roll-out, or None where nothing is known of the tyre.

    Raises:
        UsageError: `given_size` is neither an id of the catalogue nor a size.
    """
    if given_size is not None:
        tyre: NamedTyre | None = name_tyre(catalogue, given_size)
    else:
        tyre = None if machine is None else tyre_of(catalogue, machine)
    if given_mm is not None:
        return measured_roll_out(given_mm, "measured just now", tyre)
    if given_size is None and machine is not None and machine.roll_out_mm is not None:
        return measured_roll_out(Fraction(machine.roll_out_mm), "measured on the machine", tyre)
    return None if tyre is None else tyre.best


def speed_symbol_warning(roll_out: RollOut | None, top_speed_km_h_high: float) -> str | None:
    """A warning where a machine may go faster than its tyre is made for.

    Args:
        roll_out: the roll-out of the tyre that will be on; None where it is not known.
        top_speed_km_h_high: the highest top speed it may reach, km/h.
    """
    limit = None if roll_out is None else roll_out.max_speed_km_h
    if roll_out is None or limit is None or top_speed_km_h_high <= limit:
        return None
    # Up to the next tenth, so that a speed just over never reads like one at the limit.
    shown = f"{ceil(10 * top_speed_km_h_high) / 10:.1f}".removesuffix(".0")
    return (
        f"TOO FAST FOR THE TYRE: it may reach {shown} km/h, and speed symbol "
        f"{roll_out.speed_symbol} of {roll_out.tyre_name or 'its tyre'} is for {limit} km/h at "
        "most. Fit a tyre with a higher speed symbol before this gearing is ridden."
    )


def _of_size(catalogue: Catalogue, size: TyreSize) -> tuple[Entry[Tyre], ...]:
    """The catalogue's tyres of a size, counted ones first, then as good as their basis."""
    found = []
    for entry in catalogue.tyres.values():
        read = entry.record.read
        if read is not None and read.designation == size.designation:
            found.append(entry)
    return tuple(sorted(found, key=lambda entry: ROLL_OUT_KINDS.index(_of_entry(entry).kind)))


def _name(entry: Entry[Tyre]) -> str:
    return f"{entry.record.size} ({entry.id})"


def _with_symbol(roll_out: RollOut, symbol: str | None) -> RollOut:
    limit = None if symbol is None else SPEED_SYMBOLS_KM_H[symbol]
    return replace(roll_out, speed_symbol=symbol, max_speed_km_h=limit)


def _of_entry(entry: Entry[Tyre]) -> RollOut:
    record = entry.record
    size = record.read
    if record.roll_out_mm is None or record.basis is None:
        assert size is not None  # the model holds it to that
        found = _by_rule(size, _name(entry))
    else:
        spread = SPREAD_PERCENT[record.basis]
        if size is not None and record.basis in ("standard", "approximate"):
            spread = rule_spread_percent(size)
        found = RollOut(
            mm=Fraction(record.roll_out_mm),
            kind=record.basis,
            spread_percent=spread,
            source=record.source or _SOURCES[record.basis],
            tyre_name=_name(entry),
        )
    own: Decimal | None = record.spread_percent
    if own is not None:
        found = replace(found, spread_percent=Fraction(own))
    return _with_symbol(found, record.symbol)


def _by_rule(size: TyreSize, name: str) -> RollOut:
    return RollOut(
        mm=rolling_circumference_mm(size),
        kind=roll_out_kind(size),
        spread_percent=rule_spread_percent(size),
        source=f"by rule from the size: 3.05 x {overall_diameter_mm(size)} mm"
        + (", height taken as the width" if size.kind == "inch" and size.aspect is None else ""),
        tyre_name=name,
        by_rule=True,
    )
