"""What the answers of `shelf gaps` and `shelf plan` say alike."""

from __future__ import annotations

from fitcheck.answers.figures import money
from fitcheck.services.shelf.demands import Demand, Demands
from fitcheck.services.shelf.gaps import State
from fitcheck.services.shelf.supply import Kit, LawCount

STATE_STYLES = {
    State.NOTHING: "red",
    State.UNLAWFUL: "red",
    State.UNCLEAR: "yellow",
    State.ONE: "yellow",
    State.SERVED: "green",
}


def counted(number: int, demands: Demands) -> str:
    """So many machines, or cases where factory trains are asked about."""
    noun = "machine" if demands.asked == "machines" else "case"
    return f"{number:,} {noun}{'s' * (number != 1)}"


def serve_words(demands: Demands, *, lawful: bool) -> str:
    """What it is to be served, one or two sentences."""
    case = "" if demands.asked == "machines" else "A case is a factory train under one tune. "
    law = ", and its class is sure to allow it" if lawful else ""
    return (
        f"{case}A choice serves where its fit is proved and it lies in the band of the tune{law}. "
        "Prices are what the shop paid last, else the list price less the supplier's discount, "
        "else the list price, which is more than a shop pays."
    )


def machine_words(demand: Demand) -> str:
    """The machine with its name and tune."""
    tune = demand.subject.tune
    assert tune is not None
    return f"{demand.id}, {demand.subject.name}, {tune.record.name}"


def kit_words(kit: Kit) -> str:
    """What to buy, and what goes with it from the shelf."""
    beside = f", with {' + '.join(kit.from_shelf)} from the shelf" if kit.from_shelf else ""
    found = dict.fromkeys(kit.sources)
    words = [
        source if len(found) == 1 else f"{source} for {' + '.join(kit.priced(source))}"
        for source in found
    ]
    cost = f" ({'; '.join(words)})" if words else ""
    return f"{money(kit.price, kit.currency)}{cost}  {' + '.join(kit.buy)}{beside}"


def law_words(law: LawCount) -> str:
    """What the class says of the choices on the shelf; empty where there is nothing to say."""
    if law.problem is not None:
        return f"law: {law.problem}"
    parts = [
        f"{number} {word}"
        for number, word in (
            (law.within, "within its class"),
            (law.unclear, "perhaps over its class: measure the top speed"),
            (law.over, "over its class"),
        )
        if number
    ]
    return "; ".join(parts)


def unjudged_words(demands: Demands) -> list[str]:
    """Who cannot be judged, and why, a line each."""
    return [f"{one.id}, {one.name}: {one.reason}" for one in demands.unjudged]
