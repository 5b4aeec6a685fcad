"""Unit prices by worked examples."""

from decimal import Decimal
from typing import Any

import pytest

from listkit.compute.catalog import Piece
from listkit.compute.prices import unit_price
from listkit.model.item import Item
from listkit.model.labels import UnitPricing
from listkit.units.money import Money


def item(net: str, form: str = "bar soap") -> Item:
    code = f"HH-{form[:1]}{net.split(maxsplit=1)[0]}"
    row = {"code": code, "name": "Gorse", "form": form, "retail": "1", "cost": "1"}
    row |= {"weight": "1 kg", "size": "86 x 58 x 28 mm", "net": net}
    return Item.model_validate(row, context={"currency": "GBP"})


def told(price: str, net: str, currency: str = "GBP", **rule: Any) -> str:
    made = unit_price(Money(Decimal(price), currency), (Piece(item(net)),), UnitPricing.model_validate(rule))
    assert made is not None
    number = made.unit.numbers[0]
    return f"{made.amount}/{'' if number == 1 else f'{number} '}{made.unit.unit}"


@pytest.mark.parametrize(
    ("price", "net", "rule", "expected"),
    [
        ("12.50", "4.5 oz", {"weight": "oz"}, "2.78/oz"),
        ("12.50", "4.5 oz", {"weight": "lb"}, "44.44/lb"),
        ("6.50", "8 fl oz", {"volume": "fl oz", "below_one": "tenth"}, "0.813/fl oz"),
        ("6.50", "8 fl oz", {"volume": "fl oz"}, "0.81/fl oz"),
        ("6.50", "8 fl oz", {"volume": "100 ml"}, "2.75/100 ml"),
        ("7.90", "113 g", {"weight": "kg"}, "69.91/kg"),
        ("7.90", "113 g", {"weight": "100 g"}, "6.99/100 g"),
        ("9.50", "50 ml", {"volume": "l"}, "190.00/l"),
        ("9.50", "50 ml", {"volume": "100 ml"}, "19.00/100 ml"),
        ("0.95", "120 ml", {"volume": "100 ml", "below_one": "tenth"}, "0.792/100 ml"),
        ("4.99", "113 g", {"weight": "100 g"}, "4.42/100 g"),
    ],
)
def test_worked_examples(price: str, net: str, rule: dict[str, str], expected: str) -> None:
    """Worked by hand from the rules of Directive 98/6/EC, Article 2(b), the Price Marking Order (Northern Ireland)
    2004, Article 13, and NIST Handbook 130: one rounding at the end, from the unrounded ratio.
    """
    assert told(price, net, **rule) == expected


def test_a_currency_without_pence_is_rounded_to_whole_units() -> None:
    assert told("1200", "110 g", "JPY") == "1091/100 g"


def test_several_of_one_kind_are_priced_together_and_unlike_pieces_have_none() -> None:
    """Germany, PAngV § 4(3), and the Price Marking Order 2004, Schedule 2 (from memory) exempt unlike pieces."""
    rule, price = UnitPricing(), Money(Decimal("22.00"), "GBP")
    alike = unit_price(price, (Piece(item("110 g"), 2),), rule)
    assert alike is not None
    assert alike.amount == Decimal("10.00")
    assert unit_price(price, (Piece(item("110 g")), Piece(item("4.5 g", "lip balm"))), rule) is None


def test_a_price_of_any_size_has_a_unit_price() -> None:
    """More digits than the 28 that are reckoned with (decimal, "Context objects")."""
    dear = unit_price(Money(Decimal(10**40), "GBP"), (Piece(item("100 g")),), UnitPricing())
    assert dear is not None
    assert dear.amount == 10**40


def test_none_is_told_where_none_is_asked_for_or_the_piece_is_small() -> None:
    price, balm = Money(Decimal("4.50"), "EUR"), (Piece(item("4.5 g")),)
    assert unit_price(price, balm, None) is None
    assert unit_price(price, balm, UnitPricing(smallest=10)) is None
    assert unit_price(price, (Piece(item("10 g")),), UnitPricing(smallest=10)) is not None
    assert unit_price(price, (Piece(item("118 x 80 mm")),), UnitPricing()) is None
