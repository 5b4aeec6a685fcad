"""Tests of the rows of a feed."""

from dataclasses import replace
from typing import Any

import pytest

from listkit.fields import FIELDS, OfferField
from listkit.listing.listings import Listing
from listkit.listing.rows import feed_columns, feed_rows, prices_of, row_offers
from listkit.problem import FieldError
from tests.listing import shops
from tests.write.two_sets import channel, own

FIRST, BAR = own(channel())


def rows(values: str | list[dict[str, Any]], listings: tuple[Listing, ...] = (FIRST, BAR), **said: Any) -> list[Any]:
    """Return the rows of a feed with these columns, names of fields with spaces between or whole columns."""
    columns = [{"heading": name, "value": name} for name in values.split()] if isinstance(values, str) else values
    made = channel(column=columns, **said)
    return list(feed_rows(made, listings, feed_columns(made, listings)))


def test_every_field_can_be_reached_in_a_listing() -> None:
    for field in FIELDS.values():
        value = field.get(FIRST.offers[0]) if isinstance(field, OfferField) else field.get(FIRST)
        assert isinstance(value, tuple) is field.many, field.name


def test_a_row_is_a_variant_with_every_cell_formatted() -> None:
    found = rows("sku name price weight parcelWeight width priceValidUntil choice_1 gtin inventoryLevel", (FIRST,))
    assert found[0] == (
        "OHS-1-M02-L01", "First Nectar gift set, Clover & Cream body butter, Linden, Oat lip balm", "23.50",
        "275.4", "363.4", "166", "2027-05-10", "Clover & Cream body butter", "9520123456788", "12",
    )  # fmt: skip
    assert [row[0] for row in found] == ["OHS-1-M02-L01", "OHS-1-M02-L02", "OHS-1-M03-L01", "OHS-1-M03-L02"]


def test_a_set_without_box_choices_or_season_has_empty_cells_there() -> None:
    assert rows("sku box width parcelWeight slot_1 choice_1 priceValidUntil", (BAR,)) == [
        ("OHS-2", "", "", "", "", "", "")
    ]


def test_columns_come_in_the_owners_order_however_facts_are_kept() -> None:
    names = ["title", "sku", "theme", "price", "box", "choice_2", "name"]
    straight, turned = rows(" ".join(names)), rows(" ".join(reversed(names)))
    assert [tuple(reversed(row)) for row in turned] == straight


@pytest.mark.parametrize("name", ["sku", "title"])
def test_a_feed_of_one_column_has_rows_of_one_cell(name: str) -> None:
    assert all(len(row) == 1 for row in rows(name))


def test_a_family_alone_is_all_of_it_in_one_cell() -> None:
    [row, *_] = rows("keywords itemCodes contents cautions slot choice", (FIRST,))
    assert row == (
        "spring gift, honey",
        "OH-B01, OH-M02, OH-L01",
        "1 × Rosemary & Rind bar soap; 1 × Clover & Cream body butter; 2 × Linden, Oat lip balm",
        "For external use only. Avoid the eyes.",
        "Jar; Balm",
        "Clover & Cream body butter; Linden, Oat lip balm",
    )


def test_a_column_that_is_once_stands_only_in_the_first_row_of_each_listing() -> None:
    names = ("title", "sku", "price", "words of ours", "{{ sku }}!")
    columns = [{"heading": name, "value": name, "once": name != "sku"} for name in names]
    assert rows(columns) == [
        ("First Nectar gift set", "OHS-1-M02-L01", "23.50", "words of ours", "OHS-1-M02-L01!"),
        ("", "OHS-1-M02-L02", "", "", ""),
        ("", "OHS-1-M03-L01", "", "", ""),
        ("", "OHS-1-M03-L02", "", "", ""),
        ("One Bar gift set", "OHS-2", "7.50", "words of ours", "OHS-2!"),
    ]


def test_a_template_sees_the_facts_of_its_row() -> None:
    columns = [
        {"heading": "a", "value": "{{ setName }}: {{ choice_1 }} at {{ price | in_currency }}"},
        {"heading": "b", "value": "{{ title }}, {{ box | default('no box') }}"},
        {"heading": "c", "value": "{% for one in keywords %}#{{ one | slug }} {% endfor %}"},
        {"heading": "d", "value": "{{ weight | weight('oz') }} {{ choice_3 }}"},
    ]
    found = rows(columns)
    assert found[2] == (
        "First Nectar: Ginger & Propolis body butter at £25.50",
        "First Nectar gift set, S",
        "#spring-gift #honey ",
        "9.7 oz ",
    )
    assert found[4][:3] == ("One Bar:  at £7.50", "One Bar gift set, no box", "")


def test_a_template_that_begins_like_a_formula_is_guarded_as_all_text_is() -> None:
    [row] = rows([{"heading": "a", "value": "={{ sku }}"}, {"heading": "b", "value": "@home"}], (BAR,))
    assert row == ("'=OHS-2", "'@home")


def test_a_template_that_fails_on_a_row_raises_in_the_owners_words() -> None:
    with pytest.raises(FieldError, match=r"\*"):
        rows([{"heading": "a", "value": "{{ width * 2 }}"}], (BAR,))


def test_our_values_become_the_channels_in_text_figures_and_families() -> None:
    columns = [
        {"heading": "a", "value": "availability", "map": {"InStock": "in stock"}},
        {"heading": "b", "value": "inventoryLevel", "map": {"40": "plenty"}},
        {"heading": "c", "value": "keywords", "map": {"honey": "bees"}},
        {"heading": "d", "value": "gtin", "map": {"": "none"}},
        {"heading": "e", "value": "{{ setName }}", "map": {"One Bar": "=bar"}},
        {"heading": "f", "value": "choice_2", "map": {"Linden, Oat lip balm": "-"}},
    ]
    found = rows(columns)
    assert found[0] == ("in stock", "12", "spring gift, bees", "9520123456788", "First Nectar", "'-")
    assert found[4] == ("in stock", "plenty", "", "9520000010003", "'=bar", "")


def test_weights_lengths_days_and_answers_stand_as_the_dialect_has_them() -> None:
    dialect = {"weight": "kg", "length": "in", "date": "28.02.2027", "yes": "1", "no": "0", "decimal": ","}
    names = "weight width priceValidUntil inStock"
    assert rows(names, (FIRST,), dialect=dialect | {"separator": ";"})[0] == ("0,275", "6,54", "10.05.2027", "1")


def test_a_column_may_have_a_unit_of_its_own() -> None:
    columns = [
        {"heading": "a", "value": "weight", "unit": "oz"},
        {"heading": "b", "value": "width", "unit": "cm"},
        {"heading": "c", "value": "parcelWeight"},
    ]
    assert rows(columns, (FIRST,))[0] == ("9.71", "16.6", "363.4")


def test_the_parcel_has_its_three_sides_the_longest_first() -> None:
    assert rows("parcelLength parcelWidth parcelHeight", (FIRST,))[0] == ("190", "150", "100")
    assert rows("parcelLength parcelWidth parcelHeight", (BAR,))[0] == ("", "", "")


def test_a_template_gives_bare_numbers_in_any_unit() -> None:
    columns = [{"heading": "a", "value": "{{ price | places(1) }}|{{ weight | to('oz') | places(2) }}"}]
    assert rows(columns, (FIRST,))[0] == ("23.5|9.71",)


def test_letters_that_the_encoding_has_not_become_the_nearest_before_text_is_guarded() -> None:
    dialect = {"encoding": "windows-1252", "transliterate": True}
    columns = [{"heading": "a", "value": "Łódź"}, {"heading": "b", "value": "\uff1d1+2"}]
    assert rows(columns, (BAR,), dialect=dialect) == [("Lódz", "'=1+2")]


def test_a_row_a_set_has_its_code_title_and_lowest_price_and_all_options_of_each_slot() -> None:
    names = "sku name price choice_1 slot_1 gtin inventoryLevel inProductGroupWithID"
    jars = "; ".join(option.says for option in FIRST.slots[0].options)
    assert jars.count("; ") == 1
    assert rows(names, rows="listing") == [
        ("OHS-1", "First Nectar gift set", "23.50", jars, "Jar", "", "30", "OHS-1"),
        ("OHS-2", "One Bar gift set", "7.50", "", "", "9520000010003", "40", "OHS-2"),
    ]


def test_a_sets_own_row_before_its_variants_has_nothing_chosen() -> None:
    found = rows("sku choice_1 slot_1", (FIRST,), rows="listing, then variants")
    assert found[:2] == [("OHS-1", "", "Jar"), ("OHS-1-M02-L01", "Clover & Cream body butter", "Jar")]


def test_a_row_a_set_is_in_stock_as_long_as_one_variant_is() -> None:
    out = tuple(replace(one, stock=0, availability="OutOfStock") for one in FIRST.offers[:3])
    listing = replace(FIRST, offers=(*out, replace(FIRST.offers[3], stock=3)))
    names, last = "availability inventoryLevel price lowestPrice figuresOf", FIRST.offers[3]
    price = str(last.price)
    told = ("InStock", "3", price, price, last.variant.code)
    assert rows(names, (listing,), rows="listing") == [told]
    uncounted = replace(listing, offers=(*out, replace(last, stock=None)))
    assert rows("availability inventoryLevel", (uncounted,), rows="listing") == [("InStock", "")]


@pytest.mark.parametrize("mode", ["listing", "listing, then variants"])
def test_a_row_a_set_has_the_figures_of_the_cheapest_variant_that_can_be_bought(mode: str) -> None:
    """All of one variant, which it names; of equals the one that most can be sold of, of nothing the cheapest."""
    names = "sku figuresOf price inventoryLevel weight kept lowestPrice"
    by_price = sorted(FIRST.offers, key=lambda offer: offer.price.amount)
    assert by_price[0].price < by_price[-1].price
    dear = replace(FIRST, offers=tuple(replace(one, stock=int(one == by_price[-1])) for one in FIRST.offers))
    [row] = rows(names, (dear,), rows="variant")[FIRST.offers.index(by_price[-1]) :][:1]
    code, _, *figures = row
    assert rows(names, (dear,), rows=mode)[0] == ("OHS-1", code, *figures)
    alike = [offer for offer in FIRST.offers if offer.price == by_price[0].price]
    most = replace(FIRST, offers=tuple(replace(one, stock=9 if one == alike[-1] else 4) for one in FIRST.offers))
    assert rows("figuresOf", (most,), rows=mode)[0] == (alike[-1].variant.code,)
    none = replace(FIRST, offers=tuple(replace(one, stock=0) for one in FIRST.offers))
    assert rows("price inventoryLevel", (none,), rows=mode)[0] == (str(by_price[0].price), "0")


def test_a_row_a_set_and_then_its_variants_puts_once_cells_into_the_sets_row() -> None:
    columns: list[dict[str, Any]] = [
        {"heading": "sku", "value": "sku"},
        {"heading": "text", "value": "plainDescription", "once": True},
    ]
    found = rows(columns, rows="listing, then variants")
    codes = "OHS-1 OHS-1-M02-L01 OHS-1-M02-L02 OHS-1-M03-L01 OHS-1-M03-L02 OHS-2"
    assert " ".join(row[0] for row in found) == codes
    assert [bool(row[1]) for row in found] == [True, False, False, False, False, True]


@pytest.mark.parametrize("mode", ["variant", "listing", "listing, then variants"])
def test_no_code_stands_in_two_rows_and_every_row_has_its_price_told(mode: str) -> None:
    found = rows("sku price", rows=mode)
    assert len({row[0] for row in found}) == len(found)
    assert prices_of((FIRST, BAR), mode) == tuple(row[1] for row in found)


@pytest.mark.parametrize("mode", ["variant", "listing", "listing, then variants"])
def test_a_listing_without_offers_has_no_rows(mode: str) -> None:
    empty = replace(FIRST, offers=())
    assert row_offers(empty, mode) == ()
    assert rows("sku lowestPrice title", (empty, BAR), rows=mode) == [("OHS-2", "7.50", "One Bar gift set")]


def test_rows_are_made_one_at_a_time() -> None:
    made = channel(column=[{"heading": "a", "value": "sku"}])
    endless = feed_rows(made, (FIRST,) * 1000, feed_columns(made, (FIRST,)))
    assert next(endless) == ("OHS-1-M02-L01",)


@pytest.mark.parametrize(
    ("contents", "says", "stocks", "whole"),
    [
        ([{"item": "HH-B1"}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}], {}, [20, 20], 20),  # 20 bars for both
        ([{"item": "HH-B1"}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}], {"hold_back": 5}, [15, 15], 15),
        ([{"item": "HH-B1", "quantity": 3}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}], {}, [6, 6], 6),
        ([{"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}], {}, [20, 20], 40),  # no part is shared
        ([{"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}], {"hold_back": 5}, [15, 15], 30),
    ],
)
def test_a_row_a_set_promises_no_more_than_its_shared_parts_make(
    contents: list[dict[str, Any]], says: dict[str, Any], stocks: list[int], whole: int
) -> None:
    made = shops.channel(rows="listing", **says)
    [listing] = shops.listed(shops.shop(shops.folder(contents=contents), channels=[made]))
    assert [offer.stock for offer in listing.offers] == stocks
    [row] = row_offers(listing, "listing")
    assert row.stock == whole
