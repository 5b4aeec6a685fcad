"""The pages of an order: what they show of the form and of the sheet."""

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from listkit.compute.orders import book_of, build_order, odd_displays, shorts
from listkit.listing.listings import Listings
from listkit.listing.sheet import Document, display_code, document_of
from listkit.model.wholesale import FormRow, OrderForm
from listkit.problem import Place
from listkit.units.money import Money
from listkit.write.order_pages import Confirmed, confirmation_layout, pick_list_layout
from listkit.write.print import own_head


def document(demo: Listings) -> Document:
    made = document_of(demo.catalog)
    assert made is not None
    return made


def confirmed(demo: Listings, wanted: dict[str, int], **more: Any) -> Confirmed:
    sheet = document(demo).sheet
    displays = {entry.code: display_code(entry.code) for entry in sheet.entries}
    order = build_order(sheet, book_of(sheet, "CN69X", displays), wanted, displays)
    form = OrderForm("form.xlsx", "", (("shop", "The Sluice Shop"), ("deliver_by", "March")), ())
    return Confirmed(order, form, date(2027, 1, 20), **more)


def test_a_confirmation_groups_what_ships_together_and_names_what_is_chosen(demo: Listings) -> None:
    one = confirmed(demo, {"OHS-1-U01": 2, "OHS-3-S01": 2, "OH-B01": 6})
    layout = confirmation_layout(one, document(demo), demo.catalog.shop, logo=False)
    facts = json.loads(layout.facts)
    assert [group["title"] for group in facts["groups"]] == [
        "Spring sets", "Late summer and autumn sets", "Single pieces",
    ]  # fmt: skip
    assert facts["groups"][0]["window"] == [["Ships", "1 Mar 2027 to 15 Apr 2027"]]
    assert facts["groups"][0]["rows"] == [
        ["OHS-1-U01", "First Nectar, Clover & Cream body butter", "2", "£14.50", "£29.00"]
    ]
    assert (facts["sum"], facts["pieces"], facts["anyway"]) == ("£83.50", "10", [])
    assert facts["head"] == [["Date", "20 January 2027"], ["Line sheet", "CN69X"], ["Deliver by", "March"]]
    assert layout.day == date(2027, 1, 20)


def test_the_shops_numbers_stand_beside_its_postal_address_as_they_are_written(demo: Listings) -> None:
    shop = demo.catalog.shop
    numbers = {"tax_number": "VAT number GB 000 0000 00", "company_number": "Company number 1"}
    for said, shown in ((numbers, " · VAT number GB 000 0000 00 · Company number 1"), (dict.fromkeys(numbers, ""), "")):
        numbered = replace(shop, settings=shop.settings.model_copy(update=said))
        for layout in (
            confirmation_layout(confirmed(demo, {"OH-B01": 6}), document(demo), numbered, logo=False),
            pick_list_layout(confirmed(demo, {"OH-B01": 6}), document(demo), numbered),
        ):
            assert json.loads(layout.facts)["postal"] == (
                f"The Walled Garden, Sedge Lane, Nether Ottermarl ZZ1 4HB{shown}"
            )
        bare = replace(numbered, settings=numbered.settings.model_copy(update={"address": ""}))
        layout = pick_list_layout(confirmed(demo, {"OH-B01": 6}), document(demo), bare)
        assert json.loads(layout.facts)["postal"] == shown.removeprefix(" · ")


def test_what_is_confirmed_otherwise_than_in_the_form_is_said(demo: Listings) -> None:
    row = FormRow(Place("form.xlsx"), "OH-U01", "two", None)
    one = confirmed(demo, {"OH-B01": 6}, left_out=(row,), other_prices=(("OH-B01", "2.50"),))
    facts = json.loads(confirmation_layout(one, document(demo), demo.catalog.shop, logo=False).facts)
    assert facts["anyway"] == [
        "OH-U01: “two” is left out; please tell us how many you want.",
        "OH-B01 costs £3.75 each, not 2.50.",
    ]


def test_what_is_confirmed_though_it_does_not_agree_is_said(demo: Listings) -> None:
    """By hand: 3 of 2 displays, and one of a set that nobody ordered; a broken case of 2."""
    asked = confirmed(demo, {"OHS-1-U01": 3, "OHS-1 display": 3, "OHS-2 display": 1}).order
    one = confirmed(
        demo, {"OHS-1-U01": 3, "OHS-1 display": 1}, displays=tuple(odd_displays(asked)), shorts=tuple(shorts(asked))
    )
    facts = json.loads(confirmation_layout(one, document(demo), demo.catalog.shop, logo=False).facts)
    assert facts["anyway"] == [
        "OHS-1 display: 3 ordered, 1 confirmed; one goes with each kind of set that is ordered.",
        "OHS-2 display: 1 ordered, 0 confirmed; one goes with each kind of set that is ordered.",
        "OHS-1-U01: 3 confirmed, though cases hold 2.",
    ]


def test_a_pick_list_counts_cases_and_the_pieces_that_all_of_it_takes(demo: Listings) -> None:
    """Two sets with a bar each, and six bars alone."""
    one = confirmed(demo, {"OHS-1-U01": 2, "OH-B01": 6})
    facts = json.loads(pick_list_layout(one, document(demo), demo.catalog.shop).facts)
    assert [row[3:] for group in facts["groups"] for row in group["rows"]] == [["1 × 2", "2"], ["1 × 6", "6"]]
    assert {row[0] or row[1]: row[2] for row in facts["pieces"]} == {
        "OH-B01": "8", "OH-L01": "2", "OH-U01": "2", "Box S": "2", "Fill for box S": "2", "Message card": "2",
    }  # fmt: skip


def test_papers_have_our_number_where_it_goes_and_free_in_place_of_nothing(demo: Listings) -> None:
    """An address that the form has not is the one in stockists.csv; a shelf of ours costs nothing from 350.00 on."""
    one = confirmed(demo, {"OHS-1-U01": 24, "OH-SHELF": 1}, number=7, address="1 Weir Row, Nether Wadlow")
    for layout in (
        confirmation_layout(one, document(demo), demo.catalog.shop, logo=False),
        pick_list_layout(one, document(demo), demo.catalog.shop),
    ):
        facts = json.loads(layout.facts)
        assert facts["head"][0] == ["Our number", "7"]
        assert facts["buyer"] == ["The Sluice Shop", "1 Weir Row, Nether Wadlow"]
    facts = json.loads(confirmation_layout(one, document(demo), demo.catalog.shop, logo=False).facts)
    assert [row[3:] for group in facts["groups"] for row in group["rows"]] == [
        ["£13.65", "£327.60"],
        ["£60.00", "£60.00"],
    ]


@pytest.mark.parametrize(
    ("terms", "below"),
    [
        ({"carriage": "at cost"}, [["Carriage", "at cost"]]),
        ({"carriage": "12.50"}, [["Carriage", "£12.50"], ["Together", "£41.50"]]),
        ({"carriage": "at cost", "carriage_free": 29}, [["Carriage", "free"]]),
        ({"carriage": "at cost", "carriage_free": "29.01"}, [["Carriage", "at cost"]]),
        (
            {"carriage": "free from 350, else at cost", "carriage_free": "350"},
            [["Carriage", "free from 350, else at cost"]],
        ),
        ({"carriage": "", "carriage_free": "350"}, [["Carriage", "free with an order of £350.00 or more"]]),
        ({"carriage": ""}, []),
    ],
)
def test_carriage_is_decided_by_figures_and_else_said_in_the_terms_words(
    terms: dict[str, Any], below: list[list[str]], demo: Listings
) -> None:
    """Two sets at 14.50 are 29.00."""
    stated = {
        **terms,
        **({"carriage_free": Money(Decimal(terms["carriage_free"]), "GBP")} if "carriage_free" in terms else {}),
    }
    shop = demo.catalog.shop
    assert shop.wholesale is not None
    shop = replace(shop, wholesale=shop.wholesale.model_copy(update=stated))
    made = document_of(replace(demo.catalog, shop=shop))
    assert made is not None
    facts = json.loads(confirmation_layout(confirmed(demo, {"OHS-1-U01": 2}), made, shop, logo=False).facts)
    assert facts["below"] == below


def test_an_address_that_begins_with_the_shops_name_as_a_street_may_is_whole(demo: Listings) -> None:
    """Sedge of Sedge Lane: the name goes where it stands for itself, and nothing of the street does."""
    for name, address, shown in (
        ("Sedge", "Sedge Lane 3, Wadlow", "Sedge Lane 3, Wadlow"),
        ("Oak", "Oakham Road 5", "Oakham Road 5"),
        ("Sedge", "Sedge, Sedge Lane 3", "Sedge Lane 3"),
        ("Sedge", "Sedge\nSedge Lane 3", "Sedge Lane 3"),
        ("Sedge", "Sedge", ""),
    ):
        settings = demo.catalog.shop.settings.model_copy(update={"name": name, "address": address})
        assert own_head(replace(demo.catalog.shop, settings=settings), "A page")["postal"] == shown
