"""Price cards of a channel: what they show is what its listing shows."""

import datetime
from typing import Any

import pytest

from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.cards import CardText, card_paper
from listkit.listing.listings import Listing, OnDay
from tests.listing.shops import ITEMS, channel, folder, shop

BEFORE, FIRST, AFTER = datetime.date(2027, 2, 14), datetime.date(2027, 2, 15), datetime.date(2027, 5, 11)


def card_of(day: datetime.date, gone: str, **says: Any) -> tuple[CardText, Listing]:
    """Return the card of a set of which one option is sold out, and its listing on the same channel."""
    items = [item | {"on_hand": 0} if item["code"] == gone else item for item in ITEMS]
    made = shop(folder(), items=items, channels=[channel(**says)], cards={"each": "set", "channel": "web"})
    listings = build_listings(build_catalog(made), OnDay(day))
    paper = card_paper(listings)
    assert paper is not None
    return paper.texts[0], listings.listings[0]


@pytest.mark.parametrize("gone", ["HH-S1", "HH-U1"])
@pytest.mark.parametrize("before", ["not yet", "pre-order"])
@pytest.mark.parametrize("day", [BEFORE, FIRST, AFTER])
def test_a_card_has_the_price_of_its_listing_in_every_part_of_the_season(
    day: datetime.date, gone: str, before: str
) -> None:
    card, listing = card_of(day, gone, before=before)
    assert (card.price, listing.cheapest) == (f"£{listing.cheapest.amount}", listing.dearest)
    assert card.price == card_of(FIRST, gone)[0].price
    assert card.options == card_of(FIRST, gone)[0].options


def test_a_card_of_a_set_of_which_nothing_is_left_starts_at_the_lowest_price() -> None:
    items = [item | {"on_hand": 0} for item in ITEMS]
    made = shop(folder(), items=items, cards={"each": "set", "channel": "web"})
    paper = card_paper(build_listings(build_catalog(made), OnDay(FIRST)))
    assert paper is not None
    assert paper.texts[0].price == "from £27.00"
