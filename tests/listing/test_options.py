"""Options: what a channel offers, and each slot as it shows it."""

from typing import Any

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.listings import Listing
from listkit.listing.offers import price_names
from listkit.model.channel import Channel
from tests.listing.shops import BALM, BAR, JAR, SCRUB, channel, folder, listed, shop

TWO_SLOTS = [{"slot": "Bar", "choose": ["HH-B1", "HH-B2"]}, {"slot": "Jar", "choose": ["HH-U1", "HH-S1"]}]
OTHER_BAR = BAR | {"code": "HH-B2", "name": "Thrift", "retail": "8.00"}


def listing(*items: dict[str, Any], to: Channel | None = None, hold_back: int = 0, **changes: Any) -> Listing:
    made = shop(
        folder(**changes), items=items or (BAR, BALM, JAR, SCRUB), channels=[to or channel()],
        stock={"hold_back": hold_back},
    )  # fmt: skip
    return listed(made).listings[0]


def test_an_option_reads_what_the_owner_says_else_name_and_form() -> None:
    slot = {"slot": "Jar", "choose": [{"item": "HH-U1", "says": "Hay meadow"}, "HH-S1"]}
    made = listing(contents=[slot])
    assert [option.says for option in made.slots[0].options] == ["Hay meadow", "Shoreline sugar scrub"]
    assert [offer.choices for offer in made.offers] == [("Hay meadow",), ("Shoreline sugar scrub",)]


def test_every_choice_of_an_offer_is_letter_for_letter_an_option() -> None:
    made = listing(BAR, OTHER_BAR, JAR, SCRUB, contents=TWO_SLOTS)
    says = [{option.says for option in slot.options} for slot in made.slots]
    assert len(made.offers) == 4
    for offer in made.offers:
        assert [choice in names for choice, names in zip(offer.choices, says, strict=True)] == [True, True]


def test_the_stated_default_is_marked_else_the_first() -> None:
    contents = [{"slot": "Jar", "choose": ["HH-U1", "HH-S1"], "default": "HH-S1"}]
    assert [option.default for option in listing(contents=contents).slots[0].options] == [False, True]
    assert [option.default for option in listing().slots[0].options] == [True, False]


def test_a_sold_out_option_is_shown_with_stock_0_or_hidden_as_the_channel_wants() -> None:
    items = (BAR, BALM, JAR, SCRUB | {"on_hand": 0})
    shown = listing(*items)
    assert [option.sold_out for option in shown.slots[0].options] == [False, True]
    assert [(offer.stock, offer.availability) for offer in shown.offers] == [(20, "InStock"), (0, "OutOfStock")]
    assert shown.description.count("(sold out)") == 1
    assert "Shoreline sugar scrub (sold out)" in shown.description
    hidden = listing(*items, to=channel(sold_out="hide"))
    assert [option.says for option in hidden.slots[0].options] == ["Meadow body butter"]
    assert [offer.variant.code for offer in hidden.offers] == ["HHS-1-U1"]
    assert "Shoreline" not in hidden.description


def test_what_is_sold_out_sets_no_price_while_anything_can_be_bought() -> None:
    """27.00 with the scrub, which is sold out, and 29.00 with the butter: nobody can have it from 27.00."""
    story = "From {{ cheapest | in_currency }} to {{ dearest | in_currency }}."
    made = listing(BAR, BALM, JAR, SCRUB | {"on_hand": 0}, story=story)
    assert (str(made.cheapest), str(made.dearest)) == ("29.00", "29.00")
    assert "From £29.00 to £29.00." in made.plain
    none = listing(BAR | {"on_hand": 0}, BALM, JAR, SCRUB, story=story)
    assert (str(none.cheapest), str(none.dearest)) == ("27.00", "29.00")


def test_an_option_costs_what_its_variants_cost_that_can_be_bought() -> None:
    items = (BAR, OTHER_BAR | {"retail": "9.50", "on_hand": 30}, JAR | {"on_hand": 30}, SCRUB)
    open_ones = {
        (o.says, str(o.price), o.from_price) for s in listing(*items, contents=TWO_SLOTS).slots for o in s.options
    }
    out = (BAR | {"on_hand": 0}, *items[1:])
    made = listing(*out, contents=TWO_SLOTS)
    [jar] = [o for slot in made.slots for o in slot.options if o.item.code == "HH-U1"]
    assert (jar.says, str(jar.price), jar.from_price) not in open_ones  # the cheaper bar no longer counts
    assert not jar.from_price


def test_an_option_is_sold_out_only_when_all_variants_with_it_are() -> None:
    made = listing(BAR, OTHER_BAR | {"on_hand": 0}, JAR, SCRUB, contents=TWO_SLOTS)
    assert [option.sold_out for slot in made.slots for option in slot.options] == [False, True, False, False]


@pytest.mark.parametrize(
    ("shops", "own", "stock"), [(0, None, 20), (2, None, 18), (2, 5, 15), (2, 0, 20), (30, None, 0)]
)
def test_what_is_held_back_is_the_channel_s_else_the_shop_s(shops: int, own: int | None, stock: int) -> None:
    made = listing(to=channel(hold_back=own), hold_back=shops)
    assert {offer.stock for offer in made.offers} == {stock}


def test_what_is_not_counted_has_no_stock_and_is_in_stock() -> None:
    items = tuple(item | {"on_hand": None} for item in (BAR, BALM, JAR, SCRUB))
    made = listing(*items, to=channel(sold_out="hide"))
    assert [(offer.stock, offer.availability) for offer in made.offers] == [(None, "InStock")] * 2


def test_a_closed_variant_is_never_offered() -> None:
    made = listing(variant=[{"options": {"Jar": "HH-U1"}, "status": "closed"}])
    assert [offer.variant.code for offer in made.offers] == ["HHS-1-S1"]
    assert [option.says for option in made.slots[0].options] == ["Shoreline sugar scrub"]
    assert "Meadow" not in made.description


def test_a_set_with_nothing_to_offer_has_no_listing_and_is_no_problem() -> None:
    for made in (
        shop(folder(status="closed")),
        shop(folder(), items=(BAR | {"on_hand": 0}, BALM, JAR, SCRUB), channels=[channel(sold_out="hide")]),
    ):
        found = listed(made)
        assert (found.listings, found.problems) == ((), ())
        assert len(build_catalog(made).sets) == 1


def test_prices_stand_at_the_options_only_where_they_differ() -> None:
    """16.00 against 14.00 for the jar, with 7.50 + 4.50 for the rest and 1.00 for the box: 29.00 and 27.00."""
    assert [str(option.price) for option in listing().slots[0].options] == ["29.00", "27.00"]
    alike = listing(BAR, BALM, JAR, SCRUB | {"retail": "16.00"})
    assert [option.price for option in alike.slots[0].options] == [None, None]
    assert "£" not in alike.description.replace("from £29.00 to £29.00", "")


def test_where_another_slot_changes_the_price_too_an_option_says_from() -> None:
    """7.50 or 8.00 and 16.00 or 14.00, with 1.00 for the box: 24.50, 22.50, 25.00, 23.00."""
    made = listing(BAR, OTHER_BAR, JAR, SCRUB, contents=TWO_SLOTS)
    bars, jars = made.slots
    assert [(str(option.price), option.from_price) for option in bars.options] == [("22.50", True), ("23.00", True)]
    assert [(str(option.price), option.from_price) for option in jars.options] == [("24.50", True), ("22.50", True)]
    assert "Thrift bar soap – gorse, 110 g, from £23.00" in made.description
    one_price = listing(BAR, OTHER_BAR | {"retail": "7.50"}, JAR, SCRUB, contents=TWO_SLOTS)
    assert [option.price for option in one_price.slots[0].options] == [None, None]
    assert [str(option.price) for option in one_price.slots[1].options] == ["24.50", "22.50"]


def test_prices_are_named_by_the_options_of_the_slot_that_decides() -> None:
    """The butter makes 29.00, the scrub 27.00, whichever of two bars of one price lies beside it."""
    alike = OTHER_BAR | {"retail": BAR["retail"]}
    facts = listed(shop(folder(contents=TWO_SLOTS), items=(BAR, alike, JAR, SCRUB))).catalog.sets[0]
    named = price_names(facts.variants)
    assert list(named.values()) == [("sugar scrub",), ("body butter",)]
    assert sorted(named) == list(named)


def test_prices_have_no_names_where_two_slots_decide_or_options_are_many() -> None:
    facts = listed(shop(folder(contents=TWO_SLOTS), items=(BAR, OTHER_BAR, JAR, SCRUB))).catalog.sets[0]
    assert price_names(facts.variants) == {}
    scrubs = [SCRUB | {"code": f"HH-S{at}", "name": f"Shore {at}", "form": ""} for at in range(1, 5)]
    many = [{"slot": "Jar", "choose": ["HH-U1", *(each["code"] for each in scrubs)]}]
    facts = listed(shop(folder(contents=many), items=(JAR, *scrubs))).catalog.sets[0]
    assert price_names(facts.variants) == {}
    assert price_names(()) == {}


def test_options_of_one_form_go_by_what_buyers_read() -> None:
    other = SCRUB | {"code": "HH-S2", "name": "Skerry", "retail": "9.00"}
    contents = [{"slot": "Jar", "choose": ["HH-S1", "HH-S2"]}]
    facts = listed(shop(folder(contents=contents), items=(SCRUB, other))).catalog.sets[0]
    assert set(price_names(facts.variants).values()) == {("Shoreline sugar scrub",), ("Skerry sugar scrub",)}
