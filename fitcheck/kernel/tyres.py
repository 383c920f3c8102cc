"""Tyre sizes as on sidewalls, and how far a tyre of a size rolls: exact arithmetic throughout.

A metric size `120/70-12 46P` gives the section width in mm, the section height as a percentage of
it, the rim code and perhaps the service description; an inch size `3.50-10` or `2 3/4-16` gives
the width in inches and the rim code. The rules, and where each comes from:

    rim diameter      d = 25.4 mm x rim code, to the nearest mm         (UN R75 para 2, from memory)
    section height    H = width x aspect / 100, to the nearest mm       (UN R75 6.1.2, from memory)
    overall diameter  D = d + 2 H                                       (UN R75 6.1.2, from memory)
    inch sizes        H = width: near only, the tables of UN R75 Annex 5 lie within about 2 %
    roll-out          3.05 x D                           (quoted for radial car tyres, from memory)

Halves are rounded up. None of these was read in the regulation itself; so each roll-out by rule
comes with a spread.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

from fitcheck.kernel.rounding import decimal_text

RollOutKind = Literal["counted", "catalogue", "standard", "approximate", "estimate"]
ROLL_OUT_KINDS: tuple[RollOutKind, ...] = (
    "counted",
    "catalogue",
    "standard",
    "approximate",
    "estimate",
)
"""How a roll-out is known, best first."""

Construction = Literal["diagonal", "bias-belted", "radial"]

RIM_DIAMETER_MM: MappingProxyType[int, int] = MappingProxyType(
    {
        4: 102, 5: 127, 6: 152, 7: 178, 8: 203, 9: 229, 10: 254, 11: 279, 12: 305,
        13: 330, 14: 356, 15: 381, 16: 406, 17: 432, 18: 457, 19: 483, 20: 508, 21: 533,
    }
)  # fmt: skip
"""Rim code to nominal rim diameter, mm: UN R75 para 2, from memory; each is 25.4 x code rounded."""

OVER_240 = "Z"
"""The symbol inside a size, as in `ZR`: over 240 km/h, how far is for the service description."""

SPEED_SYMBOLS_KM_H: MappingProxyType[str, int] = MappingProxyType(
    {
        "A1": 5, "A2": 10, "A3": 15, "A4": 20, "A5": 25, "A6": 30, "A7": 35, "A8": 40,
        "B": 50, "C": 60, "D": 65, "E": 70, "F": 80, "G": 90, "J": 100, "K": 110, "L": 120,
        "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200,
        "H": 210, "V": 240, OVER_240: 240, "W": 270, "Y": 300,
    }
)  # fmt: skip
"""Speed symbol to the greatest speed it vouches for, km/h: UN R75 and ISO 4000-1, from memory."""

WIDTHS_MM = (40, 300)
"""Least and greatest section width of a metric size, mm; ours, to catch slips."""
WIDTHS_IN = (Fraction(1), Fraction(8))
"""Least and greatest section width of an inch size, inches; ours, to catch slips."""
ASPECTS = (25, 110)
"""Least and greatest section height, percent of the width; ours, to catch slips."""
LOAD_INDICES = (10, 120)
"""Least and greatest load index; ours, to catch slips."""

_ROLL_OUT_PER_DIAMETER = Fraction(305, 100)
_MARKS: dict[Construction, str] = {"diagonal": "-", "bias-belted": "B", "radial": "R"}
_CONSTRUCTIONS: dict[str, Construction] = {"R": "radial", "B": "bias-belted"}
_IN_SIZE = "SHV" + OVER_240
_SHAPE = "write it as on the sidewall, like 120/70-12, 3.50-10 or 2 3/4-16"
_LONGEST = 80

# Every dash and multiplication sign that keyboards, phones and list programs put into a size, and
# the fractions of one character; a general compatibility fold would take superscripts for digits.
_FOLD: dict[int, int | str] = {
    **{code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)},
    **dict.fromkeys([*range(0x2010, 0x2016), 0x2212], "-"),
    **dict.fromkeys([0x00D7, 0x2715, 0x2A2F], "x"),
    **dict.fromkeys([0x2044, 0x2215], "/"),
    **{
        ord(sign): f" {part}"
        for sign, part in zip(
            "¼½¾⅛⅜⅝⅞", ("1/4", "1/2", "3/4", "1/8", "3/8", "5/8", "7/8"), strict=True
        )
    },
}
_JOINT = rf"(?:\s*-?\s*(?P<symbol>[{_IN_SIZE}]??)\s*(?P<build>[RBD]?)\s*-?\s*|\s*[X/]\s*)"
_RIM = r"(?P<rim>[0-9]+)(?P<rest>.*)"
_METRIC = re.compile(rf"(?P<width>[0-9]+)\s*/\s*(?P<aspect>[0-9]+)(?![0-9]){_JOINT}{_RIM}")
_INCH = re.compile(
    r"(?P<whole>[0-9]+)(?:[.,](?P<decimals>[0-9]+)"
    r"|(?:\s+|\s*-\s*)(?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+))?(?![0-9])"
    rf"(?:\s*/\s*(?P<aspect>[0-9]+)(?![0-9]))?{_JOINT}{_RIM}"
)
_POINTLESS = re.compile(r"([1-8])([0-9]{2})\s*[-X]\s*([0-9]{1,2})(?![0-9])")
_SERVICE = re.compile(r"\(?\s*([0-9]{2,3})\s*(A[1-8]|[A-Y])\s*\)?(?![A-Z0-9])")
_WORD = re.compile(
    r"(?:M\s*/?\s*C|T\s*/?\s*[LT]|TUBE\s*-?\s*(?:LESS|TYPE)|REINF(?:ORCED|\.)?|RF|XL|EXTRA\s+LOAD"
    r"|[0-9]{1,2}\s*P\.?\s*R\.?|F\s*/\s*R|FRONT|REAR|M\s*[+&]\s*S|MST|WW)(?![A-Z0-9])|[,;/+&]"
)

SPREAD_PERCENT: MappingProxyType[RollOutKind, Fraction] = MappingProxyType(
    {
        "counted": Fraction(1),
        "catalogue": Fraction(2),
        "standard": Fraction(4),
        "approximate": Fraction(5),
        "estimate": Fraction(5),
    }
)
"""How far the true roll-out may lie to either side, percent, where nothing better is said.

Makes of one size differ by about 3 % and a nominal size is good to 3 to 5 % (memory); what a
rider's weight and the pressure do to a counted one is a judgement.
"""


class TyreError(ValueError):
    """A text that is no tyre size; one sentence, then what to do behind a semicolon."""


@dataclass(frozen=True, slots=True)
class TyreSize:
    """A tyre's size and, where the sidewall gives it, its service description.

    Attributes:
        kind: `metric` (width in mm) or `inch` (width in inches).
        width_mm: section width of a metric size, mm; None for an inch size.
        width_in: section width of an inch size, inches, exact; None for a metric size.
        aspect: section height, percent of the width; None for an inch size without one.
        rim_code: rim diameter in inches as the trade names it, 4 to 21.
        construction: `diagonal`, `bias-belted` or `radial`.
        load_index: load index, or None where it is not given.
        speed_symbol: symbol behind the load index, else the one inside the size (`Z` of `ZR`), or
            None.
    """

    kind: Literal["metric", "inch"]
    width_mm: int | None
    width_in: Fraction | None
    aspect: int | None
    rim_code: int
    construction: Construction = "diagonal"
    load_index: int | None = None
    speed_symbol: str | None = None

    def __post_init__(self) -> None:
        if self.kind == "metric":
            if self.width_mm is None or self.width_in is not None or self.aspect is None:
                raise TyreError("a metric size has a width in mm and an aspect; give both")
            _within("a width of {} mm", self.width_mm, WIDTHS_MM, "read the sidewall again")
        else:
            if self.width_in is None or self.width_mm is not None:
                raise TyreError("an inch size has a width in inches; give it")
            _within(
                "a width of {} in",
                self.width_in,
                WIDTHS_IN,
                "give the width first and the rim last, like 3.50-10 or 120/70-12",
            )
            if (1000 * self.width_in).denominator != 1:
                raise TyreError(
                    f"{self.width_in} in is no width of a tyre; give halves, quarters, eighths or "
                    "decimals, like 2 3/4-16"
                )
        if self.aspect is not None:
            _within("a section height of {} %", self.aspect, ASPECTS, "read the sidewall again")
        if self.rim_code not in RIM_DIAMETER_MM:
            rims = (min(RIM_DIAMETER_MM), max(RIM_DIAMETER_MM))
            _within("rim code {}", self.rim_code, rims, "the rim in inches stands last")
        if self.load_index is not None:
            _within("load index {}", self.load_index, LOAD_INDICES, "read the sidewall again")
            if self.speed_symbol in (None, OVER_240):
                raise TyreError(
                    f"load index {self.load_index} has no speed symbol; give both, like 46P, or "
                    "neither"
                )
        if self.speed_symbol is not None and self.speed_symbol not in SPEED_SYMBOLS_KM_H:
            raise TyreError(f"{self.speed_symbol!r} is no speed symbol; read the sidewall again")
        if self.load_index is None and (self.speed_symbol or OVER_240) not in _IN_SIZE:
            raise TyreError(
                f"speed symbol {self.speed_symbol} has no load index; give both, like 46P, or "
                "neither"
            )

    @property
    def designation(self) -> str:
        """The size without service description, in one spelling: `120/70-12`, `2.75-16`."""
        return f"{self._section}{_MARKS[self.construction]}{self.rim_code}"

    @property
    def max_speed_km_h(self) -> int | None:
        """The greatest speed its symbol vouches for, or None where no symbol is given."""
        return None if self.speed_symbol is None else SPEED_SYMBOLS_KM_H[self.speed_symbol]

    @property
    def _section(self) -> str:
        if self.width_in is None:
            return f"{self.width_mm}/{self.aspect}"
        width = decimal_text(self.width_in, 3).removesuffix("0")
        return width if self.aspect is None else f"{width}/{self.aspect}"

    def __str__(self) -> str:
        if self.load_index is not None:
            return f"{self.designation} {self.load_index}{self.speed_symbol}"
        if self.speed_symbol is not None:
            mark = _MARKS[self.construction].replace("-", "")
            return f"{self._section}{self.speed_symbol}{mark or '-'}{self.rim_code}"
        return self.designation


def read_size(text: str) -> TyreSize:
    """Read a tyre size as written on a sidewall or in a list.

    Args:
        text: `120/70-12`, `130/60 - 13 53L`, `90/90-14 M/C 46P`, `120/70ZR12`, `3.50 x 10`,
            `2 3/4-16`, `2\N{VULGAR FRACTION THREE QUARTERS}-16 reinf`; capitals or not, any dash,
            decimal comma or point. Words for tubeless, tube type, reinforced, plies, motorcycle,
            front and rear are passed over.

    Raises:
        TyreError: the text is no size; it says why and what to do.
    """
    if not isinstance(text, str) or not text.strip():
        raise TyreError(f"the tyre size is missing; {_SHAPE}")
    if len(text) > _LONGEST:
        raise TyreError(f"{text.strip()[:37]}... is too long for a tyre size; {_SHAPE}")
    folded = text.translate(_FOLD).strip().upper()
    found = _METRIC.fullmatch(folded)
    size = _metric(found) if found else None
    if found is None:
        found = _INCH.fullmatch(folded)
        pointless = _POINTLESS.match(folded)
        if found is None or pointless is not None:
            hint = "{}.{}-{}".format(*pointless.groups()) if pointless else None
            raise TyreError(
                f"{text.strip()!r} is no tyre size; "
                + (f"did you mean {hint}?" if hint else _SHAPE)
            )
        size = _inch(found)
    assert size is not None
    return _with_service(size, found["rest"])


def _metric(found: re.Match[str]) -> TyreSize:
    return TyreSize(
        kind="metric",
        width_mm=int(found["width"]),
        width_in=None,
        aspect=int(found["aspect"]),
        rim_code=int(found["rim"]),
        construction=_CONSTRUCTIONS.get(found["build"] or "", "diagonal"),
        speed_symbol=found["symbol"] or None,
    )


def _inch(found: re.Match[str]) -> TyreSize:
    width = Fraction(f"{found['whole']}.{found['decimals'] or 0}")
    if found["over"] is not None:
        over, under = int(found["over"]), int(found["under"])
        if not 0 < over < under:
            raise TyreError(f"{over}/{under} is no part of an inch; {_SHAPE}")
        width += Fraction(over, under)
    return TyreSize(
        kind="inch",
        width_mm=None,
        width_in=width,
        aspect=None if found["aspect"] is None else int(found["aspect"]),
        rim_code=int(found["rim"]),
        construction=_CONSTRUCTIONS.get(found["build"] or "", "diagonal"),
        speed_symbol=found["symbol"] or None,
    )


def _with_service(size: TyreSize, rest: str) -> TyreSize:
    """Read what follows a size: load index and speed symbol, and words passed over."""
    said: tuple[int, str] | None = None
    rest = rest.strip()
    while rest:
        read = _WORD.match(rest)
        service = None if read else _SERVICE.match(rest)
        if service is not None:
            read = service
            new = (int(service[1]), service[2])
            if said not in (None, new):
                raise TyreError(
                    f"{size.designation} has two load indices, {said[0]}{said[1]} and "
                    f"{new[0]}{new[1]}; give the one of this tyre"
                )
            said = new
        elif read is None:
            raise TyreError(
                f"{rest!r} behind {size.designation} is not understood; leave it out, or write "
                "load index and speed symbol like 46P"
            )
        rest = rest[read.end() :].strip()
    if said is None:
        return size
    return replace(size, load_index=said[0], speed_symbol=said[1])


def _within(
    what: str, value: int | Fraction, limits: tuple[int | Fraction, int | Fraction], advice: str
) -> None:
    if not limits[0] <= value <= limits[1]:
        number = str(value) if value == int(value) else decimal_text(Fraction(value), 2)
        shown = number if len(number) <= 12 else number[:9] + "..."
        raise TyreError(
            f"{what.format(shown)} is out of range ({limits[0]} to {limits[1]}); {advice}"
        )


def section_height_mm(size: TyreSize) -> Fraction:
    """Section height, mm: to the nearest mm, halves up, for metric sizes; exact for inch sizes.

    An inch size without an aspect has the height of its width, which is near only.
    """
    if size.width_in is not None:
        return size.width_in * Fraction(254, 10) * Fraction(size.aspect or 100, 100)
    assert size.width_mm is not None
    assert size.aspect is not None
    return Fraction((size.width_mm * size.aspect * 2 + 100) // 200)


def overall_diameter_mm(size: TyreSize) -> int:
    """Overall diameter by rule, mm: rim diameter and two section heights, halves up."""
    diameter = RIM_DIAMETER_MM[size.rim_code] + 2 * section_height_mm(size)
    return int(diameter + Fraction(1, 2))


def rolling_circumference_mm(size: TyreSize) -> Fraction:
    """Distance per wheel turn by rule, mm, exact: 3.05 times the overall diameter.

    About 3.02 is quoted for diagonal tyres (memory); the difference of 1 % lies in the spread.
    """
    return _ROLL_OUT_PER_DIAMETER * overall_diameter_mm(size)


def roll_out_kind(size: TyreSize) -> Literal["standard", "approximate"]:
    """What a roll-out by rule is: `standard` for a metric size, `approximate` for an inch one."""
    return "standard" if size.kind == "metric" else "approximate"


def rule_spread_percent(size: TyreSize) -> Fraction:
    """How far the true roll-out may lie from the rule's to either side, percent.

    The 3 % between makes; 1 % more for a diagonal or belted tyre, whose factor may be 3.02, and
    in all 5 % for an inch size, whose height is taken as its width.
    """
    if size.kind == "inch":
        return SPREAD_PERCENT["approximate"]
    return Fraction(3) if size.construction == "radial" else SPREAD_PERCENT["standard"]
