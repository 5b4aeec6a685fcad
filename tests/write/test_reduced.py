"""One set of the demo while its reduction is in force, as a person has read it: feeds, text and record."""

import datetime
from dataclasses import replace
from decimal import Decimal

from listkit.listing.build import build_listings
from listkit.listing.listings import Listings, OnDay, PriorPrice
from listkit.units.money import Money
from listkit.write import WRITERS
from tests.conftest import Golden
from tests.write.test_golden import FIXED_CONTEXT

DAY = datetime.date(2026, 12, 20)


def test_the_last_lamps_are_offered_at_their_lower_prices(demo: Listings, golden: Golden) -> None:
    """The prices before are given here; what the ledger makes of them is tested with it."""
    priors = tuple(
        PriorPrice(channel.key, variant.code, Money(Decimal(before), "GBP"))
        for channel in demo.catalog.shop.channels
        for facts in demo.catalog.sets if facts.code == "OHS-5"
        for variant, before in zip(facts.variants, ("36.00", "36.00", "34.00"), strict=True)
    )  # fmt: skip
    lowered = build_listings(demo.catalog, OnDay(DAY, priors))
    alone = replace(lowered, listings=tuple(one for one in lowered if one.facts.code == "OHS-5"))
    writers = [WRITERS[name] for name in ("csv-feed", "json-feed", "listing-text", "record")]
    golden.check("reduced", (job for write in writers for job in write(alone, FIXED_CONTEXT)))
