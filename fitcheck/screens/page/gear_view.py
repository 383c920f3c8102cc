"""The side of the sheet that needs no road model: gears, fit, arithmetic as on paper, prices."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from fitcheck.answers.figures import exact_text
from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.gearing import PaperCheck
from fitcheck.kernel.teeth import Pair
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Evidence, Verdict
from fitcheck.rules.fit import RULES, added_rules
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.view import LETTERS, Cell, Group, Lettered, Row, SetView, shorten
from fitcheck.screens.words import BETWEEN, edges_of, fit_words
from fitcheck.services.counter.audience import for_customer
from fitcheck.services.counter.combination import Combination, change_from_factory, factory_note
from fitcheck.services.counter.offer import Availability, offer_of
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.subject import BAND_WORDS, BandVerdict, Subject
from fitcheck.services.counter.why import Explanation
from fitcheck.services.sheet.sheet import Sheet

NAME, SENTENCE = 80, 300
"""Most characters shown of a name and of a sentence that others wrote."""

_RULES_NAMED = 2

NONE = Cell("\N{EN DASH}")
_TIMES = "\N{MULTIPLICATION SIGN}"

_VERDICT_TONES = {Verdict.FITS: "good", Verdict.UNPROVEN: "open", Verdict.RULED_OUT: "bad"}
_BAND_TONES = {
    BandVerdict.IN: "good",
    BandVerdict.STRETCH: "open",
    BandVerdict.OVER: "bad",
}
_AVAILABILITY: dict[Availability, str] = {
    "on-shelf": "here in the shop",
    "in-stock": "in stock at the supplier",
    "to-order": "to order",
    "out-of-stock": "out of stock at the supplier",
    "discontinued": "discontinued",
    "unknown": "stock not known",
}


def facts(subject: Subject, local: Local) -> tuple[tuple[str, str], ...]:
    """The machine as counted, as (name, words)."""
    family = subject.family.record
    engine = shorten(family.name, NAME)
    if family.displacement_cm3 is not None:
        engine += f", {local.figure(str(family.displacement_cm3))} cm\N{SUPERSCRIPT THREE}"
    housing = (
        shorten(family.housings[subject.housing].name, NAME)
        if subject.housing is not None
        else "not looked at yet"
    )
    counted = ", ".join(
        f"{stage} {pair}" for stage, pair in zip(subject.stages, subject.pairs, strict=True)
    )
    reduction = subject.reduction
    found = [
        ("Engine family", engine),
        ("Gearbox housing", housing),
        ("Teeth counted", counted),
        (
            "Overall reduction",
            f"{local.exact(reduction, 4)} (exactly {exact_text(reduction)})",
        ),
    ]
    if subject.wheel_size_in is not None:
        found.append(("Driven wheel", f"{subject.wheel_size_in} in"))
    if subject.roll_out_ratio != 1:
        change = local.percent(100 * (subject.roll_out_ratio - 1))
        found.append(("New tyre", f"roll-out changes by {change}, counted in"))
    if subject.tune is not None and subject.band is not None:
        band = subject.band
        words = f"{_window(local, band.low, band.high)} road speed"
        if band.stretch > band.high:
            words += f", a careful build up to {_short(local, band.stretch)}"
        found.append(("State of tune", f"{shorten(subject.tune.record.name, NAME)}: {words}"))
    return tuple(found)


def subject_notes(subject: Subject) -> tuple[str, ...]:
    """What to know about the machine before reading on."""
    return tuple(shorten(for_customer(remark), SENTENCE) for remark in remarks_on(subject))


def _short(local: Local, value: Fraction) -> str:
    return local.percent(value).replace(f"{local.exact(value, 2)}", _trim(local, value))


def _trim(local: Local, value: Fraction) -> str:
    places = next(places for places in range(5) if places == 4 or value * 10**places % 1 == 0)
    return local.exact(value, places)


def _window(local: Local, low: Fraction, high: Fraction) -> str:
    first, second = _short(local, low), _short(local, high)
    return f"{first.removesuffix('%').rstrip()} to {second}"


def set_views(sheet: Sheet, local: Local) -> tuple[SetView, ...]:
    """Every set once, with the options it belongs to and its price."""
    entries: dict[str, Entry[GearSet]] = {}
    letters: dict[str, list[str]] = {}
    fitting: set[str] = set()
    for letter, told in zip(LETTERS, sheet.options, strict=False):
        for entry in told.combination.sets:
            entries[entry.id] = entry
            letters.setdefault(entry.id, []).append(letter)
            if told.combination.judgement.verdict is not Verdict.RULED_OUT:
                fitting.add(entry.id)
    return tuple(
        _set_view(sheet.subject, entry, ", ".join(letters[id_]), local, fits=id_ in fitting)
        for id_, entry in entries.items()
    )


def _set_view(
    subject: Subject, entry: Entry[GearSet], letters: str, local: Local, *, fits: bool
) -> SetView:
    record = entry.record
    offer = offer_of(subject.catalogue, entry)
    supplier = subject.catalogue.suppliers.get(record.supplier)
    warning = "retired, do not order" if record.status == "retired" else ""
    if not fits:
        warning = "does not fit, do not order"
    return SetView(
        letters=letters,
        name=_set_name(entry),
        holds=", ".join(f"{stage} {record.pairs[stage]}" for stage in record.stages),
        supplier=shorten(record.supplier if supplier is None else supplier.record.name, NAME),
        availability=warning or _AVAILABILITY[offer.availability],
        price="ask" if offer.price is None else local.price(offer.price, offer.currency),
    )


def set_in_short(subject: Subject, set_id: str) -> str:
    """The pairs of a set and, where neither shop nor supplier has it in stock, what is known."""
    entry = subject.catalogue.gear_sets[set_id]
    holds = _pairs([entry.record.pairs[stage] for stage in entry.record.stages])
    where = offer_of(subject.catalogue, entry).availability
    return holds if where in ("on-shelf", "in-stock") else f"{holds}, {_AVAILABILITY[where]}"


def supplier_lists(sheet: Sheet, local: Local) -> tuple[tuple[str, str], ...]:
    """Which list of its supplier a set and its price are from, and of which day.

    The row stays in the shop.
    """
    found: dict[str, str] = {}
    for told in sheet.options:
        for entry in told.combination.sets:
            source = entry.record.source
            parts = [
                shorten(source.list, NAME) if source.list is not None else "",
                local.day(source.date) if source.date is not None else "",
            ]
            if any(parts):
                found[entry.id] = ", ".join(filter(None, parts))
    return tuple(found.items())


def _set_name(entry: Entry[GearSet]) -> str:
    """A set's id, and its part number where that is another."""
    number = shorten(entry.record.part_number, NAME)
    return entry.id if number == entry.id else f"{entry.id} (no. {number})"


def _price(one: Combination, local: Local) -> str:
    if one.price is None or one.currency is None:
        return "ask the shop"
    return local.price(one.price, one.currency)


def gear_group(sheet: Sheet, local: Local, tax_basis: str = "") -> Group:
    """Sets, pairs, reduction, both changes, band, fit and price, side by side.

    Args:
        sheet: what is compared.
        local: how to write it.
        tax_basis: whether the prices are with tax; empty where nobody asks.
    """
    subject, options = sheet.subject, [told.combination for told in sheet.options]
    edges = edges_of(subject)

    def row(
        label: str, now: Cell, cells: Iterable[Cell], small: str = "", *, strong: bool = False
    ) -> Row:
        return Row(label, (now, *cells), small, strong)

    rows = (
        row("Gear set", Cell("as it stands"), map(_sets_cell, options)),
        row(
            "Pair" if len(subject.stages) == 1 else "Pairs",
            Cell(_pairs(subject.pairs)),
            (Cell(_pairs(tuple(one.pairs.values()))) for one in options),
            ", ".join(subject.stages),
        ),
        row(
            "Overall reduction",
            Cell(local.exact(subject.reduction, 4)),
            (Cell(local.exact(one.reduction, 4)) for one in options),
        ),
        row(
            "Road-speed change",
            NONE,
            (_speed_cell(local, one.road_speed_change, edges, one.band) for one in options),
            "at equal rpm",
            strong=True,
        ),
        *_from_factory(sheet, local),
        row(
            "Reduction change",
            NONE,
            (Cell(local.percent(one.reduction_change)) for one in options),
        ),
        row("Fit", NONE, map(_fit_cell, sheet.options), strong=True),
        row(
            "Price of the gears",
            NONE,
            (Cell(_price(one, local)) for one in options),
            tax_basis,
            strong=True,
        ),
    )
    return Group("Gears", rows)


def _speed_cell(
    local: Local, change: Fraction, edges: tuple[Fraction, ...], band: BandVerdict
) -> Cell:
    return Cell(local.percent(change, edges), BAND_WORDS[band], _BAND_TONES.get(band, ""))


def _from_factory(sheet: Sheet, local: Local) -> list[Row]:
    """Road speed against the factory gears, where the machine was changed before."""
    subject, edges = sheet.subject, edges_of(sheet.subject)
    cells = []
    for reduction in (subject.reduction, *(told.combination.reduction for told in sheet.options)):
        change = change_from_factory(subject, reduction)
        if change is None:
            return []
        band = BandVerdict.NONE if subject.band is None else subject.band.verdict(change)
        cells.append(_speed_cell(local, change, edges, band))
    # The tyre's change, if there is one, is still to come for the machine as it stands.
    now = NONE if subject.roll_out_ratio != 1 else cells[0]
    return [Row("Against factory", (now, *cells[1:]), "road speed, all changes", strong=True)]


def _pairs(pairs: Sequence[Pair]) -> str:
    return " \N{MIDDLE DOT} ".join(map(str, pairs))


def _sets_cell(one: Combination) -> Cell:
    numbers = [shorten(entry.record.part_number, NAME) for entry in one.sets]
    return Cell(" + ".join(entry.id for entry in one.sets), f"no. {', '.join(numbers)}")


def _fit_cell(told: Explanation) -> Cell:
    judgement = told.combination.judgement
    rules = {answer.rule for answer in told.combination.answers}
    if judgement.verdict is Verdict.FITS and rules == set(judgement.weakest):
        weakest = ""
    else:
        named = [rule_words(rule) for rule in judgement.weakest[:_RULES_NAMED]]
        rest = len(judgement.weakest) - len(named)
        weakest = ", ".join([*named, *([f"{rest} more"] if rest else [])])
        prefix = "weakest: " if judgement.verdict is Verdict.FITS else ""
        weakest = f"{prefix}{weakest}"
    words = fit_words(judgement)
    if told.retired:
        words += ", retired"
    return Cell(words, weakest, _VERDICT_TONES[judgement.verdict])


def rule_words(rule: str) -> str:
    """A rule's id as words."""
    return rule.replace("-", " ")


def fit_matrix(sheet: Sheet) -> tuple[Row, ...]:
    """Every rule that was asked against every option: the worst of its answers."""
    asked = [told.combination.answers for told in sheet.options]
    rows = []
    for rule in (*RULES, *added_rules()):
        if any(answer.rule == rule for answers in asked for answer in answers):
            cells = tuple(_worst(rule, answers) for answers in asked)
            rows.append(Row(rule_words(rule).capitalize(), cells))
    return tuple(rows)


def _worst(rule: str, answers: Sequence[Answer]) -> Cell:
    given = [answer for answer in answers if answer.rule == rule]
    for verdict, word in ((Verdict.RULED_OUT, "ruled out"), (Verdict.UNPROVEN, "open")):
        if any(answer.verdict is verdict for answer in given):
            return Cell(word, tone=_VERDICT_TONES[verdict])
    evidence = min((answer.evidence for answer in given), default=Evidence.NONE)
    return NONE if not given else Cell(evidence.word, tone="good")


def fit_reasons(told: Explanation) -> list[str]:
    """Why a rule speaks against an option, or is open though nothing can be measured."""
    found = []
    for answer in told.combination.answers:
        rules_out = answer.verdict is Verdict.RULED_OUT
        if rules_out or (answer.verdict is Verdict.UNPROVEN and answer.measure is None):
            word = "ruled out" if rules_out else "open"
            found.append(shorten(f"{rule_words(answer.rule)}, {word}: {_reason(answer)}", 400))
    return found


def _reason(answer: Answer) -> str:
    return f"{answer.subject}: {answer.reason}" if answer.subject else answer.reason


def every_answer(told: Explanation) -> list[tuple[str, tuple[tuple[str, str, str], ...]]]:
    """Every rule's answer, by the set it is about: rule, verdict, reason."""
    return [
        (
            BETWEEN if set_id is None else set_id,
            tuple(
                (
                    rule_words(answer.rule),
                    f"fits, {answer.evidence.word}"
                    if answer.verdict is Verdict.FITS
                    else answer.verdict.value,
                    shorten(_reason(answer), 400),
                )
                for answer in answers
            ),
        )
        for set_id, answers in told.combination.answers_by_set.items()
    ]


def order_notes(told: Explanation) -> list[str]:
    """What to know before ordering: retired sets, what no other part of the sheet tells."""
    one = told.combination
    in_table = factory_note(told.subject, one.reduction)
    plain = [
        note
        for note in one.notes
        if note != in_table and not note.startswith(("open: ", "ruled out: "))
    ]
    return [shorten(note, SENTENCE) for note in (*told.retired, *plain)]


def to_count(sheet: Sheet) -> tuple[Lettered, ...]:
    """The teeth to find when the delivered gears are counted, by option that may be fitted."""
    return tuple(
        Lettered(
            letter,
            ", ".join(
                f"{stage} {told.combination.pairs[stage]}" for stage in told.combination.changed
            ),
        )
        for letter, told in zip(LETTERS, sheet.options, strict=False)
        if told.combination.judgement.verdict is not Verdict.RULED_OUT
    )


def arithmetic(sheet: Sheet, local: Local) -> tuple[Row, ...]:
    """The calculation as on paper, now and with each option."""
    subject, options = sheet.subject, sheet.options
    trains: list[tuple[Sequence[Pair], PaperCheck]] = [
        (subject.pairs, options[0].now),
        *((tuple(told.combination.pairs.values()), told.then) for told in options),
    ]
    rows = []
    for position, stage in enumerate(subject.stages):
        cells = []
        for pairs, check in trains:
            pair, cut = pairs[position], check.stages[position]
            cells.append(
                Cell(
                    f"{pair.driven} / {pair.driver} = {local.exact(pair.reduction, 4)}",
                    f"cut {local.exact(cut, 2)}",
                )
            )
        rows.append(Row(stage.capitalize(), tuple(cells)))
    reductions = [subject.reduction, *(told.combination.reduction for told in options)]
    rows.append(
        Row(
            "Overall",
            tuple(Cell(f"{exact_text(one)} = {local.exact(one, 4)}") for one in reductions),
            strong=True,
        )
    )
    if len(subject.stages) > 1:
        by_hand = tuple(
            Cell(
                f" {_TIMES} ".join(local.exact(stage, 2) for stage in check.stages)
                + f" = {local.exact(check.product, 2)}"
            )
            for _, check in trains
        )
        rows.append(Row("By hand", by_hand))
    rows.append(_road_speed_row(sheet, local))
    rows.append(_reduction_row(sheet, local))
    return tuple(rows)


def _road_speed_row(sheet: Sheet, local: Local) -> Row:
    subject = sheet.subject
    cells = []
    for told in sheet.options:
        one = told.combination
        words = f"{local.exact(subject.reduction, 4)} / {local.exact(one.reduction, 4)}"
        if subject.roll_out_ratio != 1:
            words += f" {_TIMES} {local.exact(subject.roll_out_ratio, 4)} (tyre)"
        words += f" = {local.exact(1 + one.road_speed_change / 100, 4)}"
        percent = local.percent(one.road_speed_change, edges_of(subject))
        cells.append(Cell(words, f"{percent} ({_exact_percent(one.road_speed_change)})"))
    return Row("Road speed", (NONE, *cells), strong=True)


def _reduction_row(sheet: Sheet, local: Local) -> Row:
    old = sheet.subject.reduction
    cells = []
    for told in sheet.options:
        one = told.combination
        words = f"{local.exact(one.reduction, 4)} / {local.exact(old, 4)}"
        words += f" = {local.exact(one.reduction / old, 4)}"
        percent = local.percent(one.reduction_change)
        cells.append(Cell(words, f"{percent} ({_exact_percent(one.reduction_change)})"))
    return Row("Reduction", (NONE, *cells))


def _exact_percent(value: Fraction) -> str:
    text = str(value.numerator) if value.denominator == 1 else exact_text(value)
    text = text.replace("-", "\N{MINUS SIGN}")
    return f"{text}\N{NO-BREAK SPACE}%"


def paper_note(sheet: Sheet, local: Local) -> str:
    """Where cutting at every step gives another figure than the exact one; empty where nowhere."""
    checks = [("now", sheet.options[0].now)]
    checks += list(zip(LETTERS, (told.then for told in sheet.options), strict=False))
    differs = [
        f"{who} {local.exact(check.product, 2)} for {local.exact(check.exact_cut, 2)}"
        for who, check in checks
        if not check.agrees
    ]
    if not differs:
        return ""
    return (
        "Cut at two decimals at every step, paper gives another figure than the exact one: "
        f"{'; '.join(differs)}."
    )
