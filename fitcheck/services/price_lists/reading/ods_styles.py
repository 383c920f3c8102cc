"""Number formats of an ODS workbook, as the codes a spreadsheet shows in its dialog."""

from __future__ import annotations

from collections.abc import Mapping

_KINDS = {
    "number:number-style",
    "number:currency-style",
    "number:percentage-style",
    "number:date-style",
    "number:time-style",
}
_PARTS = {
    "number:day": ("d", "dd"),
    "number:month": ("m", "mm"),
    "number:year": ("yy", "yyyy"),
    "number:hours": ("h", "hh"),
    "number:minutes": ("m", "mm"),
    "number:seconds": ("s", "ss"),
    "number:day-of-week": ("ddd", "dddd"),
    "number:am-pm": ("AM/PM", "AM/PM"),
    "number:fraction": ("# ??/??", "# ??/??"),
}
"""Parts of a format, short and long, as format codes write them."""


class OdsStyles:
    """Gathers cell styles and the number formats they name, from styles.xml and content.xml."""

    def __init__(self) -> None:
        self.hidden_tables: set[str] = set()
        self._formats: dict[str, str] = {}
        self._cells: dict[str, tuple[str, str]] = {}
        self._table = ""
        self._name = ""
        self._parts: list[str] = []
        self._literal = False

    def code(self, style: str) -> str:
        """The number format code of a cell style, its parents asked in turn; or empty."""
        for _ in range(20):
            name, parent = self._cells.get(style, ("", ""))
            if name:
                return self._formats.get(name, "")
            if not parent:
                return ""
            style = parent
        return ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element."""
        if name in _KINDS:
            self._name = attributes.get("style:name", "")
            self._parts = []
        elif name.startswith("number:") and self._name:
            self._literal = name == "number:text"
            self._parts.append(_code(name, attributes))
        elif name == "style:style":
            family = attributes.get("style:family")
            own = attributes.get("style:name", "")
            if family == "table-cell":
                self._cells[own] = (
                    attributes.get("style:data-style-name", ""),
                    attributes.get("style:parent-style-name", ""),
                )
            self._table = own if family == "table" else ""
        elif name == "style:table-properties" and attributes.get("table:display") == "false":
            self.hidden_tables.add(self._table)

    def end(self, name: str) -> None:
        """Take an element's end."""
        if name in _KINDS:
            self._formats[self._name] = "".join(self._parts)
            self._name = ""
        elif name == "number:text":
            self._literal = False

    def text(self, piece: str) -> None:
        """Take text: literal parts of a format."""
        if self._literal and self._name:
            self._parts.append(piece if piece in "-/.:, " else f'"{piece}"')


def _code(name: str, attributes: Mapping[str, str]) -> str:
    if name == "number:number":
        return _number(attributes)
    if name == "number:month" and attributes.get("number:textual") == "true":
        return "mmmm" if attributes.get("number:style") == "long" else "mmm"
    short, long = _PARTS.get(name, ("", ""))
    return long if attributes.get("number:style") == "long" else short


def _number(attributes: Mapping[str, str]) -> str:
    def count(key: str) -> int:
        given = attributes.get(key, "0")
        return int(given) if given.isdecimal() and len(given) < 3 else 0

    whole = "0" * count("number:min-integer-digits") or "#"
    if attributes.get("number:grouping") == "true":
        whole = "#,##" + whole
    places = count("number:decimal-places")
    if whole == "0" and "number:decimal-places" not in attributes:
        return ""  # the general format
    return whole + ("." + "0" * places if places else "")
