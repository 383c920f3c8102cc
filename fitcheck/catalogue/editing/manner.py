"""How the records of a file are written: brackets or lines, indents, quotes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from fitcheck.catalogue.editing.lines import column
from fitcheck.catalogue.editing.scalar_text import Quote, can_stand_bare
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode

__all__ = ["Form", "Habits", "Manner", "habits_of"]

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


class Manner:
    """What new text of a record takes from its neighbours; the nearest counts most."""

    def __init__(self, neighbours: Iterable[Habits], step: int = 2) -> None:
        self.neighbours = list(neighbours)
        self.step = step
        counts: Counter[str] = Counter()
        key_counts: Counter[str] = Counter()
        for each in self.neighbours:
            counts += each.quotes
            key_counts += each.key_quotes
        self.other: Quote = "'" if counts["'"] > counts['"'] else '"'
        quoted_keys = key_counts["'"] + key_counts['"']
        self.key_quote: Quote = ""
        if quoted_keys > key_counts[""]:
            self.key_quote = "'" if key_counts["'"] > key_counts['"'] else '"'
        # One who quotes every text does so by rule.
        self.always = bool(counts) and not any(each.bare for each in self.neighbours)
        self.padded = next((n.padded for n in self.neighbours if n.padded is not None), False)
        self.colon = next((n.colon for n in self.neighbours if n.colon), ": ")
        self.nested = any(form.flow for n in self.neighbours for s, form in n.forms.items() if s)
        self.lines = any(
            form.flow is False for n in self.neighbours for s, form in n.forms.items() if s
        )

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
        """Whether a mapping or list at `steps` stands in brackets; None where none tells."""
        form = self.form(steps)
        if form is not None and form.flow is not None:
            return form.flow
        if self.lines and not self.nested:
            return False
        return None

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
