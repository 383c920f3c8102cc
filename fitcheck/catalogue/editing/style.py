"""How the records of a file are written: brackets or lines, indents, quotes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from fitcheck.catalogue.editing.lines import column
from fitcheck.catalogue.editing.scalar_text import Quote, can_stand_bare
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode

Steps = tuple[str, ...]
"""Steps inside a record; every list position is `*`."""

_COLON = re.compile(r"[ \t]*:[ \t]*")


@dataclass(frozen=True, slots=True)
class Form:
    """How one value is written.

    Attributes:
        flow: whether a mapping or list stands in brackets; None for a scalar.
        quote: the quotes of a text; empty without.
        forced: the text could not have stood bare.
        step: columns a mapping or list stands further in than what holds it; None in brackets.
    """

    flow: bool | None = None
    quote: Quote = ""
    forced: bool = False
    step: int | None = None


@dataclass(slots=True)
class Habits:
    """The forms of one record's values, and what they have in common.

    Attributes:
        forms: by steps inside the record; of several the first.
        quotes: how often each sort of quotes stands round a text.
        key_quotes: the same of keys; an empty one counts keys without.
        bare: how many texts stand without quotes.
        padded: whether there is a space inside the brackets of a mapping; None without any.
        colon: colon and spaces between key and value in brackets.
        list_steps: how far lists stand in, outside brackets.
        map_steps: the same of mappings.
    """

    forms: dict[Steps, Form] = field(default_factory=dict)
    quotes: Counter[str] = field(default_factory=Counter)
    key_quotes: Counter[str] = field(default_factory=Counter)
    bare: int = 0
    padded: bool | None = None
    colon: str | None = None
    list_steps: list[int] = field(default_factory=list)
    map_steps: list[int] = field(default_factory=list)


def habits_of(text: str, record: Node, indent: int) -> Habits:
    """The habits in one record.

    Args:
        text: the text that its offsets count in.
        record: its node.
        indent: column of its id.
    """
    habits = Habits()
    _look(habits, text, record, (), indent)
    return habits


def _look(habits: Habits, text: str, node: Node, steps: Steps, owner: int) -> None:
    if isinstance(node, ScalarNode):
        habits.forms.setdefault(steps, _scalar(habits, text, node))
        return
    first: Node = node
    if isinstance(node, MapNode) and node.entries:
        first = next(iter(node.entries.values()))[0]
    own = 0 if node.flow else column(text, first.start)
    step = None if node.flow else own - owner
    habits.forms.setdefault(steps, Form(flow=node.flow, step=step))
    if step is not None and steps and steps[-1] != "*":
        (habits.list_steps if isinstance(node, ListNode) else habits.map_steps).append(step)
    if isinstance(node, ListNode):
        for item in node.items:
            _look(habits, text, item, (*steps, "*"), own)
        return
    if node.flow and text[node.start] == "{" and node.entries and habits.padded is None:
        habits.padded = text[node.start + 1] in " \t"
    for key, (key_node, value) in node.entries.items():
        habits.key_quotes[key_node.style] += 1
        if node.flow and habits.colon is None and value.end > value.start:
            between = text[key_node.end : value.start]
            habits.colon = between if _COLON.fullmatch(between) else None
        _look(habits, text, value, (*steps, key), own)


def _scalar(habits: Habits, text: str, node: ScalarNode) -> Form:
    if not isinstance(node.value, str) or node.style in ("|", ">"):
        return Form()
    quote: Quote = "'" if node.style == "'" else '"' if node.style == '"' else ""
    if not quote:
        habits.bare += 1
        return Form()
    habits.quotes[quote] += 1
    return Form(quote=quote, forced=not can_stand_bare(node.text, flow=False))


class Style:
    """What new text of a record takes from its neighbours; the nearest counts most.

    They are looked at when something is asked.
    """

    def __init__(self, neighbours: Iterable[Habits], step: int = 2) -> None:
        self._given = neighbours
        self.step = step

    @cached_property
    def neighbours(self) -> list[Habits]:
        """The habits of the neighbours."""
        return list(self._given)

    @cached_property
    def _quotes(self) -> tuple[int, int, int]:
        """How many texts stand in single quotes, in double quotes, and bare."""
        single = sum(each.quotes["'"] for each in self.neighbours)
        double = sum(each.quotes['"'] for each in self.neighbours)
        return single, double, sum(each.bare for each in self.neighbours)

    @property
    def other(self) -> Quote:
        """Quotes of a text that cannot stand bare."""
        single, double, _ = self._quotes
        return "'" if single > double else '"'

    @cached_property
    def key_quote(self) -> Quote:
        """Quotes of keys; empty for none."""
        counts = [each.key_quotes for each in self.neighbours]
        single, double = (sum(each[sign] for each in counts) for sign in ("'", '"'))
        if single + double <= sum(each[""] for each in counts):
            return ""
        return "'" if single > double else '"'

    @property
    def always(self) -> bool:
        """Whether every text is quoted; one who does that does it by rule."""
        single, double, bare = self._quotes
        return single + double > 0 and not bare

    @cached_property
    def padded(self) -> bool:
        """Whether a space stands inside the brackets of a mapping."""
        return any(next(([n.padded] for n in self.neighbours if n.padded is not None), [False]))

    @cached_property
    def colon(self) -> str:
        """Colon and spaces inside brackets."""
        return next((each.colon for each in self.neighbours if each.colon), ": ")

    @cached_property
    def lines_only(self) -> bool:
        """Whether mappings and lists inside the records never stand in brackets."""
        inner = [form for n in self.neighbours for steps, form in n.forms.items() if steps]
        return any(form.flow is False for form in inner) and not any(form.flow for form in inner)

    def form(self, steps: Steps) -> Form | None:
        """How the neighbours write the value at `steps`, or one very like it."""
        for each in self.neighbours:
            if steps in each.forms:
                return each.forms[steps]
        for each in self.neighbours:
            for other, form in each.forms.items():
                if len(other) == len(steps) > 1 and (other[0], other[-1]) == (steps[0], steps[-1]):
                    return form
                if len(other) == len(steps) > 1 and other[:-1] == steps[:-1]:
                    return form
        return None

    def quote(self, steps: Steps) -> Quote:
        """How a text at `steps` is quoted; empty where it is bare if it can."""
        form = self.form(steps)
        if form is not None and form.flow is None:
            return form.quote if form.quote and (self.always or not form.forced) else ""
        return self.other if self.always else ""

    def other_quote(self, steps: Steps) -> Quote:
        """The quotes of a text at `steps` that cannot stand bare."""
        form = self.form(steps)
        return form.quote if form is not None and form.quote else self.other

    def flow(self, steps: Steps) -> bool | None:
        """Whether a mapping or list at `steps` stands in brackets; None where nothing shows it."""
        form = self.form(steps)
        if form is not None and form.flow is not None:
            return form.flow
        return False if self.lines_only else None

    def indent(self, steps: Steps, *, is_list: bool) -> int:
        """How many columns a mapping or list at `steps` stands further in than its holder."""
        form = self.form(steps)
        if form is not None and form.step is not None:
            return form.step
        for each in self.neighbours:
            found = each.list_steps if is_list else each.map_steps
            if found:
                return found[0]
        return self.step
