"""The version of a sheet: the same for the same statements, another when any of them moves."""

from dataclasses import replace
from typing import Any

import pytest

from listkit.compute.build import build_catalog
from listkit.compute.wholesale import build_sheet
from listkit.listing.sheet import LENGTH, SIGNS, version_code
from listkit.model.shop import Shop
from tests.small_shop import gift_set, item, settings, shop, wholesale


def of(made: Shop) -> str:
    sheet = build_sheet(build_catalog(made))
    assert sheet is not None
    return version_code(sheet)


def small(
    *, bar: dict[str, Any] | None = None, one: dict[str, Any] | None = None, rules: Any = None, **terms: Any
) -> Shop:
    made = [item("A-1", **(bar or {})), item("J-1"), item("J-2")]
    sets = [gift_set([{"item": "A-1"}, {"slot": "Jar", "choose": ["J-1", "J-2"]}], **(one or {}))]
    return shop(made, sets, settings=rules or settings(), wholesale=wholesale("SET-1", "A-1", **terms))


def test_it_is_five_signs_that_are_not_mistaken_for_each_other() -> None:
    code = of(small())
    assert len(code) == LENGTH == 5
    assert set(code) <= set(SIGNS)
    assert not set("01OIAEU") & set(SIGNS)
    assert of(small()) == code


@pytest.mark.parametrize(
    "moved",
    [
        small(bar={"retail": "7.60"}),
        small(bar={"gtin": "9520000000011"}),
        small(bar={"net": "120 g"}),
        small(bar={"weight": "120 g"}),
        small(bar={"shelf_life": "18 months"}),
        small(bar={"status": "last chance"}),
        small(one={"name": "Second Set"}),
        small(rules=settings(prices={"wholesale": "49 %"})),
        small(opening="200"),
        small(payment="30 days"),
        small(tier=[{"from": 24, "wholesale": "47 %"}]),
        small(case_pack={"sets": 2}),
        small(window={"order_by": "2027-02-28"}),
        small(window="any time"),
        small(issued="2027-01-15"),
        small(line=[{"code": "SET-1", "note": "by hand"}]),
    ],
)
def test_whatever_a_buyer_reads_gives_another_version(moved: Shop) -> None:
    assert of(moved) != of(small())


def test_looks_and_what_buyers_do_not_read_give_no_other_version() -> None:
    code = of(small())
    assert of(small(paper="letter", barcodes="100 %", gtins=True)) == code
    assert of(small(bar={"cost": "1.90", "on_hand": "7"})) == code
    assert of(replace(small(), stockists=())) == code
