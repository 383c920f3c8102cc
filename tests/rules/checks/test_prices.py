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


def test_free_of_charge_is_asked_of_sets_kits_and_the_shelf(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD + sets("60", "61", "62", "<FC266>0"),
            "variators.yaml": BASE["variators.yaml"].replace("79.00", "<FC266>0.00"),
            "shelf.yaml": BASE["shelf.yaml"] + "    price: <FC266>0\n    cost: 0\n",
        }
    )


def test_far_from_usual_and_like_no_other_price(marked) -> None:
    found = marked({"sets/more.yaml": HEAD + sets("60", "61", "62", "<FC261>3000")})
    assert found[0].suggestion is None


# MA-1544 is listed at 64.90 and MA-1447 at 71.50; six times 64.90 are 389.40.
def test_the_shops_price_beside_the_list_price(marked) -> None:
    shelf = BASE["shelf.yaml"]
    listed = BASE["sets/marram.yaml"].replace("price: 64.90", "price: <FC267>649")
    (found,) = marked({"sets/marram.yaml": listed, "shelf.yaml": shelf + "    price: 69\n"})
    assert found.message == "the list price of MA-1544, 649, is far from the shop's, 69"
    marked(
        {
            "sets/marram.yaml": BASE["sets/marram.yaml"],
            "shelf.yaml": shelf + "    price: <FC267>389.40\n    cost: <FC263>41\n",
        }
    )


def test_a_shops_price_within_six_times_the_list_price(marked) -> None:
    marked({"shelf.yaml": BASE["shelf.yaml"] + "    price: 389.39\n"})


def test_what_is_far_from_usual_is_told_once(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD + sets("60", "61", "62", "<FC261>690"),
            "shelf.yaml": BASE["shelf.yaml"] + "  A-3: {quantity: 1, price: 69}\n",
        }
    )


def test_currencies_of_sets_kits_suppliers_and_whole_files(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + sets("60", "61").replace("price: 61", "price: 61, currency: <FC265>ERU")
            + '  C-1: {supplier: samphire, part_number: "c1", pairs: {primary: 15/45}}\n',
            "sets/file.yaml": HEAD.replace("marram}", "marram, currency: <FC265>SKE}")
            + sets("640", "650", letter="F").replace("15/3", "15/4"),
            "suppliers/more.yaml": "kind: supplier\nrecords:\n"
            "  samphire: {name: Samphire, currency: <FC265>GPB}\n"
            "  glasswort: {name: Glasswort, currency: SEK}\n"
            "  reed: {name: Reed, currency: <FC265>QQQ}\n"
            "  sand: {name: Sand, currency: <FC265>XXX}\n",  # the code for no currency
            "variators.yaml": BASE["variators.yaml"] + "    currency: <FC265>EUT\n",
        }
    )
    offered = {each.message[:3]: each.suggestion for each in found}
    # SEK is another supplier's, so it is meant by SKE.
    assert offered == {
        "ERU": "EUR",
        "SKE": "SEK",
        "GPB": "GBP",
        "QQQ": None,
        "XXX": None,
        "EUT": "EUR",
    }


def test_withdrawn_currencies_of_old_lists_are_known(marked) -> None:
    marked({"sets/more.yaml": HEAD.replace("marram}", "marram, currency: DEM}") + sets("120")})


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
