"""Columns that their headings do not settle: those that may as well be others, and those of models.

A doubtful column is asked once, and no row of its table is settled until then.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, MutableMapping, Sequence
from dataclasses import replace
from itertools import permutations

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.model.trade import Supplier
from fitcheck.services.price_lists.headings.column_choice import stages_of_headings
from fitcheck.services.price_lists.headings.columns import FAMILIES, FIELDS, undated
from fitcheck.services.price_lists.headings.layout import Column, Layout
from fitcheck.services.price_lists.names import Names
from fitcheck.services.price_lists.outcomes import RowOutcome
from fitcheck.services.price_lists.questions import NONE, Asker
from fitcheck.services.price_lists.reading import column_letters
from fitcheck.services.price_lists.wording.amounts import currencies_of, stated_currency
from fitcheck.services.price_lists.wording.readings import words_of


def headed_alike(layout: Layout, column: Column) -> bool:
    """Whether another column that is none of our fields bears the very same heading."""
    return any(heading == column.heading for _, heading in layout.others)


def ask_columns(
    layouts: Sequence[Layout], asker: Asker, *, currency: str = ""
) -> dict[tuple[str, int], list[str]]:
    """Set the columns that are answered right, and ask for those that are not.

    Args:
        layouts: the tables; a column that is answered is changed in place.
        asker: where questions go.
        currency: the supplier's; of prices in several, those in it are meant.

    Returns:
        Sheet and row of every article of a table with a doubtful column, to its questions.
    """
    asked: dict[tuple[str, int], list[str]] = {}
    for layout in (each for each in layouts if each.found):
        for name, column in list(layout.columns.items()):
            if not column.is_asked_for:
                continue
            choices = _choices(layout, column)
            where = layout.sheet.row_address(layout.header_rows[-1])
            given = _find_answer(asker, name, list(choices), where)
            if given == NONE and column.by_cells:
                layout.drop(column)
            elif given is not None:
                layout.take(_take_answer(column, *choices[given]))
            elif not (name == "price" and _is_in(currency, layout, column)):
                about = _about(name, choices)
                text = f"Which column is {about}?"
                if column.by_cells:
                    which = " or ".join(map(repr, choices))
                    text = f"No heading names the {name.replace('_', ' ')}. Is it {which}?"
                text = f"{text} Until this is answered no row is settled."
                offered = [*choices, *([NONE] if column.by_cells else [])]
                key = asker.ask("column", about, text, where, offered)
                for row in layout.data_rows:
                    asked.setdefault((layout.sheet.name, row), []).append(key)
    return asked


def _about(name: str, choices: Iterable[str]) -> str:
    return f"{name}: {' or '.join(map(repr, choices))}"


def _find_answer(asker: Asker, name: str, choices: Sequence[str], where: str) -> str | None:
    """Which of some columns has been named, now or before, whatever stood beside it then.

    One that was named among these very columns goes first, in whatever order they stand.
    """
    keys = [key for key in asker.answers if key.startswith(f"column of {name}: ")]
    about = {key: key.removeprefix("column of ") for key in keys}
    same = {_about(name, each) for each in permutations(choices)} if len(choices) < 6 else set()
    of_these = [key for key in keys if about[key] in same]
    bare = {undated(words_of(each)): each for each in reversed(choices)} | {NONE: NONE}
    named = {
        key: found
        for key in of_these or keys
        if (found := _named(asker.answers[key], choices, bare)) is not None
    }
    if len(set(named.values())) != 1:
        return None
    key, answer = next(iter(named.items()))
    asker.answer("column", about[key], where)
    return answer


def _named(answer: str, choices: Sequence[str], bare: Mapping[str, str]) -> str | None:
    """The choice that an answer names: just so, or the only one but for its date."""
    return answer if answer in choices else bare.get(undated(words_of(answer)))


def _take_answer(column: Column, number: int, heading: str) -> Column:
    """A column as somebody has named it: read alone, unless it is the one that was found."""
    if number != column.column:
        stages = stages_of_headings([heading]) if column.field == "teeth" else ()
        column = replace(column, column=number, heading=heading, second=0, stages=stages)
    return replace(column, sureness="given", rivals=())


def _is_in(currency: str, layout: Layout, column: Column) -> bool:
    """Whether a column of prices, unlike its rivals, is headed by the supplier's currency.

    One that was found for another currency is changed for it in place.
    """
    named = {
        number: stated_currency(heading, of_prices=True)
        for number, heading in _choices(layout, column).values()
    }
    own = [at for at, sign in named.items() if sign and currency in (currencies_of(sign) or ())]
    if len(own) != 1 or not all(named.values()):
        return False
    heading = next(text for at, text in _choices(layout, column).values() if at == own[0])
    layout.take(replace(column, column=own[0], heading=heading, sureness="likely", rivals=()))
    return True


def _choices(layout: Layout, column: Column) -> dict[str, tuple[int, str]]:
    """What a column may be: a name to its number and heading; alike ones are told by place."""
    possible = [(column.column, column.heading)]
    possible += [(number, text) for number, text in layout.others if text in column.rivals]
    possible.sort()
    headings = [heading for _, heading in possible]
    return {
        heading
        if headings.count(heading) == 1 and heading
        else f"{heading}, column {column_letters(number)}".removeprefix(", "): (number, heading)
        for number, heading in possible
    }


def refuse_contradicted(
    layouts: Sequence[Layout], given: Mapping[str, str], asker: Asker, supplier: Entry[Supplier]
) -> None:
    """Refuse an answer about a column that the supplier's file says otherwise of.

    Args:
        layouts: the tables.
        given: answers given now, by key of their question.
        asker: knows which of them have been taken.
        supplier: whose file has the mapping.

    Raises:
        UsageError: two statements of the shop contradict each other.
    """
    for key, answer in given.items():
        name = key.removeprefix("column of ").partition(": ")[0]
        if name not in FIELDS or key == name or key in asker.used:
            continue
        mapped = [
            column.heading
            for layout in layouts
            if layout.found and (column := layout.columns.get(name)) is not None
            if column.sureness == "given"
        ]
        heading = words_of(answer)
        if mapped and all(heading != words_of(each) for each in mapped):
            place = supplier.place("list_mapping", "columns", name)
            raise UsageError(
                f"the answers say that {name} is {answer!r}, {place} says {mapped[0]!r}; correct "
                "the file, or have the columns found again: --new-columns"
            )


def unsettle(
    rows: MutableMapping[tuple[str, int], RowOutcome],
    asked: Mapping[tuple[str, int], list[str]],
    asker: Asker,
) -> None:
    """Send the rows of tables with a doubtful column to review, however they have ended.

    What cannot be read in a column, or is no article for want of it, may be either by the other.
    """
    for place, keys in asked.items():
        row = rows[place]
        questions, reason = (*keys, *row.questions), asker.questions[keys[0]].text
        read = {"families": row.families, "readings": row.readings or row.fields}
        rows[place] = row.become("review", reason, set_id=row.set_id, questions=questions, **read)


_SAMPLE = 200
_LONGEST_MARK = 4


def find_model_columns(layouts: Sequence[Layout], names: Names) -> None:
    """Let a table without a column of models have those that the names in it tell.

    A column headed `Famiglia` or the like holds models where most of its cells are names of ours;
    else kinds of articles. Columns headed by one model each, their cells marks only, are a table of
    what fits what.

    Args:
        layouts: the tables; their `columns`, `others` and `matrix` are set in place.
        names: the names that are known.
    """
    for layout in layouts:
        if not layout.found or not layout.others or "models" in layout.columns:
            continue
        if (column := _of_families(layout, names)) is not None:
            number, heading = column
            layout.columns["models"] = Column(
                "models", number, heading, "likely", reason="most of its cells are names of ours"
            )
            taken = {number}
        else:
            layout.matrix = _matrix(layout, names)
            taken = set(layout.matrix)
        layout.others = tuple(each for each in layout.others if each[0] not in taken)


def _of_families(layout: Layout, names: Names) -> tuple[int, str] | None:
    for number, heading in layout.others:
        if words_of(heading) not in FAMILIES:
            continue
        texts = dict.fromkeys(_texts(layout, number))
        if 2 * sum(1 for text in texts if names.match_cell(text).families) > len(texts):
            return number, heading
    return None


def _matrix(layout: Layout, names: Names) -> dict[int, str]:
    marked = {
        number: heading
        for number, heading in layout.others
        if (texts := _texts(layout, number)) and all(len(text) <= _LONGEST_MARK for text in texts)
    }
    matches = {number: names.match_cell(heading) for number, heading in marked.items()}
    return {
        number: marked[number]
        for number, found in matches.items()
        if len(found.families) == 1 and found.answer == "accepted"
    }


def _texts(layout: Layout, column: int) -> list[str]:
    """What the first articles have in a column, blanks left out."""
    cells = (layout.sheet.cell(row, column).text for row in layout.data_rows[:_SAMPLE])
    return [text for cell in cells if (text := cell.strip())]
