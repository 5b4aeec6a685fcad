"""Declarations by kind of package: what is one group, and where a total stands."""

from decimal import Decimal

import pytest

from listkit.compute.catalog import Piece
from listkit.compute.declaration import Kind, Rules, declaration, declaration_of_item, total_amount
from listkit.model.item import Item
from listkit.model.labels import NetContents
from listkit.units.declared import Figure
from listkit.units.net import Measure


def item(code: str, form: str, net: str, name: str = "Gorse") -> Item:
    row = {"code": code, "name": name, "form": form, "retail": "7.50", "cost": "2.00", "weight": "1 kg"}
    row |= {"size": "86 x 58 x 28 mm"} | ({"net": net} if net else {})
    return Item.model_validate(row, context={"currency": "USD"})


def pieces(*rows: tuple[int, str, str]) -> tuple[Piece, ...]:
    return tuple(Piece(item(f"HH-{at}", form, net), count) for at, (count, form, net) in enumerate(rows))


US = Rules("customary first")


def test_several_of_one_item_are_a_multiunit_package_with_a_total() -> None:
    """16 CFR 500.27: how many, how much each, how much in all: 6 bars of 3.4 oz hold 20.4 oz, 578 g (from memory)."""
    made = declaration(pieces((6, "bar soap", "3.4 oz")), US)
    assert (made.kind, made.count) == (Kind.MULTIUNIT, 6)
    assert made.total is not None
    assert made.total.figures == (Figure((Decimal("20.4"),), "oz"), Figure((Decimal(578),), "g"))


def test_the_soap_of_16_cfr_500_28_is_a_variety_package_of_323_grams_and_never_321() -> None:
    """16 CFR 500.28(a): 2 bars of 3.2 oz (90 g) each, 1 of 5.0 oz (141 g), in all 11.4 oz (323 g)."""
    made = declaration(pieces((2, "soap bar", "3.2 oz"), (1, "soap bar", "5.0 oz")), US)
    assert made.kind is Kind.VARIETY
    grams = [group.quantity.figures[1].numbers[0] for group in made.groups if group.quantity]
    assert grams == [Decimal(90), Decimal(141)]
    assert made.total is not None
    assert made.total.figures == (Figure((Decimal("11.4"),), "oz"), Figure((Decimal(323),), "g"))


def test_liquids_add_up_alike() -> None:
    """16 CFR 500.28(a): 3 + 3 + 5 fl. ozs. are 11 fl. ozs. (325 mL), not the 323 of the rounded figures."""
    made = declaration(pieces((1, "polish", "3 fl oz"), (1, "polish", "3 fl oz"), (1, "polish", "5 fl oz")), US)
    assert made.total is not None
    assert made.total.figures == (Figure((Decimal(11),), "fl oz"), Figure((Decimal(325),), "ml"))


def test_unlike_pieces_are_a_combination_without_a_total() -> None:
    """16 CFR 500.29(a): each as fits it, and nothing in all."""
    rows = (1, "bar soap", "110 g"), (1, "body butter", "100 ml"), (1, "soap dish", "118 x 80 mm")
    made = declaration(pieces(*rows), US)
    assert (made.kind, made.total, len(made.groups)) == (Kind.COMBINATION, None, 3)


def test_alike_units_of_unlike_scents_are_one_group() -> None:
    """16 CFR 500.29(a): identical units are combined; three scents of one soap are still a variety."""
    made = declaration(pieces((1, "bar soap", "110 g"), (2, "bar soap", "110 g")), Rules())
    assert (made.kind, [group.count for group in made.groups]) == (Kind.VARIETY, [3])
    assert made.total is not None
    assert made.total.figures == (Figure((Decimal(330),), "g"),)


def test_one_form_in_weight_and_in_volume_has_no_total() -> None:
    made = declaration(pieces((1, "body butter", "100 ml"), (1, "body butter", "50 g")), Rules())
    assert (made.kind, made.total) == (Kind.COMBINATION, None)


def test_a_single_piece_declares_its_quantity_alone() -> None:
    made = declaration_of_item(item("HH-1", "bar soap", "110 g"), Rules())
    assert (made.kind, made.total) == (Kind.SINGLE, None)


def test_an_item_of_several_pieces_is_a_multiunit_package_of_its_own() -> None:
    made = declaration_of_item(item("HH-1", "bath sachets", "4 x 25 g"), Rules("metric first"))
    assert made.kind is Kind.MULTIUNIT
    assert made.groups[0].quantity is not None
    assert made.groups[0].quantity.times == 4
    assert made.total is not None
    assert made.total.figures[0] == Figure((Decimal(100),), "g")


def test_a_total_of_a_kilogram_loses_no_gram() -> None:
    made = declaration(pieces((11, "bar soap", "105 g")), Rules())
    assert made.total is not None
    assert made.total.figures == (Figure((Decimal("1.155"),), "kg"),)


@pytest.mark.parametrize(
    ("order", "units"), [("metric", ["g"]), ("metric first", ["g", "oz"]), ("customary first", ["oz", "g"])]
)
def test_the_order_is_the_one_asked_for_whatever_is_stated(order: str, units: list[str]) -> None:
    for net in ("4 oz", "113 g"):
        quantity = declaration_of_item(item("HH-1", "bar soap", net), Rules(order)).groups[0].quantity
        assert quantity is not None
        assert [figure.unit for figure in quantity.figures] == units


def test_the_order_follows_the_country_until_the_owner_says_so() -> None:
    assert Rules.of(NetContents(), "US").order == "customary first"
    assert Rules.of(NetContents(), "GB").order == "metric"
    assert Rules.of(NetContents(order="metric first"), "GB").order == "metric first"


def test_what_is_in_it_in_all_is_known_only_of_alike_pieces() -> None:
    assert total_amount(pieces((2, "bar soap", "110 g"))) == (Measure.MASS, Decimal(220))
    assert total_amount(pieces((1, "bath sachets", "4 x 25 g"))) == (Measure.MASS, Decimal(100))
    assert total_amount(pieces((1, "bar soap", "110 g"), (1, "lip balm", "4.5 g"))) is None
    assert total_amount(pieces((1, "soap dish", "118 x 80 mm"))) is None
    assert total_amount(pieces((1, "soap dish", ""))) is None
