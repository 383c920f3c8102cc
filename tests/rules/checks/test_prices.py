"""Prices beside the usual one.

The limit of six and the five peers are a judgement of this project, no rule of the trade; the
medians beside the figures are worked out by hand.
"""

from __future__ import annotations

from fitcheck.diagnostics.examples import BASE

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"


def sets(*prices: str, supplier: str = "marram", letter: str = "A") -> str:
    return "".join(
        f'  {letter}-{number}: {{supplier: {supplier}, part_number: "{letter}{number}", '
        f"pairs: {{primary: 15/{30 + number}}}, price: {price}}}\n"
        for number, price in enumerate(prices)
    )


# The base example has two single pairs of one supplier, at 64.90 and 71.50.
def test_the_limit_is_six_times_the_median_and_outside(marked) -> None:
    # 10.81 10.82 60 64.90 71.50 389.39 389.40: the median is 64.90; a sixth is 10.8167, six
    # times are 389.40.
    found = marked(
        {"sets/more.yaml": HEAD + sets("<FC261>10.81", "10.82", "60", "<FC261>389.40", "389.39")}
    )
    assert [f.suggestion for f in found] == ["108.1", "38.94"]


def test_free_of_charge_is_far_from_usual(marked) -> None:
    found = marked({"sets/more.yaml": HEAD + sets("60", "61", "62", "<FC261>0")})
    assert found[0].suggestion is None


def test_fewer_than_five_others_say_nothing(marked) -> None:
    marked({"sets/more.yaml": HEAD + sets("60", "61", "620")})


def test_other_suppliers_serve_where_its_own_list_is_short(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + sets("60", "61", "62", "63")
            + sets("<FC261>650", supplier="glasswort", letter="G"),
            "suppliers/more.yaml": "kind: supplier\nrecords:\n  glasswort: {name: Glasswort}\n",
        }
    )
    assert "from all suppliers" in found[0].message


def test_whole_trains_and_other_currencies_are_compared_with_their_like(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD
            + sets("60", "61", "62", "63")
            + '  T-1: {part_number: "T1", pairs: {primary: 15/41, secondary: 14/46}, price: 650}\n'
            + '  K-1: {part_number: "K1", pairs: {primary: 15/41}, price: 650, currency: SEK}\n'
        }
    )


def test_the_shelfs_own_price(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD + sets("60", "61", "62", "63"),
            "shelf.yaml": BASE["shelf.yaml"] + "    price: <FC261>6.9\n    cost: 4.1\n",
        }
    )


def test_prices_without_a_currency_are_compared_in_their_suppliers(marked) -> None:
    supplier = "kind: supplier\nrecords:\n  cordgrass: {name: Cordgrass, currency: SEK}\n"
    kroner = sets("640", "<FC261>65", "650", "660", "670", "680", supplier="cordgrass", letter="C")
    euros = sets("60", "61", "62", "63")
    found = marked({"suppliers/more.yaml": supplier, "sets/more.yaml": HEAD + kroner + euros})
    assert "65 SEK is far from the 655.00 SEK" in found[0].message


def test_a_price_finer_than_a_coin(marked) -> None:
    suppliers = "kind: supplier\nrecords:\n  cordgrass: {name: Cordgrass, currency: JPY}\n"
    found = marked(
        {
            "suppliers/more.yaml": suppliers,
            "sets/more.yaml": HEAD
            + sets("<FC264>63.505", "63.50", "63.500")
            + sets("350", "<FC264>350.5", supplier="cordgrass", letter="C"),
            "shelf.yaml": BASE["shelf.yaml"] + "    price: <FC264>64.899\n    cost: 31.3333\n",
        }
    )
    assert sorted(each.suggestion for each in found) == ["351", "63.51", "64.90"]


def test_a_cost_over_the_price_or_a_small_part_of_it(marked) -> None:
    # MA-1544 is listed at 64.90 and MA-1447 at 71.50; the shelf's own price comes first.
    found = marked(
        {
            "shelf.yaml": """\
kind: shelf
records:
  MA-1544: {quantity: 1, cost: <FC263>64.91}
  MA-1447: {quantity: 1, cost: <FC263>12.50, price: 75.00}
"""
        }
    )
    assert "cost 64.91 and sells for 64.90: sold at a loss" in found[0].message
    assert found[0].related[0].label == "what it sells for"
    assert "a sixth of the price or less" in found[1].message


def test_costs_that_may_be(marked) -> None:
    marked(
        {
            "shelf.yaml": """\
kind: shelf
records:
  MA-1544: {quantity: 1, cost: 64.90}
  MA-1447: {quantity: 0, cost: 12.51, price: 75.00}
"""
        }
    )
