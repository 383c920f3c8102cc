"""Names of parts in a stock-take's list, where a spreadsheet may have eaten zeros."""

from __future__ import annotations

from decimal import Decimal

from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.near_numbers import as_power
from fitcheck.services.shelf.parts import Part, find_part


class CountedNames:
    """The names of all parts, for judging which one a row means."""

    def __init__(self, catalogue: Catalogue) -> None:
        """Gather the numbers that begin with a zero."""
        self._catalogue = catalogue
        self._with_zeros: dict[str, set[str]] = {}
        for id_, entry in catalogue.gear_sets.items():
            for name in _names(Part(id_, entry)):
                if name.startswith("0"):
                    self._with_zeros.setdefault(name.lstrip("0"), set()).add(id_)

    def find(self, name: str) -> Part:
        """The part of a name.

        Raises:
            UsageError: unknown, or shared by several.
        """
        return find_part(self._catalogue, name)

    def refuse_lost_zeros(self, part: Part, name: str) -> None:
        """Refuse a number that is of one part as it stands and of another with its zeros.

        Raises:
            UsageError: there is such another part.
        """
        twins = sorted(self._with_zeros.get(plain_word(name), set()) - {part.id})
        if name != part.id and twins:
            other = Part(twins[0], self._catalogue.gear_sets[twins[0]])
            raise UsageError(
                f"{name} may be {part.words}, or {other.words} whose zeros a spreadsheet took; "
                "write the id"
            )

    def agree(self, part: Part, name: str, *, strict: bool) -> bool:
        """Refuse a second name that is of another part: a column slipped, or was sorted alone.

        What a spreadsheet makes of a number is forgiven: zeros gone from its front, a power of ten.

        Args:
            part: the part of the row.
            name: the second name; empty: there is none.
            strict: whether it must be a name of a part.

        Returns:
            Whether it is one of that part, so that the row says twice which is meant.

        Raises:
            UsageError: it is of another part, or of none where it must be of one.
        """
        plain = plain_word(name)
        if not plain or part.gear_set is None:
            return False
        own = _names(part)
        if plain in own:
            return True
        mangled = not plain.startswith("0") and any(
            each.startswith("0") and each.lstrip("0") == plain for each in own
        )
        power = as_power(name)
        mangled |= power is not None and any(
            each.isdecimal() and Decimal(each) == power for each in own
        )
        try:
            other = self.find(name)
        except UsageError:
            zeros_more = any(each.lstrip("0") == plain.lstrip("0") for each in own)
            if strict and not mangled and not zeros_more:
                raise UsageError(
                    f"the row names {part.words} and {name!r}, which no set goes by; correct "
                    "which was counted"
                ) from None
            return mangled or zeros_more
        if other.id != part.id and not mangled:
            raise UsageError(
                f"the row names two parts, {part.words} and {other.words}; correct which was "
                "counted"
            )
        return True


def _names(part: Part) -> set[str]:
    """Its names, plain."""
    assert part.gear_set is not None
    record = part.gear_set.record
    return {plain_word(name) for name in (part.id, record.part_number, *record.aliases)}
