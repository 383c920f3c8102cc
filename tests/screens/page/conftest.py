"""Sheets to look at: of the hand-built road answer, and of what others may have written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from html.parser import HTMLParser
from types import ModuleType
from typing import Any

import pytest

from fitcheck.catalogue.reader import Catalogue
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.page import Heading, sheet_html
from fitcheck.screens.page.quote_view import Quote
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.sheet.sheet import Sheet

DAY = dt.date(2026, 11, 25)

MakeSheet = Callable[..., Sheet]
Render = Callable[..., str]


@pytest.fixture(scope="session")
def sheet_with(demo: Catalogue, roads: ModuleType) -> MakeSheet:
    """The demo's dunlin-ten with options, each a list of ids, and a hand-built road answer."""

    def make(options: Sequence[Sequence[str]] = roads.THREE, **changes: Any) -> Sheet:
        subject = subject_of(demo, "dunlin-ten")
        told = tuple(explain(subject, list(named)) for named in options)
        given = {"road": roads.road_report(demo, options), "without_road": None, "chosen": None}
        return Sheet(subject, told, **{**given, **changes})

    return make


@pytest.fixture(scope="session")
def render() -> Render:
    """The page of a sheet on a fixed day."""

    def make(
        sheet: Sheet, local: Local | None = None, quote: Quote | None = None, **heading: str
    ) -> str:
        return sheet_html(sheet, Heading(DAY, **heading), local, quote)

    return make


class Page(HTMLParser):
    """A page as a strict reader sees it: every element, its attributes, and the text.

    Attributes:
        elements: (name, attributes) in order.
        ids: ids in order.
        words: the text outside style, white space made single.
    """

    INLINE = frozenset({"b", "bdi", "i", "span", "strong", "small", "time"})
    VOID = frozenset({"meta", "input", "br", "link", "img"})

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self._said: list[str] = []
        self._sections: dict[str, list[str]] = {}
        self._here: str | None = None
        self.feed(text)
        self.close()
        assert self.open == [], f"left open: {self.open}"
        self.ids = [given["id"] for _, given in self.elements if "id" in given]
        self.words = " ".join("".join(self._said).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), (tag, names)
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in self.VOID:
            self.open.append(tag)
        if tag not in self.INLINE:
            self._say(" ")
        if tag == "section":
            self._here = dict(attrs)["aria-labelledby"]
            self._sections[str(self._here)] = []

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag, f"</{tag}> closes another"
        if tag not in self.INLINE:
            self._say(" ")
        if tag == "section":
            self._here = None

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self._say(data)

    def _say(self, text: str) -> None:
        self._said.append(text)
        if self._here is not None and "h2" not in self.open:
            self._sections[self._here].append(text)

    def all(self, name: str) -> list[dict[str, str]]:
        """Attributes of every element of a name."""
        return [given for tag, given in self.elements if tag == name]

    def section(self, id_: str) -> str:
        """The text of the section whose heading has an id, the heading left out."""
        return " ".join("".join(self._sections[id_]).split())


@pytest.fixture(scope="session")
def read_page() -> type[Page]:
    """A page read strictly: what is opened is closed, no attribute twice."""
    return Page
